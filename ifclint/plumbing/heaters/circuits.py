"""The circuit of heating or cooling water that something is part of, or is heated by."""

from __future__ import annotations

from collections import deque

from ifclint.ifc.elements import Element, Role, System
from ifclint.network import Network

EQUIPMENT = frozenset({Role.HEATER, Role.TANK, Role.PUMP, Role.APPLIANCE})
NONTOXIC = ("propylene", "propylenglykol*", "nontoxic", "non toxic", "food grade", "usp")
TOXIC = ("toxic", "ethylene", "ethylenglykol*", "methanol")


def circuit_of(network: Network, start: int) -> list[Element]:
    """What is joined to an element by piping of heating or cooling, with it: pipes, pumps, tanks,
    boilers and what they heat. Piping of other services is none of it."""
    elements, seen, waiting = network.elements, {start}, deque([start])
    while waiting:
        for other in network.neighbours(waiting.popleft()):
            element = elements[other]
            of_circuit = element.system in (System.HEATING, None)
            if other not in seen and (of_circuit or element.role in EQUIPMENT):
                seen.add(other)
                waiting.append(other)
    return [elements[index] for index in sorted(seen)]
