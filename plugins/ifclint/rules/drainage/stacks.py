"""Rules about stacks: their load by branch intervals, the size of their top, their height."""

from collections.abc import Iterator
from dataclasses import replace

from ifclint.checks import PASS, Bounds, Fact, check, due, given, not_known
from ifclint.codes import Limit, Row
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import apart_text, how_many, number_text, trade_size
from ifclint.findings import Answer, Change, Settles, Severity, Step
from ifclint.ifc.elements import Element
from ifclint.packs import Context, rule
from ifclint.plumbing import BranchInterval, DrainSegment, Stack
from ifclint.plumbing.drainage.loads import LOADS, brings, loads
from ifclint.rules.drainage.capacity import listed_sizes

INTERVAL = "stack_interval_dfu"
NO_CAPACITY = Fact(
    "{} gives no capacity for a part of {}.",
    "Give the stack a trade size; stacks of 15 in and more are by design.",
)


def _stack_row(context: Context, size: float | None) -> Row | None:
    return context.code.table("branch_and_stack_capacity").one(size_in=size)


def _column(stack: Stack, context: Context) -> str:
    short = context.code.limit("stack_short_intervals").value
    few = at_most(stack.interval_count, short)
    return "stack_three_intervals_dfu" if few else "stack_more_intervals_dfu"


def _smallest_stack(context: Context, column: str, load: float) -> float | None:
    rows = context.code.table("branch_and_stack_capacity").rows
    filled = [r for r in rows if r.number_or_none(column) is not None]
    fit = (r.number("size_in") for r in filled if at_most(load, r.number(column)))
    return min(fit, default=None)


def _larger(elements: tuple[str, ...], size: float | None, how: str) -> Change | str:
    if size is None:
        return "Divide the load between stacks."
    return Change("size", elements, size, f"Make the stack {trade_size(size)} {how}.")


@rule(
    title="Stack large enough for all that joins it",
    clauses={"ipc": "710.1 and Table 710.1(2)", "irc": "P3005.4.1 and Table P3005.4.1"},
    severity=Severity.HIGH,
    needs=("size_in",),
    settles=Settles.PIPE,
    of_load=True,
)
def stack_capacity(stack: Stack, context: Context) -> Iterator[Answer]:
    """A stack that takes too much runs full, siphons traps and backs up below.

    Every part of the stack by the load gathered at its foot, against the column of the table for
    its number of branch intervals (storey heights of at least 8 ft in which branches join).
    """
    for segment in reversed(stack.segments):
        yield _carries(stack, segment, context)


def _carries(stack: Stack, segment: DrainSegment, context: Context) -> Answer:
    column, row = _column(stack, context), _stack_row(context, segment.size_in)
    if row is None or row.number_or_none(column) is None:
        return not_known(
            NO_CAPACITY, context.code.short, stack, elements=segment.element_ids, about=segment.key
        )
    made, most = loads(context), row.limit(column, "DFU")
    load, count = made.carried[segment], stack.interval_count
    return check(
        _load(load, brings(context).get(segment), f"this part of {stack.label}", segment.key),
        at_most=most,
        message=lambda: (
            f"{stack.label} takes {number_text(load)} DFU over "
            f"{how_many(count, 'branch interval')} and may carry {number_text(most.value)}."
        ),
        remedy=lambda: _larger(
            segment.element_ids,
            _smallest_stack(context, column, load),
            "from here to its base, and all below it no smaller",
        ),
        steps=lambda: (*made.steps(segment), Step("Branch intervals of the stack", float(count))),
        limit_step=f"{trade_size(segment.size_in)} stack may carry",
        elements=segment.element_ids,
        about=segment.key,
    )


def _load(load: float, source: Element | None, label: str, about: str) -> float | Bounds:
    """A load that may be more, where what a source brings is not known."""
    if source is None:
        return load
    return Bounds(LOADS, source, label, low=load, about=about, cause=source.guid)


@rule(
    title="No branch interval loads a stack beyond its share",
    clauses={"ipc": "Table 710.1(2)", "irc": ""},
    needs=("size_in",),
    of_load=True,
)
def branch_interval_load(interval: BranchInterval, context: Context) -> Answer:
    """Too much water from one storey closes the bore of the stack and pulls traps.

    The load of the branches that join within one storey height, against what a stack of its
    size may take in one branch interval.
    """
    row = due(_stack_row(context, interval.size_in))
    due(row.number_or_none(INTERVAL))
    joining, most = _joining(interval, context), row.limit(INTERVAL, "DFU")
    load = sum(or_zero(step.value) for step in joining)
    return check(
        _load(load, _unstated(interval, context), f"the {interval.label}", interval.key),
        at_most=most,
        message=lambda: (
            f"The {interval.label} takes {number_text(load)} DFU and may take "
            f"{number_text(most.value)}."
        ),
        remedy=lambda: _larger_below(interval, load, context),
        steps=(*joining, Step("Load of the branch interval", load, "DFU")),
        limit_step=f"{trade_size(interval.size_in)} stack, one interval",
        elements=interval.element_ids,
    )


