"""What every vent lets breathe: fixture units, drain sizes, lengths; worked out once a review."""

from dataclasses import dataclass, field
from functools import partial
from itertools import pairwise, takewhile
from math import dist

from ifclint.engineering.arithmetic import largest, not_below_zero, or_zero
from ifclint.engineering.extents import level_m, lies_flat
from ifclint.engineering.joined import NONE, by_steps, onward
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.wording import number_text
from ifclint.findings import Step
from ifclint.packs import Context, derived
from ifclint.plumbing import Fixture, Method, Stack, VentJoint, VentSegment, VentTree
from ifclint.plumbing.drainage.loads import CLOSET, loads
from ifclint.plumbing.drainage.piping import Piping
from ifclint.plumbing.drainage.pumped import PUMPED
from ifclint.rules.venting.code_tables import branch_size_in
from ifclint.rules.venting.groups import passing_dfu
from ifclint.rules.venting.main_vents import main_vents, pipe_at
from ifclint.rules.venting.wording import vent_steps


@dataclass
class Airflow:
    """By vent element: what the joints that breathe through it give."""

    dfu_of: dict[VentJoint, float] = field(default_factory=dict)
    fixtures_of: dict[VentJoint, list[Fixture]] = field(default_factory=dict)
    drain_in: dict[VentJoint, float] = field(default_factory=dict)  # size laid
    branch_in: dict[VentJoint, float] = field(default_factory=dict)  # asked of a circuit's branch
    dfu: dict[int, float] = field(default_factory=dict)
    largest_drain_in: dict[int, float] = field(default_factory=dict)
    asked_drain_in: dict[int, float] = field(default_factory=dict)  # size the code asks for
    closets: dict[int, float] = field(default_factory=dict)
    six_units: dict[int, float] = field(default_factory=dict)  # 1 for other traps of that load
    unstated: dict[int, float] = field(default_factory=dict)  # how many loads are not known
    unstated_fixtures: dict[int, float] = field(default_factory=dict)  # the same of arms alone
    length_m: dict[int, float] = field(default_factory=dict)  # longest path, of pipe no larger
    level_m: dict[int, float] = field(default_factory=dict)  # most of a path level, no larger
    branch_m: dict[int, float] = field(default_factory=dict)  # longest path to the main vent
    main: dict[int, VentJoint] = field(default_factory=dict)  # elements of main vents, whose
    stacks: set[int] = field(default_factory=set)  # these, and of vent stacks not asked for
    joints: dict[int, float] = field(default_factory=dict)  # how many breathe through it
    from_joint: dict[int, VentJoint] = field(default_factory=dict)  # the farthest

    def of(self, pipe: VentSegment, what: dict[int, float]) -> float:
        return largest(what[i] for i in pipe.segment.indexes if i in what)

    def joint_of(self, pipe: VentSegment) -> VentJoint | None:
        return next(
            (self.from_joint[i] for i in pipe.segment.indexes if i in self.from_joint), None
        )

    def main_joint(self, pipe: VentSegment) -> VentJoint | None:
        """The joint with the stack whose stack vent or vent stack the pipe is part of."""
        return next((self.main[i] for i in pipe.segment.indexes if i in self.main), None)


@derived
def airflow(context: Context) -> Airflow:
    """Gather what the joints give along the path to the open air, tree by tree."""
    air = Airflow()
    _give(air, context)
    for tree in context.plumbing.venting.trees:
        _gather(air, tree, context)
    return air


def _give(air: Airflow, context: Context) -> None:
    venting = context.plumbing.venting
    for group in venting.groups:
        air.fixtures_of.setdefault(group.joint, []).extend(
            f for arm in group.arms for f in arm.fixtures
        )
    if context.code.family == "upc":
        _give_sumps(air, context)
    else:
        _give_branches(air, context)
    for tree in venting.trees:
        for joint in tree.joints:
            air.dfu_of[joint] = load_of(_breathing(air, joint, context), context)
            pipe = pipe_at(joint.drain, context)
            size = context.plumbing.network.elements[pipe].size_in if pipe != NONE else None
            if size is not None:
                air.drain_in[joint] = size


