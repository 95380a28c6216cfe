"""Single stack: one stack so large that its branches breathe through it (IPC 917)."""

from dataclasses import dataclass, replace
from itertools import pairwise
from math import dist, inf

from ifclint.codes import Limit, Row
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_least, at_most, lies_below
from ifclint.engineering.units import M_PER_IN, feet
from ifclint.ifc.elements import Point, Role
from ifclint.packs import Context, derived
from ifclint.plumbing import Method, Stack, TrapArm, VentGroup
from ifclint.plumbing.drainage.loads import CLOSET, loads
from ifclint.plumbing.venting.trap_arms import Meets
from ifclint.rules.venting.airflow import upstream
from ifclint.rules.venting.code_tables import is_for, method_row, next_size_in, rows
from ifclint.rules.venting.combination import S_TRAP_DIAMETERS
from ifclint.rules.venting.groups import groups_at
from ifclint.rules.venting.main_vents import FLOOR_M, base_vents, main_vents

TABLE = "single_stack"
SMALL_STACK_IN = 3.0  # takes few closets
LOW_FLOORS = 2  # of a taller stack take no branches
NEAR_M = 1.0  # of the top of an interval. Ours, no source
DROP_IN = 2.0  # the least size of a drop from a fixture to its branch (917.5), from memory
TEES = frozenset({"sanitary-tee", "double-sanitary-tee", "double-fixture-fitting"})


def on_single_stack(arm: TrapArm, context: Context, beside_vents: bool = False) -> bool:
    """Whether the trap drains, near enough, into a stack that is a single stack.

    A closet within 4 ft, measured level (8 ft where a sanitary tee takes the branch), any other
    fixture within 12 ft, drops in wider pipe left out; no second closet on its branch; and not on
    the lower two floors above the base of a stack of more than two branch intervals. Where traps
    are vented one by one, the one that is not is forgotten; one that breathes loses nothing by the
    vents of others.
    """
    stacks = _able_stacks(context) if arm.breathes and beside_vents else _single_stacks(context)
    if not stacks or not _drops_wide(arm):
        return False
    reached = _level_way(arm, context)
    if reached is None or reached[1] not in stacks:
        return False
    level_m, stack, last = reached
    reach = _reach(arm, last, context)
    return at_most(feet(level_m), reach.value, "ft") and not _is_low(arm, stack, context)


def _reach(arm: TrapArm, last: int, context: Context) -> Limit:
    """How far level a trap may drain to the fitting in which it comes to a single stack."""
    if arm.fixture.kind != CLOSET:
        return context.code.limit("single_stack_fixture_reach_ft")
    reach = context.code.limit("single_stack_closet_reach_ft")
    by_tee = arm.piping.elements[last].kind in TEES
    return replace(reach, value=reach.value * 2) if by_tee else reach


def _drops_wide(arm: TrapArm) -> bool:
    """Where an arm turns down to its branch: not right at the trap, and one size larger."""
    if arm.meets is not Meets.DROP:
        return True
    size, length_m = arm.piping.elements[arm.turned_down].size_in, arm.length_m
    if size is None or arm.size_in is None or length_m is None:
        return False
    near_m = S_TRAP_DIAMETERS * arm.size_in * M_PER_IN
    return length_m > near_m and at_least(size, max(DROP_IN, next_size_in(arm.size_in)), "in")


def are_on_single_stack(group: VentGroup, context: Context, beside_vents: bool = False) -> bool:
    return all(on_single_stack(arm, context, beside_vents) for arm in group.arms)


@derived
def _single_stacks(context: Context) -> set[Stack]:
    """Of the stacks that are able to be single stacks those without vents of their branches."""
    return {stack for stack in _able_stacks(context) if _has_no_other(stack, context)}


def _has_no_other(stack: Stack, context: Context) -> bool:
    """Whether no vent but its own meets what drains through a stack."""
    return _vented_apart(context).isdisjoint(upstream(stack.base.indexes[-1], context))


@derived
def _vented_apart(context: Context) -> set[int]:
    """Where vents meet drains that are not those at the tops of stacks."""
    tops, joints = main_vents(context).tops, context.plumbing.venting.air.joints
    return {d for d, at in joints.items() if any(j not in tops and j.tree.is_vent for j in at)}


@derived
def _able_stacks(context: Context) -> set[Stack]:
    """Stacks that carry no more than the table lets a single stack of their size and height, go
    straight, and go on through the roof in full size."""
    if not rows(context, TABLE):
        return set()
    return {
        stack
        for stack in context.plumbing.stacks
        if _is_whole(stack, context)
        and (row := row_of(stack, context)) is not None
        and at_most(loads(context).carried[stack.base], row.number("max_dfu"))
        and at_most(closets_on(stack, context), most_closets(stack, context).value)
    }


def _is_whole(stack: Stack, context: Context) -> bool:
    """Whether a stack goes straight, in one size, and on through the roof in it."""
    tops = [joint for joint, of in main_vents(context).tops.items() if of is stack]
    vents = [or_zero(joint.tree.piping.elements[joint.vent].size_in) for joint in tops]
    sizes = {segment.size_in for segment in stack.segments}
    if stack.upper or len(sizes) > 1 or stack.size_in is None or not vents:
        return False
    return at_least(max(vents), stack.size_in, "in")


def row_of(stack: Stack, context: Context) -> Row | None:
    """What the table says of single stacks of a size and height."""
    height = feet(stack.height_m)
    listed = context.code.table(TABLE).where(size_in=stack.size_in)
    high = (r for r in listed if at_most(height, r.number_or_none("height_to_ft") or height, "ft"))
    return next(high, None)


