"""The vents of stacks: the stack vent at the top, and the vent stack that joins its foot."""

from dataclasses import dataclass, field

from ifclint.codes import Limit
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.joined import NONE, onward
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import M_PER_IN
from ifclint.packs import Context, derived
from ifclint.plumbing import Stack, VentJoint

BASE_DIAMETERS = 10.0  # below its base, where the code sets none: as IPC 904.4 has it
FLOOR_M = 0.3  # a stack that ends so near to a floor rises through the next storey. Ours, no source
USUAL_STACK_IN = 4.0  # where the model does not show the size of a stack. Ours, no source


@dataclass
class MainVents:
    """Which joints are those of stack vents and of vent stacks, and with which stack."""

    tops: dict[VentJoint, Stack] = field(default_factory=dict)
    bases: dict[VentJoint, Stack] = field(default_factory=dict)
    not_asked: dict[VentJoint, Stack] = field(default_factory=dict)  # at feet of lower stacks

    def stack_of(self, joint: VentJoint) -> Stack | None:
        return self.tops.get(joint) or self.bases.get(joint)


@derived
def main_vents(context: Context) -> MainVents:
    """Joints at the tops of stacks; and, at the feet of those that are tall through all their
    offsets, joints that no trap meets; such joints at the feet of others, whose vent stack the code
    does not ask for."""
    found, venting = MainVents(), context.plumbing.venting
    tops = {stack.segments[0].indexes[0]: stack for stack in context.plumbing.stacks}
    for drain, joints in venting.air.joints.items():
        below = pipe_at(drain, context)
        if below in tops:
            found.tops.update(dict.fromkeys(joints, tops[below]))
    of_traps = {group.joint for group in venting.groups}
    for stack in context.plumbing.stacks:
        bases = found.bases if is_tall(stack, context) else found.not_asked
        for joint in _below_lowest_branch(stack, context):
            if joint not in found.tops and joint not in of_traps:
                bases.setdefault(joint, stack)
    return found


def pipe_at(index: int, context: Context) -> int:
    """The pipe through which a drain goes on from an element, -1 where there is none."""
    piping = context.plumbing.venting.piping
    while index != NONE and not piping.is_pipe(index):
        index = piping.drainage.down[index]
    return index


def base_vents(stack: Stack, context: Context) -> list[VentJoint]:
    """Vents that join the stack at or below its lowest branch, or the drain just below its base."""
    tops = main_vents(context).tops
    return [joint for joint in _below_lowest_branch(stack, context) if joint not in tops]


def vents_along(stack: Stack, context: Context) -> list[VentJoint]:
    """Vents that join the stack between its top and its lowest branch."""
    tops, joints = main_vents(context).tops, context.plumbing.venting.air.joints
    inside = {i for s in stack.segments for i in (*s.indexes, *s.between, *s.tail)}
    found = [j for index in inside for j in joints.get(index, []) if j not in tops]
    foot = _below_lowest_branch(stack, context)
    return [joint for joint in found if joint not in foot]


def _below_lowest_branch(stack: Stack, context: Context) -> list[VentJoint]:
    venting, reach_m = context.plumbing.venting, _reach_m(stack, context)
    piping, down = venting.piping, venting.piping.drainage.down
    is_past_base = False
    found: list[VentJoint] = []
    for index in onward(_lowest_branch(stack, context), down):
        is_past_base = is_past_base or index == stack.foot
        past_m = piping.developed_m(stack.foot, index) if is_past_base else 0.0
        if not at_most(or_zero(past_m), reach_m, "m"):
            break
        found += venting.air.joints.get(index, [])
    return found


def _reach_m(stack: Stack, context: Context) -> float:
    """How far downstream of its base a vent still serves a stack."""
    set_by_code = context.code.limit_or_none("vent_stack_base_diameters")
    diameters = BASE_DIAMETERS if set_by_code is None else set_by_code.value
    size_in = USUAL_STACK_IN if stack.size_in is None else stack.size_in
    return diameters * size_in * M_PER_IN


def _lowest_branch(stack: Stack, context: Context) -> int:
    """The fitting at which the lowest branch joins, or the first element of the stack."""
    wet_above, index = context.plumbing.venting.piping.wet_above, stack.base.indexes[-1]
    while len(wet_above[index]) == 1:
        index = wet_above[index][0]
    return index


@dataclass(frozen=True, slots=True)
class Height:
    """How tall a stack is, in what the code counts, and from where a vent stack is asked."""

    count: float
    tall: Limit


def height_of(stack: Stack, context: Context) -> Height | None:
    """UPC: storeys; IPC: branch intervals; None where the code counts neither."""
    storeys = context.code.limit_or_none("vent_stack_storeys")
    if storeys is not None:
        return Height(_storeys(stack, context), storeys)
    intervals = context.code.limit_or_none("vent_stack_intervals")
    return Height(float(len(stack.intervals)), intervals) if intervals is not None else None


def _storeys(stack: Stack, context: Context) -> float:
    """How many storeys the stack rises through above its base."""
    return _storeys_to(stack, stack, context)


def _storeys_to(upper: Stack, lower: Stack, context: Context) -> float:
    """How many storeys there are from the base of one stack to the top of another."""
    elevations = [f.level_m for f in context.plumbing.surroundings.floors.likely]
    top, foot = upper.segments[0].pipes[0].up, lower.base.pipes[-1].down
    if top is None or foot is None or not elevations:
        return float(lower.interval_count)
    return float(sum(foot[2] - FLOOR_M <= z <= top[2] + FLOOR_M for z in elevations))


def is_tall(stack: Stack, context: Context) -> bool:
    """Whether what stands on its base is tall, through all its offsets."""
    storeys = context.code.limit_or_none("vent_stack_storeys")
    if storeys is not None:
        tops = _with_upper(stack)
        return any(at_least(_storeys_to(s, stack, context), storeys.value) for s in tops)
    intervals = context.code.limit_or_none("vent_stack_intervals")
    return intervals is not None and at_least(stack.interval_count, intervals.value)


def _with_upper(stack: Stack) -> list[Stack]:
    return [stack, *(above for upper in stack.upper for above in _with_upper(upper))]
