"""Combination waste and vent: a drain so large that air always stands above the water."""

from dataclasses import replace
from math import dist

from ifclint.checks import PASS, Fact, check, not_known
from ifclint.codes import Limit, Row
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import IN_PER_FT, M_PER_IN, feet
from ifclint.engineering.wording import apart_text, trade_size
from ifclint.findings import Answer, Change
from ifclint.packs import Context, derived
from ifclint.plumbing import Fixture, TrapArm, VentGroup
from ifclint.plumbing.drainage.loads import GIVE_LOADS
from ifclint.plumbing.drainage.segments import Part
from ifclint.plumbing.facts import fact
from ifclint.plumbing.venting.trap_arms import Meets
from ifclint.plumbing.venting.vent_groups import DRAIN_AND_VENT
from ifclint.plumbing.words import says
from ifclint.rules.venting.code_tables import (
    Allowed,
    allowed,
    is_for,
    method_row,
    next_size_in,
    rows,
    trap_arm_row,
)
from ifclint.rules.venting.combination_course import METHOD, Course, course_of
from ifclint.rules.venting.groups import passing_dfu, passing_unstated
from ifclint.rules.venting.section import VentingSection
from ifclint.rules.venting.wording import arm_steps

TABLE, BRANCH_DFU = "combination_drain_vent", "branch_or_stack_dfu"
S_TRAP_DIAMETERS = 2.0  # a turn down so near the weir makes an S-trap; common practice
FLOOR_DRAIN = "floor-drain"  # often without a vent by intent
DISPOSER = (
    "disposer", "food waste grinder", "garbage disposal", "waste disposal unit", "triturador",
)  # fmt: skip
OR_VENT = "Name the fixture by kind and give its trap a nominal size; or vent the trap."


def may_be_combination(arm: TrapArm, context: Context) -> Answer | None:
    """The answer for an arm without a vent whose fixture the code lets drain into a combination
    waste and vent; None where it cannot be one.
    """
    if not may_combine(arm, context):
        return None
    if arm.size_in is None:
        return _not_known(arm, "Give the pipe a nominal diameter.")
    if context.code.family == "ipc":
        return _by_table(arm, context)
    return None if arm.meets is Meets.DROP else _two_sizes(arm, arm.size_in, context)


def may_combine(arm: TrapArm, context: Context) -> bool:
    """Whether the code lets the fixture of an arm drain into a combination waste and vent."""
    row = method_row(context, METHOD)
    if row is None or not is_for(row, arm.fixture) or has_disposer(arm.fixture):
        return False
    approved = context.job.section(VentingSection).combination_approved
    return allowed(row) is Allowed.YES or (allowed(row) is Allowed.CONDITIONAL and approved is True)


def has_disposer(fixture: Fixture) -> bool:
    """Whether a sink is named with the food waste disposer that it has."""
    return says(fixture.element, DISPOSER)


def joins_drops_only(arm: TrapArm, context: Context) -> bool:
    """Whether a combination joins a building drain that takes nothing but drops of less than a
    storey: to some they are stacks, and it lacks a dry vent."""
    return context.code.family == "ipc" and course_of(context, arm).air.vented is None


def is_meant(arm: TrapArm, context: Context) -> bool:
    """Whether an arm leads to a combination that begins at a floor drain with its dry vent: where
    that is so, no vent was forgotten."""
    if context.code.family != "ipc":
        return False
    return arm.piping.drainage.down[course_of(context, arm).air.last] in _from_floor_drains(context)


@derived
def _from_floor_drains(context: Context) -> frozenset[int]:
    """The elements through which fixtures breathe from the dry vent of a floor drain."""
    groups = (g for g in context.plumbing.venting.groups if g.method in DRAIN_AND_VENT and g.own)
    lines = (g for g in groups if all(arm.fixture.kind == FLOOR_DRAIN for arm in g.own))
    return frozenset(index for group in lines for index in group.path)


def has_dry_vent(arm: TrapArm, context: Context) -> bool:
    """Whether the combination that an arm leads to has a dry vent of its own."""
    return context.code.family == "ipc" and course_of(context, arm).air.dry


def needs_no_approval(context: Context) -> bool:
    """Whether the code allows combinations without a word of the authority."""
    row = method_row(context, METHOD)
    return row is not None and allowed(row) is Allowed.YES


