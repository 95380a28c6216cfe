"""Rules about the size of vent pipe: its least size, and what its load and length ask for."""

from collections import defaultdict
from dataclasses import dataclass, replace
from math import inf

from ifclint.checks import PASS, Fact, check, given, not_known, require
from ifclint.codes import Limit, Row
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import feet
from ifclint.engineering.wording import apart_text, feet_text, how_many, number_text, trade_size
from ifclint.findings import NOT_APPLICABLE, Answer, Change, Measure, Settles, Severity, Step
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import VentJoint, VentSegment, VentTree
from ifclint.plumbing.drainage.loads import GIVE_LOADS
from ifclint.rules.venting.airflow import air_steps, airflow, load_steps, only_breather, upstream
from ifclint.rules.venting.code_tables import next_size_in, rows, trade_size_for
from ifclint.rules.venting.main_vents import base_vents, is_tall, main_vents
from ifclint.rules.venting.wording import sentence

LOAD = Fact("{} serves {} of unknown load.", GIVE_LOADS)
STACK = Fact(
    "the size of {}, or the length of its vent, is not known.",
    "Give stack and vent a nominal diameter and a shape.",
)
NO_LENGTH = Fact("{} gives no length for the vent of {}.", "Give the stack a trade size.")

SHORTER_FT = 0.1  # a length that differs less is told as the whole. Ours, no source


def _serves(pipe: VentSegment) -> bool:
    return pipe.serves > 0


@dataclass(frozen=True, slots=True)
class VentDemand:
    """A least size, in inches, and what asks for it."""

    size: Limit
    words: str


@derived
def _demands(context: Context, pipe: VentSegment) -> list[VentDemand]:
    code, air = context.code, airflow(context)
    drain = air.of(pipe, air.largest_drain_in if code.family == "upc" else air.asked_drain_in)
    counts = {"water closet": air.closets, "six-unit trap": air.six_units}
    takes = next((words for words, count in counts.items() if air.of(pipe, count)), "")
    return _demanded(context, drain, takes)


@derived
def _demanded(context: Context, drain_in: float, takes: str) -> list[VentDemand]:
    """What is asked where the largest drain is of this size, 0 for none, and where it takes a
    closet or a six-unit trap."""
    code = context.code
    found = [VentDemand(code.limit("vent_minimum_in"), "the least size of any vent")]
    ratio, closet = code.limit("vent_drain_ratio"), code.limit_or_none("closet_vent_in")
    if drain_in:
        half = replace(ratio, value=drain_in * ratio.value, unit="in")
        share = "half" if ratio.value == 0.5 else f"{number_text(ratio.value)} of"
        words = f"{share} the {trade_size(drain_in)} drain "
        laid = "it vents" if code.family == "upc" else "that the code asks of its fixtures"
        found.append(VentDemand(half, words + laid))
    if closet is not None and takes:
        found.append(VentDemand(closet, f"the vent of a {takes}"))
    return found


def _most_asked_in(pipe: VentSegment, context: Context) -> float:
    """What may be asked where a fixture of unknown load is all that its drain, as laid, could
    take: a closet where that is large enough."""
    air = airflow(context)
    if not air.of(pipe, air.unstated_fixtures):
        return _least_in(pipe, context)
    laid = air.of(pipe, air.largest_drain_in)
    closet = at_least(laid, context.code.limit("water_closet_drain_in").value, "in")
    asked = _demanded(context, laid, "water closet" if closet else "")
    return max(_least_in(pipe, context), *(demand.size.value for demand in asked))


def _least_in(pipe: VentSegment, context: Context) -> float:
    return max(demand.size.value for demand in _demands(context, pipe))


@rule(
    title="Vent no smaller than the least size, or half the drain it serves",
    clauses={"upc": "904.1", "ipc": "906.2", "irc-2021": "P3113.1"},
    severity=Severity.HIGH,
    needs=("size_in",),
    applies=_serves,
    settles=Settles.PIPE,
    of_load=True,
)
def vent_least_size(pipe: VentSegment, context: Context) -> Answer:
    """A narrow vent lets air in too slowly, and closes with frost or rust.

    Every vent, from the drain to the open air, against the code's least size, half the largest
    drain it serves (UPC: as laid; IPC: as the code asks of its fixtures), and what closets and,
    in the UPC, other six-unit traps ask.
    """
    assert pipe.size_in is not None
    demands = _demands(context, pipe)
    decisive = max(demands, key=lambda demand: demand.size.value)
    answer = check(
        pipe.size_in,
        at_least=decisive.size,
        message=lambda: f"{sentence(pipe.label)} is smaller than the code asks: {decisive.words}.",
        remedy=lambda: _enlarge(pipe, trade_size_for(decisive.size.value)),
        steps=lambda: (
            *(Step(d.words, d.size.value, "in", d.size.clause) for d in demands),
            *air_steps(pipe, context),
        ),
    )
    sure = answer is not PASS or at_least(pipe.size_in, _most_asked_in(pipe, context), "in")
    return answer if sure else _unstated(pipe, context)


