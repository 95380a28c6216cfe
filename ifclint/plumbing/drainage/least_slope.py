"""The least slope of a drain: what the code asks for its size, and when a slope meets it."""

from ifclint.codes import Limit, Row
from ifclint.engineering.tolerance import LENGTH_M, at_least
from ifclint.engineering.units import in_per_ft_from_slope, slope_from_in_per_ft
from ifclint.plumbing.context import Context
from ifclint.plumbing.drainage.segments import DrainSegment


def slope_rows(size_in: float, context: Context, *applies_to: str) -> list[Row]:
    """The least slopes for a size: the rows of the first of `applies_to` that the code has, those
    that need approval too."""
    table = context.code.table("minimum_slope")
    rows = next((found for name in applies_to if (found := table.where(applies_to=name))), ())
    return [r for r in rows if r.number("size_from_in") <= size_in <= r.number("size_to_in")]


def least_slope(rows: list[Row], context: Context) -> Limit | None:
    """The least of them in force here, in/ft; None where the code lists none for the size."""
    approved = context.job.drainage.eighth_inch_slope_approved
    usual = [row for row in rows if not row.text("condition")]
    return flattest(rows if approved else usual) if usual else None


def flattest(rows: list[Row]) -> Limit:
    return min((r.limit("min_in_per_ft", "in/ft") for r in rows), key=lambda limit: limit.value)


def meets_slope(slope: float, least_in_per_ft: float, context: Context) -> bool:
    """Whether a slope is as steep as the code asks, within what the code takes as equal."""
    allowance = context.code.limit("slope_tolerance").value
    return at_least(in_per_ft_from_slope(slope), least_in_per_ft * (1.0 - allowance), "in/ft")


def drain_meets_slope(drain: DrainSegment, least_in_per_ft: float, context: Context) -> bool:
    """Whether the flattest pipe of a drain is so steep, or what it and the whole drain lack in fall
    is as little as drawing costs: coordinates in whole millimetres make short pieces flat."""
    if drain.slope is None or meets_slope(drain.slope, least_in_per_ft, context):
        return drain.slope is not None
    least, lacks_m = slope_from_in_per_ft(least_in_per_ft), list[float]()
    for pipe in drain.pipes:
        if not pipe.slope or pipe.fall_m is None:
            return False  # level, or by a slope that is stated
        lacks_m.append(pipe.fall_m / pipe.slope * least - pipe.fall_m)
    return max(*lacks_m, sum(lacks_m), 0.0) <= LENGTH_M
