"""Fills: water lines that end in the open over a tank or a receptor."""

from __future__ import annotations

from typing import NamedTuple

from ifclint.engineering.extents import covers
from ifclint.engineering.tolerance import at_most, lies_above
from ifclint.ifc.elements import Element, Joint, Point, Role
from ifclint.network import Network
from ifclint.plumbing.drainage.receptors import BESIDE_M, HIGHEST_M, receptor_under
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.plumbing.words import says

FILL = (
    "make up", "makeup", "fill", "fill line", "fill spout", "fill valve", "air gap", "airgap",
    "nachspeis*", "nachfull*", "appoint d eau", "remplissage", "relleno", "llenado", "suppletie*",
)  # fmt: skip
CLOSED = frozenset({"expansion", "pressure", "fuel"})  # tanks that no water falls into


class Fill(NamedTuple):
    """Where a water line ends in the open, and over what."""

    end: Point
    over: Element


def fill_of(line: WaterSegment) -> Fill | None:
    """The fill that a water line is; None where it leads on, or ends over nothing.

    A line that ends above a tank, or by its name is a fill and ends over or in a tank or receptor.
    """
    network, at = line.distribution.network, line.indexes[-1]
    last = network.elements[at]
    if line.below or line.connection is not None or last.role not in (Role.PIPE, Role.FITTING):
        return None
    joined = {joint.a_end if joint.a == at else joint.b_end for joint in _joints(network, at)}
    ends = [e.position for n, e in enumerate(last.ends) if n not in joined and e.position]
    is_called = any(says(e, FILL) for e in line.elements)
    for end in ends:
        if over := _tank_under(network, end, is_called):
            return Fill(end, over)
        if is_called and (over := receptor_under(network, end)):
            return Fill(end, over)
    return None


def _joints(network: Network, at: int) -> list[Joint]:
    return [network.joints[number] for _, number in network.joined[at]]


def _tank_under(network: Network, end: Point, is_called: bool) -> Element | None:
    for tank in network.of_role[Role.TANK]:
        if tank.box is None or tank.kind in CLOSED:
            continue
        low, high = tank.box
        above = lies_above(end[2], high[2]) and at_most(end[2] - high[2], HIGHEST_M, "m")
        inside = is_called and low[2] <= end[2] <= high[2]
        if (above or inside) and covers(low, high, end, BESIDE_M):
            return tank
    return None
