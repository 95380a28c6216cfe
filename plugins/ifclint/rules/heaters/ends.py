"""Where a relief, pan or condensate line ends: over a receptor, in a pan, outdoors, on a floor,
out of sight."""

import re
from dataclasses import dataclass, replace
from enum import StrEnum
from math import dist, inf

from ifclint.checks import PASS, Fact, check, given, not_known
from ifclint.codes import Limit
from ifclint.engineering.boxes import Boxes
from ifclint.engineering.near import NearPlaces
from ifclint.engineering.tolerance import at_least, at_most, lies_between
from ifclint.engineering.units import inches
from ifclint.engineering.wording import above_or_below, number_text
from ifclint.findings import Answer
from ifclint.ifc.elements import Element, Point, Role, Surface, System
from ifclint.packs import Context, derived
from ifclint.plumbing.crawl_spaces import CRAWL
from ifclint.plumbing.floors import is_floor
from ifclint.plumbing.heaters.discharge import DischargeLine, neighbours
from ifclint.plumbing.surroundings.obstacles import level_distance_m
from ifclint.plumbing.words import says_text
from ifclint.rules.heaters.wording import GIVE_END

RECEPTORS = frozenset({"floor-drain", "floor-sink", "mop-sink", "laundry-sink", "sink"})
PLATFORM = re.compile(
    r"\b(?:platform|pedestal|plinth|podest|sockel|stand|"
    r"(?:heater|equipment|housekeeping) (?:pad|base|curb))\b",
    re.I,
)
# What counts as over, in and on; ours, no source.
GOES_ON_M = 0.08  # within an elbow of its end, an open end may be meant to go on from a line
LEAN_M = 0.05  # a standpipe leans less than this
OVER_M = 0.45  # a receptor catches what falls this near to it
BESIDE_M = (0.5, 0.5, inf)  # how far beside an end a receptor is looked for
IN_RECEPTOR_M = 0.3  # and what ends this little below its place
PAN_M = 0.6  # a pan without a box reaches this far from its place
PAN_EDGE_M = 0.05  # one with a box this far beyond it
PAN_DEPTH_M = 0.3  # a line that ends in a pan ends this little above it
UNDER_PAN_M = 0.1  # or below its place
FLOOR_M = 1.5  # a line ends over what is not more than this below
IN_FLOOR_M = 0.03  # what ends this little below the top of a floor still ends on it
HIDDEN_WORDS = ("attic", "plenum", "interstitial*", "ceiling void", "ceiling space", "dachboden",
    "combles", "plafond technique")  # fmt: skip
END = Fact("where {} ends is not known: {}.", GIVE_END)
ABOVE_GROUND = Fact(
    "how high {} ends above the ground",
    "Give the height of the ground in the job file (building.grade_elevation).",
)


class ReliefEnd(StrEnum):
    """Where a line ends, as the code's table of relief discharge names it."""

    RECEPTOR = "to-waste-receptor"
    PAN = "into-pan"
    OUTDOORS = "to-outdoors"
    HIDDEN = "to-hidden-space"
    FLOOR = "to-floor"
    UNKNOWN = ""


@dataclass(frozen=True)
class Place:
    """Where a line ends, and how high above the receptor's rim, the ground or the floor."""

    end: ReliefEnd
    words: str
    above_in: float | None = None
    element: Element | None = None
    or_higher: bool = False  # it may lie higher: the ground is taken to lie at the lowest floor

    def is_too_low(self, least: Limit) -> bool | None:
        """Whether it lies lower than the code lets it; None where the ground may lie lower too."""
        assert self.above_in is not None
        low = not at_least(self.above_in, least.value, least.unit)
        return None if low and self.or_higher else low


def place_of_end(line: DischargeLine, context: Context) -> Place:
    """Where the open end of a line is."""
    end, footprint = line.end, context.plumbing.surroundings.footprint
    if end is None:
        return Place(ReliefEnd.UNKNOWN, "where it ends is not known")
    if after := _goes_on(end, line, context):
        return Place(ReliefEnd.UNKNOWN, f"{after.label} lies at its end, and is not joined to it")
    if receptor := _receptor_under(end, context) or _standpipe_under(end, context):
        rim = _rim_m(receptor)
        return Place(ReliefEnd.RECEPTOR, f"over {receptor.label}", inches(end[2] - rim), receptor)
    if footprint is not None and not footprint.holds(end):
        above_in, is_told = _above_ground_in(end, context)
        return Place(ReliefEnd.OUTDOORS, "outdoors", above_in, or_higher=not is_told)
    if pan := _pan_under(end, line, context):
        return Place(ReliefEnd.PAN, f'in the pan "{pan.label}"', element=pan)
    if hidden := _hidden_around(end, context):
        return Place(ReliefEnd.HIDDEN, f"in the {hidden}")
    floor = floor_under(end, context)
    if footprint is None or floor is None or not at_most(end[2] - floor, FLOOR_M, "m"):
        return Place(ReliefEnd.UNKNOWN, "whether indoors or outdoors is not known")
    return Place(ReliefEnd.FLOOR, "over the floor", inches(end[2] - floor))


