"""The floors of a building and the ground around it: told by rooms, slabs, doors and fixtures.

A storey's level is a height with a name ("Foundation", "T.O. Plate", "Roof") and no floor by
itself. It is one where something stands on it; what else a building has lies between or around.
"""

import re
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import islice

from ifclint.engineering.arithmetic import Step, not_below_zero
from ifclint.engineering.extents import box_around, overlap_in_plan
from ifclint.engineering.tolerance import at_least, at_most, lies_above, lies_below
from ifclint.engineering.units import feet
from ifclint.ifc.elements import Element, Model, Point, Role, Surface
from ifclint.plumbing.crawl_spaces import CRAWL, HEADROOM_M, CrawlSpaces, find_crawl_spaces

SILL_M = 0.3  # ours, no source: what begins so near to a level begins on it
DOOR_M = 1.5  # ours, no source: what is lower is a hatch or a panel
NARROW_M = 1.5  # ours, no source: a slab that is narrower is a footing, a curb or a pad
SUNK_M = 0.6  # ours, no source: how far the body of a floor drain hangs below its floor
DEEP_M = 1.0  # below the model's zero by more than this a floor is taken to lie below the ground
SUNK_KINDS = frozenset(
    {"floor-drain", "floor-sink", "shower", "bathtub", "mop-sink", "water-closet"}
)
STANDING_KINDS = frozenset({"water-closet", "bathtub", "mop-sink"})  # whose foot is the floor
ON_A_FLOOR = frozenset({Role.FIXTURE, Role.APPLIANCE, Role.HEATER})
OUTDOOR_KINDS = frozenset({"hose-bibb", "roof-drain"})  # stand on no floor
NO_ROOM = re.compile(r"\b(shaft|plenum|void|riser|elevator|lift|chase|pit|interstitial)\b", re.I)
RAISED_M = 0.45  # 18 in: a lowest floor so far above the ground stands over a crawl space. Ours
FOOTING = re.compile(r"footing|foundation|pile cap|fundament|semelle|zapata|fundering", re.I)
CELLARS = ("basement", "cellar", "keller", "sous-sol", "sous sol", "kelder", "sotano")


@dataclass(frozen=True)
class Floor:
    """A height on which people or fixtures stand, and what tells it."""

    level_m: float
    name: str  # of the storey at its level; "" where none is
    basis: str

    @property
    def may_be_cellar(self) -> bool:
        """Whether it may lie below the ground: by its depth, or what its storey is called."""
        return lies_below(self.level_m, -DEEP_M) or self.is_called_cellar

    @property
    def is_called_cellar(self) -> bool:
        return any(word in self.name.lower() for word in CELLARS)


@dataclass(frozen=True)
class Ground:
    """Between what heights the finished ground lies; equal where it is told."""

    low_m: float
    high_m: float
    basis: str
    is_told: bool = False  # by the job file or the terrain, not by the floors

    @property
    def level_m(self) -> float | None:
        return self.low_m if self.low_m == self.high_m else None

    def is_below(self, height_m: float) -> bool | None:
        """Whether a height is below the ground; None where that cannot be told."""
        if lies_below(height_m, self.low_m):
            return True
        return None if lies_below(height_m, self.high_m) else False