def closets_on(stack: Stack, context: Context) -> float:
    return loads(context).closets[stack.base]


def most_closets(stack: Stack, context: Context) -> Limit:
    few = context.code.limit("single_stack_closets_on_3_in")
    small = at_most(or_zero(stack.size_in), SMALL_STACK_IN, "in")
    return few if small else replace(few, value=inf)


@dataclass(frozen=True, slots=True)
class Nearly:
    """A stack that a fixture keeps from being a waste stack vent, and what from a single stack."""

    stack: Stack
    ways: dict[TrapArm, tuple[float, Limit]]  # how far level to it each trap drains, and may
    low: list[TrapArm]  # on the lower floors

    @property
    def far(self) -> list[TrapArm]:
        ways = self.ways.items()
        return [arm for arm, (ft, reach) in ways if not at_most(ft, reach.value, "ft")]


@derived
def nearly_single(context: Context) -> dict[VentGroup, Nearly]:
    """The waste stacks that are single stacks but for what they carry, or how far off or how low
    their traps are; those, too, that lack nothing."""
    row = method_row(context, Method.WASTE_STACK)
    if row is None or not rows(context, TABLE):
        return {}
    found, tops = dict[VentGroup, Nearly](), main_vents(context).tops
    for group in context.plumbing.venting.groups:
        stack = tops.get(group.joint)
        if group.method is not Method.WASTE_STACK or stack is None or base_vents(stack, context):
            continue
        arms = [arm for each in groups_at(group, context) for arm in each.arms]
        fixtures = [arm.fixture for arm in arms]
        if not all(f.kind for f in fixtures) or all(is_for(row, f) for f in fixtures):
            continue
        if not _has_no_other(stack, context):
            continue
        nearly = _nearly(arms, stack, context)
        if nearly is not None and row_of(stack, context) is not None and _is_whole(stack, context):
            found[group] = nearly
    return found


def _nearly(arms: list[TrapArm], stack: Stack, context: Context) -> Nearly | None:
    """None where it is not known how some trap drains there, or it drops on the way."""
    ways = dict[TrapArm, tuple[float, Limit]]()
    for arm in arms:
        reached = _level_way(arm, context)
        if reached is None or reached[1] is not stack or not _drops_wide(arm):
            return None
        ways[arm] = feet(reached[0]), _reach(arm, reached[2], context)
    return Nearly(stack, ways, [arm for arm in ways if _is_low(arm, stack, context)])


@derived
def fully_single(context: Context) -> set[Stack]:
    """The single stacks that lack nothing."""
    found = nearly_single(context).values()
    return {n.stack for n in found if all(on_single_stack(arm, context) for arm in n.ways)}


@derived
def _told_with_stack(context: Context) -> set[TrapArm]:
    return {arm for nearly in nearly_single(context).values() for arm in nearly.ways}


def is_told_with_stack(arm: TrapArm, context: Context) -> bool:
    """Whether what keeps a trap from breathing by a single stack is told once, of the stack."""
    return arm in _told_with_stack(context) and not on_single_stack(arm, context)


def _level_way(arm: TrapArm, context: Context) -> tuple[float, Stack, int] | None:
    """How far level a trap drains to a stack, to which, and in which fitting; None where to none,
    or past another closet."""
    piping, down = arm.piping, arm.piping.drainage.down
    stack_at, closets, path = _stack_at(context), _closets_through(context), []
    came, index = arm.start, down[arm.start]
    while index != NONE and piping.elements[index].role is not Role.CHAMBER:
        path.append(index)
        below = piping.next_pipe(index)
        if below in stack_at:
            level_m = _level_m(piping.path(tuple(path), piping.exit(arm.start)))
            return None if level_m is None else (level_m, stack_at[below], index)
        others = [i for i in piping.wet_above[index] if i != came]
        if arm.fixture.kind == CLOSET and any(closets[i] > 0 for i in others):
            return None
        came, index = index, down[index]
    return None


def _level_m(points: list[Point | None]) -> float | None:
    """How far points lie apart, one after the other, seen from above."""
    known = [p for p in points if p is not None]
    if len(known) < len(points):
        return None
    return sum(dist(a[:2], b[:2]) for a, b in pairwise(known))


@derived
def _stack_at(context: Context) -> dict[int, Stack]:
    return {
        i: stack for stack in context.plumbing.stacks for s in stack.segments for i in s.indexes
    }


@derived
def _closets_through(context: Context) -> list[float]:
    """How many closets drain through every element."""
    closets = (f.index for f in context.plumbing.fixtures if f.kind == CLOSET)
    return context.plumbing.drainage.how_many(closets)


def _is_low(arm: TrapArm, stack: Stack, context: Context) -> bool:
    """Whether a trap of a taller stack stands on one of the lower two floors above its base;
    where the model has no floors, whether it drains into one of its lower two intervals."""
    if len(stack.intervals) <= LOW_FLOORS:
        return False
    foot, floors = stack.base.pipes[-1].down, arm.piping.floors
    floor = floors.of(arm.fixture.element)
    if foot is not None and floor is not None:
        above = [f.level_m for f in floors.likely if not lies_below(f.level_m, foot[2] - FLOOR_M)]
        return floor.level_m in above[:LOW_FLOORS]
    point = arm.points[0] if arm.points else None
    low = stack.intervals[-LOW_FLOORS]
    return point is None or point[2] <= low.top_m + NEAR_M
