"""Traps straight below fixtures whose tailpieces are not drawn: those come with the finish."""

from __future__ import annotations

from collections import defaultdict

from ifclint.ifc.elements import DRAINAGE, Box, Model, Role, System
from ifclint.ifc.joints.free_ends import USERS, FreeEnd, free_ends, join, position_of
from ifclint.ifc.joints.nearby import begins_a_drain, distance_m, meet, services
from ifclint.ifc.joints.touching import alone_inside

PLUMB_M = 0.05  # how far from plumb below an outlet a trap's inlet is drawn. Our own, no source
FALL_M = 1.1  # no tailpiece or standpipe is longer: 24 and 42 in at most (IPC 802.4, 1002.1)
OF_A_BUILDING = "running-trap"


def join_traps_below(model: Model, boxes: dict[int, Box]) -> None:
    """Join the one open trap that stands straight below the outlet of a fixture, or below its body
    where it has no outlet, where nothing drains that yet."""
    elements = model.elements
    traps = [
        at
        for at in free_ends(model)
        if elements[at[0]].role is Role.TRAP
        if elements[at[0]].kind != OF_A_BUILDING and begins_a_drain(model, at)
    ]
    if not traps:
        return
    outlets: dict[int, list[int]] = defaultdict(list)
    for i, e in free_ends(model):
        if _is_outlet(model, (i, e)):
            outlets[i].append(e)
    bodies = {i: box for i, box in boxes.items() if elements[i].role is Role.FIXTURE}
    drains = services(model, {*outlets, *bodies})
    zones: dict[int, Box] = {}
    for i in sorted(i for i, has in drains.items() if not DRAINAGE.intersection(has)):
        if len(outlets[i]) == 1:
            x, y, z = position_of(model, (i, outlets[i][0]))
            zones[i] = ((x - PLUMB_M, y - PLUMB_M, z - FALL_M), (x + PLUMB_M, y + PLUMB_M, z))
        elif not outlets[i]:
            low, high = bodies[i]
            zones[i] = ((*low[:2], low[2] - FALL_M), (*high[:2], low[2]))
    for i, trap in alone_inside(model, traps, zones):
        place = position_of(model, trap)
        if outlets[i]:
            own = (i, outlets[i][0])
            join(model, trap, own, gap_m=position_of(model, own)[2] - place[2])
        else:
            meet(model, trap, i, distance_m(bodies[i], place))


def _is_outlet(model: Model, at: FreeEnd) -> bool:
    """Whether a free end is that of a fixture from which it drains."""
    element = model.elements[at[0]]
    system = element.ends[at[1]].system
    drains = system is System.SANITARY or (system is None and element.ends[at[1]].flow == "out")
    return element.role in USERS and drains
