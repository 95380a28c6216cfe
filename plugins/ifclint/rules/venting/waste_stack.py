"""The rule about waste stacks that are their fixtures' vents."""

from collections.abc import Iterator
from itertools import takewhile

from ifclint.checks import PASS, Fact, check, given, known, require
from ifclint.codes import Row
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.joined import onward
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.wording import number_text, trade_size
from ifclint.findings import Answer, Change, Severity
from ifclint.ifc.elements import Element
from ifclint.packs import Context, rule
from ifclint.plumbing import Fixture, Method, Stack, VentGroup
from ifclint.plumbing.drainage.loads import loads
from ifclint.rules.venting.airflow import takes
from ifclint.rules.venting.code_tables import Allowed, allowed, is_for, method_row, rows
from ifclint.rules.venting.groups import (
    AT_LEAST,
    AT_MOST,
    bearings,
    fails,
    fixtures_through,
    groups_at,
    kind_unknown,
    large_enough,
    passing_dfu,
    passing_unstated,
    size_unknown,
    smallest_pipe,
    unless_unstated,
    wet_pipes,
)
from ifclint.rules.venting.missing_vents import all_wait, lacks_any
from ifclint.rules.venting.single_stack import (
    are_on_single_stack,
    is_told_with_stack,
    nearly_single,
)
from ifclint.rules.venting.single_stack_faults import single_stack_faults

PLUMB_DEG = 80.0  # a stack leans no farther from 90. Ours, no source
WASTE_STACK, INTERVAL = "waste_stack_vent", "stack_interval_dfu"
FEW = 3  # traps, and they are named. Ours, no source
VENT_SIZE = Fact("the size of the vent above the {} is not known.", "Give it a nominal diameter.")


@rule(
    title="Waste stack vent without closets, small in load, and of one size",
    clauses={"upc": "", "ipc": "913", "irc-2021": "P3109"},
    severity=Severity.HIGH,
    applies=lambda group: group.method is Method.WASTE_STACK,
    of_load=True,
)
def waste_stack_vent(group: VentGroup, context: Context) -> Iterator[Answer]:
    """Where a stack carries waste alone and little of it, air stands in it beside the water.

    IPC: no closets or urinals, no more units than the table lets its size take in all and in one
    branch interval, plumb from the highest fixture to the lowest, of one size down to its foot, the
    vent above as large as the stack. It passes too as a single stack; with closets or urinals on
    it and no other vents it is judged as one: its load and height, the closets on 3 in, how far off
    its traps are, and that none is on the lower two floors. Where the code has no such method the
    traps are not vented, and their own rule says so.
    """
    row = method_row(context, Method.WASTE_STACK)
    if row is None or allowed(row) is Allowed.NO or all_wait(group, context):
        return
    if (nearly := nearly_single(context).get(group)) is not None:
        yield from single_stack_faults(nearly, context)
        return
    answers = list(_as_waste_stack(group, row, context))
    yield from [PASS] if fails(answers) and are_on_single_stack(group, context) else answers


def breathe_by_stack(group: VentGroup, context: Context) -> bool:
    """Whether traps of the highest floor breathe with those below them by a waste stack vent, or
    one by one by a single stack; what keeps them from this is told of the stack."""
    row = method_row(context, Method.WASTE_STACK)
    if row is None or allowed(row) is Allowed.NO:
        return False
    below = (g for g in groups_at(group, context) if g.method is Method.WASTE_STACK)
    as_stack = any(not fails(list(_as_waste_stack(g, row, context))) for g in below)
    told = any(is_told_with_stack(arm, context) for arm in group.arms)
    return as_stack or told or are_on_single_stack(group, context)


def as_waste_stack(group: VentGroup, context: Context) -> list[Answer]:
    """What is said of fixtures of one floor on a vertical drain as of a waste stack vent, where
    they may breathe so; else nothing."""
    row = method_row(context, Method.WASTE_STACK)
    if row is None or allowed(row) is Allowed.NO:
        return []
    answers = list(_as_waste_stack(group, row, context))
    return [] if fails(answers) else answers


def is_waste_stack(stack: Stack, context: Context) -> bool:
    """Whether a stack is the vent of fixtures, and takes none that is barred from that; whether it
    is large enough the rule about it tells."""
    row, own = method_row(context, Method.WASTE_STACK), takes(context)[stack]
    if row is None or not all(is_for(row, fixture) for fixture in own):
        return False
    groups = (g for g in context.plumbing.venting.groups if g.method is Method.WASTE_STACK)
    return any(own.issuperset(group.fixtures) for group in groups)


def _as_waste_stack(group: VentGroup, row: Row, context: Context) -> Iterator[Answer]:
    """Where something drains there that the code bars, it is none, and no more is said."""
    alone = list(_waste_alone(group, row, context))
    yield from alone
    if fails(alone):
        return
    yield _plumb(group, row.clause)
    if group.wet_size_in is None:
        yield size_unknown(group)
    else:
        yield _stack_carries(group, group.wet_size_in, context)
        yield _one_size(group, row.clause)
        yield _vent_as_large(group, group.wet_size_in, row.clause)
    yield from _intervals_carry(group, context)


