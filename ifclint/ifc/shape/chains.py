"""A pipe drawn in several pieces, as a bent or sloped one is by programs that draw it faceted."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ifclint.ifc.elements import Point
from ifclint.ifc.shape.solids import Axis

MOST = 500  # pieces of one pipe; more are not put together
SAME_SIZE = 0.02  # outside diameters that differ by less of themselves are one
LEAST_REACH_M = 1e-3  # ends that lie nearer are one, as are those within a quarter of the pipe
REACH = 0.25


def chained(axes: Sequence[Axis]) -> Axis | None:
    """The axis of pieces of one diameter of which each begins where another ends, in whatever order
    they are drawn; None where they are not one line."""
    first, *left = axes
    if not 0 < len(left) < MOST or any(not _is_as_wide(first, axis) for axis in left):
        return None
    reach_m = max(LEAST_REACH_M, REACH * (first.outside_m or 0.0))
    points = list(first.points)
    while left:
        found = _nearest(points[-1], left, reach_m)
        if found is None:
            points.reverse()  # what is left may come before the first
            found = _nearest(points[-1], left, reach_m)
        if found is None:
            return None
        at, onward = found
        del left[at]
        points += onward
    return first._replace(points=tuple(points))


def _is_as_wide(first: Axis, other: Axis) -> bool:
    a, b = first.outside_m, other.outside_m
    return a is not None and b is not None and abs(a - b) <= SAME_SIZE * a


def _nearest(
    end: Point, axes: Sequence[Axis], reach_m: float
) -> tuple[int, tuple[Point, ...]] | None:
    """The piece that begins nearest to an end, by its place in the list, and its further points; a
    short one begins within half its length."""
    ways = [
        (math.dist(points[0], end), number, points[1:])
        for number, axis in enumerate(axes)
        for points in (axis.points, axis.points[::-1])
        if math.dist(points[0], end) <= min(reach_m, axis.length_m / 2)
    ]
    return min(ways)[1:] if ways else None
