"""Boxes by their low and high corners (m), what lies in them, and distances seen from above."""

from collections.abc import Iterable, Sequence
from math import hypot

from ifclint.engineering.tolerance import LENGTH_M

Place = tuple[float, float, float]
Box = tuple[Place, Place]


def box_around(places: Iterable[Place]) -> Box:
    """The box around places, of which there is at least one.

    >>> box_around([(1.0, 5.0, 9.0), (4.0, 2.0, 6.0)])
    ((1.0, 2.0, 6.0), (4.0, 5.0, 9.0))
    """
    x, y, z = zip(*places, strict=True)
    return (min(x), min(y), min(z)), (max(x), max(y), max(z))


def grown(low: Place, high: Place, by_m: float) -> Box:
    """A box larger by so much on all sides.

    >>> grown((1.0, 2.0, 3.0), (5.0, 7.0, 9.0), 0.5)
    ((0.5, 1.5, 2.5), (5.5, 7.5, 9.5))
    """
    x, y, z = (at - by_m for at in low)
    u, v, w = (at + by_m for at in high)
    return (x, y, z), (u, v, w)


def sides_m(low: Place, high: Place) -> Place:
    """How long a box is along x, y and z.

    >>> sides_m((1.0, 2.0, 3.0), (2.0, 5.0, 8.0))
    (1.0, 3.0, 5.0)
    """
    x, y, z = (b - a for a, b in zip(low, high, strict=True))
    return x, y, z


def plan_m2(low: Place, high: Place) -> float:
    """The area of a box seen from above.

    >>> plan_m2((1.0, 2.0, 3.0), (3.0, 5.0, 99.0))
    6.0
    """
    x, y, _ = sides_m(low, high)
    return x * y


def middle(low: Place, high: Place) -> Place:
    """Halfway between two corners.

    >>> middle((1.0, 2.0, 3.0), (2.0, 5.0, 9.0))
    (1.5, 3.5, 6.0)
    """
    x, y, z = ((a + b) / 2 for a, b in zip(low, high, strict=True))
    return x, y, z


def mean(places: Sequence[Place]) -> Place:
    """The middle of some places, of which there is one at least.

    >>> mean([(0.0, 0.0, 1.0), (3.0, 0.0, 1.0), (0.0, 6.0, 1.0)])
    (1.0, 2.0, 1.0)
    """
    x, y, z = (sum(values) / len(places) for values in zip(*places, strict=True))
    return x, y, z


def holds(low: Place, high: Place, place: Place, reach_m: float = 0.0) -> bool:
    """Whether a place lies in a box, on its faces too, or misses it by no more along any axis.

    >>> holds((0.0, 0.0, 0.0), (1.0, 2.0, 3.0), (1.5, 0.0, 3.5), 0.5)
    True
    """
    by_m = reach_m + LENGTH_M
    return all(a - by_m <= at <= b + by_m for a, at, b in zip(low, place, high, strict=True))


def covers(low: Place, high: Place, place: Place, reach_m: float = 0.0) -> bool:
    """Whether a box holds a place as seen from above.

    >>> covers((0.0, 0.0, 0.0), (1.0, 2.0, 3.0), (1.0, 2.0, 99.0))
    True
    """
    (x, y, _), by_m = place, reach_m + LENGTH_M
    return low[0] - by_m <= x <= high[0] + by_m and low[1] - by_m <= y <= high[1] + by_m


def overlap_in_plan(one: Box, other: Box) -> bool:
    """Whether two boxes have more than an edge in common, seen from above.

    >>> overlap_in_plan(((0.0, 0.0, 0.0), (1.0, 1.0, 1.0)), ((1.0, 0.0, 0.0), (2.0, 1.0, 1.0)))
    False
    """
    x, y, _ = shared_m(one, other)
    return x > LENGTH_M and y > LENGTH_M


def level_m(a: Place, b: Place) -> float:
    """How far two places lie apart as seen from above.

    >>> level_m((1.0, 2.0, 3.0), (4.0, 6.0, 99.0))
    5.0
    """
    return hypot(b[0] - a[0], b[1] - a[1])


def lies_flat(a: Place, b: Place) -> bool:
    """Whether what leads from one place to another runs farther than it rises or falls.

    >>> lies_flat((0.0, 0.0, 5.0), (3.0, 4.0, 9.9)), lies_flat((0.0, 0.0, 5.0), (3.0, 4.0, 10.0))
    (True, False)
    """
    return abs(b[2] - a[2]) < level_m(a, b)


def thickness_m(low: Place, high: Place) -> float:
    """Of a box as that of a wall: its shorter side in plan.

    >>> thickness_m((0.0, 0.0, 0.0), (9.0, 0.2, 0.1))
    0.2
    """
    x, y, _ = sides_m(low, high)
    return min(x, y)


def thin_axis(low: Place, high: Place) -> int:
    """The horizontal axis (0, 1) along which a box, as that of a wall, is thinner.

    >>> thin_axis((0.0, 0.0, 0.0), (9.0, 0.2, 3.0))
    1
    """
    x, y, _ = sides_m(low, high)
    return int(y < x)


def shared_m(one: Box, other: Box) -> Place:
    """How much of their extent two boxes share along each axis; less than 0 where they lie apart.

    >>> shared_m(((0.0, 0.0, 0.0), (3.0, 3.0, 3.0)), ((2.0, -5.0, 7.0), (9.0, 9.0, 8.0)))
    (1.0, 3.0, -4.0)
    """
    corners = zip(one[0], one[1], other[0], other[1], strict=True)
    x, y, z = (min(b, d) - max(a, c) for a, b, c, d in corners)
    return x, y, z


def level_apart_m(one: Box, other: Box) -> float:
    """How far two boxes lie apart as seen from above.

    >>> level_apart_m(((0.0, 0.0, 0.0), (1.0, 1.0, 1.0)), ((4.0, 5.0, 9.0), (6.0, 6.0, 9.0)))
    5.0
    """
    x, y, _ = shared_m(one, other)
    return hypot(min(x, 0.0), min(y, 0.0))


def apart_m(one: Box, other: Box) -> float:
    """How far two boxes lie apart.

    >>> apart_m(((0.0, 0.0, 0.0), (1.0, 1.0, 1.0)), ((2.0, 3.0, 3.0), (6.0, 6.0, 9.0)))
    3.0
    """
    return hypot(*(min(along, 0.0) for along in shared_m(one, other)))


def passed(a: Place, b: Place, low: Place, high: Place, axis: int, skin_m: float) -> Place | None:
    """Where a line passes through a box from face to face along an axis: in the middle of it.

    None where it ends more than `skin_m` before a face, or leaves by another.

    >>> passed((-1.0, 1.0, 1.0), (2.0, 1.0, 2.5), (0.0, 0.0, 0.0), (1.0, 2.0, 3.0), 0, 0.01)
    (0.5, 1.0, 1.75)
    """
    near, far = sorted((a[axis], b[axis]))
    if near == far or near > low[axis] + skin_m or far < high[axis] - skin_m:
        return None
    share = (middle(low, high)[axis] - a[axis]) / (b[axis] - a[axis])
    x, y, z = (p + share * (q - p) for p, q in zip(a, b, strict=True))
    return (x, y, z) if holds(low, high, (x, y, z)) else None
