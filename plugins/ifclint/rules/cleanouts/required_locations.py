"""Rules about where a cleanout is wanted: upper ends, intervals, stacks, the sewer."""

from collections.abc import Iterator
from itertools import pairwise

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Fact,
    advise,
    check,
    given,
    known,
    missing,
    not_known,
)
from ifclint.codes import Limit
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import feet
from ifclint.engineering.wording import apart_text, number_text
from ifclint.findings import Answer, Measure, Severity, Step
from ifclint.ifc.elements import Element, Role, System
from ifclint.packs import Context, rule
from ifclint.part_kinds import CLEANOUTS
from ifclint.plumbing import BuildingDrain, DrainLine, Part, Stack
from ifclint.plumbing.drainage.outlets import is_sump
from ifclint.plumbing.drainage.pumped import PUMPED
from ifclint.plumbing.drainage.through_air import tied_lines
from ifclint.plumbing.footprint import Footprint
from ifclint.rules.cleanouts.wording import (
    add_cleanout,
    downstream,
    for_want_of_cleanouts,
    is_above_lowest_floor,
    line_steps,
    on_line,
    unknown_lowest_floor,
)

SINKS = frozenset({"kitchen-sink", "bar-sink", "sink", "mop-sink", "laundry-sink", "clinical-sink"})
AT_END_FT = 1.0  # so near to the upper end, or to a turn, a cleanout's fitting is the very fitting
GOES_ON = frozenset({Part.STACK, Part.OFFSET})  # below a stack that ends above another
AT_FOOT = 3  # elements below a stack: the turn at its foot, and the fitting that leads into
BEGINS = Fact(
    "whether {} has a cleanout at its upper end is not known: it begins at an open end, and what "
    "drains into it is not drawn.",
    "Draw what drains into it, or add the drawing of it to the review.",
)
LEAVES = Fact(
    "where the building drain leaves the building",
    "Give the file with the walls or slabs, and draw the drain to the sewer.",
)


@rule(
    title="Cleanout at the upper end of a horizontal drain",
    clauses={"upc": "707.4"},
    needs=("length_m", "height_m"),
    follows=(System.SANITARY,),
)
def upper_end_cleanout(line: DrainLine, context: Context) -> Answer:
    """A drain without an opening at its head can be rodded only from below, against the flow.

    Every horizontal drain must have a cleanout at its upper end, or in the vertical pipe just above
    it; one that leads on from an interceptor or manhole has its cover. Excused: lines shorter than
    5 ft that serve no sink or urinal; lines nowhere more than 72° from the vertical (what a fifth
    bend turns); lines above the lowest floor, but for the building drain, its branches and those
    the code names; and the line in whose stead a two-way fitting stands at the sewer. Of a line
    that begins at an open end it is asked where the model draws no fixtures at all.
    """
    if any(at_most(feet(at), AT_END_FT, "ft") for at, _ in on_line(line, context)):
        return PASS
    if line.begins_at_a_cover:
        return PASS
    if tied_lines(context).issuperset(line.segments):
        return NOT_APPLICABLE  # it is to end in the air
    if _is_excused(line, context):
        return NOT_APPLICABLE
    if _two_way_stands_in(line, context):
        return PASS
    if is_above_lowest_floor(line, context) is None and not _is_named_above(line, context):
        return unknown_lowest_floor(line)
    if not context.plumbing.fixtures and line.head == NONE and _begins_open(line):
        return not_known(BEGINS, line)
    head = line.piping.elements[line.head].guid if line.head != NONE else line.first.guid
    return missing(
        CLEANOUTS,
        message=lambda: f"{line.label} has no cleanout at its upper end.",
        measured=Measure(0.0, "cleanouts"),
        required=Measure(1.0, "cleanouts", "at least"),
        remedy=add_cleanout(
            head, "Extend the drain at its upper end to a cleanout, by a wye or combination."
        ),
        steps=lambda: (
            *line_steps(line, context),
            *context.plumbing.surroundings.floors.lowest_steps,
        ),
        elements=(head, *line.element_ids),
    )


def _begins_open(line: DrainLine) -> bool:
    """Whether nothing at all is joined above a line: what lies there is on no drawing."""
    first = line.segments[0].indexes[0]
    return set(line.piping.network.neighbours(first)) <= {line.piping.drainage.down[first]}


def _is_excused(line: DrainLine, context: Context) -> bool:
    short = context.code.limit("cleanout_short_line_ft").value
    steep = context.code.limit("cleanout_steep_deg").value  # from the vertical
    serves = {f.kind for f in line.fixtures}
    if not at_least(feet(given(line.length_m)), short, "ft") and not serves & {*SINKS, "urinal"}:
        return True
    if line.steepness_deg is not None and at_most(90.0 - line.steepness_deg, steep, "deg"):
        return True
    return is_above_lowest_floor(line, context) is True and not _is_named_above(line, context)


