"""Three or four pipes that end at one point: a tee or cross of which no fitting is drawn."""

import math
from collections import defaultdict
from itertools import combinations

from ifclint.engineering.joined import pieces
from ifclint.engineering.near import NearPlaces
from ifclint.ifc.elements import Model, Note, Role
from ifclint.ifc.joints.end_directions import ray_of
from ifclint.ifc.joints.free_ends import FreeEnd, allowed, join, position_of, positions_of
from ifclint.ifc.shape.placement import dot

THROUGH = -math.cos(math.radians(30.0))  # two ends that face each other more squarely are a run
MOST_MEETING = 4  # pipes that a cross joins
ROUNDING_M = 1e-6  # of drawn places
MOST_NAMED = 8  # elements of a crowd named in its note


def join_meetings(model: Model, free: list[FreeEnd]) -> list[FreeEnd]:
    """Join pipes that end at one point, two of which run through it; the others branch from it.
    Pipes of one service meet in a corner too, where none runs through.

    The branches are joined to an end of the run, as where they enter the side of a pipe. What
    else ends at one point with more than one other is noted; all that is not joined is returned.
    """
    done: set[FreeEnd] = set()
    for ends in _crowds(model, free):
        run = _run(model, ends)
        if run is None:
            _note(model, ends)
            continue
        join(model, *run)
        for branch in ends:
            if branch not in run:
                join(model, branch, run[1])
        done.update(ends)
    return [at for at in free if at not in done]


def _crowds(model: Model, free: list[FreeEnd]) -> list[list[FreeEnd]]:
    """The free ends of each place at which more than two lie, each within the tolerance of
    another."""
    if len(free) < 3:
        return []
    places = NearPlaces(positions_of(model, free))
    meets: dict[int, list[int]] = defaultdict(list)
    for i, j in places.pairs(model.joining_tolerance_m).tolist():
        if free[i][0] != free[j][0] and allowed(model, free[i], free[j]):
            meets[i].append(j)
            meets[j].append(i)
    together = pieces(sorted(meets), meets.__getitem__)
    return [[free[k] for k in sorted(crowd)] for crowd in together if len(crowd) > 2]


def _run(model: Model, ends: list[FreeEnd]) -> tuple[FreeEnd, FreeEnd] | None:
    """The two ends that run through a place at which pipes and nothing else end."""
    pipes = all(model.elements[i].role is Role.PIPE for i, _ in ends)
    if not pipes or not 2 < len({i for i, _ in ends}) == len(ends) <= MOST_MEETING:
        return None
    pairs = list(combinations(ends, 2))
    if not all(allowed(model, a, b) for a, b in pairs) or not _at_one_point(model, pairs):
        return None
    rays = {at: ray_of(model, at) for at in ends}
    faced = [
        (dot(one.direction, other.direction), a, b)
        for a, b in pairs
        if (one := rays[a]) is not None and (other := rays[b]) is not None
    ]
    if not faced:
        return None
    opposed, a, b = min(faced)
    services = {model.elements[i].system for i, _ in ends}
    is_one = len(services) == 1 and None not in services
    return (a, b) if is_one or opposed <= THROUGH else None


def _at_one_point(model: Model, pairs: list[tuple[FreeEnd, FreeEnd]]) -> bool:
    """Whether ends lie within the tolerance of one point, as pipes that stop short of the middle of
    a tee: the point midway between the two that lie farthest apart."""
    placed = [(position_of(model, a), position_of(model, b)) for a, b in pairs]
    (ax, ay, az), (bx, by, bz) = max(placed, key=lambda pair: math.dist(*pair))
    middle = (ax + bx) / 2, (ay + by) / 2, (az + bz) / 2
    reach = model.joining_tolerance_m + ROUNDING_M
    return all(math.dist(p, middle) <= reach for pair in placed for p in pair)


def _note(model: Model, ends: list[FreeEnd]) -> None:
    labels = list(dict.fromkeys(model.elements[i].label for i, _ in ends))
    more = [f"{len(labels) - MOST_NAMED} more"] if len(labels) > MOST_NAMED else []
    names = ", ".join(labels[:MOST_NAMED] + more)
    what = f"More than two ends meet at one point without a fitting ({names}); none was joined."
    remedy = "Model the fitting, or connect the ports."
    model.notes.append(Note(what, remedy, model.elements[ends[0][0]].guid, "joint"))
