"""Rule about the sediment trap before a gas appliance."""

from collections.abc import Iterator

from ifclint.checks import check, known, missing, require
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, Change, Outcome, PartKind, Severity, Step
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context
from ifclint.plumbing import GasAppliance
from ifclint.plumbing.words import says
from ifclint.rules.gas.appliances import is_reached
from ifclint.rules.gas.caution import gas_rule

DRIP_WORDS = ("sediment trap", "drip leg", "dirt leg")
TRAPS = PartKind(
    "sediment traps",
    drawn=lambda context: (
        any(map(_trap, context.plumbing.gas.appliances)) if context.plumbing.gas else False
    ),
    remedy="Model the tee, capped nipple and cap of each sediment trap, or name its fitting so.",
)


@gas_rule(
    title="Sediment trap before the appliances that need one",
    clauses={"upc": "1212.9", "ipc": "IFGC 408.4", "irc": "G2419.4"},
    severity=Severity.MEDIUM,
    applies=is_reached,
)
def gas_sediment_trap(appliance: GasAppliance, context: Context) -> Iterator[Answer]:
    """Dirt and scale carried into a gas valve hold it open.

    A tee behind the shutoff from which a nipple hangs plumb down to a cap, or a piece of its own
    named as a sediment trap: where one stands, the kind of the appliance is not asked for. A nipple
    shorter than usual is an advisory. Ranges, dryers and fireplaces are excused by the code; kinds
    that it does not name are not. Outlets of laboratories take hoses.
    """
    row = context.code.table("gas_sediment_trap").one(appliance=appliance.kind)
    if row is not None and row.text("required") == "no":
        return
    trap = _trap(appliance)
    if trap is None:
        known(appliance.kind_known, "kind_known", cause="kind_known")
        fittings = [e for e in appliance.own if e.role is Role.FITTING]
        turn = [e.guid for e in (fittings or appliance.own)[-1:]]  # where one would stand
        text = (
            "Fit a tee with a capped nipple hanging from it, behind the shutoff and as near the "
            "appliance's inlet as practical."
        )
        yield missing(
            TRAPS,
            message=f"{appliance.label} has no sediment trap.",
            remedy=Change("part", appliance.element_ids, "sediment trap", text),
            elements=(*turn, *appliance.element_ids),
        )
        return
    yield require(
        appliance.shutoff not in appliance.own[appliance.own.index(trap) :],
        message=f"The sediment trap of {appliance.label} stands before its shutoff.",
        remedy="Set the sediment trap behind the shutoff, so that it can be opened.",
        elements=(trap.guid, *appliance.element_ids),
    )
    if appliance.nipple_m is not None:
        yield _nipple(appliance, trap, appliance.nipple_m / M_PER_IN, context)


def _trap(appliance: GasAppliance) -> Element | None:
    """The tee of a sediment trap, or a piece named as one."""
    named = (e for e in appliance.own if len(e.ends) < 3 and says(e, DRIP_WORDS))
    return appliance.sediment_trap or next(named, None)


def _nipple(appliance: GasAppliance, trap: Element, inches: float, context: Context) -> Answer:
    """Whether the nipple of a sediment trap is as long as one is commonly made."""
    usual = context.code.limit("gas_sediment_trap_nipple_in")
    return check(
        inches,
        at_least=usual,
        message=f"The nipple of the sediment trap of {appliance.label} is {number_text(inches)} in "
        f"long; {usual.value:g} in are usual.",
        remedy=f"Make the capped nipple {usual.value:g} in long or longer.",
        steps=(Step("Usual nipple", usual.value, usual.unit, usual.source),),
        elements=(trap.guid, *appliance.element_ids),
        about=trap.guid,
        wrong=Outcome.ADVISORY,
    )