def _enlarge(pipe: VentSegment, size_in: float) -> Change:
    text = f"Make the vent {trade_size(size_in)}, and no smaller on to the open air."
    return Change("size", pipe.element_ids, size_in, text)


@rule(
    title="Vent large enough for its load and length",
    clauses={
        "upc": "703.1 and Table 703.2",
        "ipc": "906.1, 906.2 and Table 906.1",
        "irc-2021": "P3113.1",
    },
    needs=("size_in", "developed_m"),
    applies=_serves,
    of_load=True,
)
def vent_capacity(pipe: VentSegment, context: Context) -> Answer:
    """The more a vent serves and the longer it is, the larger it must be.

    UPC: the fixture units that breathe through it and its developed length to the open air, by the
    table, less what is larger (a length of the table is of pipe of that size: our reading); no more
    than a third of it horizontal; one size larger throughout waives the lengths. IPC: stack vents
    and vent stacks by the table of stack size, load and length; other vents, and all in the IRC,
    one size larger beyond 40 ft, measured to the stack vent (not asked where that lacks its joint
    at the base of a tall stack). A vent below the least size is found by the rule about that.
    """
    assert pipe.size_in is not None
    least, joint = context.code.limit("vent_minimum_in"), airflow(context).main_joint(pipe)
    if not at_least(pipe.size_in, least.value, "in"):
        return NOT_APPLICABLE
    if context.code.family == "upc":
        return _by_load_and_length(pipe, pipe.size_in, context)
    if joint is None or not rows(context, "stack_vent_length"):
        return _branch_vent(pipe, pipe.size_in, context)
    return _stack_vent(pipe, pipe.size_in, joint, context)


def _by_load_and_length(pipe: VentSegment, size: float, context: Context) -> Answer:
    """UPC: the size the table asks; said of what the row of its own size is first short of."""
    air, table = airflow(context), rows(context, "vent_capacity")
    load, length = air.of(pipe, air.dfu), feet(air.of(pipe, air.length_m))
    level = feet(air.of(pipe, air.level_m))
    long = "is {} long to the open air"
    if pipe.farthest_m is not None and length < feet(pipe.farthest_m) - SHORTER_FT:
        long = "has {} of pipe no larger on its path to the open air"
    wanted = _asked_in(table, load, length, level, _least_in(pipe, context), context)
    if wanted is not None and at_least(size, wanted, "in"):
        return _unstated(pipe, context) if air.of(pipe, air.unstated) else PASS
    row = next((r for r in reversed(table) if at_most(r.number("size_in"), size, "in")), table[0])
    answers = (
        _too_small(pipe, measured, most, what, wanted, context)
        for measured, most, what in (
            (load, row.limit("max_dfu", "DFU"), "serves {}"),
            (length, row.limit("max_length_ft", "ft"), long),
            (level, _level_limit(row, context), "runs {} horizontally"),
        )
    )
    return next((answer for answer in answers if answer is not PASS), PASS)


def _unstated(pipe: VentSegment, context: Context) -> Answer:
    """Unverified: the known load asks no more, but some of the load is not known."""
    air = airflow(context)
    count = how_many(air.of(pipe, air.unstated), "fixture or drain")
    steps = (*load_steps(pipe, context), *air_steps(pipe, context))
    return not_known(LOAD, pipe, count, steps=steps)


def _asked_in(
    table: tuple[Row, ...], load: float, length: float, level: float, least: float, context: Context
) -> float | None:
    """The size for a load and lengths, or the next after the size for the load alone; None where
    no size takes the load."""
    carrying = [r for r in table if at_most(load, r.number("max_dfu"))]
    if not carrying:
        return None
    fitting = (
        r.number("size_in")
        for r in carrying
        if at_most(length, r.number("max_length_ft"), "ft")
        and at_most(level, _level_limit(r, context).value, "ft")
    )
    by_load = max(carrying[0].number("size_in"), least)
    listed = context.code.table("vent_capacity").numbers("size_in")
    larger = next((s for s in listed if s > by_load), by_load)
    return min(next(fitting, larger), larger)


def _level_limit(row: Row, context: Context) -> Limit:
    """How much of the length of a row may be horizontal."""
    longest, share = row.limit("max_length_ft", "ft"), context.code.limit("vent_horizontal_share")
    return replace(longest, value=longest.value * share.value)


