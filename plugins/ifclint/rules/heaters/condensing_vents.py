"""Rules about the vent of a condensing appliance: how it runs, and what it is of."""

from collections.abc import Iterator

from ifclint.checks import PASS, advise, check, not_known, violation
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import in_per_ft_from_slope, slope_from_in_per_ft
from ifclint.engineering.wording import apart_text, number_text
from ifclint.findings import Answer, Change, Severity
from ifclint.ifc.elements import Element, Point, Role, System
from ifclint.packs import Context, rule
from ifclint.plumbing import VentConnector
from ifclint.plumbing.words import CONDENSES, says_text
from ifclint.rules.heaters.connectors import slopes
from ifclint.rules.heaters.venting import SINGLE_WALL_WORDS, TYPE_B_WORDS, told_of, words_of

BACK_IN_PER_FT = 0.24  # 2 %, taken as the 1/4 in that manuals ask (HTP Phoenix, 2021)
RUSTS = frozenset({"galvanized steel", "aluminum"})
BEARS_ACID = ("stainless*", "al29*", "1738", "special gas vent", "category iv", "cat iv")
DRAINS = ("condensate*", "drain tee*", "drip tee*", "kondensat*")


@rule(
    title="Vent of a condensing appliance drains back to it",
    clauses={"upc": "509.9", "ipc": "IFGC 503.9", "irc": "G2427.9"},
    applies=lambda connector: says_text(told_of(connector.appliance), CONDENSES),
)
def condensing_vent_drains(connector: VentConnector, context: Context) -> Iterator[Answer]:
    """Acid condensate that runs outward drips from the terminal, freezes there and closes it.

    Every near-level pipe from the appliance to the terminal: one that falls toward the outside is
    wrong, one that rises by less than makers ask is advice. A vent with a drain for its condensate
    is excused. A vent that several share is judged once, with the first of them.
    """
    parts, points = _run(connector)
    if any(_is_drained(part) for part in parts):
        return
    for pipe, slope in slopes(parts, points):
        yield (
            not_known("path", connector, about=pipe.guid)
            if slope is None
            else (_back(connector, pipe, in_per_ft_from_slope(slope)))
        )


def _run(connector: VentConnector) -> tuple[list[Element], list[Point | None]]:
    """The parts from the appliance to the terminal with where each is entered."""
    parts, points = list(connector.elements), list(connector.points)
    vent = connector.vent
    if vent is not None and vent.is_common and vent.connectors[0] is connector:
        parts += reversed(vent.common)
        points += reversed(vent.points)
    return parts, points


def _is_drained(part: Element) -> bool:
    ends = any(end.system is System.CONDENSATE for end in part.ends)
    return part.role is not Role.PIPE and (ends or says_text(words_of(part), DRAINS))


def _back(connector: VentConnector, pipe: Element, rise: float) -> Answer:
    """How one pipe rises toward the terminal, in inches per foot."""
    least = BACK_IN_PER_FT
    remedy = (
        "Let the vent rise 1/4 in per ft from the appliance to its terminal, or as its "
        "maker asks, so that condensate runs back to the appliance's drain."
    )
    back = Change("slope", (pipe.guid,), slope_from_in_per_ft(least), remedy)
    label = f"The vent of {connector.appliance.label}, which is condensing,"
    falls = check(
        rise,
        at_least=0.0,
        unit="in/ft",
        message=f"{label} falls {number_text(-rise)} in per ft toward the outside.",
        remedy=back,
        elements=(pipe.guid,),
        about=pipe.guid,
    )
    if falls is not PASS or at_least(rise, least, "in/ft"):
        return falls
    return advise(
        f"{label} rises {apart_text(rise, least, 'in per ft')}; makers ask for 1/4.",
        remedy,
        elements=(pipe.guid,),
        about=pipe.guid,
    )


@rule(
    title="Vent of a condensing appliance bears its condensate",
    clauses={"upc": "509.4", "ipc": "IFGC 503.4", "irc": "G2427.4"},
    severity=Severity.HIGH,
    applies=lambda connector: says_text(told_of(connector.appliance), CONDENSES),
)
def condensing_vent_material(connector: VentConnector, context: Context) -> Answer:
    """Acid condensate eats through the aluminum of a Type B vent in a winter or two.

    The parts of the vent from the appliance to the terminal: Type B gas vent, galvanized steel,
    aluminum and what is named single-wall are listed for no appliance of Category IV, which takes
    the plastic or stainless steel that its maker lists. What tells no material is not judged. A
    vent that several share is judged once, with the first of them. From memory.
    """
    parts = [part for part in _run(connector)[0] if _is_eaten(part)]
    if not parts:
        return PASS
    return violation(
        message=f"{parts[0].label} carries the flue gas of {connector.appliance.label}, which "
        "condenses.",
        remedy="Vent the appliance through the plastic or stainless steel that its maker lists.",
        elements=(*(part.guid for part in parts), connector.appliance.guid),
    )


def _is_eaten(part: Element) -> bool:
    told = words_of(part)
    metal = part.material in RUSTS or says_text(told, (*TYPE_B_WORDS, *SINGLE_WALL_WORDS))
    return metal and not says_text(told, BEARS_ACID)
