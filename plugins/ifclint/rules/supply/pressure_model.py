"""The pressure at every point of the supply, standing and flowing.

Pressures are followed as heads: the pressure a point would have at elevation 0 of the model, so
that they fall by losses alone. A regulator lowers a head to its setting.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf

from ifclint.checks import given
from ifclint.codes import Limit
from ifclint.codes.fixture_units import choose_row
from ifclint.engineering.friction import pressure_of_head_pa
from ifclint.engineering.units import M3_PER_S_PER_GPM, PA_PER_PSI
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, derived
from ifclint.plumbing.supply.segments import SETS_PRESSURE, WaterSegment
from ifclint.plumbing.supply.water_fixtures import Tap, WaterFixture
from ifclint.plumbing.supply.water_supply import Supply
from ifclint.rules.supply.beginnings import Beginning, beginnings, set_to, told_of
from ifclint.rules.supply.demand import WaterDemand, demand
from ifclint.rules.supply.losses import Loss, falloff_pa, loss
from ifclint.rules.supply.missing import Reason, Unknown
from ifclint.rules.supply.rings import divide, rings
from ifclint.rules.supply.units import facts_of

HYDRANT_POWER = 1.85  # the main loses pressure as the flow to this power (hydrant flow tests)
NO_STATIC = Unknown(Reason.STATIC)
NO_RESIDUAL = Unknown(Reason.RESIDUAL)
NO_METER = Unknown(Reason.METER)
NOT_FED = Unknown(Reason.NOT_FED)


@dataclass(frozen=True)
class Pressure:
    """At one connection, Pa. `missing` tells why a value is unknown, or only an upper bound;
    `unstated_pa` is what devices of unknown loss may take of the flowing pressure besides."""

    static_pa: float | None
    residual_pa: float | None
    elevation_m: float
    missing: Unknown | None = None
    static_missing: Unknown | None = None
    unstated_pa: float = 0.0

    @property
    def static_psi(self) -> float | None:
        return None if self.static_pa is None else psi(self.static_pa)

    @property
    def residual_psi(self) -> float | None:
        return None if self.residual_pa is None else psi(self.residual_pa)


@dataclass(repr=False)
class Solution:
    """Losses and heads of all lines. Lists go by `WaterLine.number`; heads at a line's far end."""

    context: Context
    supply: Supply
    demand: WaterDemand
    loss: list[Loss]
    lost_pa: list[float]  # from the source to the far end, regulators left out
    static_head_pa: list[float | None]
    head_pa: list[float | None]
    missing: list[Unknown | None]  # why a head is not known, or an upper bound
    static_missing: list[Unknown | None]
    unstated_pa: list[float]
    main_pa: float | None = None  # static pressure at the main
    flowing_pa: float | None = None  # at the main at the building's demand
    fixed: dict[str, float | None] = field(default_factory=dict)  # losses at the source, Pa
    main_z_m: float = 0.0
    ring_m3_per_s: dict[int, float] = field(default_factory=dict)  # what passes lines of rings

    def gpm(self, segment: WaterSegment) -> float | None:
        """The flow that a line's loss is worked out at."""
        in_ring = self.ring_m3_per_s.get(segment.number)
        return self.demand.gpm(segment) if in_ring is None else in_ring / M3_PER_S_PER_GPM

    @property
    def fixed_pa(self) -> dict[str, float]:
        """The losses at the source that are stated."""
        return {words: lost for words, lost in self.fixed.items() if lost is not None}

    def at(self, tap: Tap) -> Pressure:
        """Standing and flowing pressure at a connection."""
        z = tap.point[2] if tap.point is not None else 0.0
        if tap.segment is None:
            return Pressure(None, None, z, NOT_FED, NOT_FED)
        number, column = tap.segment.number, pressure_of_head_pa(z)
        static, head = self.static_head_pa[number], self.head_pa[number]
        return Pressure(
            None if static is None else static - column,
            None if head is None else head - column,
            z, self.missing[number], self.static_missing[number], self.unstated_pa[number],
        )  # fmt: skip

    def by_branch(self, fixture: WaterFixture) -> list[tuple[Tap, Pressure]]:
        """The connections of a fixture with their pressures, the least flowing pressure (not known
        is least of all) first; of several on one segment the first."""
        found = [(tap, self.at(tap)) for tap in fixture.taps]
        found.sort(key=lambda f: -inf if f[1].residual_pa is None else f[1].residual_pa)
        kept: dict[WaterSegment | None, tuple[Tap, Pressure]] = {}
        for tap, pressure in found:
            kept.setdefault(tap.segment, (tap, pressure))
        return list(kept.values())

    def worst(self, fixture: WaterFixture) -> tuple[Tap, Pressure]:
        """The connection of a fixture with the least flowing pressure."""
        return self.by_branch(fixture)[0]