def _is_named_above(line: DrainLine, context: Context) -> bool:
    """Whether the code wants a cleanout on this line on any floor."""
    table = context.code.table("cleanout_above_lowest_floor")
    named = {row.text("applies_to") for row in table.rows}
    parts = {
        "building drain": Part.BUILDING_DRAIN,
        "horizontal branch of the building drain": Part.BUILDING_DRAIN_BRANCH,
    }
    is_named_part = any(name in named and part in line.parts for name, part in parts.items())
    return is_named_part or any(f.kind in named for f in line.fixtures)


def _two_way_stands_in(line: DrainLine, context: Context) -> bool:
    """A two-way fitting at the sewer instead, for the building drain itself."""
    sewers = (*context.plumbing.building_drains, *context.plumbing.bare_sewers)
    is_main = any(line.indexes[-1] in drain.path for drain in sewers)
    return is_main and any(c.two_way for _, c in on_line(line, context))


@rule(
    title="Cleanouts close enough along a horizontal drain",
    clauses={"upc": "707.4", "ipc": "708.1.1", "irc": "P3005.2.1"},
    needs=("length_m",),
)
def cleanout_interval(line: DrainLine, context: Context) -> Iterator[Answer]:
    """A cable reaches only so far.

    The developed length of the drain between its upper end, its cleanouts and its lower end: no
    stretch without a cleanout longer than the code's interval. Each longer stretch is said.
    """
    most = context.code.limit("cleanout_interval_ft")
    opened_by = {0.0: line.key, **{at: c.key for at, c in on_line(line, context)}}
    for start, end in pairwise(sorted({*opened_by, given(line.length_m)})):
        yield for_want_of_cleanouts(_stretch(line, context, most, start, end, opened_by[start]))


def _stretch(
    line: DrainLine, context: Context, most: Limit, start: float, end: float, opened_by: str
) -> Answer:
    """Whether a line needs no cleanout from one place to another."""
    latest = feet(start) + most.value
    return check(
        feet(end - start),
        at_most=most,
        message=lambda: (
            f"{line.label} runs {apart_text(feet(end - start), most.value, 'ft')} without a "
            "cleanout."
        ),
        remedy=lambda: add_cleanout(
            _farthest(line, start, latest),
            f"Add a cleanout {number_text(latest)} ft from its upper end, at the latest.",
        ),
        steps=lambda: line_steps(line, context),
        limit_step="Between cleanouts, at most",
        about=opened_by,
    )


def _farthest(line: DrainLine, start: float, latest_ft: float) -> str:
    """The last element of a stretch that lies no farther from the upper end, or else the next."""
    on = [(feet(line.at_m[i]), i) for i in line.indexes if line.at_m.get(i, start) > start]
    within = [i for at, i in on if at <= latest_ft]
    index = (within[-1:] or [i for _, i in on[:1]] or line.indexes[-1:])[0]
    return line.piping.elements[index].guid


@rule(
    title="Stack with a cleanout at its base",
    clauses={"upc": "common practice, no clause", "ipc": "common practice, no clause"},
    severity=Severity.LOW,
)
def stack_base_cleanout(stack: Stack, context: Context) -> Answer:
    """What falls down a stack stops where it turns: there one wants to get at it.

    A cleanout in the foot of the stack (above the lowest floor where the foot lies in the ground),
    or in the drain it turns into, at its upper end. Excused: a stack that goes on in another, below
    an offset. Neither code of 2018 and later asks for it by name (older ones and local amendments
    do): an advisory.
    """
    if stack.base.next is not None and stack.base.next.part in GOES_ON:
        return NOT_APPLICABLE
    if _has_base_cleanout(stack, context):
        return PASS
    foot = stack.base.pipes[-1].element.guid
    text = "Put a cleanout tee in the foot of the stack, above the floor."
    return for_want_of_cleanouts(
        advise(
            lambda: f"{stack.label} has no cleanout at its base.",
            add_cleanout(foot, text),
            elements=(foot,),
        )
    )


def _has_base_cleanout(stack: Stack, context: Context) -> bool:
    """In the stack not too high above its foot, or in the turn there."""
    high = context.code.limit("cleanout_stack_base_ft").value
    near = {*downstream(stack.base.indexes[-1], context)[1 : AT_FOOT + 1]}
    inside = {i for s in stack.segments for i in (*s.indexes, *s.between, *s.tail)}
    base_m = _base_m(stack, context)

    def is_low(index: int) -> bool:
        point = context.plumbing.venting.piping.middle(index)
        if point is None or base_m is None:
            return False
        return at_most(feet(point[2] - base_m), high, "ft")

    entries = {c.entry for c in context.plumbing.cleanouts}
    return bool(entries & near) or any(map(is_low, entries & inside))


