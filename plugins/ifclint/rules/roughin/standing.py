"""Fixtures as they stand in a room: where their back is, and what is beside and before them.

All of it is told by boxes along the axes of the model. A fixture that is turned otherwise, and a
wall whose box is too thick to be one, tell no distance.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import inf

from ifclint.checks import given
from ifclint.engineering.arithmetic import not_below_zero
from ifclint.engineering.extents import covers, grown, middle, thickness_m
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.findings import PartKind
from ifclint.ifc.elements import WATER_SUPPLY, Box, Element, Role, Space, System
from ifclint.packs import Context, derived
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.surroundings.obstacles import Obstacle

KINDS = frozenset({"water-closet", "bidet", "urinal", "lavatory"})
# Bounds of ours, no source.
SQUARE_DEG = 2.0  # turned by less, a box still tells the fixture
THICKEST_M = 0.6  # the box of a thicker wall is that of one that stands askew, or of a corner
BACK_M = 0.3  # a fixture no farther from a wall has its back to it
TOUCHING_M, ALIKE_M = 0.1, 0.05  # so near it touches a wall; of two as near, neither is told
LONGER = 1.2  # times the other side: a closet is deeper than wide
WIDER = 1.5  # times its depth: a lavatory is wider than deep
ON_THE_FLOOR = ("water-closet", "bidet")
OF_A_DRAWING_M = 0.01  # what drawing may cost
OFF_CENTRE_M = 0.05  # an outlet so far from the middle lies on the side of the wall
ELBOW_M = 0.6  # above the floor: what is lower is not in the way beside a lavatory
LOW_M, HIGH_M = 0.05, 1.5  # above the floor: what stands between is in the way of a person
TOUCH_M = 0.02  # boxes that share less stand beside each other
NOT_IN_THE_WAY = frozenset(
    {
        "floor-drain", "roof-drain", "hose-bibb", "pan-drain", "disposer", "ice-maker",
        "emergency-fixture", "clothes-washer", "accessory",
    }
)  # fmt: skip

BOXES = PartKind(
    "fixtures in their true size",
    drawn=lambda context: any(
        e.box is not None for e in context.plumbing.network.elements if e.kind in KINDS
    ),
    remedy="Export the shapes of the fixtures as solids or faces, in their true size.",
)


def never(context: Context) -> bool:
    """For what no model tells at all: it is asked once."""
    return False


ASKEW = PartKind(
    "clearances of what stands askew",
    drawn=never,
    remedy="Draw the building along the axes of the model, or measure these fixtures by hand.",
    lack="tells by boxes no",
)
BACKS = PartKind(
    "side of the fixtures that is their back",
    drawn=never,
    remedy="Draw the walls the fixtures stand at, and place the outlet port of each at its drain.",
    lack="does not tell the",
)


@dataclass(frozen=True)
class Facing:
    """One way a fixture may stand: its back is toward `sign` on `axis` (0: x, 1: y)."""

    axis: int
    sign: int

    @property
    def across(self) -> int:
        return 1 - self.axis


@dataclass(frozen=True)
class Beside:
    """What stands nearest, and how far from the centre or the front (m)."""

    metres: float
    label: str
    guid: str = ""


@dataclass(eq=False)
class Stand(OfElement):
    """A water closet, bidet, urinal or lavatory. `facings` are the ways it may stand."""

    sized_by = frozenset[System]()  # no size bears on it

    element: Element
    facings: tuple[Facing, ...] = ()
    floor_m: float = 0.0
    room: Space | None = None
    is_askew: bool = False
    near: tuple[Obstacle, ...] = field(default=(), repr=False)
    blurred: tuple[Obstacle, ...] = field(default=(), repr=False)  # walls that no box tells

    @property
    def kind(self) -> str:
        return self.element.kind

    @property
    def box(self) -> Box:
        return given(self.element.box)

    def centre_m(self, across: int) -> float:
        """The centre line: through the outlet where that lies about the middle."""
        low, high = self.box
        middle = (low[across] + high[across]) / 2
        for end in self.element.ends:
            at = end.position if end.system is System.SANITARY else None
            if at is not None and abs(at[across] - middle) <= (high[across] - low[across]) / 4:
                return at[across]
        return middle

    def sides(self, facing: Facing) -> Iterator[Beside]:
        """What stands nearest on each side, from the centre line."""
        across, along = facing.across, facing.axis
        low, high = self.box
        centre = self.centre_m(across)
        for sign in (-1, 1):
            found = [
                Beside(not_below_zero(gap), o.label, o.guid)
                for o in self._in_the_way(along, low[along], high[along], self._elbows_m)
                if (gap := _gap(centre, o, across, sign)) is not None
            ]
            if self.room is not None:
                face = self.room.low[across] if sign < 0 else self.room.high[across]
                if (face - centre) * sign > 0:
                    found.append(Beside((face - centre) * sign, f"the side of {self.room.name}"))
            if found:
                yield min(found, key=lambda b: b.metres)

    def before(self, facing: Facing) -> Beside | None:
        """What stands nearest in front, from the front."""
        along, across, ahead = facing.axis, facing.across, -facing.sign
        low, high = self.box
        front = high[along] if ahead > 0 else low[along]
        found = [
            Beside(not_below_zero(gap), o.label, o.guid)
            for o in self._in_the_way(across, low[across], high[across], self.floor_m)
            if (gap := _gap(front, o, along, ahead, TOUCH_M)) is not None
        ]
        if self.room is not None:
            face = self.room.low[along] if ahead < 0 else self.room.high[along]
            if (face - front) * ahead > 0:
                found.append(Beside((face - front) * ahead, f"the end of {self.room.name}"))
        return min(found, key=lambda b: b.metres, default=None)

    def depth_m(self, facing: Facing) -> float:
        low, high = self.box
        return high[facing.axis] - low[facing.axis]

    def is_blurred(self, reach_m: float) -> bool:
        """Whether a wall that its box does not tell stands within reach."""
        low, high = self.box
        return any(
            all(o.low[k] < high[k] + reach_m and o.high[k] > low[k] - reach_m for k in (0, 1))
            for o in self.blurred
        )

    @property
    def _elbows_m(self) -> float:
        """From what height on things beside it are in the way: a low tub is not at a lavatory."""
        return self.floor_m + (ELBOW_M if self.kind == "lavatory" else 0.0)

    def _in_the_way(self, axis: int, low: float, high: float, from_m: float) -> Iterator[Obstacle]:
        """What stands up from a height and shares part of a range along an axis."""
        for o in self.near:
            shares = min(high, o.high[axis]) - max(low, o.low[axis]) > TOUCH_M
            upright = o.low[2] < self.floor_m + HIGH_M and o.high[2] > from_m + LOW_M
            if shares and upright and not self._holds(o):
                yield o

    def _holds(self, obstacle: Obstacle) -> bool:
        """Whether it is the fixture itself, or a part of it: a seat, a tank, a second body."""
        inside = covers(*self.box, middle(obstacle.low, obstacle.high))
        return obstacle.kind != "wall" and inside


def _gap(
    start: float, obstacle: Obstacle, axis: int, sign: int, within_m: float = 0.0
) -> float | None:
    """From a coordinate to the near face of what lies on one side of it; None for what does not."""
    near, far = obstacle.low[axis], obstacle.high[axis]
    if sign < 0:
        near, far = -far, -near
    gap = near - start * sign
    return gap if gap >= -within_m else None


REACH_M = 1.5  # farther off nothing is looked for


@derived
def stands(context: Context) -> list[Stand]:
    """Every fixture of a kind that clearances are asked for, in the order of the model."""
    found = []
    for element in context.plumbing.network.elements:
        if element.role is Role.FIXTURE and element.kind in KINDS:
            stand = standing_of(element, context)
            if element.box is not None:
                stand.facings = tuple(_facings(stand))
            found.append(stand)
    return found


@derived
def _out_of_the_way(context: Context) -> frozenset[str]:
    """GlobalIds of what is in nobody's way."""
    elements = context.plumbing.network.elements
    return frozenset(e.guid for e in elements if e.kind in NOT_IN_THE_WAY)