def _hidden_around(end: Point, context: Context) -> str:
    """The crawl space, attic or plenum that an end lies in, where nobody sees it drip; "" where it
    lies in none."""
    around = context.plumbing.surroundings
    for room in around.rooms_around(end):
        if CRAWL.search(room.name):
            return "crawl space"
        if says_text(room.name, HIDDEN_WORDS):
            return f'"{room.name}"'
    is_under_floor = around.floors.is_below_lowest(end[2]) is True
    return "crawl space" if is_under_floor and around.floors.crawl_spaces.holds(end) else ""


def _goes_on(end: Point, line: DischargeLine, context: Context) -> Element | None:
    """Piping of its system with an open end where a line ends: the line may go on there."""
    mine, system = {e.guid for e in line.elements}, line.last.system
    places, piping = _open_piping(context)
    near = (piping[number] for number in places.around([end], GOES_ON_M)[0])
    others = (e for e in near if e.guid not in mine and e.system in (system, None))
    return next(others, None)


@derived
def _open_piping(context: Context) -> tuple[NearPlaces, list[Element]]:
    """The open ends of pipes and fittings that are of no line which drains in the open: where
    they are, and whose."""
    network, heaters = context.plumbing.network, context.plumbing.heaters
    known = {guid for line in heaters.lines for guid in line.element_ids}
    taken = network.taken_ends
    found = [
        (end.position, e)
        for i, e in enumerate(network.elements)
        if e.role in (Role.PIPE, Role.FITTING) and e.guid not in known
        for number, end in enumerate(e.ends)
        if end.position is not None and (i, number) not in taken
    ]
    return NearPlaces([place for place, _ in found]), [element for _, element in found]


def unknown_end(label: str, place: Place) -> Answer:
    return not_known(END, label, place.words)


def unknown_ground(label: str) -> Answer:
    return not_known(ABOVE_GROUND, label)


def air_gap(line: DischargeLine, outlet_in: float | None, context: Context) -> Limit:
    """The least air gap of a line above a receptor, by the largest pipe of the line."""
    least = context.code.limit("drain_air_gap_min_in")
    times = context.code.limit("drain_air_gap_min_diameters")
    sizes = [p.size_in for p in line.pipes if p.size_in is not None]
    size = max(sizes, default=0.0 if outlet_in is None else outlet_in)
    return replace(least, value=max(least.value, times.value * size))


def air_gap_words(context: Context) -> str:
    least = context.code.limit("drain_air_gap_min_in")
    times = context.code.limit("drain_air_gap_min_diameters")
    more = f", or {times.value:g} times the line if more" if times.value else ""
    return f"Air gap: {least.value:g} in{more}"


def check_air_gap(
    label: str, line: DischargeLine, outlet_in: float | None, place: Place, context: Context
) -> Answer:
    """A line that ends over a receptor, against the air gap."""
    gap, above = air_gap(line, outlet_in, context), place.above_in
    if above is None:
        return PASS
    side = above_or_below(above)
    return check(
        above,
        at_least=gap,
        message=f"{label} ends {number_text(abs(above))} in {side} the rim of the receptor; an air "
        f"gap of {number_text(gap.value)} in is asked for.",
        remedy=f"End the pipe at least {number_text(gap.value)} in above the receptor's rim.",
        limit_step=air_gap_words(context),
        elements=(line.last.guid,),
    )


def floor_under(point: Point, context: Context) -> float | None:
    """The top of the highest slab under a point, else the floor it is on."""
    return _highest(context.plumbing.surroundings.above_or_below("slab", point), point, context)


def room_floor_under(point: Point, context: Context) -> float | None:
    """The same for what stands in a room: no platform is its floor, though drawn as a slab."""
    slabs = context.plumbing.surroundings.above_or_below("slab", point)
    floors = [s for s in slabs if is_floor(s) and not PLATFORM.search(s.name)]
    return _highest(floors, point, context)


def _highest(slabs: list[Surface], point: Point, context: Context) -> float | None:
    """The top of the highest of some slabs under a point; without any, the floor it is on."""
    for tops in ([s.high[2] for s in slabs], _floors_m(context)):
        if under := [z for z in tops if at_most(z - point[2], IN_FLOOR_M, "m")]:
            return max(under)
    return None


