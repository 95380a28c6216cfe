"""What a drain may carry for its size, course and slope, and the smallest size that would do."""

from __future__ import annotations

from dataclasses import dataclass

from ifclint.codes import Row
from ifclint.engineering.units import M_PER_FT, slope_from_in_per_ft
from ifclint.engineering.wording import slope_text, trade_size
from ifclint.findings import Step
from ifclint.packs import Context, derived
from ifclint.plumbing import DrainSegment, Part
from ifclint.plumbing.drainage.loads import CLOSET, loads

ROUNDING_M = 0.005
BUILDING_DRAIN = (Part.BUILDING_DRAIN, Part.BUILDING_DRAIN_BRANCH, Part.OFFSET, Part.UNKNOWN)


@dataclass(frozen=True)
class Capacity:
    """What a drain may carry; `least` and `most` differ only where its slope is not known."""

    least: float
    most: float
    row: Row
    steps: tuple[Step, ...]
    listed: bool = True  # False where the drain is flatter than any slope the code lists


def is_trap_arm(segment: DrainSegment, context: Context) -> bool:
    """Whether a run is trap arm: it ends at a vent, or is no longer than the code lets one be."""
    if segment.part is not Part.TRAP_ARM:
        return False
    if segment.is_vented_arm:
        return True  # whether it is too long is for the rules about venting
    rows = context.code.table("trap_arms").rows
    size, length = segment.size_in, segment.length_m
    limits = [r for r in rows if size is not None and r.number("size_in") >= size]
    if length is None or not limits:
        return True
    longest = min(limits, key=lambda r: r.number("size_in")).number("max_length_ft")
    return length <= longest * M_PER_FT + ROUNDING_M


def capacity(
    segment: DrainSegment, context: Context, size_in: float | None = None
) -> Capacity | None:
    """The capacity of a run, as it is or in another size; None where the code lists none."""
    size = size_in if size_in is not None else segment.size_in
    if size is None or segment.orientation is None:
        return None
    by_family = {"upc": _by_orientation, "ipc": _by_part}
    return by_family[context.code.family](segment, context, size)


def _by_orientation(segment: DrainSegment, context: Context, size: float) -> Capacity | None:
    """UPC: vertical and horizontal drains, the horizontal ones reduced where they are flatter."""
    row = context.code.table("drain_capacity").one(size_in=size, orientation=segment.orientation)
    if row is None:
        return None
    units = row.number("max_dfu")
    step = Step(
        f"{trade_size(size)} {segment.orientation} drain may carry", units, "DFU", row.clause
    )
    if segment.vertical:
        return Capacity(units, units, row, (step,))
    factors = sorted(context.code.table("slope_factors").rows, key=lambda r: -r.number("factor"))
    if segment.slope is None:
        return Capacity(units * factors[-1].number("factor"), units, row, (step,))
    chosen = next((r for r in factors if _reaches(segment, context, r)), None)
    if chosen is None:
        least = units * factors[-1].number("factor")
        return Capacity(least, least, row, (step,), listed=False)
    if chosen.number("factor") == 1.0:
        return Capacity(units, units, row, (step,))
    reduced = units * chosen.number("factor")
    words = f"at {slope_text(segment.slope)} it may carry {chosen.number('factor'):g} of that"
    return Capacity(reduced, reduced, row, (step, Step(words, reduced, "DFU", chosen.clause)))


def _reaches(segment: DrainSegment, context: Context, row: Row) -> bool:
    return meets_slope(segment.slope or 0.0, row.number("slope_in_per_ft"), context)


def meets_slope(slope: float, least_in_per_ft: float, context: Context) -> bool:
    """Whether a slope is as steep as the code asks, within the accepted tolerance."""
    tolerance = context.code.limit("slope_tolerance").value
    return slope >= slope_from_in_per_ft(least_in_per_ft) * (1.0 - tolerance)


def _by_part(segment: DrainSegment, context: Context, size: float) -> Capacity | None:
    """IPC: branches, stacks, and the building drain with its branches by slope."""
    if segment.part is Part.STACK:
        return None  # judged as a stack, by its branch intervals
    if segment.part in BUILDING_DRAIN:
        return _building_drain(segment, context, size)
    row = context.code.table("branch_and_stack_capacity").one(size_in=size)
    if row is None and loads(context).fixtures[segment] == 1:
        return _building_drain(
            segment, context, size
        )  # a fixture drain may be as small as its trap
    if row is None:
        return None
    units = row.number("branch_dfu")
    words = f"{trade_size(size)} horizontal branch may carry"
    return Capacity(units, units, row, (Step(words, units, "DFU", row.clause),))


