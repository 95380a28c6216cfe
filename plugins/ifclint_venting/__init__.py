"""Traps and vents: that every trap has a vent of a method, size, height and end the code allows."""

from __future__ import annotations

from collections.abc import Iterable

from ifclint.findings import Schedule
from ifclint.packs import Context, Rule, hookimpl
from ifclint_venting import (
    arms,
    building,
    methods,
    pipes,
    standpipes,
    terminals,
    traps,
    valves,
    wet_vents,
)
from ifclint_venting.schedules import trap_schedule, vent_schedule


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return [
        *traps.RULES, *standpipes.RULES, *arms.RULES, *methods.RULES,
        *wet_vents.RULES, *pipes.RULES, *terminals.RULES, *valves.RULES, *building.RULES,
    ]  # fmt: skip


@hookimpl
def ifclint_schedules(context: Context) -> Iterable[Schedule]:
    return [trap_schedule(context), vent_schedule(context)]
