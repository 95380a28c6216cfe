"""Vacuum relief of heaters that can be siphoned."""

from collections.abc import Sequence

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, known, missing, not_known
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import feet
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, Outcome, Step
from ifclint.ifc.elements import Element, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import Heater
from ifclint.plumbing.heaters.discharge import neighbours
from ifclint.rules.heaters.expansion import CLOSING
from ifclint.rules.heaters.parts import VACUUM_KINDS, VACUUM_RELIEF

BOTTOM_M = 0.3  # ours, no source: cold water that enters this far below the hot enters below
ABOVE_TAPS = Fact(
    "how high {} stands above the fixtures it serves",
    "Draw the hot water to the fixtures, with their ends placed.",
)
FED_AT_BOTTOM = Fact("whether {} is fed at its bottom", "Place the heater's cold and hot ports.")


@rule(
    title="Vacuum relief where a heater can be siphoned",
    clauses={"upc": "608.7", "ipc": "504.2", "irc": "P2804.7"},
    needs=("cold_pipe", "cold_feed"),
    applies=lambda heater: not heater.is_tankless,
)
def heater_vacuum_relief(heater: Heater, context: Context) -> Answer:
    """A tank emptied from below while its burner is lit burns through.

    IPC and IRC: a heater that is fed at its bottom needs a vacuum relief valve on its cold water.
    UPC: a tank whose bottom is above the lowest fixture outlet it serves is advised to have one, as
    the wording of the code is from memory.
    """
    limit = context.code.limit_or_none("heater_vacuum_relief_above_outlet_ft")
    if limit is None:
        cold, hot = (
            [e.position[2] for e in heater.element.ends if e.system is system and e.position]
            for system in (System.COLD_WATER, System.HOT_WATER)
        )
        if not cold or not hot:
            return not_known(FED_AT_BOTTOM, heater)
        if at_least(cold[0] - hot[0], -BOTTOM_M, "m"):
            return NOT_APPLICABLE
        return _relieved(heater, "is fed at its bottom", context)
    above = known(_above_lowest_tap_m(heater, context), ABOVE_TAPS)
    if at_most(feet(above), limit.value, limit.unit):
        return NOT_APPLICABLE
    why = f"stands {number_text(feet(above))} ft above the lowest outlet it serves"
    steps = (limit.step("Above this height"),)
    return _relieved(heater, why, context, steps, Outcome.ADVISORY)


def _relieved(
    heater: Heater, why: str, context: Context,
    steps: Sequence[Step] = (), wrong: Outcome = Outcome.VIOLATION,
) -> Answer:  # fmt: skip
    """Whether a heater has a vacuum relief valve on its cold water."""
    beside = _beside_cold(heater, context)
    if any(e.kind in VACUUM_KINDS for e in beside):
        return PASS
    return missing(
        VACUUM_RELIEF,
        message=f"{heater.label} {why} and has no vacuum relief valve.",
        remedy="Fit a vacuum relief valve on the cold water, above the heater.",
        steps=steps,
        wrong=wrong,
    )


def _beside_cold(heater: Heater, context: Context) -> list[Element]:
    """The heater's own cold water, what is joined to it or at its last branch, and to the heater.

    Of what is joined, only what serves nothing: the stub of a valve. What lies before a valve that
    keeps water from flowing back is not the heater's.
    """
    own = list(heater.own_cold)
    for number, element in enumerate(heater.own_cold):
        if element.kind in CLOSING:
            own = list(heater.own_cold[number + 1 :])
    network, made = context.plumbing.network, context.plumbing.supply.distribution
    path, down, used = made.path(heater.index), made.down(), _used(context)
    begin = max(0, len(path) - 2 - len(own))
    beside = [i for at in path[begin:-1] for i in down[at] if i not in path and not used[i]]
    for index in beside:
        beside += down[index]
    beside += network.neighbours(heater.index)
    return [*own, *(network.elements[i] for i in beside)]


@derived
def _used(context: Context) -> list[float]:
    """How many ends of fixtures and heaters each element of the water supply serves."""
    made = context.plumbing.supply.distribution
    users = [
        *(c.up for c in made.connections),
        *(h.index for h in context.plumbing.heaters.heaters),
    ]
    return made.how_many(users)


def _above_lowest_tap_m(heater: Heater, context: Context) -> float | None:
    """The heater's bottom, or the lowest of its connections, above the lowest fixture end with hot
    water."""
    element, lowest = heater.element, _lowest_tap_m(context)
    if not _hot_ends_m(heater.index, context) or lowest is None:
        return None
    ends = [end.position[2] for end in element.ends if end.position is not None]
    return (element.box[0][2] if element.box is not None else min(ends)) - lowest


@derived
def _lowest_tap_m(context: Context) -> float | None:
    fixtures = context.plumbing.supply.fixtures
    return min((z for f in fixtures for z in _hot_ends_m(f.index, context)), default=None)


def _hot_ends_m(index: int, context: Context) -> list[float]:
    """The heights of the ends with hot water, as the ends or what they are joined to tell."""
    network = context.plumbing.network
    joined = neighbours(network, index)
    hot = {own for other, own, _ in joined if network.elements[other].system is System.HOT_WATER}
    return [
        end.position[2]
        for number, end in enumerate(network.elements[index].ends)
        if end.position is not None
        and (
            end.system is System.HOT_WATER or (end.system in (None, System.WATER) and number in hot)
        )
    ]