def _building_drain(segment: DrainSegment, context: Context, size: float) -> Capacity | None:
    table = context.code.table("building_drain_capacity")
    rows = sorted(table.where(size_in=size), key=lambda r: r.number("slope_in_per_ft"))
    if not rows:
        return None
    if segment.slope is None and not segment.vertical:
        steepest, flattest = rows[-1], rows[0]
        words = f"{trade_size(size)} at its flattest listed slope may carry"
        step = Step(words, flattest.number("max_dfu"), "DFU", flattest.clause)
        return Capacity(flattest.number("max_dfu"), steepest.number("max_dfu"), flattest, (step,))
    met = [r for r in rows if segment.vertical or _reaches(segment, context, r)]
    row = met[-1] if met else rows[0]
    listed_here = bool(met)
    units = row.number("max_dfu")
    listed = slope_text(slope_from_in_per_ft(row.number("slope_in_per_ft")))
    words = f"{trade_size(size)} at {listed} may carry"
    return Capacity(units, units, row, (Step(words, units, "DFU", row.clause),), listed_here)


@dataclass(frozen=True)
class Restriction:
    """Fixtures a drain of its size may take only so many of."""

    words: str
    count: float
    most: float
    clause: str


def restrictions(
    segment: DrainSegment, context: Context, size_in: float | None = None
) -> list[Restriction]:
    """What the code restricts on a drain of this size, with how many of it the run takes."""
    size = size_in if size_in is not None else segment.size_in
    if size is None:
        return []
    found = [_closets(segment, context, size)]
    for row in context.code.table("drain_restrictions").where(size_in=size):
        if not _row_is_for(row, segment):
            continue
        count = _restricted(context, row)[segment]
        words = _restricted_words(context, row, segment)
        found.append(Restriction(words, count, row.number("max_count"), row.clause))
    by_words = {(r.words, r.most): r for r in found if r.count}
    return list(by_words.values())


def _row_is_for(row: Row, segment: DrainSegment) -> bool:
    if "part" in row.values:
        return row.text("part") == "building drain" and segment.part in BUILDING_DRAIN
    return segment.orientation is None or row.text("orientation") == segment.orientation


def _closets(segment: DrainSegment, context: Context, size: float) -> Restriction:
    least = context.code.limit("water_closet_drain_in")
    count = loads(context).closets[segment] if size < least.value else 0.0
    return Restriction("water closet", count, 0, least.clause)


def _restricted_words(context: Context, row: Row, segment: DrainSegment) -> str:
    """The kinds of fixture, of those a row restricts, that the run takes."""
    by_kind = loads(context).count_by_kind
    kinds = [k for k in row.text("fixtures").split() if k in by_kind and by_kind[k][segment]]
    return " or ".join(kinds or ["six-unit trap"]).replace("-", " ")


@derived
def _restricted(context: Context, row: Row) -> dict[DrainSegment, float]:
    """How many of the fixtures a row restricts drain through every run."""
    over, six = row.number_or_none("dfu_over") or 0.0, row.number_or_none("any_trap_dfu_from")
    kinds = set(row.text("fixtures").split())
    values = {
        fixture: 1.0
        for fixture, units in loads(context).gives.items()
        if (fixture.kind in kinds and (units > over or fixture.kind == CLOSET))
        or (six is not None and units >= six)
    }
    return context.plumbing.load(values)


def _carries(segment: DrainSegment, context: Context, size: float) -> bool:
    """Whether a size carries the load; of an IPC stack the rules about stacks say that."""
    if segment.part is Part.STACK and context.code.family == "ipc":
        return True
    allowed = capacity(segment, context, size)
    return allowed is not None and loads(context).carried[segment] <= allowed.least


def listed_sizes(context: Context) -> tuple[float, ...]:
    """The drain sizes of the adopted code, ascending."""
    table = "drain_capacity" if context.code.family == "upc" else "branch_and_stack_capacity"
    return context.code.table(table).numbers("size_in")


def smallest_size(segment: DrainSegment, context: Context) -> float | None:
    """The smallest listed size that carries the load, takes its fixtures and does not narrow."""
    upstream = max(
        (r.size_in or 0.0 for r in segment.above if r.part is not Part.TAILPIECE), default=0
    )
    for size in listed_sizes(context):
        carries = _carries(segment, context, size)
        takes = all(r.count <= r.most for r in restrictions(segment, context, size))
        if size >= upstream and carries and takes:
            return size
    return None
