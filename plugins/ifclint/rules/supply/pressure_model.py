"""The pressure at every point of the supply, standing and flowing.

Pressures are followed as heads: the pressure a point would have at elevation 0 of the model, so
that they fall by losses alone. A regulator lowers a head to its setting.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import chain
from math import inf
from typing import NamedTuple

from ifclint.checks import given
from ifclint.engineering.arithmetic import not_below_zero, or_zero
from ifclint.engineering.friction import pressure_of_head_pa
from ifclint.engineering.units import M3_PER_S_PER_GPM, PA_PER_PSI
from ifclint.ifc.elements import Role
from ifclint.packs import Context, derived
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.plumbing.supply.water_fixtures import Tap, WaterFixture
from ifclint.plumbing.supply.water_supply import Supply
from ifclint.rules.supply.beginnings import Beginning, beginnings, set_to
from ifclint.rules.supply.demand import WaterDemand, demand
from ifclint.rules.supply.loops import (
    LoopedMain,
    Passing,
    Sides,
    divide,
    looped_mains,
    parallel_lines,
)
from ifclint.rules.supply.losses import Loss, loss_of_line
from ifclint.rules.supply.missing import Reason, Unknown
from ifclint.rules.supply.regulators import flowing_pa, sets_pressure, setting_pa

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


class Head(NamedTuple):
    """At the far end of a line, Pa: standing and flowing, why either is unknown or only a bound,
    and what devices of unknown loss may take of the flowing besides."""

    static_pa: float | None
    flowing_pa: float | None
    missing: Unknown | None
    static_missing: Unknown | None
    unstated_pa: float = 0.0


@dataclass(repr=False)
class Solution:
    """Losses and heads of all lines. Lists go by `WaterSegment.number`.

    In looped mains the flows depend on which branch is judged: `toward` holds what passes their
    lines for each, and `flow_m3_per_s` and `loss` of such a line are those of the branch for which
    most passes it.
    """

    context: Context
    supply: Supply
    demand: WaterDemand
    flow_m3_per_s: list[float | None]
    loss: list[Loss]
    sizes_in: Mapping[int, float]  # of lines in other sizes than drawn
    heads: list[Head] = field(default_factory=list)
    looped: dict[int, LoopedMain] = field(default_factory=dict)  # by their lines
    toward: dict[int, dict[int, Passing]] = field(default_factory=dict)  # by branch, by line
    shared: set[int] = field(default_factory=set)  # lines of pairs that lead to one point
    main_pa: float | None = None  # static pressure at the main
    flowing_pa: float | None = None  # at the main at the building's demand
    fixed: dict[str, float | None] = field(default_factory=dict)  # losses at the source, Pa
    main_z_m: float = 0.0

    @property
    def fixed_pa(self) -> dict[str, float]:
        """The losses at the source that are stated."""
        return {words: lost for words, lost in self.fixed.items() if lost is not None}

    def size_in(self, segment: WaterSegment) -> float | None:
        """The size of a line, as drawn or as it is made."""
        return self.sizes_in.get(segment.number, segment.size_in)

    def resized(self, sizes_in: Mapping[int, float]) -> Solution:
        """The same flows through some lines (by number) of other sizes."""
        return replace(self, sizes_in={**self.sizes_in, **sizes_in})

    def loss_at(self, number: int, m3_per_s: float, size_in: float | None = None) -> Loss:
        """What a line loses at a flow, also in another size."""
        size_in = size_in if size_in is not None else self.sizes_in.get(number)
        return loss_of_line(self.context, self.supply.segments[number], size_in).at(m3_per_s)

    def to_source(self, segment: WaterSegment) -> Iterator[tuple[WaterSegment, float | None, Loss]]:
        """The lines from the source to one, with what passes each, m3/s, and what it loses, at the
        demand of that one."""
        lines = segment.to_source
        toward: dict[int, Passing] = {}
        for line in lines if self.toward else ():
            toward |= self.toward.get(line.number, {})
        for line in lines:
            number = line.number
            yield line, *toward.get(number, (self.flow_m3_per_s[number], self.loss[number]))

    def gpm(self, segment: WaterSegment) -> float | None:
        """What passes a line at its probable demand, in a looped main at the most."""
        flow = self.flow_m3_per_s[segment.number]
        return None if flow is None else flow / M3_PER_S_PER_GPM

    def at(self, tap: Tap) -> Pressure:
        """Standing and flowing pressure at a connection."""
        z = tap.point[2] if tap.point is not None else 0.0
        if tap.segment is None:
            return Pressure(None, None, z, NOT_FED, NOT_FED)
        head, column = self.heads[tap.segment.number], pressure_of_head_pa(z)
        return Pressure(
            None if head.static_pa is None else head.static_pa - column,
            None if head.flowing_pa is None else head.flowing_pa - column,
            z, head.missing, head.static_missing, head.unstated_pa,
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


@derived
def solution(context: Context) -> Solution:
    """The supply as drawn, at the demand of the method the job file chooses."""
    return solve(context)


def solve(context: Context, sizes: Mapping[int, float] | None = None) -> Solution:
    """The supply as drawn, or with some lines (by number) in other sizes."""
    supply, made = context.plumbing.supply, demand(context)
    solved = Solution(context, supply, made, list(made.flow_m3_per_s), [], sizes or {})
    for number, flow in enumerate(made.flow_m3_per_s):
        solved.loss.append(solved.loss_at(number, or_zero(flow)))
    mains, pairs = _dividing(context)
    for main in mains:
        _divide(solved, main)
    for sides, fed in pairs:
        _share(solved, sides, fed)
    _at_main(solved)
    for segment in supply.segments:
        solved.heads.append(_head(solved, segment))
    return solved


def solve_again(solved: Solution, sizes_in: Mapping[int, float]) -> Solution:
    """The same with some more lines (by number) in other sizes. Where no flow divides between them
    only what lies behind them is solved again."""
    context, segments = solved.context, solved.supply.segments
    if not _divided(context).isdisjoint(sizes_in):
        return solve(context, {**solved.sizes_in, **sizes_in})
    made = replace(solved.resized(sizes_in), loss=[*solved.loss], heads=[*solved.heads])
    behind, waiting = set[int](), [*sizes_in]
    while waiting:
        if (number := waiting.pop()) not in behind:
            behind.add(number)
            waiting += [line.number for line in segments[number].below]
    for number in sizes_in:
        made.loss[number] = made.loss_at(number, or_zero(made.flow_m3_per_s[number]))
    for number in sorted(behind):
        made.heads[number] = _head(made, segments[number])
    return made


@derived
def _dividing(context: Context) -> tuple[list[LoopedMain], list[tuple[Sides, tuple[int, ...]]]]:
    """Between what flows divide."""
    return looped_mains(context.plumbing.supply), parallel_lines(context.plumbing.supply)


@derived
def _divided(context: Context) -> frozenset[int]:
    """The lines, by number, between which flows divide."""
    mains, pairs = _dividing(context)
    together = (*(main.lines for main in mains), *(sides.lines for sides, _ in pairs))
    return frozenset(chain.from_iterable(together))


def _divide(solved: Solution, main: LoopedMain) -> None:
    """What passes the lines of a looped main at the demand of each of its branches."""
    known = branch_demand(solved.demand, main)
    if known is None:
        return
    toward, passing = dict[int, dict[int, Passing]](), None
    for branch in main.leaves:
        passing = main.passing(branch, known, solved.loss_at, passing)
        if passing is None:
            return
        toward[branch] = passing
    solved.toward |= toward
    for number in main.lines:
        solved.looped[number] = main
        most = max((at[number] for at in toward.values()), key=lambda at: abs(at.m3_per_s))
        solved.flow_m3_per_s[number], solved.loss[number] = abs(most.m3_per_s), most.loss


def _share(solved: Solution, sides: Sides, fed: tuple[int, ...]) -> None:
    """Let two lines to one point share what goes on from there so that both lose the same."""
    onward = [solved.flow_m3_per_s[n] for n in fed]
    carried = [solved.flow_m3_per_s[path[0]] for path in (sides.with_it, sides.against)]
    most = [sum(f for f in flows if f is not None) for flows in (onward, carried)]
    if None in onward or None in carried:
        return
    passing = divide([sides], dict.fromkeys(sides.lines, min(most) / 2), solved.loss_at)
    for number, (flow, lost) in (passing or {}).items():
        solved.shared.add(number)
        solved.flow_m3_per_s[number], solved.loss[number] = abs(flow), lost


def branch_demand(made: WaterDemand, main: LoopedMain) -> dict[int, float] | None:
    """The probable demand of the line that feeds a looped main, and of each of its branches, m3/s;
    None where one is not known."""
    segments = made.supply.segments
    found = {
        n: made.at_end_m3_per_s(segments[n]) if n == at else made.flow_m3_per_s[n]
        for n, at in {**main.leaves, main.feed: -1}.items()
    }
    known = {n: flow for n, flow in found.items() if flow is not None}
    return known if len(known) == len(found) else None


def _at_main(solved: Solution) -> None:
    """What the main gives, at rest and at the building's demand, and what is lost at the source."""
    supply, water = solved.supply, solved.context.job.water
    first = [segment for segment in supply.segments if segment.above is None]
    flows = [solved.demand.flow_m3_per_s[segment.number] for segment in first]
    total = sum(or_zero(flow) for flow in flows)
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


