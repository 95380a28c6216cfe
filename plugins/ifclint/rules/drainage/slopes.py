"""Rules about the fall of a drain: steep enough, never rising, fast enough to stay clean."""

from __future__ import annotations

from math import sqrt

from ifclint.checks import NOT_APPLICABLE, PASS, advise, violation
from ifclint.codes import Row
from ifclint.engineering.open_channel import Roughness, roughness, velocity_m_per_s
from ifclint.engineering.units import (
    M_PER_FT,
    M_PER_IN,
    in_per_ft_from_slope,
    slope_from_in_per_ft,
)
from ifclint.engineering.wording import slope_text, trade_size
from ifclint.findings import Answer, Measure, Severity, Step
from ifclint.ifc.elements import Role
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import DrainSegment, Part, Pipe
from ifclint.rules.drainage.capacity import meets_slope


@rule(
    title="Horizontal drain steep enough",
    subject=DrainSegment,
    clauses={"upc": "708.1", "ipc": "704.1 and Table 704.1", "irc": "P3005.3"},
    needs=("orientation", "slope", "size_in"),
    applies=lambda segment: segment.vertical is not True and segment.part is not Part.TAILPIECE,
)
def drain_slope(segment: DrainSegment, context: Context) -> Answer:
    """A drain too flat lets solids settle.

    The slope of the flattest pipe of the run against the least the code allows for its size,
    with 2 % taken as 1/4 in per ft. Backfall is reported by its own rule.
    """
    slope, size = segment.slope, segment.size_in
    assert slope is not None
    assert size is not None
    if slope < 0:
        return NOT_APPLICABLE
    rows = [r for r in _slope_rows(context, segment) if _covers(r, size)]
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
    flattest = segment.flattest
    return violation(
        message=(
            f"{segment.label} falls {slope_text(slope)}; {trade_size(size)} needs "
            f"{slope_text(slope_from_in_per_ft(least))}."
            + (" This slope may be approved beforehand by the authority." if could else "")
        ),
        remedy=(
            _steepen(segment, least)
            + (" Or, if approved, set drainage.eighth_inch_slope_approved." if could else "")
        ),
        measured=Measure(in_per_ft_from_slope(slope), "in/ft"),
        required=Measure(least, "in/ft", "at least"),
        steps=_slope_steps(segment, asked),
        elements=(flattest.element.guid,) if flattest else (),
        clause=asked.clause,
    )


def _slope_rows(context: Context, segment: DrainSegment) -> tuple[Row, ...]:
    """The least slopes for a drain; for a trap arm its own, where the code has one."""
    table = context.code.table("minimum_slope")
    arm = table.where(applies_to="trap arm") if segment.part is Part.TRAP_ARM else ()
    return arm or table.where(applies_to="drainage")


def _covers(row: Row, size: float) -> bool:
    return row.number("size_from_in") <= size <= row.number("size_to_in")


def _steepen(segment: DrainSegment, least_in_per_ft: float) -> str:
    length = sum((p.length_m or 0.0) for p in segment.pipes) / M_PER_FT
    fall = length * least_in_per_ft
    return f"Give the run a fall of at least {fall:.2f} in over its {length:.1f} ft."


def _slope_steps(segment: DrainSegment, row: Row) -> tuple[Step, ...]:
    pipe = segment.flattest
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
    subject=DrainSegment,
    clauses={"upc": "708.1", "ipc": "704.1"},
    severity=Severity.HIGH,
    applies=lambda segment: segment.slope is not None and segment.part is not Part.TAILPIECE,
)
def drain_backfall(segment: DrainSegment, context: Context) -> Answer:
    """A drain that rises holds water and solids and will block.

    Any pipe of the run, or fitting on its way to the next, whose downstream end is higher than its
    upstream end, by the flow toward the outlet. A run of unknown slope is reported by the slope
    rule.
    """
    rising = [p for p in segment.pipes if p.fall_m is not None and p.fall_m < -0.0005]
    if not rising:
        return _rising_fitting(segment, context) or PASS
    worst = min(rising, key=lambda p: p.fall_m or 0.0)
    rise_in = -(worst.fall_m or 0.0) / M_PER_IN
    return violation(
        message=f"{segment.label} rises {rise_in:.2f} in toward the outlet.",
        remedy="Turn the fall round, or check the heights of its ends.",
        measured=Measure(in_per_ft_from_slope(worst.slope or 0.0), "in/ft"),
        required=Measure(0.0, "in/ft", "at least"),
        steps=(Step("Rise from its upstream to its downstream end", rise_in, "in"),),
        elements=tuple(p.element.guid for p in [worst, *(p for p in rising if p is not worst)]),
    )


def _horizontal(pipe: Pipe) -> float:
    """The horizontal run that fall is divided by, metres."""
    return sqrt(max((pipe.length_m or 0.0) ** 2 - (pipe.fall_m or 0.0) ** 2, 0.0))


def _rising_fitting(segment: DrainSegment, context: Context) -> Answer | None:
    """A fitting of the run, or on the way to the next, that lifts the water."""
    elements = context.plumbing.network.elements
    for index in (*segment.between, *segment.tail):
        rise_m = _rise(index, context) if elements[index].role is Role.FITTING else 0.0
        if rise_m > RISE_M:
            rise_in = rise_m / M_PER_IN
            return violation(
                message=(
                    f"{elements[index].label} lifts the water {rise_in:.2f} in on the way of "
                    f"{segment.label}."
                ),
                remedy="Turn the fitting, or check the heights of its ends.",
                measured=Measure(rise_in, "in"),
                required=Measure(0.0, "in", "at most"),
                steps=(Step("Rise from the inlet to the outlet of the fitting", rise_in, "in"),),
                elements=(elements[index].guid, *segment.element_ids),
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


@derived
def _above(context: Context) -> list[list[int]]:
    """The wet elements that flow into each element."""
    plumbing = context.plumbing
    wet = plumbing.drainage.accumulate(plumbing.sources)
    return [[i for i in found if wet[i]] for found in plumbing.drainage.beyond]


RISE_M = 0.010


@rule(
    title="Drain fast enough to keep itself clean",
    subject=DrainSegment,
    clauses={"upc": "common practice", "ipc": "common practice"},
    severity=Severity.LOW,
    applies=lambda segment: (
        not segment.vertical
        and segment.is_drain
        and bool(segment.size_in)
        and (segment.slope or 0.0) > 0
    ),
)
def self_cleansing_velocity(segment: DrainSegment, context: Context) -> Answer:
    """Common practice asks for about 2 ft/s, or solids are left behind.

    Mean velocity by Manning's formula, flowing half full (the same as full), from the nominal
    size, the slope and the roughness of the material, to one decimal. Where the material is not
    known it is taken to be as smooth as plastic, so that only what is surely slow is told.
    """
    assert segment.size_in is not None
    least = context.code.limit("self_cleansing_velocity_ft_per_s")
    lining = _roughness(segment.material)
    slope = segment.slope or 0.0
    speed = velocity_m_per_s(segment.size_in * M_PER_IN, slope, lining.manning_n, 0.5) / M_PER_FT
    if round(speed, 1) >= least.value:
        return PASS
    return advise(
        f"{segment.label} runs at {speed:.1f} ft/s half full.",
        "Steepen the drain; a larger pipe would not keep itself cleaner at its flow.",
        measured=Measure(speed, "ft/s"),
        required=Measure(least.value, "ft/s", "at least"),
        steps=(
            Step("Diameter (nominal)", segment.size_in, "in"),
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


RULES = (drain_slope, drain_backfall, self_cleansing_velocity)
