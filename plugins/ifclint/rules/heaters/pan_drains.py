"""Rules about the drains of pans: their size, their fall, where they end."""

from collections.abc import Iterator
from functools import partial

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    between,
    check,
    demanded,
    missing,
    not_known,
    require,
    violation,
)
from ifclint.engineering.units import inches
from ifclint.engineering.wording import number_text, sentence, trade_size
from ifclint.findings import Answer, Change, Severity, Step
from ifclint.ifc.elements import Role
from ifclint.packs import Context, rule
from ifclint.plumbing import Pan
from ifclint.rules.heaters import parts
from ifclint.rules.heaters.ends import (
    Place,
    ReliefEnd,
    check_air_gap,
    place_of_end,
    unknown_end,
    unknown_ground,
)
from ifclint.rules.heaters.lines import joins_drainage, narrow, rises, unsized
from ifclint.rules.heaters.pans import serves_heater

PAN_DRAINS = {"upc": "507.5", "ipc": "504.7.1", "irc": "P2801.6.1"}


@rule(title="Pan drained", clauses=PAN_DRAINS)
def pan_drained(pan: Pan, context: Context) -> Answer:
    """A pan without a drain holds the first gallon of a leak and spills the rest.

    A line of its own from the pan. Washer pans are not asked for by these codes: one that is set
    and not drained is an advisory, as good practice.
    """
    if pan.is_drained:
        return PASS
    remedy = "Drain the pan to a visible place, outdoors or over a receptor."
    if serves_heater(pan):
        least = trade_size(context.code.limit("pan_drain_in").value)
        remedy = f"Drain the pan by a line of at least {least} of its own, to outdoors or over a "
        remedy += "receptor."
    return missing(
        parts.PAN_DRAINS,
        message=f"{sentence(pan.label)} has no drain.",
        remedy=remedy,
        severity=Severity.HIGH if serves_heater(pan) else None,
        **demanded(serves_heater(pan)),
    )


@rule(
    title="Pan drain large enough, and not narrowed",
    clauses=PAN_DRAINS,
    applies=lambda pan: pan.is_drained,
)
def pan_drain_size(pan: Pan, context: Context) -> Iterator[Answer]:
    """A pan fills faster than a thin drain empties it.

    The smallest pipe of the drain against the code's least size and against the pan's outlet.
    """
    limit = context.code.limit("pan_drain_in")
    least = limit.value if pan.outlet_in is None else max(limit.value, pan.outlet_in)
    size, small = narrow(pan.line, least)
    by_code = serves_heater(pan) and bool(narrow(pan.line, limit.value)[1])
    text = trade_size(least)
    yield check(
        size,
        at_least=least,
        unit="in",
        message=f"The drain of {pan.label} is {trade_size(size)}; {text} is asked for.",
        remedy=Change("size", small, least, f"Make the pan drain {text} to its end."),
        steps=(limit.step("Smallest pan drain"), Step("Outlet of the pan", pan.outlet_in, "in")),
        elements=small,
        **demanded(by_code, limit.clause),
    )
    yield from unsized(pan.line, f"the drain of {pan.label}")


@rule(
    title="Pan drain falls and is its own", clauses=PAN_DRAINS, applies=lambda pan: pan.is_drained
)
def pan_drain_falls(pan: Pan, context: Context) -> Iterator[Answer]:
    """A drain that rises leaves the pan full; one that is shared brings others' water into it.

    The heights along the drain, and whether anything else joins it; not of one that is joined to
    the drainage, and is to be led elsewhere.
    """
    if joins_drainage(pan.line, context):
        return
    for branch in pan.line.branches:
        yield require(
            False,
            message=f"The drain of {pan.label} is joined by another line at {branch.label}.",
            remedy="Give the pan a drain of its own to its end.",
            elements=(branch.guid,),
            about=branch.guid,
            **demanded(serves_heater(pan)),
        )
    if len(pan.line.points) < 2:
        yield not_known("path", f"the drain of {pan.label}")
    for passage in rises(pan.line):
        element, rise = passage.element, inches(passage.rise_m)
        yield check(
            rise,
            at_most=0.0,
            unit="in",
            message=f"The drain of {pan.label} rises {number_text(rise)} in at {element.label}.",
            remedy="Run the drain downward from the pan to its end.",
            elements=(element.guid,),
            about=element.guid,
            **demanded(serves_heater(pan)),
        )
    yield PASS


@rule(
    title="Pan drain ends over a receptor or outdoors",
    clauses=PAN_DRAINS,
    applies=lambda pan: pan.is_drained,
)
def pan_drain_end(pan: Pan, context: Context) -> Answer:
    """Water from a pan must go where it does no harm, and where it is seen.

    Where the drain ends, with the air gap above a receptor, and how high above the ground
    outdoors where the code says so. What is joined to the drainage is judged with all lines of
    clear water.
    """
    if joins_drainage(pan.line, context):
        return NOT_APPLICABLE
    traps = [e for e in pan.line.elements if e.role is Role.TRAP]
    for reached in (pan.line.runs_into, *traps):
        if reached is not None:
            return violation(
                message=f"The drain of {pan.label} is joined to {reached.label} without an air "
                "gap.",
                remedy="End the pan drain through an air gap over a receptor, or outdoors.",
                elements=(reached.guid, *pan.element_ids),
            )
    place = place_of_end(pan.line, context)
    if place.end is ReliefEnd.RECEPTOR:
        label = f"The drain of {pan.label}"
        return check_air_gap(label, pan.line, pan.outlet_in, place, context)
    if place.end is ReliefEnd.OUTDOORS:
        return _outdoors(pan, place, context)
    if place.end is ReliefEnd.UNKNOWN:
        return unknown_end(f"the drain of {pan.label}", place)
    is_hidden = place.end is ReliefEnd.HIDDEN
    return (partial(require, False) if is_hidden else partial(missing, parts.FLOOR_RECEPTORS))(
        message=f"The drain of {pan.label} ends {place.words}.",
        remedy="End the drain of the pan over a floor drain or another receptor, or outdoors.",
        elements=(pan.line.last.guid,),
        **demanded(serves_heater(pan)),
    )


def _outdoors(pan: Pan, place: Place, context: Context) -> Answer:
    """The height of an end outdoors, where the code sets one."""
    low = context.code.limit_or_none("pan_end_outdoors_min_in")
    high = context.code.limit_or_none("pan_end_outdoors_max_in")
    if low is None or high is None or not serves_heater(pan):
        return PASS
    if place.above_in is None or place.is_too_low(low) is None:
        return unknown_ground(f"the drain of {pan.label}")
    asked = f"between {low.value:g} and {high.value:g} in"
    return between(
        place.above_in,
        low,
        high,
        message=f"The drain of {pan.label} ends {number_text(place.above_in)} in above the "
        f"ground; {asked} is asked for.",
        remedy=f"End the drain {asked} above the ground.",
        limit_steps=("At least", "At most"),
        elements=(pan.line.last.guid,),
    )
