"""Rules about where a cleanout is wanted: upper ends, intervals, turns, stacks, the sewer."""

from __future__ import annotations

from itertools import pairwise

from ifclint.engineering.wording import number_text
from ifclint.findings import NOT_APPLICABLE, PASS, Answer, Measure, Outcome, Severity, Step
from ifclint.packs import Context, rule
from ifclint.plumbing import BuildingDrain, Cleanout, DrainLine, Fixture, Part, Stack
from ifclint.rules.cleanouts.wording import (
    DRAWN_FT,
    feet,
    limit,
    line_steps,
    on_line,
    shows_cleanouts,
)

SINKS = frozenset({"kitchen-sink", "bar-sink", "sink", "mop-sink", "laundry-sink", "clinical-sink"})
AT_END_FT = 0.5
TURN_TOLERANCE_DEG = 3.0


def _not_modelled(what: str) -> Answer:
    return Answer(
        Outcome.UNVERIFIED,
        f"The model shows no cleanouts at all; {what} is not known.",
        remedy="Model the cleanouts, named so (IfcPipeFitting or IfcWasteTerminal), joined to "
        "their drains.",
    )


@rule(
    title="Cleanout at the upper end of a horizontal drain",
    subject=DrainLine,
    clauses={"upc": "707.4"},
    needs=("length_m", "height_m"),
)
def upper_end_cleanout(line: DrainLine, context: Context) -> Answer:
    """A drain without an opening at its head can be rodded only from below, against the flow.

    Every horizontal drain must have a cleanout at its upper end, or in the vertical pipe just above
    it. Excused: lines shorter than 5 ft that serve no sink or urinal; lines close to vertical;
    lines above the lowest floor, but for the building drain, its branches and those the code
    names; and the line in whose stead a two-way fitting stands at the sewer.
    """
    at_end = [c for at, c in on_line(line, context) if feet(at) <= AT_END_FT]
    if at_end:
        return PASS
    if _excused(line, context):
        return NOT_APPLICABLE
    if not shows_cleanouts(context):
        return _not_modelled(f"whether {line.label} has one")
    if _two_way_stands_in(line, context):
        return PASS
    head = line.piping.elements[line.head].guid if line.head >= 0 else line.first.guid
    return Answer(
        Outcome.VIOLATION,
        f"{line.label} has no cleanout at its upper end.",
        measured=Measure(0.0, "cleanouts"),
        required=Measure(1.0, "cleanouts", "at least"),
        remedy="Extend the drain at its upper end to a cleanout, by a wye or combination.",
        steps=line_steps(line, context),
        elements=(head, *line.element_ids),
    )


def _excused(line: DrainLine, context: Context) -> bool:
    short, steep = limit(context, "cleanout_short_line_ft"), limit(context, "cleanout_steep_deg")
    serves = {f.kind for f in line.fixtures}
    needs_one = bool(serves & SINKS) or "urinal" in serves
    if short is not None and feet(line.length_m or 0.0) < short.value and not needs_one:
        return True
    angle = line.steepness_deg
    if steep is not None and angle is not None and 90.0 - angle <= 90.0 - steep.value:
        return True
    return _above_lowest_floor(line, context) and not _named_above(line, context)


def _above_lowest_floor(line: DrainLine, context: Context) -> bool:
    floor = context.plumbing.venting.surroundings.lowest_floor_m
    return floor is not None and line.height_m is not None and line.height_m > floor


def _named_above(line: DrainLine, context: Context) -> bool:
    """Whether the code wants a cleanout on this line on any floor."""
    table = context.code.table("cleanout_above_lowest_floor")
    named = {row.text("applies_to") for row in table.rows}
    is_main = "building drain" in named and Part.BUILDING_DRAIN in line.parts
    is_branch = "horizontal branch of the building drain" in named and (
        Part.BUILDING_DRAIN_BRANCH in line.parts
    )
    return is_main or is_branch or any(f.kind in named for f in line.fixtures)


