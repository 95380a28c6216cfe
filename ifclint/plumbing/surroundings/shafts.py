"""Rooms by their names, what is hollow, and what passes through them."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from math import sqrt

from ifclint.engineering.extents import sides_m
from ifclint.ifc.elements import Point, Space, Surface
from ifclint.plumbing.context import Context
from ifclint.plumbing.surroundings.doorways import spaces
from ifclint.plumbing.words import says_text

ROUND_EDGE = (1 - sqrt(0.5)) / 2  # of the side of a box lies beside the square in a round body
ELEVATORS = ("elevator", "elevator shaft", "hoistway", "lift shaft", "dumbwaiter")


def rooms_called(words: tuple[str, ...], but: tuple[str, ...], context: Context) -> list[Space]:
    """The rooms whose names say one of some words, and none of others."""
    rooms = spaces(context)
    return [s for s in rooms if says_text(s.name, words) and not says_text(s.name, but)]


def passes_hollow(a: Point, b: Point, hollow: Surface) -> bool | None:
    """Whether the straight line between two points lies in a chimney, chute or duct for some of its
    length; None where it lies in its box, but perhaps beside its body.

    A body that fills its box may be round: what lies within its middle, across, is surely in it.
    """
    if not passes(a, b, hollow):
        return False
    fills = set(product(*zip(hollow.low, hollow.high, strict=True))) <= set(hollow.corners)
    return True if fills and passes(a, b, _middle(hollow)) else None


def _middle(hollow: Surface) -> Surface:
    """What lies in a round body of a box, whichever its axis: all but its edges."""
    sides = sides_m(hollow.low, hollow.high)
    along = max(range(3), key=sides.__getitem__)
    x, y, z = (0.0 if k == along else side * ROUND_EDGE for k, side in enumerate(sides))
    (left, front, under), (right, back, top) = hollow.low, hollow.high
    low, high = (left + x, front + y, under + z), (right - x, back - y, top - z)
    return replace(hollow, low=low, high=high)


def passes(a: Point, b: Point, space: Space | Surface) -> bool:
    """Whether the straight line between two points lies in a box for some of its length."""
    first, last = 0.0, 1.0
    for k in range(3):
        step = b[k] - a[k]
        if step == 0.0:
            if not space.low[k] < a[k] < space.high[k]:
                return False
            continue
        near, far = sorted(((space.low[k] - a[k]) / step, (space.high[k] - a[k]) / step))
        first, last = max(first, near), min(last, far)
    return last > first
