"""Ends that face each other along one line across a small gap. The bounds have no source."""

import math
from collections.abc import Sequence

from ifclint.engineering.near import NearPlaces
from ifclint.ifc.elements import Box, Element, End, Joint, Model, Role
from ifclint.ifc.joints.end_directions import PARALLEL, ray_of
from ifclint.ifc.joints.fitting_centers import ASIDE_IN_TOLERANCES, IN_LINE, FittingCenters
from ifclint.ifc.joints.free_ends import (
    JOINABLE,
    FreeEnd,
    allowed,
    join,
    one_to_one,
    position_of,
    positions_of,
)
from ifclint.ifc.joints.touching import ends_inside, zones_of
from ifclint.ifc.shape.placement import dot

# A coupling or gasket left out is shorter than this. An indirect waste ends an air gap of at least
# 1 in (25.4 mm) above its receptor, and must not be joined to it.
LARGEST_GAP_M = 0.025
GAP_IN_TOLERANCES = 2.5  # who asks for closer joints wants no wide gap bridged
FEWEST_GAPS = 10  # that tell how a program draws; and the share of what was joined by nearness
USUAL_SHARE = 0.5
ALIKE_SHARE = 0.9  # of the gaps, which are as wide as the middle one, within
SAME_GAP_M = 0.001
FACES = IN_LINE | {Role.PIPE}
BETWEEN = JOINABLE - {Role.PIPE}


def bridge_gaps(model: Model, free: list[FreeEnd], boxes: dict[int, Box]) -> list[FreeEnd]:
    """Join two ends that face each other further apart than the joining tolerance.

    Only where each is all that the other could meet, both are of one size, and nothing stands
    between them, as a middle or a box (by element). What is left over is returned.
    """
    facing = _facing(model, [f for f in free if model.elements[f[0]].role in FACES])
    if not facing:
        return free
    middles = FittingCenters(model, BETWEEN)
    inside = ends_inside(
        model, sorted(at for pair in facing for at in pair), zones_of(model, boxes)
    )
    done: set[FreeEnd] = set()
    for a, b in facing:
        p, q = position_of(model, a), position_of(model, b)
        passed = middles.between(p, q, model.joining_tolerance_m, (a, b))
        if not passed and a not in inside and b not in inside:
            join(model, a, b, math.dist(p, q))
            done |= {a, b}
    return [f for f in free if f not in done]


def usual_gap_m(model: Model, bridged: Sequence[Joint]) -> float | None:
    """How far apart ends are drawn, where most of what was joined was bridged across one gap: a
    program leaves out what couples them everywhere. None where no such gap is usual."""
    gaps = sorted(joint.gap_m for joint in bridged)
    if len(gaps) < FEWEST_GAPS:
        return None
    usual = gaps[len(gaps) // 2]
    inferred = [_apart_m(model, joint) for joint in model.joints if joint.inferred]
    alike, as_wide = _as_wide(gaps, usual), _as_wide(inferred, usual)
    is_usual = alike >= ALIKE_SHARE * len(gaps) and as_wide >= USUAL_SHARE * len(inferred)
    return usual if is_usual else None


def _as_wide(gaps: Sequence[float], usual_m: float) -> int:
    return sum(abs(gap_m - usual_m) <= SAME_GAP_M for gap_m in gaps)


def _apart_m(model: Model, joint: Joint) -> float:
    """How far apart the ends of a joint are drawn, be it within the tolerance."""
    a, b = model.elements[joint.a].ends[joint.a_end], model.elements[joint.b].ends[joint.b_end]
    return math.dist(a.position, b.position) if a.position and b.position else 0.0


def _facing(model: Model, ends: list[FreeEnd]) -> list[tuple[FreeEnd, FreeEnd]]:
    """Pairs of ends across a gap, each all that the other could meet."""
    tolerance = model.joining_tolerance_m
    bound = min(LARGEST_GAP_M, GAP_IN_TOLERANCES * tolerance)
    if len(ends) < 2 or bound <= tolerance:
        return []
    near = NearPlaces(positions_of(model, ends)).pairs(bound).tolist()
    meeting = one_to_one(
        (a, b)
        for a, b in ((ends[i], ends[j]) for i, j in near)
        if a[0] != b[0] and allowed(model, a, b) and _could_meet(model, a, b)
    )
    return [
        (a, b)
        for a, b in meeting
        if math.dist(position_of(model, a), position_of(model, b)) > tolerance
    ]


def _could_meet(model: Model, a: FreeEnd, b: FreeEnd) -> bool:
    """Whether two ends are in one place (and so of a crowd), or face each other in one size."""
    p, q = position_of(model, a), position_of(model, b)
    if math.dist(p, q) <= model.joining_tolerance_m:
        return True
    one, other = ray_of(model, a), ray_of(model, b)
    if one is None or other is None or dot(one.direction, other.direction) > -PARALLEL:
        return False
    aside = ASIDE_IN_TOLERANCES * model.joining_tolerance_m
    return one.towards(q)[1] <= aside and other.towards(p)[1] <= aside and _one_size(model, a, b)


def _one_size(model: Model, a: FreeEnd, b: FreeEnd) -> bool:
    one, other = (_sizes(model.elements[i], model.elements[i].ends[e]) for i, e in (a, b))
    return not one or not other or not one.isdisjoint(other)


def _sizes(element: Element, end: End) -> set[float]:
    """The sizes an end can have; none where nothing tells."""
    named = element.properties.get("sizes_in")
    if end.size_in is None and named:
        return {float(size) for size in str(named).split(" x ")}
    size = end.size_in or element.size_in
    return {size} if size else set()
