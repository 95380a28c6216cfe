"""Pans: what stands in each, and the line that drains it."""

from dataclasses import dataclass
from math import dist

from ifclint.engineering import extents
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.ifc.elements import Element, Point, Role, System
from ifclint.network import Network
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.heaters.discharge import DischargeLine, follow, neighbours

UNDER_M = 1.0  # a pan lies under what stands within this of it, level
ABOVE_M = 2.6  # and at most this higher
SUNK_M = 0.3  # or so much lower, its legs standing in the pan. Ours, no source
OVER_PAN = frozenset({"clothes-washer-appliance", "clothes-washer", "air-conditioner", "furnace"})


@dataclass(eq=False)
class Pan(OfElement):
    """A pan with what stands in it and the line that drains it."""

    service = System.RELIEF

    element: Element
    serves: Element | None
    line: DischargeLine

    @property
    def outlet_in(self) -> float | None:
        return self.element.size_in

    @property
    def is_drained(self) -> bool:
        return bool(self.line.elements)

    @property
    def label(self) -> str:
        return f'the pan "{self.element.label}"'


def pan_of(network: Network, index: int, standing: list[tuple[Element, Point]]) -> Pan:
    pan = network.elements[index]
    joined = neighbours(network, index)
    drains = [each for each in joined if not _comes_from_relief(follow(network, index, [each]))]
    return Pan(pan, _stands_in(pan, standing), follow(network, index, drains))


def _comes_from_relief(line: DischargeLine) -> bool:
    """Whether a line that is joined to a pan is the discharge of a relief valve, with nothing else
    on it: it ends in the pan, and does not drain it."""
    valve = line.runs_into
    return valve is not None and valve.role is Role.VALVE and not line.branches


def _stands_in(pan: Element, standing: list[tuple[Element, Point]]) -> Element | None:
    """What stands in a pan: the nearest heater or appliance over it. They come with their
    middles."""
    at = middle(pan)
    if at is None:
        return None
    near = []
    for element, place in standing:
        above_m, apart_m = place[2] - at[2], dist(place[:2], at[:2])
        is_over = at_least(above_m, -SUNK_M, "m") and at_most(above_m, ABOVE_M, "m")
        if is_over and at_most(apart_m, UNDER_M, "m"):
            near.append((apart_m, element.guid, element))
    return min(near, key=lambda one: one[:2])[2] if near else None


def middle(element: Element) -> Point | None:
    """The middle of an element's box, else its place."""
    return extents.middle(*element.box) if element.box is not None else element.position
