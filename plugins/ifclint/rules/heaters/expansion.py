"""What takes up the water that a heater expands, where its system is closed."""

from collections import defaultdict
from collections.abc import Iterable, Sequence

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, check, known, not_known, violation
from ifclint.engineering.arithmetic import not_below_zero
from ifclint.engineering.friction import pressure_of_head_pa
from ifclint.engineering.thermal import (
    celsius_of_fahrenheit,
    expansion_tank_m3,
    expansion_volume_m3,
)
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M3_PER_US_GAL, PA_PER_PSI, feet
from ifclint.engineering.wording import apart_text, number_text
from ifclint.findings import Answer, Change, Outcome, Severity, Step
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import Heater
from ifclint.plumbing.words import says

CLOSING = {
    "check": "check valve", "pressure-reducing": "pressure reducing valve",
    "backflow-preventer": "backflow preventer",
}  # fmt: skip
EXPANSION_VALVES = ("thermal expansion", "expansion relief", "expansion control", "expansion valve")
COLD_F, HOT_F = 50.0, 140.0  # common practice, no source: street water and stored hot water
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


@rule(
    title="Thermal expansion taken up where the system is closed",
    clauses={"upc": "608.3", "ipc": "607.3", "irc": "P2903.4"},
    severity=Severity.HIGH,
    needs=("cold_pipe", "cold_feed"),
)
def heater_thermal_expansion(heater: Heater, context: Context) -> Answer:
    """Water that warms and cannot go back to the street opens the relief valve at every firing.

    A check valve, regulator or backflow preventer on the path from the street to the heater closes
    the system, as does a check valve in the meter that the job file states; an expansion tank must
    then be joined behind it, and does where nothing is known to close it. A pump lets nothing back:
    its pressure tank takes it up. The size of the tank is computed for the storage behind that
    valve, from street water to stored hot water, from the pressure where the tank stands up to the
    highest the code lets stand: one that is smaller is an advisory. A valve made to let thermal
    expansion out does as a tank does. A tank is equipment, which is drawn as heaters are: none at
    all is wrong too. Heaters without a store are held to it by the UPC, whatever their type; by the
    others those that store hot water.
    """
    if heater.is_tankless and context.code.family != "upc":
        return NOT_APPLICABLE
    closing = [e for e in heater.cold_path if e.kind in CLOSING]
    if not closing:
        return _closed_at_the_meter(heater, context)
    takers = [taker for taker, path in _takers(context) if closing[-1].guid in path]
    tanks = [taker for taker in takers if taker.role is Role.TANK]
    if takers != tanks:
        return PASS  # a valve lets out what no tank takes up
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
    takers = [taker for taker, path in _takers(context) if heater.cold_path[0].guid in path]
    tanks = [taker for taker in takers if taker.role is Role.TANK]
    if takers == tanks and tanks and closed and not context.plumbing.supply.is_lifted:
        return _tank_size(heater, heater.cold_path[0], tanks, context)
    if takers:
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
def _takers(context: Context) -> list[tuple[Element, set[str]]]:
    """Every expansion tank the water reaches, pressure tank of a pump, and valve against thermal
    expansion, with the elements on the path to it."""
    made, elements = context.plumbing.supply.distribution, context.plumbing.network.elements
    return [
        (e, {elements[k].guid for k in made.path(i)})
        for i, e in enumerate(elements)
        if _takes_up(e) and made.reached(i)
    ]


def _takes_up(element: Element) -> bool:
    if element.role is Role.TANK:
        return element.kind in ("expansion", "pressure")
    is_valve = element.role is Role.VALVE and element.kind not in CLOSING
    return is_valve and says(element, EXPANSION_VALVES)


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
    placed = element.places
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
