"""The ways that water or gas under pressure can take, and the shortest of them from a source.

The ends of the elements, merged where they are joined, are places. A way leads from the middle of
an element to one of its places, or back. Everything is kept in arrays, for the sake of large
models.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import chain

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components, dijkstra

from ifclint.ifc.elements import Element, Point, Role, System
from ifclint.network import Network

NO_WAY_M = 1e-6  # the length of a way whose ends are not known
NOWHERE = (float("nan"),) * 3
INFINITE = float("inf")

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


class Paths:
    """The members, their places, and what `direct` finds of the ways between them.

    `side_of` tells on which side of a division an element is: elements of different sides are not
    joined, and 0 joins either.
    """

    def __init__(
        self,
        network: Network,
        members: Sequence[int],
        uses: Callable[[Element], bool],
        side_of: Callable[[Element], int] | None,
    ) -> None:
        elements = network.elements
        self.network, self.members = network, members
        self.users = {i for i in members if uses(elements[i])}
        self.passable = [i for i in members if i not in self.users]
        self.shift = len(self.passable)  # nodes are the passable elements, then the places
        counts = np.array([len(elements[i].ends) for i in members], dtype=np.int64)
        starts = np.concatenate([[0], np.cumsum(counts)])
        self.refused: list[int] = []
        place_of = self._merge(starts, side_of)
        where = [end.position for i in members for end in elements[i].ends]
        self.points = _points_of(place_of, where)
        self.ends_at: list[list[int]] = [[] for _ in elements]
        places: list[int] = place_of.tolist()
        for index, start, stop in zip(members, starts.tolist(), starts[1:].tolist(), strict=False):
            self.ends_at[index] = places[start:stop]
        self._make(counts, where, place_of)
        self.far: Floats = np.full(self.shift + len(self.points), np.inf)
        self.before: list[int] = [-1] * (self.shift + len(self.points))

    def _merge(self, starts: Ints, side_of: Callable[[Element], int] | None) -> Ints:
        """The place of every end: joined ends are one place."""
        elements, joints = self.network.elements, self.network.joints
        first = np.full(len(elements), -1, dtype=np.int64)
        first[np.array(self.members, dtype=np.int64)] = starts[:-1]
        a, b = _ints([j.a for j in joints]), _ints([j.b for j in joints])
        kept = (first[a] >= 0) & (first[b] >= 0) & (a != b)
        if side_of is not None:
            side = np.zeros(len(elements), dtype=np.int64)
            side[np.array(self.members, dtype=np.int64)] = [
                side_of(elements[i]) for i in self.members
            ]
            divided = kept & (side[a] != side[b]) & (side[a] != 0) & (side[b] != 0)
            self.refused = np.flatnonzero(divided).tolist()
            kept &= ~divided
        one = (first[a] + _ints([j.a_end for j in joints]))[kept]
        other = (first[b] + _ints([j.b_end for j in joints]))[kept]
        ends = int(starts[-1])
        joined = csr_matrix((np.ones(len(one)), (one, other)), shape=(ends, ends))
        labels: Ints = connected_components(joined, directed=False)[1].astype(np.int64)
        return labels

    def _make(self, counts: Ints, where: list[Point | None], place_of: Ints) -> None:
        """The ways, as a node, a place and a length each, in the order of the ends."""
        passable = np.array([i not in self.users for i in self.members], dtype=bool)
        keep = np.repeat(passable, counts)
        self.path_node = np.repeat(np.arange(self.shift), counts[passable])
        self.path_place = place_of[keep]
        points = _array([p for p, k in zip(where, keep.tolist(), strict=True) if k])
        self.path_m = self._lengths(self.path_node, points)

    def _lengths(self, nodes: Ints, points: Floats) -> Floats:
        """From the middle of an element to each of its ends: half of a pipe, else as drawn."""
        elements = [self.network.elements[i] for i in self.passable]
        size = len(elements)
        stated = np.array(
            [(e.length_m or np.nan) if e.role is Role.PIPE else np.nan for e in elements]
        )
        ends = np.maximum(np.bincount(nodes, minlength=size), 1)
        mean = np.stack(
            [np.bincount(nodes, np.nan_to_num(points[:, k]), size) / ends for k in range(3)], axis=1
        )
        origin = _array([e.position for e in elements])
        reach = np.zeros(size)
        np.maximum.at(reach, nodes, np.nan_to_num(_apart(points, mean[nodes])))
        is_pipe = np.array([e.role is Role.PIPE for e in elements], dtype=bool)
        own = ~is_pipe & (ends > 1) & (_apart(origin, mean) <= reach + NO_WAY_M)
        centre = np.where(own[:, None], origin, mean)
        drawn = np.nan_to_num(_apart(points, centre[nodes]))
        halves = stated[nodes] / 2
        return np.asarray(np.where(np.isnan(halves), drawn, halves) + NO_WAY_M)

    def direct(self, sources: Sequence[int]) -> tuple[list[int], list[int], list[float], list[int]]:
        """What feeds every element, through which place, how far from its source; and an order."""
        total = len(self.network.elements)
        up, entry, length = [-1] * total, [-1] * total, [INFINITE] * total
        known = set(sources)
        starts = [node for node, index in enumerate(self.passable) if index in known]
        if not starts:
            return up, entry, length, []
        self._search(starts, known)
        before, shift, passable = self.before, self.shift, self.passable
        nodes = np.argsort(self.far[:shift], kind="stable")
        far = self.far[nodes]
        order = []
        for node, distance in zip(nodes.tolist(), far.tolist(), strict=True):
            if distance == INFINITE:
                break
            index = passable[node]
            order.append(index)
            length[index] = distance
            place = before[node]
            if place >= 0:
                entry[index] = place - shift
                up[index] = passable[before[place]]
        return up, entry, length, order

    def _search(self, starts: list[int], sources: set[int]) -> None:
        inward, outward = self._gates(sources)
        size = len(self.far)
        place = self.path_place + self.shift
        rows = np.concatenate([self.path_node[outward], place[inward]])
        columns = np.concatenate([place[outward], self.path_node[inward]])
        lengths = np.concatenate([self.path_m[outward], self.path_m[inward]])
        order = np.lexsort((lengths, columns, rows))
        rows, columns, lengths = rows[order], columns[order], lengths[order]
        first = np.ones(len(rows), dtype=bool)  # of two ends at one place, the nearer
        first[1:] = (rows[1:] != rows[:-1]) | (columns[1:] != columns[:-1])
        paths = csr_matrix((lengths[first], (rows[first], columns[first])), shape=(size, size))
        self.far, before, _ = dijkstra(
            paths, indices=starts, min_only=True, return_predecessors=True
        )
        self.before = before.tolist()

    def _gates(self, sources: set[int]) -> tuple[Flags, Flags]:
        """Which ways lead in, and which out: a source and a heater as their ports say."""
        inward = np.ones(len(self.path_node), dtype=bool)
        outward = np.ones(len(self.path_node), dtype=bool)
        elements = self.network.elements
        gated = {
            node: index
            for node, index in enumerate(self.passable)
            if index in sources or elements[index].role is Role.HEATER
        }
        at: dict[int, int] = {}
        for k in np.flatnonzero(np.isin(self.path_node, list(gated))).tolist():
            node = int(self.path_node[k])
            element = elements[gated[node]]
            end = element.ends[at.get(node, 0)]
            at[node] = at.get(node, 0) + 1
            heats = element.role is Role.HEATER
            inward[k] = end.flow != "out" and not (heats and end.system is System.HOT_WATER)
            outward[k] = end.flow != "in" and not (heats and end.system is System.COLD_WATER)
        return inward, outward

    def used_ends(self) -> Iterator[tuple[int, int, int, int, float | None]]:
        """Every end of a user that piping is joined to: element, end, place, what feeds it, and
        how far; -1 and None where nothing does."""
        piped = set(self.path_place.tolist())
        far: list[float] = self.far.tolist()
        for index in self.members:
            if index not in self.users:
                continue
            for end, place in enumerate(self.ends_at[index]):
                if place not in piped:
                    continue
                node = self.before[place + self.shift]
                if node >= 0:
                    yield index, end, place, self.passable[node], far[place + self.shift]
                else:
                    yield index, end, place, -1, None

    def closings(self) -> Iterator[tuple[int, int, int]]:
        """Pairs of reached elements, and the place where they meet, neither feeding the other."""
        places = self.path_place + self.shift
        before = np.array(self.before)
        reached = np.isfinite(self.far[self.path_node]) & np.isfinite(self.far[places])
        open_paths = (
            reached & (before[places] != self.path_node) & (before[self.path_node] != places)
        )
        for k in np.flatnonzero(open_paths).tolist():
            feeder = self.passable[int(before[places[k]])]
            yield self.passable[int(self.path_node[k])], feeder, int(self.path_place[k])

    def place_m(self) -> list[float]:
        """How far every place is from its source, m."""
        reached: list[float] = self.far[self.shift :].tolist()
        return reached


def _ints(values: list[int]) -> Ints:
    return np.array(values, dtype=np.int64)


def _array(points: Sequence[Point | None]) -> Floats:
    flat = chain.from_iterable(p if p is not None else NOWHERE for p in points)
    return np.fromiter(flat, dtype=float, count=3 * len(points)).reshape(-1, 3)


def _points_of(place_of: Ints, where: list[Point | None]) -> list[Point | None]:
    """The first known position at every place."""
    points: list[Point | None] = [None] * (int(place_of.max()) + 1 if len(place_of) else 0)
    for place, point in zip(reversed(place_of.tolist()), reversed(where), strict=True):
        if point is not None:
            points[place] = point
    return points


def _apart(a: Floats, b: Floats) -> Floats:
    return np.asarray(np.sqrt(((a - b) ** 2).sum(axis=1)))
