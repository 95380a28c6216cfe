"""Trap arms: from the weir of every trap to the vent that protects it, or to where none does."""

from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property

from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import M_PER_IN
from ifclint.ifc.elements import Element, Point, Role
from ifclint.plumbing.drainage.fixtures import Fixture, Trap
from ifclint.plumbing.drainage.orientation import STOREY_HEIGHT_M
from ifclint.plumbing.drainage.piping import Piping, length_of, level_turns_deg
from ifclint.plumbing.drainage.sources import IN_FLOORS
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.surroundings.obstacles import NO_RIM
from ifclint.plumbing.venting.vents import VentJoint, VentTree

FEW = 8  # so many other arms may meet one before it is no longer followed for a vent
LEVEL_BEFORE_DROP_M = 0.10  # of an integral trap's drain, before a fall counts as a turn down


class Meets(StrEnum):
    """What a trap arm ends at."""

    VENT = "a vent"
    WET_DRAIN = "a drain that breathes from above"
    DROP = "a turn down"
    NOTHING = "no vent"


class Method(StrEnum):
    """How a trap is vented."""

    INDIVIDUAL = "individual vent"
    COMMON = "common vent"
    VERTICAL_WET = "vertical wet vent"
    HORIZONTAL_WET = "horizontal wet vent"
    CIRCUIT = "circuit vent"
    STACK_VENT = "stack vent"
    WASTE_STACK = "waste stack vent"
    ISLAND = "island vent"
    ADMITTANCE = "air admittance valve"


STRAIGHT = frozenset({"", "coupling"})  # kinds of fittings that may be a short pipe
BATHROOM = frozenset(
    {"water-closet", "lavatory", "bathtub", "shower", "bidet", "urinal", "floor-drain"}
)


@dataclass(eq=False)
class TrapArm(OfElement):
    """One trap with what drains through it, and its drain to the first air it meets.

    `path` holds the elements after the trap (or fixture), in order; the last is where it ends.
    """

    piping: Piping
    start: int
    fixtures: list[Fixture]
    trap: Trap | None
    path: tuple[int, ...] = ()
    meets: Meets = Meets.NOTHING
    joint: VentJoint | None = None  # of the vent it meets
    air_from: int = NONE  # the drain element at which the wet drain it meets is vented
    joined_by: tuple[int, ...] = ()  # bare drains that meet it before the vent
    turned_down: int = NONE  # the pipe in which it falls before any vent
    method: Method | None = None  # by which it is vented
    points: list[Point | None] = field(default_factory=list)

    @cached_property
    def fixture(self) -> Fixture:
        return next((f for f in self.fixtures if f.kind not in NO_RIM), self.fixtures[0])

    @property
    def element(self) -> Element:
        """The trap, or the fixture where its trap is its own or not modelled."""
        trap = self.trap.element if self.trap is not None else None
        return trap if trap is not None else self.fixture.element

    @property
    def integral(self) -> bool:
        return self.trap is not None and self.trap.integral

    @property
    def label(self) -> str:
        return f"the trap arm of {self.fixture.label}"

    @property
    def looked_at(self) -> Point | None:
        return self.points[0] if self.points else None

    @property
    def element_ids(self) -> tuple[str, ...]:
        """The trap, then the path it was followed."""
        elements = self.piping.elements
        return (self.element.guid, *(elements[i].guid for i in self.path))

    @cached_property
    def pipe(self) -> int | None:
        """The first pipe past the trap; where there is none, the nipple or adapter that leads from
        the trap to where the arm ends, or the pipe in which it falls straight from the trap."""
        nipple = next((i for i in self.path[:-1] if self._is_straight(i)), None)
        if nipple is None and self.turned_down != NONE:
            nipple = self.turned_down
        return next((i for i in self.path if self.piping.is_pipe(i)), nipple)

    def end_after(self, count: int) -> None:
        """Let it end after so many of its elements."""
        self.path = self.path[:count]
        self.__dict__.pop("pipe", None)

    def _is_straight(self, index: int) -> bool:
        element = self.piping.elements[index]
        return element.role is Role.FITTING and element.kind in STRAIGHT

    @property
    def size_in(self) -> float | None:
        return self.piping.elements[self.pipe].size_in if self.pipe is not None else None

    @property
    def trap_size_in(self) -> float | None:
        return self.trap.size_in if self.trap is not None else None

    @property
    def weir(self) -> Point | None:
        """The trap's outlet; None where the trap is not modelled."""
        return self.points[0] if self.points and self.trap is not None else None

    @property
    def fixture_outlet(self) -> Point | None:
        """Where water leaves the fixture; None where that is not drawn."""
        if not self.fixture.is_drawn:
            return None
        return self.piping.exit(self.fixture.index)

    @property
    def trap_inlet(self) -> Point | None:
        """Where water enters the trap: of the ends that are not its outlet the highest."""
        leaving = self.piping.exit(self.start)
        ends = [p for p in self.piping.ends(self.start) if p != leaving] if leaving else []
        return max(ends, key=lambda p: p[2], default=None)

    @property
    def length_m(self) -> float | None:
        """Developed length from the trap's outlet to the centre of what the arm meets."""
        return length_of(self.points)

    @property
    def fall_m(self) -> float | None:
        if not self.points:
            return None
        first, last = self.points[0], self.points[-1]
        return None if first is None or last is None else first[2] - last[2]

    @property
    def turns_deg(self) -> float:
        """Horizontal changes of direction between the trap and what it meets, added up."""
        return sum(level_turns_deg(self.points))

    @property
    def breathes(self) -> bool:
        return self.meets in (Meets.VENT, Meets.WET_DRAIN)

    def lacking(self, fact: str) -> tuple[str, ...]:
        if fact == "size_in" and self.pipe is not None:
            return (self.piping.elements[self.pipe].guid, self.element.guid)
        if fact == "fixture_outlet":
            return (self.fixture.element.guid,)
        return (self.element.guid,)


