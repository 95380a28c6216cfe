"""Where an element stands, also where its placement is only the origin of the model."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from math import dist

from ifclint.engineering.extents import box_around, mean, middle
from ifclint.ifc.elements import Box, Element, Point

FAR_OFF_M = 1.0  # what is placed farther from its body or ends is not placed where it stands
FAR_BESIDE_M = 0.3  # nor what is placed farther beside its body in plan
BESIDE_M = 0.05  # nor what is placed where many are, and that is no farther off than this
MANY = 4  # elements in one place, more than meet there


def shared_places(places: Iterable[Point | None]) -> frozenset[Point]:
    """The places where a file has many elements, as an origin of all is."""
    return frozenset(p for p, n in Counter(places).items() if p is not None and n >= MANY)


def place_of(element: Element, body: Box | None = None, is_shared: bool = False) -> Point | None:
    """Where an element is: its placement, unless its body or its ends lie far from that, as where
    a program places everything at one origin and draws the bodies where they belong. `body` is the
    box of one that is known by nothing else; `is_shared` tells that many are placed there."""
    position = element.position
    if position is None:
        return None
    far_m = BESIDE_M if is_shared else FAR_OFF_M
    if element.box is not None:
        low, high = element.box
        nearest = _clamped(position, low, high)
        beside_m = dist(nearest[:2], position[:2])
        if dist(nearest, position) <= far_m and beside_m <= FAR_BESIDE_M:
            return position
        return *middle(low, high)[:2], low[2]
    ends = []
    for end in element.ends:
        if end.position == position:
            return end.position  # one point, kept once
        if end.position is not None:
            if not is_shared and dist(end.position, position) <= far_m:
                return position
            ends.append(end.position)
    if not ends and body is not None and dist(_clamped(position, *body), position) > far_m:
        return middle(*body)
    if not ends or (is_shared and dist(_clamped(position, *box_around(ends)), position) <= far_m):
        return position
    return mean(ends)


def _clamped(p: Point, low: Point, high: Point) -> Point:
    x, y, z = (min(max(v, a), b) for v, a, b in zip(p, low, high, strict=True))
    return (x, y, z)
