"""Where a relief or pan line ends: over a receptor, in a pan, outdoors, or over a floor."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

from ifclint.checks import unverified, violation
from ifclint.engineering.units import M_PER_FT, M_PER_IN
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, Measure, Step
from ifclint.ifc.elements import Element, Point, Role
from ifclint.packs import Context, derived
from ifclint.plumbing.heaters.discharge import DischargeLine
from ifclint.plumbing.heaters.fuel_vents import FuelVent
from ifclint.plumbing.surroundings.obstacles import Surroundings, level_distance_m
from ifclint.rules.heaters.answers import start

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


@derived
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


def air_gap(line: DischargeLine, outlet_in: float | None, context: Context) -> Step:
    """The least air gap of a line above a receptor, in inches, by the largest pipe of the line."""
    least, times = (context.code.limit(f"drain_air_gap_min_{k}") for k in ("in", "diameters"))
    size = max((p.size_in for p in line.pipes if p.size_in), default=outlet_in or 0.0)
    words = f"Air gap: {least.value:g} in, or {times.value:g} times the line if more"
    return Step(words, max(least.value, times.value * size), "in", least.clause)


def too_little_air(
    label: str, line: DischargeLine, outlet_in: float | None, place: Place, context: Context
) -> Answer | None:
    """What is wrong where a line ends lower above its receptor than the air gap; else None."""
    gap = air_gap(line, outlet_in, context)
    if place.above_in is None or gap.value is None or place.above_in >= gap.value - 0.05:
        return None
    side = "above" if place.above_in >= 0 else "below the rim of"
    return violation(
        message=(
            f"{label} ends {number_text(abs(place.above_in))} in {side} the receptor; an "
            "air gap of "
            f"{number_text(gap.value)} in is asked for."
        ),
        remedy=f"End it at least {number_text(gap.value)} in above the receptor's rim.",
        measured=Measure(place.above_in, "in"),
        required=Measure(gap.value, "in", "at least"),
        steps=(gap,),
        elements=(line.last.guid,),
        clause=gap.source,
    )


def not_outdoors(vent: FuelVent, context: Context) -> Answer | None:
    """What is wrong, or not known, where a fuel vent ends; None where it ends outdoors."""
    around, end = surroundings(context), vent.top
    if end is None:
        return unverified(f"Where {vent.label} ends is not known.", "Give its terminal a place.")
    if around.footprint is not None and level_distance_m(end, *around.footprint) > 0:
        return None
    roof = around.roof_over(end)
    if roof is not None and end[2] >= roof.high[2]:
        return None
    if roof is None or around.footprint is None or end[2] >= roof.low[2]:
        return unverified(
            f"Whether {vent.label} ends outdoors is not known: the roof and the walls around it "
            "do not tell.",
            "Review together with the file that has the roof and the walls.",
            (vent.terminal.guid,),
        )
    return violation(
        message=f"{start(vent)} ends inside the building, under {roof.name or 'the roof'}.",
        remedy="Carry the vent through the roof to a listed cap.",
        measured=Measure((end[2] - roof.high[2]) / M_PER_FT, "ft"),
        required=Measure(0.0, "ft", "at least"),
        elements=(vent.terminal.guid, *vent.element_ids),
    )


@derived
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
