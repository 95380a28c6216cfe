"""Drainage sizing: what every fixture gives, what every drain carries, and whether it may."""

from __future__ import annotations

from collections.abc import Iterable

from ifclint.findings import Riser, Schedule
from ifclint.packs import Context, Rule, hookimpl
from ifclint_drainage import drains, fittings, fixtures, slopes, stacks, whole
from ifclint_drainage.drawing import drainage_riser
from ifclint_drainage.schedules import drain_schedule, fixture_schedule


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    modules = (fixtures, drains, slopes, stacks, fittings, whole)
    return [rule for module in modules for rule in module.RULES]


@hookimpl
def ifclint_schedules(context: Context) -> Iterable[Schedule]:
    return [fixture_schedule(context), drain_schedule(context)]


@hookimpl
def ifclint_risers(context: Context) -> Iterable[Riser]:
    return [drainage_riser(context)]
