"""Rough-in: room at fixtures, heights, pipe in walls and framing, supports."""

from __future__ import annotations

from collections.abc import Iterable

from ifclint.packs import Finders, Rule, hookimpl
from ifclint.rules.roughin import clearances, framing, showers, walls
from ifclint.rules.roughin.standing import Stand, stands


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return [*clearances.RULES, *showers.RULES, *walls.RULES, *framing.RULES]


@hookimpl
def ifclint_subjects() -> Finders:
    return {
        Stand: stands,
        showers.Shower: showers.showers,
        walls.InWall: walls.in_walls,
        framing.Bore: framing.bores,
    }
