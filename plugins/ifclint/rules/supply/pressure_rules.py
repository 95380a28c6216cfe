"""Rules about pressure: enough at every fixture while water runs, not too much while none does."""

from __future__ import annotations

from ifclint.engineering.friction import pressure_of_head_pa
from ifclint.engineering.units import M_PER_FT, PA_PER_PSI
from ifclint.engineering.wording import number_text
from ifclint.findings import NOT_APPLICABLE, PASS, Answer, Measure, Outcome, Severity, Step
from ifclint.packs import Context, rule
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.plumbing.supply.water_supply import Tap, WaterFixture, WaterService
from ifclint.rules.supply.missing import unverified
from ifclint.rules.supply.pressure_model import (
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
from ifclint.rules.supply.sizing import changes_text, upsizings

NO_PRESSURE_NEEDED = frozenset({"floor-drain", "floor-sink"})  # a trap primer
METHODS = {"hazen-williams": "Hazen and Williams", "darcy-weisbach": "Darcy and Weisbach"}
WINDOW_PSI = (40.0, 80.0)  # what households find neither weak nor harsh: common practice


@rule(
    title="Pressure enough at every fixture",
    subject=WaterFixture,
    clauses={"upc": "608.1", "ipc": "604.3 and E103.1", "irc": "P2903.1"},
    needs=("known_kind",),
    applies=lambda fixture: fixture.kind not in NO_PRESSURE_NEEDED,
)
def pressure_at_fixture(fixture: WaterFixture, context: Context) -> Answer:
    """A shower that dribbles, and scalds when a closet flushes, for want of pressure.

    The residual pressure at each connection at the probable demand: the main at that flow, less
    meter, backflow preventer and other devices, regulator fall-off, friction in pipe and fittings,
    and height; against what the fixture needs (IPC: by fixture; UPC: 15 psi anywhere). Where a
    loss is not known the pressure is an upper bound: too low is then wrong all the same. For the
    critical fixture the fewest larger pipes that would do are named.
    """
    want = needed(fixture, context)
    if want is None:
        return NOT_APPLICABLE
    solved = solution(context)
    if not fixture.joined:
        return _not_joined(fixture, want)
    tap, pressure = solved.worst(fixture)
    need = Measure(want.psi, "psi", "at least")
    steps = budget(solved, tap, pressure, want)
    if pressure.residual_pa is None:
        return unverified(
            f"The residual pressure at {fixture.label} is not known", solved, pressure.missing,
            None, need, steps, fixture.element_ids,
        )  # fmt: skip
    residual = psi(pressure.residual_pa)
    measured = Measure(residual, "psi", "at most" if pressure.missing else "")
    if residual < want.psi - 1e-6:
        return Answer(
            Outcome.VIOLATION,
            f"{fixture.label} has {number_text(residual, 3)} psi on its {tap.service} side while "
            f"water runs and needs {number_text(want.psi)}.",
            measured, need, _remedy(fixture, solved, tap, want), steps,
            clause=want.clause,
        )  # fmt: skip
    if pressure.missing:
        return unverified(
            f"{fixture.label} has at most {number_text(residual, 3)} psi; how much less is not "
            "known",
            solved, pressure.missing, measured, need, steps, fixture.element_ids,
        )  # fmt: skip
    return PASS


def _not_joined(fixture: WaterFixture, want: Needed) -> Answer:
    return Answer(
        Outcome.UNVERIFIED,
        f"No water piping is joined to {fixture.label}, so nothing is known of its pressure, and "
        "its demand is counted in no pipe.",
        required=Measure(want.psi, "psi", "at least"),
        remedy="Connect the fixture's water ports to their branches, or draw the branches and "
        "stops up to the fixture.",
    )


def _remedy(fixture: WaterFixture, solved: Solution, tap: Tap, want: Needed) -> str:
    """The fewest larger pipes for the critical fixture; for others a word on the critical one."""
    residual = solved.at(tap).residual_pa or 0.0
    worst = critical(solved.context)
    changes = upsizings(solved, tap, want.psi * PA_PER_PSI - residual)
    also = "" if worst is None or worst[0] is fixture else f" {worst[0].label} is worse off still."
    if changes is not None:
        return changes_text(changes) + also
    short = want.psi - psi(residual)
    return (
        f"No larger pipe is enough: {number_text(short, 3)} psi are missing; raise the regulator's "
        f"setting, or the pressure by a pump, or take less loss in devices.{also}"
    )


def budget(solved: Solution, tap: Tap, pressure: Pressure, want: Needed | None) -> tuple[Step, ...]:
    """The pressure from the main to a connection, line by line; from a regulator that governs on,
    what comes before it no longer counts."""
    if tap.segment is None:
        return ()
    steps = [_main_step(solved)]
    base, base_m = "the main", solved.main_z_m
    for words, lost in solved.fixed.items():
        if lost:
            steps.append(Step(f"less {words}", -psi(lost), "psi", "job file"))
    for segment in tap.segment.to_source:
        assert isinstance(segment, WaterSegment)
        steps += _line_steps(solved, segment)
        valve_m = governing_m(solved, segment)
        if valve_m is not None:
            valve, head = segment.elements[-1], solved.head_pa[segment.number] or 0.0
            base, base_m = valve.label, valve_m
            here = psi(head - pressure_of_head_pa(valve_m))
            setting = psi(setting_pa(valve, solved.context) or 0.0)
            steps.append(
                Step(f"{base} then gives its {setting:.0f} psi less fall-off", here, "psi")
            )
    rise = pressure.elevation_m - base_m
    steps.append(
        Step(
            f"Height of the connection above {base}, {rise / M_PER_FT:.1f} ft",
            -psi(pressure_of_head_pa(rise)), "psi", "0.433 psi a foot",
        )
    )  # fmt: skip
    if pressure.residual_pa is not None:
        steps.append(Step("Residual pressure", psi(pressure.residual_pa), "psi"))
    if want is not None:
        steps.append(Step(f"Needed by {want.words}", want.psi, "psi", want.clause))
    return tuple(steps)


def _main_step(solved: Solution) -> Step:
    water = solved.context.job.water
    if solved.flowing_pa is None:
        return Step("Pressure of the main while water runs: not known")
    at = "" if water.flow_at_residual is None or water.static_pressure is None else (
        f", from {psi(water.static_pressure):.0f} psi standing and "
        f"{psi(water.residual_pressure or 0.0):.0f} psi at the flow measured, by the power 1.85"
    )  # fmt: skip
    return Step(f"Main at the building's demand{at}", psi(solved.flowing_pa), "psi", "job file")


def _line_steps(solved: Solution, segment: WaterSegment) -> list[Step]:
    found, gpm = solved.loss[segment.number], solved.demand.gpm(segment)
    if found.unknown and not found.total_pa:
        return [Step(f"{segment.label}: loss not known")]
    flow = f"{number_text(gpm, 3)} gpm" if gpm is not None else "flow not known"
    feet = f"{found.equivalent_m / M_PER_FT:.1f} ft with fittings"
    method = METHODS[solved.context.job.water.friction]
    steps = []
    if found.friction_pa:
        words = f"{segment.label}: {flow}, {feet}"
        steps.append(Step(words, -psi(found.friction_pa), "psi", method))
    if found.devices_pa:
        steps.append(Step(f"Devices in {segment.label}", -psi(found.devices_pa), "psi"))
    return steps


def highest_static(solved: Solution, service: WaterService) -> tuple[WaterFixture, Pressure] | None:
    """The fixture of greatest standing pressure."""
    found = [
        (fixture, pressure)
        for fixture in service.supply.fixtures
        if fixture.kind not in NO_PRESSURE_NEEDED
        for tap in fixture.taps
        if (pressure := solved.at(tap)).static_pa is not None
    ]
    return max(found, key=lambda f: f[1].static_pa or 0.0, default=None)


@rule(
    title="Static pressure within the limit, or a regulator",
    subject=WaterService,
    clauses={"upc": "608.2", "ipc": "604.8", "irc": "P2903.3.1"},
    severity=Severity.HIGH,
)
def static_pressure_limit(service: WaterService, context: Context) -> Answer:
    """Pressure above 80 psi wears valves, hammers pipe and bursts hoses while nobody is home.

    The standing pressure at the fixture where it is greatest, behind any regulator at its
    setting, against the greatest the code lets into a building.
    """
    limit, solved = context.code.limit("supply_static_max_psi"), solution(context)
    need = Measure(limit.value, "psi", "at most")
    worst = highest_static(solved, service)
    if worst is None or worst[1].static_missing:
        reason = worst[1].static_missing if worst else "water.static_pressure"
        if worst is None and solved.main_pa is not None:
            return NOT_APPLICABLE
        return unverified(
            "The static pressure in the building is not known", solved, reason, None, need,
            click=service.element_ids,
        )  # fmt: skip
    fixture, pressure = worst
    static = psi(pressure.static_pa or 0.0)
    steps = (
        Step("Main at rest", psi(solved.main_pa or 0.0), "psi", "job file"),
        Step(
            f"{fixture.label}, {(pressure.elevation_m - solved.main_z_m) / M_PER_FT:.1f} ft above "
            "the main, behind any regulator", static, "psi",
        ),
        Step("Greatest allowed", limit.value, "psi", limit.clause),
    )  # fmt: skip
    if static <= limit.value + 1e-6:
        return PASS
    regulators = [i for i in solved.supply.distribution.order if _regulates(service, i)]
    what = "in spite of its regulator" if regulators else "and no regulator lowers it"
    remedy = (
        f"Set the regulator to {limit.value:.0f} psi or less."
        if regulators
        else "Put a pressure-reducing valve with a strainer behind the main shutoff, set to about "
        "60 psi."
    )
    return Answer(
        Outcome.VIOLATION,
        f"{fixture.label} stands under {number_text(static, 3)} psi, {what}.",
        Measure(static, "psi"), need, remedy, steps,
        _where_to_put(service, regulators), clause=limit.clause,
    )  # fmt: skip


def _regulates(service: WaterService, index: int) -> bool:
    return service.supply.elements[index].kind == "pressure-reducing"


def _where_to_put(service: WaterService, regulators: list[int]) -> tuple[str, ...]:
    """The regulator, else the main shutoff, else the source."""
    from ifclint.rules.supply.shutoff import main_shutoff

    valve = main_shutoff(service)
    chosen = regulators[0] if regulators else valve if valve is not None else service.head
    return tuple(dict.fromkeys((service.supply.elements[chosen].guid, *service.element_ids)))


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
    solved = solution(context)
    known = [
        (pressure.static_pa, fixture)
        for fixture in service.supply.fixtures
        if fixture.kind not in NO_PRESSURE_NEEDED
        for tap in fixture.taps
        if (pressure := solved.at(tap)).static_pa is not None and not pressure.static_missing
    ]
    if not known:
        reason = "water.static_pressure" if solved.main_pa is None else "not fed"
        return unverified(
            "The static pressure at the fixtures is not known", solved, reason,
            required=Measure(WINDOW_PSI[0], "psi", "at least"), click=service.element_ids,
        )  # fmt: skip
    low, fixture = min(known, key=lambda k: k[0] or 0.0)
    static = psi(low or 0.0)
    if static >= WINDOW_PSI[0]:
        return PASS
    return Answer(
        Outcome.ADVISORY,
        f"{fixture.label} stands under {number_text(static, 3)} psi; households want at least "
        f"{WINDOW_PSI[0]:.0f}.",
        Measure(static, "psi"), Measure(WINDOW_PSI[0], "psi", "at least"),
        "Raise the regulator's setting, or consider a booster pump.",
        (Step(f"Standing pressure at {fixture.label}", static, "psi"),),
        (fixture.element.guid, *service.element_ids),
    )  # fmt: skip


@rule(
    title="Regulator set neither too high nor too low",
    subject=WaterService,
    clauses={"upc": "608.2", "ipc": "604.8", "irc": "P2903.3.1"},
)
def regulator_setting(service: WaterService, context: Context) -> Answer:
    """A regulator set above the limit protects nothing; one set too low starves the top floor.

    The setting of every pressure-reducing valve of the supply, from the job file or the model,
    against the greatest pressure the code allows and the 40 psi that is common practice.
    """
    limit, solved = context.code.limit("supply_static_max_psi"), solution(context)
    valves = [i for i in solved.supply.distribution.order if _regulates(service, i)]
    if not valves:
        return NOT_APPLICABLE
    for index in valves:
        valve = service.supply.elements[index]
        setting = setting_pa(valve, context)
        if setting is None:
            number = service.supply.segment_of[index].number
            return unverified(
                f"How high {valve.label} is set is not known", solved, f"setting@{number}",
                required=Measure(limit.value, "psi", "at most"),
            )  # fmt: skip
        if psi(setting) > limit.value + 1e-6:
            return Answer(
                Outcome.VIOLATION,
                f"{valve.label} is set to {psi(setting):.0f} psi.",
                Measure(psi(setting), "psi"), Measure(limit.value, "psi", "at most"),
                f"Set it to {limit.value:.0f} psi or less.",
                (Step("Greatest allowed", limit.value, "psi", limit.clause),), (valve.guid,),
            )  # fmt: skip
        if psi(setting) < WINDOW_PSI[0]:
            return Answer(
                Outcome.ADVISORY,
                f"{valve.label} is set to {psi(setting):.0f} psi, below what households want.",
                Measure(psi(setting), "psi"), Measure(WINDOW_PSI[0], "psi", "at least"),
                "Set it to about 60 psi.",
                (Step("Usual least, common practice", WINDOW_PSI[0], "psi"),), (valve.guid,),
            )  # fmt: skip
    return PASS


RULES = (pressure_at_fixture, static_pressure_limit, household_pressure, regulator_setting)
