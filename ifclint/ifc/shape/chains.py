"""A pipe drawn in several pieces, as a bent or sloped one is by programs that draw it faceted; and
several pipes that are drawn as one."""

import math
from collections import defaultdict
from collections.abc import Sequence
from itertools import chain, product

from ifclint.engineering.directions import foot
from ifclint.ifc.elements import Point
from ifclint.ifc.shape.solids import Axis

MOST = 500  # pieces of one pipe; more are not put together
SAME_SIZE = 0.02  # outside diameters that differ by less of themselves are one
LEAST_REACH_M = 1e-3  # ends that lie nearer are one, as are those within a quarter of the pipe
REACH = 0.25
NARROWEST_M = 0.012  # what is no wider is a rod or screw of its hanger. Ours, no source


def chained(axes: Sequence[Axis]) -> Axis | None:
    """The axis of pieces of one diameter of which each begins where another ends, in whatever order
    they are drawn; None where they are not one line."""
    first, *others = axes
    if not 0 < len(others) < MOST or not are_as_wide(axes):
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


def separate(axes: Sequence[Axis]) -> list[Axis]:
    """The pipes among the axes of one element, without what is about one of them and what is too
    narrow to be one."""
    wide = [axis for axis in axes if (axis.outside_m or 0.0) > NARROWEST_M]
    return [a for a in wide if not any(_is_about(a, b) for b in wide if b is not a)]


def _is_about(axis: Axis, pipe: Axis) -> bool:
    """Whether it is what covers a pipe, or a collar on it: wider, along its line, and past its ends
    no farther than it is wide."""
    wide, narrow = axis.outside_m or 0.0, pipe.outside_m or 0.0
    if wide <= narrow * (1 + SAME_SIZE) or len(pipe.points) != 2:
        return False
    a, b = pipe.points
    feet = [foot(p, a, b) for p in axis.points]
    return all(
        math.dist(p, on_line) <= (REACH * narrow if 0.0 < share < 1.0 else wide)
        for p, (on_line, share) in zip(axis.points, feet, strict=True)
    )


def are_as_wide(axes: Sequence[Axis]) -> bool:
    """Whether all are of one diameter, which is known."""
    return all(_is_as_wide(axes[0], axis) for axis in axes)


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
