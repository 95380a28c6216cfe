"""Fuel gas: pipe large enough, pressure that arrives, and what must stand around it."""

from __future__ import annotations

from collections.abc import Iterable

from ifclint.findings import Riser, Schedule
from ifclint.packs import Context, Rule, hookimpl
from ifclint_gas import appliances, around, pipes
from ifclint_gas.drawing import gas_riser
from ifclint_gas.schedules import appliance_schedule, run_schedule, what_if_schedule


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return [*pipes.RULES, *appliances.RULES, *around.RULES]


@hookimpl
def ifclint_schedules(context: Context) -> Iterable[Schedule]:
    if context.plumbing.gas is None:
        return []
    schedules = [appliance_schedule(context), run_schedule(context)]
    return [*schedules, what_if_schedule(context)] if context.job.gas.what_if else schedules


@hookimpl
def ifclint_risers(context: Context) -> Iterable[Riser]:
    return [gas_riser(context)] if context.plumbing.gas is not None else []
