"""Rooms by their names, and what passes through them."""

from __future__ import annotations

from ifclint.ifc.elements import Point, Space
from ifclint.plumbing.context import Context
from ifclint.plumbing.surroundings.doorways import spaces
from ifclint.plumbing.words import says_text

ELEVATORS = ("elevator", "elevator shaft", "hoistway", "lift shaft", "dumbwaiter")


def rooms_called(words: tuple[str, ...], but: tuple[str, ...], context: Context) -> list[Space]:
    """The rooms whose names say one of some words, and none of others."""
    rooms = spaces(context)
    return [s for s in rooms if says_text(s.name, words) and not says_text(s.name, but)]


def passes(a: Point, b: Point, space: Space) -> bool:
    """Whether the straight line between two points lies in a space for some of its length."""
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
