"""Rules about a heater's water side: its shutoff, what takes up expansion, vacuum relief."""

from __future__ import annotations

from ifclint.checks import NOT_APPLICABLE, PASS, check, missing, unverified, violation
from ifclint.engineering import tolerance
from ifclint.engineering.thermal import (
    celsius_of_fahrenheit,
    expansion_tank_m3,
    expansion_volume_m3,
)
from ifclint.engineering.units import M3_PER_US_GAL, M_PER_FT, PA_PER_PSI
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, Outcome, Severity, Step
from ifclint.ifc.elements import Element, Role, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import Heater
from ifclint.plumbing.heaters.discharge import neighbours
from ifclint.rules.heaters.answers import limit_step, says
from ifclint.rules.heaters.parts import COLD_SHUTOFFS, VACUUM_RELIEF

CLOSING = {
    "check": "check valve", "pressure-reducing": "pressure reducing valve",
    "backflow-preventer": "backflow preventer",
}  # fmt: skip
COLD_F, HOT_F = 50.0, 140.0  # common practice, no source: street water and stored hot water
NO_COLD = (
    "Draw the heater's cold water pipe and join it to the heater and to the water supply "
    "(ports, or ends that meet)."
)


@rule(
    title="Shutoff on the cold water of every heater",
    subject=Heater,
    clauses={"upc": "606.2", "ipc": "503.1", "irc": "P2903.9.2"},
)
def heater_cold_shutoff(heater: Heater, context: Context) -> Answer:
    """A heater that leaks is stopped at its own valve, and the house keeps its water.

    An isolating valve on the heater's cold water past the last branch to anything else.
    """
    if not heater.cold_path:
        return unverified(f"No cold water is drawn to {heater.label}.", NO_COLD)
    valves = [e for e in heater.own_cold if e.role is Role.VALVE]
    if any(v.kind == "isolating" for v in valves):
        return PASS
    if any(not v.kind for v in valves):
        return unverified(
            f"Whether a valve on the cold water of {heater.label} shuts it off is not known.",
            "Set the PredefinedType of the valve, or name it in trade words.",
            tuple(v.guid for v in valves),
        )
    return missing(
        COLD_SHUTOFFS,
        message=f"{heater.label} has no shutoff of its own on its cold water.",
        remedy="Set a full-open valve in the cold water pipe, close to the heater.",
        elements=(*heater.element_ids, *(e.guid for e in heater.own_cold[-1:])),
    )


@rule(
    title="Thermal expansion taken up where the system is closed",
    subject=Heater,
    clauses={"upc": "608.3", "ipc": "607.3", "irc": "P2903.4"},
    severity=Severity.HIGH,
    applies=lambda heater: heater.kind != "tankless",
)
def heater_thermal_expansion(heater: Heater, context: Context) -> Answer:
    """Water that warms and cannot go back to the street opens the relief valve at every firing.

    A check valve, regulator or backflow preventer on the way from the street to the heater closes
    the system, as does a check valve in the meter that the job file tells of; an expansion tank
    must then be joined behind it. Its size is computed for the storage behind that valve, from
    street water to stored hot water, up to the highest pressure the code lets stand: one that is
    smaller is an advisory. A tank is equipment, which is drawn as heaters are: none at all is
    wrong too.
    """
    if not heater.cold_path:
        return unverified(f"No cold water is drawn to {heater.label}.", NO_COLD)
    closing = [e for e in heater.cold_path if e.kind in CLOSING]
    if not closing:
        return _closed_at_the_meter(heater, context)
    tanks = _tanks_behind(closing[-1], context)
    if not tanks:
        return violation(
            message=(
                f"{closing[-1].label} closes the system, and no expansion tank takes up what "
                f"{heater.label} expands."
            ),
            remedy="Join an expansion tank to the cold water between that valve and the heater.",
            steps=tuple(Step(f"{CLOSING[e.kind]}: {e.label}") for e in closing),
            elements=(*heater.element_ids, closing[-1].guid),
        )
    return _tank_size(heater, closing[-1], tanks, context)


