"""Heat exchangers that heat potable water: what parts it from what heats it."""

from dataclasses import dataclass

from ifclint.checks import PASS, Fact, not_known, violation
from ifclint.findings import Answer, Severity
from ifclint.ifc.elements import Element, Role, System
from ifclint.packs import Context, rule
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.heaters.hot_tanks import NONTOXIC, TOXIC, circuit_of
from ifclint.plumbing.supply.water_supply import Supply
from ifclint.plumbing.words import is_indirect, says, says_text
from ifclint.rules.protection.hazard_names import CHEMICALS

DOUBLE = ("double wall*", "double walled", "vented wall*", "doppelwandig*", "double paroi*")
SINGLE = ("single wall*", "einwandig*", "simple paroi*")
FIRED = frozenset({"boiler", "tankless"})
HEATED = frozenset({Role.HEATER, Role.TANK})
PRESSURE = Fact(
    "whether the {} of {} is at a lower pressure than the potable water, from which one wall parts "
    "it, and a label says that only such fluid may be used, is not known.",
    "Use a heat exchanger with two walls, or have the lower pressure and the label approved.",
)
WALLS = Fact(
    "whether {} parts the potable water from what heats it by two walls, or heats it with nothing "
    "that can foul it, is not known.",
    "Name the heat exchanger or its type by its walls (double wall, single wall) and its medium.",
)


@dataclass(eq=False)
class WaterExchanger(OfElement):
    """A heat exchanger in the potable water, or a heater or tank that a circuit heats; with what
    is said to be in that circuit."""

    element: Element
    fluids: tuple[Element, ...] = ()  # what names a chemical
    service = System.WATER

    def says(self, words: tuple[str, ...]) -> bool:
        """Whether what names the fluid says one of some words."""
        return any(says(element, words) for element in (self.element, *self.fluids))


def water_exchangers(context: Context) -> list[WaterExchanger]:
    supply = context.plumbing.supply
    members = [i for i in supply.distribution.members if _exchanges(supply, i)]
    return [WaterExchanger(supply.elements[i], _fluids(supply, i)) for i in members]


def _exchanges(supply: Supply, index: int) -> bool:
    """Whether potable water is heated there by other water: a boiler that burns fuel for the taps
    too is one where its circuit is said to hold chemicals."""
    element = supply.elements[index]
    if element.kind == "heat-exchanger":
        return True
    if element.role not in HEATED or supply.heats_rooms(index):
        return False
    if is_indirect(element):
        return True
    services = {supply.elements[i].system for i in supply.network.neighbours(index)}
    services |= {end.system for end in element.ends}
    in_circuit = System.HEATING in services
    if not supply.distribution.down()[index] and System.HOT_WATER not in services:
        return False  # it gives no water to the taps
    is_fired = element.kind in FIRED or bool(element.properties.text("energy"))
    return in_circuit and (not is_fired or bool(_fluids(supply, index)))


def _fluids(supply: Supply, index: int) -> tuple[Element, ...]:
    others = (e for e in circuit_of(supply.network, index) if e is not supply.elements[index])
    return tuple(e for e in others if says(e, CHEMICALS) or says_text(e.system_name, CHEMICALS))


@rule(
    title="Heat exchanger of potable water with two walls",
    clauses={"upc": "603.5.4", "ipc": "608.17.3", "irc": "P2902.5.2"},
    severity=Severity.HIGH,
)
def exchanger_walls(exchanger: WaterExchanger, context: Context) -> Answer:
    """Antifreeze that leaks through one wall is drunk at the next tap.

    By what the exchanger or its type is called, also an indirect water heater or a tank that a
    circuit of heating heats, and what is in that circuit: two walls with the space between them
    open to the air are right. One wall is wrong where glycol or another chemical is named; with
    what is said to be nontoxic, as propylene glycol, it may do (UPC: at a lower pressure than the
    water's, which is asked). Where walls or medium are not named they are asked about. The
    nontoxic fluids are from memory.
    """
    if says(exchanger.element, DOUBLE):
        return PASS
    holds = bool(exchanger.fluids) or says(exchanger.element, CHEMICALS)
    if not says(exchanger.element, SINGLE) or not holds:
        return not_known(WALLS, exchanger)
    if exchanger.says(NONTOXIC) and not exchanger.says(TOXIC):
        return PASS if context.code.family != "upc" else not_known(PRESSURE, "fluid", exchanger)
    return violation(
        message=f"{exchanger.label} has one wall between the potable water and chemicals.",
        remedy="Use a heat exchanger with two walls and a vented space between them.",
        elements=(*exchanger.element_ids, *(e.guid for e in exchanger.fluids[:1])),
    )
