"""Rough-in: room at fixtures, heights, pipe in walls and framing, supports."""

from __future__ import annotations

from collections.abc import Iterable

from ifclint.packs import Finders, Rule, hookimpl
from ifclint.rules.roughin import clearances, showers
from ifclint.rules.roughin.standing import Stand, stands


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return [*clearances.RULES, *showers.RULES]


@hookimpl
def ifclint_subjects() -> Finders:
    return {Stand: stands, showers.Shower: showers.showers}
