"""Rules about how far vent terminals end from openings, intakes and walls."""

from collections.abc import Iterator
from math import inf

from ifclint.checks import PASS, Fact, check, drawn, given, not_known
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M_PER_FT, M_PER_IN, feet
from ifclint.engineering.wording import above_or_below, apart_text, feet_text, number_text
from ifclint.findings import Answer, Severity, Step
from ifclint.ifc.elements import Surface
from ifclint.packs import Context, rule
from ifclint.part_kinds import OPENINGS, WALLS
from ifclint.plumbing import VentTerminal
from ifclint.plumbing.surroundings.obstacles import level_distance_m
from ifclint.rules.venting.terminals import is_outdoor
from ifclint.rules.venting.through_walls import ends_at_wall

ABOVE_M = 1.0  # a wall that begins higher above a terminal is not beside it
INTAKE = Fact(
    "whether {} takes air in, and how far that is from {}, is not known.",
    "Name intakes and exhausts so, each drawn by itself.",
)


@rule(
    title="Vent terminal far from windows, doors and air intakes",
    clauses={"upc": "906.2", "ipc": "903.5", "irc-2021": "P3103.5"},
    severity=Severity.HIGH,
    needs=("top",),
    applies=is_outdoor,
)
def terminal_from_openings(terminal: VentTerminal, context: Context) -> Iterator[Answer]:
    """Sewer gas must not blow in at a window, nor be drawn in by a fan.

    The horizontal distance from the terminal to every window and door but those of inner walls, and
    to every air intake, unless the terminal stands high enough above its top. Every window and door
    is taken as openable. Of a rooftop unit, air handler or louver outdoors that is not said to be
    an intake it is asked.
    """
    around = context.plumbing.surroundings
    top, reach = given(terminal.top), context.code.limit("vent_from_opening_ft").value * M_PER_FT
    for kind in ("air intake", "air unit"):
        for intake in around.of_kind_around(kind, top, (reach, reach, inf)):
            yield _clear_of(intake, terminal, context)
    drawn(OPENINGS, context, "how far {} ends from them", terminal)
    yield PASS
    for opening in around.outdoor_openings_around(top, reach):
        yield _clear_of(opening, terminal, context)


def _clear_of(opening: Surface, terminal: VentTerminal, context: Context) -> Answer:
    """Far enough beside an opening, or high enough above it."""
    away = context.code.limit("vent_from_opening_ft")
    above, top = context.code.limit("vent_above_opening_ft"), given(terminal.top)
    higher, name = feet(top[2] - opening.high[2]), opening.name or opening.kind
    if at_least(higher, above.value, "ft"):
        return PASS
    beside = feet(level_distance_m(top, opening.low, opening.high))
    if opening.kind == "air unit" and not at_least(beside, away.value, "ft"):
        return _by_unit(opening, terminal, context)
    return check(
        round(beside, 2),
        at_least=away,
        message=lambda: (
            f"{terminal.label} ends {feet_text(beside)} from {name} and "
            f"{feet_text(abs(higher))} {above_or_below(higher)} its top."
        ),
        remedy=lambda: (
            f"Move the terminal {number_text(away.value)} ft away, or carry it "
            f"{number_text(above.value)} ft above the opening."
        ),
        steps=lambda: (
            Step(f"Distance from {name}", beside, "ft"),
            away.step("at least"),
            Step("Height above its top", higher, "ft"),
            above.step("or at least"),
        ),
        elements=(*terminal.element_ids, opening.guid),
        about=opening.guid,
    )


def _by_unit(unit: Surface, terminal: VentTerminal, context: Context) -> Answer:
    """Beside a unit outdoors that draws air in somewhere."""
    (x, y, _), (u, v, top) = unit.low, unit.high
    if context.plumbing.surroundings.is_outdoors(((x + u) / 2, (y + v) / 2, top)) is False:
        return PASS
    ids = (*terminal.element_ids, unit.guid)
    name = unit.name or unit.kind
    return not_known(INTAKE, name, terminal, elements=ids, about=unit.guid)


@rule(
    title="Vent terminal clear of walls",
    clauses={"upc": "906.1"},
    severity=Severity.LOW,
    needs=("top",),
    applies=is_outdoor,
)
def terminal_from_walls(terminal: VentTerminal, context: Context) -> Iterator[Answer]:
    """A terminal against a wall is blown back into.

    UPC: the horizontal distance from the terminal to every wall that rises above it; not of one
    that ends outside a wall below the roof, which is to go through that.
    """
    if ends_at_wall(terminal, context):
        return
    least, top = context.code.limit("vent_from_wall_in"), given(terminal.top)
    drawn(WALLS, context, "how far {} ends from them", terminal)
    reach = least.value * M_PER_IN
    low = (top[0] - reach, top[1] - reach, top[2])
    high = (top[0] + reach, top[1] + reach, top[2] + ABOVE_M)
    for wall in context.plumbing.venting.surroundings.within(low, high):
        if wall.kind == "wall":
            inches = level_distance_m(given(terminal.top), wall.low, wall.high) / M_PER_IN
            yield check(
                round(inches, 2),
                at_least=least,
                message=f"{terminal.label} ends {apart_text(inches, least.value, 'in')} from "
                f"{wall.label}.",
                remedy=f"Move the terminal {number_text(least.value)} in from the wall, or carry "
                "it above.",
                limit_step="From any vertical surface",
                elements=(*terminal.element_ids, wall.guid),
                about=wall.guid,
            )
    yield PASS
