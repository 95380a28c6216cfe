"""Tanks that hold hot water for the taps and burn nothing: solar storage, preheat tanks."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from ifclint.ifc.elements import Element, Role, System
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.supply.water_supply import Supply
from ifclint.plumbing.words import says

if TYPE_CHECKING:
    from ifclint.plumbing.heaters.heaters import ReliefLine

HOLD_NO_STORE = frozenset({"expansion", "pressure", "fuel"})
HEATS = frozenset({System.HEATING, System.HOT_WATER})
HOT_STORE = ("preheat*", "pre heat*", "hot water storage", "hot water tank")


@dataclass(eq=False)
class HotTank(OfElement):
    """A tank in the potable water that holds hot water, and is no heater."""

    service = System.HOT_WATER

    element: Element
    index: int
    relief: list[ReliefLine] = field(default_factory=list)

    @property
    def room(self) -> str | None:
        """The space it stands in; None where it is in none."""
        return self.element.space or None


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
