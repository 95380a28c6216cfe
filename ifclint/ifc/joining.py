"""Free ends that meet are joined, and marked as inferred; what cannot be decided is noted."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import replace

from ifclint.ifc.elements import DRAINAGE, Element, End, Joint, Model, Note, Point, Role, System

JOINABLE = frozenset(Role) - {Role.OTHER}
OUTLET_REACH_M = 0.15  # how far from its placement a fixture without ports may be piped
DRAWN = "drawn"  # name of an end that only the shape of a fitting suggests
WITHOUT_PORTS = JOINABLE - {Role.PIPE}  # found by their shape where they have no ports
AT_PLACEMENT = frozenset({Role.FIXTURE, Role.TRAP, Role.CHAMBER, Role.VENT_TERMINAL, Role.CLEANOUT})
FREE_END = tuple[int, int]  # element, end
Box = tuple[Point, Point]


def join_free_ends(model: Model, boxes: dict[int, Box]) -> None:
    """Join what no relation joins: ends that meet in pairs, ends that meet a pipe's side, and
    ends inside the box of an element (by index) of which nothing but its box is known."""
    free = _free_ends(model)
    if free:
        free = _join_pairs(model, free)
        free = _join_to_sides(model, free)
        free = _join_to_boxes(model, free, boxes)
        _join_to_portless(model, free)
    _drop_unmet_drawn_ends(model)


def _free_ends(model: Model) -> list[FREE_END]:
    used = {(j.a, j.a_end) for j in model.joints} | {(j.b, j.b_end) for j in model.joints}
    return [
        (i, e)
        for i, element in enumerate(model.elements)
        if element.role in JOINABLE
        for e, end in enumerate(element.ends)
        if end.position is not None and (i, e) not in used
    ]


def may_join(a: Element, a_end: End, b: Element, b_end: End) -> bool:
    """Whether two ends may be joined: the same system, or one unknown, or soil and vent."""
    one, other = a_end.system or a.system, b_end.system or b.system
    return one is None or other is None or one is other or _kindred(one, other)


def _kindred(one: System, other: System) -> bool:
    water = {System.WATER, System.COLD_WATER}, {System.WATER, System.HOT_WATER}
    return {one, other} <= DRAINAGE or {one, other} in water


def _point(model: Model, at: FREE_END) -> Point:
    position = model.elements[at[0]].ends[at[1]].position
    assert position is not None
    return position


def _join_pairs(model: Model, free: list[FREE_END]) -> list[FREE_END]:
    """Join ends that meet in pairs; what is left over is returned."""
    from scipy.spatial import cKDTree

    tree = cKDTree([_point(model, f) for f in free])
    meets: dict[int, list[int]] = defaultdict(list)
    for i, j in sorted(tree.query_pairs(model.joining_tolerance_m)):
        if free[i][0] != free[j][0] and _allowed(model, free[i], free[j]):
            meets[i].append(j)
            meets[j].append(i)
    joined: set[int] = set()
    for i in sorted(meets):
        if i in joined:
            continue
        if len(meets[i]) == 1 and len(meets[meets[i][0]]) == 1:
            _join(model, free[i], free[meets[i][0]])
            joined |= {i, meets[i][0]}
        elif i == min([i, *meets[i]]):
            _note_crowd(model, [free[k] for k in sorted({i, *meets[i]})])
    return [f for i, f in enumerate(free) if i not in joined]


def _allowed(model: Model, a: FREE_END, b: FREE_END) -> bool:
    one, other = model.elements[a[0]], model.elements[b[0]]
    return may_join(one, one.ends[a[1]], other, other.ends[b[1]])


def _join(model: Model, a: FREE_END, b: FREE_END) -> None:
    first, second = sorted((a, b))
    model.joints.append(Joint(*first, *second, inferred=True))


def _note_crowd(model: Model, ends: list[FREE_END]) -> None:
    names = ", ".join(dict.fromkeys(model.elements[i].label for i, _ in ends))
    what = f"More than two ends meet at one point without a fitting ({names}); none was joined."
    remedy = "Model the fitting, or connect the ports."
    model.notes.append(Note(what, remedy, model.elements[ends[0][0]].guid, "joint"))


def _join_to_sides(model: Model, free: list[FREE_END]) -> list[FREE_END]:
    """Join a free end that lies on another pipe's side: the pipe gets an end there."""
    import numpy as np
    from scipy.spatial import cKDTree

    pipes = [i for i, e in enumerate(model.elements) if e.role is Role.PIPE and _straight(e)]
    candidates = [f for f in free if model.elements[f[0]].role in (Role.PIPE, Role.FITTING)]
    if not pipes or not candidates:
        return free
    ends = np.array([[model.elements[i].ends[k].position for k in (0, 1)] for i in pipes])
    middles, reach = ends.mean(axis=1), np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1) / 2
    tree = cKDTree([_point(model, f) for f in candidates])
    near = tree.query_ball_point(middles, reach)
    hits: dict[int, list[tuple[int, Point]]] = defaultdict(list)
    for pipe, row in enumerate(near):
        for k in row:
            foot = _foot(model, pipes[pipe], ends[pipe], candidates[k])
            if foot is not None:
                hits[k].append((pipes[pipe], foot))
    done = set()
    for k, found in sorted(hits.items()):
        if len(found) == 1:
            pipe, foot = found[0]
            model.elements[pipe].ends.append(End(foot, name="side"))
            _join(model, candidates[k], (pipe, len(model.elements[pipe].ends) - 1))
            done.add(candidates[k])
    return [f for f in free if f not in done]


