"""The rule about the vent below a level offset of a stack."""

from itertools import takewhile

from ifclint.checks import NOT_APPLICABLE, PASS, against, missing
from ifclint.engineering.joined import onward
from ifclint.findings import Answer, Change, Severity
from ifclint.packs import Context, rule
from ifclint.part_kinds import VENTS
from ifclint.plumbing import DrainSegment, Stack
from ifclint.plumbing.drainage.loads import loads
from ifclint.rules.venting.code_tables import QUARTER_IN_PER_FT, next_size_in, row_for_load, rows
from ifclint.rules.venting.groups import passing_dfu, passing_unstated
from ifclint.rules.venting.main_vents import main_vents


@rule(
    title="Stack vented below a level offset",
    clauses={"ipc": "907.1", "irc": ""},
    severity=Severity.HIGH,
    applies=lambda stack: bool(stack.upper),
)
def stack_offset_vented(stack: Stack, context: Context) -> Answer:
    """What falls through five storeys fills a level offset; below it the stack draws air from the
    traps.

    Stacks below a level offset with five branch intervals and more above it: a vent must join at
    the top of the lower stack or above its first branch. (The upper stack is asked for its vent
    stack by another rule.) Excused is where stacks and offset are a size larger than a building
    drain would be.
    """
    offset = _level_offset(stack)
    count = max(upper.interval_count for upper in stack.upper)
    most = context.code.limit("offset_vent_intervals")
    if not offset or count < most.value:
        return NOT_APPLICABLE
    if _vented_above_its_branches(stack, context) or _is_larger(stack, offset, context):
        return PASS
    text = "Carry a vent from above its first branch to the vent stack."
    return missing(
        VENTS,
        message=f"{stack.label} has no vent between its level offset, with {count} branch "
        "intervals above, and its first branch.",
        remedy=Change("part", stack.element_ids, "relief vent", text),
        **against(float(count), most, "fewer than", "A vented offset from"),
    )


def _level_offset(stack: Stack) -> list[DrainSegment]:
    """The level drains between a stack and the one above that flows into it."""
    inside, found = set(stack.segments), list[DrainSegment]()
    for upper in stack.upper:
        segment = upper.base.next
        while segment is not None and segment not in inside:
            found += [] if segment.vertical else [segment]
            segment = segment.next
    return found


def _vented_above_its_branches(stack: Stack, context: Context) -> bool:
    """Whether a vent joins a lower stack at its top, or before anything else drains into it."""
    piping, joints = context.plumbing.venting.piping, context.plumbing.venting.air.joints
    if stack in main_vents(context).tops.values():
        return True
    path = onward(stack.segments[0].indexes[0], piping.drainage.down)
    return any(joints.get(i) for i in takewhile(lambda i: len(piping.wet_above[i]) < 2, path))


def _is_larger(stack: Stack, offset: list[DrainSegment], context: Context) -> bool:
    """Whether stacks and offset are a size larger than a building drain for their load at 1/4 in
    per ft; not where some load is unknown."""
    at = stack.segments[0].indexes[0]
    if passing_unstated(context)[at]:
        return False
    table = rows(context, "building_drain_capacity")
    quarter = tuple(r for r in table if r.number("slope_in_per_ft") == QUARTER_IN_PER_FT)
    needed = row_for_load(quarter, passing_dfu(context)[at])
    sizes = [part.size_in for part in offset]
    sizes += [each.size_in for each in (stack, *stack.upper)]
    if needed is None:
        return False
    closets = any(loads(context).closets[part] for part in offset)
    least = context.code.limit("water_closet_drain_in").value if closets else 0.0
    wanted = next_size_in(max(least, needed.number("size_in")))
    return all(size is not None and size >= wanted for size in sizes)