def _floors_m(context: Context) -> list[float]:
    return [floor.level_m for floor in context.plumbing.surroundings.floors.likely]


@derived
def _receptors(context: Context) -> tuple[list[Element], Boxes]:
    """The receptors drawn as fixtures, and their boxes."""
    elements = context.plumbing.network.elements
    found = [e for e in elements if e.role is Role.FIXTURE and e.kind in RECEPTORS and e.position]
    return found, Boxes(map(_box, found))


def _receptor_under(point: Point, context: Context) -> Element | None:
    receptors, boxes = _receptors(context)
    found = [
        (level_distance_m(point, *_box(e)), e.guid, e)
        for e in (receptors[n] for n in boxes.around(point, BESIDE_M))
        if lies_between(point[2] - _place(e)[2], -IN_RECEPTOR_M, FLOOR_M, "m")
    ]
    over = [one for one in found if at_most(one[0], _reach_m(point, one[2]), "m")]
    return min(over, key=lambda one: one[:2])[2] if over else None


def _reach_m(point: Point, receptor: Element) -> float:
    """How far beside a receptor an end may lie that it catches: one lower than its rim, within."""
    return OVER_M if at_most(_rim_m(receptor) - point[2], IN_FLOOR_M, "m") else 0.0


def _rim_m(receptor: Element) -> float:
    """The top of a receptor: of a standpipe its open end."""
    tops = [e.position[2] for e in receptor.ends if e.position is not None]
    return max(tops) if receptor.role is Role.PIPE else _box(receptor)[1][2]


def _standpipe_under(point: Point, context: Context) -> Element | None:
    """The standpipe whose open top an end lies over."""
    standpipes, tops = _standpipes(context)
    for top, pipe in (standpipes[n] for n in tops.around(point, BESIDE_M)):
        level = dist(top[:2], point[:2])
        over = lies_between(point[2] - top[2], -IN_RECEPTOR_M, FLOOR_M, "m")
        if over and at_most(level, OVER_M, "m"):
            return pipe
    return None


@derived
def _standpipes(context: Context) -> tuple[list[tuple[Point, Element]], Boxes]:
    """Upright drain pipes, and their tops, at which no other pipe or fitting is joined; and the
    tops to be looked for."""
    network, found = context.plumbing.network, []
    for index, pipe in enumerate(network.elements):
        if pipe.role is not Role.PIPE or pipe.system is not System.SANITARY:
            continue
        ends = [(e.position, n) for n, e in enumerate(pipe.ends) if e.position is not None]
        if len(ends) != 2:
            continue
        (low, _), (top, number) = sorted(ends, key=lambda end: end[0][2])
        upright = at_most(dist(low[:2], top[:2]), LEAN_M, "m") and top[2] - low[2] > LEAN_M
        goes_on = any(
            own == number and network.elements[other].role in (Role.PIPE, Role.FITTING)
            for other, own, _ in neighbours(network, index)
        )
        if upright and not goes_on:
            found.append((top, pipe))
    return found, Boxes((top, top) for top, _ in found)


def _pan_under(point: Point, line: DischargeLine, context: Context) -> Element | None:
    for pan in context.plumbing.heaters.pans:
        element = pan.element
        if element is line.start or element.position is None:
            continue
        reach = PAN_M if element.box is None else PAN_EDGE_M
        above = point[2] - element.position[2]
        is_in = lies_between(above, -UNDER_PAN_M, PAN_DEPTH_M, "m")
        if is_in and at_most(level_distance_m(point, *_box(element)), reach, "m"):
            return element
    return None


def _place(element: Element) -> Point:
    return given(element.position)


def _box(element: Element) -> tuple[Point, Point]:
    """Its box, else its place."""
    return element.box or (_place(element), _place(element))


def _above_ground_in(point: Point, context: Context) -> tuple[float | None, bool]:
    """Above a slab under it, else the ground, None where it may be at any of several floors below;
    and whether the ground is told, which lies no higher than the floor that tells it else."""
    tops = (s.high[2] for s in context.plumbing.surroundings.above_or_below("slab", point))
    slabs = [top for top in tops if at_most(top - point[2], IN_FLOOR_M, "m")]
    if slabs:
        return inches(point[2] - max(slabs)), True
    ground = context.ground
    if ground is None or ground.level_m is None:
        return None, False
    if not ground.is_told and sum(z <= point[2] for z in _floors_m(context)) > 1:
        return None, False
    return inches(point[2] - ground.level_m), ground.is_told