@dataclass(frozen=True)
class Air:
    """For every wet element: where its drain is vented at or above it (-1 for nowhere), and
    whether a horizontal pipe lies between."""

    at: list[int]
    past_level: list[bool]
    joints: dict[int, list[VentJoint]]


def find_air(piping: Piping, fixtures: list[Fixture], trees: list[VentTree]) -> Air:
    """Carry the air of every vent joint down the drains; of several, the vertical one goes on, or
    else that of a bathroom, or the one of the line that takes most fixtures, is largest or longest.
    """
    joints: dict[int, list[VentJoint]] = {}
    for tree in sorted(trees, key=lambda t: not t.is_vent):  # of several, a sure vent first
        for joint in tree.joints:
            joints.setdefault(joint.drain, []).append(joint)
    count = len(piping.elements)
    at, past_level, far_m = [NONE] * count, [False] * count, [0.0] * count
    takes = piping.drainage.how_many(fixture.index for fixture in fixtures)
    of_bath = piping.drainage.passed_by(f.index for f in fixtures if f.kind in BATHROOM)

    def rank(index: int) -> tuple[float, ...]:
        level = (past_level[index], not piping.is_vertical(index))
        return (
            *level,
            not of_bath[at[index]],
            -or_zero(piping.elements[index].size_in),
            -takes[index],
            -far_m[index],
            index,
        )

    for index in reversed(piping.drainage.order):
        if not piping.is_wet(index):
            continue
        if index in joints and joints[index][0].tree.is_vent:
            at[index] = index
            continue
        above = [i for i in piping.wet_above[index] if at[i] != NONE]
        if above:
            source = min(above, key=rank)
            at[index] = at[source]
            far_m[index] = far_m[source] + or_zero(length_of(list(piping.ends(index))))
            past_level[index] = past_level[source] or piping.is_horizontal(index)
    return Air(at, past_level, joints)


