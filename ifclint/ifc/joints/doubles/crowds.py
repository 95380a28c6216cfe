"""More free ends in one place than can meet there: the first few stand for all.

So no search for what lies beside an end finds more than a bounded number of ends.
"""

from collections import defaultdict
from collections.abc import Iterable

import numpy as np

from ifclint.ifc.elements import Model, Note, System
from ifclint.ifc.joints.doubles.duplicates import MIXED
from ifclint.ifc.joints.free_ends import FreeEnd, system_of
from ifclint.ifc.step.arrays import Bools, Floats

PLACE_M = 0.0125  # side of a cube within which ends count as in one place: narrower than a tube
MOST_IN_ONE_PLACE = 16  # elements of one service; more pipes enter no manhole or manifold there
MOST_OF_ONE = 2  # ends of one element: enough to tell that it is met twice


def outside_crowds(model: Model, free: list[FreeEnd], points: Floats) -> Bools:
    """Which of the free ends at these points stay: of each place those of a few elements of each
    service."""
    stay = np.ones(len(free), dtype=bool)
    for numbers in _crowds(model, free, points):
        stay[numbers] = _can_meet([free[k] for k in numbers])
    return stay


def note_crowds(model: Model, free: list[FreeEnd], points: Floats) -> None:
    """Note where more ends lie than can meet."""
    for numbers in _crowds(model, free, points):
        ends = [free[k] for k in numbers]
        if not all(_can_meet(ends)):
            _note(model, ends)


def _crowds(model: Model, free: list[FreeEnd], points: Floats) -> Iterable[list[int]]:
    """The ends of one service in each place where many lie."""
    cells = np.floor(points / PLACE_M).astype(np.int64)
    _, which, count = np.unique(cells @ MIXED, return_inverse=True, return_counts=True)
    crowded = np.flatnonzero(count[which] > MOST_IN_ONE_PLACE).tolist()
    places: dict[tuple[int, int, int, System | None], list[int]] = defaultdict(list)
    for k in crowded:
        x, y, z = cells[k].tolist()
        places[x, y, z, system_of(model, free[k])].append(k)
    return places.values()


def _can_meet(ends: list[FreeEnd]) -> list[bool]:
    """Which ends of one place are not more than can meet there."""
    taken: dict[int, int] = {}
    can_meet = []
    for i, _ in ends:
        taken[i] = taken.get(i, 0) + 1
        can_meet.append(len(taken) <= MOST_IN_ONE_PLACE and taken[i] <= MOST_OF_ONE)
    return can_meet


def _note(model: Model, ends: list[FreeEnd]) -> None:
    first, service = model.elements[ends[0][0]], system_of(model, ends[0])
    of = f" of {service.value}" if service else ""
    what = f"{len(ends)} ends{of} lie in one place, at {first.label}; most were joined to nothing."
    model.notes.append(Note(what, "Delete what is drawn twice.", first.guid, "joint"))