def _waste_alone(group: VentGroup, row: Row, context: Context) -> Iterator[Answer]:
    """No fixture drains into the stack that the code bars from it; of one whose own vent is missing
    that is told."""
    for fixture in fixtures_through(group, context):
        if lacks_any([fixture], context):
            continue
        if not fixture.kind:
            yield kind_unknown(group, fixture)
            continue
        yield require(
            is_for(row, fixture),
            message=f"{fixture.label} drains into the {group.label}.",
            remedy=_vent_below(group, fixture, context),
            clause=row.clause,
            **bearings(group, "kind", fixture.element.guid),
        )


def _vent_below(group: VentGroup, barred: Fixture, context: Context) -> str:
    """What is asked for the traps that breathe below what is barred, by name where they are few."""
    below = [a.fixture.label for a in group.wet if not lacks_any(a.fixtures, context)]
    if barred in group.fixtures or len(below) > FEW:
        return "Vent the traps below it, or lead it elsewhere."
    return f"Vent the trap of {' and that of '.join(below)}, or lead {barred.label} elsewhere."


def _plumb(group: VentGroup, clause: str) -> Answer:
    """No offset between the highest fixture that drains into the stack and the lowest."""
    rises = [(pipe, group.piping.rise_deg(index)) for index, pipe in wet_pipes(group)]
    leans = [pipe for pipe, rise in rises if rise is not None and not _is_plumb(rise)]
    return require(
        not leans,
        message=f"The {group.label} is offset between its fixtures.",
        remedy="Lead the stack straight down, or vent the traps one by one.",
        clause=clause,
        **bearings(group, "offset", leans[0].guid if leans else ""),
    )


def _is_plumb(rise_deg: float) -> bool:
    return at_least(abs(rise_deg), PLUMB_DEG, "deg")


def _one_size(group: VentGroup, clause: str) -> Answer:
    """No part of the stack smaller than another, down to its foot."""
    sized = [p for p in _down_to_foot(group) if p.size_in is not None]
    least = min(sized, key=lambda pipe: or_zero(pipe.size_in))
    size, most = given(least.size_in), max(or_zero(p.size_in) for p in sized)
    text = f"Make the stack {trade_size(most)} throughout."
    return check(
        size,
        at_least=most,
        unit="in",
        message=f"The {group.label} is {trade_size(most)} and has a piece of {trade_size(size)}.",
        remedy=Change("size", (least.guid,), most, text),
        limit_step="One size throughout",
        clause=clause,
        **bearings(group, "one size", least.guid),
    )


def _down_to_foot(group: VentGroup) -> list[Element]:
    """The pipes of a waste stack, with those below its lowest fixture."""
    piping, found = group.piping, [pipe for _, pipe in wet_pipes(group)]
    below = onward(piping.drainage.down[group.path[-1]], piping.drainage.down)
    upright = takewhile(lambda i: not piping.is_horizontal(i), below)
    return [*found, *(piping.elements[i] for i in upright if piping.is_pipe(i))]


def _stack_carries(group: VentGroup, size: float, context: Context) -> Answer:
    load = passing_dfu(context)[group.path[-1]]
    return large_enough(
        group,
        size,
        load,
        rows(context, WASTE_STACK),
        pipe=smallest_pipe(group),
        message=lambda _: f"The {group.label} takes {number_text(load)} DFU in {trade_size(size)}.",
        what="the stack",
        otherwise="Vent the traps one by one.",
        unstated=passing_unstated(context)[group.path[-1]],
    )


def _intervals_carry(group: VentGroup, context: Context) -> Iterator[Answer]:
    """What joins within one branch interval, where the table limits it for the stack's size; a
    drain lower than a storey is one interval."""
    made, path = loads(context), set(group.path)
    stacks = [s for s in context.plumbing.stacks if any(path & set(p.indexes) for p in s.segments)]
    for interval in (interval for stack in stacks for interval in stack.intervals):
        load = sum(made.carried[branch] for branch in interval.branches)
        load += sum(made.gives[fixture] for fixture in interval.fixtures)
        unstated = made.unstated_in(interval.branches, interval.fixtures)
        at = next(iter(interval.element_ids), "")
        yield from _interval(group, interval.size_in, load, unstated, interval.label, at, context)
    if not stacks:
        load, unstated = (of(context)[group.path[-1]] for of in (passing_dfu, passing_unstated))
        yield from _interval(group, group.wet_size_in, load, unstated, group.label, "", context)


def _interval(
    group: VentGroup,
    size: float | None,
    load: float,
    unstated: float,
    label: str,
    at: str,
    context: Context,
) -> Iterator[Answer]:
    listed = [r for r in rows(context, WASTE_STACK) if r.number("size_in") == size]
    if listed and listed[0].number_or_none(INTERVAL) is not None:
        answer = check(
            load,
            at_most=listed[0].limit(INTERVAL, "DFU"),
            message=f"The {label} takes {number_text(load)} DFU.",
            remedy="Make the stack larger, or vent the traps one by one.",
            limit_step=AT_MOST,
            **bearings(group, "interval", at),
        )
        yield unless_unstated(answer, group, unstated, at)


def _vent_as_large(group: VentGroup, size: float, clause: str) -> Answer:
    vent = known(group.vent.size_in, VENT_SIZE, group, **bearings(group, "vent"))
    text = f"Carry the vent up in {trade_size(size)}."
    return check(
        vent,
        at_least=size,
        unit="in",
        message=f"The vent above the {group.label} is {trade_size(vent)}.",
        remedy=Change("size", (group.vent.guid,), size, text),
        limit_step=AT_LEAST,
        clause=clause,
        **bearings(group, "vent"),
    )
