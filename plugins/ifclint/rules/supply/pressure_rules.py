"""Rules about pressure: enough at every fixture while water runs, not too much while none does."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ifclint.checks import Fact, check, not_known, require
from ifclint.codes import Limit
from ifclint.engineering.friction import pressure_of_head_pa
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M3_PER_S_PER_GPM, M_PER_FT, PA_PER_PSI
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, Change, Measure, Outcome, Settles, Severity, Step
from ifclint.ifc.elements import Element
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.plumbing.supply.water_fixtures import Tap, WaterFixture
from ifclint.plumbing.supply.water_supply import WaterService
from ifclint.rules.supply.beginnings import Beginning, beginnings, set_to
from ifclint.rules.supply.losses import Loss
from ifclint.rules.supply.missing import Reason, Unknown, left_open
from ifclint.rules.supply.pressure_model import (
    NO_STATIC,
    NOT_FED,
    Needed,
    Pressure,
    Solution,
    critical,
    governing_m,
    needed,
    psi,
    setting_pa,
    solution,
)
from ifclint.rules.supply.shutoff import main_shutoff
from ifclint.rules.supply.sizing import as_remedy, upsizings

NO_PRESSURE_NEEDED = frozenset({"floor-drain", "floor-sink"})  # a trap primer
METHODS = {"hazen-williams": "Hazen and Williams", "darcy-weisbach": "Darcy and Weisbach"}
PUT_REGULATOR = (
    "Put a pressure-reducing valve with a strainer behind the main shutoff, set to about 60 psi."
)
LEAST_PSI = 40.0  # below it households find their showers weak: common practice


NOT_JOINED = Fact(
    "No water piping is joined to {}, so nothing is known of its pressure, and its demand is "
    "counted in no pipe.",
    "Connect the fixture's water ports to their branches, or draw the branches and stops up to the "
    "fixture.",
)


@rule(
    title="Pressure enough at every fixture",
    subject=WaterFixture,
    clauses={"upc": "608.1", "ipc": "604.3 and E103.1", "irc": "P2903.1"},
    needs=("known_kind",),
    applies=lambda fixture: fixture.kind not in NO_PRESSURE_NEEDED,
    settles=Settles.PRESSURE,
)
def pressure_at_fixture(fixture: WaterFixture, context: Context) -> Iterator[Answer]:
    """A shower that dribbles, and scalds when a closet flushes, for want of pressure.

    The residual pressure at each connection at the probable demand: the main at that flow, less
    meter, backflow preventer and other devices, regulator fall-off, friction in pipe and fittings,
    and height; against what the fixture needs (IPC: by fixture; UPC: 15 psi anywhere). Where a
    loss is not known the pressure is an upper bound: too low is then wrong all the same. For the
    critical fixture the fewest larger pipes that would do are named. What a tankless heater, a
    softener or a filter takes is counted where the job file tells it; else it is asked where the
    upper end of the usual range would leave too little. Behind a pump or tank the pressure begins
    anew.
    """
    want = needed(fixture, context)
    if want is None:
        return
    if not fixture.joined:
        yield _not_joined(fixture, want)
        return
    said = [
        _connection(fixture, tap, pressure, want, context)
        for tap, pressure in solution(context).by_branch(fixture)
    ]
    unknown = [answer for answer in said if answer.outcome is Outcome.UNVERIFIED]
    yield from (answer for answer in said if answer.outcome is not Outcome.UNVERIFIED)
    yield from unknown[:1]  # what is missing is mostly missing for both connections


def _connection(
    fixture: WaterFixture, tap: Tap, pressure: Pressure, want: Needed, context: Context
) -> Answer:
    solved, need = solution(context), Measure(want.psi, "psi", "at least")
    residual = pressure.residual_psi
    if residual is None:
        return left_open(
            f"The residual pressure at {fixture.label} is not known",
            pressure.missing or NOT_FED, context, fixture.element_ids,
            steps=budget(solved, tap, pressure, want), required=need,
        )  # fmt: skip
    measured = Measure(residual, "psi", "at most" if pressure.missing else "")
    if pressure.missing and at_least(residual, want.psi, "psi"):
        return left_open(
            f"{fixture.label} has at most {number_text(residual, 3)} psi; how much less is not "
            "known",
            pressure.missing, context, fixture.element_ids,
            steps=budget(solved, tap, pressure, want), measured=measured, required=need,
        )  # fmt: skip
    left = residual - psi(pressure.unstated_pa)
    if at_least(residual, want.psi, "psi") and not at_least(left, want.psi, "psi"):
        return left_open(
            f"{fixture.label} has at most {number_text(residual, 3)} psi, and may have as little "
            f"as {number_text(max(left, 0.0), 3)}",
            Unknown(Reason.DEVICE), context, fixture.element_ids,
            steps=budget(solved, tap, pressure, want),
            measured=Measure(residual, "psi", "at most"), required=need,
        )  # fmt: skip
    return require(
        at_least(residual, want.psi, "psi"),
        message=_short_of(fixture, tap, residual, want.psi),
        measured=measured,
        required=need,
        remedy=lambda: _remedy(fixture, solved, tap, want.psi - residual),
        steps=lambda: budget(solved, tap, pressure, want),
        about=tap.segment.key if tap.segment is not None else "",
        clause=want.limit.clause,
        provenance=want.limit.provenance,
    )


def _short_of(fixture: WaterFixture, tap: Tap, residual: float, want: float) -> str:
    """What is left at a fixture; a negative figure is none: the piping would lose more than the
    pressure there is."""
    if residual < 0.0:
        return (
            f"Nothing is left for {fixture.label} on its {tap.service} side while water runs: the "
            f"piping to it would lose {number_text(-residual, 3)} psi more than there is. It needs "
            f"{number_text(want)} psi."
        )
    return (
        f"{fixture.label} has {number_text(residual, 3)} psi on its {tap.service} side while water "
        f"runs and needs {number_text(want)}."
    )


def _not_joined(fixture: WaterFixture, want: Needed) -> Answer:
    return not_known(NOT_JOINED, fixture, required=Measure(want.psi, "psi", "at least"))


def _remedy(fixture: WaterFixture, solved: Solution, tap: Tap, short_psi: float) -> str | Change:
    """The fewest larger pipes for the critical fixture; for others a word on the critical one."""
    worst = critical(solved.context)
    other = worst is not None and worst.fixture is not fixture
    also = f" {worst.fixture.label} is worse off still." if worst is not None and other else ""
    changes = upsizings(solved, tap, short_psi * PA_PER_PSI)
    if changes is not None:
        return as_remedy(changes, also)
    return (
        f"Raise the pressure by {number_text(short_psi, 3)} psi, by the regulator's setting or a "
        f"pump, or take less loss in devices: pipe of three sizes larger is not enough.{also}"
    )


def budget(solved: Solution, tap: Tap, pressure: Pressure, want: Needed | None) -> tuple[Step, ...]:
    """The pressure from the main to a connection, line by line; from a regulator that governs on,
    what comes before it no longer counts."""
    if tap.segment is None:
        return ()
    begun_at = beginnings(solved.context)
    private = tap.segment.to_source[0].indexes[0] in solved.supply.sources.private
    steps = [] if private and begun_at else [_main_step(solved)]
    base, base_m = "the main", solved.main_z_m
    for words, lost in solved.fixed_pa.items():
        if lost:
            steps.append(Step(f"less {words}", -psi(lost), "psi", "job file"))
    for segment, flow, taken in solved.to_source(tap.segment):
        steps += _segment_steps(segment, flow, taken, solved.context)
        begun = begun_at.get(segment.number)
        if begun is not None:
            base, base_m = begun.element.label, begun.height_m or 0.0
            steps.append(_begun_step(begun, solved.context))
        valve_m = governing_m(solved, segment)
        if valve_m is not None:
            valve, head = segment.elements[-1], solved.heads[segment.number].flowing_pa
            base, base_m, setting = valve.label, valve_m, setting_pa(valve, solved.context)
            assert head is not None
            assert setting is not None
            words = f"{base} then gives its {psi(setting):.0f} psi less fall-off"
            steps.append(Step(words, psi(head - pressure_of_head_pa(valve_m)), "psi"))
    rise = pressure.elevation_m - base_m
    steps.append(
        Step(
            f"Height of the connection above {base}, {rise / M_PER_FT:.1f} ft",
            -psi(pressure_of_head_pa(rise)), "psi", "0.433 psi a foot",
        )
    )  # fmt: skip
    if pressure.residual_psi is not None:
        steps.append(Step("Residual pressure", pressure.residual_psi, "psi"))
    if want is not None:
        steps.append(Step(f"Needed by {want.words}", want.psi, "psi", want.limit.clause))
    return tuple(steps)


def _begun_step(begun: Beginning, context: Context) -> Step:
    flowing = set_to(begun, context)[1]
    if flowing is None:
        return Step(f"Pressure behind {begun.element.label} while water runs: not known")
    return Step(f"{begun.element.label} gives while water runs", psi(flowing), "psi", "as set")


def _main_step(solved: Solution) -> Step:
    water = solved.context.job.water
    if solved.flowing_pa is None:
        return Step("Pressure of the main while water runs: not known")
    static, residual, at = water.static_pressure, water.residual_pressure, ""
    if water.flow_at_residual is not None and static is not None and residual is not None:
        at = f", from {psi(static):.0f} psi standing and {psi(residual):.0f} psi at the flow "
        at += "measured, by the power 1.85"
    return Step(f"Main at the building's demand{at}", psi(solved.flowing_pa), "psi", "job file")


def _segment_steps(
    segment: WaterSegment, m3_per_s: float | None, found: Loss, context: Context
) -> list[Step]:
    """Of one line, at what passes it."""
    if found.unknown and not found.total_pa:
        return [Step(f"{segment.label}: loss not known")]
    flow = "flow not known"
    if m3_per_s is not None:
        flow = f"{number_text(m3_per_s / M3_PER_S_PER_GPM, 3)} gpm"
    feet = f"{found.equivalent_m / M_PER_FT:.1f} ft with fittings"
    if found.allowance_m:
        feet += f", {found.allowance_m / M_PER_FT:.1f} ft of it the allowance where none is drawn"
    method = METHODS[context.job.water.friction]
    steps = []
    if found.friction_pa:
        words = f"{segment.label}: {flow}, {feet}"
        steps.append(Step(words, -psi(found.friction_pa), "psi", method))
    if found.devices_pa:
        steps.append(Step(f"Devices in {segment.label}", -psi(found.devices_pa), "psi"))
    return steps


@dataclass(frozen=True)
class Standing:
    """The pressure of the supply at rest at one connection."""

    fixture: WaterFixture
    psi: float
    above_main_m: float
    unknown: Unknown | None  # why it is only a bound


@derived
def standing(context: Context) -> list[Standing]:
    """At every connection where it is known, or a bound is."""
    solved = solution(context)
    return [
        Standing(fixture, static, at.elevation_m - solved.main_z_m, at.static_missing)
        for fixture in solved.supply.fixtures
        if fixture.kind not in NO_PRESSURE_NEEDED
        for tap in fixture.taps
        if (static := (at := solved.at(tap)).static_psi) is not None
    ]


@rule(
    title="Static pressure within the limit, or a regulator",
    subject=WaterService,
    clauses={"upc": "608.2", "ipc": "604.8", "irc": "P2903.3.1"},
    severity=Severity.HIGH,
)
def static_pressure_limit(service: WaterService, context: Context) -> Iterator[Answer]:
    """Pressure above 80 psi wears valves, hammers pipe and bursts hoses while nobody is home.

    The standing pressure at the fixture where it is greatest, behind any regulator at its
    setting, against the greatest the code lets into a building.
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
    main_pa, regulator = solution(context).main_pa, next(iter(_regulators(context)), None)
    at = regulator or main_shutoff(service) or service.element
    elements = tuple(dict.fromkeys((at.guid, *service.element_ids)))
    what = "in spite of its regulator"
    remedy: str | Change = f"Set the regulator to {limit.value:.0f} psi or less."
    if regulator is None:
        what = "and no regulator lowers it"
        remedy = Change("part", elements, "pressure-reducing valve", PUT_REGULATOR)
    return check(
        highest.psi,
        at_most=limit,
        message=f"{highest.fixture.label} stands under {number_text(highest.psi, 3)} psi, {what}.",
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


@derived
def _regulators(context: Context) -> list[Element]:
    """The pressure-reducing valves of the supply, from the source on."""
    supply = context.plumbing.supply
    elements = (supply.elements[index] for index in supply.distribution.order)
    return [element for element in elements if element.kind == "pressure-reducing"]


@rule(
    title="Static pressure a household likes",
    subject=WaterService,
    clauses={"any": "common practice, no clause"},
    severity=Severity.LOW,
)
def household_pressure(service: WaterService, context: Context) -> Answer:
    """Below 40 psi showers are weak; above 80 psi valves wear out early.

    The standing pressure at the highest and the lowest fixture, against the window of 40 to 80 psi
    that is common practice. Above 80 psi the code's own limit speaks instead.
    """
    sure = _surely_standing(context)
    if not sure:
        return left_open(
            "The static pressure at the fixtures is not known",
            _why_not_known(context), context,
            service.element_ids, required=Measure(LEAST_PSI, "psi", "at least"),
        )  # fmt: skip
    return _household(sure[0], service)


def _household(lowest: Standing, service: WaterService) -> Answer:
    """The lowest pressure at a fixture against what households want."""
    label = lowest.fixture.label
    return check(
        lowest.psi,
        at_least=LEAST_PSI,
        unit="psi",
        message=f"{label} stands under {number_text(lowest.psi, 3)} psi; households want at least "
        f"{LEAST_PSI:.0f}.",
        remedy="Raise the regulator's setting, or consider a booster pump.",
        steps=(Step(f"Standing pressure at {label}", lowest.psi, "psi"),),
        elements=(lowest.fixture.element.guid, *service.element_ids),
        wrong=Outcome.ADVISORY,
    )


def _why_not_known(context: Context) -> Unknown:
    if _street_unknown(context):
        return NO_STATIC
    return next(iter(_begun_anew(context)), NOT_FED)


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
    subject=WaterService,
    clauses={"upc": "608.2", "ipc": "604.8", "irc": "P2903.3.1"},
)
def regulator_setting(service: WaterService, context: Context) -> tuple[Answer, ...]:
    """A regulator set above the limit protects nothing; one set too low starves the top floor.

    The setting of every pressure-reducing valve of the supply, from the job file or the model,
    against the greatest pressure the code allows and the 40 psi that is common practice.
    """
    return _settings(context)


