"""The supply solved: what passes every line, also where flows divide, and the head at its end."""

from collections.abc import Mapping
from dataclasses import replace
from itertools import chain

from ifclint.engineering.arithmetic import or_zero
from ifclint.ifc.elements import Role
from ifclint.packs import Context, derived
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.rules.supply.demand import WaterDemand, demand
from ifclint.rules.supply.heads import head_of
from ifclint.rules.supply.loops import (
    LoopedMain,
    Passing,
    Sides,
    divide,
    looped_mains,
    parallel_lines,
)
from ifclint.rules.supply.solved_supply import Solution

HYDRANT_POWER = 1.85  # the main loses pressure as the flow to this power (hydrant flow tests)


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
        solved.heads.append(head_of(solved, segment))
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
        made.heads[number] = head_of(made, segments[number])
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
    if None in (*onward, *carried):
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
