"""Places: the ends of elements, merged where they are joined.

What flows moves from place to place through the elements. Everything is kept in arrays, for the
sake of large models.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
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
        self.joints: list[int] = []  # the joints between members
        self.refused: list[int] = []
        self.joined: list[int] = [0] * len(elements)  # element -> how many joints it has
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
        self.joints = np.flatnonzero(kept).tolist()
        self.joined = np.bincount(np.concatenate([a[kept], b[kept]]), minlength=total).tolist()
        one, other = (first[a] + a_end)[kept], (first[b] + b_end)[kept]
        return labels(int(starts[-1]), one, other)

    def _middles(self) -> Floats:
        """Where the axes of each member meet: its own origin where that lies among its ends, else
        the mean of its ends; in what holds water, however deep, at the height of its lowest end."""
        elements, size = [self.network.elements[i] for i in self.members], len(self.members)
        member = np.repeat(np.arange(size), self.counts)
        points = as_array([self.points[p] for p in self.place_of_end.tolist()])
        known = ~np.isnan(points[:, 0])
        at, points = member[known], points[known]
        ends = np.bincount(at, minlength=size)
        with np.errstate(invalid="ignore"):
            mean = np.stack([np.bincount(at, points[:, k], size) / ends for k in range(3)], axis=1)
        reach = np.zeros(size)
        np.maximum.at(reach, at, distances(points, mean[at]))
        origin = as_array([e.position for e in elements])
        is_pipe = np.array([e.role is Role.PIPE for e in elements], dtype=bool)
        among = distances(origin, mean) <= AMONG_ENDS * reach + 1e-6
        holds = np.array([e.role in HOLDING for e in elements], dtype=bool)
        lowest = np.full(size, np.inf)
        np.minimum.at(lowest, at, points[:, 2])
        mean[:, 2] = np.where(holds & (ends > 0), lowest, mean[:, 2])
        own = (~is_pipe & ~holds & (ends > 1) & among) | (ends == 0)
        return np.where(own[:, None], origin, mean)


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
