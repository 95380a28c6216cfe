"""More free ends in one place than can meet there: the first few stand for all.

So no search for what lies beside an end finds more than a bounded number of ends.
"""

from __future__ import annotations

from collections import defaultdict

import numpy as np

from ifclint.ifc.elements import Model, Note, System
from ifclint.ifc.joints.duplicates import MIXED
from ifclint.ifc.joints.free_ends import FreeEnd, positions_of, system_of

PLACE_M = 0.0125  # side of a cube within which ends count as in one place: narrower than a tube
MOST_IN_ONE_PLACE = 16  # elements of one service; more pipes enter no manhole or manifold there
MOST_OF_ONE = 2  # ends of one element: enough to tell that it is met twice


def without_crowds(model: Model, free: list[FreeEnd]) -> list[FreeEnd]:
    """The free ends, of each place those of a few elements of each service."""
    if not free:
        return []
    cells = np.floor(positions_of(model, free) / PLACE_M).astype(np.int64)
    _, which, count = np.unique(cells @ MIXED, return_inverse=True, return_counts=True)
    crowded = np.flatnonzero(count[which] > MOST_IN_ONE_PLACE).tolist()
    places: dict[tuple[int, int, int, System | None], list[FreeEnd]] = defaultdict(list)
    for k in crowded:
        x, y, z = cells[k].tolist()
        places[x, y, z, system_of(model, free[k])].append(free[k])
    dropped: set[FreeEnd] = set()
    for (_, _, _, service), ends in places.items():
        left = _beyond(ends)
        dropped.update(left)
        if left:
            _note(model, ends, service)
    return [at for at in free if at not in dropped] if dropped else free


def _beyond(ends: list[FreeEnd]) -> list[FreeEnd]:
    """The ends of one place that are more than can meet."""
    taken: dict[int, int] = {}
    left = []
    for at in ends:
        taken[at[0]] = taken.get(at[0], 0) + 1
        if len(taken) > MOST_IN_ONE_PLACE or taken[at[0]] > MOST_OF_ONE:
            left.append(at)
    return left


def _note(model: Model, ends: list[FreeEnd], service: System | None) -> None:
    first = model.elements[ends[0][0]]
    of = f" of {service.value}" if service else ""
    what = f"{len(ends)} ends{of} lie in one place, at {first.label}; most were joined to nothing."
    model.notes.append(Note(what, "Delete what is drawn twice.", first.guid, "joint"))
