"""Rules about relief valves themselves: that a heater has one, its setting, and its rating."""

from dataclasses import replace

from ifclint.checks import PASS, Fact, check, given, missing, not_known, violation
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import PA_PER_PSI, W_PER_BTU_PER_H
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, Severity
from ifclint.ifc.elements import Element, End, Role, System
from ifclint.packs import Context, rule
from ifclint.plumbing import Heater, HotTank, ReliefLine
from ifclint.plumbing.heaters.hot_tanks import circuit_of
from ifclint.plumbing.supply.water_fixtures import side_named
from ifclint.plumbing.words import is_indirect, says, says_text
from ifclint.rules.heaters.parts import BOTH_WORDS, RELIEF_VALVES, is_relief_tapping
from ifclint.rules.heaters.venting import input_kbtuh

SENSES = Fact(
    '"{}" stands in the water piping of {}; whether it senses the temperature of the tank is not '
    "stated.",
    "Join the temperature and pressure relief valve to the heater's own tapping for it.",
)
OPENS_BY = Fact(
    "whether {} opens by temperature and not by pressure alone",
    "Name each valve as what it is: temperature and pressure relief valve (T&P).",
    asked_once=True,
)
NAMED = {
    "temperature": ("temperat*", "températ*"),
    "pressure": ("pressure", "presion", "presión", "pression", "pressao", "pressão", "überdruck*",
                 "uberdruck*", "overdruk*"),
}  # fmt: skip
FIT = "Fit a temperature and pressure relief valve in the heater's tapping for it."
NO_VALVE = Fact("No relief valve is drawn at {}.", RELIEF_VALVES.remedy)
RATING = Fact(
    "what {} is rated to relieve",
    "Give each relief valve its rating (DischargeCapacity, or in its name: 105,000 Btu/h).",
    asked_once=True,
)
INPUT = Fact(
    "What {} takes is not stated; its relief is rated {}.",
    "State the input of the heater (InputRating, or gas.loads of the job file).",
)


@rule(
    title="Relief valve on every water heater",
    clauses={"upc": "504.6 and 608.3", "ipc": "504.4", "irc": "P2804.1"},
    severity=Severity.HIGH,
    follows=(System.RELIEF,),
)
def heater_relief_valve(heater: Heater, context: Context) -> Answer:
    """A heater whose control fails and that cannot relieve bursts like a bomb.

    A relief valve on the heater, joined to it directly or by relief piping; at a tankless heater,
    one close to it in its water piping serves too. At a tank, whether a valve in the cold or hot
    water piping senses the tank's temperature is not stated, and that is unverified. Where the
    heater is of the tankless kind, or shows no connection at all, one that is missing is
    unverified: its listing may not ask for one, or it may not have been drawn. Where the tapping
    for the valve is drawn, with nothing joined to it, and other valves in the heater's water, what
    is missing is wrong also in a model that draws no relief valve elsewhere.
    """
    if any(r.is_direct or heater.is_tankless for r in heater.relief):
        return PASS
    if heater.relief:
        return not_known(SENSES, heater.relief[0].valve, heater)
    if heater.is_tankless or not heater.element.ends:
        return not_known(NO_VALVE, heater)
    if _draws_valves(heater) and _has_open_tapping(heater, context):
        return violation(
            message=f"{heater.label} has no relief valve: its tapping for one is open.", remedy=FIT
        )
    return missing(RELIEF_VALVES, message=f"{heater.label} has no relief valve.", remedy=FIT)


def _draws_valves(heater: Heater) -> bool:
    return any(e.role is Role.VALVE for e in heater.cold_path)


def _has_open_tapping(heater: Heater, context: Context) -> bool:
    """Whether a heater shows an opening for a relief valve that nothing is joined to."""
    return any(_is_tapping(e, heater) for e in context.plumbing.network.open_ends(heater.index))


def _is_tapping(end: End, heater: Heater) -> bool:
    """Whether an opening is for a relief valve: by its name or service, or as one more for water,
    in the upper half of a heater that burns nothing."""
    if is_relief_tapping(end):
        return True
    if says_text(end.name, ("drain",)) or side_named(end) or end.flow == "in":
        return False
    if heater.burns_fuel is not False or end.system not in (None, System.SANITARY):
        return False
    box, at = heater.element.box, end.position
    return box is not None and at is not None and at[2] >= (box[0][2] + box[1][2]) / 2


@rule(
    title="Relief valve on every tank of hot water",
    clauses={"upc": "608.3", "ipc": "504.4", "irc": "P2804.1"},
    severity=Severity.HIGH,
    follows=(System.RELIEF,),
)
def hot_tank_relief_valve(tank: HotTank, context: Context) -> Answer:
    """What stores hot water bursts as what heats it does: the sun knows no thermostat.

    A tank in the potable water that a circuit heats or that hot water leaves, as of solar heating
    or preheat, needs a relief valve joined to it. A valve behind a pipe of its water, of which
    nothing states that it senses the tank's temperature, is asked about. The clauses are from
    memory.
    """
    if any(relief.is_direct for relief in tank.relief):
        return PASS
    if tank.relief:
        return not_known(SENSES, tank.relief[0].valve, tank)
    return missing(
        RELIEF_VALVES,
        message=f"{tank.label} has no relief valve.",
        remedy="Fit a temperature and pressure relief valve in the tank's tapping for it.",
    )


