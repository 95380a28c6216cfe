"""Rule about emergency eyewashes and showers: the temperature of their water."""

from ifclint.checks import PASS, missing, violation
from ifclint.findings import Answer, Change, PartKind
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, rule
from ifclint.plumbing import WaterFixture
from ifclint.plumbing.words import listed_to, says
from ifclint.rules.protection.scalding import FOR_HEATER, FOR_TAPS, drawn_at

TEMPERS = ("tempering", "tempered", "tepid", "thermostat*", "mixing valve", "asse 1071", "tmv")
EMERGENCY = "emergency-fixture"
FOR_EMERGENCY = "1071"  # the standard of its mixing valves, of ASSE


def _is_tempered(context: Context, fixture: WaterFixture) -> bool:
    """Whether a mixing valve stands before an eyewash or shower, or it says that it tempers."""
    passed = bool(_mixers_before(context, fixture))
    return passed or says(fixture.element, TEMPERS) or drawn_at(fixture, context) is not None


def _mixers_before(context: Context, fixture: WaterFixture) -> list[Element]:
    """The mixing valves that the water of a fixture passes, the nearest last."""
    supply = context.plumbing.supply
    path = (
        supply.elements[i] for t in fixture.fed for i in supply.distribution.path(t.connection.up)
    )
    return [e for e in path if e.kind == "mixing" or (e.role is Role.VALVE and says(e, TEMPERS))]


def _of_other_use(context: Context, fixture: WaterFixture) -> Element | None:
    """The nearest mixing valve before an eyewash or shower, where its standard is another's."""
    nearest = next(reversed(_mixers_before(context, fixture)), None)
    at_it = listed_to(fixture.element, FOR_EMERGENCY) or drawn_at(fixture, context) is not None
    if nearest is None or at_it or listed_to(nearest, FOR_EMERGENCY):
        return None
    return nearest if listed_to(nearest, FOR_TAPS, FOR_HEATER) else None


TEMPERING = PartKind(
    "tempering valves of emergency eyewashes and showers",
    lambda context: any(
        f.kind == EMERGENCY and _is_tempered(context, f) for f in context.plumbing.supply.fixtures
    ),
    "Draw the tempering valve (IfcValve MIXING, ASSE 1071) before it, joined to cold and hot, or "
    "show that the authority accepts the water as it comes.",
)


@rule(
    title="Emergency eyewash or shower with tepid water",
    clauses={
        "upc": "416.2",
        "ipc": "411.3",
        "irc": "",
    },  # from memory; the temperature: ISEA Z358.1
    applies=lambda fixture: fixture.kind == EMERGENCY and bool(fixture.fed),
    needs=("feed",),
)
def emergency_tempered(fixture: WaterFixture, context: Context) -> Answer:
    """Nobody holds the eyes in ice-cold water for fifteen minutes, nor in hot.

    A mixing valve on the path that feeds an emergency eyewash or shower, or one drawn at it, or
    that it names; a valve of ASSE 1070 (for taps) or 1017 (of a heater), by its name, is none.
    Where other such fixtures have theirs, one without is wrong; where none has, it is a question:
    the water may come tepid, or the authority be content.
    """
    other = _of_other_use(context, fixture)
    if other is not None:
        return violation(
            message=f"{other.label} stands before {fixture.label}, and is not of the standard for "
            "emergency fixtures (ASSE 1071): it may close when the most water is taken.",
            remedy=Change("part", (other.guid,), "ASSE 1071", "Fit a mixing valve of ASSE 1071."),
            elements=(other.guid, *fixture.element_ids),
        )
    if _is_tempered(context, fixture):
        return PASS
    return missing(
        TEMPERING,
        message=f"No tempering valve is drawn before {fixture.label}.",
        remedy="Feed it through a tempering valve (ASSE 1071) that is joined to cold and to hot.",
        elements=fixture.element_ids,
    )
