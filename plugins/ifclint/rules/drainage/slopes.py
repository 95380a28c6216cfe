"""Rules about the fall of a drain: steep enough, never rising, fast enough to stay clean."""

from collections.abc import Iterator
from math import sqrt

from ifclint.checks import NOT_APPLICABLE, PASS, advise, due, given, not_known, require, violation
from ifclint.codes import Limit, Row
from ifclint.engineering.arithmetic import largest, not_below_zero, or_zero
from ifclint.engineering.open_channel import (
    Roughness,
    discharge_m3_per_s,
    roughness,
    velocity_m_per_s,
)
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import (
    IN_PER_FT,
    M3_PER_S_PER_GPM,
    M_PER_FT,
    M_PER_IN,
    in_per_ft_from_slope,
    slope_from_in_per_ft,
)
from ifclint.engineering.wording import feet_text, slope_text, tape_text, trade_size
from ifclint.findings import Answer, Change, Measure, Settles, Severity, Step
from ifclint.ifc.elements import Role
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import DrainSegment, Fixture, Part, Pipe
from ifclint.plumbing.drainage.inflows import rained
from ifclint.plumbing.drainage.least_slope import (
    drain_meets_slope,
    flattest,
    least_slope,
    slope_rows,
)
from ifclint.plumbing.drainage.loads import loads
from ifclint.plumbing.drainage.through_air import tied_lines

HALF = 0.5  # depth over diameter at which speed is judged
LEAST_FALL_IN = 0.25  # over a run; of a shorter one the slope is told. Ours, no source
RISE_M = 0.010  # the ends of a fitting are drawn so near to each other that less says nothing
SAME_FT_PER_S = 0.05  # Manning's n is known to two digits, the usual speed to one decimal


@rule(
    title="Horizontal drain steep enough",
    clauses={"upc": "708.1", "ipc": "704.1 and Table 704.1", "irc": "P3005.3"},
    needs=("orientation", "slope", "size_in"),
    applies=lambda segment: segment.vertical is not True and segment.part is not Part.TAILPIECE,
    settles=Settles.PIPE,
)
def drain_slope(segment: DrainSegment, context: Context) -> Answer:
    """A drain too flat lets solids settle.

    The slope of the flattest pipe of the segment against the least the code allows for its size,
    with 2 % taken as 1/4 in per ft. Backfall is reported by its own rule. Where all that drains
    into it is something of no known kind without a trap, which may be a cleanout, that is asked.
    """
    rows = _slope_rows(segment, context)
    asked = due(least_slope(rows, context))
    if _rising(segment) or segment in tied_lines(context):
        return NOT_APPLICABLE
    if drain_meets_slope(segment, asked.value, context):
        return PASS
    if segment in (fed := _fed_by_what_is_not_known(context)):
        return not_known("known_kind", fed[segment])
    return _too_flat(segment, asked, drain_meets_slope(segment, flattest(rows).value, context))


@derived
def _fed_by_what_is_not_known(context: Context) -> dict[DrainSegment, Fixture]:
    """What is at the head of drains that begin at something of no known kind without a trap."""
    return {
        f.drain: f
        for f in context.plumbing.fixtures
        if f.drain is not None and f.trap is None and f.known_kind is None and not f.drain.above
    }


def _too_flat(segment: DrainSegment, asked: Limit, approvable: bool) -> Answer:
    slope, least, worst = given(segment.slope), asked.value, segment.flattest
    return violation(
        message=f"{segment.label} falls {slope_text(slope)}; {trade_size(segment.size_in)} needs "
        f"{slope_text(slope_from_in_per_ft(least))}."
        + (" This slope may be approved beforehand by the authority." if approvable else ""),
        measured=Measure(in_per_ft_from_slope(slope), "in/ft"),
        required=Measure(least, asked.unit, "at least"),
        remedy=lambda: _steepen(segment, least, approvable),
        steps=lambda: (*_slope_steps(worst), Step("Least slope", least, "in/ft", asked.clause)),
        elements=(worst.element.guid,) if worst else (),
        clause=asked.clause,
        provenance=asked.provenance,
    )


