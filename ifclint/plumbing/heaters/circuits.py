"""The circuit of heating or cooling water that something is part of, or is heated by."""

from __future__ import annotations

from ifclint.engineering.joined import by_steps
from ifclint.ifc.elements import Element, Role, System
from ifclint.network import Network

EQUIPMENT = frozenset({Role.HEATER, Role.TANK, Role.PUMP, Role.APPLIANCE})
NONTOXIC = ("propylene", "propylenglykol*", "nontoxic", "non toxic", "food grade", "usp")
TOXIC = ("toxic", "ethylene", "ethylenglykol*", "methanol")


def circuit_of(network: Network, start: int) -> list[Element]:
    """What is joined to an element by piping of heating or cooling, with it: pipes, pumps, tanks,
    boilers and what they heat. Piping of other services is none of it."""
    elements = network.elements

    def is_of_it(index: int) -> bool:
        element = elements[index]
        return element.system in (System.HEATING, None) or element.role in EQUIPMENT

    found = by_steps([start], lambda i: filter(is_of_it, network.neighbours(i)))
    return [elements[index] for index in sorted(found)]
