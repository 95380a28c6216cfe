"""Which elements are drainage, and which of them give it water."""

from __future__ import annotations

from ifclint.ifc.elements import DRAINAGE, Element, Role
from ifclint.network import Network

_DRAINAGE_ROLES = frozenset(
    {Role.TRAP, Role.CLEANOUT, Role.VENT_TERMINAL, Role.INTERCEPTOR, Role.CHAMBER}
)
INDIRECT = frozenset({"pan-drain"})  # drains in an emergency, into the open
NO_DRAIN = frozenset({"hose-bibb", "ice-maker", "roof-drain"}) | INDIRECT


def is_drain_source(element: Element) -> bool:
    """Fixtures, and appliances that drain by a pipe of their own, give water to the drainage."""
    return (element.role is Role.FIXTURE and element.kind not in NO_DRAIN) or (
        element.role is Role.APPLIANCE and element.kind == "dishwasher-appliance"
    )


def drainage_members(network: Network) -> list[int]:
    """The drainage elements: by system, by what they are, or joined to a trap with no system."""
    elements = network.elements
    inside = [
        element.system in DRAINAGE
        or is_drain_source(element)
        or element.kind in INDIRECT
        or (element.role in _DRAINAGE_ROLES and element.system is None)
        for element in elements
    ]
    frontier = [
        i
        for i, element in enumerate(elements)
        if inside[i] and element.role not in (Role.FIXTURE, Role.APPLIANCE)
    ]
    while frontier:
        for neighbour in network.neighbours(frontier.pop()):
            element = elements[neighbour]
            unclaimed = element.system is None and element.role in (Role.PIPE, Role.FITTING)
            if not inside[neighbour] and unclaimed:
                inside[neighbour] = True
                frontier.append(neighbour)
    return [i for i, is_member in enumerate(inside) if is_member]
