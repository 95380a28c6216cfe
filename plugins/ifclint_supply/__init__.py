"""Water supply: from the main to the farthest shower, pressure and flow in every pipe."""

from __future__ import annotations

from collections.abc import Iterable

from ifclint.findings import Riser, Schedule
from ifclint.packs import Context, Rule, hookimpl
from ifclint_supply import around, hot, pipes, places, pressures, shutoff, table_method
from ifclint_supply.drawing import supply_riser
from ifclint_supply.schedules import (
    budget_schedule,
    fixture_schedule,
    hot_schedule,
    line_schedule,
)


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return [
        *pressures.RULES, *pipes.RULES, *table_method.RULES, *shutoff.RULES, *around.RULES,
        *hot.RULES, *places.RULES,
    ]  # fmt: skip


@hookimpl
def ifclint_schedules(context: Context) -> Iterable[Schedule]:
    if not context.plumbing.supply.fixtures:
        return []
    made = (fixture_schedule, line_schedule, budget_schedule, hot_schedule)
    return [schedule(context) for schedule in made]


@hookimpl
def ifclint_risers(context: Context) -> Iterable[Riser]:
    return [supply_riser(context)] if context.plumbing.supply.lines else []
