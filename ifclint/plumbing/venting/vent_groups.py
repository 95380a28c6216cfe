"""How every trap is vented: the method, in trade words, and the pipes it rests on."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from itertools import takewhile
from math import dist

from ifclint.engineering.joined import NONE, onward
from ifclint.engineering.tolerance import at_most
from ifclint.ifc.elements import Element, Location
from ifclint.plumbing.drainage.fixtures import Fixture
from ifclint.plumbing.drainage.orientation import STOREY_HEIGHT_M
from ifclint.plumbing.drainage.piping import Piping
from ifclint.plumbing.drainage.stacks import Stack
from ifclint.plumbing.flow.subject import place_of
from ifclint.plumbing.venting.islands import island_return
from ifclint.plumbing.venting.trap_arms import BATHROOM, Air, Meets, Method, TrapArm
from ifclint.plumbing.venting.vents import VentJoint

DRAIN_AND_VENT = frozenset(
    {Method.VERTICAL_WET, Method.HORIZONTAL_WET, Method.CIRCUIT, Method.WASTE_STACK}
)
BETWEEN = 3.0  # vented fixtures that may join a wet vent before its last fixture. Ours, no source
PAIR = 2  # fixtures that one common vent serves
ADJACENT_M = 3.0  # so near fixtures make one battery, whatever joins between. Ours, no source


@dataclass(eq=False)
class VentGroup:
    """Traps that breathe through one dry vent, and how.

    `own` meet the vent themselves; `wet` breathe through the drain below it, upstream first.
    `path` are the wet elements from the vent's joint to the last trap arm that breathes so.
    """

    piping: Piping
    joint: VentJoint
    method: Method
    own: list[TrapArm] = field(default_factory=list)
    wet: list[TrapArm] = field(default_factory=list)
    path: tuple[int, ...] = ()
    returns_at: VentJoint | None = None  # of an island vent
    apart: list[TrapArm] = field(default_factory=list)  # of `wet`: no battery with the others

    @property
    def arms(self) -> list[TrapArm]:
        return [*self.own, *self.wet]

    @property
    def fixtures(self) -> list[Fixture]:
        return [arm.fixture for arm in self.arms]

    @property
    def height_m(self) -> float:
        """From the highest to the lowest of what joins it."""
        heights = [p[2] for arm in self.arms if arm.points and (p := arm.points[-1]) is not None]
        return max(heights) - min(heights) if heights else 0.0

    @property
    def drain(self) -> Element:
        """The element at which the vent meets the drain."""
        return self.piping.elements[self.joint.drain]

    @property
    def vent(self) -> Element:
        return self.piping.elements[self.joint.vent]

    @property
    def key(self) -> str:
        return f"{self.method}|{self.joint.key}"

    @property
    def label(self) -> str:
        """Named by the first pipe that is drain and vent, where there is one, else by the vent."""
        wet = (self.piping.elements[i] for i in self.path if self.piping.is_pipe(i))
        is_wet = self.method in DRAIN_AND_VENT or bool(self.wet)
        named = next(wet, self.vent) if is_wet else self.vent
        return f'{self.method} "{named.label}"'

    @property
    def system(self) -> str:
        return "vent"

    @property
    def element_ids(self) -> tuple[str, ...]:
        elements = self.piping.elements
        return (self.vent.guid, *(elements[i].guid for i in self.path))

    @property
    def location(self) -> Location:
        return place_of(self.vent, self.joint.point)

    @property
    def floors(self) -> set[float | str]:
        """Those on which its fixtures stand."""
        return {self.piping.floors.level_of(f.element) for f in self.fixtures}

    @property
    def sizes_in(self) -> tuple[float, ...]:
        """Sizes of the wet pipes, None left out."""
        sizes = (self.piping.elements[i].size_in for i in self.path if self.piping.is_pipe(i))
        return tuple(s for s in sizes if s is not None)

    @property
    def wet_size_in(self) -> float | None:
        """The smallest wet pipe; None where a size is not known."""
        pipes = [i for i in self.path if self.piping.is_pipe(i)]
        sizes = self.sizes_in
        return min(sizes) if sizes and len(sizes) == len(pipes) else None

    def ending_at(self, wet: list[TrapArm]) -> VentGroup:
        """The same group if it ended at the last of some of its wet traps."""
        ends = {arm.path[-1] for arm in wet}
        last = max((n for n, index in enumerate(self.path) if index in ends), default=0)
        return replace(self, wet=wet, path=self.path[: last + 1])


def find_groups(
    piping: Piping, arms: list[TrapArm], air: Air, stacks: list[Stack]
) -> list[VentGroup]:
    """The groups in which traps breathe together; each arm is given its method."""
    own: dict[int, list[TrapArm]] = {}
    wet: dict[tuple[int, bool], list[TrapArm]] = {}
    for arm in arms:
        if arm.meets is Meets.VENT and arm.joint is not None:
            own.setdefault(arm.joint.drain, []).append(arm)
        elif arm.meets is Meets.WET_DRAIN:
            past_level = air.past_level[arm.path[-1]]
            wet.setdefault((arm.air_from, past_level), []).append(arm)
    vented = _vented_above(piping, own)
    _without_strangers(vented, own, wet)
    _without_floors_between(piping, arms, own, wet)
    in_stack = {segment: stack for stack in stacks for segment in stack.segments}
    segment_of = {i: segment for segment in in_stack for i in segment.indexes}
    groups = []
    for drain, joints in air.joints.items():
        mine, joint = own.get(drain, []), joints[0]
        upright, level = wet.get((drain, False), []), wet.get((drain, True), [])
        on_stack = piping.drainage.down[drain] in segment_of
        if level and _is_offset_stack(piping, [*mine, *upright], level):
            upright, level = [*upright, *level], []
        if mine and not upright and not level:
            back = island_return(piping, mine, joint, air)
            method = _dry_method(mine, joint, on_stack) if back is None else Method.ISLAND
            groups.append(VentGroup(piping, joint, method, mine, returns_at=back))
            if method is Method.COMMON and _is_battery(groups[-1]):
                groups[-1].method, groups[-1].path = Method.CIRCUIT, (drain,)
        if upright:
            groups += _upright_groups(piping, joint, mine, upright)
        if level:
            groups.append(_wet_group(piping, joint, [] if upright else mine, level, True))
    _in_series(piping, groups, air)
    for group in groups:
        if group.method in (Method.CIRCUIT, Method.HORIZONTAL_WET):
            group.apart = _apart(group, vented)
        for arm in group.arms:
            arm.method = group.method
        if group.method is Method.CIRCUIT:
            for arm in group.own:
                if arm.meets is Meets.VENT:
                    _end_at_branch(arm)
    return groups


def _in_series(piping: Piping, groups: list[VentGroup], air: Air) -> None:
    """Of circuit vents one after another on a branch each serves a group of its own: what comes
    into the branch last above a vent is the most upstream drain of that vent's group."""
    methods = (Method.CIRCUIT, Method.HORIZONTAL_WET)
    level = {group.joint.drain: group for group in groups if group.method in methods}
    for group in level.values():
        sources = {air.at[i] for i in piping.wet_above[group.joint.drain]} - {NONE}
        above = level.get(next(iter(sources))) if len(sources) == 1 else None
        if group.own or above is None or above.method is not Method.CIRCUIT or not above.wet:
            continue
        last = [arm for arm in above.wet if arm.path[-1] == above.wet[-1].path[-1]]
        joined = _wet_group(piping, group.joint, last, group.wet, True)
        if joined.method is Method.CIRCUIT:
            group.own, group.method = last, joined.method
            rest = above.ending_at(above.wet[: -len(last)])
            above.wet, above.path = rest.wet, rest.path
            if not above.wet:
                above.method, above.path = _dry_method(above.own, above.joint, False), ()


