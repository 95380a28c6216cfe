"""The pressure from the main to a connection, line by line, as steps of a finding, and the
connections that have least."""

from __future__ import annotations

from dataclasses import dataclass

from ifclint.checks import given
from ifclint.codes import Limit
from ifclint.codes.fixture_units import choose_row
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.friction import pressure_of_head_pa
from ifclint.engineering.units import M3_PER_S_PER_GPM, M_PER_FT
from ifclint.engineering.wording import number_text
from ifclint.findings import Step
from ifclint.packs import Context, derived
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.plumbing.supply.water_fixtures import Tap, WaterFixture
from ifclint.rules.supply.beginnings import Beginning, beginnings, set_to, setting_pa
from ifclint.rules.supply.demand import is_counted
from ifclint.rules.supply.emergency import pressure_needed
from ifclint.rules.supply.heads import governing_m
from ifclint.rules.supply.losses import Loss
from ifclint.rules.supply.pressure_model import solution
from ifclint.rules.supply.solved_supply import Pressure, Solution, psi
from ifclint.rules.supply.units import facts_of

METHODS = {"hazen-williams": "Hazen and Williams", "darcy-weisbach": "Darcy and Weisbach"}


def budget(tap: Tap, pressure: Pressure, want: Needed | None, context: Context) -> tuple[Step, ...]:
    """The pressure from the main to a connection, line by line; from a regulator that governs on,
    what comes before it no longer counts."""
    if tap.segment is None:
        return ()
    solved = solution(context)
    private = tap.segment.source in solved.supply.sources.private
    steps = [] if private and beginnings(context) else [_main_step(solved)]
    base, base_m = "the main", solved.main_z_m
    for words, lost in solved.fixed_pa.items():
        if lost:
            steps.append(Step(f"less {words}", -psi(lost), "psi", "job file"))
    begun_at = len(steps)
    for line in solved.to_source(tap.segment):
        along, set_at = _along(context, *line)
        if set_at is not None and set_at[0] == base:  # by the same once more: the line to it
            del steps[begun_at:]
            along = along[-1:]
        elif set_at is not None:
            begun_at = len(steps) + len(along) - 1
        steps += along
        base, base_m = set_at or (base, base_m)
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


@derived
def _along(
    context: Context, segment: WaterSegment, m3_per_s: float | None, taken: Loss
) -> tuple[list[Step], tuple[str, float] | None]:
    """The steps along a line at what passes it; where the pressure is set anew at its end, what
    sets it and how high that stands."""
    solved, set_at = solution(context), None
    steps = _segment_steps(segment, m3_per_s, taken, context)
    begun = beginnings(context).get(segment.number)
    if begun is not None:
        set_at = begun.element.label, or_zero(begun.height_m)
        steps.append(_begun_step(begun, context))
    valve_m = governing_m(solved, segment)
    if valve_m is not None:
        valve, head = segment.elements[-1], solved.heads[segment.number].flowing_pa
        set_at, setting = (valve.label, valve_m), given(setting_pa(valve, context))
        words = f"{valve.label} then gives its {psi(setting):.0f} psi less fall-off"
        left = psi(given(head) - pressure_of_head_pa(valve_m))
        steps.append(Step(words, left, "psi"))
    return steps, set_at


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
class Needed:
    """The flowing pressure a fixture needs, and what needs it."""

    limit: Limit
    words: str

    @property
    def psi(self) -> float:
        return self.limit.value


def needed(fixture: WaterFixture, context: Context) -> Needed | None:
    """By fixture where the code lists it so, or the standard of an emergency fixture; else the
    least pressure anywhere; None if neither."""
    code = context.code
    alarm = pressure_needed(fixture, context)
    if alarm is not None:
        return Needed(alarm, "emergency fixture while it flows")
    if "fixture_flow" in code.tables:
        rows = code.table("fixture_flow").where(fixture=fixture.kind)
        occupancy = context.job.building.use
        fit = tuple(r for r in rows if r.text("occupancy") in ("", occupancy)) or rows
        if fit:
            row, _ = choose_row(fit, facts_of(fixture))
            words = f"{fixture.kind.replace('-', ' ')} while it flows"
            return Needed(row.limit("flow_psi", "psi"), words)
    limit = code.limit_or_none("supply_residual_psi")
    return None if limit is None else Needed(limit, "any fixture while it flows")


@dataclass(frozen=True)
class Critical:
    """The fixture with the least pressure to spare, and its connection."""

    fixture: WaterFixture
    tap: Tap
    spare_psi: float


@derived
def critical(context: Context) -> Critical | None:
    """The critical fixture, of those that are counted; None where no pressure is known."""
    solved = solution(context)
    found = [
        Critical(fixture, tap, residual - want.psi)
        for fixture in solved.supply.fixtures
        if is_counted(fixture, context)
        if (want := needed(fixture, context)) is not None
        for tap in fixture.taps
        if (residual := solved.at(tap).residual_psi) is not None
    ]
    return min(found, key=lambda c: c.spare_psi, default=None)