def _slope_rows(segment: DrainSegment, context: Context) -> list[Row]:
    """The least slopes for a drain of its size; for a trap arm its own, where the code has one."""
    arm = ("trap arm",) if segment.part is Part.TRAP_ARM else ()
    return slope_rows(given(segment.size_in), context, *arm, "drainage")


def _steepen(segment: DrainSegment, least_in_per_ft: float, approvable: bool) -> Change:
    length = sum(p.length_m for p in segment.pipes if p.length_m is not None) / M_PER_FT
    fall = length * least_in_per_ft
    down, along = tape_text(fall / IN_PER_FT), feet_text(length, 1.0)
    text = f"Give the run a fall of at least {down} over its {along}."
    if not at_least(fall, LEAST_FALL_IN, "in"):
        slope = slope_text(slope_from_in_per_ft(least_in_per_ft))
        text = f"Give the run a fall of at least {slope}."
    if approvable:
        text += " Or, if approved, set drainage.eighth_inch_slope_approved."
    return Change("slope", segment.element_ids, slope_from_in_per_ft(least_in_per_ft), text)


def _slope_steps(pipe: Pipe | None) -> tuple[Step, ...]:
    if pipe is None or pipe.slope is None or pipe.fall_m is None or pipe.length_m is None:
        return ()
    horizontal_m = sqrt(not_below_zero(pipe.length_m**2 - pipe.fall_m**2))
    return (
        Step("Fall of the flattest pipe", pipe.fall_m / M_PER_IN, "in"),
        Step("over a horizontal run of", horizontal_m / M_PER_FT, "ft"),
        Step("Slope", in_per_ft_from_slope(pipe.slope), "in/ft"),
    )


def _rising(segment: DrainSegment) -> list[tuple[float, Pipe]]:
    """The pipes whose downstream end is the higher one, with their rise in metres, worst first."""
    falls = [(p.fall_m, p) for p in segment.pipes if p.fall_m is not None]
    rising = [(-fall_m, pipe) for fall_m, pipe in falls if not at_least(fall_m, 0.0, "m")]
    return sorted(rising, key=lambda found: -found[0])


@rule(
    title="No drain rises in the direction of flow",
    clauses={"upc": "708.1", "ipc": "704.1", "irc": "P3005.3"},
    severity=Severity.HIGH,
    applies=lambda segment: segment.slope is not None and segment.part is not Part.TAILPIECE,
)
def drain_backfall(segment: DrainSegment, context: Context) -> Iterator[Answer]:
    """A drain that rises holds water and solids and will block.

    Any pipe of the segment, or fitting in it or on the path to the next, whose downstream end is
    higher than its upstream end, by the flow toward the outlet. Pipes that rise are one fault of
    the segment, told by the worst; every fitting that rises is one of its own. A segment of
    unknown slope is reported by the slope rule.
    """
    rising = _rising(segment)
    if not rising:
        yield PASS
    else:
        rise_m, worst = rising[0]
        ids = tuple(pipe.element.guid for _, pipe in rising)
        text = "Turn the fall round, or check the heights of its ends."
        last = _last_rising(segment)
        yield require(
            False,
            message=f"{segment.label} rises {rise_m / M_PER_IN:.2f} in toward the outlet.",
            measured=Measure(in_per_ft_from_slope(or_zero(worst.slope)), "in/ft"),
            required=Measure(0.0, "in/ft", "at least"),
            remedy=Change("move", tuple(dict.fromkeys((last, *ids))), rise_m, text),
            steps=(Step("Rise from its upstream to its downstream end", rise_m / M_PER_IN, "in"),),
            elements=ids,
        )
    for index in (*segment.between, *segment.tail):
        if context.plumbing.network.elements[index].role is Role.FITTING:
            yield _level_or_falling(index, segment, context)


def _last_rising(segment: DrainSegment) -> str:
    """The GlobalId by which a run that was pitched the wrong way is known: of its last drain that
    rises, however many branches come in between."""
    while (below := segment.next) is not None and not below.vertical and _rising(below):
        segment = below
    return segment.first.guid


