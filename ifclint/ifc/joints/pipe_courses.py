"""The course of a pipe: the line of its axis from its first end to its second, bends and all."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import NamedTuple

from ifclint.ifc.elements import Element, Point
from ifclint.ifc.shape.placement import dot


class Foot(NamedTuple):
    """The place of a course nearest to a point, and how far that is from its two ends, along it."""

    place: Point
    along_m: float
    left_m: float


def course_of(pipe: Element) -> tuple[Point, ...]:
    """The points of a pipe's axis; none where they are not known."""
    if len(pipe.ends) < 2:
        return ()
    first, last = pipe.ends[0].position, pipe.ends[1].position
    if first is None or last is None or first == last:
        return ()
    inner = pipe.course[1:-1]
    if inner and math.dist(first, inner[0]) > math.dist(last, inner[0]):
        straight = math.dist(first, pipe.course[0]) <= math.dist(last, pipe.course[0])
        inner = inner if straight else inner[::-1]
    return (first, *inner, last)


def foot_on(course: tuple[Point, ...], p: Point) -> Foot | None:
    """The place of a course nearest to a point."""
    best, total, along = math.inf, 0.0, 0.0
    place: Point | None = None
    for a, b in pairwise(course):
        step = (b[0] - a[0], b[1] - a[1], b[2] - a[2])
        length2 = dot(step, step)
        to = (p[0] - a[0], p[1] - a[1], p[2] - a[2])
        t = min(1.0, max(0.0, dot(to, step) / length2)) if length2 > 0 else 0.0
        foot = (a[0] + t * step[0], a[1] + t * step[1], a[2] + t * step[2])
        away = math.dist(foot, p)
        if away < best:
            best, place, along = away, foot, total + t * math.sqrt(length2)
        total += math.sqrt(length2)
    return Foot(place, along, total - along) if place is not None else None


def cut(course: tuple[Point, ...], places: list[Foot]) -> list[tuple[Point, ...]]:
    """The pieces of a course between some places on it, in their order along it."""
    pieces: list[tuple[Point, ...]] = []
    rest, gone = course, 0.0
    for foot in places:
        head = [rest[0]]
        passed = 0.0
        for a, b in pairwise(rest):
            passed += math.dist(a, b)
            if gone + passed >= foot.along_m:
                break
            head.append(b)
        pieces.append((*head, foot.place))
        rest, gone = (foot.place, *rest[len(head) :]), foot.along_m
    return [*pieces, rest]
