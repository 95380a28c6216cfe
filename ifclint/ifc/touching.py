"""Elements without ports: joined to the pipe ends that lie in their box or at their placement."""

from __future__ import annotations

from collections import defaultdict

from ifclint.ifc.elements import DRAINAGE, End, Model, Role, System
from ifclint.ifc.meeting import DRAWN, Box, FreeEnd, join, may_join, position_of

OUTLET_REACH_M = 0.15  # how far from its placement a fixture without ports may be piped
AT_PLACEMENT = frozenset({Role.FIXTURE, Role.TRAP, Role.CHAMBER, Role.VENT_TERMINAL, Role.CLEANOUT})
SEVERAL_SYSTEMS = frozenset({Role.FIXTURE, Role.APPLIANCE, Role.HEATER, Role.TANK})


def join_to_boxes(model: Model, free: list[FreeEnd], boxes: dict[int, Box]) -> list[FreeEnd]:
    """Join free ends to the one element without ends in whose box they lie."""
    import numpy as np
    from scipy.spatial import cKDTree

    owners = [i for i in sorted(boxes) if not model.elements[i].ends]
    if not owners or not free:
        return free
    low = np.array([boxes[i][0] for i in owners]) - model.joining_tolerance_m
    high = np.array([boxes[i][1] for i in owners]) + model.joining_tolerance_m
    points = np.array([position_of(model, f) for f in free])
    near = cKDTree(points).query_ball_point(
        (low + high) / 2, np.linalg.norm(high - low, axis=1) / 2
    )
    inside: dict[int, list[int]] = defaultdict(list)
    for k, row in enumerate(near):
        for f in row:
            within = bool(((low[k] <= points[f]) & (points[f] <= high[k])).all())
            if within and _may_enter(model, free[f], owners[k]):
                inside[f].append(owners[k])
    for f, found in sorted(inside.items()):
        if len(found) == 1:
            _enter(model, free[f], found[0])
    return [at for f, at in enumerate(free) if len(inside.get(f, ())) != 1]


def _enter(model: Model, at: FreeEnd, owner: int) -> None:
    element = model.elements[owner]
    element.ends.append(End(position_of(model, at), name=DRAWN))
    element.basis["ends"] = "pipe ends inside its shape"
    join(model, at, (owner, len(element.ends) - 1))


def _may_enter(model: Model, at: FreeEnd, owner: int) -> bool:
    end, element = model.elements[at[0]], model.elements[owner]
    if at[0] == owner:
        return False
    return element.role in SEVERAL_SYSTEMS or may_join(end, end.ends[at[1]], element, End(None))


def join_at_placements(model: Model, free: list[FreeEnd]) -> None:
    """Join a fixture (trap, chamber ...) without any end to the one free drain end at it."""
    from scipy.spatial import cKDTree

    lonely = [
        i
        for i, e in enumerate(model.elements)
        if e.role in AT_PLACEMENT and not e.ends and e.position is not None
    ]
    drains = [f for f in free if model.elements[f[0]].role in (Role.PIPE, Role.FITTING, Role.TRAP)
              and (model.elements[f[0]].system or System.SANITARY) in DRAINAGE]  # fmt: skip
    if not lonely or not drains:
        return
    tree = cKDTree([position_of(model, f) for f in drains])
    found = {i: tree.query_ball_point(model.elements[i].position, OUTLET_REACH_M) for i in lonely}
    claims: dict[int, list[int]] = defaultdict(list)
    for i, near in found.items():
        if len(near) == 1:
            claims[near[0]].append(i)
    for k, owners in claims.items():
        if len(owners) == 1:
            element = model.elements[owners[0]]
            element.ends.append(End(position_of(model, drains[k]), flow="out", name="outlet"))
            element.basis["ends"] = "the free pipe end beside it"
            join(model, drains[k], (owners[0], 0))


def hang_disposers(model: Model, boxes: dict[int, Box]) -> None:
    """Join a disposer without ports to the one sink without ports whose box it touches."""
    sinks = [i for i in boxes if model.elements[i].kind.endswith("sink")]
    for i in boxes:
        if model.elements[i].kind == "disposer":
            over = [s for s in sinks if _touch(boxes[i], boxes[s], model.joining_tolerance_m)]
            if len(over) == 1:
                _hang(model, i, over[0], boxes[i])


def _touch(a: Box, b: Box, reach: float) -> bool:
    return all(a[0][k] <= b[1][k] + reach and b[0][k] <= a[1][k] + reach for k in range(3))


def _hang(model: Model, disposer: int, sink: int, box: Box) -> None:
    low, high = box
    top = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2, high[2])
    for i, flow in ((sink, "out"), (disposer, "in")):
        model.elements[i].ends.append(End(top, flow=flow, name=DRAWN))
    ends = [len(model.elements[i].ends) - 1 for i in (sink, disposer)]
    join(model, (sink, ends[0]), (disposer, ends[1]))
