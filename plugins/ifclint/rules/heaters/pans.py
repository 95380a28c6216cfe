"""Rules about pans under heaters and washers, and about condensate."""

from __future__ import annotations

from typing import TypedDict

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    between,
    check,
    missing,
    require,
    unverified,
    violation,
)
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import number_text, trade_size
from ifclint.findings import Answer, Outcome, Severity, Step
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, rule
from ifclint.plumbing import CondensateSource, Heater, Pan
from ifclint.rules.heaters.answers import SHAPE, limit_step, start
from ifclint.rules.heaters.ends import Place, place_of_end, too_little_air
from ifclint.rules.heaters.parts import PAN_DRAINS as PAN_DRAIN_PARTS
from ifclint.rules.heaters.parts import PANS as PAN_PARTS

PANS = {"upc": "507.5", "ipc": "504.7", "irc": "P2801.6"}
PAN_DRAINS = {"upc": "507.5", "ipc": "504.7.1", "irc": "P2801.6.1"}
PRACTICE = "common practice, no clause"


def above_lowest(element: Element, context: Context) -> bool | None:
    """Whether something stands above the lowest storey; None where its storey is not known."""
    if "attic" in f"{element.storey} {element.space}".lower():
        return True
    elevations = {s.name: s.elevation_m for s in context.plumbing.network.model.storeys}
    if element.storey not in elevations:
        return None
    return elevations[element.storey] > min(elevations.values()) + 0.5


def serves_heater(pan: Pan) -> bool:
    return pan.serves is None or pan.serves.role is Role.HEATER


class _Weight(TypedDict):
    wrong: Outcome
    clause: str


def _weight(pan: Pan) -> _Weight:
    """The codes ask it of pans under heaters; of other pans it is practice."""
    if serves_heater(pan):
        return {"wrong": Outcome.VIOLATION, "clause": ""}
    return {"wrong": Outcome.ADVISORY, "clause": PRACTICE}


@rule(
    title="Pan under a storage heater above finished space",
    subject=Heater,
    clauses=PANS,
    severity=Severity.HIGH,
    applies=lambda heater: heater.kind != "tankless",
)
def heater_pan(heater: Heater, context: Context) -> Answer:
    """A tank that leaks above a room brings the ceiling down.

    Every storage heater above the lowest storey stands in a pan. On the lowest storey leakage does
    less, and the demand is left to judgement.
    """
    if heater.pan is not None:
        return PASS
    above = above_lowest(heater.element, context)
    if above is None:
        return unverified(
            f"On which storey {heater.label} stands is not known.",
            "Contain the heater in its storey or space.",
        )
    if not above:
        return NOT_APPLICABLE
    return missing(
        PAN_PARTS,
        message=f"{heater.label} stands above other rooms without a pan.",
        remedy="Set the heater in a watertight pan with a drain of its own.",
        steps=(limit_step(context.code, "pan_depth_in", "Depth of the pan, at least"),),
    )


@rule(
    title="Pan drained",
    subject=Pan,
    clauses=PAN_DRAINS,
    severity=Severity.MEDIUM,
)
def pan_drained(pan: Pan, context: Context) -> Answer:
    """A pan without a drain holds the first gallon of a leak and spills the rest.

    A line of its own from the pan. Washer pans are not asked for by these codes: one that is set
    and not drained is an advisory, as good practice.
    """
    if pan.line.elements:
        return PASS
    if serves_heater(pan):
        return missing(
            PAN_DRAIN_PARTS,
            message=f"{start(pan)} has no drain.",
            remedy=(
                f"Drain it by a line of at least {_least(context)} of its own, to outdoors or "
                "over a receptor."
            ),
            severity=Severity.HIGH,
        )
    return missing(
        PAN_DRAIN_PARTS,
        message=f"{start(pan)} has no drain.",
        remedy="Drain the pan to a visible place, outdoors or over a receptor.",
        clause=PRACTICE,
        wrong=Outcome.ADVISORY,
    )


def _least(context: Context) -> str:
    return trade_size(context.code.limit("pan_drain_in").value)


def _is_drained(pan: Pan) -> bool:
    return bool(pan.line.elements)


@rule(
    title="Pan drain large enough, and not narrowed",
    subject=Pan,
    clauses=PAN_DRAINS,
    applies=_is_drained,
)
def pan_drain_size(pan: Pan, context: Context) -> Answer:
    """A pan fills faster than a thin drain empties it.

    The smallest pipe of the drain against the code's least size and against the pan's outlet.
    """
    limit = context.code.limit("pan_drain_in")
    unsized = [p.guid for p in pan.line.pipes if p.size_in is None]
    least = max(limit.value, pan.outlet_in or 0.0)
    small = [p for p in pan.line.pipes if p.size_in is not None and p.size_in < least]
    size = min((p.size_in or 0.0 for p in small), default=least)
    too_small = size < limit.value and serves_heater(pan)
    sized = check(
        size,
        at_least=least,
        unit="in",
        message=f"The drain of {pan.label} is {trade_size(size)}; {trade_size(least)} is asked "
        "for.",
        remedy=f"Make the pan drain {trade_size(least)} to its end.",
        steps=lambda: (
            limit_step(context.code, "pan_drain_in", "Smallest pan drain"),
            Step("Outlet of the pan", pan.outlet_in, "in"),
        ),
        elements=tuple(p.guid for p in small),
        clause=limit.clause if too_small else PRACTICE,
        wrong=Outcome.VIOLATION if too_small else Outcome.ADVISORY,
    )
    if unsized and sized is PASS:
        return unverified(
            f"The size of part of the drain of {pan.label} is not known.",
            "Give the pipe a nominal diameter (Pset_PipeSegmentTypeCommon.NominalDiameter, on the "
            "pipe or its type).",
            unsized,
        )
    return sized


