"""Ports without a place: told by what they are joined to, or met where their elements stand.

Some programs write ports without a placement, or all at one point. What they state of flow and
service cannot be said of any opening, so such an element is met like one without ports, at the ends
of its shape or in its box; where nothing meets it, it keeps its ports.
"""

import math
from collections.abc import Collection, Mapping

from ifclint.engineering.extents import mean, middle
from ifclint.engineering.near import NearPlaces
from ifclint.ifc.elements import Basis, Box, Confidence, End, Model, Point, Role, ends_joined
from ifclint.ifc.joints.free_ends import (
    DRAWN,
    WITHOUT_PORTS,
    FreeEnd,
    allowed,
    free_ends,
    position_of,
    positions_of,
)
from ifclint.ifc.joints.touching import enter

Bodies = Mapping[int, Box]
IN_LINE = frozenset({Role.VALVE, Role.METER, Role.REGULATOR, Role.PUMP})
AT_ITS_PLACE = Basis("pipe ends that meet where it stands", Confidence.INFERRED)
SIDES = 2  # of a part in the line of a pipe
Ports = dict[int, list[End]]


def without_unplaced_ports(model: Model, boxes: dict[int, Box]) -> Ports:
    """Take ports without places, that nothing is joined to, from their elements, of whose ends
    those that the shape suggests are left; the ports are returned by element."""
    linked = {i for joint in model.joints for i in (joint.a, joint.b)}
    taken: Ports = {}
    for i, element in enumerate(model.elements):
        if i in linked or element.role not in WITHOUT_PORTS or not element.position:
            continue
        ports = [end for end in element.ends if end.name != DRAWN]
        if ports and all(end.position is None for end in ports):
            taken[i] = ports
            element.ends = [end for end in element.ends if end.name == DRAWN]
            if element.box is not None and not element.ends:
                boxes[i] = element.box
    return taken


def give_back(model: Model, taken: Ports) -> None:
    """Return their ports to the elements that nothing met."""
    for i, ends in taken.items():
        if not model.elements[i].ends:
            model.elements[i].ends = ends


def join_where_they_stand(model: Model, boxes: dict[int, Box]) -> None:
    """Put each valve, meter, pump ... without ends or shape between the two pipe ends that meet
    where it is placed."""
    parts = [
        i
        for i, e in enumerate(model.elements)
        if e.role in IN_LINE and not e.ends and e.position is not None and i not in boxes
    ]
    if not parts:
        return
    pipes = [at for at in free_ends(model) if model.elements[at[0]].role is Role.PIPE]
    places = [p for i in parts if (p := model.elements[i].position) is not None]
    near = NearPlaces(positions_of(model, pipes)).around(places, model.joining_tolerance_m)
    claims: dict[FreeEnd, int] = {}
    for i, found in zip(parts, near, strict=True):
        ends = [pipes[k] for k in found]
        if len(ends) == SIDES and _meet(model, *ends) and claims.keys().isdisjoint(ends):
            claims.update(dict.fromkeys(ends, i))
    for at, i in claims.items():
        enter(model, at, i, AT_ITS_PLACE)


def _meet(model: Model, a: FreeEnd, b: FreeEnd) -> bool:
    apart = math.dist(position_of(model, a), position_of(model, b))
    return a[0] != b[0] and apart <= model.joining_tolerance_m and allowed(model, a, b)


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
    for joint in model.joints if bodies else ():
        one = (model.elements[joint.a].ends[joint.a_end], joint.a)
        other = (model.elements[joint.b].ends[joint.b_end], joint.b)
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
