"""Vents of fixtures in islands: they go over below the counter, and come down again."""

from math import dist

from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_most
from ifclint.plumbing.drainage.piping import Piping
from ifclint.plumbing.venting.trap_arms import Air, TrapArm
from ifclint.plumbing.venting.vents import VentJoint

ISLAND_KINDS = frozenset(
    {"kitchen-sink", "bar-sink", "sink", "lavatory", "laundry-sink", "disposer", "dishwasher"}
)
ISLAND_LOOP_M = 8.0  # the loop of an island vent is no longer than this. Ours, no source
ISLAND_FALL_M = 0.15  # its vent falls again by more than an offset does. Ours, no source


def island_return(
    piping: Piping, arms: list[TrapArm], joint: VentJoint, air: Air
) -> VentJoint | None:
    """Where the vent of a joint comes back to the drain, if it is that of an island: it goes over
    and down again, and joins the same drain just below. One that only rises until it meets the vent
    from below, in a vent header say, is none."""
    kinds = {f.kind for arm in arms for f in arm.fixtures}
    if len(joint.tree.joints) < 2 or not kinds <= ISLAND_KINDS:
        return None
    came, index = joint.drain, piping.drainage.down[joint.drain]
    while index != NONE and all(i == came for i in piping.wet_above[index]):
        for other in air.joints.get(index, []):
            near = other.tree is joint.tree and at_most(_loop_m(joint, other), ISLAND_LOOP_M, "m")
            if near and _falls_again(piping, joint, other):
                return other
        came, index = index, piping.drainage.down[index]
    return None


def _falls_again(piping: Piping, joint: VentJoint, back: VentJoint) -> bool:
    """Whether the vent of a joint comes down before it meets that of another of its tree; also
    where no height tells, and where nothing leads on from the loop to the open air."""
    if joint.tree.is_closed:
        return True
    returning = set(back.tree.path_out(back))
    heights = []
    for index in joint.tree.path_out(joint):
        middle = piping.middle(index)
        if middle is not None:
            heights.append(middle[2])
        if index in returning:
            break
    return not heights or not at_most(max(heights) - heights[-1], ISLAND_FALL_M, "m")


def _loop_m(a: VentJoint, b: VentJoint) -> float:
    """How far apart two joints of a tree are, at least: by their paths to the open air."""
    if a.to_air_m is None or b.to_air_m is None or a.point is None or b.point is None:
        return 0.0
    return max(abs(a.to_air_m - b.to_air_m), dist(a.point, b.point))


def island_below_rim(
    piping: Piping, joint: VentJoint, back: VentJoint, rim_m: float | None
) -> list[int]:
    """The vent elements of an island: its loop, and what lies below the rim it serves."""
    if joint.tree.is_closed:
        return joint.tree.members
    returning = back.tree.path_out(back)
    found = []
    for index in (*joint.tree.path_out(joint), *returning):
        middle = piping.middle(index)
        below = rim_m is None or middle is None or middle[2] <= rim_m
        if below or index not in returning:
            found.append(index)
        else:
            break
    return found