def passes_as_combination(arm: TrapArm, context: Context) -> bool:
    """Whether the arm is no trap arm, but leads level into a combination waste and vent."""
    if turns_down_at(arm) or may_be_combination(arm, context) is not PASS:
        return False
    if context.code.family != "ipc":
        return True
    course, too_small = course_of(context, arm), _too_small(context)
    return too_small[course.main] == too_small[arm.piping.drainage.down[course.air.last]]


def turns_down_at(arm: TrapArm) -> bool:
    """Whether the arm comes level to where it ends, and the drain goes down from there."""
    piping, last = arm.piping, arm.path[-1]
    before = next((i for i in reversed(arm.path[:-1]) if piping.is_pipe(i)), None)
    below = piping.next_pipe(last)
    level = before is not None and piping.is_horizontal(before)
    return level and below != NONE and piping.is_vertical(below)


def are_combination(arms: list[TrapArm], context: Context) -> bool:
    """Whether every one of some traps passes as draining into a combination waste and vent."""
    return all(passes_as_combination(arm, context) for arm in arms)


def beside_combination(group: VentGroup, context: Context) -> VentGroup:
    """The group without the last of its traps, as far down as they drain into a combination waste
    and vent: that joins the drain below, and is no part of the wet vent."""
    wet = list(group.wet)
    while wet and passes_as_combination(wet[-1], context):
        wet.pop()
    return group if len(wet) == len(group.wet) else group.ending_at(wet)


def _two_sizes(arm: TrapArm, size: float, context: Context) -> Answer:
    """UPC: two pipe sizes larger than the trap asks for; a long branch is vented all the same."""
    larger, asked = context.code.limit("combination_sizes_larger"), listed_trap_in(arm, context)
    if asked is None:
        return _not_known(arm)
    large = replace(larger, value=next_size_in(asked, int(larger.value)), unit="in")
    if (answer := _large(arm, size, large)) is not PASS:
        return answer
    if arm.length_m is None:
        return _not_known(arm, fact("length_m").remedy)
    length = feet(arm.length_m)
    most = context.code.limit("combination_branch_ft")
    long = apart_text(length, most.value, "ft")
    said = f"The branch of {arm.fixture.label} runs {long} without a vent."
    return _short(arm, length, most, said, "Vent the branch.")


def _by_table(arm: TrapArm, context: Context) -> Answer | None:
    """IPC: a vent somewhere, no fixture that is barred from it, little of it vertical, not steep,
    and large enough by the table.
    """
    code, course, piping = context.code, course_of(context, arm), arm.piping
    if course.air.vented is False or course.main < 0 or _is_s_trap(arm, course):
        return None
    if _barred(context)[course.main] or _barred(context)[course.air.last]:
        return None
    fall, main = feet(course.fallen_m), piping.elements[course.main]
    most, remedy = code.limit("combination_vertical_ft"), "Vent the trap, or lay its drain level."
    deep = apart_text(fall, most.value, "ft")
    said = f"The drain of {arm.fixture.label} falls {deep} without a vent."
    if (answer := _short(arm, fall, most, said, remedy)) is not PASS:
        return answer
    steep = _slope(course.main, arm) * IN_PER_FT
    most = code.limit("combination_max_in_per_ft")
    falls = apart_text(steep, most.value, "in per ft")
    said = f"{main.label} falls {falls}: too steep for a {METHOD}."
    if (
        answer := _short(arm, steep, most, said, "Vent the trap, or lay the drain flatter.")
    ) is not PASS:
        return answer
    if (answer := _carries(arm, course.main, context)) is not PASS:
        return answer
    if passing_unstated(context)[course.main]:
        return _not_known(arm, GIVE_LOADS)
    row = row_at(course.main, context)
    return PASS if row is None else _near(arm, course, row.number("size_in"), context)


def _carries(arm: TrapArm, index: int, context: Context) -> Answer:
    """Whether a pipe is as large as the table asks of a combination for what it carries."""
    row, size = row_at(index, context), arm.piping.elements[index].size_in
    if size is None or row is None:
        return _not_known(arm)
    return _large(arm, size, row.limit("size_in", "in"))


