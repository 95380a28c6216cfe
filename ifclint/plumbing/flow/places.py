"""Places: the ends of elements, merged where they are joined.

What flows moves from place to place through the elements. Everything is kept in arrays, for the
sake of large models.
"""

from collections.abc import Callable, Iterator, Sequence
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from ifclint.engineering.joined import NONE, labels
from ifclint.ifc.elements import Element, Point, Role
from ifclint.network import Network

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

NOWHERE = (float("nan"),) * 3
HOLDING = frozenset({Role.CHAMBER, Role.INTERCEPTOR})  # bodies deeper than their pipes
NO_CENTRE_M = 0.001  # an origin no farther from an end, or from the mean of all, tells no centre
BESIDE_RUN_M = 0.01  # an end farther from the line of a run is that of a branch
IN_ONE_LINE = 0.03  # 1 - cos of the angle below which two axes (14 deg) are one line
STRAIGHT = 0.003  # 1 - cos of the angle (4 deg) below which a pipe runs on through what it joins
AMONG_ENDS = 1.1  # an origin no farther from the mean of the ends than this share of the farthest


class Places:
    """The places of some elements of a network.

    `ends_at[element]` lists the place of each of its ends, and `points` where each place is. An
    element without ends has one place, its own. `side_of` divides the elements: where it tells
    different numbers, and neither is 0, a joint is not taken and stands in `refused`.
    """

    def __init__(
        self,
        network: Network,
        members: Sequence[int],
        side_of: Callable[[Element], int] | None = None,
    ) -> None:
        elements = network.elements
        self.network, self.members = network, list(members)
        self.counts = _ints([max(len(elements[i].ends), 1) for i in members])
        starts = np.concatenate([[0], np.cumsum(self.counts)]).astype(np.int64)
        self.refused: list[int] = []
        self.place_of_end = self._merge(starts, side_of)
        where = [p for i in members for p in _ends_of(elements[i])]
        self.end_points = as_array(where)
        self.points = _first_known(self.place_of_end, where)
        self.ends_at: list[list[int]] = [[] for _ in elements]
        places: list[int] = self.place_of_end.tolist()
        for index, start, stop in zip(members, starts.tolist(), starts[1:].tolist(), strict=False):
            self.ends_at[index] = places[start:stop]
        self.middles = self._middles()  # of each member

    def _merge(self, starts: Ints, side_of: Callable[[Element], int] | None) -> Ints:
        """The place of every end: joined ends are one place."""
        total = len(self.network.elements)
        members = _ints(self.members)
        first = np.full(total, NONE, dtype=np.int64)
        first[members] = starts[:-1]
        a, a_end, b, b_end = self.network.joined_ends
        kept = (first[a] != NONE) & (first[b] != NONE) & (a != b)
        if side_of is not None:
            side = np.zeros(total, dtype=np.int64)
            side[members] = [side_of(self.network.elements[i]) for i in self.members]
            divided = kept & (side[a] != side[b]) & (side[a] != 0) & (side[b] != 0)
            self.refused = np.flatnonzero(divided).tolist()
            kept &= ~divided
        self.joints: list[int] = np.flatnonzero(kept).tolist()  # between members
        self._met = a[kept], b[kept]
        met = np.concatenate(self._met)
        self.joined: list[int] = np.bincount(met, minlength=total).tolist()  # how many, by element
        one, other = (first[a] + a_end)[kept], (first[b] + b_end)[kept]
        return labels(int(starts[-1]), one, other)

    def _middles(self) -> Floats:
        """Where the axes of each member meet: its own origin where that lies among its ends, and
        neither at one of them nor at their mean; else of a fitting where the pipes joined to it
        would meet; else the mean of its ends, as of what lies in the line of a pipe. In what holds
        water, however deep, it lies at the height of the lowest end."""
        elements, size = [self.network.elements[i] for i in self.members], len(self.members)
        member = np.repeat(np.arange(size), self.counts)
        placed = as_array([self.points[p] for p in self.place_of_end.tolist()])
        known = ~np.isnan(placed[:, 0])
        at, points = member[known], placed[known]
        ends = np.bincount(at, minlength=size)
        with np.errstate(invalid="ignore"):
            mean = np.stack([np.bincount(at, points[:, k], size) / ends for k in range(3)], axis=1)
        reach = np.zeros(size)
        np.maximum.at(reach, at, distances(points, mean[at]))
        origin = as_array([e.position for e in elements])
        is_pipe = np.array([e.role is Role.PIPE for e in elements], dtype=bool)
        among = distances(origin, mean) <= AMONG_ENDS * reach + 1e-6
        no_centre = distances(origin, mean) < NO_CENTRE_M
        no_centre[at[distances(points, origin[at]) < NO_CENTRE_M]] = True
        no_centre |= self._in_line_with_a_pipe(is_pipe, placed)
        holds = np.array([e.role in HOLDING for e in elements], dtype=bool)
        lowest = np.full(size, np.inf)
        np.minimum.at(lowest, at, points[:, 2])
        mean[:, 2] = np.where(holds & (ends > 0), lowest, mean[:, 2])
        has_axes = ~is_pipe & ~holds & (ends > 1)
        own = (has_axes & among & ~no_centre) | (ends == 0)
        is_fitting = np.array([e.role is Role.FITTING for e in elements], dtype=bool)
        asked = np.flatnonzero(has_axes & ~own & is_fitting)
        meeting = self._where_pipes_meet([self.members[i] for i in asked.tolist()])
        met = distances(meeting, mean[asked]) <= reach[asked]
        mean[asked[met]] = meeting[met]
        return np.where(own[:, None], origin, mean)

    def _in_line_with_a_pipe(self, is_pipe: Flags, placed: Floats) -> Flags:
        """Whether a pipe joined to a member runs on from one of its two ends to the other."""
        first = np.cumsum(self.counts) - self.counts
        last = first + np.minimum(self.counts, 2) - 1
        chord = placed[last] - placed[first]
        with np.errstate(invalid="ignore"):
            chord /= np.sqrt((chord**2).sum(axis=1))[:, None]
        row = np.full(len(self.network.elements), NONE, dtype=np.int64)
        row[_ints(self.members)] = np.arange(len(self.members))
        a, b = (row[side] for side in self._met)
        part, pipe = np.concatenate([a, b]), np.concatenate([b, a])
        cosine = np.abs((chord[part] * chord[pipe]).sum(axis=1))
        through = (self.counts[part] == 2) & (self.counts[pipe] == 2) & is_pipe[pipe]
        straight = np.zeros(len(self.members), dtype=bool)
        straight[part[through & (1 - cosine < STRAIGHT)]] = True
        return straight

    def _where_pipes_meet(self, indexes: list[int]) -> Floats:
        """Of each element the point nearest to the axes of all pipes joined to it; NaN where they
        run in one line and no branch is placed, or too few are placed."""
        axes = [axis for row, index in enumerate(indexes) for axis in self._axes(row, index)]
        row, ends = np.array([a[0] for a in axes], dtype=int), as_array([a[1] for a in axes])
        axis = as_array([a[2] for a in axes]) - ends
        long = np.sqrt((axis**2).sum(axis=1))
        row, ends, axis = row[long > 0], ends[long > 0], axis[long > 0] / long[long > 0, None]
        from_axis = np.eye(3) - axis[:, :, None] * axis[:, None, :]
        across, beside = np.zeros((len(indexes), 3, 3)), np.zeros((len(indexes), 3))
        np.add.at(across, row, from_axis)
        np.add.at(beside, row, (from_axis @ ends[:, :, None])[:, :, 0])
        meets = np.linalg.eigvalsh(across)[:, 0] >= IN_ONE_LINE
        points = np.full((len(indexes), 3), np.nan)
        points[meets] = np.linalg.solve(across[meets], beside[meets][:, :, None])[:, :, 0]
        for n in np.flatnonzero(~meets[row]).tolist():
            points[row[n]] = self._on_the_run(indexes[row[n]], ends[n], axis[n])
        return points

    def _axes(self, row: int, index: int) -> Iterator[tuple[int, Point, Point]]:
        """The two ends of every straight pipe joined to an element."""
        for other, _ in self.network.joined[index]:
            pipe = self.network.elements[other]
            if pipe.role is Role.PIPE and len(pipe.ends) == 2:
                a, b = pipe.ends[0].position, pipe.ends[1].position
                if a is not None and b is not None:
                    yield row, a, b

    def _on_the_run(self, index: int, start: Floats, axis: Floats) -> Floats:
        """Where the branches of a fitting meet the line of its run: squarely, but for a wye, whose
        branch comes at 45 degrees from the side of its farther end; NaN where none is placed."""
        element = self.network.elements[index]
        ends = as_array([end.position for end in element.ends]) - start
        along = ends @ axis
        beside = distances(ends, along[:, None] * axis)
        branch, run = beside > BESIDE_RUN_M, along[beside <= BESIDE_RUN_M]
        if not branch.any() or len(run) != 2:
            return np.full(3, np.nan)
        at = along[branch].mean()
        if element.kind.endswith(("wye", "combination")):
            far = run[np.argmax(np.abs(run - at))]
            at += np.sign(far - at) * min(beside[branch].mean(), abs(far - at))
        return np.asarray(start + at * axis)


def middle_points(middles: Floats) -> list[Point | None]:
    """Rows of an array as points; None where not known."""
    return [None if x != x else (x, y, z) for x, y, z in middles.tolist()]


def as_array(points: Sequence[Point | None]) -> Floats:
    """Points as rows; NaN where not known."""
    flat = chain.from_iterable(p if p is not None else NOWHERE for p in points)
    return np.fromiter(flat, dtype=float, count=3 * len(points)).reshape(-1, 3)


def distances(a: Floats, b: Floats) -> Floats:
    """Between the points of two arrays, row by row; NaN where one is not known."""
    return np.asarray(np.sqrt(((a - b) ** 2).sum(axis=1)))


def _ends_of(element: Element) -> list[Point | None]:
    return [end.position for end in element.ends] or [element.position]


def _ints(values: list[int]) -> Ints:
    return np.array(values, dtype=np.int64)


def _first_known(place_of: Ints, where: list[Point | None]) -> list[Point | None]:
    """The first known position at every place."""
    points: list[Point | None] = [None] * (int(place_of.max()) + 1 if len(place_of) else 0)
    for place, point in zip(reversed(place_of.tolist()), reversed(where), strict=True):
        if point is not None:
            points[place] = point
    return points
