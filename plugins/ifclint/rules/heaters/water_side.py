"""Rules about a heater's water side: its shutoff, what takes up expansion, vacuum relief."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from math import dist

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, check, known, missing, not_known, violation
from ifclint.engineering.arithmetic import not_below_zero
from ifclint.engineering.friction import pressure_of_head_pa
from ifclint.engineering.thermal import (
    celsius_of_fahrenheit,
    expansion_tank_m3,
    expansion_volume_m3,
)
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import M3_PER_US_GAL, PA_PER_PSI
from ifclint.engineering.wording import apart_text, number_text
from ifclint.findings import Answer, Change, Outcome, Severity, Step
from ifclint.ifc.elements import Element, Role, System
from ifclint.packs import ANY_CODE, Context, derived, rule
from ifclint.plumbing import Heater
from ifclint.plumbing.facts import fact
from ifclint.plumbing.heaters.discharge import neighbours
from ifclint.plumbing.supply.segments import HOT
from ifclint.plumbing.supply.water_fixtures import labelled
from ifclint.plumbing.words import says
from ifclint.rules.heaters.parts import COLD_SHUTOFFS, VACUUM_KINDS, VACUUM_RELIEF
from ifclint.rules.heaters.wording import feet

CLOSING = {
    "check": "check valve", "pressure-reducing": "pressure reducing valve",
    "backflow-preventer": "backflow preventer",
}  # fmt: skip
COLD_F, HOT_F = 50.0, 140.0  # common practice, no source: street water and stored hot water
NEAR_M = 3.0  # ours, no source: a valve in another room or storey is near within this
MAIN_WORDS = ("main shutoff*", "main shut off*", "main stop", "main valve", "main water valve",
    "main water shutoff*", "building shutoff*", "house shutoff*", "service shutoff*",
    "hauptabsperr*", "vanne generale", "vanne générale", "llave general",
    "hoofdkraan")  # fmt: skip
BOTTOM_M = 0.3  # ours, no source: cold water that enters this far below the hot enters below
NO_PRESSURE_TANK = Fact(
    "The model draws no pressure tank at the pump that takes up what {} expands.",
    "Draw the pressure tank of the pump, or an expansion tank at the heater.",
)
HELD_BACK = Fact(
    "whether the meter or main holds back what {} expands",
    "State in the job file whether the meter has a check valve (water.meter_check).",
)
TANK_SIZE = Fact(
    "whether the expansion tank of {} is large enough",
    "Give tank and heaters their volumes (NominalCapacity, WaterStorageCapacity), and the "
    "regulator its DownstreamPressure (or the job file water.static_pressure).",
)
ABOVE_TAPS = Fact(
    "how high {} stands above the fixtures it serves",
    "Draw the hot water to the fixtures, with their ends placed.",
)
FED_AT_BOTTOM = Fact("whether {} is fed at its bottom", "Place the heater's cold and hot ports.")
COLD_SIDE = Fact(
    "which side of {} its cold water enters", fact("cold_pipe").remedy, asked_once=True
)
SHUTS_OFF = Fact("whether a valve on the cold water of {} shuts it off", fact("valve_kind").remedy)


@rule(
    title="Shutoff on the cold water of every heater",
    subject=Heater,
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
        return _only_far(heater, closing[-1])
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


def _only_far(heater: Heater, valve: Element) -> Answer:
    apart_m = _apart_m(heater.element, valve)
    where = f", {number_text(feet(apart_m), 2)} ft away" if apart_m is not None else ""
    return violation(
        message=f"The only shutoff on the cold water of {heater.label} is {valve.label}{where}.",
        remedy="Set a full-open valve of its own in the cold water pipe, close to the heater.",
        elements=(*heater.element_ids, valve.guid),
    )


@rule(
    title="Thermal expansion taken up where the system is closed",
    subject=Heater,
    clauses={"upc": "608.3", "ipc": "607.3", "irc": "P2903.4"},
    severity=Severity.HIGH,
    needs=("cold_pipe", "cold_feed"),
    applies=lambda heater: not heater.is_tankless,
)
def heater_thermal_expansion(heater: Heater, context: Context) -> Answer:
    """Water that warms and cannot go back to the street opens the relief valve at every firing.

    A check valve, regulator or backflow preventer on the path from the street to the heater closes
    the system, as does a check valve in the meter that the job file states; an expansion tank must
    then be joined behind it, and does where nothing is known to close it. A pump lets nothing back:
    its pressure tank takes it up. The size of the tank is computed for the storage behind that
    valve, from street water to stored hot water, from the pressure where the tank stands up to the
    highest the code lets stand: one that is smaller is an advisory. A tank is equipment, which is
    drawn as heaters are: none at all is wrong too.
    """
    closing = [e for e in heater.cold_path if e.kind in CLOSING]
    if not closing:
        return _closed_at_the_meter(heater, context)
    tanks = [tank for tank, path in _tanks(context) if closing[-1].guid in path]
    if tanks:
        return _tank_size(heater, closing[-1], tanks, context)
    return violation(
        message=f"{closing[-1].label} closes the system, and no expansion tank takes up what "
        f"{heater.label} expands.",
        remedy=_tank_behind(closing[-1], closing[-1].label),
        steps=[Step(f"{CLOSING[e.kind]}: {e.label}") for e in closing],
        elements=(*heater.element_ids, closing[-1].guid),
    )


def _closed_at_the_meter(heater: Heater, context: Context) -> Answer:
    """Where the model shows nothing that closes the system: what the job file says of the meter."""
    closed = context.job.water.meter_check
    if closed is False and not context.plumbing.supply.is_lifted:
        return NOT_APPLICABLE
    if any(heater.cold_path[0].guid in path for _, path in _tanks(context)):
        return PASS  # whatever the meter does
    if context.plumbing.supply.is_lifted:
        return not_known(NO_PRESSURE_TANK, heater)
    known(closed, HELD_BACK)
    return violation(
        message="A check valve at the meter closes the system, and no expansion tank takes up what "
        f"{heater.label} expands.",
        remedy=_tank_behind(heater.cold_path[0], "the meter"),
        steps=(Step("Check valve at the meter (job file, water.meter_check)"),),
    )


def _tank_behind(closing: Element, called: str) -> Change:
    """One tank, for all heaters behind what closes the system."""
    text = f"Join an expansion tank to the cold water between {called} and what heats it."
    return Change("part", (closing.guid,), "expansion tank", text)


@derived
def _tanks(context: Context) -> list[tuple[Element, set[str]]]:
    """Every expansion tank the water reaches, and pressure tank of a pump, with the elements on the
    path to it."""
    made, elements = context.plumbing.supply.distribution, context.plumbing.network.elements
    return [
        (e, {elements[k].guid for k in made.path(i)})
        for i, e in enumerate(elements)
        if e.role is Role.TANK and e.kind in ("expansion", "pressure") and made.reached(i)
    ]


@derived
def _stored_behind(context: Context) -> dict[str, float | None]:
    """The volume (m3) of the storage heaters that are fed through each element; None: not
    stated."""
    fed = defaultdict[str, list[Element]](list)
    for heater in context.plumbing.heaters.heaters:
        for guid in {e.guid for e in heater.cold_path} if not heater.is_tankless else ():
            fed[guid].append(heater.element)
    return {guid: _volume_m3(heaters) for guid, heaters in fed.items()}


def _volume_m3(elements: Iterable[Element]) -> float | None:
    """What tanks hold together; None where one does not state its volume."""
    stated = [e.properties.number("storage_volume_m3") for e in elements]
    known = [volume for volume in stated if volume is not None]
    return sum(known) if len(known) == len(stated) else None


def _regulator(heater: Heater) -> Element | None:
    return next((e for e in heater.cold_path[::-1] if e.kind == "pressure-reducing"), None)


def _pressure_pa(heater: Heater, context: Context) -> float | None:
    """What is supplied to a heater: the setting of the last regulator before it, as the job file
    or the model tells it, else the street's pressure."""
    water, regulator = context.job.water, _regulator(heater)
    if regulator is None:
        return water.static_pressure
    told = (p.static_pressure for p in water.pressures if p.element == regulator.guid)
    stated = regulator.properties.number("downstream_pressure_pa")
    return next(told, stated if water.regulator_setting is None else water.regulator_setting)