def _closed_at_the_meter(heater: Heater, context: Context) -> Answer:
    """Where the model shows nothing that closes the system: what the job file says of the meter."""
    closed = context.job.water.meter_check
    if closed is None:
        return unverified(
            f"Whether the meter or main holds back what {heater.label} expands is not told.",
            "State in the job file whether the meter has a check valve (water.meter_check).",
        )
    if not closed:
        return NOT_APPLICABLE
    if _tanks(context):
        return PASS
    return violation(
        message=(
            f"A check valve at the meter closes the system, and no expansion tank takes up what "
            f"{heater.label} expands."
        ),
        remedy="Join an expansion tank to the cold water of the heater.",
        steps=(Step("Check valve at the meter (job file, water.meter_check)"),),
        elements=heater.element_ids,
    )


@derived
def _tanks(context: Context) -> list[tuple[Element, set[str]]]:
    """Every expansion tank the water reaches, with the elements on the way to it."""
    made, elements = context.plumbing.supply.distribution, context.plumbing.network.elements
    return [
        (e, {elements[k].guid for k in made.path(i)})
        for i, e in enumerate(elements)
        if e.role is Role.TANK and e.kind == "expansion" and made.reached(i)
    ]


def _tanks_behind(valve: Element, context: Context) -> list[Element]:
    """Expansion tanks that the water reaches through the valve."""
    return [tank for tank, path in _tanks(context) if valve.guid in path]


@derived
def _stored_behind(context: Context, valve: str) -> tuple[object, ...]:
    """The volumes of the storage heaters that are fed through a valve; None where not told."""
    return tuple(
        heater.element.properties.get("storage_volume_m3")
        for heater in context.plumbing.heaters.heaters
        if heater.kind != "tankless" and any(e.guid == valve for e in heater.cold_path)
    )


def _tank_size(heater: Heater, valve: Element, tanks: list[Element], context: Context) -> Answer:
    have = [t.properties.get("storage_volume_m3") for t in tanks]
    stored = _stored_behind(context, valve.guid)
    supply = valve.properties.get("downstream_pressure_pa") or context.job.water.static_pressure
    known = [v for v in (*have, *stored, supply) if isinstance(v, float)]
    if len(known) < len(have) + len(stored) + 1:
        return unverified(
            f"Whether the expansion tank of {heater.label} is large enough is not known.",
            "Give tank and heaters their volumes (NominalCapacity, WaterStorageCapacity), and the "
            "regulator its DownstreamPressure (or the job file water.static_pressure).",
            tuple(t.guid for t in tanks),
        )
    volume, pressure = sum(known[len(have) : -1]), known[-1]
    limit = context.code.limit("supply_static_max_psi")
    most = limit.value * PA_PER_PSI
    grows = expansion_volume_m3(volume, celsius_of_fahrenheit(COLD_F), celsius_of_fahrenheit(HOT_F))
    if pressure >= most:
        return NOT_APPLICABLE  # the pressure itself is wrong, and found elsewhere
    needed, held = expansion_tank_m3(grows, pressure, most), sum(known[: len(have)])
    return check(
        held / M3_PER_US_GAL,
        at_least=needed / M3_PER_US_GAL,
        unit="gal",
        message=f"The expansion tank holds {number_text(held / M3_PER_US_GAL, 2)} gal; "
        f"{number_text(needed / M3_PER_US_GAL, 2)} gal keep the pressure at "
        f"{limit.value:g} psi.",
        remedy=f"Fit a tank of {number_text(needed / M3_PER_US_GAL, 2)} gal or more.",
        steps=lambda: (
            Step("Water stored behind the valve", volume / M3_PER_US_GAL, "gal"),
            Step(
                f"grows from {COLD_F:g} to {HOT_F:g} °F by",
                grows / M3_PER_US_GAL,
                "gal",
                "common practice, no source (temperatures)",
            ),
            Step("Pressure supplied", pressure / PA_PER_PSI, "psi"),
            Step("Highest pressure", limit.value, "psi", limit.clause),
            Step("Smallest tank", needed / M3_PER_US_GAL, "gal"),
        ),
        elements=tuple(t.guid for t in tanks),
        wrong=Outcome.ADVISORY,
    )


