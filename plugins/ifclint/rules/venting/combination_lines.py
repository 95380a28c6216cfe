"""A row of traps on a line that is meant as one combination waste and vent, its vent at the upper
end."""

from collections.abc import Iterator
from dataclasses import replace

from ifclint.checks import PASS, violation
from ifclint.engineering.arithmetic import largest
from ifclint.engineering.wording import number_text, trade_size
from ifclint.findings import Answer, Change, Measure, Outcome
from ifclint.packs import Context
from ifclint.plumbing import VentGroup
from ifclint.rules.venting.circuit import joins_above, not_steep
from ifclint.rules.venting.code_tables import method_clause, trade_size_for
from ifclint.rules.venting.combination import may_be_combination, may_combine, row_at
from ifclint.rules.venting.combination_course import METHOD
from ifclint.rules.venting.groups import AT_LEAST, bearings, passing_dfu, size_unknown, wet_pipes


def combination_line(group: VentGroup, context: Context) -> list[Answer] | None:
    """What is said of a row of traps as a combination waste and vent; None where it can be none: a
    fixture that the code bars from it is there, or its vent is where that of a circuit is."""
    if not joins_above(group) or not all(may_combine(arm, context) for arm in group.arms):
        return None
    made = _of_sizes if context.code.family == "upc" else _of_loads
    return [*made(group, context)] or [PASS]


def _of_sizes(group: VentGroup, context: Context) -> Iterator[Answer]:
    """UPC: every trap and branch two sizes larger than the code lists, told once for the row; the
    vent of half the area of the drain or more, and downstream of the uppermost fixture."""
    yield from _small_traps(group, context)
    yield from _small_vent(group, context)
    first = group.arms[0].fixture
    yield violation(
        message=f"The vent of the {METHOD} joins it above {first.label}, its uppermost fixture.",
        remedy=f"Move the vent: join it downstream of {first.label}.",
        clause=context.code.limit("combination_vent_share").clause,
        **bearings(group, "joint"),
    )


def _small_vent(group: VentGroup, context: Context) -> Iterator[Answer]:
    """Whether the vent is large enough all the way to the open air."""
    share, piping = context.code.limit("combination_vent_share"), group.piping
    way = [i for i in group.joint.tree.path_out(group.joint) if piping.is_pipe(i)]
    sized = [(piping.elements[i].size_in, piping.elements[i].guid) for i in way]
    sizes = [size for size, _ in sized if size is not None]
    if not sizes or not group.sizes_in:
        yield size_unknown(group)
        return
    drain_in = largest(group.sizes_in)
    wanted = replace(share, value=trade_size_for(drain_in * share.value**0.5), unit="in")
    small = tuple(guid for size, guid in sized if size is not None and size < wanted.value)
    if not small:
        return
    text = f"Make this vent {trade_size(wanted.value)}."
    yield violation(
        measured=Measure(min(sizes), "in"),
        required=Measure(wanted.value, "in", "at least"),
        message=f"The {trade_size(min(sizes))} vent of the {METHOD} has less than half the area "
        f"of its {trade_size(drain_in)} drain.",
        remedy=Change("size", small, wanted.value, text),
        clause=share.clause,
        provenance=share.provenance,
        **bearings(group, "vent area", small[0], wanted.step(AT_LEAST)),
    )


def _small_traps(group: VentGroup, context: Context) -> Iterator[Answer]:
    answers = {arm: may_be_combination(arm, context) for arm in group.arms}
    wrong = {
        arm: answer
        for arm, answer in answers.items()
        if answer is not None and answer.outcome is Outcome.VIOLATION and answer.required
    }
    if not wrong:
        return
    first, *_ = wrong.values()
    limits = [answer.required.value for answer in wrong.values() if answer.required is not None]
    ids = tuple(dict.fromkeys(guid for arm in wrong for guid in arm.element_ids))
    names = ", ".join(arm.fixture.label for arm in wrong)
    text = f"Make the traps and their drains {trade_size(largest(limits))}, or vent each."
    least = min(arm.size_in for arm in wrong if arm.size_in is not None)
    yield violation(
        measured=Measure(least, "in"),
        required=Measure(largest(limits), "in", "at least"),
        message=f"The traps and drains of {names} are too small for a {METHOD}.",
        remedy=Change("size", ids, largest(limits), text),
        clause=first.clause,
        provenance=first.provenance,
        **bearings(group, "combination"),
    )


def _of_loads(group: VentGroup, context: Context) -> Iterator[Answer]:
    """IPC: every pipe of the line large enough for what it carries, told once for the line, and
    none steep."""
    steep = context.code.limit("combination_max_in_per_ft")
    yield not_steep(group, steep, f"The {METHOD} at {group.drain.label}")
    below = group.piping.next_pipe(group.path[-1])
    line = [*(i for i, _ in wet_pipes(group)), below]
    rows = {i: row for i in line if (row := row_at(i, context)) is not None}
    sizes = {i: size for i in rows if (size := group.piping.elements[i].size_in) is not None}
    small = {i: rows[i].limit("size_in", "in") for i in sizes}
    small = {i: wanted for i, wanted in small.items() if sizes[i] < wanted.value}
    if not small:
        return
    worst = max(small, key=lambda i: (small[i].value, passing_dfu(context)[i]))
    wanted, ids = small[worst], tuple(group.piping.elements[i].guid for i in small)
    load = number_text(passing_dfu(context)[worst])
    yield violation(
        measured=Measure(sizes[worst], "in"),
        required=Measure(wanted.value, "in", "at least"),
        message=f"{trade_size(sizes[worst])} carries {load} DFU, too much for a {METHOD} of that "
        "size.",
        remedy=Change("size", ids, wanted.value, f"Make this line {trade_size(wanted.value)}."),
        clause=method_clause(context, METHOD),
        provenance=wanted.provenance,
        **bearings(group, "combination", ids[0], wanted.step(AT_LEAST)),
    )