class Floors:
    """The floors of a model, from its rooms, slabs, doors, fixtures, appliances and heaters."""

    def __init__(self, model: Model) -> None:
        self._model = model
        self._rooms = [
            s
            for s in model.spaces
            if at_least(s.high[2] - s.low[2], HEADROOM_M, "m")
            and not NO_ROOM.search(s.name)
            and not CRAWL.search(s.name)
        ]
        self._doors = [
            s
            for s in model.surfaces
            if s.kind == "door" and at_least(s.high[2] - s.low[2], DOOR_M, "m")
        ]
        self._slabs = [s for s in model.surfaces if s.kind == "slab" and is_floor(s)]

    @cached_property
    def told(self) -> tuple[Floor, ...]:
        """The floors that something tells, the lowest first."""
        found: dict[float, Floor] = {}
        for evidence in (
            self._by_rooms, self._by_doors, self._by_fixtures, self._by_slabs, self._by_feet
        ):  # fmt: skip
            for floor in evidence(found):
                found.setdefault(floor.level_m, floor)
        return tuple(floor for _, floor in sorted(found.items()))

    @cached_property
    def doubtful(self) -> tuple[Floor, ...]:
        """Levels that may be floors: where a model draws no rooms or doors, storeys high enough to
        stand in below another floor, of those that have a slab each only what is called a cellar;
        all storeys where it tells no floor at all."""
        storeys = [
            Floor(s.elevation_m, s.name, "storey")
            for s in self._model.storeys
            if not CRAWL.search(s.name)
        ]
        if not self.told:
            return tuple(storeys)
        if self._rooms or self._doors:
            return ()
        if len(self.told) > 1 and all(map(self._has_slab, self.told)):
            storeys = [s for s in storeys if s.is_called_cellar]
        found: list[Floor] = []
        above = [f.level_m for f in self.told]
        for storey in reversed(storeys):
            level = storey.level_m
            if lies_below(level, above[-1]) and all(_is_storey(abs(level - z)) for z in above):
                found.append(storey)
                above = sorted([*above, level])
        return tuple(reversed(found))

    @cached_property
    def likely(self) -> tuple[Floor, ...]:
        """The floors, and the levels that may be floors, the lowest first."""
        return tuple(sorted((*self.told, *self.doubtful), key=lambda f: f.level_m))

    @property
    def lowest(self) -> Floor | None:
        """The lowest floor; None where nothing tells it or a level below may be one."""
        likely = self.likely
        is_sure = bool(likely) and (likely[0] in self.told or len(likely) == 1)
        return likely[0] if is_sure else None

    @property
    def lowest_steps(self) -> tuple[Step, ...]:
        """Where the lowest floor is, and what tells it."""
        floor = self.lowest
        if floor is None:
            return ()
        return (Step("Lowest floor", feet(floor.level_m), "ft", f"told by {floor.basis}"),)

    def is_below_lowest(self, height_m: float) -> bool | None:
        """Whether a height is below the lowest floor; None where that cannot be told."""
        likely = self.likely
        if not likely:
            return None
        if lies_below(height_m, likely[0].level_m):
            return True
        return None if lies_below(height_m, self._sure.level_m) else False

    @cached_property
    def crawl_spaces(self) -> CrawlSpaces:
        """The open air under the lowest floor."""
        return find_crawl_spaces(self._model, self._sure.level_m if self.likely else None)

    @property
    def _sure(self) -> Floor:
        """The lowest floor that surely is one, where there are floors at all."""
        return self.told[0] if self.told else self.likely[-1]

    def is_raised(self, grade_m: float | None) -> bool:
        """Whether the lowest floor is known to stand clear of the ground, over a crawl space."""
        ground, floor = self.ground(grade_m), self.lowest
        if ground is None or not ground.is_told or floor is None:
            return False
        return at_least(floor.level_m - ground.high_m, RAISED_M, "m")

    def is_in_ground(self, point: Point, grade_m: float | None) -> bool | None:
        """Whether a point under the building lies in the ground, and does not hang in a crawl
        space; None where that cannot be told."""
        below = self.is_below_lowest(point[2])
        if below is False or self.crawl_spaces.holds(point):
            return False
        ground = self.ground(grade_m) if self.is_raised(grade_m) else None
        hangs_free = ground is not None and not lies_below(point[2], ground.high_m)
        return False if hangs_free else below

    def is_above_lowest(self, height_m: float) -> bool | None:
        """Whether a height is above the lowest floor; None where that cannot be told."""
        likely = self.likely
        if not likely:
            return None
        if not lies_above(height_m, likely[0].level_m):
            return False
        return True if lies_above(height_m, self._sure.level_m) else None

    def under(self, height_m: float, reach_m: float = SILL_M) -> Floor | None:
        """The highest floor at a height, below it or a little above it."""
        row = bisect_right(self._levels_m, height_m + reach_m)
        return self.likely[row - 1] if row else None

    @cached_property
    def _levels_m(self) -> list[float]:
        return [floor.level_m for floor in self.likely]

    @cached_property
    def _named(self) -> dict[str, Floor]:
        """The lowest floor of each name."""
        return {floor.name: floor for floor in reversed(self.likely) if floor.name}

    def of(self, element: Element) -> Floor | None:
        """The floor an element stands on: its storey's, if that is within reach of it, else the
        next below it."""
        foot, reach = _foot(element), _reach(element)
        named = self._named.get(element.storey)
        if foot is None or (named and _stands_on(foot - named.level_m, reach)):
            return named
        return self.under(foot, reach) or named

    def level_of(self, element: Element) -> float | str:
        """What tells elements of one floor from those of others: its height, that of the lowest
        fixture around where its body stands far above every floor that is told, else the storey."""
        floor, foot = self.of(element), _foot(element)
        told: float | str = element.storey if floor is None else floor.level_m
        if foot is None or element.box is None:
            return told
        if floor and _stands_on(foot - floor.level_m, _reach(element)):
            return told
        row = bisect_right(self._lowest_feet_m, foot) if floor or not told else 0
        near = row and _stands_on(foot - self._lowest_feet_m[row - 1], 0.0)
        return self._lowest_feet_m[row - 1] if near else told

    @cached_property
    def _lowest_feet_m(self) -> list[float]:
        """The lowest fixture on each floor that nothing tells but what stands on it."""
        return _new_levels(self._fixtures, self._levels_m)

    def ground(self, grade_m: float | None = None) -> Ground | None:
        """The ground: as the job file states it, else as the model tells it."""
        if grade_m is None:
            return self._ground_drawn
        return Ground(grade_m, grade_m, "job file, building.grade_elevation", True)

    @cached_property
    def _ground_drawn(self) -> Ground | None:
        """The terrain of the model, else the ground by the lowest floor, which may lie below it."""
        likely = self.likely
        if terrain := self._terrain:
            low, high = min(s.low[2] for s in terrain), max(s.high[2] for s in terrain)
            return Ground(
                high if at_most(high - low, SILL_M, "m") else low,
                high,
                "terrain of the model",
                True,
            )
        if not likely:
            return None
        lowest, sure, crawl_m = likely[0], self._sure, self.crawl_spaces.low_m
        if not lowest.may_be_cellar and not sure.may_be_cellar:
            if crawl_m is not None and lies_below(crawl_m, lowest.level_m):
                return Ground(crawl_m, sure.level_m, "lowest floor, over a crawl space")
            return Ground(lowest.level_m, sure.level_m, f"lowest floor, told by {sure.basis}")
        above = (f.level_m for f in likely if not f.may_be_cellar)
        high_m = max(sure.level_m, min(above, default=not_below_zero(sure.level_m + HEADROOM_M)))
        return Ground(lowest.level_m, high_m, "lowest floor, which may lie below it")

    @cached_property
    def _terrain(self) -> list[Surface]:
        """The terrain at the building's height; what has none may be the outline of the lot."""
        floors = [f.level_m for f in self.likely] or [0.0]
        return [
            s
            for s in self._model.surfaces
            if s.kind == "terrain"
            and lies_above(s.high[2], s.low[2])
            and not lies_above(s.low[2], max(floors) + HEADROOM_M)
            and not lies_below(s.high[2], min(floors) - HEADROOM_M)
        ]

    def _by_rooms(self, found: dict[float, Floor]) -> Iterator[Floor]:
        for space in self._rooms:
            yield self._at(space.low[2], "rooms")

    def _by_doors(self, found: dict[float, Floor]) -> Iterator[Floor]:
        for door in self._doors:
            floor = self._at(door.low[2], "doors")
            if floor.name:
                yield floor

    def _by_fixtures(self, found: dict[float, Floor]) -> Iterator[Floor]:
        """The level next below each; of what also stands in a crawl space, one with headroom."""
        levels = sorted({*found, *(s.elevation_m for s in self._model.storeys)})
        lesser: list[Floor] = []
        for element in self._model.elements:
            if element.role not in ON_A_FLOOR or element.kind in OUTDOOR_KINDS:
                continue
            level = self._level_below(element, levels)
            if level is None:
                continue
            floor = self._at(level, f"{element.role.value}s")
            if element.role is Role.FIXTURE and element.kind != "floor-drain":
                yield floor
            else:
                lesser.append(floor)
        for floor in lesser:
            above = [level for level in found if lies_above(level, floor.level_m)]
            if all(_is_storey(level - floor.level_m) for level in above):
                yield floor

    def _by_feet(self, found: dict[float, Floor]) -> Iterator[Floor]:
        """Where fixtures stand that do so on no level: several floors in one storey."""
        levels = sorted({*found, *(s.elevation_m for s in self._model.storeys)})
        standing = [e for e in self._fixtures if e.kind in STANDING_KINDS]
        for level in _new_levels(standing, levels) if levels else ():
            yield Floor(level, "", "fixtures")

    @property
    def _fixtures(self) -> list[Element]:
        """Those of which a body tells where they stand."""
        return [
            e
            for e in self._model.elements
            if e.role is Role.FIXTURE and e.kind not in OUTDOOR_KINDS and e.box is not None
        ]

    def _level_below(self, element: Element, levels: list[float]) -> float | None:
        """The level an element stands on; of one without a place, that of its storey."""
        foot = _foot(element)
        if foot is None:
            storeys = self._model.storeys
            return next((s.elevation_m for s in storeys if s.name == element.storey), None)
        row = bisect_right(levels, foot + _reach(element))
        stands = row and _stands_on(foot - levels[row - 1], _reach(element))
        return levels[row - 1] if stands else None

    def _by_slabs(self, found: dict[float, Floor]) -> Iterator[Floor]:
        """Slabs at a storey's level with headroom to what covers them."""
        floor_at = {top: self._at(top, "a slab") for top in {s.high[2] for s in self._slabs}}
        at: dict[Floor, list[Surface]] = defaultdict(list)
        for slab in self._slabs:
            at[floor_at[slab.high[2]]].append(slab)
        covers = [s for s in self._model.surfaces if s.kind in ("slab", "roof")]
        covers.sort(key=lambda c: c.low[2])
        for floor, slabs in at.items():
            top = max(s.high[2] for s in slabs)
            extent = box_around(p for s in slabs for p in (s.low, s.high))
            over = (
                c.low[2]
                for c in covers
                if lies_above(c.high[2], top + SILL_M) and overlap_in_plan((c.low, c.high), extent)
            )
            levels = [level for level in found if lies_above(level, top + SILL_M)]
            free_m = min([*islice(over, 1), *levels], default=top) - top
            if floor.name and at_least(free_m, HEADROOM_M - SILL_M, "m"):
                yield floor

    def _has_slab(self, floor: Floor) -> bool:
        return any(at_most(abs(s.high[2] - floor.level_m), SILL_M, "m") for s in self._slabs)

    def _at(self, height_m: float, basis: str) -> Floor:
        """A floor at a height, or at the level of the storey next to it."""
        storeys = self._model.storeys
        near = min(storeys, key=lambda s: abs(s.elevation_m - height_m), default=None)
        if near is None or not at_most(abs(near.elevation_m - height_m), SILL_M, "m"):
            return Floor(height_m, "", basis)
        return Floor(near.elevation_m, near.name, basis)