def _two_way_stands_in(line: DrainLine, context: Context) -> bool:
    """A two-way fitting at the sewer instead, for the building drain itself."""
    is_main = any(
        line.indexes and i in drain.path
        for drain in context.plumbing.building_drains
        for i in line.indexes[-2:]
    )
    two_way = [c for _, c in on_line(line, context) if c.two_way]
    return is_main and bool(two_way)


@rule(
    title="Cleanouts close enough along a horizontal drain",
    subject=DrainLine,
    clauses={"upc": "707.4", "ipc": "708.1.1", "irc-2021": "P3005.2.1"},
    needs=("length_m",),
)
def cleanout_interval(line: DrainLine, context: Context) -> Answer:
    """A cable reaches only so far.

    The developed length of the drain between its upper end, its cleanouts and its lower end: no
    stretch without a cleanout longer than the code's interval.
    """
    most = limit(context, "cleanout_interval_ft")
    assert line.length_m is not None
    if most is None or feet(line.length_m) <= most.value + DRAWN_FT:
        return PASS if most is not None else NOT_APPLICABLE
    if not shows_cleanouts(context):
        return _not_modelled(f"how far {line.label} runs without one")
    places = sorted({0.0, line.length_m, *(at for at, _ in on_line(line, context))})
    stretch, start = max((b - a, a) for a, b in pairwise(places))
    if feet(stretch) <= most.value + DRAWN_FT:
        return PASS
    return Answer(
        Outcome.VIOLATION,
        f"{line.label} runs {feet(stretch):.0f} ft without a cleanout.",
        measured=Measure(round(feet(stretch), 2), "ft"),
        required=Measure(most.value, "ft", "at most"),
        remedy=f"Add a cleanout {number_text(feet(start) + most.value)} ft from its upper end, at "
        "the latest.",
        steps=(
            *line_steps(line, context),
            Step("Between cleanouts, at most", most.value, "ft", most.clause),
        ),
        clause=most.clause,
    )


@rule(
    title="Cleanout where a horizontal drain turns",
    subject=DrainLine,
    clauses={"upc": "707.4", "ipc": "708.1.4", "irc-2021": "P3005.2.4"},
    needs=("length_m",),
)
def cleanout_turns(line: DrainLine, context: Context) -> Answer:
    """A cable jams in bends, and so does what it should clear.

    UPC: the horizontal changes of direction since the last cleanout, added up, no more than 135°.
    IPC: each change of more than 45° has a cleanout, which serves further ones within 40 ft. Where
    a branch joins a larger drain its line ends, and that is no turn of it.
    """
    most = limit(context, "cleanout_turn_deg")
    turns = line.turns
    if most is None or not turns:
        return PASS if most is not None else NOT_APPLICABLE
    by_family = {"upc": _aggregate, "ipc": _each_turn}
    found = by_family[context.code.family](line, context, most.value)
    if found is None:
        return PASS
    if not shows_cleanouts(context):
        return _not_modelled(f"whether the turns of {line.label} can be rodded")
    index, degrees = found
    element = line.piping.elements[index]
    return Answer(
        Outcome.VIOLATION,
        f"{line.label} turns {degrees:.0f}° at {element.label}, without a cleanout.",
        measured=Measure(round(degrees, 1), "deg"),
        required=Measure(most.value, "deg", "at most"),
        remedy=f"Add a cleanout just above {element.label}.",
        steps=(
            *line_steps(line, context),
            *(Step(f"turn at {line.piping.elements[i].label}", d, "deg") for i, d, _ in turns),
            Step("Turn without a cleanout, at most", most.value, "deg", most.clause),
        ),
        elements=(element.guid, *line.element_ids),
        clause=most.clause,
    )


def _aggregate(line: DrainLine, context: Context, most: float) -> tuple[int, float] | None:
    """UPC: the first turn at which the sum since the last cleanout is too great."""
    places = [feet(at) for at, _ in on_line(line, context)]
    total, since = 0.0, -1.0
    for index, degrees, at_m in line.turns:
        last = max((p for p in places if p <= feet(at_m) + DRAWN_FT), default=-1.0)
        if last > since:
            total, since = 0.0, last
        total += degrees
        if total > most + TURN_TOLERANCE_DEG:
            return index, total
    return None


