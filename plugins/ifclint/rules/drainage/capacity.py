"""What a drain may carry for its size, orientation and slope, and the smallest size that would."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from ifclint.codes import Limit, Row
from ifclint.engineering.arithmetic import largest
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import M_PER_FT, slope_from_in_per_ft
from ifclint.engineering.wording import slope_text, trade_size
from ifclint.findings import Step
from ifclint.packs import Context, derived
from ifclint.plumbing import DrainSegment, Part
from ifclint.plumbing.drainage.least_slope import (
    drain_meets_slope,
    least_slope,
    slope_rows,
)
from ifclint.plumbing.drainage.loads import INTO_THE_SINK, loads, restricted_by

BUILDING_DRAIN = (Part.BUILDING_DRAIN, Part.BUILDING_DRAIN_BRANCH, Part.OFFSET, Part.UNKNOWN)
SHORT_STACK = "stack_three_intervals_dfu"
PUMPED_WASTE = ("disposer", "clothes-washer", "dishwasher")


@dataclass(frozen=True)
class DrainCapacity:
    """What a drain may carry, DFU; `least` and `most` differ only where its slope is not known."""

    most: Limit
    least: float
    steps: tuple[Step, ...]
    listed: bool = True  # False where the drain is flatter than any slope the code lists


def is_trap_arm(segment: DrainSegment, context: Context) -> bool:
    """Whether it is trap arm: air reaches its end, or it is no longer than the code lets one be."""
    if segment.part is not Part.TRAP_ARM:
        return False
    if segment.is_vented_arm or segment.length_m is None or segment.size_in is None:
        return True  # whether a vented one is too long is for the rules about venting
    if segment.indexes[-1] in _breathing_arms(context):
        return True
    row = context.code.table("trap_arms").next_row("size_in", segment.size_in)
    length_ft = segment.length_m / M_PER_FT
    return row is None or at_most(length_ft, row.number("max_length_ft"), "ft")


@derived
def _breathing_arms(context: Context) -> set[int]:
    """The pieces of the trap arms that end at a vent, or at a drain that breathes from above."""
    arms = (arm for arm in context.plumbing.venting.arms if arm.breathes)
    return {index for arm in arms for index in arm.path}


def capacity(
    segment: DrainSegment, context: Context, size_in: float | None = None
) -> DrainCapacity | None:
    """The capacity of a segment, as it is or in another size; None where the code lists none."""
    size = size_in if size_in is not None else segment.size_in
    if size is None or segment.orientation is None:
        return None
    by_family = {"upc": _by_orientation, "ipc": _by_part}
    return by_family[context.code.family](segment, context, size)


def _by_orientation(segment: DrainSegment, context: Context, size: float) -> DrainCapacity | None:
    """UPC: vertical and horizontal drains, the horizontal ones reduced where they are flatter."""
    row = context.code.table("drain_capacity").one(size_in=size, orientation=segment.orientation)
    if row is None:
        return None
    most = row.limit("max_dfu", "DFU")
    words = f"{trade_size(size)} {segment.orientation} drain may carry"
    steps: tuple[Step, ...] = (most.step(words),)
    if segment.vertical:
        return DrainCapacity(most, most.value, steps)
    factors = sorted(context.code.table("slope_factors").rows, key=lambda r: -r.number("factor"))
    flattest = factors[-1]
    lowest = most.value * flattest.number("factor")
    if segment.slope is None:
        return DrainCapacity(most, lowest, steps)
    chosen = next((r for r in factors if _reaches(segment, context, r, size)), None)
    if chosen is None:
        words = f"at {slope_text(segment.slope)}, flatter than any slope listed, it may carry"
        words = f"{words} less than {flattest.number('factor'):g} of that"
        steps = (*steps, Step(words, lowest, "DFU", flattest.clause))
        return DrainCapacity(replace(most, value=lowest), lowest, steps, listed=False)
    factor = chosen.number("factor")
    reduced = most.value * factor
    if factor != 1.0:
        words = f"at {slope_text(segment.slope)} it may carry {factor:g} of that"
        steps = (*steps, Step(words, reduced, "DFU", chosen.clause))
    listed = _is_listed(segment, context, factors)
    return DrainCapacity(replace(most, value=reduced), reduced, steps, listed)


def _is_listed(segment: DrainSegment, context: Context, rows: Iterable[Row]) -> bool:
    """Whether a drain is as steep as one of the slopes listed."""
    slopes = (row.number("slope_in_per_ft") for row in rows)
    return any(drain_meets_slope(segment, slope, context) for slope in slopes)


def _reaches(segment: DrainSegment, context: Context, row: Row, size: float) -> bool:
    """Whether a drain is so steep, or is to be: one that is too flat gets the least slope first."""
    if _is_listed(segment, context, [row]):
        return True
    slope = row.number("slope_in_per_ft")
    told = (r for r in slope_rows(size, context, "drainage") if r.text("min_in_per_ft"))
    asked = least_slope(list(told), context)
    return asked is not None and at_most(slope, asked.value, "in/ft")


def _by_part(segment: DrainSegment, context: Context, size: float) -> DrainCapacity | None:
    """IPC: branches, stacks, and the building drain with its level branches by slope.

    A drop in the building drain or its branches falls through no storey and belongs to them, at the
    steepest slope listed. What leads to a stack is a horizontal branch with its vertical sections;
    the IRC lists the upright branches of the building drain, too, with the stacks.
    """
    if segment.part is Part.STACK:
        return None  # judged as a stack, by its branch intervals
    is_irc = context.code.is_edition_of("irc")
    upright_branch = segment.vertical and segment.part is Part.BUILDING_DRAIN_BRANCH
    if segment.part in BUILDING_DRAIN and not (upright_branch and is_irc):
        listed = _building_drain(segment, context, size)
        if listed is not None or not upright_branch:
            return listed or _small_branch(segment, context, size)
    row = context.code.table("branch_and_stack_capacity").one(size_in=size)
    if row is None:  # a fixture drain may be as small as its trap
        alone = loads(context).fixtures[segment] == 1
        return _building_drain(segment, context, size) if alone else None
    return _as_branch(row, size, upright_branch or (segment.vertical and is_irc))


def _as_branch(row: Row, size: float, by_stacks: bool | None) -> DrainCapacity | None:
    if by_stacks and row.number_or_none(SHORT_STACK) is not None:
        return _listed(row, SHORT_STACK, f"{trade_size(size)} vertical drain may carry")
    return _listed(row, "branch_dfu", f"{trade_size(size)} horizontal branch may carry")


def fits_a_branch(segment: DrainSegment, size: float, context: Context, load: float) -> bool:
    """Whether a drain of this size could carry its load if what it leads to made it a branch."""
    if context.code.family != "ipc":
        return False  # the UPC tells branches from other drains by nothing
    row = context.code.table("branch_and_stack_capacity").one(size_in=size)
    most = row and _as_branch(row, size, segment.vertical and context.code.is_edition_of("irc"))
    return bool(most and at_most(load, most.most.value))


def _small_branch(segment: DrainSegment, context: Context, size: float) -> DrainCapacity | None:
    """IRC: a level branch of the building drain may be smaller than any building drain listed;
    then it carries what branches of its size do, for few fixtures."""
    row = context.code.table("branch_and_stack_capacity").one(size_in=size)
    is_main = segment.part is Part.BUILDING_DRAIN and not _takes_in_more(segment, context)
    if row is None or is_main or not _small_branches(context):
        return None
    return _listed(row, "branch_dfu", f"{trade_size(size)} {segment.orientation} drain may carry")


def _takes_in_more(segment: DrainSegment, context: Context) -> bool:
    """Whether other fixtures come in further down: it is a branch, also from the foot of a
    stack."""
    last = segment
    while last.next is not None:
        last = last.next
    made = loads(context)
    return made.fixtures[last] > made.fixtures[segment]


def _small_branches(context: Context) -> Limit | None:
    """How many fixtures such a branch may take; None where the code has none."""
    return context.code.limit_or_none("small_building_drain_branch_fixtures")


def _too_many(segment: DrainSegment, context: Context, size: float) -> list[Restriction]:
    """IRC: the fixtures on a level branch of the building drain that is smaller than any listed."""
    most = _small_branches(context)
    if most is None or segment.vertical or segment.part not in BUILDING_DRAIN:
        return []
    if at_least(size, min(context.code.table("building_drain_capacity").numbers("size_in")), "in"):
        return []
    counts = loads(context).count_by_kind
    pumped = [kind for kind in PUMPED_WASTE if kind in counts and counts[kind][segment]]
    if pumped:
        most = context.code.limit("small_building_drain_branch_pumped_fixtures")
    others = (kind for kind in counts if kind not in INTO_THE_SINK)
    return [Restriction("waste fixture", sum(counts[k][segment] for k in others), most)]


def _listed(row: Row, column: str, words: str, listed: bool = True) -> DrainCapacity:
    most = row.limit(column, "DFU")
    return DrainCapacity(most, most.value, (most.step(words),), listed)


def _building_drain(segment: DrainSegment, context: Context, size: float) -> DrainCapacity | None:
    table = context.code.table("building_drain_capacity")
    rows = sorted(table.where(size_in=size), key=lambda r: r.number("slope_in_per_ft"))
    if not rows:
        return None
    if segment.slope is None and not segment.vertical:
        words = f"{trade_size(size)} at its flattest listed slope may carry"
        return replace(_listed(rows[0], "max_dfu", words), most=rows[-1].limit("max_dfu", "DFU"))
    met = [r for r in rows if segment.vertical or _reaches(segment, context, r, size)]
    row = met[-1] if met else rows[0]
    listed = segment.vertical is True or _is_listed(segment, context, rows)
    slope = slope_text(slope_from_in_per_ft(row.number("slope_in_per_ft")))
    return _listed(row, "max_dfu", f"{trade_size(size)} at {slope} may carry", listed)


@dataclass(frozen=True)
class Restriction:
    """Fixtures a drain of its size may take only so many of."""

    words: str
    count: float
    most: Limit

    @property
    def is_met(self) -> bool:
        return at_most(self.count, self.most.value)


def restrictions(
    segment: DrainSegment,
    context: Context,
    size_in: float | None = None,
    orientation: str | None = None,
) -> list[Restriction]:
    """What the code restricts on a drain of this size and orientation, with how many of it the
    segment takes."""
    size = size_in if size_in is not None else segment.size_in
    if size is None:
        return []
    found = []
    closet_drain, closets = context.code.limit("water_closet_drain_in"), loads(context).closets
    if closets[segment] and not at_least(size, closet_drain.value, "in"):
        none = replace(closet_drain, value=0.0, unit="")
        found.append(Restriction("water closet", closets[segment], none))
    for row in context.code.table("drain_restrictions").where(size_in=size):
        if _row_is_for(row, segment, orientation or segment.orientation):
            words, most = _restricted_words(context, row, segment), row.limit("max_count", "")
            found.append(Restriction(words, _restricted(context, row)[segment], most))
    found += _too_many(segment, context, size)
    return list({(r.words, r.most.value): r for r in found if r.count}.values())


def _row_is_for(row: Row, segment: DrainSegment, orientation: str | None) -> bool:
    if "part" in row.values:
        return segment.part in BUILDING_DRAIN  # the IPC restricts nothing else
    return orientation is None or row.text("orientation") == orientation


def _restricted_words(context: Context, row: Row, segment: DrainSegment) -> str:
    """The kinds of fixture, of those a row restricts, that the segment takes."""
    by_kind = loads(context).count_by_kind
    kinds = [k for k in row.text("fixtures").split() if k in by_kind and by_kind[k][segment]]
    return " or ".join(kinds or ["six-unit trap"]).replace("-", " ")


@derived
def _restricted(context: Context, row: Row) -> dict[DrainSegment, float]:
    """How many of the fixtures a row restricts drain through every segment."""
    return context.plumbing.load(dict.fromkeys(restricted_by(context, row), 1.0))


def _carries(segment: DrainSegment, context: Context, size: float) -> bool:
    """Whether a size carries the load; of an IPC stack the rules about stacks say that."""
    if segment.part is Part.STACK and context.code.family == "ipc":
        return True
    allowed = capacity(segment, context, size)
    return allowed is not None and at_most(loads(context).carried[segment], allowed.least)


def listed_sizes(context: Context) -> tuple[float, ...]:
    """The drain sizes of the adopted code, ascending."""
    table = "drain_capacity" if context.code.family == "upc" else "branch_and_stack_capacity"
    return context.code.table(table).numbers("size_in")


def smallest_size(segment: DrainSegment, context: Context) -> float | None:
    """The smallest listed size that carries the load, takes its fixtures and does not narrow."""
    above = [r.size_in for r in segment.above if r.part is not Part.TAILPIECE]
    upstream = largest(size for size in above if size is not None)
    for size in listed_sizes(context):
        takes = all(r.is_met for r in restrictions(segment, context, size))
        if size >= upstream and takes and _carries(segment, context, size):
            return size
    return None