def _too_small(
    pipe: VentSegment,
    measured: float,
    most: Limit,
    what: str,
    wanted: float | None,
    context: Context,
) -> Answer:

    def message() -> str:
        alone = only_breather(pipe, context)
        whose = f" of {alone.label}" if alone is not None else ""
        said = what.format(apart_text(measured, most.value, most.unit))
        limit = f"{number_text(most.value)} {most.unit}"
        return f"{sentence(pipe.label)}{whose} {said}; {limit} at most."

    return check(
        round(measured, 2),
        at_most=most,
        message=message,
        remedy=_larger(pipe, wanted),
        steps=lambda: (*load_steps(pipe, context), *air_steps(pipe, context)),
        limit_step=f"{trade_size(pipe.size_in)} vent",
    )


def _larger(pipe: VentSegment, wanted: float | None) -> Change | str:
    if wanted is None:
        return "Divide the load between vents."
    text = f"Make the vent {trade_size(wanted)}, from the drain to the open air."
    return Change("size", pipe.element_ids, wanted, text)


def _stack_vent(pipe: VentSegment, size: float, joint: VentJoint, context: Context) -> Answer:
    """IPC: by the size and load of the stack, and the length of its vent to the open air."""
    air, stack = airflow(context), given(main_vents(context).stack_of(joint))
    if stack.size_in is None or joint.to_air_m is None:
        return not_known(STACK, stack.label)
    load, length = air.of(pipe, air.dfu), feet(joint.to_air_m)
    listed = _rows_for(stack.size_in, load, context)
    if not listed:
        return not_known(NO_LENGTH, context.code.short, stack.label)
    clause = context.code.table("stack_vent_length").clause
    wanted, long_enough = _wanted_in(listed, length, stack.size_in)
    if air.of(pipe, air.unstated) and long_enough and at_least(size, wanted, "in"):
        most, sure = _wanted_in(_rows_for(stack.size_in, inf, context), length, stack.size_in)
        if not sure or not at_least(size, most, "in"):
            return _unstated(pipe, context)
    return require(
        long_enough and at_least(size, wanted, "in"),
        message=f"{sentence(pipe.label)} is the vent of {stack.label}: {number_text(load)} DFU, "
        f"{feet_text(length)} to the open air.",
        remedy=_larger(pipe, wanted),
        steps=lambda: (
            *load_steps(pipe, context),
            *air_steps(pipe, context),
            Step(f"{trade_size(size)} vent", wanted, "in", clause),
        ),
        measured=Measure(size, "in"),
        required=Measure(wanted, "in", "at least"),
        clause=clause,
    )


def _wanted_in(listed: list[Row], length: float, stack_in: float) -> tuple[float, bool]:
    """The smallest vent of rows that may be so long, in feet, and whether there is one."""
    long_enough = [r for r in listed if at_most(length, r.number("max_length_ft"), "ft")]
    return min((r.number("vent_in") for r in long_enough), default=stack_in), bool(long_enough)


def _rows_for(stack_in: float, load: float, context: Context) -> list[Row]:
    """The rows of a stack's size with the first load not below its own, else the largest."""
    of_size = context.code.table("stack_vent_length").where(stack_in=stack_in)
    loads = sorted({r.number("dfu") for r in of_size})
    listed = next((dfu for dfu in loads if at_most(load, dfu)), loads[-1] if loads else None)
    return [r for r in of_size if r.number("dfu") == listed]


def _branch_vent(pipe: VentSegment, size: float, context: Context) -> Answer:
    """IPC: one size larger than half the drain where it is long."""
    air, most = airflow(context), context.code.limit("vent_upsize_length_ft")
    wanted = next_size_in(trade_size_for(_least_in(pipe, context)))
    length = feet(air.of(pipe, air.branch_m))
    if not at_least(size, wanted, "in") and pipe.serves < _without_base(context).get(pipe.tree, 0):
        return NOT_APPLICABLE
    if at_least(size, wanted, "in"):
        may = next_size_in(trade_size_for(_most_asked_in(pipe, context)))
        sure = at_least(size, may, "in") or at_most(length, most.value, "ft")
        return PASS if sure else _unstated(pipe, context)
    return _too_small(pipe, length, most, "is part of a vent {} long", wanted, context)


@derived
def _without_base(context: Context) -> dict[VentTree, int]:
    """The vents that run up beside tall stacks, and would be their vent stacks but for a joint at
    the base, with how many joints they serve: to that their branches are measured once it is."""
    venting, found = context.plumbing.venting, dict[VentTree, int]()
    most: dict[VentTree, int] = defaultdict(int)
    for run in venting.segments:
        most[run.tree] = max(most[run.tree], run.serves)
    for stack in (s for s in context.plumbing.stacks if is_tall(s, context)):
        if base_vents(stack, context):
            continue
        above = upstream(stack.base.indexes[-1], context)
        for tree, serves in most.items():
            if sum(j.drain in above for j in tree.joints) >= len(stack.intervals):
                found[tree] = serves
    return found
