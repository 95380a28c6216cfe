"""Which end of a pipe a port without a place is, told by what it is joined to.

A drawn pipe has two ends, but the shape does not say at which of them a port without a place is.
What its ports are joined to lies at one end or the other.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection, Mapping

from ifclint.ifc.elements import Box, Model, Point

Bodies = Mapping[int, Box]


def tell_ends(model: Model, drawn: Collection[int], bodies: Bodies) -> None:
    """Let the ports of each of the `drawn` pipes, two without a place, change their places where
    what they are joined to lies nearer so. `bodies` are the boxes of elements by their index."""
    wanted = set(drawn)
    beside: defaultdict[tuple[int, int], list[int]] = defaultdict(list)
    for joint in model.joints:
        for own, end, other in ((joint.a, joint.a_end, joint.b), (joint.b, joint.b_end, joint.a)):
            if own in wanted:
                beside[own, end].append(other)
    for pipe in drawn:
        one, two = model.elements[pipe].ends
        first, second = one.position, two.position
        if first is None or second is None:
            continue
        joined = [(beside[pipe, 0], first, second), (beside[pipe, 1], second, first)]
        as_drawn, turned = (
            sum(
                _away(model, bodies, other, ends[k]) for others, *ends in joined for other in others
            )
            for k in (0, 1)
        )
        if turned < as_drawn:
            one.position, two.position = second, first


def _away(model: Model, bodies: Bodies, other: int, point: Point) -> float:
    """How far a point is from an element, as far as its body or its ends tell."""
    element = model.elements[other]
    box = element.box or bodies.get(other)
    if box is not None:
        return math.dist(point, [min(max(p, a), b) for p, a, b in zip(point, *box, strict=True)])
    return min((math.dist(point, e.position) for e in element.ends if e.position), default=0.0)
