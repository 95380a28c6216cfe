"""Rule about drains that join too near the base of a stack."""

from collections.abc import Iterator
from dataclasses import replace

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, check, due, given, not_known
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import IN_PER_FT, M_PER_FT
from ifclint.engineering.wording import apart_text, feet_text
from ifclint.findings import Answer, Step
from ifclint.packs import Context, rule
from ifclint.plumbing import DrainSegment, Part, Stack
from ifclint.plumbing.drainage.run_ends import goes_straight

BRANCHES = (Part.HORIZONTAL_BRANCH, Part.BUILDING_DRAIN_BRANCH, Part.TRAP_ARM)
UNPLACED = Fact(
    "how far from the foot of {} drains join",
    "Give the pipes and fittings of the drain shapes or placed ports.",
)


@rule(
    title="No branch joins too near the base of a stack",
    clauses={"ipc": "704.3", "irc": "P3005.5"},
    needs=("size_in",),
)
def stack_base_connection(stack: Stack, context: Context) -> Answer | list[Answer]:
    """Water leaving a stack piles up at its base; a branch joined there backs up and gurgles.

    The developed length from the base of the stack to each place where a horizontal branch joins
    the drain it turns into, against ten diameters of the stack. Where the drain itself joins one
    that takes other stacks, or comes into the side of one as large, no branch is joined to it.
    """
    drain, size = due(stack.base.next), due(stack.size_in)
    if drain.vertical:
        return NOT_APPLICABLE
    return [
        unplaced_junction(stack, below)
        if distance_m is None
        else _far_from_base(distance_m / M_PER_FT, below, stack, size, context)
        for distance_m, below in junctions(stack, context)
    ] or PASS


def _far_from_base(
    feet: float, below: DrainSegment, stack: Stack, size: float, context: Context
) -> Answer:
    """How far from the base of a stack a branch joins, in diameters of the stack."""
    diameters = context.code.limit("stack_base_connection_diameters")
    least = replace(diameters, value=diameters.value * size / IN_PER_FT, unit="ft")
    return check(
        round(feet, 3),
        at_least=least,
        message=f"A branch joins {apart_text(feet, least.value, 'ft')} from the base of "
        f"{stack.label}.",
        remedy=f"Join the branch at least {feet_text(least.value)} downstream of the stack.",
        steps=(Step("Diameter of the stack", size, "in"),),
        limit_step=f"times {diameters.value:g} diameters",
        elements=(given(stack.base.next).first.guid, stack.base.first.guid),
        about=below.key,
    )


def unplaced_junction(stack: Stack, below: DrainSegment) -> Answer:
    return not_known(UNPLACED, stack, elements=below.element_ids, about=below.key)


def junctions(
    stack: Stack, context: Context, or_vertical: bool = False
) -> Iterator[tuple[float | None, DrainSegment]]:
    """Where horizontal branches (or vertical drains too) join the drain a stack turns into: the
    developed length from the centre of its foot to that of the fitting, metres, and the segment
    that goes on from there."""
    drain = stack.base.next
    while drain is not None and not drain.vertical and drain.next is not None:
        others = [s for s in drain.next.above if s is not drain]
        joining = [s for s in others if s.part in BRANCHES and not s.vertical]
        if any(_passes_by(s, drain, context) for s in joining):
            return
        if or_vertical:
            joining += [s for s in others if s.vertical and s.is_drain_or_arm]
        if joining:
            piping = context.plumbing.venting.piping
            away = [piping.developed_m(stack.foot, s.meets) for s in joining]
            yield None if None in away else min(m for m in away if m is not None), drain.next
        elif any(s.is_drain_or_arm for s in others):
            return  # it joins a drain that takes other stacks
        drain = drain.next


def _passes_by(other: DrainSegment, drain: DrainSegment, context: Context) -> bool:
    """Whether another drain, as large, goes straight on where a drain comes in from its side."""
    drainage, meets = context.plumbing.drainage, drain.meets
    straight = [goes_straight(drainage, s.indexes[-1], meets) for s in (other, drain)]
    return straight == [True, False] and at_least(or_zero(other.size_in), or_zero(drain.size_in))