def _vented_above(piping: Piping, own: dict[int, list[TrapArm]]) -> list[float]:
    """How many arms with a vent of their own drain through every element."""
    ends = Counter(arm.path[-1] for arms in own.values() for arm in arms if arm.path)
    return piping.drainage.accumulate({index: float(count) for index, count in ends.items()})


def _without_strangers(
    vented: list[float], own: dict[int, list[TrapArm]], wet: dict[tuple[int, bool], list[TrapArm]]
) -> None:
    """Leave out the arms that come to a level drain only after many fixtures that have vents of
    their own, more than breathe there: a drain of vented fixtures is no vent for one that is
    forgotten."""
    for (drain, past_level), arms in wet.items():
        if past_level:
            few = max(BETWEEN, len(arms) + len(own.get(drain, ())))
            arms[:] = [arm for arm in arms if vented[arm.path[-1]] - vented[drain] <= few]


def _apart(group: VentGroup, vented: list[float]) -> list[TrapArm]:
    """The arms that make no battery with the one at the vent: fixtures that have vents of their
    own drain between, and no fixture of the battery is near, as none need be of a bathroom that a
    floor drain is far from. Several together, below a battery of several, go on with it."""
    batteries: list[list[TrapArm]] = [list(group.own)]
    before = vented[group.joint.drain]
    for arm in group.wet:
        between, before = vented[arm.path[-1]] - before, vented[arm.path[-1]]
        strange = group.method is Method.HORIZONTAL_WET and arm.fixture.kind == "floor-drain"
        if (between or strange) and not any(_adjacent(arm, other) for other in batteries[-1]):
            batteries.append([])
        batteries[-1].append(arm)
    first, *others = batteries
    return [arm for other in others if min(len(first), len(other)) < 2 for arm in other]


