"""Which piping is a building's storm drainage, and which that of its site."""

from __future__ import annotations

from ifclint.engineering.tolerance import at_least
from ifclint.ifc.elements import Element, Role, System
from ifclint.network import Network
from ifclint.plumbing.drainage.segments import STOREY_HEIGHT_M
from ifclint.plumbing.drainage.sources import takes_rain

ROOF_DRAIN = "roof-drain"
_ROLES = frozenset(
    {
        Role.PIPE, Role.FITTING, Role.TRAP, Role.CLEANOUT, Role.CHAMBER, Role.INTERCEPTOR,
        Role.PUMP, Role.VALVE,
    }
)  # fmt: skip


def building_storm(network: Network) -> list[int]:
    """The storm drainage that comes down a building, in the order of the model.

    Storm piping that is joined together and has a roof drain, or a pipe that falls a storey. What
    has neither (yard drains, culverts, runs between manholes) is the site's.
    """
    elements = network.elements
    inside = {index for index, element in enumerate(elements) if _is_storm(element)}
    kept: set[int] = set()
    seen: set[int] = set()
    for start in sorted(inside):
        if start in seen:
            continue
        together, frontier = {start}, [start]
        while frontier:
            for index in network.neighbours(frontier.pop()):
                if index in inside and index not in together:
                    together.add(index)
                    frontier.append(index)
        seen |= together
        if any(_of_building(elements[i]) for i in together):
            kept |= together
    return sorted(kept)


def _is_storm(element: Element) -> bool:
    if element.kind == ROOF_DRAIN and element.system in (None, System.STORM):
        return True
    if takes_rain(element):
        return True
    return element.system is System.STORM and element.role in _ROLES


def _of_building(element: Element) -> bool:
    return element.kind == ROOF_DRAIN or at_least(_fall_m(element), STOREY_HEIGHT_M, "m")


def _fall_m(element: Element) -> float:
    """How far a pipe that stands falls; 0 for others."""
    ends = [end.position for end in element.ends if end.position is not None]
    if element.role is not Role.PIPE or len(ends) < 2:
        return 0.0
    (x, y, z), (u, v, w) = ends[0], ends[-1]
    fall = abs(w - z)
    return fall if fall >= max(abs(u - x), abs(v - y)) else 0.0
