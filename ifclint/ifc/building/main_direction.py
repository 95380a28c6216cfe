"""The direction in plan that most of a building runs in.

What stands around the plumbing is known by boxes along the axes of the model. A building that is
turned against them is therefore read in axes of its own: along its walls, or along its pipes or
fixtures in a file without walls.
"""

from itertools import pairwise
from math import atan2, cos, dist, pi, sin

import numpy as np

from ifclint.ifc.elements import Place
from ifclint.ifc.shape.placement import IDENTITY, Frame
from ifclint.ifc.step.arrays import Floats

QUARTER = pi / 2
STILL_RAD = 1e-3  # a building turned by less (3 cm over 30 m) is not turned
WIDTH_RAD = QUARTER / 900  # of the groups that directions are counted in, 0.1 degrees
MOST_ASKED = 300  # walls, or pipes, that are asked which way a building runs
SHARE = 0.5  # of all that is drawn, the part that must run one way or at right angles to it


def common_direction(angles: Floats, weights: Floats) -> float:
    """How far (radians, up to an eighth turn either way) most of these directions are turned
    against the axes, right angles apart; 0 where they are not, or have none in common."""
    total = float(weights.sum())
    if not total > 0.0:
        return 0.0
    groups = round(QUARTER / WIDTH_RAD)
    number = np.round(np.mod(angles, QUARTER) / WIDTH_RAD).astype(np.int64) % groups
    counted = np.bincount(number, weights, groups)
    most = int(np.argmax(counted + np.roll(counted, 1) + np.roll(counted, -1)))
    off = angles - most * WIDTH_RAD
    off -= QUARTER * np.round(off / QUARTER)
    near = np.abs(off) <= 2 * WIDTH_RAD
    share = float(weights[near].sum())
    if share < SHARE * total:
        return 0.0
    found = most * WIDTH_RAD + float((off[near] * weights[near]).sum()) / share
    found -= QUARTER * round(found / QUARTER)
    return found if abs(found) > STILL_RAD else 0.0


def longest_side(corners: list[Place]) -> tuple[float, float]:
    """Direction (radians) and length of the longest side of the outline around points in plan."""
    around = _hull(sorted(set(corners)))
    sides = list(pairwise([*around, around[0]])) if len(around) > 1 else []
    a, b = max(sides, key=lambda side: dist(*side), default=((0.0, 0.0), (0.0, 0.0)))
    return atan2(b[1] - a[1], b[0] - a[0]), dist(a, b)


def turned_back(turn_rad: float) -> Frame:
    """The axes of the model, seen from those of a building that is turned against them."""
    if turn_rad == 0.0:
        return IDENTITY
    c, s = cos(turn_rad), sin(turn_rad)
    return (c, -s, 0.0, s, c, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0)


def _hull(points: list[Place]) -> list[Place]:
    """The convex hull of sorted points, by Andrew's monotone chain."""
    if len(points) < 3:
        return points
    return _chain(points)[:-1] + _chain(points[::-1])[:-1]


def _chain(points: list[Place]) -> list[Place]:
    kept: list[Place] = []
    for p in points:
        while len(kept) > 1 and _turn(kept[-2], kept[-1], p) <= 0.0:
            kept.pop()
        kept.append(p)
    return kept


def _turn(a: Place, b: Place, c: Place) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
