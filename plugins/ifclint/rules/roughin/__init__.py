"""Rough-in: room at fixtures, heights, pipe in walls and framing, supports."""

from collections.abc import Iterable

from ifclint.packs import Finders, Rule, hookimpl, rules_in
from ifclint.rules.roughin import heights, showers, supports, traps, walls
from ifclint.rules.roughin.bores import Bore, bores
from ifclint.rules.roughin.facing import stands
from ifclint.rules.roughin.standing import Stand


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return rules_in(
        __name__, "clearances", "showers", "walls", "framing", "supports", "heights", "traps",
    )  # fmt: skip


@hookimpl
def ifclint_subjects() -> Finders:
    return {
        Stand: stands,
        showers.Shower: showers.showers,
        walls.InWall: walls.in_walls,
        Bore: bores,
        supports.SupportedRun: supports.runs,
        heights.RoughIn: heights.rough_ins,
        traps.ShutTrap: traps.shut_traps,
    }
