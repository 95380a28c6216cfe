"""Tees without a fitting: a free end that meets another pipe's side."""

import math
from collections import defaultdict
from itertools import chain

import numpy as np

from ifclint.engineering.distinct import distinct
from ifclint.engineering.near import NearPlaces
from ifclint.ifc.elements import Element, End, Model, Point, Role
from ifclint.ifc.joints.end_directions import Foot, direction_between, foot_on, ray_of
from ifclint.ifc.joints.free_ends import (
    DRAWN,
    ONE_PLACE,
    FreeEnd,
    allowed,
    join,
    outside_m,
    position_of,
    positions_of,
)
from ifclint.ifc.shape.placement import dot
from ifclint.ifc.step.arrays import Ints

PIECE_M = 2.0  # long pipes are searched beside piece by piece
MOST_PIECES = 1000  # of a straight run; what is longer than any building has longer ones
MOST_BESIDE = 16  # pipes beside one end, of which at most one can be meant
BRANCHES = frozenset({Role.PIPE, Role.FITTING})
PARTS = frozenset({Role.VALVE, Role.METER, Role.REGULATOR, Role.PUMP})  # that may stand at a side
ALONG = math.cos(math.radians(30.0))  # what points so little across a pipe runs along it
SIDE = "side"  # name of the end a pipe gets where another enters its side


def join_near_ends(
    model: Model, free: list[FreeEnd], pairs: Ints, settled: set[FreeEnd]
) -> list[FreeEnd]:
    """Join a pipe that ends on the axis of a larger one, near this one's end, to its side: the end
    beside stays open to what else it meets, as the foot of a stack under its last branch.

    `pairs` are the numbers of free ends that meet, but not at one place; ends that meet something
    at one place are `settled`. What is left over is returned.
    """
    found: dict[FreeEnd, set[int]] = defaultdict(set)
    for row in pairs.tolist():
        a, b = (free[k] for k in row)
        for branch, main in ((a, b), (b, a)):
            if branch not in settled and _enters_beside_end(model, branch, main[0]):
                found[branch].add(main[0])
    done = set()
    for branch, mains in found.items():
        if len(mains) == 1:
            _enter_side(model, branch, mains.pop())
            done.add(branch)
    return [at for at in free if at not in done]


def _enters_beside_end(model: Model, branch: FreeEnd, pipe: int) -> bool:
    """Whether a pipe ends on the very axis of a larger one, across it and not at its end."""
    small, large = model.elements[branch[0]], model.elements[pipe]
    if not small.role is large.role is Role.PIPE or not _is_larger(large, small):
        return False
    place, ray = position_of(model, branch), ray_of(model, branch)
    course = large.line
    foot = foot_on(course, place) if len(course) > 1 else None
    exact = ONE_PLACE * model.joining_tolerance_m
    if foot is None or ray is None or math.dist(foot.place, place) > exact:
        return False
    end = course[0] if foot.along_m < foot.left_m else course[-1]
    way = direction_between(foot.place, end)
    across = way is not None and abs(dot(way, ray.direction)) < ALONG
    return across and min(foot.along_m, foot.left_m) > exact and allowed(model, branch, (pipe, 0))


def _is_larger(one: Element, other: Element) -> bool:
    if one.size_in and other.size_in:
        return one.size_in > other.size_in
    return (outside_m(one) or 0.0) > (outside_m(other) or math.inf)


def _enter_side(model: Model, branch: FreeEnd, pipe: int) -> None:
    foot = foot_on(model.elements[pipe].line, position_of(model, branch))
    model.elements[pipe].ends.append(End(foot.place if foot else None, name=SIDE))
    join(model, branch, (pipe, len(model.elements[pipe].ends) - 1))


def join_tees(model: Model, free: list[FreeEnd]) -> list[FreeEnd]:
    """Join a free end that lies on another pipe's side: the pipe gets an end there."""
    candidates = [f for f in free if _may_branch(model.elements[f[0]], f[1])]
    hits: dict[int, dict[int, Point]] = defaultdict(dict)
    for pipe, k in beside(model, candidates):
        foot = _foot(model, pipe, candidates[k])
        if foot is None:
            continue
        if allowed(model, candidates[k], (pipe, 0)):
            hits[k][pipe] = foot
        else:
            model.in_touch.append(
                (model.elements[candidates[k][0]].guid, model.elements[pipe].guid)
            )
    done = set()
    for k, found in sorted(hits.items()):
        if len(found) == 1:
            ((pipe, place),) = found.items()
            model.elements[pipe].ends.append(End(place, name=SIDE))
            join(model, candidates[k], (pipe, len(model.elements[pipe].ends) - 1))
            done.add(candidates[k])
    return [f for f in free if f not in done]


def meet_on_an_axis(model: Model, free: list[FreeEnd], pairs: Ints) -> list[bool]:
    """Of pairs of free ends, whether they are of two pipes that meet on the axis of a third which
    passes: both are its branches, as of a cross that is not drawn."""
    roles = [model.elements[i].role for i, _ in free]
    met = [k for a, b in pairs.tolist() if roles[a] is roles[b] is Role.PIPE for k in (a, b)]
    numbers = sorted(set(met))
    candidates = [free[k] for k in numbers]
    passing: dict[int, set[int]] = defaultdict(set)
    for pipe, n in beside(model, candidates):
        foot = _foot(model, pipe, candidates[n])
        place = position_of(model, candidates[n])
        on_axis = foot is not None and math.dist(foot, place) <= model.joining_tolerance_m
        if on_axis and allowed(model, candidates[n], (pipe, 0)):
            passing[numbers[n]].add(pipe)
    return [
        bool((passing.get(a, set()) & passing.get(b, set())) - {free[a][0], free[b][0]})
        for a, b in pairs.tolist()
    ]


