"""Heat exchangers that heat potable water: what parts it from what heats it."""

from __future__ import annotations

from dataclasses import dataclass

from ifclint.checks import PASS, Fact, not_known, violation
from ifclint.findings import Answer, Severity
from ifclint.ifc.elements import Element, System
from ifclint.packs import Context, rule
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.words import says
from ifclint.rules.protection.hazards import CHEMICALS

DOUBLE = ("double wall*", "double walled", "vented wall*", "doppelwandig*", "double paroi*")
SINGLE = ("single wall*", "einwandig*", "simple paroi*")
WALLS = Fact(
    "whether {} parts the potable water from what heats it by two walls, or heats it with nothing "
    "that can foul it, is not known.",
    "Name the heat exchanger or its type by its walls (double wall, single wall) and its medium.",
)


@dataclass(eq=False)
class WaterExchanger(OfElement):
    """A heat exchanger in the potable water."""

    element: Element
    service = System.WATER


def water_exchangers(context: Context) -> list[WaterExchanger]:
    supply = context.plumbing.supply
    members = (supply.elements[i] for i in supply.distribution.members)
    return [WaterExchanger(e) for e in members if e.kind == "heat-exchanger"]


@rule(
    title="Heat exchanger of potable water with two walls",
    subject=WaterExchanger,
    clauses={"upc": "603.5.4", "ipc": "608.17.3", "irc": "P2902.5.2"},
    severity=Severity.HIGH,
)
def exchanger_walls(exchanger: WaterExchanger, context: Context) -> Answer:
    """Antifreeze that leaks through one wall is drunk at the next tap.

    By what the exchanger or its type is called: two walls with the space between them open to the
    air are right. One wall is wrong where glycol or another chemical is named; with a medium that
    cannot foul the water it may do, so that is asked about.
    """
    if says(exchanger.element, DOUBLE):
        return PASS
    if says(exchanger.element, SINGLE) and says(exchanger.element, CHEMICALS):
        return violation(
            message=f"{exchanger.label} has one wall between the potable water and chemicals.",
            remedy="Use a heat exchanger with two walls and a vented space between them.",
            elements=exchanger.element_ids,
        )
    return not_known(WALLS, exchanger, elements=exchanger.element_ids)


RULES = (exchanger_walls,)
