"""The pressure at every point of the supply, standing and flowing.

Pressures are followed as heads: the pressure a point would have at elevation 0 of the model, so
that they fall by losses alone. A regulator lowers a head to its setting.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from ifclint.codes.fixture_units import choose_row
from ifclint.engineering.friction import pressure_of_head_pa
from ifclint.engineering.units import PA_PER_PSI
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, derived
from ifclint.plumbing.supply.segments import SETS_PRESSURE, WaterSegment
from ifclint.plumbing.supply.water_supply import Supply, Tap, WaterFixture
from ifclint.rules.supply.demand import Demand, demand
from ifclint.rules.supply.losses import Loss, falloff_pa, loss
from ifclint.rules.supply.units import facts_of

HYDRANT_POWER = 1.85  # the main loses pressure as the flow to this power (hydrant flow tests)
NO_STATIC = "water.static_pressure"
NO_RESIDUAL = "water.residual_pressure"


@dataclass(frozen=True)
class Pressure:
    """At one connection, Pa. `missing` tells why a value is unknown, or only an upper bound."""

    static_pa: float | None
    residual_pa: float | None
    elevation_m: float
    missing: str = ""
    static_missing: str = ""


@dataclass(repr=False)
class Solution:
    """Losses and heads of all lines. Lists go by `WaterLine.number`; heads at a line's far end."""

    context: Context
    supply: Supply
    demand: Demand
    loss: list[Loss]
    lost_pa: list[float]  # from the source to the far end, regulators left out
    static_head_pa: list[float | None]
    head_pa: list[float | None]
    missing: list[str]  # why a head is not known, or an upper bound
    static_missing: list[str]
    main_pa: float | None = None  # static pressure at the main
    flowing_pa: float | None = None  # at the main at the building's demand
    fixed: dict[str, float] = field(default_factory=dict)  # losses at the source, Pa
    main_z_m: float = 0.0

    def at(self, tap: Tap) -> Pressure:
        """Standing and flowing pressure at a connection."""
        z = _elevation(tap)
        if tap.segment is None:
            return Pressure(None, None, z, "not fed", "not fed")
        number, column = tap.segment.number, pressure_of_head_pa(z)
        static, head = self.static_head_pa[number], self.head_pa[number]
        return Pressure(
            None if static is None else static - column,
            None if head is None else head - column,
            z, self.missing[number], self.static_missing[number],
        )  # fmt: skip

    def worst(self, fixture: WaterFixture) -> tuple[Tap, Pressure]:
        """The connection of a fixture with the least flowing pressure."""
        found = [(tap, self.at(tap)) for tap in fixture.taps]
        if not found:
            raise ValueError(f"{fixture.label} has no connection")
        return min(found, key=lambda f: -1e12 if f[1].residual_pa is None else f[1].residual_pa)


def _elevation(tap: Tap) -> float:
    if tap.point is not None:
        return tap.point[2]
    return 0.0


@dataclass(frozen=True)
class Needed:
    """The flowing pressure a fixture needs, and where that is said."""

    psi: float
    clause: str
    source: str
    words: str


def needed(fixture: WaterFixture, context: Context) -> Needed | None:
    """By fixture where the code lists it so, else the least pressure anywhere; None if neither."""
    code = context.code
    if "fixture_flow" in code.tables:
        rows = code.table("fixture_flow").where(fixture=fixture.kind)
        occupancy = context.job.building.occupancy or "private"
        fit = tuple(r for r in rows if r.text("occupancy") in ("", occupancy)) or rows
        if fit:
            row, _ = choose_row(fit, facts_of(fixture))
            words = f"{fixture.kind.replace('-', ' ')} while it flows"
            return Needed(row.number("flow_psi"), row.clause, row.source, words)
    try:
        limit = code.limit("supply_residual_psi")
    except KeyError:
        return None
    return Needed(limit.value, limit.clause, limit.source, "any fixture while it flows")


@derived
def solution(context: Context) -> Solution:
    """The supply as drawn, at the demand of the method the job file chooses."""
    return solve(context)


def solve(context: Context, sizes: Mapping[int, float] | None = None) -> Solution:
    """The supply as drawn, or with some lines (by number) in other sizes."""
    supply, made = context.plumbing.supply, demand(context)
    resized = sizes or {}
    losses = [
        loss(
            segment, made.flow_m3_per_s[segment.number] or 0.0, context, resized.get(segment.number)
        )
        for segment in supply.segments
    ]
    count = len(supply.segments)
    solved = Solution(
        context, supply, made, losses, [0.0] * count, [None] * count, [None] * count,
        [""] * count, [""] * count,
    )  # fmt: skip
    _at_main(solved)
    for segment in supply.segments:
        _follow(solved, segment)
    return solved


def _at_main(solved: Solution) -> None:
    """What the main gives, at rest and at the building's demand, and what is lost at the source."""
    supply, water = solved.supply, solved.context.job.water
    first = [segment for segment in supply.segments if segment.above is None]
    flows = [solved.demand.flow_m3_per_s[segment.number] for segment in first]
    total = sum(flow or 0.0 for flow in flows)
    solved.main_z_m = _main_elevation(solved, first)
    solved.main_pa = water.static_pressure
    solved.flowing_pa = main_pressure_pa(
        water.static_pressure, water.residual_pressure, water.flow_at_residual, total
    )
    elements = supply.elements
    on_way = {elements[i].role for i in supply.distribution.order}
    if water.meter_loss is not None and Role.METER not in on_way:
        solved.fixed["meter"] = water.meter_loss
    kinds = {elements[i].kind for i in supply.distribution.order}
    if water.backflow_loss is not None and "backflow-preventer" not in kinds:
        solved.fixed["backflow preventer"] = water.backflow_loss
    if water.other_loss is not None:
        solved.fixed["other devices"] = water.other_loss


