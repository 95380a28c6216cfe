"""Rules about stacks: their load by branch intervals, their height, what joins at their base."""

from __future__ import annotations

from ifclint.checks import NOT_APPLICABLE, PASS, unverified, violation
from ifclint.codes import Row
from ifclint.engineering.units import M_PER_FT, M_PER_IN
from ifclint.engineering.wording import number_text, trade_size
from ifclint.findings import Answer, Measure, Severity, Step
from ifclint.packs import Context, rule
from ifclint.plumbing import BranchInterval, DrainSegment, Part, Stack
from ifclint.plumbing.drainage.loads import loads

BRANCHES = (Part.HORIZONTAL_BRANCH, Part.BUILDING_DRAIN_BRANCH, Part.TRAP_ARM)


def _stack_row(context: Context, size: float | None) -> Row | None:
    return context.code.table("branch_and_stack_capacity").one(size_in=size)


def _column(stack: Stack, context: Context) -> str:
    short = context.code.limit("stack_short_intervals").value
    if stack.interval_count <= short:
        return "stack_three_intervals_dfu"
    return "stack_more_intervals_dfu"


def smallest_stack(context: Context, column: str, load: float) -> float | None:
    rows = context.code.table("branch_and_stack_capacity").rows
    sizes = [r.number("size_in") for r in rows if (r.number_or_none(column) or 0.0) >= load]
    return min(sizes, default=None)


@rule(
    title="Stack large enough for all that joins it",
    subject=Stack,
    clauses={"ipc": "710.1 and Table 710.1(2)"},
    severity=Severity.HIGH,
    needs=("size_in",),
)
def stack_capacity(stack: Stack, context: Context) -> Answer:
    """A stack that takes too much runs full, siphons traps and backs up below.

    Every part of the stack by the load gathered at its foot, against the column of the table for
    its number of branch intervals (storey heights of at least 8 ft in which branches join).
    """
    made, column = loads(context), _column(stack, context)
    for segment in reversed(stack.segments):
        row = _stack_row(context, segment.size_in)
        units = row.number_or_none(column) if row else None
        if segment.size_in is None or row is None or units is None:
            return unverified(
                f"{context.code.short} gives no capacity for a part of {stack.label}.",
                "Give the stack a trade size; stacks of 15 in and more are by design.",
                segment.element_ids,
            )
        if made.carried[segment] > units:
            return _overloaded(stack, segment, context, units, row)
    return PASS


def _overloaded(
    stack: Stack, segment: DrainSegment, context: Context, units: float, row: Row
) -> Answer:
    made, column = loads(context), _column(stack, context)
    load = made.carried[segment]
    size = smallest_stack(context, column, load)
    count = stack.interval_count
    return violation(
        message=(
            f"{stack.label} takes {number_text(load)} DFU over {count} branch interval(s) and may "
            f"carry {number_text(units)}."
        ),
        remedy=(
            f"Make the stack {trade_size(size)} from here to its base, and all below it no smaller."
            if size
            else "Divide the load between stacks."
        ),
        measured=Measure(load, "DFU"),
        required=Measure(units, "DFU", "at most"),
        steps=(
            *made.steps(segment),
            Step("Branch intervals of the stack", float(count)),
            Step(f"{trade_size(segment.size_in)} stack may carry", units, "DFU", row.clause),
        ),
        elements=segment.element_ids,
    )


@rule(
    title="No branch interval loads a stack beyond its share",
    subject=BranchInterval,
    clauses={"ipc": "Table 710.1(2)"},
    needs=("size_in",),
)
def branch_interval_load(interval: BranchInterval, context: Context) -> Answer:
    """Too much water from one storey closes the bore of the stack and pulls traps.

    The load of the branches that join within one storey height, against what a stack of its
    size may take in one branch interval.
    """
    made = loads(context)
    load = sum(made.carried[branch] for branch in interval.branches)
    load += sum(made.gives[fixture] for fixture in interval.fixtures)
    row = _stack_row(context, interval.size_in)
    if row is None or row.number_or_none("stack_interval_dfu") is None:
        return NOT_APPLICABLE
    units = row.number("stack_interval_dfu")
    if load <= units:
        return PASS
    size = smallest_stack(context, "stack_interval_dfu", load)
    return violation(
        message=(
            f"The {interval.label} takes {number_text(load)} DFU and may take {number_text(units)}."
        ),
        remedy=(
            f"Make the stack {trade_size(size)} from here down, or lead a branch elsewhere."
            if size
            else "Divide the load between stacks."
        ),
        measured=Measure(load, "DFU"),
        required=Measure(units, "DFU", "at most"),
        steps=(
            *(Step(b.label, made.carried[b], "DFU") for b in interval.branches),
            *(Step(f.label, made.gives[f], "DFU") for f in interval.fixtures),
            Step("Load of the branch interval", load, "DFU"),
            Step(f"{trade_size(interval.size_in)} stack, one interval", units, "DFU", row.clause),
        ),
        elements=interval.element_ids,
    )


