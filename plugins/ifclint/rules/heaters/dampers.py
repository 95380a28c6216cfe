"""The rule that no hand closes the vent of what burns fuel."""

from collections.abc import Iterator

from ifclint.checks import PASS, Fact, not_known, violation
from ifclint.findings import Answer, Severity
from ifclint.ifc.elements import Element
from ifclint.packs import Context, rule
from ifclint.plumbing import FuelVent
from ifclint.plumbing.words import says

BY_HAND = ("manual*", "hand operated", "balancing damper*", "butterfly", "handklappe", "manuelle",
    "manuel", "handbediend", "handbetatigt", "handbetätigt")  # fmt: skip
BY_ITSELF = (
    "automatic*", "motorized", "motorised", "electric*", "thermal*", "interlock*",
    "barometric", "draft regulator", "draft control*", "automatisch*", "motorisch*", "automatique*",
    "motorisé", "automatico", "automático", "zugregler", "zugbegrenzer",
)  # fmt: skip
LISTED = ("listed", "zugelassen", "agree", "agréé", "certificado")
OPENS = Fact(
    "whether {} in {} is an automatic one listed with its appliance, or is set by hand,",
    "Tell in its name whether it is automatic and listed for the appliance, or take it out.",
)


@rule(
    title="No damper set by hand in a gas vent",
    clauses={"upc": "509.13", "ipc": "IFGC 503.14", "irc": "G2427.14"},
    severity=Severity.HIGH,
)
def vent_damper(vent: FuelVent, context: Context) -> Iterator[Answer]:
    """A damper that someone left shut sends the flue gas into the house.

    Every damper from the appliances to the terminal: by its name or type set by hand, or automatic,
    barometric or listed with the appliance, which may be. One whose name tells neither is
    unverified. The sections are from memory.
    """
    parts = {e.guid: e for c in vent.connectors for e in (*c.elements, *vent.common)}
    dampers = [e for e in parts.values() if e.kind == "damper"]
    for damper in dampers:
        yield _opens(damper, vent)


def _opens(damper: Element, vent: FuelVent) -> Answer:
    by_hand = says(damper, BY_HAND) or damper.predefined_type == "BALANCINGDAMPER"
    if says(damper, BY_ITSELF) or (says(damper, LISTED) and not by_hand):
        return PASS
    if not by_hand:
        return not_known(OPENS, damper, vent, elements=(damper.guid,), about=damper.guid)
    return violation(
        message=f"{damper.label} stands in {vent.label} and is set by hand.",
        remedy="Take the damper out, or fit an automatic one that is listed with the appliance.",
        elements=(damper.guid,),
        about=damper.guid,
    )
