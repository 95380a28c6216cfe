"""Rules about the end of a relief line: where, how high, in whose sight, and without a thread."""

from dataclasses import replace
from functools import partial

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, check, missing, not_known, violation
from ifclint.codes import Limit
from ifclint.engineering.wording import above_or_below, number_text, sentence
from ifclint.findings import Answer, Outcome, Severity, Step
from ifclint.ifc.elements import Role
from ifclint.packs import Context, rule
from ifclint.plumbing import ReliefLine
from ifclint.plumbing.words import says
from ifclint.rules.heaters import parts
from ifclint.rules.heaters.ends import (
    Place,
    ReliefEnd,
    air_gap,
    air_gap_words,
    place_of_end,
    unknown_end,
    unknown_ground,
)
from ifclint.rules.heaters.lines import joins_drainage
from ifclint.rules.heaters.relief import DISCHARGE
from ifclint.rules.heaters.wording import discharge_clause

THREAD_WORDS = ("male adapter", "threaded", "mpt", "hose thread")
PLAIN_WORDS = ("plain end", "plain", "open outlet", "unthreaded", "no thread", "not threaded",
    "non threaded", "without thread")  # fmt: skip
CUT_PLAIN = frozenset({"copper", "cpvc", "pex", "pe-rt", "multilayer", "polypropylene"})
USUAL_OUTLET_IN = 0.75  # of a relief valve that does not state its own; common practice, no source
ABOVE = {
    ReliefEnd.RECEPTOR: "the receptor",
    ReliefEnd.OUTDOORS: "the ground",
    ReliefEnd.FLOOR: "the floor",
}
THREAD = Fact(
    "whether {} ends in a thread",
    "Name the last piece of each relief line as a plain or open end.",
    asked_once=True,
)
IN_SIGHT = Fact(
    "whether {} ends in the room of its heater",
    "Contain heaters and receptors in their spaces (IfcSpace).",
)


@rule(
    title="Relief line ends where it may, in the open air",
    clauses=DISCHARGE,
    severity=Severity.HIGH,
    applies=lambda relief: relief.is_drawn,
)
def relief_line_end(relief: ReliefLine, context: Context) -> Answer:
    """Whoever stands near must not be scalded, and whoever passes must see that it drips.

    Where the line ends (over a receptor, in a pan, outdoors, over a floor) against what the code
    allows, and how high: the IPC counts from floor or receptor, the UPC from the ground outdoors or
    the flood level of what receives the discharge, which may mean a receptor indoors: an advisory.
    A line that runs into a fixture or tank without an air gap is wrong under every code, as is one
    that ends unseen in a crawl space, an attic or a plenum. One that ends over the floor of a model
    without floor drains may end over one. What is joined to the drainage is judged with all lines
    of clear water.
    """
    into = relief.line.runs_into
    if joins_drainage(relief.line, context):
        return NOT_APPLICABLE
    if into is not None and into.kind != "relief":
        return violation(
            message=f"{sentence(relief.label)} is joined to {into.label} without an air gap.",
            remedy="End the line above the receptor's rim, so that it drips through an air gap.",
            elements=(into.guid, *relief.element_ids),
            clause=discharge_clause(context, "direct-drain-connection"),
        )
    place = place_of_end(relief.line, context)
    if place.end is ReliefEnd.UNKNOWN:
        return unknown_end(relief.label, place)
    row = context.code.table("relief_discharge").one(key=place.end.value)
    if row is None or row.text("allowed") != "yes":
        on_floor = place.end is ReliefEnd.FLOOR
        return (partial(missing, parts.FLOOR_RECEPTORS) if on_floor else violation)(
            message=f"{sentence(relief.label)} ends {place.words}, which {context.code.short} "
            "does not allow.",
            remedy="End the relief line where the code allows: over a drain through an air gap, or "
            "outdoors in sight.",
            elements=(relief.line.last.guid,),
            clause=row.clause if row else "",
        )
    return PASS if place.end is ReliefEnd.PAN else _height(relief, place, context)


def _height(relief: ReliefLine, place: Place, context: Context) -> Answer:
    """The height of an end against the least and the most the code sets for such a place."""
    above = place.above_in
    if above is None:
        return unknown_ground(relief.label)
    least, most, steps = _bounds(relief, place, context)
    if place.is_too_low(least) is None:
        return unknown_ground(relief.label)
    asked = f"at least {number_text(least.value)} in"
    if most is not None:
        asked = f"between {number_text(least.value)} and {number_text(most.value)} in"
    judged = partial(
        check,
        above,
        message=f"{sentence(relief.label)} ends {number_text(abs(above))} in "
        f"{above_or_below(above)} {ABOVE[place.end]}; {asked} above it is asked for.",
        remedy=f"End the line {asked} above {ABOVE[place.end]}.",
        steps=steps,
        elements=(relief.line.last.guid,),
    )
    low = judged(at_least=least)
    if low is not PASS:
        return low
    if most is None:
        return _splashes(relief, place, context)
    return judged(at_most=most)


