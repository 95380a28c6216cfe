"""Where a relief or pan line ends: over a receptor, in a pan, outdoors, or over a floor."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import hypot

from ifclint.engineering.units import M_PER_IN
from ifclint.ifc.elements import Element, Point, Role
from ifclint.packs import Context
from ifclint.plumbing.discharge import DischargeLine
from ifclint.plumbing.surroundings import Surroundings

RECEPTORS = frozenset({"floor-drain", "floor-sink", "mop-sink", "laundry-sink", "sink"})
OVER_M = 0.45  # a receptor catches what falls this near to it
PAN_M = 0.6  # a pan without a box reaches this far from its place
PAN_DEPTH_M = 0.3  # a line that ends in a pan ends this little above it
FLOOR_M = 1.5  # a line ends over a floor not more than this below


@dataclass(frozen=True)
class Place:
    """Where a line ends. `kind` is a key of the code's table without "to-" or "into-"."""

    kind: str  # "waste-receptor", "pan", "outdoors", "floor" or "" where it cannot be told
    words: str
    above_m: float | None  # above receptor rim, pan, ground or floor
    element: Element | None = None

    @property
    def above_in(self) -> float | None:
        return None if self.above_m is None else self.above_m / M_PER_IN


@lru_cache(maxsize=4)
def surroundings(context: Context) -> Surroundings:
    return Surroundings(context.plumbing.network.model)


def place_of_end(line: DischargeLine, context: Context) -> Place:
    """Where the open end of a line is."""
    end = line.end
    if end is None:
        return Place("", "where it ends is not known", None)
    receptor = _receptor_under(end, context)
    if receptor is not None:
        rim = receptor.box[1][2] if receptor.box else (receptor.position or end)[2]
        return Place("waste-receptor", f"over {receptor.label}", end[2] - rim, receptor)
    around = surroundings(context).footprint
    if around is not None and not all(around[0][k] <= end[k] <= around[1][k] for k in (0, 1)):
        return Place("outdoors", "outdoors", _above_ground(end, context))
    pan = _pan_under(end, line, context)
    if pan is not None:
        return Place("pan", f'in the pan "{pan.label}"', None, pan)
    floor = floor_under(end, context)
    if around is None or floor is None or end[2] - floor > FLOOR_M:
        return Place("", "whether indoors or outdoors is not known", None)
    return Place("floor", "over the floor", end[2] - floor)


@lru_cache(maxsize=4)
def _receptors(context: Context) -> list[Element]:
    elements = context.plumbing.network.elements
    return [e for e in elements if e.role is Role.FIXTURE and e.kind in RECEPTORS and e.position]


def _receptor_under(point: Point, context: Context) -> Element | None:
    found = [
        (apart, e.guid, e)
        for e in _receptors(context)
        if e.position is not None and -0.3 <= point[2] - e.position[2] <= FLOOR_M
        if (apart := _apart(e, point)) <= OVER_M
    ]
    return min(found)[2] if found else None


def _apart(element: Element, point: Point) -> float:
    """Level distance from a point to an element's box, else to its place."""
    if element.box is None:
        assert element.position is not None
        return hypot(element.position[0] - point[0], element.position[1] - point[1])
    low, high = element.box
    x, y = (max(low[k] - point[k], 0.0, point[k] - high[k]) for k in (0, 1))
    return hypot(x, y)


def _pan_under(point: Point, line: DischargeLine, context: Context) -> Element | None:
    for pan in context.plumbing.heaters.pans:
        element = pan.element
        if element is line.start or element.position is None:
            continue
        reach = 0.05 if element.box else PAN_M
        above = point[2] - element.position[2]
        if _apart(element, point) <= reach and -0.1 <= above <= PAN_DEPTH_M:
            return element
    return None


def floor_under(point: Point, context: Context) -> float | None:
    """The top of the highest slab under a point, else the elevation of the storey it is on."""
    slabs = [
        s.high[2]
        for s in surroundings(context).of_kind("slab")
        if all(s.low[k] <= point[k] <= s.high[k] for k in (0, 1)) and s.high[2] <= point[2] + 0.03
    ]
    if slabs:
        return max(slabs)
    storeys = [s.elevation_m for s in context.plumbing.network.model.storeys]
    return max((z for z in storeys if z <= point[2] + 0.03), default=None)


def _above_ground(point: Point, context: Context) -> float | None:
    """Above the lowest floor, as the ground is seldom drawn."""
    storeys = [s.elevation_m for s in context.plumbing.network.model.storeys]
    return point[2] - min(storeys) if storeys else None
