"""Tees without a fitting: a free end that meets another pipe's side."""

from __future__ import annotations

import math
from collections import defaultdict

import numpy as np

from ifclint.ifc.elements import Element, End, Model, Point, Role
from ifclint.ifc.joints.free_ends import DRAWN, FreeEnd, allowed, join, outside_m, position_of
from ifclint.ifc.shape.placement import dot


def join_tees(model: Model, free: list[FreeEnd]) -> list[FreeEnd]:
    """Join a free end that lies on another pipe's side: the pipe gets an end there."""
    from scipy.spatial import cKDTree

    pipes = [i for i, e in enumerate(model.elements) if e.role is Role.PIPE and is_straight(e)]
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
            foot = _foot(model, pipes[pipe], candidates[k])
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


def is_straight(pipe: Element) -> bool:
    """Whether the first two ends of a pipe, those of its axis, have a place."""
    return len(pipe.ends) >= 2 and all(e.position is not None for e in pipe.ends[:2])


def _may_branch(element: Element, end: int) -> bool:
    """Whether an end may meet a pipe's side; the leg of a fitting may only seem to."""
    return element.role in (Role.PIPE, Role.FITTING) and element.ends[end].name != DRAWN


def _foot(model: Model, pipe: int, free: FreeEnd) -> Point | None:
    """The point of a pipe's axis a free end of another element lies on, or None."""
    if pipe == free[0] or not allowed(model, free, (pipe, 0)):
        return None
    main = model.elements[pipe]
    on = _on_axis(main, position_of(model, free), model.joining_tolerance_m)
    if on is None or _lies_within(model.elements[free[0]], main, model.joining_tolerance_m):
        return None
    beyond, foot = on
    return foot if beyond > model.joining_tolerance_m else None


def _on_axis(pipe: Element, p: Point, tolerance_m: float) -> tuple[float, Point] | None:
    """How far a place is from the nearer end of a pipe, and the point of the axis it lies on."""
    a, b = (e.position for e in pipe.ends[:2])
    if a is None or b is None or a == b:
        return None
    along = (b[0] - a[0], b[1] - a[1], b[2] - a[2])
    t = dot((p[0] - a[0], p[1] - a[1], p[2] - a[2]), along) / dot(along, along)
    foot = (a[0] + t * along[0], a[1] + t * along[1], a[2] + t * along[2])
    reach = tolerance_m + (outside_m(pipe) or 0.0) / 2
    return (min(t, 1 - t) * math.dist(a, b), foot) if math.dist(foot, p) <= reach else None


def _lies_within(branch: Element, main: Element, tolerance_m: float) -> bool:
    """Whether a pipe lies in another from end to end: it is no branch of it."""
    if branch.role is not Role.PIPE or not is_straight(branch):
        return False
    places = [e.position for e in branch.ends[:2] if e.position is not None]
    found = [_on_axis(main, p, tolerance_m) for p in places]
    return all(on is not None and on[0] > -tolerance_m for on in found)
