"""Which piping is a building's storm drainage, and which that of its site."""

from __future__ import annotations

from ifclint.engineering.directions import direction, rise_deg
from ifclint.engineering.tolerance import at_least
from ifclint.ifc.elements import Element, Role, System
from ifclint.network import Network
from ifclint.plumbing.drainage.orientation import STOREY_HEIGHT_M, counts_as_vertical
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
    pieces = network.pieces(sorted(inside))
    of_building = (p for p in pieces if any(_of_building(elements[i]) for i in p))
    return sorted(index for piece in of_building for index in piece)


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
    ends = element.places
    way = direction(ends[0], ends[-1]) if element.role is Role.PIPE and ends else None
    stands = way is not None and counts_as_vertical(abs(rise_deg(way)))
    return abs(ends[0][2] - ends[-1][2]) if stands else 0.0