def _main_elevation(solved: Solution, first: list[WaterSegment]) -> float:
    stated = solved.context.job.water.main_elevation
    if stated is not None:
        return stated
    points = [segment.middle(segment.indexes[0]) for segment in first]
    return min((p[2] for p in points if p is not None), default=0.0)


def main_pressure_pa(
    static_pa: float | None, residual_pa: float | None, at_m3_per_s: float | None, flow: float
) -> float | None:
    """Pressure of the main at a flow: P = Ps - (Ps - Pr) (Q / Qr)^1.85, as in hydrant flow tests.

    Without a flow at which the residual was measured the residual itself is taken.

    >>> main_pressure_pa(92.0, 84.0, 25.0, 25.0)
    84.0
    """
    if residual_pa is None:
        return None
    if static_pa is None or at_m3_per_s is None:
        return residual_pa
    share: float = (flow / at_m3_per_s) ** HYDRANT_POWER
    return static_pa - (static_pa - residual_pa) * share


def _follow(solved: Solution, segment: WaterSegment) -> None:
    """The heads at the far end of a line, from those of the line that feeds it."""
    number = segment.number
    above = segment.above
    if isinstance(above, WaterSegment):
        static, head = solved.static_head_pa[above.number], solved.head_pa[above.number]
        missing, still = solved.missing[above.number], solved.static_missing[above.number]
        lost = solved.lost_pa[above.number]
    else:
        column = pressure_of_head_pa(solved.main_z_m)
        lost = sum(solved.fixed.values())
        static = None if solved.main_pa is None else solved.main_pa + column
        head = None if solved.flowing_pa is None else solved.flowing_pa + column - lost
        still = NO_STATIC if static is None else ""
        missing = NO_RESIDUAL if head is None else ""
    found = solved.loss[number]
    lost += found.total_pa
    head = None if head is None else head - found.total_pa
    if not missing:
        missing = _unknown(solved, segment, found)
    last = segment.distribution.elements[segment.indexes[-1]]
    if _is_regulator(last):
        static, head, missing, still = _regulated(
            solved, last, segment, static, head, missing, still
        )
    if "pump" in missing and not still:
        still = missing
    solved.lost_pa[number] = lost
    solved.static_head_pa[number], solved.head_pa[number] = static, head
    solved.missing[number], solved.static_missing[number] = missing, still


def _unknown(solved: Solution, segment: WaterSegment, found: Loss) -> str:
    """Why the loss of a line is not known, or too small."""
    if found.unknown:
        return f"{found.unknown}@{segment.number}"
    if solved.demand.flow_m3_per_s[segment.number] is None:
        return f"flow@{segment.number}"
    return f"units@{segment.number}" if solved.demand.unknown[segment.number] else ""


def _regulated(
    solved: Solution, valve: Element, segment: WaterSegment,
    static: float | None, head: float | None, missing: str, still: str,
) -> tuple[float | None, float | None, str, str]:  # fmt: skip
    """Behind a pressure-reducing valve; one of unknown setting is passed as if it were open."""
    setting = setting_pa(valve, solved.context)
    if setting is None:
        return (
            static,
            head,
            missing or f"setting@{segment.number}",
            still or f"setting@{segment.number}",
        )
    point = segment.middle(segment.indexes[-1])
    column = pressure_of_head_pa(point[2] if point is not None else 0.0)
    flowing = setting - falloff_pa(solved.context) + column
    standing = setting + column
    if static is None:
        still = ""  # whatever the street gives, no more than the setting passes
    return (
        standing if static is None else min(static, standing),
        None if head is None else min(head, flowing),
        missing, still,
    )  # fmt: skip


def setting_pa(valve: Element, context: Context) -> float | None:
    """The setting of a regulator: the job file's, else the model's."""
    given = context.job.water.regulator_setting
    if given is not None:
        return given
    stated = valve.properties.get("downstream_pressure_pa")
    return stated if isinstance(stated, float) and stated > 0 else None


def governing_m(solved: Solution, segment: WaterSegment) -> float | None:
    """The elevation of the regulator at the end of a line, where it sets the flowing pressure;
    None where there is none, or it stands wide open."""
    valve, head = segment.elements[-1], solved.head_pa[segment.number]
    if not _is_regulator(valve) or head is None:
        return None
    setting, point = setting_pa(valve, solved.context), segment.middle(segment.indexes[-1])
    if setting is None or point is None:
        return None
    flowing = setting - falloff_pa(solved.context) + pressure_of_head_pa(point[2])
    return point[2] if head >= flowing - 1e-6 else None


def _is_regulator(element: Element) -> bool:
    return element.kind in SETS_PRESSURE or element.role is Role.REGULATOR


def psi(pascal: float) -> float:
    return pascal / PA_PER_PSI


@derived
def critical(context: Context) -> tuple[WaterFixture, Tap, float] | None:
    """The fixture with the least pressure to spare, its connection, and what it has to spare, psi;
    None where no pressure is known."""
    return _critical(solution(context))


def _critical(solved: Solution) -> tuple[WaterFixture, Tap, float] | None:
    found: list[tuple[float, int, WaterFixture, Tap]] = []
    for order, fixture in enumerate(solved.supply.fixtures):
        want = needed(fixture, solved.context)
        if want is None:
            continue
        for tap in fixture.taps:
            pressure = solved.at(tap)
            if pressure.residual_pa is not None:
                spare = psi(pressure.residual_pa) - want.psi
                found.append((spare, order, fixture, tap))
    if not found:
        return None
    spare, _, fixture, tap = min(found, key=lambda f: f[:2])
    return fixture, tap, spare