@dataclass(frozen=True)
class Needed:
    """The flowing pressure a fixture needs, and what needs it."""

    limit: Limit
    words: str

    @property
    def psi(self) -> float:
        return self.limit.value


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
            return Needed(row.limit("flow_psi", "psi"), words)
    limit = code.limit_or_none("supply_residual_psi")
    return None if limit is None else Needed(limit, "any fixture while it flows")


@derived
def solution(context: Context) -> Solution:
    """The supply as drawn, at the demand of the method the job file chooses."""
    return solve(context)


def solve(context: Context, sizes: Mapping[int, float] | None = None) -> Solution:
    """The supply as drawn, or with some lines (by number) in other sizes."""
    supply, made = context.plumbing.supply, demand(context)
    resized = sizes or {}
    losses = [
        loss(segment, flow or 0.0, context, resized.get(segment.number))
        for segment, flow in zip(supply.segments, made.flow_m3_per_s, strict=True)
    ]
    count = len(supply.segments)
    solved = Solution(
        context, supply, made, losses, [0.0] * count, [None] * count, [None] * count,
        [None] * count, [None] * count, [0.0] * count,
    )  # fmt: skip
    _divide_rings(solved, resized)
    _at_main(solved)
    for segment in supply.segments:
        _follow(solved, segment)
    return solved


def _divide_rings(solved: Solution, sizes: Mapping[int, float]) -> None:
    """The losses in rings at what passes each of their sides."""
    found, segments = rings(solved.supply), solved.supply.segments

    def loss_at(number: int, flow: float) -> Loss:
        return loss(segments[number], flow, solved.context, sizes.get(number))

    flows = {n: flow for n, flow in enumerate(solved.demand.flow_m3_per_s) if flow is not None}
    numbers = {n for ring in found for n in (*ring.with_it, *ring.against)}
    if not numbers or not numbers <= flows.keys():
        return
    solved.ring_m3_per_s = divide(found, flows, loss_at) or {}
    for number, flow in solved.ring_m3_per_s.items():
        at, way = loss_at(number, abs(flow)), 1.0 if flow >= 0 else -1.0
        solved.loss[number] = at._replace(
            friction_pa=way * at.friction_pa, devices_pa=way * at.devices_pa
        )


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
    on_path = [supply.elements[i] for i in supply.distribution.order]
    is_private = len(supply.sources.private) == len(supply.heads)
    if all(e.role is not Role.METER for e in on_path) and not (
        is_private and water.meter_loss is None
    ):
        solved.fixed["meter"] = water.meter_loss
    if all(e.kind != "backflow-preventer" for e in on_path):
        solved.fixed["backflow preventer"] = water.backflow_loss
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
    if above is not None:
        static, head = solved.static_head_pa[above.number], solved.head_pa[above.number]
        missing, still = solved.missing[above.number], solved.static_missing[above.number]
        lost, unstated = solved.lost_pa[above.number], solved.unstated_pa[above.number]
    else:
        column = pressure_of_head_pa(solved.main_z_m)
        lost, unstated = sum(solved.fixed_pa.values()), 0.0
        static = None if solved.main_pa is None else solved.main_pa + column
        head = None if solved.flowing_pa is None else solved.flowing_pa + column - lost
        still = NO_STATIC if static is None else None
        missing = NO_RESIDUAL if head is None else None
        if solved.fixed.get("meter", 0.0) is None:
            missing = missing or NO_METER
    found = solved.loss[number]
    lost += found.total_pa
    head = None if head is None else head - found.total_pa
    missing, unstated = missing or _unknown(solved, segment, found), unstated + found.unstated_pa
    last = segment.elements[-1]
    if _is_regulator(last):
        before = head
        static, head, missing, still = _regulated(solved, segment, static, head, missing, still)
        if before is not None and head is not None:
            unstated = max(0.0, unstated - (before - head))  # a regulator gives less in any case
    elif (begun := beginnings(solved.context).get(number)) is not None:
        static, head, missing = _begun_anew(solved, segment, begun)
        still, unstated = None if static is not None else missing, 0.0
    solved.lost_pa[number], solved.unstated_pa[number] = lost, unstated
    solved.static_head_pa[number], solved.head_pa[number] = static, head
    solved.missing[number], solved.static_missing[number] = missing, still


