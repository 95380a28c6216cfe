"""Valves, meters, traps, cleanouts, fittings ... in the line of pipes that are drawn into them.

Pipes may be drawn to the middle of a part, and so meet inside it: the part stands in the line
there, between them.
"""

import math
from collections import defaultdict
from itertools import compress

import numpy as np

from ifclint.engineering.extents import mean
from ifclint.engineering.near import NearPlaces
from ifclint.ifc.elements import Box, Element, Model, Point, Role
from ifclint.ifc.joints.end_directions import foot_on
from ifclint.ifc.joints.free_ends import (
    DRAWN,
    FreeEnd,
    allowed,
    join,
    one_to_one,
    position_of,
    positions_of,
)
from ifclint.ifc.joints.touching import INSIDE, ends_inside, enter, may_enter, zones_of
from ifclint.ifc.step.arrays import Floats, Ints

BODIES = frozenset({
    Role.FITTING, Role.VALVE, Role.METER, Role.REGULATOR, Role.PUMP, Role.TRAP, Role.CLEANOUT,
    Role.TANK, Role.CHAMBER, Role.INTERCEPTOR,
})  # fmt: skip
LONGEST_LEG_M = 0.5  # from the middle of a part to where a pipe enters it
SOCKET_M = 0.05  # deep at the most. Ours, no source


def join_in_line(
    model: Model, free: list[FreeEnd], points: Floats, pairs: Ints, boxes: dict[int, Box]
) -> list[FreeEnd]:
    """Join pipes to the part inside which they end past its opening, or meet one another.

    What is left over is returned. The free ends are at the `points`; `pairs` are the numbers of
    those that meet. `boxes` also holds those of parts with ends that only their shape suggests; of
    these only the ones stay that pipes meet in, and these lose such ends.
    """
    taken = _enter_openings(model, free, points, pairs)
    left = [at for at in free if at not in taken]
    used = {i for i, _ in taken}
    suggested = {i: boxes.pop(i) for i in list(boxes) if model.elements[i].ends}
    bodies = {i: box for i, box in {**boxes, **suggested}.items() if i not in used}
    met = _meet_inside(model, left, bodies)
    for i in sorted({i for _, i in met} & suggested.keys()):
        boxes[i] = suggested[i]
        model.elements[i].ends = []
        model.elements[i].basis.pop("ends", None)
    for at, i in met:
        enter(model, at, i, INSIDE)
    gone, emptied = {at for at, _ in met}, {i for _, i in met} & suggested.keys()
    return [at for at in left if at not in gone and at[0] not in emptied]


def _enter_openings(model: Model, free: list[FreeEnd], points: Floats, pairs: Ints) -> set[FreeEnd]:
    """Join pipes that end inside a part, past an opening that lies on their own line."""
    owners = np.array([i for i, _ in free], dtype=np.int64)
    opens = np.array([e.role in BODIES for e in model.elements], dtype=bool)[owners]
    lone = np.array([e.role is Role.PIPE for e in model.elements], dtype=bool)[owners]
    is_pipe = lone.copy()
    lone[pairs[opens[pairs[:, ::-1]]]] = False  # what meets an opening needs no other
    spare = opens.copy()
    spare[pairs[is_pipe[pairs[:, ::-1]]]] = False  # nor does an opening that a pipe meets
    pipes, openings = list(compress(free, lone)), list(compress(free, spare))
    if not pipes or not openings:
        return set()
    at_pipes = NearPlaces(points[lone])
    farthest = LONGEST_LEG_M + 2 * model.joining_tolerance_m
    away, _ = at_pipes.nearest(points[spare], reach_m=farthest)
    openings = [at for at, m in zip(openings, away[:, 0], strict=True) if m <= farthest]
    if not openings:
        return set()
    mouths = positions_of(model, openings)
    reach = [max(_leg_m(model, at), SOCKET_M) + model.joining_tolerance_m for at in openings]
    unmet = set(compress(free, np.bincount(pairs.ravel(), minlength=len(free)) == 0))
    entered = one_to_one(
        (opening, pipes[k])
        for opening, near in zip(openings, at_pipes.around(mouths, reach), strict=True)
        for k in near
        if _passes(model, pipes[k], opening, unmet) and allowed(model, pipes[k], opening)
    )
    for opening, pipe in entered:
        inside = math.dist(position_of(model, pipe), position_of(model, opening))
        join(model, pipe, opening, inside if inside > SOCKET_M else 0.0)
    return {at for pair in entered for at in pair}