@derived
def _too_small(context: Context) -> list[int]:
    """How many level pipes, from each element down, are smaller than the table asks of a
    combination for what they carry, or may be."""
    piping = context.plumbing.venting.piping
    found = [0] * (len(piping.elements) + 1)  # the last is that of no element, -1
    for index in piping.drainage.order:
        found[index] = found[piping.drainage.down[index]]
        if piping.is_horizontal(index):
            row, size = row_at(index, context), piping.elements[index].size_in
            if row is None or size is None or not at_least(size, row.number("size_in"), "in"):
                found[index] += 1
    return found


def row_at(index: int, context: Context) -> Row | None:
    """The row of the table for what a pipe carries as a combination."""
    column = "building_drain_dfu" if index in _building_drains(context) else BRANCH_DFU
    load = passing_dfu(context)[index]
    return next((r for r in rows(context, TABLE) if at_most(load, r.number(column))), None)


@derived
def _barred(context: Context) -> list[bool]:
    """Whether a fixture that the code bars from the method drains through each element; what
    empties into a sink, and fixtures of unknown kind, are none."""
    row = method_row(context, METHOD)
    return context.plumbing.drainage.passed_by(
        f.index
        for f in context.plumbing.fixtures
        if f.kind
        and f.kind != "dishwasher"
        and (row is None or not is_for(row, f) or has_disposer(f))
    )


def _near(arm: TrapArm, course: Course, wanted_in: float, context: Context) -> Answer:
    """The fixture drain, as far as it is smaller than a combination, no longer than a trap arm."""
    row = trap_arm_row(arm, context)
    if course.level_m is None or row is None:
        return _not_known(arm, fact("length_m").remedy)
    if arm.size_in is not None and at_least(arm.size_in, wanted_in, "in") and not course.fallen_m:
        return PASS
    length, most = feet(course.level_m), row.limit("max_length_ft", "ft")
    long = apart_text(length, most.value, "ft")
    said = f"The drain of {arm.fixture.label} runs {long} to the {METHOD}."
    return _short(arm, length, most, said, "Bring the trap nearer.")


def _is_s_trap(arm: TrapArm, course: Course) -> bool:
    """Whether the drain drops right at the trap."""
    if not course.fallen_m or course.level_m is None or arm.size_in is None:
        return False
    return at_most(course.level_m, S_TRAP_DIAMETERS * arm.size_in * M_PER_IN, "m")


@derived
def _building_drains(context: Context) -> set[int]:
    """The pipes of building drains and of their branches."""
    parts = (Part.BUILDING_DRAIN, Part.BUILDING_DRAIN_BRANCH)
    return {i for s in context.plumbing.drains if s.part in parts for i in s.indexes}


def _slope(index: int, arm: TrapArm) -> float:
    """How a horizontal pipe falls, rise over run; 0 where its ends are not known."""
    ends = sorted(arm.piping.ends(index), key=lambda p: p[2])
    run = dist(ends[0][:2], ends[-1][:2]) if len(ends) > 1 else 0.0
    return (ends[-1][2] - ends[0][2]) / run if run > M_PER_IN else 0.0


def listed_trap_in(arm: TrapArm, context: Context) -> float | None:
    """The smallest trap the code lists for the fixture, whatever trap is fitted."""
    facts = {k: v for k, v in arm.fixture.element.properties.items() if k != "trap_in"}
    occupancy = context.job.building.use
    units = context.code.fixture_units(arm.fixture.kind, occupancy, facts)
    listed = units.trap_in if units is not None else None
    return arm.trap_size_in if listed is None else listed


def _short(arm: TrapArm, measured_ft: float, most: Limit, message: str, remedy: str) -> Answer:
    return check(
        round(measured_ft, 2),
        at_most=most,
        message=message,
        remedy=remedy,
        steps=lambda: arm_steps(arm),
        limit_step="At most",
    )


def _large(arm: TrapArm, size: float, wanted: Limit) -> Answer:
    text = f"Vent the trap, or make its drain {trade_size(wanted.value)} from the trap on."
    return check(
        size,
        at_least=wanted,
        message=f"The trap of {arm.fixture.label} has no vent, and its {trade_size(size)} drain is "
        f"too small for a {METHOD}.",
        remedy=Change("size", arm.element_ids[1:], wanted.value, text),
        steps=lambda: arm_steps(arm),
        limit_step="Size it would need",
    )


def _not_known(arm: TrapArm, remedy: str = OR_VENT) -> Answer:
    return not_known(Fact(f"whether the drain of {{}} may be a {METHOD}", remedy), arm.fixture)
