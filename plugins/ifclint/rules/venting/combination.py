"""Combination waste and vent: a drain so large that air always stands above the water."""

from __future__ import annotations

from ifclint.checks import PASS, unverified, violation
from ifclint.engineering.trade_sizes import TRADE_SIZES
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import trade_size
from ifclint.findings import Answer, Measure, Step
from ifclint.packs import Context
from ifclint.plumbing import TrapArm
from ifclint.plumbing.drainage.loads import loads
from ifclint.plumbing.venting.trap_arms import Meets
from ifclint.rules.venting.section import VentingSection
from ifclint.rules.venting.wording import arm_steps, feet, limit, method_row, rows

METHOD = "combination waste and vent"


def may_be_combination(arm: TrapArm, context: Context) -> Answer | None:
    """The answer for an arm without a vent whose fixture the code lets drain into a combination
    waste and vent; None where it cannot be one.
    """
    row = method_row(context, METHOD)
    if row is None or row.text("allowed") == "no" or arm.meets is Meets.DROP:
        return None
    if arm.fixture.kind not in row.text("fixtures").split():
        return None
    if (
        row.text("allowed") == "conditional"
        and not context.job.section(VentingSection).combination_approved
    ):
        return None
    if arm.size_in is None:
        return unverified(
            f"Whether the drain of {arm.fixture.label} suits a {METHOD} is not known.",
            "Give the pipe a nominal diameter.",
        )
    by_family = {"upc": _two_sizes, "ipc": _by_table}
    return by_family[context.code.family](arm, context)


def _two_sizes(arm: TrapArm, context: Context) -> Answer:
    """UPC: two pipe sizes larger than the trap asks for; a long branch is vented all the same."""
    larger, longest = (
        limit(context, "combination_sizes_larger"),
        limit(context, "combination_branch_ft"),
    )
    asked = _listed_trap(arm, context)
    if larger is None or asked is None or asked not in TRADE_SIZES:
        return _not_known(arm)
    number = TRADE_SIZES.index(asked) + int(larger.value)
    wanted = TRADE_SIZES[min(number, len(TRADE_SIZES) - 1)]
    if (arm.size_in or 0.0) < wanted:
        return _too_small(arm, wanted, larger.clause)
    if longest is not None and arm.length_m is not None and feet(arm.length_m) > longest.value:
        return violation(
            message=(
                f"The branch of {arm.fixture.label} runs {feet(arm.length_m):.1f} ft without "
                "a vent."
            ),
            remedy="Vent the branch.",
            measured=Measure(round(feet(arm.length_m), 2), "ft"),
            required=Measure(longest.value, "ft", "at most"),
            steps=(*arm_steps(arm), Step("At most", longest.value, "ft", longest.clause)),
            clause=longest.clause,
        )
    return PASS


def _by_table(arm: TrapArm, context: Context) -> Answer:
    """IPC: by table; and only little of it vertical."""
    tall, load = limit(context, "combination_vertical_ft"), _load(arm, context)
    drop = _vertical_m(arm) / M_PER_FT
    if tall is not None and drop > tall.value:
        return violation(
            message=f"The drain of {arm.fixture.label} falls {drop:.1f} ft without a vent.",
            remedy="Vent the trap, or lay its drain level.",
            measured=Measure(round(drop, 2), "ft"),
            required=Measure(tall.value, "ft", "at most"),
            steps=(*arm_steps(arm), Step("At most", tall.value, "ft", tall.clause)),
            clause=tall.clause,
        )
    listed = rows(context, "combination_drain_vent")
    fitting = [r for r in listed if (r.number("branch_or_stack_dfu")) >= load]
    if not fitting:
        return _not_known(arm)
    wanted = fitting[0].number("size_in")
    if (arm.size_in or 0.0) < wanted:
        return _too_small(arm, wanted, fitting[0].clause)
    return PASS


def _listed_trap(arm: TrapArm, context: Context) -> float | None:
    """The smallest trap the code lists for the fixture, whatever trap is fitted."""
    facts = {k: v for k, v in arm.fixture.element.properties.items() if k != "trap_in"}
    occupancy = context.job.building.occupancy or "private"
    units = context.code.fixture_units(arm.fixture.kind, occupancy, facts)
    return units.trap_in if units is not None and units.trap_in else arm.trap_size_in


def _load(arm: TrapArm, context: Context) -> float:
    return sum(loads(context).gives[f] for f in arm.fixtures)


def _vertical_m(arm: TrapArm) -> float:
    piping, total = arm.piping, 0.0
    for index in arm.path:
        if piping.is_vertical(index):
            heights = [p[2] for p in piping.ends(index)]
            total += max(heights) - min(heights)
    return total


def _too_small(arm: TrapArm, wanted: float, clause: str) -> Answer:
    return violation(
        message=(
            f"The trap of {arm.fixture.label} has no vent, and its "
            f"{trade_size(arm.size_in)} drain is "
            f"too small for a {METHOD}."
        ),
        remedy=f"Vent the trap, or make its drain {trade_size(wanted)} from the trap on.",
        measured=Measure(arm.size_in or 0.0, "in"),
        required=Measure(wanted, "in", "at least"),
        steps=(*arm_steps(arm), Step("Size it would need", wanted, "in", clause)),
        clause=clause,
    )


def _not_known(arm: TrapArm) -> Answer:
    return unverified(
        f"Whether the drain of {arm.fixture.label} may be a {METHOD} is not known.",
        "Name the fixture by kind and give its trap a nominal size; or vent the trap.",
    )