def _give_sumps(air: Airflow, context: Context) -> None:
    """UPC: what drains into a sump is the load of its vent (710.10)."""
    joints = context.plumbing.venting.air.joints
    for drain in context.plumbing.building_drains:
        if drain.outlet.kind == PUMPED:
            for joint in joints.get(drain.outlet.element, []):
                air.fixtures_of.setdefault(joint, []).extend(drain.fixtures)


def _give_branches(air: Airflow, context: Context) -> None:
    """IPC: the drain that a circuit vent and its relief vents serve is the whole branch (906.2)."""
    joints = context.plumbing.venting.air.joints
    for group in context.plumbing.venting.groups:
        if group.method is not Method.CIRCUIT or not group.path:
            continue
        piping, last = group.piping, group.path[-1]
        path = onward(last, piping.drainage.down)
        below = list(takewhile(partial(_lies, piping), path))
        drops = piping.drainage.down[below[-1]] != NONE if below else False
        size_in = branch_size_in(passing_dfu(context)[last], drops, context)
        if any(f.kind == CLOSET for f in group.fixtures):
            size_in = max(size_in, context.code.limit("water_closet_drain_in").value)
        relief = [j for i in below for j in joints.get(i, []) if j not in air.fixtures_of]
        for joint in (group.joint, *(relief if drops else ())):
            air.branch_in[joint] = max(size_in, air.branch_in.get(joint, 0.0))


def _lies(piping: Piping, index: int) -> bool:
    return not piping.is_vertical(index)


def _breathing(air: Airflow, joint: VentJoint, context: Context) -> frozenset[Fixture | Stack]:
    """What breathes through a joint: its fixtures; at a stack the stack, with all it takes."""
    stack = main_vents(context).stack_of(joint)
    mine = frozenset(air.fixtures_of.get(joint, ()))
    return mine if stack is None else mine | {stack, *takes(context)[stack]}


def upstream(index: int, context: Context) -> set[int]:
    """All that drains through an element."""
    return set(by_steps([index], context.plumbing.venting.piping.wet_above.__getitem__))


@derived
def takes(context: Context) -> dict[Stack, frozenset[Fixture]]:
    """All fixtures that drain into each stack."""
    by_index = {fixture.index: fixture for fixture in context.plumbing.fixtures}
    return {
        stack: frozenset(
            by_index[i] for i in upstream(stack.base.indexes[-1], context) if i in by_index
        )
        for stack in context.plumbing.stacks
    }


def load_of(breathing: frozenset[Fixture | Stack], context: Context) -> float:
    """The units of fixtures, each once, and what their stacks carry more or less than these."""
    made, taken = loads(context), takes(context)
    given = sum(made.gives[f] for f in breathing if isinstance(f, Fixture))
    stacks = [s for s in breathing if isinstance(s, Stack)]
    lowest = [s for s in stacks if not any(taken[s] < taken[o] or s in o.upper for o in stacks)]
    return given + sum(made.carried[s.base] - sum(made.gives[f] for f in taken[s]) for s in lowest)


def _unstated(breathing: frozenset[Fixture | Stack], context: Context) -> float:
    """How many of those that breathe have no known load; of a stack, what it takes."""
    made, stacks = loads(context), [b for b in breathing if isinstance(b, Stack)]
    fixtures = sum(f in made.unstated for f in breathing if isinstance(f, Fixture))
    return max(float(fixtures), *(made.unknown[s.base] for s in stacks), 0.0)