@rule(
    title="Storage heater relieves temperature as well as pressure",
    clauses={"upc": "608.3", "ipc": "504.4", "irc": "P2804.1"},
    severity=Severity.HIGH,
    applies=lambda heater: not heater.is_tankless and any(r.is_direct for r in heater.relief),
)
def relief_by_temperature(heater: Heater, context: Context) -> Answer:
    """Superheated water bursts a tank at a pressure that no pressure relief valve opens at.

    What the relief valves at a storage heater are named: for temperature and pressure, as one valve
    or two. One named as a pressure relief valve alone is wrong, but at a boiler, which may hold no
    store, it is a question, as is a valve named as relief and no more.
    """
    valves = [relief.valve for relief in heater.relief if relief.is_direct]
    opens_by = [_opens_by(valve) for valve in valves]
    all_told = set[str]().union(*opens_by)
    if len(all_told) == len(NAMED):
        return PASS
    if not all(opens_by) or heater.kind == "boiler":
        return not_known(OPENS_BY, valves[0])
    return violation(
        message=f'{heater.label} relieves by {"".join(all_told)} alone: "{valves[0].label}".',
        remedy=FIT,
        elements=tuple(valve.guid for valve in valves),
    )


def _opens_by(valve: Element) -> set[str]:
    """What opens a relief valve, by its name; nothing where that says relief alone."""
    return {what for what, words in NAMED.items() if says(valve, BOTH_WORDS + words)}


@rule(
    title="Relief valve set low enough",
    clauses={"upc": "608.3", "ipc": "504.5", "irc": "P2804.4"},
    severity=Severity.HIGH,
    needs=("set_pressure_pa",),
)
def relief_setting(relief: ReliefLine, context: Context) -> Answer:
    """A valve that opens above what the tank is made for opens too late.

    The set pressure that the model gives the valve against the highest the code allows. The
    working pressure of the tank may ask for less.
    """
    limit = context.code.limit("relief_set_max_psi")
    psi = given(relief.set_pressure_pa) / PA_PER_PSI
    return check(
        psi,
        at_most=limit,
        message=f'"{relief.valve.label}" opens at {number_text(psi)} psi; '
        f"{limit.value:g} psi is the most.",
        remedy=f"Fit a valve set at {limit.value:g} psi or less, and not above the tank's "
        "working pressure.",
        limit_step="Highest setting",
        elements=(relief.valve.guid,),
    )


@rule(
    title="Relief valve rated for the input of its heater",
    clauses={"upc": "608.3", "ipc": "504.5", "irc": "P2804.3"},
    severity=Severity.HIGH,
    applies=lambda heater: bool(heater.relief),
    of_load=True,
)
def relief_capacity(heater: Heater, context: Context) -> Answer:
    """A valve that lets off less heat than the burner brings in lets the pressure climb.

    What the relief valves at the heater are rated for, all together, against its stated input; an
    indirect heater takes no more than the boilers of its circuit. Of valves whose rating is not
    stated it is asked, once for the model.
    """
    at_tank = [r for r in heater.relief if r.is_direct] or heater.relief
    unrated = [r.valve for r in at_tank if r.capacity_w is None]
    rated = float(round(sum(or_zero(r.capacity_w) for r in at_tank) / W_PER_BTU_PER_H))
    taken_kbtuh = input_kbtuh(heater.element, context) or _of_boilers(heater, context)
    if rated and taken_kbtuh is None:
        return not_known(INPUT, heater, f"{number_text(rated)} Btu/h")
    taken = float(round(1000 * or_zero(taken_kbtuh)))
    if unrated and not (rated and at_least(rated, taken, "Btu/h")):
        return replace(not_known(RATING, unrated[0]), severity=Severity.LOW)
    return check(
        rated,
        at_least=taken,
        unit="Btu/h",
        message=f"The relief of {heater.label} is rated {number_text(rated)} Btu/h; the heater "
        f"takes {number_text(taken)} Btu/h.",
        remedy=f"Fit a temperature and pressure relief valve rated {number_text(taken)} Btu/h or "
        "more.",
        limit_step="Input of the heater",
        elements=tuple(r.valve.guid for r in at_tank),
    )


def _of_boilers(heater: Heater, context: Context) -> float | None:
    """The input of what heats the circuit of an indirect heater; None where it is not known."""
    if not is_indirect(heater.element):
        return None
    circuit = circuit_of(context.plumbing.network, heater.index)
    boilers = [e for e in circuit if e.role is Role.HEATER and not is_indirect(e)]
    inputs = [input_kbtuh(boiler, context) for boiler in boilers]
    return sum(w for w in inputs if w) if inputs and all(inputs) else None
