"""Cleanouts: where the code wants one, whether it can be used, and how far a cable gets."""

from collections.abc import Iterable

from ifclint.drawings import Riser
from ifclint.findings import Schedule
from ifclint.packs import Context, Rule, Section, hookimpl, rules_in
from ifclint.rules.cleanouts.rodding import cleanout_schedule, reach_riser
from ifclint.rules.cleanouts.section import CleanoutsSection


@hookimpl
def ifclint_job_section() -> type[Section]:
    return CleanoutsSection


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return rules_in(
        __name__, "required_locations", "turns", "fixture_drains", "openings", "clearance",
        "access", "rodding",
    )  # fmt: skip


@hookimpl
def ifclint_schedules(context: Context) -> Iterable[Schedule]:
    return [cleanout_schedule(context)]


@hookimpl
def ifclint_drawings(context: Context) -> Iterable[Riser]:
    return [reach_riser(context)]