@rule(
    title="Stack not shrunk too far at its top",
    subject=Stack,
    clauses={"ipc": "Table 710.1(2) footnote b"},
    needs=("size_in",),
)
def stack_top_size(stack: Stack, context: Context) -> Answer:
    """A stack may grow smaller upward with its load, but not below half of what its base needs.

    The nominal size of its topmost part against half the smallest size the table gives the load
    at its base.
    """
    ratio = context.code.limit("stack_size_ratio")
    needed = smallest_stack(context, _column(stack, context), loads(context).carried[stack.base])
    top = stack.segments[0]
    if needed is None or top.size_in is None:
        return NOT_APPLICABLE
    least = needed * ratio.value
    if top.size_in >= least:
        return PASS
    return violation(
        message=(
            f"{stack.label} is {trade_size(top.size_in)} at its top; its base needs "
            f"{trade_size(needed)}."
        ),
        remedy=f"Make the top of the stack at least {trade_size(least)}.",
        measured=Measure(top.size_in, "in"),
        required=Measure(least, "in", "at least"),
        steps=(
            Step("Size its base needs", needed, "in"),
            Step(f"times {ratio.value:g}", least, "in", ratio.clause),
        ),
        elements=top.element_ids,
    )


@rule(
    title="Stack not longer than its size allows",
    subject=Stack,
    clauses={"upc": "Table 703.2"},
    severity=Severity.LOW,
    needs=("size_in",),
)
def stack_length(stack: Stack, context: Context) -> Answer:
    """A small pipe so high gathers speed and pressure its size cannot vent.

    The length of each size in the stack against the greatest the UPC allows vertical drainage of
    that size.
    """
    heights: dict[float, float] = {}
    for segment in stack.segments:
        if segment.size_in is not None:
            heights[segment.size_in] = (
                heights.get(segment.size_in, 0.0) + (segment.length_m or 0.0) / M_PER_FT
            )
    answers = [_too_long(stack, size, height, context) for size, height in heights.items()]
    return next((a for a in answers if a is not None), PASS)


def _too_long(stack: Stack, size: float, height: float, context: Context) -> Answer | None:
    """What is wrong with the length of one size of a stack, if anything."""
    row = context.code.table("drain_capacity").one(size_in=size, orientation="vertical")
    most = row.number_or_none("max_length_ft") if row else None
    if row is None or most is None or height <= most:
        return None
    return violation(
        message=(
            f"{stack.label} has {height:.0f} ft of {trade_size(size)}, which may be {most:.0f} ft."
        ),
        remedy="Use the next size for the whole stack.",
        measured=Measure(height, "ft"),
        required=Measure(most, "ft", "at most"),
        steps=(
            Step(f"Longest {trade_size(stack.size_in)} vertical drain", most, "ft", row.clause),
        ),
    )


@rule(
    title="No branch joins too near the base of a stack",
    subject=Stack,
    clauses={"ipc": "704.3"},
    needs=("size_in",),
)
def stack_base_connection(stack: Stack, context: Context) -> Answer:
    """Water leaving a stack piles up at its base; a branch joined there backs up and gurgles.

    The developed length from the base of the stack to the first horizontal branch that joins the
    drain it turns into, against ten diameters of the stack. Where the drain itself joins a larger
    one that takes other stacks, no branch is joined to it.
    """
    drain = stack.base.next
    size = stack.size_in
    if drain is None or drain.vertical or size is None:
        return NOT_APPLICABLE
    distance = _to_first_branch(drain)
    if distance is None:
        return PASS
    limit = context.code.limit("stack_base_connection_diameters")
    least = limit.value * size * M_PER_IN
    if distance >= least:
        return PASS
    return violation(
        message=f"A branch joins {distance / M_PER_FT:.1f} ft from the base of {stack.label}.",
        remedy=f"Join the branch at least {least / M_PER_FT:.1f} ft downstream of the stack.",
        measured=Measure(distance / M_PER_FT, "ft"),
        required=Measure(least / M_PER_FT, "ft", "at least"),
        steps=(
            Step("Diameter of the stack", size, "in"),
            Step(f"times {limit.value:g} diameters", least / M_PER_FT, "ft", limit.clause),
        ),
        elements=(drain.first.guid, stack.base.first.guid),
    )


def _to_first_branch(drain: DrainSegment) -> float | None:
    """The length of drain, metres, to the first horizontal branch that joins it; None for none."""
    distance = 0.0
    segment: DrainSegment | None = drain
    while segment is not None and not segment.vertical and segment.length_m is not None:
        distance += segment.length_m
        following = segment.next
        if following is None:
            return None
        others = [r for r in following.above if r is not segment]
        if any(r.part in BRANCHES and not r.vertical for r in others):
            return distance
        if any(r.is_drain_or_arm for r in others):
            return None  # it joins a drain that takes other stacks
        segment = following
    return None


RULES = (
    stack_capacity,
    branch_interval_load,
    stack_top_size,
    stack_length,
    stack_base_connection,
)