@derived
def _settings(context: Context) -> tuple[Answer, ...]:
    """What is said of the settings of all regulators."""
    return tuple(_each_setting(context))


def _each_setting(context: Context) -> Iterator[Answer]:
    limit = context.code.limit("supply_static_max_psi")
    for valve in _regulators(context):
        setting = setting_pa(valve, context)
        if setting is None:
            yield left_open(
                f"How high {valve.label} is set is not known", Unknown(Reason.SETTING), context,
                (valve.guid,), about=valve.guid, required=Measure(limit.value, "psi", "at most"),
            )  # fmt: skip
            continue
        yield from _set_right(limit, valve, setting)


def _set_right(limit: Limit, valve: Element, setting: float) -> Iterator[Answer]:
    """The setting of a regulator against the most, and the usual least."""
    yield check(
        psi(setting),
        at_most=limit,
        message=f"{valve.label} is set to {psi(setting):.0f} psi.",
        remedy=f"Set the regulator to {limit.value:.0f} psi or less.",
        limit_step="Greatest allowed",
        elements=(valve.guid,),
        about=valve.guid,
    )
    yield check(
        psi(setting),
        at_least=LEAST_PSI,
        unit="psi",
        message=f"{valve.label} is set to {psi(setting):.0f} psi, below what households want.",
        remedy="Set the regulator to about 60 psi.",
        limit_step="Usual least, common practice",
        elements=(valve.guid,),
        about=valve.guid,
        wrong=Outcome.ADVISORY,
    )


RULES = (pressure_at_fixture, static_pressure_limit, household_pressure, regulator_setting)