def _straight(pipe: Element) -> bool:
    return len(pipe.ends) >= 2 and all(e.position is not None for e in pipe.ends[:2])


def _foot(model: Model, pipe: int, ends: object, free: FREE_END) -> Point | None:
    """The point of a pipe's axis a free end of another element lies on, or None."""
    if pipe == free[0] or not _allowed(model, free, (pipe, 0)):
        return None
    a, b = (model.elements[pipe].ends[k].position for k in (0, 1))
    p = _point(model, free)
    if a is None or b is None:
        return None
    along = [q - r for q, r in zip(b, a, strict=True)]
    length2 = sum(c * c for c in along)
    if length2 <= 0:
        return None
    t = sum((q - r) * c for q, r, c in zip(p, a, along, strict=True)) / length2
    foot = (a[0] + t * along[0], a[1] + t * along[1], a[2] + t * along[2])
    margin = model.joining_tolerance_m / math.sqrt(length2)
    on_pipe = margin < t < 1 - margin
    reach = model.joining_tolerance_m + _radius(model.elements[pipe])
    return foot if on_pipe and math.dist(foot, p) <= reach else None


def _radius(pipe: Element) -> float:
    """Half the outside diameter, so that a branch may stop at the pipe's surface."""
    for key in ("outside_diameter_m", "drawn_outside_diameter_m"):
        value = pipe.properties.get(key)
        if isinstance(value, float):
            return value / 2
    return 0.0


def _join_to_boxes(model: Model, free: list[FREE_END], boxes: dict[int, Box]) -> list[FREE_END]:
    """Join free ends to the one element without ends in whose box they lie."""
    import numpy as np
    from scipy.spatial import cKDTree

    owners = [i for i in sorted(boxes) if not model.elements[i].ends]
    if not owners or not free:
        return free
    low = np.array([boxes[i][0] for i in owners]) - model.joining_tolerance_m
    high = np.array([boxes[i][1] for i in owners]) + model.joining_tolerance_m
    points = np.array([_point(model, f) for f in free])
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


def _enter(model: Model, at: FREE_END, owner: int) -> None:
    element = model.elements[owner]
    element.ends.append(End(_point(model, at), name=DRAWN))
    element.basis["ends"] = "pipe ends inside its shape"
    _join(model, at, (owner, len(element.ends) - 1))


def _may_enter(model: Model, at: FREE_END, owner: int) -> bool:
    end, element = model.elements[at[0]], model.elements[owner]
    if at[0] == owner:
        return False
    apart = element.role in (Role.FIXTURE, Role.APPLIANCE, Role.HEATER, Role.TANK)
    return apart or may_join(end, end.ends[at[1]], element, End(None))


def _drop_unmet_drawn_ends(model: Model) -> None:
    """Forget ends of fittings that only their shape suggested and that nothing meets."""
    used = {(j.a, j.a_end) for j in model.joints} | {(j.b, j.b_end) for j in model.joints}
    moved: dict[FREE_END, int] = {}
    for i, element in enumerate(model.elements):
        if not any(e.name == DRAWN for e in element.ends):
            continue
        kept = [e for e in range(len(element.ends)) if (i, e) in used]
        moved.update({(i, e): new for new, e in enumerate(kept)})
        element.ends = [element.ends[e] for e in kept]
        for end in element.ends:
            end.name = ""
    model.joints = (
        [
            replace(
                j,
                a_end=moved.get((j.a, j.a_end), j.a_end),
                b_end=moved.get((j.b, j.b_end), j.b_end),
            )
            for j in model.joints
        ]
        if moved
        else model.joints
    )


def _join_to_portless(model: Model, free: list[FREE_END]) -> None:
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
    tree = cKDTree([_point(model, f) for f in drains])
    found = {i: tree.query_ball_point(model.elements[i].position, OUTLET_REACH_M) for i in lonely}
    claims: dict[int, list[int]] = defaultdict(list)
    for i, near in found.items():
        if len(near) == 1:
            claims[near[0]].append(i)
    for k, owners in claims.items():
        if len(owners) == 1:
            element = model.elements[owners[0]]
            element.ends.append(End(_point(model, drains[k]), flow="out", name="outlet"))
            element.basis["ends"] = "the free pipe end beside it"
            _join(model, drains[k], (owners[0], 0))


def note_duplicates(model: Model) -> None:
    """Note elements of one class and size drawn twice in the same place."""
    seen: dict[object, Element] = {}
    for element in model.elements:
        if element.role is not Role.PIPE or not _straight(element):
            continue
        a, b = element.ends[0].position, element.ends[1].position
        assert a is not None
        assert b is not None
        low, high = (a, b) if a <= b else (b, a)
        key = (element.ifc_class, element.size_in, _rounded(low), _rounded(high))
        first = seen.setdefault(key, element)
        if first is not element:
            what = f"{element.label} lies in the same place as {first.label}."
            model.notes.append(Note(what, "Delete one of the two.", element.guid, "duplicate"))


def _rounded(p: Point) -> tuple[int, ...]:
    return round(p[0] * 1000), round(p[1] * 1000), round(p[2] * 1000)
