"""Rules about the run of vent pipe: its height above rims, its grade, its take-off."""

from math import atan2, degrees, hypot, inf

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, advise, check, due, not_known, require
from ifclint.codes import Limit
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import IN_PER_FT, M_PER_IN
from ifclint.engineering.wording import slope_text, tape_text
from ifclint.findings import Answer, Change, Measure, Severity, Step
from ifclint.ifc.elements import Point
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import VentGroup, VentSegment
from ifclint.rules.venting.airflow import air_steps, airflow
from ifclint.rules.venting.circuit import dry_ends, joins_above
from ifclint.rules.venting.draining import LEVEL_M, after_sags, drained_places
from ifclint.rules.venting.runs import level_run
from ifclint.rules.venting.wording import beside_rim, sentence

SAFE_ROLL_DEG = 45.0  # far enough for a vent as large as its drain
CENTRE_LINE_M = 0.005  # an opening drawn no higher lies on the centre line
RIM = Fact(
    "whether {} lies high enough above {} is not known: the model does not show the rim.",
    "Give the fixture a shape, or its SpilloverLevel.",
)
LEAVES = Fact("how {} leaves {}", "Give the fitting placed ports.")
SIZES = Fact(
    "whether {} leaves {} above its centre is not known: a size lacks.",
    "Give vent and drain a nominal diameter.",
)


@rule(
    title="Vent not turned horizontal below the flood rim",
    clauses={"upc": "905.3", "ipc": "905.4 and 905.5", "irc-2021": "P3104.4"},
    severity=Severity.HIGH,
    needs=("orientation",),
    applies=lambda pipe: pipe.serves > 0 and pipe.segment.vertical is not True and not pipe.island,
)
def vent_above_rim(pipe: VentSegment, context: Context) -> Answer:
    """When a fixture stops up, a vent that turns below its rim fills with waste and stays closed.

    The lowest point of every horizontal vent against 6 in above the highest flood-level rim it
    serves. Island vents below their counter are excused, and the dry end of a branch whose circuit
    vent joins too far up; in the UPC a vent below the floor on
    which its fixtures stand is an advisory, as structure may compel it. Where the model does not
    tell a rim, it lies between the fixture's outlet and the height usual for its kind.
    """
    if not dry_ends(context).isdisjoint(pipe.segment.indexes):
        return NOT_APPLICABLE
    least = context.code.limit("vent_rise_above_rim_in")
    heights_m = (due(_lowest_m(pipe)), *due(pipe.rims_m))
    height, low, high = (metres / M_PER_IN for metres in heights_m)
    if at_least(height - high, least.value, "in"):
        return PASS
    if at_least(height - low, least.value, "in"):
        return not_known(RIM, pipe, pipe.rim_of)
    if context.code.family == "upc" and _below_floor(pipe, context):
        return advise(
            f"{sentence(pipe.label)} runs level below the floor, {beside_rim(height - low)} the "
            f"rim of {pipe.rim_of}: legal only where structure leaves no other way.",
            "Let the vent rise before it turns; else lay it with drainage fittings, graded to the "
            "drain, and say on the drawings what compels it.",
        )
    return _turned_level(pipe, context, least, height, low)


def _turned_level(
    pipe: VentSegment, context: Context, least: Limit, height: float, low: float
) -> Answer:
    """The lowest point of a level vent against the rim it serves."""
    short = low + least.value - height
    text = f"Carry the vent up {tape_text(short / IN_PER_FT)} more before it turns."
    run = level_run(pipe.tree, pipe.segment.indexes[0], context)
    return check(
        round(height - low, 2),
        at_least=least,
        message=f"{sentence(pipe.label)} turns level {beside_rim(height - low)} the rim of "
        f"{pipe.rim_of}.",
        remedy=Change(
            "move", tuple(dict.fromkeys((run, *pipe.element_ids))), short * M_PER_IN, text
        ),
        steps=lambda: (
            Step("Lowest point of the horizontal vent", height, "in"),
            Step(f"Flood-level rim of {pipe.rim_of}", low, "in"),
            least.step("Above the rim, at least"),
            *air_steps(pipe, context),
        ),
    )


def _below_floor(pipe: VentSegment, context: Context) -> bool:
    """Whether all of a vent lies below the floors of the fixtures that breathe through it."""
    inside, air = set(pipe.segment.indexes), airflow(context)
    stand = context.plumbing.venting.surroundings.floors
    through = (j for j in pipe.tree.joints if inside & set(pipe.tree.path_out(j)))
    floors = [stand.of(f.element) for j in through for f in air.fixtures_of.get(j, ())]
    highest = max(
        (p[2] for i in pipe.segment.indexes for p in pipe.tree.piping.ends(i)), default=inf
    )
    return bool(floors) and all(f is not None and highest < f.level_m for f in floors)


def _lowest_m(pipe: VentSegment) -> float | None:
    ends = (p for piece in pipe.segment.pipes for p in (piece.up, piece.down) if p is not None)
    return min((p[2] for p in ends), default=None)


@rule(
    title="Vent graded to drain back",
    clauses={"upc": "905.1", "ipc": "905.2", "irc-2021": "P3104.2"},
    needs=("orientation", "slope"),
    applies=lambda pipe: pipe.serves > 0 and pipe.segment.vertical is False,
)
def vent_grade(pipe: VentSegment, context: Context) -> Answer:
    """Rain and condensate that stand in a sag close the vent.

    Every horizontal vent must be level or fall toward a drain, through whichever vents lead there.
    Measured on the steepest pipe whose water finds no such way.
    """
    found = _rising_piece(pipe, context)
    if found is None:
        return PASS
    element, slope = found
    return check(
        round(-slope * IN_PER_FT, 4),
        at_least=0.0,
        unit="in/ft",
        message=f"{sentence(pipe.label)} rises toward the drain, {slope_text(slope)}: water stands "
        "in it.",
        remedy="Lay the vent level, or falling toward the drain it serves.",
        steps=(Step("Fall toward the drain", -slope * IN_PER_FT, "in/ft"),),
        elements=(element,),
    )


