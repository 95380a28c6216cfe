"""Fixtures as they stand in a room: where their back is, and what is beside and before them.

All of it is told by boxes along the axes of the model. A fixture that is turned otherwise, and a
wall whose box is too thick to be one, tell no distance.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from ifclint.checks import given
from ifclint.engineering.arithmetic import not_below_zero
from ifclint.engineering.extents import covers, grown, middle, overlap_in_plan, passed, thickness_m
from ifclint.findings import PartKind
from ifclint.ifc.elements import Box, Element, Point, Space, System
from ifclint.packs import Context, derived
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.surroundings.obstacles import Obstacle

KINDS = frozenset({"water-closet", "bidet", "urinal", "lavatory"})
# Bounds of ours, no source.
SQUARE_DEG = 2.0  # turned by less, a box still tells the fixture
THICKEST_M = 0.6  # the box of a thicker wall is that of one that stands askew, or of a corner
ELBOW_M = 0.6  # above the floor: what is lower is not in the way beside a lavatory
LOW_M, HIGH_M = 0.05, 1.5  # above the floor: what stands between is in the way of a person
TOUCH_M = 0.02  # boxes that share less stand beside each other
NOT_IN_THE_WAY = frozenset({
    "floor-drain", "roof-drain", "hose-bibb", "pan-drain", "disposer", "ice-maker",
    "emergency-fixture", "clothes-washer", "accessory",
})  # fmt: skip

BOXES = PartKind(
    "fixtures in their true size",
    drawn=lambda context: any(
        context.plumbing.network.elements[i].box is not None
        for i in context.plumbing.network.of_kinds(*KINDS)
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
        elbows = [*self._in_the_way(along, low[along], high[along], self._elbows_m)]
        both = (self._nearest(elbows, centre, across, sign, "side") for sign in (-1, 1))
        yield from filter(None, both)

    def before(self, facing: Facing) -> Beside | None:
        """What stands nearest in front, from the front."""
        along, across, ahead = facing.axis, facing.across, -facing.sign
        low, high = self.box
        front = high[along] if ahead > 0 else low[along]
        there = self._in_the_way(across, low[across], high[across], self.floor_m)
        return self._nearest(there, front, along, ahead, "end", TOUCH_M)

    def _nearest(
        self, there: Iterable[Obstacle], start: float, axis: int, sign: int, of_room: str,
        within_m: float = 0.0,
    ) -> Beside | None:  # fmt: skip
        """What is nearest from a coordinate on, of what stands there and the face of the room."""
        found = [
            Beside(not_below_zero(gap), o.label, o.guid)
            for o in there
            if (gap := gap_m(start, o, axis, sign, within_m)) is not None
        ]
        if self.room is not None:
            face = self.room.low[axis] if sign < 0 else self.room.high[axis]
            if (face - start) * sign > 0:
                found.append(Beside((face - start) * sign, f"the {of_room} of {self.room.name}"))
        return min(found, key=lambda b: b.metres, default=None)

    def depth_m(self, facing: Facing) -> float:
        low, high = self.box
        return high[facing.axis] - low[facing.axis]

    def is_blurred(self, reach_m: float) -> bool:
        """Whether a wall that its box does not tell stands within reach."""
        around = grown(*self.box, reach_m)
        return any(overlap_in_plan(around, (o.low, o.high)) for o in self.blurred)

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


def gap_m(
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
def _out_of_the_way(context: Context) -> frozenset[str]:
    """GlobalIds of what is in nobody's way."""
    network = context.plumbing.network
    return frozenset(network.elements[i].guid for i in network.of_kinds(*NOT_IN_THE_WAY))


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
    here, walls = middle(low, high), [o for o in upright if o.kind == "wall"]
    upright = [o for o in upright if o.kind == "wall" or not _is_behind(walls, o, here)]
    floor = context.plumbing.surroundings.floors.of(element)
    return Stand(
        element,
        floor_m=floor.level_m if floor else low[2],
        room=room_of(element, context),
        is_askew=is_askew(element),
        near=tuple(o for o in upright if o.guid not in askew),
        blurred=tuple(o for o in upright if o.guid in askew),
    )


def _is_behind(walls: list[Obstacle], obstacle: Obstacle, here: Point) -> bool:
    """Whether a wall stands between a place and the middle of an obstacle, as where the carrier of
    a fixture of the next room hangs in it."""
    there = middle(obstacle.low, obstacle.high)
    return any(passed(here, there, w.low, w.high, k, 0.0) for w in walls for k in (0, 1))


def is_askew(element: Element) -> bool:
    """Whether it is turned against the axes of the model, so that its box is larger than it."""
    return abs((element.turned_deg + 45) % 90 - 45) > SQUARE_DEG


def room_of(element: Element, context: Context) -> Space | None:
    """The room around the middle of a box; None where there is none, or more than one."""
    if element.box is None:
        return None
    found = context.plumbing.surroundings.rooms_around(middle(*element.box))
    return found[0] if len(found) == 1 else None