def _level_or_falling(index: int, segment: DrainSegment, context: Context) -> Answer:
    """Whether a fitting lets the water of a segment go on without lifting it."""
    fitting = context.plumbing.network.elements[index]
    rise_m = _rise_m(index, context)
    if at_most(rise_m, RISE_M):  # no limit of a code: to the noise of floating point alone
        return PASS
    rise_in = rise_m / M_PER_IN
    return violation(
        message=f"{fitting.label} lifts the water {rise_in:.2f} in on the path of {segment.label}.",
        measured=Measure(rise_in, "in"),
        required=Measure(0.0, "in", "at most"),
        remedy="Turn the fitting, or check the heights of its ends.",
        steps=(Step("Rise from the inlet to the outlet of the fitting", rise_in, "in"),),
        elements=(fitting.guid, *segment.element_ids),
        about=fitting.guid,
    )


def _rise_m(index: int, context: Context) -> float:
    """How far an element lifts the water that flows into it; 0 where that is not drawn."""
    piping = context.plumbing.venting.piping
    end, starts = piping.exit(index), [piping.exit(i) for i in piping.wet_above[index]]
    if end is None:
        return 0.0
    return largest(end[2] - start[2] for start in starts if start is not None)


@rule(
    title="Drain fast enough to keep itself clean",
    clauses={"upc": "common practice", "ipc": "common practice"},
    severity=Severity.LOW,
    applies=lambda segment: (
        not segment.vertical
        and segment.is_drain
        and bool(segment.size_in)
        and segment.slope is not None
        and segment.slope > 0
    ),
)
def self_cleansing_velocity(segment: DrainSegment, context: Context) -> Answer:
    """Common practice asks for about 2 ft/s, or solids are left behind.

    Mean velocity by Manning's formula, flowing half full (the same as full), from the nominal size,
    the slope and the roughness of the material, to one decimal; the depth and the flow are said
    too. A drain that nothing drains into is excused. Where the material is not known it is taken to
    be as smooth as plastic, so that only what is surely slow is told.
    """
    made = loads(context)
    is_idle = not (made.fixtures[segment] or made.carried[segment])
    if segment in tied_lines(context) or (is_idle and segment not in rained(context)):
        return NOT_APPLICABLE
    size, slope, lining = given(segment.size_in), given(segment.slope), _roughness(segment.material)
    least = context.code.limit("self_cleansing_velocity_ft_per_s")
    speed = velocity_m_per_s(size * M_PER_IN, slope, lining.manning_n, HALF) / M_PER_FT
    if at_least(speed, least.value - SAME_FT_PER_S, least.unit):
        return PASS
    flow = discharge_m3_per_s(size * M_PER_IN, slope, lining.manning_n, HALF) / M3_PER_S_PER_GPM
    return advise(
        f"{segment.label} runs at {speed:.1f} ft/s half full ({flow:.0f} gpm, {size * HALF:g} in "
        "deep).",
        "Steepen the drain; a larger pipe would not keep itself cleaner at its flow.",
        measured=Measure(speed, least.unit),
        required=Measure(least.value, least.unit, "at least"),
        clause=least.clause,
        provenance=least.provenance,
        steps=(
            Step("Diameter (nominal)", size, "in"),
            Step("Slope", in_per_ft_from_slope(slope), "in/ft"),
            Step(f"Manning's n, {lining.material}", lining.manning_n, "", lining.source),
            Step("Depth, half full", size * HALF, "in"),
            Step("V = R^(2/3) S^(1/2) / n, R = D/4", speed, "ft/s", "Manning's formula"),
            Step("Q = V A, A = pi D^2 / 8", flow, "gpm"),
        ),
    )


def _roughness(material: str) -> Roughness:
    """The roughness of the material named in a pipe's material, else of plastic."""
    words = material.lower().replace("-", " ").split()
    names = [" ".join(words[i : i + n]) for n in (2, 1) for i in range(len(words))]
    found = given(next((r for r in map(roughness, names) if r is not None), roughness("pvc")))
    return found
