"""Rules about a drain: its load, the fixtures it may take, its slope and its size."""

from __future__ import annotations

from functools import lru_cache
from math import sqrt

from ifclint.codes import Row
from ifclint.engineering.open_channel import Roughness, roughness, velocity_m_per_s
from ifclint.engineering.units import (
    M_PER_FT,
    M_PER_IN,
    in_per_ft_from_slope,
    slope_from_in_per_ft,
)
from ifclint.engineering.wording import number_text, slope_text, trade_size
from ifclint.findings import NOT_APPLICABLE, PASS, Answer, Measure, Outcome, Severity, Step
from ifclint.ifc.elements import Role
from ifclint.packs import Context, rule
from ifclint.plumbing import Part, Pipe, Run
from ifclint_drainage.capacity import (
    capacity,
    is_trap_arm,
    listed_sizes,
    meets_slope,
    restrictions,
    smallest_size,
)
from ifclint_drainage.loads import loads


def size_remedy(run: Run, context: Context) -> str:
    """The smallest change that would do, in one sentence."""
    size = smallest_size(run, context)
    if size is None:
        return "No listed size carries this load as drawn: divide the load or steepen the drain."
    return f"Make this drain {trade_size(size)}, and everything below it no smaller."


@rule(
    title="Drain large enough for the fixtures it takes",
    subject=Run,
    clauses={
        "upc": "703.1 and Table 703.2",
        "ipc": "710.1 and Tables 710.1(1), 710.1(2)",
        "irc": "P3005.4",
    },
    severity=Severity.HIGH,
    needs=("size_in", "orientation"),
    applies=lambda run: run.part is not Part.TAILPIECE,
)
def drain_capacity(run: Run, context: Context) -> Answer:
    """A drain that takes more than it can carry backs up into the lowest fixture.

    The drainage fixture units of all fixtures upstream, with bathroom groups and continuous flow
    as the code counts them, against what the code lets a drain of this size, course and slope
    carry. Trap arms no longer than the code lets them be are excused; IPC stacks are judged by
    their branch intervals.
    """
    if is_trap_arm(run, context):
        return NOT_APPLICABLE
    made = loads(context)
    load = made.carried[run]
    allowed = capacity(run, context)
    if not made.fixtures[run] and not load:
        return Answer(
            Outcome.UNVERIFIED,
            f"No fixture drains through {run.label}, so its load is not known.",
            remedy="Model the fixtures and join them to their drains.",
        )
    if allowed is None:
        if run.part is Part.STACK and context.code.family == "ipc":
            return NOT_APPLICABLE
        return _not_listed(run, context, load)
    steps = (*made.steps(run), *allowed.steps)
    if load > allowed.most:
        return Answer(
            Outcome.VIOLATION,
            f"{run.label} takes {number_text(load)} DFU and may carry {number_text(allowed.most)}.",
            measured=Measure(load, "DFU"),
            required=Measure(allowed.most, "DFU", "at most"),
            remedy=size_remedy(run, context),
            steps=steps,
            clause=allowed.row.clause,
        )
    if made.unknown[run]:
        return Answer(
            Outcome.UNVERIFIED,
            f"{run.label} takes {number_text(made.unknown[run])} inflow(s) of unknown load.",
            measured=Measure(load, "DFU", "at least"),
            required=Measure(allowed.most, "DFU", "at most"),
            remedy="Name those fixtures by kind or give their traps a size, model the fixtures of "
            "branches that end open, and state what pumps discharge (job file, "
            "drainage.continuous_flow).",
            steps=steps,
        )
    if not allowed.listed:
        return Answer(
            Outcome.UNVERIFIED,
            f"{context.code.short} lists no capacity for a slope as flat as that of {run.label}.",
            measured=Measure(load, "DFU"),
            remedy="Steepen the drain to a slope the code lists.",
            steps=steps,
        )
    if load > allowed.least:
        return Answer(
            Outcome.UNVERIFIED,
            f"Whether {run.label} may carry {number_text(load)} DFU depends on its slope, which "
            "is not known.",
            measured=Measure(load, "DFU"),
            remedy="Draw the drain with its fall, or give it Pset_PipeSegmentOccurrence.Gradient.",
            steps=steps,
        )
    return PASS


def _not_listed(run: Run, context: Context, load: float) -> Answer:
    """The code lists no capacity for this size and course: too small, or beyond its table."""
    said = f"{context.code.short} lists no {run.orientation} drain of {trade_size(run.size_in)}"
    measured, steps = Measure(load, "DFU"), loads(context).steps(run)
    if (run.size_in or 0.0) > listed_sizes(context)[-1]:
        return Answer(
            Outcome.UNVERIFIED,
            f"{said}: {run.label} is beyond its tables.",
            measured=measured,
            remedy="Have drains beyond the tables designed, and the design approved.",
            steps=steps,
        )
    return Answer(
        Outcome.VIOLATION,
        f"{said}.",
        measured=measured,
        remedy=size_remedy(run, context),
        steps=steps,
    )