def _leg_m(model: Model, opening: FreeEnd) -> float:
    """How far an opening lies from the middle of its part; 0 where it tells no leg."""
    leg = math.dist(_middle(model.elements[opening[0]]), position_of(model, opening))
    return leg if leg <= LONGEST_LEG_M else 0.0


def _middle(element: Element) -> Point:
    """The placement of a part where that lies between its ends, else the mean of these."""
    between, own = mean(element.places), element.position
    reach = max(math.dist(between, p) for p in element.places)
    return own if own is not None and math.dist(own, between) <= reach else between


def _passes(model: Model, pipe: FreeEnd, opening: FreeEnd, unmet: set[FreeEnd]) -> bool:
    """Whether a pipe goes in by an opening and ends before it is through the part, or, where either
    meets nothing else, no deeper than in a socket."""
    end, mouth = position_of(model, pipe), position_of(model, opening)
    element, tolerance = model.elements[pipe[0]], model.joining_tolerance_m
    foot = foot_on(element.line, mouth) if pipe[1] < 2 else None
    if foot is None or math.dist(foot.place, mouth) > tolerance:
        return False
    inside = foot.left_m if pipe[1] == 1 else foot.along_m
    leg, middle = _leg_m(model, opening), _middle(model.elements[opening[0]])
    if inside <= SOCKET_M and unmet.issuperset((pipe, opening)):
        far_end = element.line[0 if pipe[1] == 1 else -1]
        return inside > 0.0 and math.dist(end, middle) < math.dist(far_end, middle)
    is_before = math.dist(end, middle) <= max(leg - tolerance, tolerance)
    return inside > tolerance and leg > tolerance and is_before


def _meet_inside(
    model: Model, free: list[FreeEnd], bodies: dict[int, Box]
) -> list[tuple[FreeEnd, int]]:
    """Pipe ends that meet inside the one part that they lie in, each with this part."""
    zones = zones_of(model, {i: b for i, b in bodies.items() if model.elements[i].role in BODIES})
    pipes = [at for at in free if model.elements[at[0]].role is Role.PIPE]
    within: dict[int, list[FreeEnd]] = defaultdict(list)
    for at, found in ends_inside(model, pipes, zones).items():
        entered = [
            i for i in found if may_enter(model, at, i) and _well_inside(model, at, i, zones)
        ]
        if len(entered) == 1:
            within[entered[0]].append(at)
    met = []
    for i, ends in within.items():
        for at in ends:
            p = position_of(model, at)
            if any(
                other[0] != at[0]
                and math.dist(p, position_of(model, other)) <= model.joining_tolerance_m
                and allowed(model, at, other)
                for other in ends
            ):
                met.append((at, i))
    return met


def _well_inside(model: Model, at: FreeEnd, owner: int, zones: dict[int, Box]) -> bool:
    """Whether an end lies deeper in a fitting than at its surface, where its neighbours begin."""
    element = model.elements[owner]
    if element.role is not Role.FITTING:
        return True
    if any(end.name == DRAWN for end in element.ends):
        return False  # its legs tell better than its box
    low, high = zones[owner]
    deep = 2 * model.joining_tolerance_m
    p = position_of(model, at)
    return all(low[k] + deep <= p[k] <= high[k] - deep for k in range(3))