@rule(
    title="Vacuum relief where a heater can be siphoned",
    subject=Heater,
    clauses={"upc": "608.7", "ipc": "504.3", "irc": "P2804.7"},
    applies=lambda heater: heater.kind != "tankless",
)
def heater_vacuum_relief(heater: Heater, context: Context) -> Answer:
    """A tank emptied from below while its burner is lit burns through.

    IPC and IRC: a heater that is fed at its bottom needs a vacuum relief valve on its cold water.
    UPC: a heater above the lowest fixture it serves is advised to have one, as the wording of the
    code is from memory.
    """
    height = (
        context.code.limit("heater_vacuum_relief_above_outlet_ft")
        if (context.code.family == "upc")
        else None
    )
    if not heater.cold_path:
        return unverified(f"No cold water is drawn to {heater.label}.", NO_COLD)
    valve = any(
        e.kind == "vacuum-breaker" or says(e, "vacuum relief")
        for e in _beside_cold(heater, context)
    )
    if height is None:
        bottom = _fed_at_bottom(heater.element)
        if bottom is None:
            return unverified(
                f"Whether {heater.label} is fed at its bottom is not known.",
                "Place the heater's cold and hot ports.",
            )
        if not bottom:
            return NOT_APPLICABLE
        why, steps = "is fed at its bottom", tuple[Step, ...]()
    else:
        above = _above_lowest_tap(heater, context)
        if above is None:
            return unverified(
                f"How high {heater.label} stands above the fixtures it serves is not known.",
                "Draw the hot water to the fixtures, with their ends placed.",
            )
        if tolerance.at_most(above / M_PER_FT, height.value, "ft"):
            return NOT_APPLICABLE
        why = f"stands {number_text(above / M_PER_FT)} ft above the lowest fixture it serves"
        steps = (
            limit_step(context.code, "heater_vacuum_relief_above_outlet_ft", "Above this height"),
        )
    if valve:
        return PASS
    return missing(
        VACUUM_RELIEF,
        message=f"{heater.label} {why} and has no vacuum relief valve.",
        remedy="Fit a vacuum relief valve on the cold water, above the heater.",
        steps=steps,
        wrong=Outcome.VIOLATION if height is None else Outcome.ADVISORY,
    )


def _beside_cold(heater: Heater, context: Context) -> list[Element]:
    """The heater's own cold water pipe and what is joined to it."""
    network = context.plumbing.network
    own = {e.guid for e in heater.own_cold}
    beside = list(heater.own_cold)
    for index in network.neighbours(heater.index):
        if network.elements[index].guid in own or network.elements[index].role is Role.VALVE:
            beside.append(network.elements[index])
    for index in context.plumbing.supply.distribution.path(heater.index):
        if network.elements[index].guid in own:
            beside += [network.elements[i] for i in network.neighbours(index)]
    return beside


def _fed_at_bottom(element: Element) -> bool | None:
    cold = [e.position[2] for e in element.ends if e.system is System.COLD_WATER and e.position]
    hot = [e.position[2] for e in element.ends if e.system is System.HOT_WATER and e.position]
    return cold[0] < hot[0] - 0.3 if cold and hot else None


def _above_lowest_tap(heater: Heater, context: Context) -> float | None:
    """The heater's hot outlet above the lowest fixture end with hot water."""
    at = _hot_ends_m(heater.index, context)
    taps = [z for f in context.plumbing.supply.fixtures for z in _hot_ends_m(f.index, context)]
    return at[0] - min(taps) if at and taps else None


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


RULES = (heater_cold_shutoff, heater_thermal_expansion, heater_vacuum_relief)
