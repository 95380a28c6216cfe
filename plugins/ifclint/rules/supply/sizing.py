"""Larger pipe: the fewest runs whose next sizes let a fixture have its pressure.

A run is all pipe of one size between two branches, through meters, valves and other devices in
line. A looped main counts as one run: pipe made larger on one of its sides alone takes the flow
there.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from math import inf

from ifclint.engineering.arithmetic import largest
from ifclint.engineering.units import PA_PER_PSI
from ifclint.engineering.wording import trade_size
from ifclint.findings import Change
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.plumbing.supply.water_fixtures import Tap
from ifclint.rules.supply.loops import LoopedMain
from ifclint.rules.supply.losses import copper_of, listed_sizes
from ifclint.rules.supply.pressure_model import branch_demand, solve_again
from ifclint.rules.supply.solved_supply import Solution

STEPS_UP = 3  # sizes larger that are tried
MOST_RUNS = 5  # where more would have to be larger it is pressure that lacks. Ours, no source


@dataclass(frozen=True)
class Upsizing:
    """Lines made of one size: those of a run, or those of a looped main that are smaller."""

    segments: tuple[WaterSegment, ...]
    size_in: float
    saves_pa: float = 0.0
    is_loop: bool = False

    @property
    def sizes_in(self) -> dict[int, float]:
        return {segment.number: self.size_in for segment in self.segments}

    @property
    def label(self) -> str:
        label, others = self.segments[0].label, len(self.segments) - 1
        if self.is_loop and others:
            return f"{label} and the {others} others of its loop"
        return f"{label} and the rest of its run" if others else label


@dataclass(frozen=True)
class _SizedRun:
    """What can be made larger on a path: its smallest size, and its larger ones, ascending."""

    size_in: float
    larger: list[Upsizing]


def upsizings(solved: Solution, tap: Tap, short_pa: float) -> list[Upsizing] | None:
    """The fewest runs to make larger, each no larger than needed and none larger than what is made
    larger before it; None where no pipe is enough, or all along the path would have to be larger.

    What a run saves does not depend on the others, so taking those that save most first gives the
    fewest; then each is made as small as the shortage allows, the largest first.
    """
    if tap.segment is None:
        return None
    runs = _none_larger(_runs(solved, tap.segment))
    chosen, saved = dict[int, Upsizing](), 0.0
    for place in sorted(range(len(runs)), key=lambda n: -runs[n].larger[-1].saves_pa):
        if saved >= short_pa:
            break
        chosen[place] = runs[place].larger[-1]
        saved += chosen[place].saves_pa
    if saved < short_pa:
        return None
    _widen(chosen, runs)
    while _lessen(chosen, runs, short_pa):
        pass
    if len(chosen) > MOST_RUNS:
        return None
    sizes = {n: size for change in chosen.values() for n, size in change.sizes_in.items()}
    made = solve_again(solved, sizes)
    before, after = solved.at(tap).residual_pa, made.at(tap).residual_pa
    if before is None or after is None or after - before < short_pa - PA_PER_PSI * 1e-6:
        return None  # a regulator takes away what larger pipe before it saves
    return [chosen[place] for place in sorted(chosen)]


def _none_larger(runs: Iterable[_SizedRun]) -> list[_SizedRun]:
    """The runs of a path, the source's first, without sizes that no run before them can have."""
    most_in, found = inf, list[_SizedRun]()
    for run in runs:
        larger = [up for up in run.larger if up.size_in <= most_in]
        most_in = min(most_in, larger[-1].size_in if larger else run.size_in)
        if larger:
            found.append(_SizedRun(run.size_in, larger))
    return found


def _widen(chosen: dict[int, Upsizing], runs: Sequence[_SizedRun]) -> None:
    """Make what lies before a larger run no smaller."""
    least = 0.0
    for place in reversed(range(len(runs))):
        now = chosen[place].size_in if place in chosen else runs[place].size_in
        if now < least:
            chosen[place] = next(up for up in runs[place].larger if up.size_in >= least)
        if place in chosen:
            least = max(least, chosen[place].size_in)


def _lessen(chosen: dict[int, Upsizing], runs: Sequence[_SizedRun], short_pa: float) -> bool:
    """Make one run smaller by one size, or leave it as it is drawn, where that is still enough and
    it is no smaller than what is made larger behind it; the largest, and of these the last."""
    saved = sum(change.saves_pa for change in chosen.values())
    for place in sorted(chosen, key=lambda n: (-chosen[n].size_in, -n)):
        behind = largest([chosen[n].size_in for n in chosen if n > place])
        smaller = [up for up in runs[place].larger if up.size_in < chosen[place].size_in]
        size_in = smaller[-1].size_in if smaller else runs[place].size_in
        saves_pa = smaller[-1].saves_pa if smaller else 0.0
        if size_in < behind or saved - chosen[place].saves_pa + saves_pa < short_pa:
            continue
        if smaller:
            chosen[place] = smaller[-1]
        else:
            del chosen[place]
        return True
    return False


