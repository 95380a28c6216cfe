"""Combination waste and vent: a drain so large that air always stands above the water."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import takewhile
from math import dist

from ifclint.checks import PASS, Fact, check, not_known
from ifclint.codes import Limit, Row
from ifclint.engineering.joined import NONE, onward
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import IN_PER_FT, M_PER_IN
from ifclint.engineering.wording import apart_text, trade_size
from ifclint.findings import Answer, Change
from ifclint.ifc.elements import Role
from ifclint.packs import Context, derived
from ifclint.plumbing import TrapArm, VentGroup
from ifclint.plumbing.drainage.loads import GIVE_LOADS
from ifclint.plumbing.drainage.piping import length_of
from ifclint.plumbing.drainage.segments import Part
from ifclint.plumbing.facts import fact
from ifclint.plumbing.venting.trap_arms import Meets
from ifclint.rules.venting.code_tables import (
    Allowed,
    allowed,
    is_for,
    method_row,
    next_size_in,
    rows,
    trap_arm_row,
)
from ifclint.rules.venting.groups import passing_dfu, passing_unstated
from ifclint.rules.venting.section import VentingSection
from ifclint.rules.venting.wording import arm_steps, feet

METHOD = "combination waste and vent"
TABLE, BRANCH_DFU = "combination_drain_vent", "branch_or_stack_dfu"
S_TRAP_DIAMETERS = 2.0  # a turn down so near the weir makes an S-trap; common practice
STACKS = frozenset({Part.STACK, Part.OFFSET})
OR_VENT = "Name the fixture by kind and give its trap a nominal size; or vent the trap."


class Enters(StrEnum):
    """How vented fixtures come into a building drain."""

    LEVEL = "by a level drain"
    DROP = "by a drop of less than a storey"
    STACK = "by a stack"


@dataclass(frozen=True, slots=True)
class Course:
    """How a trap drains into what may be a combination waste and vent."""

    level_m: float | None  # from the trap to where the combination begins, or to the drop before
    fallen_m: float  # between fixture drain and combination
    main: int  # the first pipe of the combination, -1 where none is found
    last: int  # the last element before that of the air
    dry: bool  # whether a dry vent joins it
    vented: bool | None  # by a dry vent, or a drain of vented fixtures of its floor; None: perhaps


def _course(arm: TrapArm, context: Context) -> Course:
    """Down from the trap: the fixture drain, a drop, the combination, to the first air."""
    piping, air = arm.piping, context.plumbing.venting.air
    down, came, index = piping.drainage.down, arm.start, piping.drainage.down[arm.start]
    own, fallen_m, first, last, main, joined = [], 0.0, NONE, NONE, NONE, False
    vented: bool | None = False
    grown, dry = False, False
    while index != NONE and piping.elements[index].role is not Role.CHAMBER:
        others = [i for i in piping.wet_above[index] if i != came]
        joints = [joint for joint in air.joints.get(index, ()) if joint.tree.is_vent]
        breathes = any(air.at[i] != NONE for i in others)
        if joints:
            vented = dry = True
        elif breathes and not vented:
            serves = _serves_vented(index, arm, context)
            vented = vented if serves is False else serves
        if vented is not False and others and main == NONE and last != NONE and not fallen_m:
            main = last  # the drain itself is the combination, up to a drain of vented fixtures
            break
        joined = joined or bool(others)
        if piping.is_vertical(index):
            if joined or main != NONE:
                break
            fallen_m += _falls_m(arm, index, came)
        elif main == NONE and not fallen_m and not grown:
            grown = _grows(first, index, arm)
            own += [] if grown else [index]
        if piping.is_horizontal(index):
            first, last = (index if first == NONE else first), index
            main = index if main == NONE and (joined or fallen_m) else main
        if vented and main != NONE:
            break
        came, index = index, down[index]
    return Course(
        _level_m(arm, tuple(own)), fallen_m, main if main != NONE else first, came, dry, vented
    )


def _level_m(arm: TrapArm, own: tuple[int, ...]) -> float | None:
    """How long a fixture drain is, along what it is of, to the drop where a pipe turns down."""
    piping, points = arm.piping, arm.piping.path(own, arm.piping.exit(arm.start))
    if own and piping.is_pipe(own[-1]) and piping.is_vertical(piping.drainage.down[own[-1]]):
        points.append(piping.exit(own[-1]))
    return length_of(points)


def _grows(first: int, index: int, arm: TrapArm) -> bool:
    """Whether a level drain is larger here than where it begins."""
    if not arm.piping.is_horizontal(index):
        return False
    begins = arm.piping.elements[first].size_in if first != NONE else None
    here = arm.piping.elements[index].size_in
    return begins is not None and here is not None and here > begins


def _falls_m(arm: TrapArm, index: int, came: int) -> float:
    """How far a drain falls in a vertical pipe and half of the fittings at its ends."""
    piping, heights = arm.piping, [p[2] for p in arm.piping.ends(index)]
    for beside in (came, piping.drainage.down[index]):
        if beside != NONE and beside != arm.start and piping.elements[beside].role is Role.FITTING:
            heights += [middle[2] for middle in (piping.middle(beside),) if middle is not None]
    return max(heights) - min(heights)


@derived
def _vented_by_floor(context: Context) -> dict[tuple[float | str, Enters], list[float]]:
    """For each floor, and way into the building drain, how many of its fixtures that have a vent
    drain through every element; a closet or bathtub on a wet vent has one."""
    level_of, drainage = context.plumbing.surroundings.floors.level_of, context.plumbing.drainage
    row = method_row(context, METHOD)
    values: dict[tuple[float | str, Enters], dict[int, float]] = defaultdict(dict)
    for arm in context.plumbing.venting.arms:
        on_wet_vent = arm.meets is Meets.WET_DRAIN and not arm.joined_by
        barred = row is not None and arm.fixture.kind and not is_for(row, arm.fixture)
        if arm.meets is Meets.VENT or (on_wet_vent and barred):
            key = (level_of(arm.fixture.element), _enters(arm, context))
            values[key][arm.fixture.index] = 1.0
    return {key: drainage.accumulate(given) for key, given in values.items()}


@derived
def _parts(context: Context) -> dict[int, Part]:
    """What each pipe is to the building."""
    return {i: s.part for s in context.plumbing.drains for i in s.indexes if s.part is not None}


def _enters(arm: TrapArm, context: Context) -> Enters:
    """How water gets from the vent of a trap into the building drain."""
    part_of, piping = _parts(context), arm.piping
    index, fell = arm.path[-1] if arm.path else piping.drainage.down[arm.start], False
    for below in onward(index, piping.drainage.down):
        if part_of.get(below) is Part.BUILDING_DRAIN:
            break
        if part_of.get(below) in STACKS:
            return Enters.STACK
        fell = fell or piping.is_vertical(below)
    return Enters.DROP if fell else Enters.LEVEL


def _serves_vented(index: int, arm: TrapArm, context: Context) -> bool | None:
    """Whether a fixture of the same floor that has a vent drains through an element.

    What a building drain takes from stacks alone is no vent; None where it takes it from drops of
    less than a storey, which one may call stacks or not.
    """
    floor = context.plumbing.surroundings.floors.level_of(arm.fixture.element)
    through = {way: _vented_by_floor(context).get((floor, way)) for way in Enters}
    ways = {way for way, taken in through.items() if taken is not None and taken[index] > 0}
    if Enters.LEVEL in ways or (ways and not _in_building_drain(index, arm, context)):
        return True
    return None if Enters.DROP in ways else False


def _in_building_drain(index: int, arm: TrapArm, context: Context) -> bool:
    """Whether an element is of the building drain proper, or a fitting that leads into it."""
    return _parts(context).get(arm.piping.next_pipe(index)) is Part.BUILDING_DRAIN


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
    if row is None or not is_for(row, arm.fixture):
        return False
    approved = context.job.section(VentingSection).combination_approved
    return allowed(row) is Allowed.YES or (allowed(row) is Allowed.CONDITIONAL and approved is True)


def joins_drops_only(arm: TrapArm, context: Context) -> bool:
    """Whether a combination joins a building drain that takes nothing but drops of less than a
    storey: to some they are stacks, and it lacks a dry vent."""
    return context.code.family == "ipc" and _course(arm, context).vented is None


def has_dry_vent(arm: TrapArm, context: Context) -> bool:
    """Whether the combination that an arm leads to has a dry vent of its own."""
    return context.code.family == "ipc" and _course(arm, context).dry


def passes_as_combination(arm: TrapArm, context: Context) -> bool:
    """Whether the arm is no trap arm, but leads level into a combination waste and vent."""
    if turns_down_at(arm) or may_be_combination(arm, context) is not PASS:
        return False
    ipc = context.code.family == "ipc"
    return not ipc or all(_carries(arm, i, context) is PASS for i in _pipes_of(arm, context))


def turns_down_at(arm: TrapArm) -> bool:
    """Whether the arm comes level to where it ends, and the drain goes down from there."""
    piping, last = arm.piping, arm.path[-1]
    before = next((i for i in reversed(arm.path[:-1]) if piping.is_pipe(i)), None)
    below = piping.next_pipe(piping.drainage.down[last])
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
    code, course, piping = context.code, _course(arm, context), arm.piping
    if course.vented is False or course.main < 0 or _is_s_trap(arm, course):
        return None
    if _barred(context)[course.main] or _barred(context)[course.last]:
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


def _pipes_of(arm: TrapArm, context: Context) -> list[int]:
    """The level pipes of the combination that an arm leads to, from the first to the last."""
    piping, course = arm.piping, _course(arm, context)
    way = [
        course.main,
        *takewhile(lambda i: i != course.last, onward(course.main, piping.drainage.down)),
        course.last,
    ]
    if course.last not in piping.drainage.path(course.main):
        return [course.main]
    return [i for i in dict.fromkeys(way) if piping.is_pipe(i) and piping.is_horizontal(i)]


def _carries(arm: TrapArm, index: int, context: Context) -> Answer:
    """Whether a pipe is as large as the table asks of a combination for what it carries."""
    row, size = row_at(index, context), arm.piping.elements[index].size_in
    if size is None or row is None:
        return _not_known(arm)
    return _large(arm, size, row.limit("size_in", "in"))


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
        if f.kind and f.kind != "dishwasher" and (row is None or not is_for(row, f))
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