def _above_supply_m(heater: Heater, tanks: Sequence[Element], context: Context) -> float:
    """How far the lowest of tanks stands above where the supplied pressure is told of: the
    regulator, else the main; 0 where a height is not known."""
    regulator, main_m = _regulator(heater), context.job.water.main_elevation
    if regulator is not None or main_m is None:
        main_m = _height_m(regulator or heater.cold_path[0])
    heights = [z for tank in tanks if (z := _height_m(tank)) is not None]
    return min(heights) - main_m if heights and main_m is not None else 0.0


def _height_m(element: Element) -> float | None:
    """Of its connection, else of its place."""
    placed = [e.position for e in element.ends if e.position is not None]
    point = placed[0] if placed else element.position
    return None if point is None else point[2]


def _tank_size(
    heater: Heater, valve: Element, tanks: Sequence[Element], context: Context
) -> Answer:
    """The expansion tanks behind a valve against what the water stored there grows by, at the
    pressure where they stand."""
    ids, limit = [t.guid for t in tanks], context.code.limit("supply_static_max_psi")
    told = (
        _volume_m3(tanks),
        _stored_behind(context).get(valve.guid, 0.0),
        _pressure_pa(heater, context),
    )
    held, stored, supplied = (known(each, TANK_SIZE, heater, elements=ids) for each in told)
    most, above_m = limit.value * PA_PER_PSI, _above_supply_m(heater, tanks, context)
    at_tank = not_below_zero(supplied - pressure_of_head_pa(above_m))
    if at_least(at_tank, most):
        return NOT_APPLICABLE  # the pressure itself is wrong, and found elsewhere
    grows = expansion_volume_m3(stored, celsius_of_fahrenheit(COLD_F), celsius_of_fahrenheit(HOT_F))
    needed, has = _gallons(expansion_tank_m3(grows, at_tank, most)), _gallons(held)
    return check(
        has,
        at_least=needed,
        unit="gal",
        message=f"The expansion tank holds {apart_text(has, needed, 'gal', 2)}; "
        f"{number_text(needed, 2)} gal keep the pressure at {limit.value:g} psi.",
        remedy=f"Fit a tank of {number_text(needed, 2)} gal or more.",
        steps=(
            Step("Water stored behind the valve", _gallons(stored), "gal"),
            Step(
                f"grows from {COLD_F:g} to {HOT_F:g} °F by", _gallons(grows), "gal",
                "common practice, no source (temperatures)",
            ),
            Step("Pressure supplied", supplied / PA_PER_PSI, "psi"),
            Step("Tank above where that is told of", feet(above_m), "ft"),
            Step("Pressure where the tank stands", at_tank / PA_PER_PSI, "psi"),
            limit.step("Highest pressure"),
            Step("Smallest tank", needed, "gal"),
        ),
        elements=ids,
        wrong=Outcome.ADVISORY,
    )  # fmt: skip


