"""Which piping is a building's storm drainage, and which that of its site."""

from collections.abc import Sequence

from ifclint.engineering.directions import direction, rise_deg
from ifclint.engineering.tolerance import at_least
from ifclint.ifc.elements import Element, Role, System
from ifclint.network import Network
from ifclint.plumbing.drainage.orientation import STOREY_HEIGHT_M, counts_as_vertical
from ifclint.plumbing.drainage.sources import takes_rain

ROOF_DRAIN = "roof-drain"
_ROLES = frozenset({
    Role.PIPE, Role.FITTING, Role.TRAP, Role.CLEANOUT, Role.CHAMBER, Role.INTERCEPTOR,
    Role.PUMP, Role.VALVE,
})  # fmt: skip


def building_storm(network: Network) -> list[int]:
    """The storm drainage that comes down a building, in the order of the model.

    Storm piping that is joined together and has a roof drain, or falls a storey in pipe that
    stands, its fittings among it. What has neither (yard drains, culverts, runs between manholes)
    is the site's.
    """
    elements = network.elements
    inside = {index for index, element in enumerate(elements) if _is_storm(element)}
    pieces = network.pieces(sorted(inside))
    return sorted(index for piece in pieces if _of_building(network, piece) for index in piece)


def _is_storm(element: Element) -> bool:
    if element.kind == ROOF_DRAIN and element.system in (None, System.STORM):
        return True
    if takes_rain(element):
        return True
    return element.system is System.STORM and element.role in _ROLES


def _of_building(network: Network, piece: set[int]) -> bool:
    elements = network.elements
    if any(elements[i].kind == ROOF_DRAIN for i in piece):
        return True
    upright = [i for i in piece if elements[i].role is Role.FITTING or _stands(elements[i])]
    return any(
        at_least(_fall_m(elements, run), STOREY_HEIGHT_M, "m") for run in network.pieces(upright)
    )


def _stands(element: Element) -> bool:
    ends = element.places
    way = direction(ends[0], ends[-1]) if element.role is Role.PIPE and ends else None
    return way is not None and counts_as_vertical(abs(rise_deg(way)))


def _fall_m(elements: Sequence[Element], run: set[int]) -> float:
    """How far the pipes of a run fall together."""
    heights = [p[2] for i in run if elements[i].role is Role.PIPE for p in elements[i].places]
    return max(heights) - min(heights) if heights else 0.0