def _head(solved: Solution, segment: WaterSegment) -> Head:
    """The heads at the far end of a line, from those of the line that feeds it, or the looped main
    that does, at what passes that at its demand."""
    number, above = segment.number, segment.above
    toward = solved.toward.get(number)
    if toward is None:
        before = _at_source(solved) if above is None else _behind(solved, segment, above)
        return _past(solved, segment, solved.loss[number], before)
    main = solved.looped[next(iter(toward))]
    head = solved.heads[main.feed]
    for line in main.paths[number]:
        head = _past(solved, line, toward[line.number].loss, head)
    return head if number in main.lines else _past(solved, segment, solved.loss[number], head)


def _behind(solved: Solution, segment: WaterSegment, above: WaterSegment) -> Head:
    """The heads where a line begins. Behind regulators in parallel stands what the highest set of
    them lets through."""
    head, made = solved.heads[above.number], solved.supply.distribution
    for index in made.also_fed_by.get(segment.indexes[0], ()):
        other = solved.supply.segment_of[index]
        if other.number < segment.number and all(map(_is_regulated, (above, other))):
            static = solved.heads[other.number].static_pa
            if static is not None and head.static_pa is not None:
                head = head._replace(static_pa=max(static, head.static_pa))
    return head


def _is_regulated(segment: WaterSegment) -> bool:
    """Whether a line ends with a regulator, or begins behind one."""
    lines = (segment, segment.above)
    return any(line is not None and sets_pressure(line.elements[-1]) for line in lines)