def find_trap_arms(piping: Piping, fixtures: list[Fixture], air: Air) -> list[TrapArm]:
    """One arm for every trap, and for every connected fixture whose trap is not modelled.

    Indirect waste is open at its end: its trap needs no vent. What is of no known kind and has no
    trap may be none, as a cleanout: where its trap would be is not known.
    """
    index_of = {id(piping.elements[i]): i for i in piping.drainage.members}  # of one GlobalId too
    arms: dict[int, TrapArm] = {}
    for fixture in fixtures:
        if fixture.is_indirect or not fixture.connected:
            continue
        if fixture.trap is None and _shows_no_trap(fixture):
            continue
        trap = fixture.trap.element if fixture.trap is not None else None
        start = index_of[id(trap)] if trap is not None else fixture.index
        arm = arms.setdefault(start, TrapArm(piping, start, [], fixture.trap))
        arm.fixtures.append(fixture)
    for arm in arms.values():
        _follow(arm, air)
    return list(arms.values())


def _shows_no_trap(fixture: Fixture) -> bool:
    """Whether nothing tells that its drain passes a trap that is not drawn."""
    if fixture.kind in NO_RIM or fixture.gives_condensate:
        return True
    return fixture.known_kind is None and fixture.element.properties.flag("integral_trap") is None


def past(arm: TrapArm, start: int, air: Air) -> TrapArm:
    """The arm as it were if its trap stood farther down its drain, at an element of that."""
    lower = TrapArm(arm.piping, start, arm.fixtures, arm.trap)
    _follow(lower, air)
    return lower


def _follow(arm: TrapArm, air: Air) -> None:
    """Walk from the trap to the first air."""
    piping, fall = arm.piping, _Fall(arm)
    down = piping.drainage.down
    path: list[int] = []
    joined: list[int] = []
    came = arm.start
    if came in air.joints and not arm.integral and arm.trap is not None:
        arm.meets, arm.joint = Meets.VENT, air.joints[came][0]
    while arm.meets is Meets.NOTHING and down[came] != NONE:
        index = down[came]
        path.append(index)
        others = [i for i in piping.wet_above[index] if i != came]
        if index in air.joints:
            arm.meets, arm.joint = Meets.VENT, air.joints[index][0]
        elif any(air.at[i] != NONE for i in others):
            arm.meets, arm.air_from = Meets.WET_DRAIN, air.at[index]
        elif fall.turns_down(index):
            arm.meets, arm.turned_down = Meets.DROP, fall.fell_from
            del path[path.index(fall.fell_from) :]
        else:
            joined += others
        if len(joined) > FEW or piping.elements[index].role is Role.CHAMBER:
            break
        came = index
    arm.path, arm.joined_by = tuple(path), tuple(joined)
    arm.points = piping.path(arm.path, piping.exit(arm.start))
    if arm.joint is not None and (not path or piping.is_pipe(path[-1])):
        arm.points.append(arm.joint.point)
    if arm.meets is Meets.DROP and path and piping.is_pipe(path[-1]):
        arm.points.append(piping.exit(path[-1]))


class _Fall:
    """Tells when an arm falls by more than its size, in vertical pipe, before any vent.

    The drain of an integral trap may fall at first: its fixture is meant to siphon, but for floor
    drains. So may the tailpiece above a trap that is not modelled. Neither falls a whole storey:
    that is a stack.
    """

    def __init__(self, arm: TrapArm) -> None:
        self._piping = arm.piping
        siphons = arm.integral and arm.fixture.kind not in IN_FLOORS
        self._may_fall_first = arm.trap is None or siphons
        self._level_m = 0.0
        self._fallen_m = 0.0
        self.fell_from = NONE

    def turns_down(self, index: int) -> bool:
        piping = self._piping
        if piping.is_horizontal(index):
            self._level_m += or_zero(length_of(list(piping.ends(index))))
            self._fallen_m, self.fell_from = 0.0, NONE
        if not piping.is_vertical(index):
            return False
        heights = [p[2] for p in piping.ends(index)]
        self._fallen_m += max(heights) - min(heights)
        self.fell_from = index if self.fell_from == NONE else self.fell_from
        if self._may_fall_first and at_most(self._level_m, LEVEL_BEFORE_DROP_M, "m"):
            return at_least(self._fallen_m, STOREY_HEIGHT_M, "m")
        size_m = (piping.elements[index].size_in or 1.0) * M_PER_IN
        return not at_most(self._fallen_m, size_m, "m")
