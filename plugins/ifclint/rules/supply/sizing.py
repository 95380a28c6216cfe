"""Larger pipe: the fewest lines whose next sizes let a fixture have its pressure.

A looped main counts as one line: pipe made larger on one of its sides alone takes the flow there.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ifclint.engineering.arithmetic import largest
from ifclint.engineering.units import PA_PER_PSI
from ifclint.engineering.wording import trade_size
from ifclint.findings import Change
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.plumbing.supply.water_fixtures import Tap
from ifclint.rules.supply.loops import LoopedMain
from ifclint.rules.supply.losses import listed_sizes
from ifclint.rules.supply.pressure_model import Solution, branch_demand, solve

STEPS_UP = 3  # sizes larger that are tried


@dataclass(frozen=True)
class Upsizing:
    """Lines made of one size: one, or those of a looped main that are smaller."""

    segments: tuple[WaterSegment, ...]
    size_in: float
    saves_pa: float

    @property
    def sizes_in(self) -> dict[int, float]:
        return {segment.number: self.size_in for segment in self.segments}

    @property
    def label(self) -> str:
        more = f" and the {len(self.segments) - 1} others of its loop"
        return self.segments[0].label + (more if len(self.segments) > 1 else "")


def upsizings(solved: Solution, tap: Tap, short_pa: float) -> list[Upsizing] | None:
    """The fewest lines to make larger, each no larger than needed; None where no pipe is enough.

    What a line saves does not depend on the others, so taking those that save most first gives the
    fewest; then each is made as small as the shortage allows.
    """
    if tap.segment is None:
        return None
    ranked = sorted((o for o in _options(solved, tap.segment) if o), key=lambda o: -o[-1].saves_pa)
    chosen: list[list[Upsizing]] = []
    saved = 0.0
    for option in ranked:
        if saved >= short_pa:
            break
        chosen.append(option)
        saved += option[-1].saves_pa
    if saved < short_pa:
        return None
    changes = [option[-1] for option in chosen]
    for place, option in enumerate(chosen):
        for smaller in option:
            rest = sum(c.saves_pa for k, c in enumerate(changes) if k != place)
            if rest + smaller.saves_pa >= short_pa:
                changes[place] = smaller
                break
    made = solve(solved.context, {n: size for c in changes for n, size in c.sizes_in.items()})
    before, after = solved.at(tap).residual_pa, made.at(tap).residual_pa
    if before is None or after is None or after - before < short_pa - PA_PER_PSI * 1e-6:
        return None  # a regulator takes away what larger pipe before it saves
    return sorted(changes, key=lambda c: c.segments[0].number)


def _options(solved: Solution, segment: WaterSegment) -> Iterator[list[Upsizing]]:
    """For each line on the path to one, and each looped main, its larger sizes, ascending, with
    what each saves on that path."""
    path = list(segment.to_source)
    branches = [*path[1:], segment]
    done = set()
    for line, leaving in zip(path, branches, strict=True):
        main = solved.looped.get(line.number)
        if main is None:
            yield _line_options(solved, line)
        elif leaving.number in main.leaves and main.feed not in done:
            done.add(main.feed)
            yield _loop_options(solved, main, leaving.number)


def _line_options(solved: Solution, segment: WaterSegment) -> list[Upsizing]:
    number, flow = segment.number, solved.demand.flow_m3_per_s[segment.number]
    now = solved.loss[number]
    if flow is None or now.unknown or number in solved.shared:
        return []
    found = []
    for size in _larger(solved, (segment,)):
        made = solved.resized({number: size}).loss_at(number, flow)
        found.append(Upsizing((segment,), size, now.total_pa - made.total_pa))
    return [c for c in found if c.saves_pa > 0]


def _loop_options(solved: Solution, main: LoopedMain, branch: int) -> list[Upsizing]:
    lines = tuple(solved.supply.segments[n] for n in sorted(main.lines))
    demand = branch_demand(solved.demand, main)
    path = [segment.number for segment in main.paths[branch]]
    now = sum(solved.toward[branch][n].loss.total_pa for n in path)
    found = []
    for size in _larger(solved, lines):
        smaller = tuple(s for s in lines if s.size_in is not None and s.size_in < size)
        resized = solved.resized({s.number: size for s in smaller})
        made = main.passing(branch, demand or {}, resized.loss_at)
        if made is not None:
            saved = now - sum(made[n].loss.total_pa for n in path)
            found.append(Upsizing(smaller, size, saved))
    return [c for c in found if c.saves_pa > 0]


def _larger(solved: Solution, lines: Sequence[WaterSegment]) -> list[float]:
    """The sizes in which lines are to be had that are larger than the smallest, no more than so
    many steps larger than the largest."""
    sizes = [s.size_in for s in lines if s.pipes and s.size_in is not None]
    if not sizes:
        return []
    listed = listed_sizes(lines[0].material, solved.context.job.water.copper_type)
    up_to = [s for s in listed if s > max(sizes)][:STEPS_UP]
    return [s for s in listed if min(sizes) < s <= largest(up_to)]


def as_remedy(changes: list[Upsizing], also: str) -> Change | str:
    """ "Make 1/2 in cold water line "…" 3/4 in and …": a change where all become of one size."""
    sizes = "; ".join(f"{c.label} {trade_size(c.size_in)}" for c in changes)
    text = f"Make {sizes} (the fewest lines that do).{also}"
    if len({c.size_in for c in changes}) > 1:
        return text
    elements = tuple(e for c in changes for s in c.segments for e in s.element_ids)
    return Change("size", elements, changes[0].size_in, text)
