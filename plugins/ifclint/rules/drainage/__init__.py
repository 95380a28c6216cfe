"""Drainage sizing: what every fixture gives, what every drain carries, and whether it may."""

from collections.abc import Iterable

from ifclint.drawings import Riser
from ifclint.findings import Schedule
from ifclint.packs import Context, Rule, hookimpl, rules_in
from ifclint.rules.drainage.drawing import drainage_riser
from ifclint.rules.drainage.schedules import drain_schedule, fixture_schedule


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return rules_in(
        __name__, "to_outlet", "fixtures", "drains", "slopes", "stacks", "stack_bases", "suds",
        "fittings", "whole", "storm_into_sanitary", "backwater_valves", "discharges", "lifted",
        "dead_ends", "shafts", "over_food", "frost",
    )  # fmt: skip


@hookimpl
def ifclint_schedules(context: Context) -> Iterable[Schedule]:
    return [fixture_schedule(context), drain_schedule(context)]


@hookimpl
def ifclint_drawings(context: Context) -> Iterable[Riser]:
    return [drainage_riser(context)]
