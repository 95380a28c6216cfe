"""Where gas piping lies: outdoors or in the building, in the ground, through a wall or slab."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ifclint.engineering.contents import body_m
from ifclint.engineering.extents import box_around, holds, lies_flat, passed, thin_axis
from ifclint.ifc.elements import Element, Point
from ifclint.packs import Context, derived
from ifclint.plumbing import GasSegment
from ifclint.plumbing.gas.gas_piping import middle_of
from ifclint.plumbing.surroundings.obstacles import Obstacle
from ifclint.plumbing.words import says

NEAR_M = 0.3  # a sleeve or hanger is drawn at its middle: within this of the pipe it is its own
IN_FLOOR_M = 0.05  # pipe no deeper than this below the lowest floor lies in it, not in the ground
ON_GROUND_M = 0.3  # a slab no higher than this above the lowest floor lies on the ground
SKIN_M = 0.01  # boxes of walls are drawn to the centimetre
SLEEVE_WORDS = ("sleeve", "conduit", "casing", "encased", "fourreau", "schutzrohr", "futterrohr",
    "mantelbuis", "pasamuro", "pasatubo")  # fmt: skip
UNION_WORDS = ("union", "unión", "verschraubung", "bocchettone", "wartel*")
FLUE_WORDS = ("flue", "chimney", "conduit de fumée", "conduit de fumee", "conduit de cheminée",
    "conduit de cheminee")  # fmt: skip


@dataclass(frozen=True)
class Crossing:
    """Where a pipe passes an outside wall, or a slab on the ground."""

    pipe: Element
    obstacle: Obstacle
    point: Point  # in the middle of its thickness

    @property
    def key(self) -> str:
        return f"{self.pipe.guid} {self.obstacle.guid}"


@derived
def named(context: Context, words: tuple[str, ...], without: tuple[str, ...] = ()) -> list[Point]:
    """The places of all elements whose names say one of the words, and none of the others."""
    found = (e for e in context.plumbing.saying(words) if not (without and says(e, without)))
    return [p for e in found if (p := middle_of(e)) is not None]


def lies(pipe: Element) -> bool:
    """Whether a pipe is no riser: it runs farther than it rises."""
    points = pipe.places
    return len(points) > 1 and lies_flat(points[0], points[-1])


def radius_m(segment: GasSegment, pipes: Sequence[Element]) -> float:
    """Half the outside diameter of pipes of a run: stated, else by material and size; 0 where
    neither tells."""
    stated = [d for pipe in pipes if (d := pipe.properties.number("outside_diameter_m"))]
    listed = body_m(segment.material, segment.size_in) if segment.size_in is not None else 0.0
    return max(stated, default=listed) / 2


def is_near(place: Point, points: Sequence[Point]) -> bool:
    """Whether a place lies close to the box around points; no place does where there are none."""
    return bool(points) and holds(*box_around(points), place, NEAR_M)


def is_sleeved(point: Point, context: Context) -> bool:
    """Whether a sleeve or conduit is drawn close to a point."""
    return any(is_near(sleeve, [point]) for sleeve in sleeves(context))


def sleeves(context: Context) -> list[Point]:
    """The places of all sleeves and conduits that pipe is led in."""
    return named(context, SLEEVE_WORDS, FLUE_WORDS)


def is_inside(point: Point, context: Context) -> bool | None:
    """Whether a point lies within the building's outline; None where no wall or slab tells."""
    footprint = context.plumbing.surroundings.footprint
    return None if footprint is None else footprint.holds(point)


def is_indoors(point: Point, context: Context) -> bool | None:
    """Whether a point lies within that outline, and not above the roof there."""
    above_roof = context.plumbing.surroundings.is_outdoors(point) is True
    return False if above_roof else is_inside(point, context)


def is_within(pipe: Element, context: Context) -> bool | None:
    """Whether part of a pipe lies within the building; None where nothing tells."""
    said = {is_inside(p, context) for p in along(pipe, context)}
    return None if not said or None in said else True in said


def along(pipe: Element, context: Context) -> list[Point]:
    """The ends and the middle of a pipe, and places where it passes within a building."""
    points, middle = pipe.places, middle_of(pipe)
    footprint = context.plumbing.surroundings.footprint
    if footprint is not None and len(points) > 1:
        points += footprint.places_inside(points[0], points[-1])
    return [*points, middle] if middle is not None else points


def under_floor(segment: GasSegment, context: Context) -> list[tuple[Element, Point, bool]]:
    """The places of pipes in the ground below the lowest floor, each with its pipe, and whether
    they surely are."""
    found = []
    for pipe in segment.pipes:
        for x, y, z in along(pipe, context):
            is_below = context.is_in_ground((x, y, z + IN_FLOOR_M))
            if is_below is not False:
                found.append((pipe, (x, y, z), is_below is True))
    return found


def in_ground(pipe: Element, context: Context) -> bool | None:
    """Whether part of a pipe lies in the ground, under a floor or outdoors; None where the height
    of the ground outdoors leaves it open."""
    said = {_lies_in_ground(p, context) for p in along(pipe, context)}
    return True if True in said else None if None in said else False


def _lies_in_ground(point: Point, context: Context) -> bool | None:
    ground, inside = context.ground, is_inside(point, context)
    if ground is None:
        return False  # asked for by what is laid under floors
    if inside is False:
        return ground.is_below(point[2])
    x, y, z = point
    return context.is_in_ground((x, y, z + IN_FLOOR_M)) is True


def crossings(segment: GasSegment, context: Context) -> Iterator[Crossing]:
    """Where pipes pass from one side of an outside wall or ground slab to the other."""
    for pipe in segment.pipes:
        points = pipe.places
        if len(points) < 2:
            continue
        a, b = points[0], points[-1]
        passes_outline = is_inside(a, context) != is_inside(b, context)
        for obstacle in context.plumbing.surroundings.within(*box_around((a, b))):
            axis = _thickness_axis(obstacle, context)
            point = _passed(a, b, obstacle, axis) if axis is not None else None
            if point is not None and (passes_outline or _is_on_ground(obstacle, point, context)):
                yield Crossing(pipe, obstacle, point)


def _thickness_axis(obstacle: Obstacle, context: Context) -> int | None:
    """Across which axis it is passed; None for what is no wall, and no slab on the ground."""
    low, high, floors = obstacle.low, obstacle.high, context.plumbing.surroundings.floors.likely
    if obstacle.kind == "slab":
        return 2 if floors and high[2] <= floors[0].level_m + ON_GROUND_M else None
    if obstacle.kind == "wall":
        return thin_axis(low, high)
    return None


def _is_on_ground(obstacle: Obstacle, point: Point, context: Context) -> bool:
    """Whether what is passed at a point is a slab, with no crawl space below it there."""
    crawl_spaces = context.plumbing.surroundings.floors.crawl_spaces
    at_top = (point[0], point[1], obstacle.high[2])
    return obstacle.kind == "slab" and not crawl_spaces.lies_under(at_top)


def _passed(a: Point, b: Point, obstacle: Obstacle, axis: int) -> Point | None:
    """Where a line passes through the middle of an obstacle's thickness; None where it does not."""
    return passed(a, b, obstacle.low, obstacle.high, axis, SKIN_M)