@rule(
    title="No fixture on a drain too small for its kind",
    subject=Run,
    clauses={"upc": "Table 703.2 footnotes", "ipc": "Table 710.1(1) footnote a and 704.2"},
    severity=Severity.HIGH,
    applies=lambda run: run.size_in is not None,
)
def fixtures_allowed_on_drain(run: Run, context: Context) -> Answer:
    """Whatever the load, some fixtures may not drain into small pipe, or only so many of them.

    Water closets need 3 in; under the UPC at most three of them (or of six-unit traps) share a
    3 in horizontal drain and four a 3 in vertical one, and no sink, urinal or dishwasher of more
    than one unit drains into a 1-1/2 in vertical. A drain of unknown size is reported elsewhere.
    """
    if not loads(context).fixtures[run]:
        return NOT_APPLICABLE
    broken = [r for r in restrictions(run, context) if r.count > r.most and _counts(run, r.words)]
    if not broken and loads(context).unnamed[run] and _is_restricted_size(run, context):
        return Answer(
            Outcome.UNVERIFIED,
            f"{run.label} takes {number_text(loads(context).unnamed[run])} fixture(s) of unknown "
            "kind, and not every kind may drain into that size.",
            remedy="Set the PredefinedType of those fixtures, or name them in trade words.",
        )
    if not broken:
        return PASS
    if run.orientation is None and all(r.most for r in broken):
        return Answer(
            Outcome.UNVERIFIED,
            f"How many of its fixtures {run.label} may take depends on its course, which is not "
            "known.",
            remedy="Give the pipe a shape or two placed ports, so that its ends are known.",
        )
    worst = max(broken, key=lambda r: r.count - r.most)
    limit = f"at most {number_text(worst.most)}" if worst.most else "none"
    return Answer(
        Outcome.VIOLATION,
        f"{run.label} takes {number_text(worst.count)} × {worst.words}; a drain of that size may "
        f"take {limit}.",
        measured=Measure(worst.count, worst.words),
        required=Measure(worst.most, worst.words, "at most"),
        remedy=size_remedy(run, context),
        steps=tuple(
            Step(f"{r.words} on {trade_size(run.size_in)}: at most", r.most, "", r.clause)
            for r in broken
        ),
        clause=worst.clause,
    )


def _is_restricted_size(run: Run, context: Context) -> bool:
    least = context.code.limit("water_closet_drain_in").value
    rows = context.code.table("drain_restrictions").where(size_in=run.size_in)
    return bool(rows) or (run.size_in or 0.0) < least


def _counts(run: Run, restricted: str) -> bool:
    """The table's limits leave trap arms out, but a closet's own arm must be 3 in as well."""
    return run.is_drain or restricted == "water closet"


@rule(
    title="Horizontal drain steep enough",
    subject=Run,
    clauses={"upc": "708.1", "ipc": "704.1 and Table 704.1", "irc": "P3005.3"},
    needs=("orientation", "slope", "size_in"),
    applies=lambda run: run.vertical is not True and run.part is not Part.TAILPIECE,
)
def drain_slope(run: Run, context: Context) -> Answer:
    """A drain too flat lets solids settle.

    The slope of the flattest pipe of the run against the least the code allows for its size,
    with 2 % taken as 1/4 in per ft. Backfall is reported by its own rule.
    """
    slope, size = run.slope, run.size_in
    assert slope is not None
    assert size is not None
    if slope < 0:
        return NOT_APPLICABLE
    rows = [r for r in _slope_rows(context, run) if _covers(r, size)]
    usual = [r for r in rows if not r.text("condition")]
    if not usual:
        return NOT_APPLICABLE
    approved = context.job.drainage.eighth_inch_slope_approved
    asked = min(rows if approved else usual, key=lambda r: r.number("min_in_per_ft"))
    least = asked.number("min_in_per_ft")
    if meets_slope(slope, least, context):
        return PASS
    relaxed = min(r.number("min_in_per_ft") for r in rows)
    could = not approved and relaxed < least and meets_slope(slope, relaxed, context)
    flattest = run.flattest
    return Answer(
        Outcome.VIOLATION,
        f"{run.label} falls {slope_text(slope)}; {trade_size(size)} needs "
        f"{slope_text(slope_from_in_per_ft(least))}."
        + (" This slope may be approved beforehand by the authority." if could else ""),
        measured=Measure(in_per_ft_from_slope(slope), "in/ft"),
        required=Measure(least, "in/ft", "at least"),
        remedy=_steepen(run, least)
        + (" Or, if approved, set drainage.eighth_inch_slope_approved." if could else ""),
        steps=_slope_steps(run, asked),
        elements=(flattest.element.guid,) if flattest else (),
        clause=asked.clause,
    )


