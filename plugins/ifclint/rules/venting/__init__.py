"""Traps and vents: that every trap has a vent of a method, size, height and end the code allows."""

from collections.abc import Iterable

from ifclint.findings import Schedule
from ifclint.packs import Context, Rule, Section, hookimpl, rules_in
from ifclint.rules.venting.schedules import fixture_schedule, trap_schedule, vent_schedule
from ifclint.rules.venting.section import VentingSection


@hookimpl
def ifclint_job_section() -> type[Section]:
    return VentingSection


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return rules_in(
        __name__, "traps", "trap_outlets", "shared_traps", "seals", "standpipes", "arms",
        "missing_vents", "methods", "wet_vents", "waste_stack", "wet_order", "sizes", "pipes",
        "runs", "open_air", "terminals", "terminals_apart", "through_walls", "valves", "building",
        "offsets", "sumps",
    )  # fmt: skip


@hookimpl
def ifclint_schedules(context: Context) -> Iterable[Schedule]:
    return [make(context) for make in (fixture_schedule, trap_schedule, vent_schedule)]
