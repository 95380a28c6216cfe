"""Lines in space: their directions, the angles between them, and what of one lies nearest."""

from math import atan2, degrees, dist, hypot

Place = tuple[float, float, float]
Direction = tuple[float, float, float]  # of length 1
NO_LENGTH_M = 1e-6  # places no farther apart tell no direction


def direction(start: Place | None, end: Place | None) -> Direction | None:
    """From one place to another; None where one is not known, or they are one."""
    if start is None or end is None or (length := dist(start, end)) <= NO_LENGTH_M:
        return None
    (ax, ay, az), (bx, by, bz) = start, end
    return ((bx - ax) / length, (by - ay) / length, (bz - az) / length)


def angle_deg(one: Direction, other: Direction) -> float:
    """Between two directions: from 0, alike, to 180, opposite."""
    (x, y, z), (u, v, w) = one, other
    across = hypot(y * w - z * v, z * u - x * w, x * v - y * u)
    return degrees(atan2(across, x * u + y * v + z * w))


def rise_deg(way: Direction) -> float:
    """How steeply a direction leads up, from -90 to 90."""
    x, y, z = way
    return degrees(atan2(z, hypot(x, y)))


def foot(place: Place, a: Place, b: Place) -> tuple[Place, float]:
    """The point of the line from `a` to `b` nearest to a place, and how far along it that is, from
    0 at `a` to 1 at `b`.

    >>> foot((1.0, 2.0, 0.0), (0.0, 0.0, 0.0), (4.0, 0.0, 0.0))
    ((1.0, 0.0, 0.0), 0.25)
    """
    u, v, w = b[0] - a[0], b[1] - a[1], b[2] - a[2]
    along = (place[0] - a[0]) * u + (place[1] - a[1]) * v + (place[2] - a[2]) * w
    if along <= 0.0:
        return a, 0.0
    share = min(along / (u * u + v * v + w * w), 1.0)
    return (a[0] + share * u, a[1] + share * v, a[2] + share * w), share