def _splashes(relief: ReliefLine, place: Place, context: Context) -> Answer:
    """A line that ends far above its receptor, where the code's bound may be meant of outdoors."""
    assert place.above_in is not None
    most = context.code.limit("relief_end_outdoors_max_in")
    return check(
        place.above_in,
        at_most=most,
        message=f"{sentence(relief.label)} ends {number_text(place.above_in)} in above the "
        "receptor, from where scalding water splashes over its rim.",
        remedy=f"Carry the line down to within {number_text(most.value)} in of the receptor's rim, "
        "with an air gap.",
        limit_step="At most",
        elements=(relief.line.last.guid,),
        wrong=Outcome.ADVISORY,
    )


def _bounds(
    relief: ReliefLine, place: Place, context: Context
) -> tuple[Limit, Limit | None, tuple[Step, ...]]:
    """The least and the most height of an end, and both as arithmetic."""
    code = context.code
    diameters = code.limit_or_none("relief_end_min_diameters")
    gap = air_gap(relief.line, relief.outlet_in, context)
    if diameters is None and place.end is ReliefEnd.RECEPTOR:
        return gap, None, (gap.step(air_gap_words(context)),)
    if diameters is None:
        low = code.limit("relief_end_outdoors_min_in")
        high = code.limit("relief_end_outdoors_max_in")
        return low, high, _steps("At least", low, high)
    outlet = USUAL_OUTLET_IN if relief.outlet_in is None else relief.outlet_in
    inches = diameters.value * outlet
    if place.end is ReliefEnd.RECEPTOR:
        inches = max(inches, gap.value)
    low = replace(diameters, value=inches, unit="in")
    high = code.limit("relief_end_above_floor_max_in")
    return low, high, _steps(f"{diameters.value:g} pipe diameters", low, high)


def _steps(words: str, low: Limit, high: Limit) -> tuple[Step, ...]:
    return (low.step(words), high.step("At most"))


@rule(
    title="No thread at the end of a relief line",
    clauses=DISCHARGE,
    severity=Severity.LOW,
    applies=lambda relief: relief.is_drawn,
)
def relief_line_no_thread(relief: ReliefLine, context: Context) -> Answer:
    """A thread invites somebody to stop a drip with a cap.

    Whether the last piece of the line is named as threaded or plain. Tube that is soldered, pressed
    or glued has no thread of its own; of pipe that is threaded, and of fittings, it is asked.
    """
    last = relief.line.last
    if says(last, THREAD_WORDS):
        return violation(
            message=f"{sentence(relief.label)} ends in a thread.",
            remedy="Cut the end plain, so that it cannot be capped.",
            elements=(last.guid,),
            clause=discharge_clause(context, "threaded-end"),
        )
    is_tube = last.role is Role.PIPE and last.material in CUT_PLAIN
    if is_tube or says(last, PLAIN_WORDS):
        return PASS
    return not_known(THREAD, relief, elements=(last.guid,))


@rule(
    title="Relief line ends in the room of its heater, or outdoors",
    clauses={"ipc": "504.6", "irc": "P2804.6.1"},
    applies=lambda relief: relief.is_drawn,
)
def relief_line_in_sight(relief: ReliefLine, context: Context) -> Answer:
    """A valve that drips unseen in another room goes on until it fails.

    The space of the receptor under the end against that of the heater; outdoors is in sight.
    """
    place, last = place_of_end(relief.line, context), relief.line.last
    if place.end is ReliefEnd.HIDDEN:
        return NOT_APPLICABLE  # wrong wherever it stands, and told as that
    there, here = (place.element or last).space, relief.heater.room
    if place.end is ReliefEnd.OUTDOORS or (here and there == here):
        return PASS
    if not there or not here:
        return not_known(IN_SIGHT, relief, elements=(last.guid,))
    return violation(
        message=f"{sentence(relief.label)} ends in {there}; {relief.heater.label} stands in "
        f"{here}.",
        remedy="End the line through an air gap in the room of the heater.",
        elements=(last.guid, *relief.heater.element_ids),
    )
