"""The direction a free end points in, and places along the course of a pipe from its first end to
its second."""

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from ifclint.engineering.directions import NO_LENGTH_M, foot
from ifclint.ifc.elements import Element, Model, Point, Role
from ifclint.ifc.joints.free_ends import FreeEnd, position_of
from ifclint.ifc.shape.placement import dot, unit

PARALLEL = math.cos(math.radians(5.0))  # how far two lines may turn from one another
FARTHEST_MIDDLE_M = 1.0  # what is placed farther away is not placed at its middle
A_PLACE_M = 1e-3  # places nearer to one another tell no direction
BENT = 2  # points of an axis, and more of a bent one
LONGER_THAN_CHORD = 1.01  # a pipe this much longer than its chord is not straight


@dataclass(frozen=True, slots=True)
class Ray:
    """A free end, and the direction it points in."""

    at: FreeEnd
    start: Point
    direction: Point

    def towards(self, p: Point) -> tuple[float, float]:
        """How far ahead a point lies, and how far beside (metres)."""
        to = (p[0] - self.start[0], p[1] - self.start[1], p[2] - self.start[2])
        ahead = dot(to, self.direction)
        return ahead, math.sqrt(max(0.0, dot(to, to) - ahead * ahead))


def ray_of(model: Model, at: FreeEnd) -> Ray | None:
    """Where an end points: along its straight pipe, else away from its element's middle."""
    element = model.elements[at[0]]
    here, behind = position_of(model, at), element.position
    if element.role is Role.PIPE:
        behind = _before(element.line, here) or _far_end(element, here)
    elif behind is not None and math.dist(behind, here) > FARTHEST_MIDDLE_M:
        return None
    direction = direction_between(behind, here) if behind is not None else None
    return Ray(at, here, direction) if direction is not None else None


def _far_end(element: Element, here: Point) -> Point | None:
    """The other end of a straight pipe; None where it is longer than straight between its ends."""
    places = element.places
    behind = max(places, key=lambda p: math.dist(p, here))
    is_straight = (element.length_m or 0.0) <= LONGER_THAN_CHORD * math.dist(behind, here)
    return behind if is_straight else None


def _before(course: tuple[Point, ...], here: Point) -> Point | None:
    """The first place away from an end along the axis of a pipe that is bent; None of a straight
    one, or away from its ends."""
    for way in (course, course[::-1]) if len(course) > BENT else ():
        if math.dist(way[0], here) < A_PLACE_M:
            return next((p for p in way if math.dist(p, here) >= A_PLACE_M), None)
    return None


def meet_ahead(a: Ray, b: Ray, reach_m: float, aside_m: float) -> bool:
    """Whether two ends point at one place within reach before both: at each other along one line,
    or where their lines cross."""
    turn = dot(a.direction, b.direction)
    if abs(turn) >= PARALLEL:
        ahead, aside = a.towards(b.start)
        return turn < 0 and -aside_m <= ahead <= reach_m and aside <= aside_m
    to = (b.start[0] - a.start[0], b.start[1] - a.start[1], b.start[2] - a.start[2])
    x, y = dot(to, a.direction), dot(to, b.direction)
    at = (x - turn * y) / (1 - turn * turn), (turn * x - y) / (1 - turn * turn)
    one, two = (
        [p + m * d for p, d in zip(ray.start, ray.direction, strict=True)]
        for ray, m in zip((a, b), at, strict=True)
    )
    return all(-aside_m <= m <= reach_m for m in at) and math.dist(one, two) <= aside_m


def direction_between(p: Point, q: Point) -> Point | None:
    """The unit direction from one place to another; None where they are one place."""
    apart = math.dist(p, q) >= A_PLACE_M
    return unit((q[0] - p[0], q[1] - p[1], q[2] - p[2])) if apart else None


class Foot(NamedTuple):
    """The place of a course nearest to a point, and how far that is from its two ends, along it."""

    place: Point
    along_m: float
    left_m: float


def foot_on(course: tuple[Point, ...], p: Point) -> Foot | None:
    """The place of a course nearest to a point."""
    best, total, along = math.inf, 0.0, 0.0
    place: Point | None = None
    for a, b in pairwise(course):
        nearest, share = foot(p, a, b)
        away, length = math.dist(nearest, p), math.dist(a, b)
        if away < best:
            best, place, along = away, nearest, total + share * length
        total += length
    return Foot(place, along, total - along) if place is not None else None


def cut(course: tuple[Point, ...], places: list[Foot]) -> list[tuple[Point, ...]]:
    """The pieces of a course between some places on it, in their order along it."""
    pieces: list[tuple[Point, ...]] = []
    rest, gone = course, 0.0
    for at in places:
        head = [rest[0]]
        passed = 0.0
        for a, b in pairwise(rest):
            passed += math.dist(a, b)
            if gone + passed >= at.along_m - NO_LENGTH_M:
                break
            head.append(b)
        pieces.append((*head, at.place))
        left = rest[len(head) :]
        at_corner = len(left) > 1 and math.dist(left[0], at.place) <= NO_LENGTH_M
        rest, gone = (at.place, *left[at_corner:]), at.along_m
    return [*pieces, rest]
