"""Tanks that hold hot water for the taps and burn nothing, and the circuits that heat them."""

from dataclasses import dataclass

from ifclint.engineering.joined import by_steps
from ifclint.ifc.elements import Element, Role, System
from ifclint.network import Network
from ifclint.plumbing.heaters.relief import Relieved
from ifclint.plumbing.supply.water_supply import Supply
from ifclint.plumbing.words import says

EQUIPMENT = frozenset({Role.HEATER, Role.TANK, Role.PUMP, Role.APPLIANCE})
NONTOXIC = ("propylene", "propylenglykol*", "nontoxic", "non toxic", "food grade", "usp")
TOXIC = ("toxic", "ethylene", "ethylenglykol*", "methanol")

HOLD_NO_STORE = frozenset({"expansion", "pressure", "fuel"})
HEATS = frozenset({System.HEATING, System.HOT_WATER})
HOT_STORE = ("preheat*", "pre heat*", "hot water storage", "hot water tank")


@dataclass(eq=False)
class HotTank(Relieved):
    """A tank in the potable water that holds hot water, and is no heater."""

    service = System.HOT_WATER


def find_hot_tanks(supply: Supply) -> list[HotTank]:
    """Those that hot water leaves, or that a circuit heats on the way to the taps."""
    tanks = supply.network.of_roles(Role.TANK)
    return [HotTank(supply.elements[i], i) for i in tanks if _holds_hot(supply, i)]


def _holds_hot(supply: Supply, index: int) -> bool:
    element, made = supply.elements[index], supply.distribution
    if element.kind in HOLD_NO_STORE or not made.reached(index) or not made.down()[index]:
        return False
    services = {supply.elements[i].system for i in supply.network.neighbours(index)}
    services |= {end.system for end in element.ends}
    return not HEATS.isdisjoint(services) or says(element, HOT_STORE)


def circuit_of(network: Network, start: int) -> list[Element]:
    """What is joined to an element by piping of heating or cooling, with it: pipes, pumps, tanks,
    boilers and what they heat. Piping of other services is none of it."""
    elements = network.elements

    def is_of_it(index: int) -> bool:
        element = elements[index]
        return element.system in (System.HEATING, None) or element.role in EQUIPMENT

    found = by_steps([start], lambda i: filter(is_of_it, network.neighbours(i)))
    return [elements[index] for index in sorted(found)]
