"""Rules about pressure while no water runs: within the limit, what households like, regulators."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import floor

from ifclint.checks import NOT_APPLICABLE, check
from ifclint.codes import Limit
from ifclint.engineering.arithmetic import not_below_zero
from ifclint.engineering.friction import pressure_of_head_pa
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import apart_text
from ifclint.findings import Answer, Change, Measure, Outcome, Severity, Step
from ifclint.ifc.elements import Element, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.supply.segments import SETS_PRESSURE
from ifclint.plumbing.supply.water_fixtures import Tap, WaterFixture
from ifclint.plumbing.supply.water_supply import WaterService
from ifclint.plumbing.words import says
from ifclint.rules.supply.beginnings import beginnings, setting_pa
from ifclint.rules.supply.heads import NO_STATIC
from ifclint.rules.supply.missing import Reason, Unknown, left_open
from ifclint.rules.supply.pressure_model import solution
from ifclint.rules.supply.pressure_rules import NO_PRESSURE_NEEDED
from ifclint.rules.supply.shutoff import main_shutoff
from ifclint.rules.supply.solved_supply import NOT_FED, psi

PUT_REGULATOR = (
    "Put a pressure-reducing valve with a strainer behind the main shutoff, set to about 60 psi."
)
FILLED = frozenset({System.HEATING, System.FIRE, System.NON_POTABLE, System.OTHER})  # by the supply
FILLS = (
    "boiler fill", "boiler feed", "fill valve", "auto fill", "autofill", "automatic fill",
    "fill regulator", "feed regulator", "feeder", "make up", "makeup", "heizungsbefullung",
    "nachspeise*", "remplissage", "llenado", "vulset",
)  # fmt: skip
LEAST_PSI = 40.0  # below it households find their showers weak: common practice


@dataclass(frozen=True)
class Standing:
    """The pressure of the supply at rest at one connection."""

    fixture: WaterFixture
    tap: Tap
    psi: float
    above_main_m: float
    unknown: Unknown | None  # why it is only a bound


@dataclass(frozen=True)
class Regulated:
    """A regulator, the piping behind it, itself included, and whether that serves a fixture."""

    valve: Element
    line: tuple[int, ...]
    serves: bool


@derived
def standing(context: Context) -> list[Standing]:
    """At every connection where it is known, or a bound is."""
    solved = solution(context)
    return [
        Standing(fixture, tap, static, at.elevation_m - solved.main_z_m, at.static_missing)
        for fixture in solved.supply.fixtures
        if fixture.kind not in NO_PRESSURE_NEEDED
        for tap in fixture.taps
        if (static := (at := solved.at(tap)).static_psi) is not None
    ]


@rule(
    title="Static pressure within the limit, or a regulator",
    clauses={"upc": "608.2", "ipc": "604.8", "irc": "P2903.3.1"},
    severity=Severity.HIGH,
    of_load=True,
)
def static_pressure_limit(service: WaterService, context: Context) -> Iterator[Answer]:
    """Pressure above 80 psi wears valves, hammers pipe and bursts hoses while nobody is home.

    The standing pressure at the fixture where it is greatest, behind any regulator before it at
    its setting, against the greatest the code lets into a building.
    """
    limit, highest = context.code.limit("supply_static_max_psi"), _highest_standing(context)
    asked = [NO_STATIC] if _street_unknown(context) else []
    if highest is not None:
        asked = [] if highest.unknown is None else [highest.unknown]
    for unknown in dict.fromkeys((*asked, *_begun_anew(context))):
        yield left_open(
            "The static pressure in the building is not known", unknown, context,
            service.element_ids, required=Measure(limit.value, "psi", "at most"),
            about=unknown.reason,
        )  # fmt: skip
    if sure := _surely_standing(context):
        yield _highest(sure[-1], limit, service, context)


@derived
def _highest_standing(context: Context) -> Standing | None:
    """The fixture with the greatest standing pressure, surely or at most."""
    return max(standing(context), key=lambda s: s.psi, default=None)


@derived
def _surely_standing(context: Context) -> list[Standing]:
    """Where the standing pressure is known, the fixtures with the least and the greatest."""
    sure = [s for s in standing(context) if s.unknown is None]
    return [f(sure, key=lambda s: s.psi) for f in (min, max)] if sure else []


@derived
def _begun_anew(context: Context) -> list[Unknown]:
    """The pumps and tanks behind which fixtures stand under a pressure that is not stated."""
    solved = solution(context)
    open_ones = (solved.at(tap).static_missing for f in solved.supply.fixtures for tap in f.taps)
    reasons = (Reason.PUMP, Reason.TANK)
    return [u for u in dict.fromkeys(open_ones) if u is not None and u.reason in reasons]


def _highest(highest: Standing, limit: Limit, service: WaterService, context: Context) -> Answer:
    main_pa, regulator = solution(context).main_pa, _regulator_before(highest.tap, context)
    pump = _pump_before(highest.tap, context)
    at = regulator or pump or main_shutoff(service) or service.element
    elements = tuple(dict.fromkeys((at.guid, *service.element_ids)))
    if regulator is None and pump is not None:
        what = f"which {pump.label} gives"
        text = (
            "Put pressure-reducing valves in the branches of the storeys that stand under too "
            "much; or set the pump lower, if the highest fixture keeps what it needs."
        )
        remedy = Change("part", elements, "pressure-reducing valve", text)
    elif regulator is None:
        what = "and no regulator lowers it"
        remedy = Change("part", elements, "pressure-reducing valve", PUT_REGULATOR)
    else:
        what, remedy = "in spite of its regulator", _lower(regulator, limit, context)
    return check(
        highest.psi,
        at_most=limit,
        message=f"{highest.fixture.label} stands under "
        f"{apart_text(highest.psi, limit.value, 'psi')}, {what}.",
        remedy=remedy,
        steps=(
            Step("Main at rest", 0.0 if main_pa is None else psi(main_pa), "psi", "job file"),
            Step(
                f"{highest.fixture.label}, {highest.above_main_m / M_PER_FT:.1f} ft above the "
                "main, behind any regulator", highest.psi, "psi",
            ),
        ),
        limit_step="Greatest allowed",
        elements=elements,
    )  # fmt: skip


def _lower(regulator: Element, limit: Limit, context: Context) -> Change:
    """The setting at which no fixture behind a regulator, however low, stands under too much."""
    at, lowest_m = regulator.position, _lowest_behind(context).get(regulator.key)
    below_m = 0.0
    if at is not None and lowest_m is not None:
        below_m = not_below_zero(at[2] - lowest_m - solution(context).main_z_m)
    most = floor(limit.value - psi(pressure_of_head_pa(below_m)))
    text = f"Set the regulator to {most} psi or less."
    return Change("work", (regulator.guid,), "regulator setting", text)


@derived
def _lowest_behind(context: Context) -> dict[str, float]:
    """By the regulator before them, how high above the main the lowest fixture stands."""
    lowest_m: dict[str, float] = {}
    for each in standing(context):
        if (regulator := _regulator_before(each.tap, context)) is not None:
            known_m = lowest_m.get(regulator.key, each.above_main_m)
            lowest_m[regulator.key] = min(known_m, each.above_main_m)
    return lowest_m


def _pump_before(tap: Tap, context: Context) -> Element | None:
    """The pump, or its tank, that gives the pressure at a connection."""
    begun_at = beginnings(context)
    lines = reversed(tap.segment.to_source) if tap.segment is not None else ()
    first = next((begun_at[line.number] for line in lines if line.number in begun_at), None)
    return first.element if first is not None and first.is_pump else None


def _regulator_before(tap: Tap, context: Context) -> Element | None:
    """The last pressure-reducing valve on the path to a connection."""
    return _regulator_on_way(context)[tap.segment.number] if tap.segment else None


@derived
def _regulator_on_way(context: Context) -> list[Element | None]:
    """Of each line, by its number, the last pressure-reducing valve on the path to its end."""
    last: list[Element | None] = []
    for line in solution(context).supply.segments:
        before = None if line.above is None else last[line.above.number]
        own = [e for e in line.elements if e.kind in SETS_PRESSURE]
        last.append(own[-1] if own else before)
    return last


@derived
def regulators(context: Context) -> list[Regulated]:
    """The pressure-reducing valves of the supply, from the source on, but for those that fill other
    piping alone."""
    supply = context.plumbing.supply
    reducing = (i for i in supply.distribution.order if supply.elements[i].kind in SETS_PRESSURE)
    found = (_regulated(i, context) for i in reducing)
    return [each for each in found if not _fills_a_circuit(each, context)]


def _regulated(valve: int, context: Context) -> Regulated:
    supply, line = context.plumbing.supply, [valve]
    for i in line:
        line += supply.distribution.down()[i]
    return Regulated(supply.elements[valve], tuple(line), not supply.taken.isdisjoint(line))


def _fills_a_circuit(each: Regulated, context: Context) -> bool:
    """Whether a valve lets water into other piping alone, as that of a heating boiler: by what its
    line leads to, or by its name where nothing drawn takes water there."""
    supply = context.plumbing.supply
    if each.serves:
        return False
    if says(each.valve, FILLS):
        return True
    beyond = {supply.elements[n].system for i in each.line for n in supply.network.neighbours(i)}
    heats = any(i in supply.heaters and supply.heats_rooms(i) for i in each.line)
    return bool(beyond & FILLED) or heats


@rule(
    title="Static pressure a household likes",
    clauses={"any": "common practice, no clause"},
    severity=Severity.LOW,
)
def household_pressure(service: WaterService, context: Context) -> Answer:
    """Below 40 psi showers are weak; above 80 psi valves wear out early.

    The standing pressure at the highest and the lowest fixture, against the window of 40 to 80 psi
    that is common practice. Above 80 psi the code's own limit speaks instead; in buildings for the
    public what their fixtures need does (`pressure-at-fixture`). Where no fixture is drawn, as at
    rough-in, there is none to ask it of.
    """
    if context.job.building.use != "private" or not context.plumbing.supply.fixtures:
        return NOT_APPLICABLE
    sure = _surely_standing(context)
    if not sure:
        return left_open(
            "The static pressure at the fixtures is not known",
            _why_not_known(context), context,
            service.element_ids, required=Measure(LEAST_PSI, "psi", "at least"),
        )  # fmt: skip
    lowest = sure[0]
    label = lowest.fixture.label
    return check(
        lowest.psi,
        at_least=LEAST_PSI,
        unit="psi",
        message=f"{label} stands under {apart_text(lowest.psi, LEAST_PSI, 'psi')}; households "
        f"want at least {LEAST_PSI:.0f}.",
        remedy="Raise the regulator's setting, or consider a booster pump.",
        steps=(Step(f"Standing pressure at {label}", lowest.psi, "psi"),),
        elements=(lowest.fixture.element.guid, *service.element_ids),
        wrong=Outcome.ADVISORY,
    )


def _why_not_known(context: Context) -> Unknown:
    if _street_unknown(context):
        return NO_STATIC
    lacking = (s.unknown for s in standing(context) if s.unknown is not None)
    return next(iter((*_begun_anew(context), *lacking)), NOT_FED)


def _street_unknown(context: Context) -> bool:
    """Whether some water comes from a main whose pressure the job file does not tell."""
    solved = solution(context)
    supply = solved.supply
    if solved.main_pa is not None or set(supply.heads) != supply.sources.private:
        return solved.main_pa is None
    return any(
        solved.at(tap).static_missing == NO_STATIC for f in supply.fixtures for tap in f.taps
    )


@rule(
    title="Regulator set neither too high nor too low",
    clauses={"upc": "608.2", "ipc": "604.8", "irc": "P2903.3.1"},
)
def regulator_setting(service: WaterService, context: Context) -> tuple[Answer, ...]:
    """A regulator set above the limit protects nothing; one set too low starves the top floor.

    The setting of every pressure-reducing valve of the supply, from the job file or the model,
    against the greatest pressure the code allows and the 40 psi that is common practice. One that
    fills the piping of a boiler or another service is set for that.
    """
    return _settings(context)


@derived
def _settings(context: Context) -> tuple[Answer, ...]:
    """What is said of the settings of all regulators."""
    return tuple(_each_setting(context))


def _each_setting(context: Context) -> Iterator[Answer]:
    limit = context.code.limit("supply_static_max_psi")
    for each in regulators(context):
        valve = each.valve
        setting = setting_pa(valve, context)
        if setting is None:
            yield left_open(
                f"How high {valve.label} is set is not known", Unknown(Reason.SETTING), context,
                (valve.guid,), about=valve.guid, required=Measure(limit.value, "psi", "at most"),
            )  # fmt: skip
            continue
        yield check(
            psi(setting),
            at_most=limit,
            message=f"{valve.label} is set to {apart_text(psi(setting), limit.value, 'psi', 2)}.",
            remedy=_lower(valve, limit, context),
            limit_step="Greatest allowed",
            elements=(valve.guid,),
            about=valve.guid,
        )
        yield check(
            psi(setting),
            at_least=LEAST_PSI,
            unit="psi",
            message=f"{valve.label} is set to {apart_text(psi(setting), LEAST_PSI, 'psi', 2)}, "
            "below what households want.",
            remedy="Set the regulator to about 60 psi.",
            limit_step="Usual least, common practice",
            elements=(valve.guid,),
            about=valve.guid,
            wrong=Outcome.ADVISORY,
        )
