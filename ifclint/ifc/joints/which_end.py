"""Where linked ports without a place are, told by what they are joined to.

A drawn pipe has two ends, but the shape does not say at which of them a port without a place is.
What its ports are joined to lies at one end or the other; and where the pipe ends, there the port
of a fitting is that is linked to it.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping

from ifclint.engineering.extents import mean, middle
from ifclint.ifc.elements import Box, Model, Point, ends_joined

Bodies = Mapping[int, Box]


def tell_ends(model: Model, drawn: Collection[int], bodies: Bodies) -> None:
    """Let the ports of each of the `drawn` pipes, two without a place, change their places where
    what they are joined to lies nearer so. `bodies` are the boxes of elements by their index."""
    for pipe, met in ends_joined(model.joints, drawn).items():
        beside = [[other for own, (other, _) in met if own == end] for end in (0, 1)]
        one, two = model.elements[pipe].ends
        first, second = one.position, two.position
        if first is None or second is None:
            continue
        joined = [(beside[0], first, second), (beside[1], second, first)]
        as_drawn, turned = (
            sum(
                _away(model, bodies, other, ends[k]) for others, *ends in joined for other in others
            )
            for k in (0, 1)
        )
        if turned < as_drawn:
            one.position, two.position = second, first
    _meet_pipes(model, bodies)


def _meet_pipes(model: Model, bodies: Bodies) -> None:
    """Put the ports of fittings and the like where the pipes that are linked to them end."""
    for joint in model.joints:
        one, other = (
            (model.elements[joint.a].ends[joint.a_end], joint.a),
            (model.elements[joint.b].ends[joint.b_end], joint.b),
        )
        for (end, index), (met, _) in ((one, other), (other, one)):
            if end.position is None and index in bodies:
                end.position = met.position
    for index, body in bodies.items():
        element = model.elements[index]
        ends = element.places
        if element.position == middle(*body) and len(ends) > 1:
            element.position = mean(ends)  # the middle of a body is not where its axes meet


def _away(model: Model, bodies: Bodies, other: int, point: Point) -> float:
    """How far a point is from an element, as far as its body or its ends tell."""
    element = model.elements[other]
    box = element.box or bodies.get(other)
    if box is not None:
        return math.dist(point, [min(max(p, a), b) for p, a, b in zip(point, *box, strict=True)])
    return min((math.dist(point, e.position) for e in element.ends if e.position), default=0.0)
