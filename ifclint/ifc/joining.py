"""Free ends that meet are joined, and marked as inferred; what cannot be decided is noted."""

from __future__ import annotations

import math
from collections import defaultdict

from ifclint.ifc.elements import Element, End, Joint, Model, Note, Point, Role
from ifclint.ifc.meeting import DRAWN, Box, FreeEnd, free_ends, join, may_join, position_of
from ifclint.ifc.touching import hang_disposers, join_at_placements, join_to_boxes

CLOSED = frozenset({"", "cap", "closet-flange"})  # fittings with one opening, or who knows


def join_free_ends(model: Model, boxes: dict[int, Box]) -> None:
    """Join what no relation joins: ends that meet in pairs, ends that meet a pipe's side, and
    ends inside the box of an element (by index) of which nothing but its box is known."""
    free = free_ends(model)
    if free:
        free = _join_pairs(model, free)
        free = _join_to_sides(model, free)
        free = join_to_boxes(model, free, boxes)
        join_at_placements(model, free)
    hang_disposers(model, boxes)
    _drop_unmet_drawn_ends(model)


def _join_pairs(model: Model, free: list[FreeEnd]) -> list[FreeEnd]:
    """Join ends that meet in pairs; what is left over is returned."""
    from scipy.spatial import cKDTree

    tree = cKDTree([position_of(model, f) for f in free])
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
            join(model, free[i], free[meets[i][0]])
            joined |= {i, meets[i][0]}
        elif i == min([i, *meets[i]]):
            _note_crowd(model, [free[k] for k in sorted({i, *meets[i]})])
    return [f for i, f in enumerate(free) if i not in joined]


def _allowed(model: Model, a: FreeEnd, b: FreeEnd) -> bool:
    one, other = model.elements[a[0]], model.elements[b[0]]
    return may_join(one, one.ends[a[1]], other, other.ends[b[1]])


def _note_crowd(model: Model, ends: list[FreeEnd]) -> None:
    names = ", ".join(dict.fromkeys(model.elements[i].label for i, _ in ends))
    what = f"More than two ends meet at one point without a fitting ({names}); none was joined."
    remedy = "Model the fitting, or connect the ports."
    model.notes.append(Note(what, remedy, model.elements[ends[0][0]].guid, "joint"))


def _join_to_sides(model: Model, free: list[FreeEnd]) -> list[FreeEnd]:
    """Join a free end that lies on another pipe's side: the pipe gets an end there."""
    import numpy as np
    from scipy.spatial import cKDTree

    pipes = [i for i, e in enumerate(model.elements) if e.role is Role.PIPE and _straight(e)]
    candidates = [f for f in free if _may_branch(model.elements[f[0]], f[1])]
    if not pipes or not candidates:
        return free
    ends = np.array([[model.elements[i].ends[k].position for k in (0, 1)] for i in pipes])
    middles, reach = ends.mean(axis=1), np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1) / 2
    tree = cKDTree([position_of(model, f) for f in candidates])
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
            join(model, candidates[k], (pipe, len(model.elements[pipe].ends) - 1))
            done.add(candidates[k])
    return [f for f in free if f not in done]


def _may_branch(element: Element, end: int) -> bool:
    """Whether an end may meet a pipe's side; the leg of a fitting may only seem to."""
    return element.role in (Role.PIPE, Role.FITTING) and element.ends[end].name != DRAWN


def _straight(pipe: Element) -> bool:
    return len(pipe.ends) >= 2 and all(e.position is not None for e in pipe.ends[:2])


def _foot(model: Model, pipe: int, ends: object, free: FreeEnd) -> Point | None:
    """The point of a pipe's axis a free end of another element lies on, or None."""
    if pipe == free[0] or not _allowed(model, free, (pipe, 0)):
        return None
    a, b = (model.elements[pipe].ends[k].position for k in (0, 1))
    p = position_of(model, free)
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


def _drop_unmet_drawn_ends(model: Model) -> None:
    """Forget ends that only a shape suggested and that nothing meets.

    The legs of a fitting that has more than one opening stay: an unmet one is an open end.
    """
    used = {(j.a, j.a_end) for j in model.joints} | {(j.b, j.b_end) for j in model.joints}
    moved: dict[FreeEnd, int] = {}
    for i, element in enumerate(model.elements):
        for end in element.ends:
            if end.name == DRAWN:
                break
        else:
            continue
        met = [e for e in range(len(element.ends)) if (i, e) in used]
        open_ended = element.role is Role.FITTING and element.kind not in CLOSED and met
        kept = list(range(len(element.ends))) if open_ended else met
        moved.update({(i, e): new for new, e in enumerate(kept)})
        element.ends = [element.ends[e] for e in kept]
        for end in element.ends:
            end.name = ""
    if moved:
        model.joints = [_moved(j, moved) for j in model.joints]


def _moved(joint: Joint, moved: dict[FreeEnd, int]) -> Joint:
    a_end = moved.get((joint.a, joint.a_end), joint.a_end)
    b_end = moved.get((joint.b, joint.b_end), joint.b_end)
    if a_end == joint.a_end and b_end == joint.b_end:
        return joint
    return Joint(joint.a, a_end, joint.b, b_end, joint.inferred)


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


def note_identities(model: Model) -> None:
    """Note elements whose GlobalId is missing, or another's too: findings name elements by it."""
    seen: dict[str, Element] = {}
    for element in model.elements:
        first = seen.setdefault(element.guid, element)
        if not element.guid:
            what = f"{element.label} has no GlobalId; no finding can name it."
        elif first is not element:
            what = f"{element.label} has the GlobalId of {first.label}; one is taken for the other."
        else:
            continue
        remedy = "Give every element a GlobalId of its own."
        model.notes.append(Note(what, remedy, element.guid, "identity"))


def _rounded(p: Point) -> tuple[int, ...]:
    return round(p[0] * 1000), round(p[1] * 1000), round(p[2] * 1000)
