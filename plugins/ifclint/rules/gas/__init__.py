"""Fuel gas: pipe large enough, pressure that arrives, and what must stand around it."""

from collections.abc import Iterable

from ifclint.drawings import Riser
from ifclint.findings import Schedule
from ifclint.packs import Context, Rule, hookimpl, rules_in
from ifclint.rules.gas.drawing import gas_riser
from ifclint.rules.gas.schedules import (
    appliance_schedule,
    meter_schedule,
    run_schedule,
    what_if_schedule,
)


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return rules_in(
        __name__, "piping", "pipes", "pressures", "what_if", "appliances", "sediment_traps",
        "connectors", "materials", "burial", "through_walls", "hangers", "regulators",
        "outdoors", "shafts", "underground", "laboratories",
    )  # fmt: skip


@hookimpl
def ifclint_schedules(context: Context) -> Iterable[Schedule]:
    if context.plumbing.gas is None:
        return []
    schedules = [meter_schedule(context), appliance_schedule(context), run_schedule(context)]
    return [*schedules, what_if_schedule(context)] if context.job.gas.what_if else schedules


@hookimpl
def ifclint_drawings(context: Context) -> Iterable[Riser]:
    return [gas_riser(context)] if context.plumbing.gas is not None else []
