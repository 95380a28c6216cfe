"""What every vent lets breathe: fixture units, drain sizes, lengths; worked out once a review."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import dist

from ifclint.engineering.wording import number_text
from ifclint.findings import Step
from ifclint.packs import Context, derived
from ifclint.plumbing import Fixture, Stack, VentJoint, VentSegment, VentTree
from ifclint.plumbing.drainage.loads import CLOSET, loads
from ifclint.rules.venting.wording import vent_steps


@dataclass
class Airflow:
    """By vent element: what the joints that breathe through it give."""

    stack_of: dict[VentJoint, Stack] = field(default_factory=dict)  # whose stack vent it is
    dfu_of: dict[VentJoint, float] = field(default_factory=dict)
    fixtures_of: dict[VentJoint, list[Fixture]] = field(default_factory=dict)
    drain_in: dict[VentJoint, float] = field(default_factory=dict)  # size laid
    dfu: dict[int, float] = field(default_factory=dict)
    largest_drain_in: dict[int, float] = field(default_factory=dict)
    asked_drain_in: dict[int, float] = field(default_factory=dict)  # size the code asks for
    closets: dict[int, float] = field(default_factory=dict)
    level_m: dict[int, float] = field(default_factory=dict)  # horizontal part of the longest path
    branch_m: dict[int, float] = field(default_factory=dict)  # longest path to the main vent
    main: dict[int, VentJoint] = field(default_factory=dict)  # elements of a stack vent, whose
    from_joint: dict[int, VentJoint] = field(default_factory=dict)  # the farthest

    def of(self, pipe: VentSegment, what: dict[int, float]) -> float:
        return max((what[i] for i in pipe.segment.indexes if i in what), default=0.0)

    def joint_of(self, pipe: VentSegment) -> VentJoint | None:
        return next(
            (self.from_joint[i] for i in pipe.segment.indexes if i in self.from_joint), None
        )

    def stack_joint(self, pipe: VentSegment) -> VentJoint | None:
        """The joint with the stack whose stack vent the pipe is part of."""
        return next((self.main[i] for i in pipe.segment.indexes if i in self.main), None)


@derived
def airflow(context: Context) -> Airflow:
    """Gather what the joints give along the path to the open air, tree by tree."""
    air = Airflow()
    _find_stacks(air, context)
    _give(air, context)
    for tree in context.plumbing.venting.trees:
        _gather(air, tree, context)
    return air


def _find_stacks(air: Airflow, context: Context) -> None:
    """The joints at the tops of stacks."""
    tops = {stack.segments[0].indexes[0]: stack for stack in context.plumbing.stacks}
    for drain, joints in context.plumbing.venting.air.joints.items():
        below = _pipe_at(drain, context)
        if below in tops:
            air.stack_of.update(dict.fromkeys(joints, tops[below]))


def _pipe_at(index: int, context: Context) -> int:
    """The pipe through which a drain goes on from an element, -1 where there is none."""
    piping = context.plumbing.venting.piping
    while index >= 0 and not piping.is_pipe(index):
        index = piping.drainage.down[index]
    return index


def _give(air: Airflow, context: Context) -> None:
    made, venting = loads(context), context.plumbing.venting
    for group in venting.groups:
        air.fixtures_of.setdefault(group.joint, []).extend(
            f for arm in group.arms for f in arm.fixtures
        )
    for tree in venting.trees:
        for joint in tree.joints:
            mine = sum(made.gives[f] for f in air.fixtures_of.get(joint, []))
            stack = air.stack_of.get(joint)
            air.dfu_of[joint] = max(mine, made.carried[stack.base] if stack else 0.0)
            pipe = _pipe_at(joint.drain, context)
            size = context.plumbing.network.elements[pipe].size_in if pipe >= 0 else None
            if size is not None:
                air.drain_in[joint] = size


def _gather(air: Airflow, tree: VentTree, context: Context) -> None:
    def largest(values: dict[VentJoint, float]) -> dict[int, float]:
        return tree.gather(values, max)

    joints = tree.joints
    air.dfu.update(tree.gather({j: air.dfu_of[j] for j in joints}, lambda a, b: a + b))
    air.largest_drain_in.update(largest({j: air.drain_in[j] for j in joints if j in air.drain_in}))
    asked = {j: size for j in joints if (size := _asked_drain(air, j, context)) is not None}
    air.asked_drain_in.update(largest(asked))
    air.closets.update(largest({j: _closets(air, j) for j in joints}))
    for joint in joints:
        if joint in air.stack_of:
            for index in tree.path_out(joint):
                air.main.setdefault(index, joint)
    air.level_m.update(largest({j: _level_m(j, context) for j in joints}))
    air.branch_m.update(largest({j: _branch_m(air, j) for j in joints}))
    for joint in sorted(joints, key=lambda j: -(j.to_air_m or 0.0)):
        for index in tree.path_out(joint):
            if index in air.from_joint:
                break
            air.from_joint[index] = joint


def _asked_drain(air: Airflow, joint: VentJoint, context: Context) -> float | None:
    """The drain size the code asks of the fixtures at a joint: of their traps, 3 in for closets."""
    sizes = []
    for fixture in air.fixtures_of.get(joint, []):
        units = loads(context).units[fixture]
        if fixture.kind == CLOSET:
            sizes.append(context.code.limit("water_closet_drain_in").value)
        elif units is not None and units.trap_in is not None:
            sizes.append(units.trap_in)
    return max(sizes, default=None)


def _closets(air: Airflow, joint: VentJoint) -> float:
    return float(sum(f.kind == CLOSET for f in air.fixtures_of.get(joint, [])))


def _level_m(joint: VentJoint, context: Context) -> float:
    piping = context.plumbing.venting.piping
    level = [piping.ends(i) for i in joint.tree.path_out(joint) if piping.is_horizontal(i)]
    return sum(dist(ends[0][:2], ends[-1][:2]) for ends in level)


def _branch_m(air: Airflow, joint: VentJoint) -> float:
    """From a joint to where its vent comes to a stack vent, else to the open air."""
    if joint.to_air_m is None:
        return 0.0
    for index in joint.tree.path_out(joint):
        if index in air.main and joint not in air.stack_of:
            return max(0.0, joint.to_air_m - joint.tree.to_air_m.get(index, 0.0))
    return joint.to_air_m


def load_steps(pipe: VentSegment, context: Context) -> tuple[Step, ...]:
    """What breathes through a vent, and how its load adds up."""
    air = airflow(context)
    inside = set(pipe.segment.indexes)
    steps = []
    for joint in pipe.tree.joints:
        if air.dfu_of[joint] and inside & set(pipe.tree.path_out(joint)):
            stack = air.stack_of.get(joint)
            names = ", ".join(f.label for f in air.fixtures_of.get(joint, []))
            steps.append(Step(stack.label if stack else names, air.dfu_of[joint], "DFU"))
    if len(steps) > 10:
        rest = sum(s.value or 0.0 for s in steps[9:])
        steps = [*steps[:9], Step(f"{number_text(len(steps) - 9)} more", rest, "DFU")]
    return (*steps, Step("Load on the vent", air.of(pipe, air.dfu), "DFU"))


def air_steps(pipe: VentSegment, context: Context) -> tuple[Step, ...]:
    """The path of the air, from the farthest drain the vent serves."""
    joint = airflow(context).joint_of(pipe)
    return vent_steps(joint) if joint is not None else ()