def _slope_rows(context: Context, run: Run) -> tuple[Row, ...]:
    """The least slopes for a drain; for a trap arm its own, where the code has one."""
    table = context.code.table("minimum_slope")
    arm = table.where(applies_to="trap arm") if run.part is Part.TRAP_ARM else ()
    return arm or table.where(applies_to="drainage")


def _covers(row: Row, size: float) -> bool:
    return row.number("size_from_in") <= size <= row.number("size_to_in")


def _steepen(run: Run, least_in_per_ft: float) -> str:
    length = sum((p.length_m or 0.0) for p in run.pipes) / M_PER_FT
    fall = length * least_in_per_ft
    return f"Give the run a fall of at least {fall:.2f} in over its {length:.1f} ft."


def _slope_steps(run: Run, row: Row) -> tuple[Step, ...]:
    pipe = run.flattest
    if pipe is None or pipe.fall_m is None or pipe.length_m is None:
        return (Step("Least slope", row.number("min_in_per_ft"), "in/ft", row.clause),)
    return (
        Step("Fall of the flattest pipe", pipe.fall_m / M_PER_IN, "in"),
        Step("over a horizontal run of", _horizontal(pipe) / M_PER_FT, "ft"),
        Step("Slope", in_per_ft_from_slope(pipe.slope or 0.0), "in/ft"),
        Step("Least slope", row.number("min_in_per_ft"), "in/ft", row.clause),
    )


@rule(
    title="No drain rises in the direction of flow",
    subject=Run,
    clauses={"upc": "708.1", "ipc": "704.1"},
    severity=Severity.HIGH,
    applies=lambda run: run.slope is not None and run.part is not Part.TAILPIECE,
)
def drain_backfall(run: Run, context: Context) -> Answer:
    """A drain that rises holds water and solids and will block.

    Any pipe of the run, or fitting on its way to the next, whose downstream end is higher than its
    upstream end, by the flow toward the outlet. A run of unknown slope is reported by the slope
    rule.
    """
    rising = [p for p in run.pipes if p.fall_m is not None and p.fall_m < -0.0005]
    if not rising:
        return _rising_fitting(run, context) or PASS
    worst = min(rising, key=lambda p: p.fall_m or 0.0)
    rise_in = -(worst.fall_m or 0.0) / M_PER_IN
    return Answer(
        Outcome.VIOLATION,
        f"{run.label} rises {rise_in:.2f} in toward the outlet.",
        measured=Measure(in_per_ft_from_slope(worst.slope or 0.0), "in/ft"),
        required=Measure(0.0, "in/ft", "at least"),
        remedy="Turn the fall round, or check the heights of its ends.",
        steps=(Step("Rise from its upstream to its downstream end", rise_in, "in"),),
        elements=tuple(p.element.guid for p in [worst, *(p for p in rising if p is not worst)]),
    )


def _horizontal(pipe: Pipe) -> float:
    """The horizontal run that fall is divided by, metres."""
    return sqrt(max((pipe.length_m or 0.0) ** 2 - (pipe.fall_m or 0.0) ** 2, 0.0))


def _rising_fitting(run: Run, context: Context) -> Answer | None:
    """A fitting of the run, or on the way to the next, that lifts the water."""
    elements = context.plumbing.network.elements
    for index in (*run.between, *run.tail):
        rise_m = _rise(index, context) if elements[index].role is Role.FITTING else 0.0
        if rise_m > RISE_M:
            rise_in = rise_m / M_PER_IN
            return Answer(
                Outcome.VIOLATION,
                f"{elements[index].label} lifts the water {rise_in:.2f} in on the way of "
                f"{run.label}.",
                measured=Measure(rise_in, "in"),
                required=Measure(0.0, "in", "at most"),
                remedy="Turn the fitting, or check the heights of its ends.",
                steps=(Step("Rise from the inlet to the outlet of the fitting", rise_in, "in"),),
                elements=(elements[index].guid, *run.element_ids),
            )
    return None


def _rise(index: int, context: Context) -> float:
    """How far an element lifts the water that flows into it, metres."""
    drainage = context.plumbing.drainage
    places = [drainage.exit_place[i] for i in _above(context)[index]]
    leaving = drainage.exit_place[index]
    end = drainage.places[leaving] if leaving >= 0 else None
    starts = [p for p in (drainage.places[k] for k in places if k >= 0) if p is not None]
    return max((end[2] - start[2] for start in starts), default=0.0) if end is not None else 0.0