def _at_source(solved: Solution) -> Head:
    """Behind the meter and what else stands at the source."""
    column = pressure_of_head_pa(solved.main_z_m)
    static, flowing = solved.main_pa, solved.flowing_pa
    missing = NO_RESIDUAL if flowing is None else None
    if solved.fixed.get("meter", 0.0) is None:
        missing = missing or NO_METER
    return Head(
        None if static is None else static + column,
        None if flowing is None else flowing + column - sum(solved.fixed_pa.values()),
        missing,
        NO_STATIC if static is None else None,
    )


def _past(solved: Solution, segment: WaterSegment, lost: Loss, before: Head) -> Head:
    """The heads past a line."""
    flowing = None if before.flowing_pa is None else before.flowing_pa - lost.total_pa
    head = before._replace(
        flowing_pa=flowing,
        missing=before.missing or _unknown(solved, segment, lost),
        unstated_pa=before.unstated_pa + lost.unstated_pa,
    )
    if sets_pressure(segment.elements[-1]):
        made = _regulated(solved, segment, head)
        if flowing is None or made.flowing_pa is None:
            return made
        less = flowing - made.flowing_pa  # a regulator gives less in any case
        return made._replace(unstated_pa=not_below_zero(head.unstated_pa - less))
    if (begun := beginnings(solved.context).get(segment.number)) is not None:
        return _begun_anew(solved, segment, begun)
    return head


def _unknown(solved: Solution, segment: WaterSegment, found: Loss) -> Unknown | None:
    """Why the loss of a segment is not known, or too small."""
    if found.unknown is not None:
        return Unknown(found.unknown, segment)
    if solved.demand.flow_m3_per_s[segment.number] is None:
        return Unknown(Reason.FLOW, segment)
    return Unknown(Reason.UNITS, segment) if solved.demand.unknown[segment.number] else None


def _regulated(solved: Solution, segment: WaterSegment, head: Head) -> Head:
    """Behind a pressure-reducing valve; one of unknown setting is passed as if it were open."""
    valve = segment.elements[-1]
    setting = setting_pa(valve, solved.context)
    if setting is None:
        unknown = Unknown(Reason.SETTING, segment)
        return head._replace(
            missing=head.missing or unknown, static_missing=head.static_missing or unknown
        )
    column = _column_at_end(segment)
    static, flowing = setting + column, flowing_pa(valve, solved.context) + column
    if head.static_pa is None:  # whatever the street gives, no more than the setting passes
        head = head._replace(static_pa=static, static_missing=None)
    return head._replace(
        static_pa=min(given(head.static_pa), static),
        flowing_pa=None if head.flowing_pa is None else min(head.flowing_pa, flowing),
    )


def _column_at_end(segment: WaterSegment) -> float:
    point = segment.middle(segment.indexes[-1])
    return pressure_of_head_pa(point[2] if point is not None else 0.0)


def _begun_anew(solved: Solution, segment: WaterSegment, begun: Beginning) -> Head:
    """Behind a pump or tank."""
    standing, flowing = set_to(begun, solved.context)
    if standing is None:
        unknown = Unknown(Reason.PUMP if begun.is_pump else Reason.TANK, segment)
        return Head(None, None, unknown, unknown)
    height_m = begun.height_m
    column = _column_at_end(segment) if height_m is None else pressure_of_head_pa(height_m)
    missing = Unknown(Reason.RESIDUAL, segment) if flowing is None else None
    return Head(standing + column, None if flowing is None else flowing + column, missing, None)


def governing_m(solved: Solution, segment: WaterSegment) -> float | None:
    """The elevation of the regulator at the end of a line, where it sets the flowing pressure;
    None where there is none, or it stands wide open."""
    valve, head = segment.elements[-1], solved.heads[segment.number].flowing_pa
    if not sets_pressure(valve) or head is None:
        return None
    setting, point = setting_pa(valve, solved.context), segment.middle(segment.indexes[-1])
    if setting is None or point is None:
        return None
    flowing = flowing_pa(valve, solved.context) + pressure_of_head_pa(point[2])
    return point[2] if head >= flowing - 1e-6 else None


def psi(pascal: float) -> float:
    return pascal / PA_PER_PSI