def _gather(air: Airflow, tree: VentTree, context: Context) -> None:
    def most_at(values: dict[VentJoint, float]) -> dict[int, float]:
        return tree.gather(values, max)

    joints, main = tree.joints, main_vents(context)
    breathing = tree.gather({j: _breathing(air, j, context) for j in joints}, frozenset.union)
    air.joints.update(tree.gather(dict.fromkeys(joints, 1.0), lambda a, b: a + b))
    loads_of = {those: load_of(those, context) for those in set(breathing.values())}
    unstated_of = {those: _unstated(those, context) for those in loads_of}
    air.dfu.update((index, loads_of[those]) for index, those in breathing.items())
    air.unstated.update((index, unstated_of[those]) for index, those in breathing.items())
    air.largest_drain_in.update(most_at({j: air.drain_in[j] for j in joints if j in air.drain_in}))
    asked = {j: size for j in joints if (size := _asked_drain(air, j, context)) is not None}
    air.asked_drain_in.update(most_at(asked))
    air.closets.update(most_at({j: _closets(air, j) for j in joints}))
    air.six_units.update(most_at({j: _six_units(air, j, context) for j in joints}))
    unstated = {j: _unstated(frozenset(air.fixtures_of.get(j, ())), context) for j in joints}
    air.unstated_fixtures.update(most_at(unstated))
    for joint in sorted(joints, key=lambda j: -or_zero(j.to_air_m)):  # a header by the farthest
        if main.stack_of(joint) is not None:
            for index in tree.path_out(joint):
                air.main.setdefault(index, joint)
    air.stacks.update(air.main, *(tree.path_out(j) for j in joints if j in main.not_asked))
    if context.code.family == "upc":
        _gather_lengths(air, tree)
    air.branch_m.update(most_at({j: _branch_m(air, j, context) for j in joints}))
    for joint in sorted(joints, key=lambda j: -or_zero(j.to_air_m)):
        for index in tree.path_out(joint):
            if index in air.from_joint:
                break
            air.from_joint[index] = joint


def _gather_lengths(air: Airflow, tree: VentTree) -> None:
    """UPC: how long the path to the open air is in pipe no larger, and how much of it is level."""
    for size_in, indexes in _by_size(tree).items():
        level = tree.gather({j: _level_m(j, size_in) for j in tree.joints}, max)
        lengths = {j: m for j in tree.joints if (m := _length_m(j, size_in)) is not None}
        length = tree.gather(lengths, max)
        air.level_m.update((i, level[i]) for i in indexes if i in level)
        air.length_m.update((i, length[i]) for i in indexes if i in length)


def _asked_drain(air: Airflow, joint: VentJoint, context: Context) -> float | None:
    """The drain size the code asks at a joint: of the traps of fixtures, 3 in for closets, at a
    stack of all that it takes; and of the branch of a circuit vent."""
    sizes = [air.branch_in[joint]] if joint in air.branch_in else []
    for fixture in (f for f in _breathing(air, joint, context) if isinstance(f, Fixture)):
        units = loads(context).units[fixture]
        if fixture.kind == CLOSET:
            sizes.append(context.code.limit("water_closet_drain_in").value)
        elif units is not None and units.trap_in is not None:
            sizes.append(units.trap_in)
    return max(sizes, default=None)


def _closets(air: Airflow, joint: VentJoint) -> float:
    """1 where it takes a closet."""
    return float(any(f.kind == CLOSET for f in air.fixtures_of.get(joint, [])))


def _six_units(air: Airflow, joint: VentJoint, context: Context) -> float:
    """1 where a trap other than a closet's loads the drain as a six-unit trap of the code."""
    least = context.code.limit_or_none("six_unit_trap_dfu")
    others = (f for f in air.fixtures_of.get(joint, []) if f.kind != CLOSET)
    given = (loads(context).gives[f] for f in others)
    return float(least is not None and any(at_least(dfu, least.value) for dfu in given))


def _by_size(tree: VentTree) -> dict[float, list[int]]:
    """The pieces of a vent by their size, where it is known."""
    found = dict[float, list[int]]()
    for index in tree.to_air_m:
        if (size_in := tree.piping.elements[index].size_in) is not None:
            found.setdefault(size_in, []).append(index)
    return found


