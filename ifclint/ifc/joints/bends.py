"""The straight legs of pipes that are drawn bends and all in one element."""

from __future__ import annotations

from itertools import pairwise
from math import dist

import numpy as np

from ifclint.engineering.directions import Direction, angle_deg, direction
from ifclint.ifc.elements import Point

STRAIGHT_DEG = 5.0  # what turns by less is one leg. Ours, no source
LEG_M = 0.1  # between two bends; what is shorter is a part of one. Ours, no source
STEP_M = 0.03  # a fall drawn in level runs has such steps, and no bends. Ours, no source
MEET_M = 0.005  # how far apart the axes of legs pass that meet. Ours, no source


def with_sharp_bends(course: tuple[Point, ...]) -> tuple[Point, ...]:
    """The line of a pipe from where it begins over where the axes of its legs meet to where it
    ends; where those of two legs do not, over the end of one and the beginning of the next."""
    legs = _legs(course)
    corners = [p for one, other in pairwise(legs) for p in _corner(one, other)]
    return (course[0], *corners, course[-1])


def _legs(course: tuple[Point, ...]) -> list[tuple[Point, Point]]:
    """The legs that are no step, nor part of a bend between two others."""
    legs: list[tuple[Point, Point]] = []
    ways: list[Direction] = []
    for a, b in pairwise(course):
        on = direction(a, b)
        if on is None:
            continue
        if len(legs) > 1 and dist(*legs[-1]) < STEP_M and angle_deg(ways[-2], on) < STRAIGHT_DEG:
            legs.pop(), ways.pop()
        if legs and angle_deg(ways[-1], on) < STRAIGHT_DEG:
            legs[-1] = legs[-1][0], b
        else:
            legs.append((a, b))
            ways.append(on)
    ends = (0, len(legs) - 1)
    least = [STEP_M if number in ends else LEG_M for number in range(len(legs))]
    return [leg for leg, m in zip(legs, least, strict=True) if dist(*leg) >= m] or legs[:1]


def _corner(one: tuple[Point, Point], other: tuple[Point, Point]) -> list[Point]:
    """Where the axes of two legs meet, past the end of the one and before the other begins."""
    a, b = np.array(one)
    c, d = np.array(other)
    u, v = (b - a) / dist(*one), (d - c) / dist(*other)
    across = np.cross(u, v)
    if (size := float(across @ across)) > np.sin(np.radians(STRAIGHT_DEG)) ** 2:
        along = float(np.cross(c - a, v) @ across) / size
        back = float(np.cross(c - a, u) @ across) / size
        p, q = a + along * u, c + back * v
        if along > 0 and back < dist(*other) and dist(p, q) <= MEET_M:
            x, y, z = ((p + q) / 2).tolist()
            return [(x, y, z)]
    return [one[1]] if one[1] == other[0] else [one[1], other[0]]
