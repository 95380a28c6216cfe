"""Receptors: floor sinks and the like, over which indirect waste ends in the open."""

from ifclint.engineering.extents import covers
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import M_PER_IN
from ifclint.ifc.elements import Element, Point, Role
from ifclint.network import Network

RECEPTOR = "receptor"  # the kind of an outlet: an open end over one
STANDPIPE = "clothes-washer"  # a standpipe or outlet box that is itself a fixture
RECEIVING = frozenset({"floor-sink", "floor-drain", "mop-sink", "laundry-sink", STANDPIPE})
HIGHEST_M = 24 * M_PER_IN  # above its rim; what ends higher splashes. Ours, no source
BESIDE_M = 2 * M_PER_IN  # outside its rim an end may be drawn. Ours, no source


def receptor_under(network: Network, point: Point | None) -> Element | None:
    """The receptor an open end lies over or in, the highest of several."""
    if point is None:
        return None
    far = (2 * BESIDE_M, 2 * BESIDE_M, 2 * HIGHEST_M)  # farther than any lies from an end over it
    fixtures = network.around(Role.FIXTURE, point, far)
    found = [e for e in fixtures if e.kind in RECEIVING and _is_under(e, point)]
    return max(found, key=_rim, default=None)


def _is_under(element: Element, point: Point) -> bool:
    if element.box is None:
        return False
    low, high = element.box
    in_reach = low[2] <= point[2] and at_most(point[2] - high[2], HIGHEST_M, "m")
    return in_reach and covers(low, high, point, BESIDE_M)


def _rim(element: Element) -> float:
    return element.box[1][2] if element.box is not None else float("-inf")