def _level_m(joint: VentJoint, size_in: float) -> float:
    """How much of the way from a joint to the open air is horizontal, in pieces no larger than a
    size (or of unknown size), along the centreline."""
    elements, points = joint.tree.piping.elements, joint.tree.points_out(joint)
    total_m = 0.0
    for number, index in enumerate(joint.tree.path_out(joint)):
        if at_most(elements[index].size_in or size_in, size_in, "in"):
            known = [p for p in points[2 * number : 2 * number + 3] if p is not None]
            total_m += sum(level_m(a, b) for a, b in pairwise(known) if lies_flat(a, b))
    return total_m


def _length_m(joint: VentJoint, size_in: float) -> float | None:
    """The developed length from a joint to the open air, less what is larger than a size."""
    if joint.to_air_m is None:
        return None
    elements, points = joint.tree.piping.elements, joint.tree.points_out(joint)
    larger_m = 0.0
    for number, index in enumerate(joint.tree.path_out(joint)):
        own_in = elements[index].size_in
        if own_in is not None and not at_most(own_in, size_in, "in"):
            known = [p for p in points[2 * number : 2 * number + 3] if p is not None]
            larger_m += sum(dist(a, b) for a, b in pairwise(known))
    return not_below_zero(joint.to_air_m - larger_m)


def _branch_m(air: Airflow, joint: VentJoint, context: Context) -> float:
    """From a joint to where its vent comes to a stack vent or vent stack, else to the open air."""
    if joint.to_air_m is None:
        return 0.0
    main = main_vents(context)
    is_main = main.stack_of(joint) is not None or joint in main.not_asked
    for index in joint.tree.path_out(joint):
        if index in air.stacks and not is_main:
            return not_below_zero(joint.to_air_m - joint.tree.to_air_m.get(index, 0.0))
    return joint.to_air_m


def load_steps(pipe: VentSegment, context: Context) -> tuple[Step, ...]:
    """What breathes through a vent, stacks first, and how its load adds up: each drain once."""
    air, main = airflow(context), main_vents(context)
    through = _through(pipe)
    counted: frozenset[Fixture | Stack] = frozenset()
    steps = []
    for joint in sorted(through, key=lambda j: main.stack_of(j) is None):
        before, stack = load_of(counted, context), main.stack_of(joint)
        names = ", ".join(f.label for f in air.fixtures_of.get(joint, []) if f not in counted)
        counted |= _breathing(air, joint, context)
        if added := load_of(counted, context) - before:
            steps.append(Step(stack.label if stack else names, added, "DFU"))
    if len(steps) > 10:
        rest = sum(or_zero(s.value) for s in steps[9:])
        steps = [*steps[:9], Step(f"{number_text(len(steps) - 9)} more", rest, "DFU")]
    return (*steps, Step("Load on the vent", air.of(pipe, air.dfu), "DFU"))


def _through(pipe: VentSegment) -> list[VentJoint]:
    """Where the drains that breathe through a vent meet it, or what leads to it."""
    inside = set(pipe.segment.indexes)
    return [j for j in pipe.tree.joints if inside & set(pipe.tree.path_out(j))]


def only_breather(pipe: VentSegment, context: Context) -> Fixture | None:
    """The fixture that breathes through a vent, where nothing else does."""
    air, main = airflow(context), main_vents(context)
    joints = _through(pipe)
    breathing = {f for j in joints for f in air.fixtures_of.get(j, [])}
    alone = len(breathing) == 1 and all(main.stack_of(j) is None for j in joints)
    return breathing.pop() if alone else None


def air_steps(pipe: VentSegment, context: Context) -> tuple[Step, ...]:
    """The path of the air, from the farthest drain the vent serves."""
    joint = airflow(context).joint_of(pipe)
    return vent_steps(joint) if joint is not None else ()
