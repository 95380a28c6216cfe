"""Where two straight lines come nearest, seen from above."""

from __future__ import annotations

from math import hypot

from ifclint.engineering.directions import foot
from ifclint.ifc.elements import Point

Line = tuple[Point, Point]
EVEN = 1e-9


def nearest(one: Line, other: Line) -> tuple[Point, Point, float]:
    """A point on each of two lines where they are nearest in plan, and how far apart that is (m).

    Lines that cross meet at distance 0. Of parallel ones the place is an end of either.

    >>> nearest(((0.0, 0.0, 1.0), (2.0, 0.0, 1.0)), ((1.0, -1.0, 0.0), (1.0, 1.0, 0.0)))
    ((1.0, 0.0, 1.0), (1.0, 0.0, 0.0), 0.0)
    """
    crossing = _crossing(one, other)
    if crossing is not None:
        return _at(one, crossing[0]), _at(other, crossing[1]), 0.0
    found = [(_at(one, k), _at(other, _share(other, _at(one, k)))) for k in (0.0, 1.0)]
    found += [(_at(one, _share(one, _at(other, k))), _at(other, k)) for k in (0.0, 1.0)]
    pairs = ((a, b, hypot(a[0] - b[0], a[1] - b[1])) for a, b in found)
    return min(pairs, key=lambda pair: (round(pair[2], 6), pair[0][2] - pair[1][2]))


def _crossing(one: Line, other: Line) -> tuple[float, float] | None:
    """The shares of both lines at which they cross; None where they do not."""
    (a, b), (c, d) = one, other
    ux, uy, vx, vy = b[0] - a[0], b[1] - a[1], d[0] - c[0], d[1] - c[1]
    turn = ux * vy - uy * vx
    if abs(turn) < EVEN:
        return None
    s = ((c[0] - a[0]) * vy - (c[1] - a[1]) * vx) / turn
    t = ((c[0] - a[0]) * uy - (c[1] - a[1]) * ux) / turn
    return (s, t) if 0.0 <= s <= 1.0 and 0.0 <= t <= 1.0 else None


def _share(line: Line, point: Point) -> float:
    """How far along a line the point next to another lies, from 0 to 1."""
    (a, b, _), (u, v, _), (x, y, _) = *line, point
    return foot((x, y, 0.0), (a, b, 0.0), (u, v, 0.0))[1]


def _at(line: Line, share: float) -> Point:
    x, y, z = (line[0][k] + share * (line[1][k] - line[0][k]) for k in range(3))
    return (x, y, z)