def beside(model: Model, candidates: list[FreeEnd]) -> list[tuple[int, int]]:
    """Pipes and ends (by their place in the list) that lie beside a piece of the pipe."""
    pipes = [
        (i, course)
        for i, e in enumerate(model.elements)
        if e.role is Role.PIPE and len(course := e.line) >= 2
    ]
    if not pipes or not candidates:
        return []
    spans = np.array([len(course) - 1 for _, course in pipes])
    owners = np.repeat([i for i, _ in pipes], spans)
    numbers = chain.from_iterable(chain.from_iterable(course for _, course in pipes))
    bends = np.fromiter(numbers, np.float64).reshape(-1, 3)
    first = np.arange(len(owners)) + np.repeat(np.arange(len(pipes)), spans)
    a, b = bends[first], bends[first + 1]
    pieces = np.ceil(np.linalg.norm(b - a, axis=1) / PIECE_M).clip(1, MOST_PIECES).astype(np.int64)
    row = np.repeat(np.arange(len(a)), pieces)
    number = np.arange(len(row)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    step = ((b - a) / pieces[:, None])[row]
    wide = np.array([(outside_m(model.elements[i]) or 0.0) / 2 for i, _ in pipes])
    middles = a[row] + step * (number + 0.5)[:, None]
    around = np.repeat(wide, spans)[row] + model.joining_tolerance_m
    reach = np.linalg.norm(step, axis=1) / 2 + around
    places = positions_of(model, candidates)
    along = step / np.maximum(np.linalg.norm(step, axis=1), 1e-9)[:, None]
    found = [np.empty((0, 2), dtype=np.int64)]
    for piece, ends in NearPlaces(places).beside(middles, reach):
        to = places[ends] - middles[piece]
        ahead = (to * along[piece]).sum(axis=1)
        aside = np.linalg.norm(to - ahead[:, None] * along[piece], axis=1)
        fit = aside <= around[piece] + 1e-9
        found.append(np.stack([owners[row[piece[fit]]], ends[fit]], axis=1))
    pairs = distinct(np.concatenate(found), axis=0)
    lone = np.bincount(pairs[:, 1], minlength=len(places)) <= MOST_BESIDE
    return [(pipe, k) for pipe, k in pairs[lone[pairs[:, 1]]].tolist()]


def _may_branch(element: Element, end: int) -> bool:
    """Whether an end may meet a pipe's side; the leg of a fitting may only seem to."""
    return element.role in BRANCHES | PARTS and element.ends[end].name != DRAWN


def _foot(model: Model, pipe: int, free: FreeEnd) -> Point | None:
    """The point of a pipe's axis a free end of another element lies on, or None."""
    if pipe == free[0]:
        return None
    main = model.elements[pipe]
    on = _on_axis(main, position_of(model, free), model.joining_tolerance_m)
    if on is None or _lies_within(model.elements[free[0]], main, model.joining_tolerance_m):
        return None
    if _passes_by(model, free, on.place, main) or _lies_along(model, free, main):
        return None
    beyond = min(on.along_m, on.left_m) > model.joining_tolerance_m
    return on.place if beyond or _enters_beside_end(model, free, pipe) else None


def _on_axis(pipe: Element, p: Point, tolerance_m: float) -> Foot | None:
    """Where on the axis of a pipe a place lies that is within the pipe, or on it."""
    foot = foot_on(pipe.line, p)
    reach = tolerance_m + (outside_m(pipe) or 0.0) / 2
    return foot if foot is not None and math.dist(foot.place, p) <= reach else None


def _passes_by(model: Model, free: FreeEnd, place: Point, main: Element) -> bool:
    """Whether a pipe that ends beside another points past it, and only touches it."""
    ray = ray_of(model, free) if model.elements[free[0]].role is Role.PIPE else None
    if ray is None:
        return False
    _, beside = ray.towards(place)
    return beside > max((outside_m(main) or 0.0) / 2, model.joining_tolerance_m)


def _lies_along(model: Model, free: FreeEnd, main: Element) -> bool:
    """Whether a valve, meter ... only touches a pipe: it ends beside its axis, or lies along it."""
    part, reach = model.elements[free[0]], model.joining_tolerance_m
    if part.role not in PARTS:
        return False
    course = main.line
    on = {
        e
        for e, end in enumerate(part.ends)
        if end.position is not None
        if (foot := foot_on(course, end.position)) is not None
        if math.dist(foot.place, end.position) <= reach
    }
    return on != {free[1]}


def _lies_within(branch: Element, main: Element, tolerance_m: float) -> bool:
    """Whether a pipe lies in another from end to end: it is no branch of it."""
    places = [e.position for e in branch.ends[:2] if e.position is not None]
    if branch.role is not Role.PIPE or len(places) < 2:
        return False
    return all(_on_axis(main, p, tolerance_m) is not None for p in places)