def _runs(solved: Solution, segment: WaterSegment) -> Iterator[_SizedRun]:
    """The runs of the path to a line, and its looped mains, the source's first, with what larger
    sizes of each save on that path."""
    for main, lines, leaving in _path(solved, segment):
        if main is None:
            larger = _run_options(solved, lines)
        elif leaving.number in main.leaves:
            lines = [solved.supply.segments[n] for n in sorted(main.lines)]
            larger = _loop_options(solved, main, lines, leaving.number)
        else:
            continue
        if larger:
            yield _SizedRun(min(_sizes(solved, lines)), larger)


def _path(
    solved: Solution, segment: WaterSegment
) -> Iterator[tuple[LoopedMain | None, list[WaterSegment], WaterSegment]]:
    """The lines from the source to one, by run and by looped main, with the line behind each."""
    path = segment.to_source
    number = {line.number: n for n, line in enumerate(path)}
    begun, pipe = list[int](), None
    for n, line in enumerate(path):
        begun.append(begun[-1] if n and _goes_on(solved, path[n - 1], pipe, line) else n)
        pipe = line if line.pipes else pipe
    for _, own in groupby(path, lambda line: begun[number[line.number]]):
        lines = list(own)
        behind = path[min(number[lines[-1].number] + 1, len(path) - 1)]
        yield solved.looped.get(lines[0].number), lines, behind


def _goes_on(
    solved: Solution, last: WaterSegment, pipe: WaterSegment | None, line: WaterSegment
) -> bool:
    """Whether a line is of the run of the line before it: nothing branches off between, and its
    pipe is of the same size as the last before it that is pipe."""
    main = solved.looped.get(line.number)
    if main is not solved.looped.get(last.number):
        return False
    if main is not None:
        return True
    if len(last.below) > 1:
        return False
    if pipe is None or not line.pipes:
        return True
    return (pipe.size_in, pipe.material, pipe.service) == (
        line.size_in,
        line.material,
        line.service,
    )


def _run_options(solved: Solution, lines: Sequence[WaterSegment]) -> list[Upsizing]:
    flows = solved.demand.flow_m3_per_s
    known = [
        (line.number, flow)
        for line in lines
        if line.pipes and (flow := flows[line.number]) is not None
        and not solved.loss[line.number].unknown and line.number not in solved.shared
    ]  # fmt: skip
    if not known:
        return []
    own = tuple(line for line in lines if line.pipes and line.number not in solved.shared)
    found = []
    for size in _larger(solved, own):
        made_pa = sum(solved.loss_at(n, flow, size).total_pa for n, flow in known)
        now_pa = sum(solved.loss[n].total_pa for n, _ in known)
        found.append(Upsizing(own, size, now_pa - made_pa))
    return [c for c in found if c.saves_pa > 0]


def _loop_options(
    solved: Solution, main: LoopedMain, lines: Sequence[WaterSegment], branch: int
) -> list[Upsizing]:
    demand = branch_demand(solved.demand, main)
    path = [segment.number for segment in main.paths[branch]]
    now = sum(solved.toward[branch][n].loss.total_pa for n in path)
    found = []
    for size in _larger(solved, lines):
        smaller = tuple(s for s in lines if (own := solved.size_in(s)) is not None and own < size)
        resized = solved.resized({s.number: size for s in smaller})
        made = main.passing(branch, demand or {}, resized.loss_at)
        if made is not None:
            saved = now - sum(made[n].loss.total_pa for n in path)
            found.append(Upsizing(smaller, size, saved, is_loop=True))
    return [c for c in found if c.saves_pa > 0]


def _sizes(solved: Solution, lines: Sequence[WaterSegment]) -> list[float]:
    return [size for s in lines if s.pipes and (size := solved.size_in(s)) is not None]


def _larger(solved: Solution, lines: Sequence[WaterSegment]) -> list[float]:
    """The sizes in which lines are to be had that are larger than the smallest, no more than so
    many steps larger than the largest is drawn."""
    drawn = [s.size_in for s in lines if s.pipes and s.size_in is not None]
    if not drawn:
        return []
    listed = listed_sizes(lines[0].material, copper_of(lines[0], solved.context))
    least, most = min(_sizes(solved, lines)), [s for s in listed if s > max(drawn)][:STEPS_UP]
    return [s for s in listed if least < s <= largest(most)]


def made_larger(solved: Solution, tap: Tap, sizes_in: Mapping[int, float]) -> list[Upsizing]:
    """What is made larger on the path to a connection, of lines by number, the source's first."""
    found = []
    for main, lines, _ in _path(solved, tap.segment) if tap.segment is not None else ():
        if main is not None:
            lines = [solved.supply.segments[n] for n in sorted(main.lines)]
        own = tuple(line for line in lines if line.number in sizes_in)
        if own:
            found.append(Upsizing(own, sizes_in[own[0].number], is_loop=main is not None))
    return found


def as_remedy(changes: Sequence[Upsizing]) -> Change:
    """ "Make 1/2 in cold water line "…" 1 in; 1/2 in hot water line "…" 3/4 in."."""
    sizes = "; ".join(f"{c.label} {trade_size(c.size_in)}" for c in changes)
    by_size = dict[float, list[str]]()
    for change in changes:
        guids = (e for segment in change.segments for e in segment.element_ids)
        by_size.setdefault(change.size_in, []).extend(guids)
    text = f"Make {sizes}."
    first, *more = (Change("size", tuple(g), size, text) for size, g in by_size.items())
    return Change("size", first.element_ids, first.value, text, also=tuple(more))
