"""Water heaters: relief, pans, expansion, ignition, room, vents; the relief of boilers."""

from collections.abc import Iterable

from ifclint.findings import Schedule
from ifclint.packs import Context, Rule, hookimpl, rules_in
from ifclint.rules.heaters.schedules import heater_schedule


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return rules_in(
        __name__, "relief_valves", "relief", "relief_ends", "boilers", "pans", "pan_drains",
        "condensate", "cold_water", "expansion", "vacuum_relief", "garages", "working_space",
        "standing", "flues", "single_vents", "common_vents", "above_roof", "dampers", "connectors",
        "condensing_vents", "terminals",
    )  # fmt: skip


@hookimpl
def ifclint_schedules(context: Context) -> Iterable[Schedule]:
    return [heater_schedule(context)] if context.plumbing.heaters.heaters else []
