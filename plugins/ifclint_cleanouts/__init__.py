"""Cleanouts: where the code wants one, whether it can be used, and how far a cable gets."""

from __future__ import annotations

from collections.abc import Iterable

from ifclint.findings import Riser, Schedule
from ifclint.packs import Context, Rule, hookimpl
from ifclint_cleanouts import openings, rodding, where
from ifclint_cleanouts.rodding import cleanout_schedule, reach_riser


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return [*where.RULES, *openings.RULES, *rodding.RULES]


@hookimpl
def ifclint_schedules(context: Context) -> Iterable[Schedule]:
    return [cleanout_schedule(context)]


@hookimpl
def ifclint_risers(context: Context) -> Iterable[Riser]:
    return [reach_riser(context)]
