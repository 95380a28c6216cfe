"""The flowing pressure that each fixture needs, and which has the least to spare."""

from __future__ import annotations

from dataclasses import dataclass

from ifclint.codes import Limit
from ifclint.codes.fixture_units import choose_row
from ifclint.packs import Context, derived
from ifclint.plumbing.supply.water_fixtures import Tap, WaterFixture
from ifclint.rules.supply.demand import is_counted
from ifclint.rules.supply.emergency import pressure_needed
from ifclint.rules.supply.pressure_model import solution
from ifclint.rules.supply.units import facts_of


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
