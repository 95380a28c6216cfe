"""What stands around the plumbing: floors, flood-level rims, walls, roofs, windows, equipment."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from math import hypot, inf

from ifclint.engineering.boxes import Boxes
from ifclint.engineering.extents import box_around
from ifclint.engineering.tolerance import at_least, at_most, lies_below
from ifclint.ifc.elements import Model, Point, Role, Space, Surface
from ifclint.plumbing.crawl_spaces import HEADROOM_M
from ifclint.plumbing.drainage.fixtures import Fixture
from ifclint.plumbing.floors import SILL_M, Floors
from ifclint.plumbing.footprint import Footprint, beyond_faces
from ifclint.plumbing.surroundings.roofs import RoofFaces, RoofOver

Box = tuple[Point, Point]

CELL_M = 4.0  # of the grid in which boxes are looked for
STANDING = frozenset(
    {Role.FIXTURE, Role.APPLIANCE, Role.HEATER, Role.TANK, Role.PUMP, Role.METER, Role.OTHER}
)
# Where a model does not tell the rim: how far it stands above the outlet, at most (m).
# Common practice, no source.
RIM_ABOVE_OUTLET_M = {
    "floor-drain": 0.10, "floor-sink": 0.30, "shower": 0.20, "water-closet": 0.50, "urinal": 0.60,
    "bathtub": 0.60, "clothes-washer": 1.10,
}  # fmt: skip
RIM_ABOVE_OUTLET_OTHERS_M = 0.40
# Between what heights above the floor rims lie: a body that stands up higher has walls, a tank, a
# back or a faucet above its rim. Dams of showers are 2 to 9 in high (UPC 2021 408.5); the others
# are common practice, no source.
RIM_ABOVE_FLOOR_M = {
    "shower": (0.05, 0.23), "bathtub": (0.35, 0.65), "water-closet": (0.35, 0.50),
    "bidet": (0.35, 0.45), "urinal": (0.35, 0.65), "lavatory": (0.75, 0.92),
    "sink": (0.75, 0.95), "kitchen-sink": (0.75, 0.95), "bar-sink": (0.75, 1.10),
    "laundry-sink": (0.75, 0.97), "drinking-fountain": (0.65, 1.10),
}  # fmt: skip
ON_FLOOR = frozenset({"shower", "bathtub"})  # on the floor, or on what raises them above it
NO_RIM = frozenset({"disposer", "dishwasher"})  # the sink above them floods first


@dataclass(frozen=True)
class Obstacle:
    """Something with a box that may stand in the path."""

    guid: str
    label: str
    kind: str  # "wall", "slab", "roof" or "equipment"
    low: Point
    high: Point


class Surroundings:
    """The boxes of a model, found by place."""

    def __init__(self, model: Model) -> None:
        self._model = model
        self._boxes: dict[str, Boxes] = {}  # of each kind

    def of_kind(self, *kinds: str) -> list[Surface]:
        return [s for kind in kinds for s in self._by_kind.get(kind, ())]

    @cached_property
    def _by_kind(self) -> dict[str, list[Surface]]:
        found: dict[str, list[Surface]] = defaultdict(list)
        for surface in self._model.surfaces:
            found[surface.kind].append(surface)
        return found

    @cached_property
    def outdoor_openings(self) -> list[Surface]:
        """Windows and doors but those that are known to stand in an inner wall or between rooms."""
        walls = {wall.guid: wall for wall in self.of_kind("wall")}
        return [o for o in self.of_kind("window", "door") if self._opens_outdoors(o, walls)]

    def outdoor_openings_around(self, point: Point, reach_m: float) -> list[Surface]:
        """Those of the windows and doors to outdoors whose boxes, seen from above, a point is in,
        or misses by so little each way."""
        found = self._outdoor_boxes.around(point, (reach_m, reach_m, inf))
        return [self.outdoor_openings[i] for i in found]

    @cached_property
    def _outdoor_boxes(self) -> Boxes:
        return Boxes((s.low, s.high) for s in self.outdoor_openings)

    def _opens_outdoors(self, opening: Surface, walls: dict[str, Surface]) -> bool:
        around = self.within(opening.low, opening.high)
        hosts = [walls[o.guid].exterior for o in around if o.guid in walls]
        said = [opening.exterior] if opening.exterior is not None else hosts
        if any(outer is not None for outer in said):
            return any(said)
        return not self._is_between_rooms(opening)

    def _is_between_rooms(self, opening: Surface) -> bool:
        """Whether rooms lie on both sides of an opening."""
        return all(self.rooms_around(side) for side in beyond_faces(opening.low, opening.high))

    @cached_property
    def floors(self) -> Floors:
        """The floors, and the ground as far as they tell it."""
        return Floors(self._model)

    def rooms_around(self, point: Point) -> list[Space]:
        """The rooms whose boxes hold a point, in the model's order."""
        return [self._model.spaces[i] for i in self._rooms.around(point)]

    @cached_property
    def _rooms(self) -> Boxes:
        return Boxes((room.low, room.high) for room in self._model.spaces)

    def of_kind_around(self, kind: str, point: Point, beyond: Point) -> list[Surface]:
        """The surfaces of a kind whose boxes hold a point, or miss it by so little each way."""
        of_kind = self._by_kind.get(kind, [])
        return [of_kind[i] for i in self._boxes_of(kind).around(point, beyond)]

    def above_or_below(self, kind: str, point: Point) -> list[Surface]:
        """The surfaces of a kind that a point lies over, under or in."""
        of_kind = self._by_kind.get(kind, [])
        return [of_kind[i] for i in self._boxes_of(kind).above_or_below(point)]

    def _boxes_of(self, kind: str) -> Boxes:
        if kind not in self._boxes:
            self._boxes[kind] = Boxes((s.low, s.high) for s in self.of_kind(kind))
        return self._boxes[kind]

    def has_rooms_below(self, point: Point | None, floor_m: float) -> bool | None:
        """Whether a room lies under a point that stands on a floor: one of the model's, or what
        the walls of the storeys below enclose, or where none is drawn below, what stands on the
        slab of a floor under the point; None where none of these is drawn and floors lie below.
        """

        def is_lower(height_m: float) -> bool:
            return at_least(floor_m - height_m, HEADROOM_M - SILL_M, "m")

        spaces, walls = self._model.spaces, self.of_kind("wall")
        rooms = [s for s in spaces if at_least(s.high[2] - s.low[2], HEADROOM_M, "m")]
        below = [(s.low, s.high) for s in rooms or walls if is_lower(s.low[2])]
        if below and not rooms:
            below = [box_around(corner for box in below for corner in box)]
        if below and point is not None:
            return any(at_most(level_distance_m(point, *box), SILL_M, "m") for box in below)
        floors = self.floors.told if rooms or walls else self.floors.likely
        levels = [f.level_m for f in floors if is_lower(f.level_m)]
        if levels and (rooms or walls) and point is not None and self._slab_under(point, levels):
            return True
        return None if levels else False

    def _slab_under(self, point: Point, levels: Sequence[float]) -> bool:
        """Whether the slab of one of some floors lies under a point."""
        return any(
            at_most(level_distance_m(point, s.low, s.high), SILL_M, "m")
            and any(at_most(abs(s.high[2] - level), SILL_M, "m") for level in levels)
            for s in self.of_kind("slab")
        )

    @cached_property
    def footprint(self) -> Footprint | None:
        """What the walls enclose; None where the model has neither walls nor slabs."""
        if not self.of_kind("wall", "slab"):
            return None
        upright = self.of_kind("wall", "window", "door")
        return Footprint(upright, self.of_kind("slab"), self._model.spaces)

    @cached_property
    def _roofs(self) -> list[RoofFaces]:
        return [RoofFaces(surface) for surface in self.of_kind("roof")]

    @cached_property
    def _lowest_roof_m(self) -> float:
        return min((surface.low[2] for surface in self.of_kind("roof")), default=inf)

    def roof_over(self, point: Point) -> RoofOver | None:
        """The highest roof that lies at or below a point, or over it, as it is there."""
        around = self._boxes_of("roof").above_or_below(point)
        over = [roof for i in around if (roof := self._roofs[i].over(point)) is not None]
        return max(over, key=lambda roof: roof.top_m, default=None)

    def is_above_roof(self, point: Point) -> bool:
        """Whether a roof lies under a point."""
        if lies_below(point[2], self._lowest_roof_m):  # as nearly all of a building does
            return False
        roof = self.roof_over(point)
        return roof is not None and at_least(point[2] - roof.top_m, 0.0, "m")

    def is_outdoors(self, point: Point) -> bool | None:
        """Whether a point lies beside the building or above its roof; None where nothing tells."""
        if self.footprint is not None and not self.footprint.holds(point):
            return True
        roof = self.roof_over(point)
        if roof is None:
            return None
        if at_least(point[2] - roof.top_m, 0.0, "m"):
            return True
        return None if at_least(point[2] - roof.underside_m, 0.0, "m") else False

    def slab_at(self, point: Point) -> Surface | None:
        """The lowest slab over a point, or around it."""
        over = [s for s in self.above_or_below("slab", point) if s.high[2] > point[2]]
        return min(over, key=lambda s: s.high[2], default=None)

    @cached_property
    def _grid(self) -> dict[tuple[int, ...], list[Obstacle]]:
        grid: dict[tuple[int, ...], list[Obstacle]] = defaultdict(list)
        for obstacle in self._obstacles():
            for cell in _cells(obstacle.low, obstacle.high):
                grid[cell].append(obstacle)
        return grid

    def _obstacles(self) -> Iterator[Obstacle]:
        for s in self.of_kind("wall", "slab", "roof"):
            yield Obstacle(s.guid, s.name or s.kind, s.kind, s.low, s.high)
        for element in self._model.elements:
            if element.box is not None and element.role in STANDING:
                yield Obstacle(element.guid, element.label, "equipment", *element.box)

    def within(self, low: Point, high: Point) -> list[Obstacle]:
        """Everything whose box shares more than its surface with the box given."""
        found: dict[str, Obstacle] = {}
        (x, y, z), (right, back, top) = low, high
        for cell in _cells(low, high):
            for o in self._grid.get(cell, ()):
                (left, front, under), (ox, oy, oz) = o.low, o.high
                if left < right and front < back and under < top and ox > x and oy > y and oz > z:
                    found[o.guid] = o
        return [found[guid] for guid in sorted(found)]

    @property
    def has_walls(self) -> bool:
        return bool(self._by_kind.get("wall"))

    @cached_property
    def has_equipment(self) -> bool:
        return any(e.box is not None for e in self._model.elements)


