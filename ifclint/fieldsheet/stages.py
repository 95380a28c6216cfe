"""Which stage of the work each part of the plumbing belongs to, by its height."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

from ifclint.engineering.arithmetic import not_below_zero
from ifclint.fieldsheet.sheet import Stage
from ifclint.ifc.elements import Element, Model, Role
from ifclint.plumbing import Plumbing, Service
from ifclint.plumbing.floors import Floors

FINISHED = frozenset({Role.FIXTURE, Role.APPLIANCE, Role.HEATER})
DRAINING = frozenset({Role.FIXTURE, Role.APPLIANCE})
NEAR_FLOOR_M = 0.3  # a slab whose top is so near a storey's elevation is its floor; no source
ON_FLOOR_M = 0.1  # so far a floor drain's rim may lie under the floor it is in; no source


@dataclass(frozen=True)
class Levels:
    """The heights that part the work, in the model's heights (m)."""

    floor: str  # the lowest storey that a fixture stands on, "" where it is not known
    underground_m: float  # what lies below is underground; -inf where no floor is known
    storeys: tuple[tuple[str, float], ...]  # name and elevation, from the lowest up
    by_slab: bool  # told by the underside of the floor's slab, else by the storey's elevation
    over_crawl_space: bool = False  # all of the floor: underground is what lies in its earth

    def is_below_floor(self, storey: str) -> bool:
        """Whether a storey lies below the lowest floor: a foundation, and nothing one walks on."""
        names = [name for name, _ in self.storeys]
        return storey in names[: names.index(self.floor) if self.floor else 0]

    def storey_at(self, height_m: float) -> str:
        """The storey a height is on: the highest at or below it, and none below the floor."""
        at = [name for name, elevation in self.storeys if elevation <= height_m]
        if not at or self.is_below_floor(at[-1]):
            return self.floor or (self.storeys[0][0] if self.storeys else "")
        return at[-1]


def levels(model: Model) -> Levels:
    """The lowest floor that fixtures stand on, and the underside of its slab; of one that all lies
    over a crawl space, the earth below."""
    storeys = tuple((s.name, s.elevation_m) for s in model.storeys)
    tops = [top for e in model.elements if e.role in FINISHED and (top := top_m(e)) is not None]
    if not storeys or not tops:
        return Levels("", -inf, storeys, False)
    lowest = min(tops) + ON_FLOOR_M
    floor, elevation = max(
        (s for s in storeys if s[1] <= lowest), key=lambda s: s[1], default=storeys[0]
    )
    slabs = [
        slab
        for slab in model.surfaces
        if slab.kind == "slab" and abs(slab.high[2] - elevation) <= NEAR_FLOOR_M
    ]
    crawl_spaces = Floors(model).crawl_spaces
    earth_m = crawl_spaces.low_m
    if earth_m is not None and slabs and all(map(crawl_spaces.carries, slabs)):
        return Levels(floor, earth_m, storeys, True, True)
    underground_m = max((slab.low[2] for slab in slabs), default=elevation)
    return Levels(floor, underground_m, storeys, bool(slabs))


def heights(element: Element) -> tuple[float, float] | None:
    """The lowest and highest place of an element (m), None where it has none."""
    z = [z for _, _, z in element.places]
    if element.position and not z:
        z.append(element.position[2])
    z += [point[2] for point in element.course]
    if not z and element.box:
        z = [corner[2] for corner in element.box]
    return (min(z), max(z)) if z else None


def top_m(element: Element) -> float | None:
    """The top of a fixture: of its box, else its highest place."""
    if element.box is not None:
        return element.box[1][2]
    placed = heights(element)
    return None if placed is None else placed[1]


def share(low_m: float, high_m: float, from_m: float, to_m: float) -> float:
    """How much of a straight pipe between two heights lies in [from, to).

    The shares of bands that meet add up to 1.

    >>> share(-1.0, 3.0, 0.0, 1.0)
    0.25
    """
    if high_m <= low_m:
        return float(from_m <= low_m < to_m)
    return not_below_zero(min(high_m, to_m) - max(low_m, from_m)) / (high_m - low_m)


def vents(plumbing: Plumbing) -> frozenset[int]:
    """The pipes that carry air alone."""
    return frozenset(i for s in plumbing.segments if s.service is Service.VENT for i in s.indexes)


def stage_of(element: Element, at: Levels, is_vent: bool, highest_rim_m: float) -> Stage:
    """The stage at which an element can be looked at last before it is covered."""
    if element.role in FINISHED:
        return Stage.FINISH
    placed = heights(element)
    if placed is None:
        return Stage.ROUGH_IN
    low, high = placed
    if (low + high) / 2 < at.underground_m:
        return Stage.UNDERGROUND
    return Stage.TOP_OUT if is_vent and low >= highest_rim_m else Stage.ROUGH_IN


def highest_rim_m(elements: Sequence[Element]) -> float:
    """The top of the highest fixture; infinite without any, so that nothing is above it."""
    tops = [top for e in elements if e.role in DRAINING and (top := top_m(e)) is not None]
    return max(tops, default=inf)