def _each_turn(line: DrainLine, context: Context, most: float) -> tuple[int, float] | None:
    """IPC: the first sharp turn that no cleanout serves."""
    shared = limit(context, "cleanout_turn_shared_ft")
    places = [feet(at) for at, _ in on_line(line, context)]
    served_to = -1.0
    for index, degrees, at_m in line.turns:
        at = feet(at_m)
        if degrees <= most + TURN_TOLERANCE_DEG or at <= served_to:
            continue
        near = [p for p in places if at - _upstream_ft(context) <= p <= at + AT_END_FT]
        if not near:
            return index, degrees
        served_to = at + (shared.value if shared is not None else 0.0)
    return None


def _upstream_ft(context: Context) -> float:
    """How far above a turn a cleanout still counts as at it: its cable goes with the flow."""
    value = limit(context, "cleanout_turn_upstream_ft")
    return value.value if value is not None else 0.0


@rule(
    title="Urinal with a cleanout above its fitting",
    subject=Fixture,
    clauses={"upc": "707.4"},
    severity=Severity.LOW,
    applies=lambda f: f.kind == "urinal" and f.connected,
)
def urinal_cleanout(fixture: Fixture, context: Context) -> Answer:
    """Urinals crust up their drains; each is to be opened without taking it off the wall.

    Whether a cleanout joins the drain of the urinal before it meets another drain.
    """
    if not shows_cleanouts(context):
        return _not_modelled(f"whether {fixture.label} has one")
    path = set(fixture.path)
    if any(c.entry in path for c in context.plumbing.cleanouts):
        return PASS
    return Answer(
        Outcome.VIOLATION,
        f"No cleanout opens the drain of {fixture.label}.",
        remedy="Put a cleanout tee above the connection of the urinal.",
    )


@rule(
    title="Stack with a cleanout at its base",
    subject=Stack,
    clauses={"upc": "common practice, no clause", "ipc": "common practice, no clause"},
    severity=Severity.LOW,
)
def stack_base_cleanout(stack: Stack, context: Context) -> Answer:
    """What falls down a stack stops where it turns: there one wants to get at it.

    A cleanout in the foot of the stack, or in the drain it turns into, at its upper end. Neither
    code of 2018 and later asks for it by name (older ones and local amendments do): an advisory.
    """
    if not shows_cleanouts(context):
        return _not_modelled(f"whether {stack.label} has one")
    if _at_base(stack, context):
        return PASS
    return Answer(
        Outcome.ADVISORY,
        f"{stack.label} has no cleanout at its base.",
        remedy="Put a cleanout tee in the foot of the stack, above the floor.",
        elements=(stack.base.pipes[-1].element.guid,),
    )


def _at_base(stack: Stack, context: Context) -> bool:
    piping = context.plumbing.venting.piping
    foot = stack.base.pipes[-1].down
    high = limit(context, "cleanout_stack_base_ft")
    near = set(stack.base.tail[:1])
    index = stack.base.indexes[-1]
    for _ in range(3):  # the turn at the foot, and the fitting it leads into
        index = piping.drainage.down[index]
        if index < 0:
            break
        near.add(index)
    inside = {
        i for segment in stack.segments for i in (*segment.indexes, *segment.between, *segment.tail)
    }
    for cleanout in context.plumbing.cleanouts:
        point = piping.middle(cleanout.entry)
        low = (
            cleanout.entry in inside
            and point is not None
            and foot is not None
            and high is not None
            and feet(point[2] - foot[2]) <= high.value
        )
        if low or cleanout.entry in near:
            return True
    return False


