"""Water heaters: relief, pans, expansion, ignition, room, vents; the relief of boilers."""

from __future__ import annotations

from collections.abc import Iterable

from ifclint.findings import Schedule
from ifclint.packs import Context, Rule, hookimpl, rules_in
from ifclint.rules.heaters import (
    above_roof,
    boilers,
    cold_water,
    common_vents,
    condensate,
    condensing_vents,
    connectors,
    dampers,
    expansion,
    flues,
    garages,
    pan_drains,
    pans,
    relief,
    relief_ends,
    relief_valves,
    single_vents,
    standing,
    terminals,
    vacuum_relief,
    working_space,
)
from ifclint.rules.heaters.schedules import heater_schedule


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return rules_in(
        relief_valves, relief, relief_ends, boilers, pans, pan_drains, condensate, cold_water,
        expansion, vacuum_relief, garages, working_space, standing, flues, single_vents,
        common_vents, above_roof, dampers, connectors, condensing_vents, terminals,
    )  # fmt: skip


@hookimpl
def ifclint_schedules(context: Context) -> Iterable[Schedule]:
    return [heater_schedule(context)] if context.plumbing.heaters.heaters else []