def _unknown(solved: Solution, segment: WaterSegment, found: Loss) -> Unknown | None:
    """Why the loss of a segment is not known, or too small."""
    if found.unknown is not None:
        return Unknown(found.unknown, segment)
    if solved.demand.flow_m3_per_s[segment.number] is None:
        return Unknown(Reason.FLOW, segment)
    return Unknown(Reason.UNITS, segment) if solved.demand.unknown[segment.number] else None


def _regulated(
    solved: Solution, segment: WaterSegment, static: float | None, head: float | None,
    missing: Unknown | None, still: Unknown | None,
) -> tuple[float | None, float | None, Unknown | None, Unknown | None]:  # fmt: skip
    """Behind a pressure-reducing valve; one of unknown setting is passed as if it were open."""
    setting = setting_pa(segment.elements[-1], solved.context)
    if setting is None:
        unknown = Unknown(Reason.SETTING, segment)
        return static, head, missing or unknown, still or unknown
    column = _column_at_end(segment)
    standing, flowing = setting + column, flowing_pa(segment.elements[-1], solved.context) + column
    if static is None:
        still = None  # whatever the street gives, no more than the setting passes
    return (
        standing if static is None else min(static, standing),
        None if head is None else min(head, flowing),
        missing, still,
    )  # fmt: skip


def _column_at_end(segment: WaterSegment) -> float:
    point = segment.middle(segment.indexes[-1])
    return pressure_of_head_pa(point[2] if point is not None else 0.0)


def _begun_anew(
    solved: Solution, segment: WaterSegment, begun: Beginning
) -> tuple[float | None, float | None, Unknown | None]:
    """Standing and flowing head behind a pump or tank."""
    standing, flowing = set_to(begun, solved.context)
    if standing is None:
        return None, None, Unknown(Reason.PUMP if begun.is_pump else Reason.TANK, segment)
    height_m = begun.height_m
    column = _column_at_end(segment) if height_m is None else pressure_of_head_pa(height_m)
    head = None if flowing is None else flowing + column
    missing = None if head is not None else Unknown(Reason.RESIDUAL, segment)
    return standing + column, head, missing


def flowing_pa(valve: Element, context: Context) -> float:
    """What a regulator of known setting gives while water runs."""
    told, setting = told_of(valve, context), given(setting_pa(valve, context))
    if told is not None and told.residual_pressure is not None:
        return told.residual_pressure
    return setting - falloff_pa(context)


def setting_pa(valve: Element, context: Context) -> float | None:
    """The setting of a regulator: the job file's, of this one or of all, else the model's."""
    told = told_of(valve, context)
    given = context.job.water.regulator_setting if told is None else told.static_pressure
    if given is not None:
        return given
    stated = valve.properties.number("downstream_pressure_pa")
    return stated if stated is not None and stated > 0 else None


def governing_m(solved: Solution, segment: WaterSegment) -> float | None:
    """The elevation of the regulator at the end of a line, where it sets the flowing pressure;
    None where there is none, or it stands wide open."""
    valve, head = segment.elements[-1], solved.head_pa[segment.number]
    if not _is_regulator(valve) or head is None:
        return None
    setting, point = setting_pa(valve, solved.context), segment.middle(segment.indexes[-1])
    if setting is None or point is None:
        return None
    flowing = flowing_pa(valve, solved.context) + pressure_of_head_pa(point[2])
    return point[2] if head >= flowing - 1e-6 else None


def _is_regulator(element: Element) -> bool:
    return element.kind in SETS_PRESSURE or element.role is Role.REGULATOR


def psi(pascal: float) -> float:
    return pascal / PA_PER_PSI


@dataclass(frozen=True)
class Critical:
    """The fixture with the least pressure to spare, and its connection."""

    fixture: WaterFixture
    tap: Tap
    spare_psi: float


@derived
def critical(context: Context) -> Critical | None:
    """The critical fixture; None where no pressure is known."""
    solved = solution(context)
    found = [
        Critical(fixture, tap, residual - want.psi)
        for fixture in solved.supply.fixtures
        if (want := needed(fixture, context)) is not None
        for tap in fixture.taps
        if (residual := solved.at(tap).residual_psi) is not None
    ]
    return min(found, key=lambda c: c.spare_psi, default=None)