def _adjacent(one: TrapArm, other: TrapArm) -> bool:
    """Whether two fixtures, alike in kind, stand in one room, or near one another; also where no
    place tells."""
    a, b = one.fixture.element, other.fixture.element
    kinds = {arm.fixture.kind for arm in (one, other)} - {"", "floor-drain"}
    if kinds & BATHROOM and kinds - BATHROOM:
        return False
    places = [arm.piping.middle(arm.fixture.index) or arm.element.position for arm in (one, other)]
    if (a.space and a.space == b.space) or places[0] is None or places[1] is None:
        return True
    return at_most(dist(places[0][:2], places[1][:2]), ADJACENT_M, "m")


def _without_floors_between(
    piping: Piping,
    arms: list[TrapArm],
    own: dict[int, list[TrapArm]],
    wet: dict[tuple[int, bool], list[TrapArm]],
) -> None:
    """Leave out the arms that come to a stack below the drains of a floor none of whose fixtures
    breathes there: what falls down a stack of vented floors is no vent for one forgotten below."""
    starts: dict[float | str, dict[int, float]] = {}
    for arm in arms:
        starts.setdefault(_floor_of(arm), {})[arm.start] = 1.0
    if len(starts) < 2:
        return
    through = {floor: piping.drainage.accumulate(at) for floor, at in starts.items()}
    for (drain, past_level), below in wet.items():
        if past_level or not below:
            continue
        here = {_floor_of(arm) for arm in (*below, *own.get(drain, ()))}
        passing = [flow for floor, flow in through.items() if floor not in here]
        stack = [i for i in piping.wet_above[drain] if piping.is_vertical(i)]
        from_above = [sum(flow[i] for i in stack) for flow in passing]
        below[:] = [
            arm
            for arm in below
            if all(f[arm.path[-1]] <= f0 for f, f0 in zip(passing, from_above, strict=True))
        ]


def _floor_of(arm: TrapArm) -> float | str:
    return arm.piping.floors.level_of(arm.fixture.element)


def _end_at_branch(arm: TrapArm) -> None:
    """The arm of the fixture above a circuit vent ends where it comes into the branch, which
    breathes from there on: at the first fitting into which something else leads, a cleanout say."""
    piping, beyond = arm.piping, arm.piping.drainage.beyond
    for n, index in enumerate(arm.path[:-1]):
        if not piping.is_pipe(index) and len(beyond[index]) > 1:
            arm.meets, arm.air_from, arm.joint = Meets.WET_DRAIN, arm.path[-1], None
            arm.end_after(n + 1)
            arm.points = piping.path(arm.path, piping.exit(arm.start))
            return


