"""Combination waste and vent: a drain so large that air always stands above the water."""

from __future__ import annotations

from dataclasses import replace

from ifclint.checks import PASS, check, unverified
from ifclint.codes import Limit
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.wording import trade_size
from ifclint.findings import Answer, Change
from ifclint.packs import Context
from ifclint.plumbing import TrapArm, VentGroup
from ifclint.plumbing.drainage.loads import loads
from ifclint.plumbing.facts import fact
from ifclint.plumbing.venting.trap_arms import Meets
from ifclint.rules.venting.code_tables import (
    Allowed,
    allowed,
    is_for,
    method_row,
    next_size_in,
    rows,
)
from ifclint.rules.venting.section import VentingSection
from ifclint.rules.venting.wording import arm_steps, feet

METHOD = "combination waste and vent"
OR_VENT = "Name the fixture by kind and give its trap a nominal size; or vent the trap."


def may_be_combination(arm: TrapArm, context: Context) -> Answer | None:
    """The answer for an arm without a vent whose fixture the code lets drain into a combination
    waste and vent; None where it cannot be one.
    """
    row = method_row(context, METHOD)
    if row is None or arm.meets is Meets.DROP or not is_for(row, arm.fixture):
        return None
    approved = context.job.section(VentingSection).combination_approved
    if allowed(row) is Allowed.NO or (allowed(row) is Allowed.CONDITIONAL and not approved):
        return None
    if arm.size_in is None:
        return _not_known(arm, "Give the pipe a nominal diameter.")
    by_family = {"upc": _two_sizes, "ipc": _by_table}
    return by_family[context.code.family](arm, arm.size_in, context)


def are_combination(group: VentGroup, context: Context) -> bool:
    """Whether every trap that breathes through the drain passes as a combination waste and vent."""
    return all(may_be_combination(arm, context) is PASS for arm in group.wet)


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
    said = f"The branch of {arm.fixture.label} runs {length:.1f} ft without a vent."
    most = context.code.limit("combination_branch_ft")
    return _short(arm, length, most, said, "Vent the branch.")


def _by_table(arm: TrapArm, size: float, context: Context) -> Answer:
    """IPC: by table; and only little of it vertical."""
    most, fall = context.code.limit_or_none("combination_vertical_ft"), feet(_vertical_m(arm))
    said = f"The drain of {arm.fixture.label} falls {fall:.1f} ft without a vent."
    remedy = "Vent the trap, or lay its drain level."
    if most is not None and (answer := _short(arm, fall, most, said, remedy)) is not PASS:
        return answer
    load = sum(loads(context).gives[f] for f in arm.fixtures)
    listed = rows(context, "combination_drain_vent")
    fitting = next((r for r in listed if at_most(load, r.number("branch_or_stack_dfu"))), None)
    return _not_known(arm) if fitting is None else _large(arm, size, fitting.limit("size_in", "in"))


def listed_trap_in(arm: TrapArm, context: Context) -> float | None:
    """The smallest trap the code lists for the fixture, whatever trap is fitted."""
    facts = {k: v for k, v in arm.fixture.element.properties.items() if k != "trap_in"}
    occupancy = context.job.building.occupancy or "private"
    units = context.code.fixture_units(arm.fixture.kind, occupancy, facts)
    listed = units.trap_in if units is not None else None
    return arm.trap_size_in if listed is None else listed


def _vertical_m(arm: TrapArm) -> float:
    heights = [[p[2] for p in arm.piping.ends(i)] for i in arm.path if arm.piping.is_vertical(i)]
    return sum(max(ends) - min(ends) for ends in heights)


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
    return unverified(
        f"Whether the drain of {arm.fixture.label} may be a {METHOD} is not known.", remedy
    )
