"""A pipe drawn in several pieces, as a bent or sloped one is by programs that draw it faceted."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from itertools import chain, product

from ifclint.ifc.elements import Point
from ifclint.ifc.shape.solids import Axis

MOST = 500  # pieces of one pipe; more are not put together
SAME_SIZE = 0.02  # outside diameters that differ by less of themselves are one
LEAST_REACH_M = 1e-3  # ends that lie nearer are one, as are those within a quarter of the pipe
REACH = 0.25


def chained(axes: Sequence[Axis]) -> Axis | None:
    """The axis of pieces of one diameter of which each begins where another ends, in whatever order
    they are drawn; None where they are not one line."""
    first, *others = axes
    if not 0 < len(others) < MOST or any(not _is_as_wide(first, axis) for axis in others):
        return None
    left = _Pieces(others, max(LEAST_REACH_M, REACH * (first.outside_m or 0.0)))
    points = list(first.points)
    for _ in others:
        onward = left.taken_from(points[-1])
        if onward is None:
            points.reverse()  # what is left may come before the first
            onward = left.taken_from(points[-1])
        if onward is None:
            return None
        points += onward
    return first._replace(points=tuple(points))


def _is_as_wide(first: Axis, other: Axis) -> bool:
    a, b = first.outside_m, other.outside_m
    return a is not None and b is not None and abs(a - b) <= SAME_SIZE * a


class _Pieces:
    """Pieces that are not put together yet, by the cells of space in which they begin."""

    def __init__(self, axes: Sequence[Axis], reach_m: float) -> None:
        self._reach_m, self._left = reach_m, dict(enumerate(axes))
        self._cells = defaultdict[tuple[float, ...], list[tuple[int, tuple[Point, ...]]]](list)
        for number, axis in self._left.items():
            for points in (axis.points, axis.points[::-1]):
                self._cells[self._cell(points[0])].append((number, points))

    def taken_from(self, end: Point) -> tuple[Point, ...] | None:
        """The further points of the piece that begins nearest to an end, which is taken; a short
        one begins within half its length."""
        around = product(*((c - 1, c, c + 1) for c in self._cell(end)))
        near = chain.from_iterable(self._cells.get(cell, ()) for cell in around)
        ways = [
            (math.dist(points[0], end), number, points[1:])
            for number, points in near
            if (axis := self._left.get(number)) is not None
            if math.dist(points[0], end) <= min(self._reach_m, axis.length_m / 2)
        ]
        if not ways:
            return None
        _, number, onward = min(ways)
        del self._left[number]
        return onward

    def _cell(self, place: Point) -> tuple[float, ...]:
        return tuple(c // self._reach_m for c in place)