@derived
def askew_walls(context: Context) -> frozenset[str]:
    """GlobalIds of walls that their boxes do not tell: drawn aslant, round or around a corner."""
    walls = context.plumbing.surroundings.of_kind("wall")
    return frozenset(w.guid for w in walls if w.outline or thickness_m(w.low, w.high) > THICKEST_M)


def standing_of(element: Element, context: Context) -> Stand:
    """An element with what stands around it; which way it faces is left open."""
    if element.box is None:
        return Stand(element)
    low, high = element.box
    around = context.plumbing.surroundings.within(*grown(low, high, REACH_M))
    out, askew = _out_of_the_way(context), askew_walls(context)
    upright = [o for o in around if o.kind in ("wall", "equipment") and o.guid not in out]
    floor = context.plumbing.surroundings.floors.of(element)
    return Stand(
        element,
        floor_m=floor.level_m if floor else low[2],
        room=room_of(element, context),
        is_askew=is_askew(element),
        near=tuple(o for o in upright if o.guid not in askew),
        blurred=tuple(o for o in upright if o.guid in askew),
    )


def is_askew(element: Element) -> bool:
    """Whether it is turned against the axes of the model, so that its box is larger than it."""
    return abs((element.turned_deg + 45) % 90 - 45) > SQUARE_DEG


def room_of(element: Element, context: Context) -> Space | None:
    """The room around the middle of a box; None where there is none, or more than one."""
    if element.box is None:
        return None
    found = context.plumbing.surroundings.rooms_around(middle(*element.box))
    return found[0] if len(found) == 1 else None


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
        gap = _gap(back, o, facing.axis, facing.sign, stand.depth_m(facing) / 2)
        if shared > width / 2 and upright and gap is not None and at_most(gap, BACK_M, "m"):
            gaps.append(not_below_zero(gap))
    return min(gaps, default=None)