def _dry_method(own: list[TrapArm], joint: VentJoint, on_stack: bool) -> Method:
    if joint.tree.admittance_only:
        return Method.ADMITTANCE
    if len(own) > 1:
        return Method.COMMON
    return Method.STACK_VENT if on_stack else Method.INDIVIDUAL


def _is_battery(group: VentGroup) -> bool:
    """Whether more fixtures than two, and no bathroom alone, come one after another into a level
    branch before the vent joins it: a circuit vent that joins too late."""
    if len(group.own) <= PAIR or _one_bathroom(group):
        return False
    shared = Counter(index for arm in group.own for index in arm.path)
    return any(n > 1 and group.piping.is_horizontal(index) for index, n in shared.items())


def _wet_group(
    piping: Piping, joint: VentJoint, own: list[TrapArm], wet: list[TrapArm], level: bool
) -> VentGroup:
    """Traps that breathe through the drain below a joint."""
    path = _wet_path(piping, joint.drain, {arm.path[-1] for arm in wet})
    place = {index: n for n, index in enumerate(path)}
    wet = sorted(wet, key=lambda arm: (place.get(arm.path[-1], len(path)), arm.key))
    group = VentGroup(piping, joint, Method.VERTICAL_WET, own, wet, path)
    if level:
        joins_level = any(piping.is_horizontal(i) for i in piping.wet_above[joint.drain])
        goes_level = joins_level and _leaves_level(piping, joint.drain)
        circuit = goes_level and not _one_bathroom(group)
        group.method = Method.CIRCUIT if circuit else Method.HORIZONTAL_WET
    elif not at_most(group.height_m, STOREY_HEIGHT_M, "m") or len(group.floors) > 1:
        group.method = Method.WASTE_STACK
    elif len(group.arms) == 2:
        group.method = Method.COMMON
    return group


def _upright_groups(
    piping: Piping, joint: VentJoint, own: list[TrapArm], wet: list[TrapArm]
) -> list[VentGroup]:
    """Traps that breathe through a vertical drain. Of a stack through several floors those of the
    highest are a group by themselves, where these breathe through it: nothing comes from above."""
    whole = _wet_group(piping, joint, own, wet, False)
    floor = _floor_of(whole.arms[0])
    top = list(takewhile(lambda arm: _floor_of(arm) == floor, whole.wet))
    upper = _wet_group(piping, joint, own, top, False)
    splits = whole.method is Method.WASTE_STACK and upper.method is not Method.WASTE_STACK
    if not splits or not top or len(upper.arms) < PAIR:
        return [whole]
    return [upper, replace(whole, own=[], wet=whole.wet[len(top) :])]


def _leaves_level(piping: Piping, index: int) -> bool:
    """Whether water leaves a fitting, or runs in a pipe that others meet without one, level."""
    pipe = piping.next_pipe(index)
    return pipe != NONE and piping.is_horizontal(pipe)


def _is_offset_stack(piping: Piping, above: list[TrapArm], below: list[TrapArm]) -> bool:
    """Whether fixtures of several floors all come to vertical pipe: what lies level between them is
    an offset of their stack."""
    if not above or any(_leaves_level(piping, arm.path[-1]) for arm in below):
        return False
    return len({_floor_of(arm) for arm in (*above, *below)}) > 1


def _one_bathroom(group: VentGroup) -> bool:
    """Whether no more than a bathroom group breathes here, not a row of fixtures alike: then it is
    taken as a wet vent. One of unknown kind among more that are known may be of it."""
    kinds = Counter(f.kind for f in group.fixtures)
    unknown = kinds.pop("", 0)
    if not kinds or unknown >= len(kinds):
        return False
    return set(kinds) <= BATHROOM and kinds["water-closet"] <= 1 and max(kinds.values()) <= PAIR


def _wet_path(piping: Piping, start: int, ends: set[int]) -> tuple[int, ...]:
    """The elements from a joint down to the last of the ends."""
    path = [*onward(start, piping.drainage.down)]
    last = max((n for n, index in enumerate(path) if index in ends), default=0)
    return tuple(path[: last + 1])
