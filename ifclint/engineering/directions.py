"""Directions of lines in space, and the angles between them."""

from __future__ import annotations

from math import atan2, degrees, dist, hypot

Place = tuple[float, float, float]
Direction = tuple[float, float, float]  # of length 1
NO_LENGTH_M = 1e-6  # places no farther apart tell no direction


def direction(start: Place | None, end: Place | None) -> Direction | None:
    """From one place to another; None where one is not known, or they are one."""
    if start is None or end is None or dist(start, end) <= NO_LENGTH_M:
        return None
    x, y, z = ((b - a) / dist(start, end) for a, b in zip(start, end, strict=True))
    return (x, y, z)


def angle_deg(one: Direction, other: Direction) -> float:
    """Between two directions: from 0, alike, to 180, opposite."""
    (x, y, z), (u, v, w) = one, other
    across = hypot(y * w - z * v, z * u - x * w, x * v - y * u)
    return degrees(atan2(across, x * u + y * v + z * w))


def rise_deg(way: Direction) -> float:
    """How steeply a direction leads up, from -90 to 90."""
    x, y, z = way
    return degrees(atan2(z, hypot(x, y)))