@rule(
    title="Cleanout where the building drain meets the sewer",
    subject=BuildingDrain,
    clauses={"upc": "719.1", "ipc": "708.1.3", "irc-2021": "P3005.2.3"},
    applies=lambda drain: bool(drain.fixtures),
)
def sewer_junction_cleanout(drain: BuildingDrain, context: Context) -> Answer:
    """When the street backs up, this is where it is found out whose fault it is.

    A cleanout (best a two-way one) where the building drain becomes the sewer, a few feet outside
    the building, or a little upstream of there. The building is the box around its walls and slabs.
    """
    if not shows_cleanouts(context):
        return _not_modelled("whether there is one at the sewer")
    footprint = context.plumbing.venting.surroundings.footprint
    crossing = drain.crossing_m(footprint) if footprint is not None else None
    if crossing is None:
        return Answer(
            Outcome.UNVERIFIED,
            "Where the building drain leaves the building is not known.",
            remedy="Give the file with the walls or slabs, and draw the drain to the sewer.",
        )
    beyond, up = (
        limit(context, "building_drain_beyond_wall_ft"),
        limit(context, "cleanout_junction_upstream_ft"),
    )
    past = limit(context, "cleanout_junction_past_ft")
    if beyond is None or up is None or past is None:
        return NOT_APPLICABLE
    junction = feet(crossing) - beyond.value
    places = [
        (feet(at), c)
        for c in context.plumbing.cleanouts
        if (at := drain.above_outlet_m(c.entry)) is not None
    ]
    near = [c for at, c in places if junction - past.value <= at <= junction + up.value]
    if near:
        return PASS
    steps = [Step(f"cleanout {c.label}, above the outlet", at, "ft") for at, c in places]
    return Answer(
        Outcome.VIOLATION,
        "The building drain has no cleanout where it meets the sewer.",
        measured=Measure(
            round(min((abs(a - junction) for a, _ in places), default=junction), 1), "ft"
        ),
        required=Measure(up.value, "ft", "at most"),
        remedy=f"Put a two-way cleanout {number_text(beyond.value)} ft outside the wall, led up "
        "to grade.",
        steps=(
            Step("The drain leaves the building, above the outlet", feet(crossing), "ft"),
            Step("It becomes the sewer, above the outlet", junction, "ft", beyond.clause),
            *steps,
        ),
        clause=up.clause,
    )


@rule(
    title="Kitchen drain with a cleanout past its trap",
    subject=DrainLine,
    clauses={"upc": "707.4", "ipc": "common practice, no clause"},
    severity=Severity.LOW,
    applies=lambda line: any(f.kind == "kitchen-sink" for f in line.fixtures),
)
def kitchen_drain_rodded(line: DrainLine, context: Context) -> Answer:
    """Grease closes the kitchen drain first, and no cable passes a trap.

    Whether a cleanout between the sink's trap and the end of the line lets the whole line be
    rodded with the flow. An advisory where the code asks for none (the rule about upper ends finds
    what it does ask for).
    """
    if not shows_cleanouts(context):
        return _not_modelled(f"whether {line.label} can be rodded past the sink's trap")
    if _rodded_past_trap(line, context):
        return PASS
    return Answer(
        Outcome.ADVISORY,
        f"{line.label} cannot be rodded from past the kitchen sink's trap.",
        remedy="Put a cleanout tee in the sink's waste, below the trap arm.",
        steps=line_steps(line, context),
    )


def _rodded_past_trap(line: DrainLine, context: Context) -> bool:
    """A cleanout at or above the upper end, or above where the sink's drain comes in."""
    down = context.plumbing.drainage.down
    for fixture in line.fixtures:
        if fixture.kind != "kitchen-sink":
            continue
        path, index = set(), fixture.index
        while index >= 0 and index not in line.indexes[1:]:
            path.add(index)
            index = down[index]
        path.add(index)
        if not any(c.entry in path and _opens_down(c) for c in context.plumbing.cleanouts):
            return False
    return True


def _opens_down(cleanout: Cleanout) -> bool:
    return not cleanout.on_vent


RULES = (
    upper_end_cleanout,
    cleanout_interval,
    cleanout_turns,
    urinal_cleanout,
    stack_base_cleanout,
    sewer_junction_cleanout,
    kitchen_drain_rodded,
)