def _rising_piece(pipe: VentSegment, context: Context) -> tuple[str, float] | None:
    """The steepest pipe from whose lower end no water finds its way, level or falling, to a drain,
    and how steep it is. Where the vent falls on from there, the sag is farther down; where it comes
    down to there, that is the sag."""
    drained, drainage = drained_places(context), context.plumbing.drainage
    falls_on = _places_above_others(context)
    rising = []
    for index, part in zip(pipe.segment.indexes, pipe.segment.pipes, strict=True):
        ends = [(point[2], p) for p in drainage.ends_at[index] if (point := drainage.places[p])]
        if len(ends) < 2 or part.slope is None or max(ends)[0] - min(ends)[0] <= LEVEL_M:
            continue
        if index in after_sags(context):
            continue
        if min(ends)[1] not in drained and min(ends)[1] not in falls_on:
            rising.append((abs(part.slope), part.element.guid))
    return max(rising)[::-1] if rising else None


@derived
def _places_above_others(context: Context) -> set[int]:
    """The places of the vents from which some vent falls on."""
    drainage = context.plumbing.drainage
    above: set[int] = set()
    for tree in context.plumbing.venting.trees:
        for index in tree.members:
            heights = [(p[2], n) for n in drainage.ends_at[index] if (p := drainage.places[n])]
            above.update(n for height, n in heights if height > min(heights)[0] + LEVEL_M)
    return above


@rule(
    title="Dry vent taken off above the centre of a horizontal drain",
    clauses={"upc": "905.2", "ipc": "905.3", "irc-2021": "P3104.3"},
)
def vent_takeoff(group: VentGroup, context: Context) -> Answer:
    """A vent that leaves the side of a drain fills with solids.

    Where a dry vent joins a drain that enters and leaves horizontally, the vent's opening in the
    fitting must lie above the centre of the drain; by the UPC the invert of the vent must, where it
    comes out of the drain: its fitting is rolled the more, the larger the vent is.
    """
    if not _joins_level_drain(group) or joins_above(group):
        return NOT_APPLICABLE
    opening, middle = group.joint.point, group.piping.middle(group.joint.drain)
    if opening is None or middle is None:
        return not_known(LEAVES, group.vent, group.drain, elements=group.element_ids)
    above = opening[2] - middle[2]
    if context.code.family == "upc" and above > CENTRE_LINE_M:
        return _invert_above_centre(group, opening, middle)
    return require(
        above > CENTRE_LINE_M,
        message=f"{group.vent.label} leaves {group.drain.label} at or below the centre of the "
        "drain.",
        remedy="Roll the fitting so that the vent leaves above the centre, best at 45° or more.",
        measured=Measure(round(above / M_PER_IN, 2), "in"),
        required=Measure(0.0, "in", "more than"),
        steps=(Step("Opening of the vent above the drain's centre", above / M_PER_IN, "in"),),
        elements=(group.vent.guid, group.drain.guid),
    )


def _invert_above_centre(group: VentGroup, opening: Point, middle: Point) -> Answer:
    """By how far the fitting is rolled: so far that the lowest of the vent's bore comes out of the
    drain no lower than its centre; where all of it rises straight, far enough in any size."""
    piping, drain = group.piping, group.joint.drain
    leaves = piping.exit(drain)
    drain_in = piping.elements[piping.next_pipe(drain)].size_in
    rolled = None if leaves is None else _rolled_deg(opening, middle, leaves)
    if rolled is None:
        return not_known(LEAVES, group.vent, group.drain, elements=group.element_ids)
    if at_least(rolled, SAFE_ROLL_DEG, "deg"):
        return PASS
    if group.vent.size_in is None or drain_in is None:
        return not_known(SIZES, group.vent, group.drain, elements=group.element_ids)
    least = degrees(atan2(group.vent.size_in, drain_in))
    return require(
        at_least(rolled, least, "deg"),
        message=f"{group.vent.label} leaves {group.drain.label} {rolled:.0f}° above level: its "
        "invert comes out below the centre of the drain.",
        remedy="Roll the fitting so that the vent leaves higher above the centre, best at 45° or "
        "more.",
        measured=Measure(round(rolled, 1), "deg"),
        required=Measure(round(least, 1), "deg", "at least"),
        steps=(
            Step("Vent", group.vent.size_in, "in"),
            Step("Drain", drain_in, "in"),
            Step("Roll at least, of the tangent vent by drain", least, "deg"),
        ),
        elements=(group.vent.guid, group.drain.guid),
    )


def _rolled_deg(opening: Point, middle: Point, leaves: Point) -> float | None:
    """The angle above level at which a branch leaves a level run, seen along the run."""
    along, out = [leaves[k] - middle[k] for k in (0, 1)], [opening[k] - middle[k] for k in (0, 1)]
    run = hypot(*along)
    if not run:
        return None
    return degrees(atan2(opening[2] - middle[2], abs(along[0] * out[1] - along[1] * out[0]) / run))


def _joins_level_drain(group: VentGroup) -> bool:
    """Whether the vent joins in a fitting through which the drain runs horizontally."""
    piping, drain = group.piping, group.joint.drain
    below = piping.drainage.down[drain]
    from_above = any(piping.is_vertical(i) for i in piping.wet_above[drain])
    leaves_level = below != NONE and piping.is_horizontal(below)
    return leaves_level and not from_above and not piping.is_pipe(drain)