@lru_cache(maxsize=4)
def _above(context: Context) -> list[list[int]]:
    """The wet elements that flow into each element."""
    plumbing = context.plumbing
    wet = plumbing.drainage.accumulate(plumbing.sources)
    return [[i for i in found if wet[i]] for found in plumbing.drainage.upstream()]


RISE_M = 0.010


@rule(
    title="No drain narrows in the direction of flow",
    subject=Run,
    clauses={"upc": "310.5", "ipc": "704.2"},
    severity=Severity.HIGH,
    applies=lambda run: (
        run.part is not Part.TAILPIECE and run.next is not None and run.size_in is not None
    ),
)
def drain_not_reduced(run: Run, context: Context) -> Answer:
    """What passes a large pipe jams in the smaller one that follows.

    The nominal size of each drain against the next one downstream whose size is known. A 4 in
    closet bend or flange
    onto 3 in pipe is no reduction. Traps are judged against their own drain.
    """
    following = _next_sized(run)
    assert run.size_in is not None
    if following is None or following.size_in is None:
        return NOT_APPLICABLE
    if following.size_in >= run.size_in or _is_closet_bend(run, following, context):
        return PASS
    return Answer(
        Outcome.VIOLATION,
        f"{run.label} ({trade_size(run.size_in)}) flows into {following.label}.",
        measured=Measure(following.size_in, "in"),
        required=Measure(run.size_in, "in", "at least"),
        remedy=f"Make {following.label} {trade_size(run.size_in)}, and all below it no smaller.",
        steps=(
            Step("Upstream size", run.size_in, "in"),
            Step("Downstream size", following.size_in, "in"),
        ),
        elements=(following.first.guid, run.pipes[-1].element.guid),
    )


def _next_sized(run: Run) -> Run | None:
    following = run.next
    while following is not None and following.size_in is None:
        following = following.next
    return following


def _is_closet_bend(run: Run, following: Run, context: Context) -> bool:
    elements = context.plumbing.network.elements
    closet_fittings = any(elements[i].kind in ("closet-bend", "closet-flange") for i in run.tail)
    sizes = (run.size_in, following.size_in)
    return closet_fittings and sizes == (4, 3) and loads(context).closets[run] == 1


@rule(
    title="Drain fast enough to keep itself clean",
    subject=Run,
    clauses={"upc": "common practice", "ipc": "common practice"},
    severity=Severity.LOW,
    applies=lambda run: (
        not run.vertical and run.is_drain and bool(run.size_in) and (run.slope or 0.0) > 0
    ),
)
def self_cleansing_velocity(run: Run, context: Context) -> Answer:
    """Common practice asks for about 2 ft/s, or solids are left behind.

    Mean velocity by Manning's formula, flowing half full (the same as full), from the nominal
    size, the slope and the roughness of the material, to one decimal. Where the material is not
    known it is taken to be as smooth as plastic, so that only what is surely slow is told.
    """
    assert run.size_in is not None
    least = context.code.limit("self_cleansing_velocity_ft_per_s")
    lining = _roughness(run.material)
    slope = run.slope or 0.0
    speed = velocity_m_per_s(run.size_in * M_PER_IN, slope, lining.manning_n, 0.5) / M_PER_FT
    if round(speed, 1) >= least.value:
        return PASS
    return Answer(
        Outcome.ADVISORY,
        f"{run.label} runs at {speed:.1f} ft/s half full.",
        measured=Measure(speed, "ft/s"),
        required=Measure(least.value, "ft/s", "at least"),
        remedy="Steepen the drain; a larger pipe would not keep itself cleaner at its flow.",
        steps=(
            Step("Diameter (nominal)", run.size_in, "in"),
            Step("Slope", in_per_ft_from_slope(slope), "in/ft"),
            Step(f"Manning's n, {lining.material}", lining.manning_n, "", lining.source),
            Step("V = R^(2/3) S^(1/2) / n, R = D/4", speed, "ft/s", "Manning's formula"),
        ),
    )


def _roughness(material: str) -> Roughness:
    """The roughness of the material named in a pipe's material, else of plastic."""
    words = material.lower().replace("-", " ").split()
    names = [" ".join(words[i : i + n]) for n in (2, 1) for i in range(len(words))]
    found = next((r for r in map(roughness, names) if r is not None), roughness("pvc"))
    assert found is not None
    return found


RULES = (
    drain_capacity,
    fixtures_allowed_on_drain,
    drain_slope,
    drain_backfall,
    drain_not_reduced,
    self_cleansing_velocity,
)