def _unstated(interval: BranchInterval, context: Context) -> Element | None:
    """The first of what joins a stack within an interval whose load is not known."""
    unstated, source_of = loads(context).unstated, brings(context)
    found = [source_of[b] for b in interval.branches if b in source_of]
    found += [f.element for f in interval.fixtures if f in unstated]
    return found[0] if found else None


def _joining(interval: BranchInterval, context: Context) -> list[Step]:
    """What joins a stack within an interval, with its load."""
    made = loads(context)
    joining = [(branch.label, made.carried[branch]) for branch in interval.branches]
    joining += [(fixture.label, made.gives[fixture]) for fixture in interval.fixtures]
    return [Step(label, units, "DFU") for label, units in joining]


def _larger_below(interval: BranchInterval, load: float, context: Context) -> str | Change:
    size = _smallest_stack(context, INTERVAL, load)
    where = "from here down, or lead a branch elsewhere"
    return _larger(interval.stack.element_ids, size, where)


@rule(
    title="Stack not shrunk too far at its top",
    clauses={"ipc": "Table 710.1(2) footnote b", "irc": "P3005.4.1"},
    needs=("size_in",),
)
def stack_top_size(stack: Stack, context: Context) -> Answer:
    """A stack may grow smaller upward with its load, but not below half of what its base needs.

    The nominal size of its topmost part against half the smallest size the table gives the load
    at its base.
    """
    ratio, top = context.code.limit("stack_size_ratio"), stack.segments[0]
    load, column = loads(context).carried[stack.base], _column(stack, context)
    needed, top_in = due(_smallest_stack(context, column, load)), due(top.size_in)
    least = replace(ratio, value=needed * ratio.value, unit="in")
    remedy = f"Make the top of the stack at least {trade_size(least.value)}."
    answer = check(
        top_in,
        at_least=least,
        message=f"{stack.label} is {trade_size(top_in)} at its top; its base needs "
        f"{trade_size(needed)}.",
        remedy=Change("size", top.element_ids, least.value, remedy),
        steps=(Step("Size its base needs", needed, "in"),),
        limit_step=f"times {ratio.value:g}",
        elements=top.element_ids,
    )
    return answer if answer is not PASS else _if_load_is_stated(stack, context, ratio, top)


def _if_load_is_stated(stack: Stack, context: Context, ratio: Limit, top: DrainSegment) -> Answer:
    """A top that is large enough, if the load at the base of the stack is all known."""
    base_in = stack.base.size_in  # a base too small for its load is another rule's
    if base_in is not None and at_least(given(top.size_in), base_in * ratio.value, "in"):
        return PASS
    source = brings(context).get(stack.base)
    if source is None:
        return PASS
    return not_known(
        LOADS, source, stack, elements=top.element_ids, about=top.key, cause=source.guid
    )


@rule(
    title="Stack not longer than its size allows",
    clauses={"upc": "Table 703.2"},
    severity=Severity.LOW,
    needs=("size_in",),
)
def stack_length(stack: Stack, context: Context) -> Iterator[Answer]:
    """A small pipe so high gathers speed and pressure its size cannot vent.

    The length of each size in the stack against the greatest the UPC allows vertical drainage of
    that size.
    """
    table = context.code.table("drain_capacity")
    for size in dict.fromkeys(segment.size_in for segment in stack.segments):
        row = table.one(size_in=size, orientation="vertical")
        if size is None or row is None or row.number_or_none("max_length_ft") is None:
            yield PASS
        else:
            yield _not_too_long(stack, size, row, context)


def _not_too_long(stack: Stack, size: float, row: Row, context: Context) -> Answer:
    """Whether the parts of one size are together no longer than its row allows."""
    parts = [segment for segment in stack.segments if segment.size_in == size]
    height_ft = sum(_height_m(segment, context) for segment in parts) / M_PER_FT
    most, remedy = row.limit("max_length_ft", "ft"), "Use the next size for the whole stack."
    larger = next((listed for listed in listed_sizes(context) if listed > size), None)
    elements = tuple(guid for segment in parts for guid in segment.element_ids)
    return check(
        height_ft,
        at_most=most,
        message=f"{stack.label} has {apart_text(height_ft, most.value, 'ft')} of "
        f"{trade_size(size)}, which may be {most.value:g} ft.",
        remedy=remedy if larger is None else Change("size", elements, larger, remedy),
        limit_step=f"Longest {trade_size(size)} vertical drain",
        about=parts[0].key,
    )


def _height_m(segment: DrainSegment, context: Context) -> float:
    """Of a part of a stack, with its fittings, to the centre of the one at its lower end."""
    piping = context.plumbing.venting.piping
    below = piping.drainage.down[segment.indexes[-1]]
    return piping.developed_m(segment.indexes[0], below) or or_zero(segment.length_m)
