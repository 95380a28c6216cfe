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
POOL = "swimming-pool"
OPEN = (
    "cistern", "rainwater*", "rain water", "break tank", "roof tank", "gravity tank", "house tank",
    "tinaco", "aljibe", "zisterne", "citerne", "cisterna", "regenwasser*", "pond", "fountain",
)  # fmt: skip


class Fill(NamedTuple):
    """Where a water line ends in the open, and over what."""

    end: Point
    over: Element


def fill_of(line: WaterSegment) -> Fill | None:
    """The fill that a water line is; None where it leads on, or ends over nothing.

    A line that ends above a tank or pool, that comes over the rim of one which is open, or that by
    its name is a fill and ends over or in a tank or receptor.
    """
    network, at = line.distribution.network, line.indexes[-1]
    last = network.elements[at]
    if line.below or line.connection is not None or last.role not in (Role.PIPE, Role.FITTING):
        return None
    joined = {joint.a_end if joint.a == at else joint.b_end for joint in _joints(network, at)}
    ends = [e.position for n, e in enumerate(last.ends) if n not in joined and e.position]
    is_called = any(says(e, FILL) for e in line.elements)
    for end in ends:
        if over := _vessel_under(line, end, is_called):
            return Fill(end, over)
        if is_called and (over := receptor_under(network, end)):
            return Fill(end, over)
    return None


def _joints(network: Network, at: int) -> list[Joint]:
    """The joints of an element; one with a vessel that it only stands above is none."""
    joints = [network.joints[number] for _, number in network.joined[at]]
    return [j for j in joints if not (j.inferred and _stands_above(network, at, j))]


def _stands_above(network: Network, at: int, joint: Joint) -> bool:
    other, end = (joint.b, joint.a_end) if joint.a == at else (joint.a, joint.b_end)
    vessel, point = network.elements[other], network.elements[at].ends[end].position
    if vessel.box is None or point is None or not (vessel.role is Role.TANK or vessel.kind == POOL):
        return False
    return lies_above(point[2], vessel.box[1][2])


def _vessel_under(line: WaterSegment, end: Point, is_called: bool) -> Element | None:
    """The tank or pool that an end lies over, or in where the line comes over its rim."""
    network = line.distribution.network
    pools = (e for e in network.elements if e.kind == POOL)
    for vessel in (*network.of_role[Role.TANK], *pools):
        if vessel.box is None or vessel.kind in CLOSED:
            continue
        low, high = vessel.box
        above = lies_above(end[2], high[2]) and at_most(end[2] - high[2], HIGHEST_M, "m")
        dips = is_called or _comes_over(line, vessel)
        inside = low[2] <= end[2] <= high[2] and dips
        if (above or inside) and covers(low, high, end, BESIDE_M):
            return vessel
    return None


def _comes_over(line: WaterSegment, vessel: Element) -> bool:
    """Whether a line stands above an open vessel, and so comes to the water in it from above."""
    if vessel.box is None or not (vessel.kind == POOL or says(vessel, OPEN)):
        return False
    low, high = vessel.box
    points = (e.position for piece in line.elements for e in piece.ends)
    return any(p and lies_above(p[2], high[2]) and covers(low, high, p, BESIDE_M) for p in points)
