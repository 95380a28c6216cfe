"""Water supply: from the main to the farthest shower, pressure and flow in every pipe."""

from collections.abc import Iterable

from ifclint.drawings import Riser
from ifclint.findings import Schedule
from ifclint.packs import Context, Rule, hookimpl, rules_in
from ifclint.rules.supply.drawing import supply_riser
from ifclint.rules.supply.schedules import (
    budget_schedule,
    connection_schedule,
    fixture_schedule,
    hot_schedule,
    meter_schedule,
    segment_schedule,
)


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return rules_in(
        __name__, "pressure_rules", "static_pressure", "strainers", "velocity", "smallest_pipes",
        "fixture_demand", "table_method", "shutoff", "dwelling_units", "line_ends", "crossed",
        "dead_legs", "hammer",
        "zones", "hot", "mixing", "return_ways", "circulated", "one_way", "pipe_location",
    )  # fmt: skip


@hookimpl
def ifclint_schedules(context: Context) -> Iterable[Schedule]:
    if not context.plumbing.supply.fixtures:
        return []
    made = (
        connection_schedule, fixture_schedule, meter_schedule, segment_schedule, budget_schedule,
        hot_schedule,
    )  # fmt: skip
    return [schedule(context) for schedule in made]


@hookimpl
def ifclint_drawings(context: Context) -> Iterable[Riser]:
    return [supply_riser(context)] if context.plumbing.supply.segments else []