@rule(
    title="Pan drain falls and is its own",
    subject=Pan,
    clauses=PAN_DRAINS,
    applies=_is_drained,
)
def pan_drain_falls(pan: Pan, context: Context) -> Answer:
    """A drain that rises leaves the pan full; one that is shared brings others' water into it.

    The heights along the drain, and whether anything else joins it.
    """
    if pan.line.branches:
        return require(
            False,
            message=f"The drain of {pan.label} is joined by another line at "
            f"{pan.line.branches[0].label}.",
            remedy="Give the pan a drain of its own to its end.",
            elements=tuple(e.guid for e in pan.line.branches),
            **_weight(pan),
        )
    if len(pan.line.points) < 2:
        return unverified(f"The course of the drain of {pan.label} is not known.", SHAPE)
    element, metres = pan.line.first_rise or (pan.line.last, 0.0)
    inches = metres / M_PER_IN
    return check(
        inches,
        at_most=0.0,
        unit="in",
        message=f"The drain of {pan.label} rises {number_text(inches)} in at {element.label}.",
        remedy="Run the drain downward from the pan to its end.",
        elements=(element.guid,),
        **_weight(pan),
    )


@rule(
    title="Pan drain ends over a receptor or outdoors",
    subject=Pan,
    clauses=PAN_DRAINS,
    applies=_is_drained,
)
def pan_drain_end(pan: Pan, context: Context) -> Answer:
    """Water from a pan must go where it does no harm, and where it is seen.

    Where the drain ends, with the air gap above a receptor, and how high above the ground
    outdoors where the code says so. A drain
    joined to the sanitary drainage without an air gap lets sewer gas into the pan.
    """
    into = pan.line.runs_into
    trap = next((e for e in pan.line.elements if e.role is Role.TRAP), None)
    if into is not None or trap is not None:
        reached = into or trap
        assert reached is not None
        return violation(
            message=f"The drain of {pan.label} is joined to {reached.label} without an air gap.",
            remedy="End the pan drain through an air gap over a receptor, or outdoors.",
            elements=(reached.guid, *pan.element_ids),
        )
    place = place_of_end(pan.line, context)
    if place.kind == "waste-receptor":
        label = f"The drain of {pan.label}"
        return too_little_air(label, pan.line, pan.outlet_in, place, context) or PASS
    if place.kind == "outdoors":
        return _outdoors(pan, place, context)
    if not place.kind:
        return unverified(
            f"Where the drain of {pan.label} ends is not known: {place.words}.",
            "Draw the drain to its end, the receptor under it, and the walls and slabs around it "
            "(or add the architect's file to the review).",
        )
    return require(
        False,
        message=f"The drain of {pan.label} ends {place.words}.",
        remedy="End it over a floor drain or another receptor, or outdoors.",
        elements=(pan.line.last.guid,),
        **_weight(pan),
    )


def _outdoors(pan: Pan, place: Place, context: Context) -> Answer:
    keys = {row.text("key") for row in context.code.table("limits").rows}
    above = place.above_in
    if "pan_end_outdoors_min_in" not in keys or above is None or not serves_heater(pan):
        return PASS
    low, high = (context.code.limit(f"pan_end_outdoors_{k}_in") for k in ("min", "max"))
    return between(
        above,
        low,
        high,
        message=f"The drain of {pan.label} ends {number_text(above)} in above the ground; between "
        f"{low.value:g} and {high.value:g} in is asked for.",
        remedy=f"End the drain between {low.value:g} and {high.value:g} in above the ground.",
        steps=(
            Step("At least", low.value, "in", low.clause),
            Step("At most", high.value, "in", high.clause),
        ),
        elements=(pan.line.last.guid,),
    )


@rule(
    title="Condensate led to a place where it may go",
    subject=CondensateSource,
    clauses={"upc": "814.1", "ipc": "314.1", "irc": "M1411.3"},
)
def condensate_disposal(source: CondensateSource, context: Context) -> Answer:
    """Condensate that ends on a floor rots it, and acid condensate eats what it runs over.

    The line from everything that condenses (air conditioners, condensing heaters and furnaces):
    it must be drawn, and end over a receptor through an air gap, in a drain or outdoors.
    """
    if not source.line.elements:
        return unverified(
            f"Where the condensate of {source.label} goes is not known.",
            "Draw the condensate drain and join it to what it drains.",
        )
    if source.line.runs_into is not None:
        return PASS
    place = place_of_end(source.line, context)
    if place.kind == "outdoors":
        return PASS
    if place.kind == "waste-receptor":
        label = f"The condensate drain of {source.label}"
        return too_little_air(label, source.line, None, place, context) or PASS
    if not place.kind:
        return unverified(
            f"Where the condensate drain of {source.label} ends is not known: {place.words}.",
            "Draw the drain to its end, and the receptor under it.",
        )
    return violation(
        message=f"The condensate of {source.label} ends {place.words}.",
        remedy="Lead it over a receptor, into a fixture's tailpiece, or outdoors.",
        elements=(source.line.last.guid, *source.element_ids),
    )


RULES = (
    heater_pan, pan_drained, pan_drain_size, pan_drain_falls, pan_drain_end, condensate_disposal,
)  # fmt: skip