def _gallons(volume_m3: float) -> float:
    return volume_m3 / M3_PER_US_GAL


@rule(
    title="Vacuum relief where a heater can be siphoned",
    subject=Heater,
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
        return _fed_at_bottom(heater, context)
    above = known(_above_lowest_tap_m(heater, context), ABOVE_TAPS)
    if at_most(feet(above), limit.value, limit.unit):
        return NOT_APPLICABLE
    why = f"stands {number_text(feet(above))} ft above the lowest outlet it serves"
    steps = (limit.step("Above this height"),)
    return _relieved(heater, why, context, steps, Outcome.ADVISORY)


def _fed_at_bottom(heater: Heater, context: Context) -> Answer:
    """The demand on a heater whose cold water enters well below its hot water."""
    cold, hot = (
        [e.position[2] for e in heater.element.ends if e.system is system and e.position]
        for system in (System.COLD_WATER, System.HOT_WATER)
    )
    if not cold or not hot:
        return not_known(FED_AT_BOTTOM, heater)
    if cold[0] >= hot[0] - BOTTOM_M:
        return NOT_APPLICABLE
    return _relieved(heater, "is fed at its bottom", context)


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


REVERSED = Fact(
    "The connection of {} that is named hot belongs to the cold water, as does {} at it: which is "
    "right is not known.",
    "Join the cold water to the heater's cold inlet, or name its ports after what they carry.",
)


@rule(
    title="Cold water to the cold side of a heater",
    subject=Heater,
    clauses=ANY_CODE,
    severity=Severity.HIGH,
)
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


RULES = (heater_cold_shutoff, heater_not_reversed, heater_thermal_expansion, heater_vacuum_relief)