def _new_levels(fixtures: Iterable[Element], levels: list[float]) -> list[float]:
    """The foot of the lowest fixture that stands on no level, of the lowest that then stands on
    none, and so on."""
    new: list[float] = []
    feet = [(foot, e) for e in fixtures if (foot := _foot(e)) is not None]
    for foot, element in sorted(feet, key=lambda at: at[0]):
        reach = _reach(element)
        if not any(_stands_on(foot - level, reach) for level in (*levels, *new)):
            new.append(foot)
    return new


def is_floor(slab: Surface) -> bool:
    """Whether a slab is wide enough to walk on and is not called a footing."""
    sides = (slab.high[k] - slab.low[k] for k in (0, 1))
    return at_least(min(sides), NARROW_M, "m") and not FOOTING.search(slab.name)


def _is_storey(between_m: float) -> bool:
    """Whether one can stand between two heights."""
    return at_least(between_m, HEADROOM_M, "m")


def _stands_on(above_m: float, reach_m: float) -> bool:
    """Whether what begins so far above a floor, or within reach below it, stands on it."""
    return at_least(above_m, -reach_m, "m") and at_most(above_m, HEADROOM_M, "m")


def _foot(element: Element) -> float | None:
    """The lowest that is known of an element."""
    if element.box is not None:
        return element.box[0][2]
    ends = [z for _, _, z in element.places]
    return element.position[2] if element.position is not None else min(ends, default=None)


def _reach(element: Element) -> float:
    """How far above its foot the floor of an element may be."""
    return SUNK_M if element.kind in SUNK_KINDS else SILL_M
