"""Rules about the cold water of a heater: its shutoff, and the side it enters on."""

from math import dist

from ifclint.checks import PASS, Fact, known, missing, not_known, violation
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import feet
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, Severity
from ifclint.ifc.elements import Element, Role, System
from ifclint.packs import ANY_CODE, Context, rule
from ifclint.plumbing import Heater
from ifclint.plumbing.facts import fact
from ifclint.plumbing.heaters.discharge import neighbours
from ifclint.plumbing.supply.segments import HOT
from ifclint.plumbing.supply.water_fixtures import labelled
from ifclint.plumbing.words import says
from ifclint.rules.heaters.parts import COLD_SHUTOFFS

NEAR_M = 3.0  # ours, no source: a valve in another room or storey is near within this
MAIN_WORDS = ("main shutoff*", "main shut off*", "main stop", "main valve", "main water valve",
    "main water shutoff*", "building shutoff*", "house shutoff*", "service shutoff*",
    "hauptabsperr*", "vanne generale", "vanne générale", "llave general",
    "hoofdkraan")  # fmt: skip
COLD_SIDE = Fact(
    "which side of {} its cold water enters", fact("cold_pipe").remedy, asked_once=True
)
SHUTS_OFF = Fact("whether a valve on the cold water of {} shuts it off", fact("valve_kind").remedy)


@rule(
    title="Shutoff on the cold water of every heater",
    clauses={"upc": "606.2", "ipc": "503.1", "irc": "P2903.9.2"},
    needs=("cold_pipe", "cold_feed"),
    follows=(System.COLD_WATER, System.WATER),
)
def heater_cold_shutoff(heater: Heater, context: Context) -> Answer:
    """A heater that leaks is stopped at its own valve, and the house keeps its water.

    An isolating valve on the heater's cold water past the last branch to anything else, and near
    it: on another storey or in another room only a few feet away, and never the building's main
    valve. The valves for flushing a tankless heater are its maker's matter: no adopted code asks
    for them.
    """
    valves = [e for e in heater.own_cold if e.role is Role.VALVE]
    closing = [v for v in valves if v.kind == "isolating"]
    if any(_is_at(heater, v) for v in closing):
        return PASS
    if any(not v.kind for v in valves):
        return not_known(SHUTS_OFF, heater, elements=[v.guid for v in valves if not v.kind])
    if closing:
        valve = closing[-1]
        apart_m = _apart_m(heater.element, valve)
        where = f", {number_text(feet(apart_m), 2)} ft away" if apart_m is not None else ""
        return violation(
            message=f"The only shutoff on the cold water of {heater.label} is "
            f"{valve.label}{where}.",
            remedy="Set a full-open valve of its own in the cold water pipe, close to the heater.",
            elements=(*heater.element_ids, valve.guid),
        )
    return missing(
        COLD_SHUTOFFS,
        message=f"{heater.label} has no shutoff of its own on its cold water.",
        remedy="Set a full-open valve in the cold water pipe, close to the heater.",
        elements=(*heater.element_ids, *(e.guid for e in heater.own_cold[-1:])),
    )


def _is_at(heater: Heater, valve: Element) -> bool:
    """Whether a valve stands at or near the heater that it shuts off."""
    if says(valve, MAIN_WORDS):
        return False
    of = heater.element
    places = ((of.storey, valve.storey), (of.space, valve.space))
    if not any(mine and other and mine != other for mine, other in places):
        return True
    apart_m = _apart_m(of, valve)
    return apart_m is None or at_most(apart_m, NEAR_M, "m")


def _apart_m(one: Element, other: Element) -> float | None:
    if one.position is None or other.position is None:
        return None
    return dist(one.position, other.position)


REVERSED = Fact(
    "The connection of {} that is named hot belongs to the cold water, as does {} at it: which is "
    "right is not known.",
    "Join the cold water to the heater's cold inlet, or name its ports after what they carry.",
)


@rule(title="Cold water to the cold side of a heater", clauses=ANY_CODE, severity=Severity.HIGH)
def heater_not_reversed(heater: Heater, context: Context) -> Answer:
    """Cold water let in at the hot outlet runs over the stored hot water to the taps.

    What is joined to the connections that the heater names hot and cold: cold piping at its hot
    outlet is wrong, and asked about where that is of the cold water but for its name. Hot piping at
    its cold inlet is that of a heater before it, or a return.
    """
    network, at = context.plumbing.network, heater.index
    for other, own, _ in neighbours(network, at):
        end, joined = heater.element.ends[own], network.elements[other]
        if joined.system is not System.COLD_WATER:
            continue
        if labelled(end) == HOT and end.system is System.COLD_WATER:
            return not_known(REVERSED, heater, joined)
        if end.system is System.HOT_WATER:
            return violation(
                message=f"Cold water ({joined.label}) is joined to the hot outlet of "
                f"{heater.label}.",
                remedy="Join the cold water to the heater's cold inlet, and the hot to its outlet.",
                elements=(*heater.element_ids, joined.guid),
            )
    known(heater.cold_pipe, COLD_SIDE)
    return PASS
