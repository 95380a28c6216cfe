"""Rule about the union by which a gas appliance comes off its pipe."""

from __future__ import annotations

from ifclint.checks import missing, require
from ifclint.findings import Answer, Change, PartKind, Severity
from ifclint.ifc.elements import Element
from ifclint.packs import Context
from ifclint.plumbing import GasAppliance
from ifclint.plumbing.gas.connectors import is_connector
from ifclint.plumbing.gas.gas_piping import LABORATORY
from ifclint.plumbing.words import says
from ifclint.rules.gas.caution import gas_rule
from ifclint.rules.gas.piping import members
from ifclint.rules.gas.places import UNION_WORDS

LOOSENED = (*UNION_WORDS, "connector", "flex*", "quick disconnect*", "quick connect*", "gas hose")


def _loosens(element: Element) -> bool:
    """Whether an appliance can be taken off its pipe there."""
    return says(element, LOOSENED) or is_connector(element)


UNIONS = PartKind(
    "unions or connectors in gas piping",
    drawn=lambda context: any(map(_loosens, members(context))),
    remedy="Show the union or listed connector behind each appliance shutoff.",
)


@gas_rule(
    title="Union or connector between shutoff and appliance",
    subject=GasAppliance,
    clauses={"upc": "1212.6", "ipc": "IFGC 409.5", "irc": "G2420.5"},
    severity=Severity.LOW,
    applies=lambda appliance: appliance.shutoff is not None and appliance.kind not in LABORATORY,
)
def gas_union(appliance: GasAppliance, context: Context) -> Answer:
    """Without a union or connector the appliance cannot be taken off its pipe.

    A fitting behind the shutoff whose name or type says union, connector, quick disconnect or
    flexible, or a hose. One that is drawn before the shutoff cannot be opened with the gas on.
    Where a model draws none at all they are left out of the drawing, and that is unverified.
    """
    shutoff = appliance.shutoff
    unions = [e for e in appliance.own if _loosens(e) and e is not shutoff]
    if not unions:
        text = "Fit a union or listed connector between the shutoff and the appliance."
        return missing(
            UNIONS,
            message=f"No union or connector is drawn between the shutoff and {appliance.label}.",
            remedy=Change("part", appliance.element_ids, "union", text),
        )
    last = unions[-1]
    return require(
        shutoff not in appliance.own[appliance.own.index(last) :],
        message=f"The union of {appliance.label} stands before its shutoff.",
        remedy="Set the union behind the shutoff, so that it can be opened with the gas off.",
        elements=(last.guid, *appliance.element_ids),
    )
