"""How water divides in looped piping: as much leaves it as enters, and both paths lose the same.

Loops that share lines, or begin on one another's, are one main, which one line feeds. What enters
is the probable demand of that line. A branch is judged while it takes its own probable demand in
full, and the others share what is left in the proportion of theirs: the probable demands of the
branches alone add up to more than ever runs at once. Each loop was cut where its two paths meet;
into each a flow is put that runs around it, until the losses along its two paths are equal, all
loops at once (Epp and Fowler, J. Hydraul. Div. ASCE 96, 1970), by SciPy's root.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ifclint.engineering.arithmetic import not_below_zero
from ifclint.engineering.joined import NONE, pieces
from ifclint.engineering.units import M3_PER_S_PER_GPM, PA_PER_PSI
from ifclint.ifc.elements import Role
from ifclint.plumbing.flow.distribution import Loop
from ifclint.plumbing.supply.segments import SETS_PRESSURE, TURNING, WaterSegment
from ifclint.plumbing.supply.water_supply import Supply
from ifclint.rules.supply.losses import Loss

UNEQUAL_PA = 1e-4 * PA_PER_PSI  # by which the losses of two paths may differ
DIFFERENCE_M3_PER_S = 1e-4 * M3_PER_S_PER_GPM  # of flow, over which the slope of a loss is taken

Floats = NDArray[np.float64]
LossAt = Callable[[int, float], Loss]  # of a line, by its number, at a flow


class Passing(NamedTuple):
    """What passes a line, m3/s, and what it loses; both less than 0 where it runs against the
    direction in which the line was followed."""

    m3_per_s: float
    loss: Loss


@dataclass(frozen=True)
class Sides:
    """The lines along which a flow around a loop adds to what passes, and those it takes from."""

    loop: Loop
    with_it: tuple[int, ...]
    against: tuple[int, ...]

    @property
    def lines(self) -> tuple[int, ...]:
        return self.with_it + self.against


@dataclass(frozen=True)
class LoopedMain:
    """Loops that one line feeds. `leaves` holds, by the number of the branch that leaves it (of
    its own line, where a fixture is joined to that), the line at whose end it leaves; `paths` the
    lines that lead there."""

    loops: tuple[Sides, ...]
    feed: int
    lines: frozenset[int]
    leaves: Mapping[int, int]
    paths: Mapping[int, tuple[WaterSegment, ...]]  # its lines from where it is fed to each branch

    def drawn(self, branch: int, demand: Mapping[int, float]) -> dict[int, float]:
        """What each branch takes, m3/s, while one takes its own demand: all that enters, where
        `demand` holds the probable demand of the feed and of every branch."""
        others = sum(flow for n, flow in demand.items() if n in self.leaves and n != branch)
        left = not_below_zero(demand[self.feed] - demand[branch])
        share = left / others if others > 0 else 0.0
        return {n: demand[n] * (1.0 if n == branch else share) for n in self.leaves}

    def passing(
        self, branch: int, demand: Mapping[int, float], loss_at: LossAt,
        like: Mapping[int, Passing] | None = None,
    ) -> dict[int, Passing] | None:  # fmt: skip
        """What passes each of its lines at the demand of a branch, sought near what passes them at
        that of another; None where a loss is not known or no answer is found."""
        flows = dict.fromkeys(self.lines, 0.0)
        for leaving, flow in self.drawn(branch, demand).items():
            for segment in self.paths[leaving]:
                flows[segment.number] += flow
        return divide(self.loops, flows, loss_at, like)


def looped_mains(supply: Supply) -> list[LoopedMain]:
    """The loops that can be solved: fed from one point, without a pump, regulator or heater, and
    with something that takes water from them."""
    found = [
        sides
        for loop in supply.distribution.loops
        if not loop.shared and loop.start != NONE and (sides := _sides(loop, supply)) is not None
    ]
    lines = [{_start(sides, supply), *sides.lines} for sides in found]
    holding: dict[int, list[int]] = {}
    for n, own in enumerate(lines):
        for line in own:
            holding.setdefault(line, []).append(n)
    together = pieces(range(len(found)), lambda n: (m for line in lines[n] for m in holding[line]))
    mains = (_main(tuple(found[n] for n in sorted(piece)), supply) for piece in together)
    return [main for main in mains if main.leaves]


def parallel_lines(supply: Supply) -> list[tuple[Sides, tuple[int, ...]]]:
    """Two paths that lead to one point with nothing taken off between, each of pipe alone, and the
    lines that both of them feed."""
    made, found = supply.distribution, list[tuple[Sides, tuple[int, ...]]]()
    for loop in made.loops:
        fed = [i for i, further in made.also_fed_by.items() if len(further) == 1]
        fed = [i for i in fed if {made.toward[i], *made.also_fed_by[i]} <= _on(loop)]
        if loop.shared and fed and not _acts(loop, supply):
            path, against = loop.one_path, loop.other_path
            if loop.meets not in path:
                path, against = against, path
            beyond = path[path.index(loop.meets) + 1 :]
            sides = Sides(
                loop, _lines(path[: len(path) - len(beyond)], supply),
                _lines((*against, *beyond), supply),
            )  # fmt: skip
            found.append((sides, _onward(fed, loop, supply)))
    every = Counter(n for sides, _ in found for n in sides.lines)
    return [(sides, fed) for sides, fed in found if all(every[n] == 1 for n in sides.lines)]


def _onward(fed: Iterable[int], loop: Loop, supply: Supply) -> tuple[int, ...]:
    """The lines fed by both paths: behind the tee where they meet, if they meet in one."""
    tees = [i for i in fed if i in _on(loop)]
    behind = (line.number for i in tees for line in supply.segment_of[i].below)
    return (*behind, *_lines((i for i in fed if i not in tees), supply))


def _on(loop: Loop) -> set[int]:
    return {*loop.one_path, *loop.other_path}


def _lines(indexes: Iterable[int], supply: Supply) -> tuple[int, ...]:
    return tuple(dict.fromkeys(supply.segment_of[i].number for i in indexes))


def _acts(loop: Loop, supply: Supply) -> bool:
    """Whether a pump, regulator or heater stands on a loop."""
    on_it = [supply.elements[i] for i in _on(loop)]
    return any(e.role in (*TURNING, Role.PUMP) or e.kind in SETS_PRESSURE for e in on_it)


def _start(sides: Sides, supply: Supply) -> int:
    return supply.segment_of[sides.loop.start].number


def _sides(loop: Loop, supply: Supply) -> Sides | None:
    with_it, against = (_lines(path, supply) for path in (loop.one_path, loop.other_path))
    sides = Sides(loop, with_it, against)
    if _acts(loop, supply) or not sides.lines or _start(sides, supply) in sides.lines:
        return None
    return sides


def _main(loops: tuple[Sides, ...], supply: Supply) -> LoopedMain:
    lines = frozenset(n for sides in loops for n in sides.lines)
    feed = min(_start(sides, supply) for sides in loops)
    leaves = {
        segment.number: number
        for number in (feed, *sorted(lines))
        for segment in supply.segments[number].below
        if segment.number not in lines
    }
    joined = (n for n in lines if supply.segments[n].connection is not None)
    leaves |= {n: n for n in joined}
    to = {n: _path(supply.segments[n], lines, feed) for n in set(leaves.values())}
    return LoopedMain(loops, feed, lines, leaves, {n: to[at] for n, at in leaves.items()})


def _path(segment: WaterSegment, lines: frozenset[int], feed: int) -> tuple[WaterSegment, ...]:
    """Those of some lines, all fed by one, through which water comes to a segment."""
    way: list[WaterSegment] = []
    at: WaterSegment | None = segment
    while at is not None:
        way += [at] if at.number in lines else []
        at = at.above if at.number != feed else None
    return tuple(way[::-1])


def divide(
    loops: Sequence[Sides], flows: Mapping[int, float], loss_at: LossAt,
    like: Mapping[int, Passing] | None = None,
) -> dict[int, Passing] | None:  # fmt: skip
    """What passes each line of loops, of which `flows` would pass as they were cut, m3/s; sought
    near the flows of `like`."""
    from scipy.optimize import root

    if any(loss_at(n, abs(flow)).unknown is not None for n, flow in flows.items()):
        return None
    numbers, cut = list(flows), np.array(list(flows.values()))
    around = np.array([[_adds(sides, n) for n in numbers] for sides in loops])

    def passing(more_gpm: Floats) -> Floats:
        more: Floats = more_gpm * M3_PER_S_PER_GPM @ around
        return cut + more

    def lost_pa(flow: Floats) -> Floats:
        lost = [loss_at(*at).total_pa for at in zip(numbers, abs(flow).tolist(), strict=True)]
        made: Floats = np.copysign(lost, flow)
        return made

    def unequal_pa(more_gpm: Floats) -> Floats:
        made: Floats = around @ lost_pa(passing(more_gpm))
        return made

    def slope(more_gpm: Floats) -> Floats:
        flow = passing(more_gpm)
        rise = lost_pa(flow + DIFFERENCE_M3_PER_S) - lost_pa(flow - DIFFERENCE_M3_PER_S)
        rise *= M3_PER_S_PER_GPM / (2 * DIFFERENCE_M3_PER_S)
        made: Floats = around * rise @ around.T
        return made

    begin = np.zeros(len(loops))
    if like is not None:
        near = np.array([like[n].m3_per_s for n in numbers]) - cut
        begin = np.linalg.lstsq(around.T, near / M3_PER_S_PER_GPM)[0]
    found = root(unequal_pa, begin, jac=slope, options={"xtol": 1e-8})
    if not (abs(found.fun) <= UNEQUAL_PA).all():
        return None
    return {n: _run(loss_at, n, q) for n, q in zip(numbers, passing(found.x).tolist(), strict=True)}


def _adds(sides: Sides, number: int) -> float:
    return float(number in sides.with_it) - float(number in sides.against)


def _run(loss_at: LossAt, number: int, flow: float) -> Passing:
    at, sign = loss_at(number, abs(flow)), 1.0 if flow >= 0 else -1.0
    lost = at._replace(friction_pa=sign * at.friction_pa, devices_pa=sign * at.devices_pa)
    return Passing(flow, lost)