def _base_m(stack: Stack, context: Context) -> float | None:
    """The height of a stack's foot, or of the lowest floor where the foot lies below it."""
    foot, floors = stack.base.pipes[-1].down, context.plumbing.surroundings.floors
    if foot is None:
        return None
    return floors.likely[0].level_m if floors.is_below_lowest(foot[2]) else foot[2]


@rule(
    title="Cleanout where the building drain meets the sewer",
    clauses={"upc": "719.1", "ipc": "708.1.3", "irc": "P3005.2.3"},
)
def sewer_junction_cleanout(drain: BuildingDrain, context: Context) -> Iterator[Answer]:
    """When the street backs up, this is where it is found out whose fault it is.

    A cleanout (best a two-way one) where the building drain becomes the sewer, a few feet outside
    the building, or a little upstream of there; where it leaves in several places, at each. The
    building is what its walls enclose. A sump or interceptor so near outside is one, by its cover;
    what leaves to an interceptor is no building drain. Excused: a drain that ends in a sump inside,
    for the drain its pump lifts to becomes the sewer, and a sewer that is drawn alone and begins
    outside.
    """
    footprint = context.plumbing.venting.surroundings.footprint
    lines = [drain] if footprint is None else drain.lines(footprint)
    for line in lines:
        about = line.piping.elements[line.path[0]].guid if len(lines) > 1 else ""
        yield _at_junction(line, footprint, context, about)


def _at_junction(
    drain: BuildingDrain, footprint: Footprint | None, context: Context, about: str
) -> Answer:
    """One line of a building drain, against the cleanouts on it."""
    crossing = drain.crossing_m(footprint) if footprint is not None else None
    is_none = drain.outlet.kind == PUMPED or not drain.fixtures
    if crossing is None and footprint is not None and is_none:
        return NOT_APPLICABLE
    leaves_ft = feet(known(crossing, LEAVES))
    junction_ft = leaves_ft - context.code.limit("building_drain_beyond_wall_ft").value
    upstream = context.code.limit("cleanout_junction_upstream_ft").value
    past = context.code.limit("cleanout_junction_past_ft").value
    upstream_ft = [at - junction_ft for at, _ in _above_outlet_ft(drain, context)]
    if any(at_most(d, upstream, "ft") and at_most(-d, past, "ft") for d in upstream_ft):
        return PASS
    nearest_ft = min(map(abs, upstream_ft), default=junction_ft)
    return _none_at_junction(drain, leaves_ft, nearest_ft, context, about)


def _above_outlet_ft(drain: BuildingDrain, context: Context) -> list[tuple[float, str]]:
    """How far along the drain above its outlet each cleanout stands, and its label; what is opened
    by a cover is one where the drain comes in."""
    places = [(drain.above_outlet_m(c.entry, c.enters_at), c) for c in context.plumbing.cleanouts]
    found = [(feet(at + c.beside_m), c.label) for at, c in places if at is not None]
    for upper, index in pairwise(drain.path):
        element = drain.piping.elements[index]
        at = drain.above_outlet_m(upper, drain.piping.exit(upper)) if _is_opened(element) else None
        if at is not None:
            found.append((feet(at), element.label))
    return found


def _is_opened(element: Element) -> bool:
    return is_sump(element) or element.role is Role.INTERCEPTOR


def _none_at_junction(
    drain: BuildingDrain, leaves_ft: float, nearest_ft: float, context: Context, about: str
) -> Answer:
    """No cleanout where the building drain becomes the sewer."""
    beyond = context.code.limit("building_drain_beyond_wall_ft")
    upstream = context.code.limit("cleanout_junction_upstream_ft")
    outside = f"{number_text(beyond.value)} ft outside the wall"
    text = f"Put a two-way cleanout {outside}, led up to grade."
    found = _above_outlet_ft(drain, context)
    return missing(
        CLEANOUTS,
        message="The building drain has no cleanout where it meets the sewer.",
        measured=Measure(nearest_ft, "ft"),
        required=Measure(upstream.value, "ft", "at most"),
        remedy=add_cleanout(drain.element.guid, text),
        steps=(
            Step("The drain leaves the building, above the outlet", leaves_ft, "ft"),
            Step(
                "It becomes the sewer, above the outlet",
                leaves_ft - beyond.value, "ft", beyond.clause,
            ),
            *(Step(f"cleanout {label}, above the outlet", at, "ft") for at, label in found),
        ),
        clause=upstream.clause,
        about=about,
    )  # fmt: skip
