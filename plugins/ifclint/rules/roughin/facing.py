"""Every fixture that clearances are asked for, and which wall it has its back to."""

from collections.abc import Iterator
from math import inf

from ifclint.engineering.arithmetic import not_below_zero
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.ifc.elements import WATER_SUPPLY, Role, System
from ifclint.packs import Context, derived
from ifclint.rules.roughin.standing import HIGH_M, KINDS, LOW_M, Facing, Stand, gap_m, standing_of

BACK_M = 0.3  # a fixture no farther from a wall has its back to it
TOUCHING_M, ALIKE_M = 0.1, 0.05  # so near it touches a wall; of two as near, neither is told
LONGER = 1.2  # times the other side: a closet is deeper than wide
WIDER = 1.5  # times its depth: a lavatory is wider than deep
ON_THE_FLOOR = ("water-closet", "bidet")
OF_A_DRAWING_M = 0.01  # what drawing may cost
OFF_CENTRE_M = 0.05  # an outlet so far from the middle lies on the side of the wall


@derived
def stands(context: Context) -> list[Stand]:
    """Every fixture of a kind that clearances are asked for, in the order of the model."""
    found = []
    for element in context.plumbing.network.of_role[Role.FIXTURE]:
        if element.kind in KINDS:
            stand = standing_of(element, context)
            if element.box is not None:
                stand.facings = tuple(_facings(stand))
            found.append(stand)
    return found


def _facings(stand: Stand) -> Iterator[Facing]:
    """The walls a fixture may have its back to: those that stand at it, less what its proportions
    and the places of its ends rule out."""
    every = [Facing(axis, sign) for axis in (0, 1) for sign in (-1, 1)]
    told = [f for f in every if _may_be(stand, f)]
    if stand.kind in ON_THE_FLOOR and (supplied := {k for k in (0, 1) if _leans(stand, k)}):
        told = [f for f in told if f.axis in supplied]
    gaps = {f: gap for f in told if (gap := _to_wall_m(stand, f)) is not None}
    sure = {f.axis for f in told if _leans(stand, f.axis)}
    nearest = min(gaps.values(), default=inf)
    if at_most(nearest, TOUCHING_M, "m"):
        yield from (f for f, gap in gaps.items() if at_most(gap - nearest, ALIKE_M, "m"))
    elif gaps:  # a wall farther off may as well be that beside it
        yield from gaps if len({f.axis for f in told}) == 1 else told
    elif len(told) == 1 and sure:
        yield from told


def _may_be(stand: Stand, facing: Facing) -> bool:
    """Whether neither proportions nor the ends speak against a back on this side."""
    low, high = stand.box
    along = high[facing.axis] - low[facing.axis]
    across = high[facing.across] - low[facing.across]
    if stand.kind in ON_THE_FLOOR and across >= LONGER * along:
        return False
    if stand.kind == "lavatory" and along >= WIDER * across:
        return False
    leans = _leans(stand, facing.axis)
    return not leans or leans == facing.sign


def _leans(stand: Stand, axis: int) -> int:
    """The side on which all ends lie off the middle: that of the wall they come from; else 0."""
    low, high = stand.box
    middle = (low[axis] + high[axis]) / 2
    systems = {System.SANITARY, *WATER_SUPPLY}
    ends = [e for e in stand.element.ends if e.position is not None and e.system in systems]
    off = [e.position[axis] - middle for e in ends if e.position is not None]
    if stand.kind in ON_THE_FLOOR:  # its supply comes from the wall too, but beside it
        drains = [e for e in ends if e.system is System.SANITARY]
        off = [e.position[axis] - middle for e in drains if e.position is not None]
        if not off or not all(at_least(abs(o), OFF_CENTRE_M, "m") for o in off):
            return _supplied_from(stand, axis)
    if off and all(at_least(o, OFF_CENTRE_M, "m") for o in off):
        return 1
    return -1 if off and all(at_most(o, -OFF_CENTRE_M, "m") for o in off) else 0


def _supplied_from(stand: Stand, axis: int) -> int:
    """The side of a closet at which its supply enters, clearly nearer than any other; else 0."""
    low, high = stand.box
    ends = stand.element.ends
    water = [e.position for e in ends if e.position is not None and e.system in WATER_SUPPLY]
    if len(water) != 1:
        return 0
    to_side = {(k, -1): water[0][k] - low[k] for k in (0, 1)}
    to_side |= {(k, 1): high[k] - water[0][k] for k in (0, 1)}
    (side, near), (_, next_near) = sorted(to_side.items(), key=lambda one: one[1])[:2]
    return side[1] if side[0] == axis and near <= next_near / 2 - OF_A_DRAWING_M else 0


def _to_wall_m(stand: Stand, facing: Facing) -> float | None:
    """How far its back is from the wall there, None where none stands near; 0 for one it is in."""
    low, high = stand.box
    back = high[facing.axis] if facing.sign > 0 else low[facing.axis]
    width = high[facing.across] - low[facing.across]
    gaps = []
    for o in stand.near:
        if o.kind != "wall":
            continue
        shared = min(high[facing.across], o.high[facing.across]) - max(
            low[facing.across], o.low[facing.across]
        )
        upright = o.low[2] < stand.floor_m + HIGH_M and o.high[2] > stand.floor_m + LOW_M
        gap = gap_m(back, o, facing.axis, facing.sign, stand.depth_m(facing) / 2)
        if shared > width / 2 and upright and gap is not None and at_most(gap, BACK_M, "m"):
            gaps.append(not_below_zero(gap))
    return min(gaps, default=None)
