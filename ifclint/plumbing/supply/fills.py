"""Fills: water lines that end in the open over a tank or a receptor."""

from collections.abc import Iterable
from typing import NamedTuple

from ifclint.engineering.extents import covers, holds
from ifclint.engineering.tolerance import at_most, lies_above
from ifclint.ifc.elements import Element, Joint, Point, Role
from ifclint.plumbing.drainage.receptors import BESIDE_M, HIGHEST_M, receptor_under
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.plumbing.words import says

FILL = (
    "make up", "makeup", "fill", "fill line", "fill spout", "fill valve", "air gap", "airgap",
    "nachspeis*", "nachfull*", "appoint d eau", "remplissage", "relleno", "llenado", "suppletie*",
)  # fmt: skip
CLOSED = frozenset({"expansion", "pressure", "fuel"})  # tanks that no water falls into
POOL = "swimming-pool"
WITHIN_M = 0.02  # of the sides of a vessel an end that dips into it lies. Ours, no source
OPEN = (
    "cistern", "rainwater*", "rain water", "break tank", "roof tank", "gravity tank", "house tank",
    "open top", "open topped", "open tank", "open vessel", "surge tank", "balance tank",
    "tinaco", "aljibe", "zisterne", "citerne", "cisterna", "regenwasser*", "pond", "fountain",
)  # fmt: skip


class Fill(NamedTuple):
    """Where a water line ends in the open, over what, and the last of its piping."""

    end: Point
    over: Element
    at: int


def fill_of(line: WaterSegment) -> Fill | None:
    """The fill that a water line is; None where it leads on, or ends over nothing.

    A line that ends above a tank or pool, that comes over the rim of one which is open, or that by
    its name is a fill and ends over or in a tank or receptor.
    """
    network, at = line.distribution.network, line.indexes[-1]
    if _is_vessel(network.elements[at]) and len(line.indexes) > 1:
        at = line.indexes[-2]
    last = network.elements[at]
    if line.below or line.connection is not None or last.role not in (Role.PIPE, Role.FITTING):
        return None
    joints = (network.joints[number] for _, number in network.joined[at])
    joined = {
        joint.a_end if joint.a == at else joint.b_end
        for joint in joints
        if not (joint.inferred and _only_meets(line, at, joint))
    }
    ends = [e.position for n, e in enumerate(last.ends) if n not in joined and e.position]
    is_called = any(says(e, FILL) for e in line.elements)
    for end in ends:
        if over := _vessel_under(line, end, is_called):
            return Fill(end, over, at)
        if is_called and (over := receptor_under(network, end)):
            return Fill(end, over, at)
    return None


def filled(lines: Iterable[WaterSegment]) -> set[str]:
    """The GlobalIds of what is filled from above by some of the lines of a supply."""
    return {fill.over.guid for line in lines if (fill := fill_of(line)) is not None}


def _only_meets(line: WaterSegment, at: int, joint: Joint) -> bool:
    """Whether a line only stands above the vessel that it is joined to, or dips into it over its
    rim: its end was found in the shape, and is no connection of the vessel."""
    elements = line.distribution.network.elements
    other, end = (joint.b, joint.a_end) if joint.a == at else (joint.a, joint.b_end)
    vessel, point = elements[other], elements[at].ends[end].position
    if vessel.box is None or point is None or not _is_vessel(vessel):
        return False
    low, high = vessel.box
    dips = holds(low, high, point, -WITHIN_M) and vessel.kind not in CLOSED
    return lies_above(point[2], high[2]) or (dips and _comes_over(line, vessel))


def _is_vessel(element: Element) -> bool:
    return element.role is Role.TANK or element.kind == POOL


def _vessel_under(line: WaterSegment, end: Point, is_called: bool) -> Element | None:
    """The tank or pool that an end lies over, or in where the line comes over its rim."""
    network = line.distribution.network
    pools = (e for e in network.elements if e.kind == POOL)
    for vessel in (*network.of_role[Role.TANK], *pools):
        if vessel.box is None or vessel.kind in CLOSED:
            continue
        low, high = vessel.box
        if lies_above(end[2], high[2]):
            is_near = at_most(end[2] - high[2], HIGHEST_M, "m")
        else:
            is_near = low[2] <= end[2] and (is_called or _comes_over(line, vessel))
        if is_near and covers(low, high, end, BESIDE_M):
            return vessel
    return None


def _comes_over(line: WaterSegment, vessel: Element) -> bool:
    """Whether a line stands above an open vessel, and so comes to the water in it from above."""
    if vessel.box is None or not (vessel.kind == POOL or says(vessel, OPEN)):
        return False
    low, high = vessel.box
    points = (e.position for piece in line.elements for e in piece.ends)
    return any(p and lies_above(p[2], high[2]) and covers(low, high, p, BESIDE_M) for p in points)
