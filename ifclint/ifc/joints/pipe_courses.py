"""Places along the course of a pipe: the line of its axis from its first end to its second."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import NamedTuple

from ifclint.engineering.directions import foot
from ifclint.ifc.elements import Point


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
            if gone + passed >= at.along_m:
                break
            head.append(b)
        pieces.append((*head, at.place))
        rest, gone = (at.place, *rest[len(head) :]), at.along_m
    return [*pieces, rest]