def _cells(low: Point, high: Point) -> Iterator[tuple[int, ...]]:
    x, y, z = (int(a // CELL_M) for a in low)
    right, back, top = (int(b // CELL_M) for b in high)
    if (x, y, z) == (right, back, top):
        return iter(((x, y, z),))
    return product(range(x, right + 1), range(y, back + 1), range(z, top + 1))


def level_distance_m(point: Point, low: Point, high: Point) -> float:
    """Horizontal distance from a point to a box."""
    x = max(low[0] - point[0], 0.0, point[0] - high[0])
    y = max(low[1] - point[1], 0.0, point[1] - high[1])
    return hypot(x, y)


def rim_m(
    fixture: Fixture, outlet: Point | None, floor_m: float | None
) -> tuple[float, float] | None:
    """Between what heights the flood-level rim of a fixture lies; equal where the model tells."""
    element = fixture.element
    if fixture.kind in NO_RIM:
        return None
    stated = element.properties.number("flood_level_rim_m")
    if stated is not None and floor_m is not None:
        return floor_m + stated, floor_m + stated
    if element.box is not None:
        return _rim_of_body(fixture.kind, element.box, floor_m)
    if outlet is None:
        return None
    above = RIM_ABOVE_OUTLET_M.get(fixture.kind, RIM_ABOVE_OUTLET_OTHERS_M)
    return outlet[2], outlet[2] + above


def _rim_of_body(kind: str, box: Box, floor_m: float | None) -> tuple[float, float]:
    """The rim of a fixture with a body: its top, unless that is past where rims of its kind lie."""
    base, top = box[0][2], box[1][2]
    bounds = RIM_ABOVE_FLOOR_M.get(kind)
    if bounds is None or floor_m is None:
        return top, top
    floor_m = max(floor_m, base) if kind in ON_FLOOR else floor_m
    low, high = floor_m + bounds[0], floor_m + bounds[1]
    return (max(low, base), high) if base < high < top else (top, top)
