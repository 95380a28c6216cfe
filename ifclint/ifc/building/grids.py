"""The grid of a building: its axes with their tags, as drawings and people name them."""

from collections.abc import Iterable
from itertools import chain, islice
from math import dist

from ifclint.ifc.elements import GridAxis, Place, Point
from ifclint.ifc.shape.curves import CurveReader
from ifclint.ifc.shape.placement import Frame, Placements, to_world
from ifclint.ifc.step.damage import DAMAGE
from ifclint.ifc.step.spf import arguments, class_and_arguments, members, number, string
from ifclint.ifc.step.text import clean
from ifclint.ifc.step.text_index import TextIndex
from ifclint.ifc.step.units import Units

GRID = b"IFCGRID"
AXES = slice(7, 10)  # of a grid's arguments: one way, the other, and a third
MOST = 2000  # axes of a file; no building has more
SHORTEST_M = 0.1
STRAIGHT_M = 0.001  # what points may lie beside the line between the ends
SAME_M = 0.05  # axes of one tag whose ends lie no farther apart are one


def grid_axes(text: TextIndex, placements: Placements, units: Units) -> list[GridAxis]:
    """The axes of one file. One whose course is not stated is passed over: nothing is measured from
    it."""
    curves = CurveReader(text, placements, units.length, units.angle)
    found = []
    for line in text.of_class(GRID)[1]:
        written = arguments(line)
        placement = number(written[5]) if len(written) > 5 else 0
        for member in islice(chain.from_iterable(map(members, written[AXES])), MOST):
            try:
                frame = placements.frame(placement) if placement else placements.world
                of_axis = class_and_arguments(text.get(number(member)))[1]
                axis = _axis(of_axis, curves, frame) if frame and of_axis else None
            except DAMAGE:
                continue
            if axis is not None:
                found.append(axis)
    return found[:MOST]


def _axis(written: list[bytes], curves: CurveReader, frame: Frame) -> GridAxis | None:
    tag = clean(string(written[0]))
    curve = number(written[1])
    course = [to_world(frame, point) for point in curves.points(curve) or curves.circle(curve)]
    if not tag or len(course) < 2:
        return None
    a, *via, b = map(_above, course)
    if max(dist(a, p) for p in (*via, b)) < SHORTEST_M or len(via) > MOST:
        return None
    is_straight = dist(a, b) >= SHORTEST_M and all(_beside(p, a, b) <= STRAIGHT_M for p in via)
    return GridAxis(tag, a, b, () if is_straight else tuple(via))


def _above(point: Point) -> Place:
    return point[0], point[1]


def _beside(point: Place, a: Place, b: Place) -> float:
    """How far a point lies beside the line through two others."""
    x, y = b[0] - a[0], b[1] - a[1]
    return abs((point[0] - a[0]) * y - (point[1] - a[1]) * x) / dist(a, b)


def distinct(axes: Iterable[GridAxis]) -> list[GridAxis]:
    """Each axis once: programs repeat the grid on every storey, and in every file."""
    by_tag: dict[str, list[GridAxis]] = {}
    for axis in axes:
        alike = by_tag.setdefault(axis.tag, [])
        if not any(_same(axis, other) for other in alike):
            alike.append(axis)
    return [axis for alike in by_tag.values() for axis in alike]


def _same(one: GridAxis, other: GridAxis) -> bool:
    courses = (other.course, other.course[::-1])
    return any(_near(one.course, c) for c in courses)


def _near(one: tuple[Place, ...], other: tuple[Place, ...]) -> bool:
    if len(one) != len(other):
        return False
    return all(dist(a, b) <= SAME_M for a, b in zip(one, other, strict=True))
