"""Elements whose ports have no places and are linked to nothing: met where they themselves stand.

Some programs write ports without a placement, or all at one point. What they state of flow and
service cannot be said of any opening, so such an element is met like one without ports, at the ends
of its shape or in its box; where nothing meets it, it keeps its ports.
"""

from __future__ import annotations

import math

from ifclint.engineering.near import NearPlaces
from ifclint.ifc.elements import Basis, Box, Confidence, End, Model, Role
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
