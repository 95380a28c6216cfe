"""Sewage that is led into the storm drainage: where sanitary drains stop at storm pipe that goes on
down from there."""

from math import inf

from ifclint.engineering.joined import NONE, by_steps
from ifclint.ifc.elements import Element, Role, System
from ifclint.packs import Context, derived
from ifclint.plumbing import Outlet
from ifclint.plumbing.drainage.outlets import LEVEL_M

PIPING = frozenset({Role.PIPE, Role.FITTING})
OPEN = frozenset({"open end", "low point"})  # kinds of outlets where drains merely stop


@derived
def _stops(context: Context) -> frozenset[int]:
    """The elements at which sanitary drains stop that storm drainage leads on from."""
    stops = (o.element for o in context.plumbing.drainage.outlets if o.kind in OPEN)
    return frozenset(index for index in stops if _leads_on(index, context))


def ends_in_storm(outlet: Outlet, context: Context) -> bool:
    """Whether sanitary drainage stops, as it is drawn, where storm drainage leads on."""
    return outlet.element in _stops(context)


def sewage_stops_at(index: int, context: Context) -> bool:
    """Whether the sewage of an element goes into storm drainage, where it stops."""
    drainage = context.plumbing.drainage
    number = drainage.outlet[index]
    return number != NONE and ends_in_storm(drainage.outlets[number], context)


def _leads_on(stop: int, context: Context) -> bool:
    network = context.plumbing.network
    below = _lowest_m(network.elements[stop]) - LEVEL_M

    def storm_beside(index: int) -> list[int]:
        return [i for i in network.neighbours(index) if _is_storm(network.elements[i])]

    led = by_steps(storm_beside(stop), storm_beside)
    return any(_lowest_m(network.elements[i]) < below for i in led)


def _is_storm(element: Element) -> bool:
    return element.system is System.STORM and element.role in PIPING


def _lowest_m(element: Element) -> float:
    """How high its lowest end lies; infinite where that is not known."""
    places = [element.position, *(end.position for end in element.ends)]
    return min((p[2] for p in places if p is not None), default=inf)
