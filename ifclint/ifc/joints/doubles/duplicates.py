"""What is drawn twice in the same place."""

from collections import Counter
from itertools import chain

import numpy as np

from ifclint.ifc.elements import Box, Element, Model, Note, Point, Role
from ifclint.ifc.joints.free_ends import FreeEnd

MM_PER_M = 1000.0
MIXED = (1, 1_000_003, 998_244_353)  # makes one number of three; what it confuses is compared


def note_duplicates(model: Model) -> None:
    """Note pipes of one class and size whose ends lie in the same places, to the millimetre."""
    pipes = [
        (e, [p.position for p in e.ends[:2] if p.position is not None])
        for e in model.elements
        if e.role is Role.PIPE and len(e.ends) >= 2
    ]
    seen: dict[object, list[Element]] = {}
    for which, place in in_one_place([points for _, points in pipes]):
        element = pipes[which][0]
        seen.setdefault((element.ifc_class, element.size_in, place), []).append(element)
    for found in seen.values():
        if len(found) > 1:
            _note(model, found)


def _note(model: Model, found: list[Element]) -> None:
    """Note elements in one place, the first of which stays."""
    first, second, *more = found
    if not more:
        what, remedy = f"{second.label} lies in the same place as", "Delete one of the two."
    else:
        what, remedy = f"{second.label} and {len(more)} more lie in the same place as", "Keep one."
    model.notes.append(Note(f"{what} {first.label}.", remedy, second.guid, "duplicate"))


def without_duplicates(
    model: Model, free: list[FreeEnd], boxes: dict[int, Box]
) -> tuple[list[FreeEnd], dict[int, Box]]:
    """Free ends and boxes of all but one of what is alike in class, service, kind and size and
    lies in one place: nothing can be joined to both. The one with the most joints stays."""
    unmet = Counter(i for i, _ in free)
    owners = [i for i in unmet if model.elements[i].role is not Role.OTHER] + sorted(boxes)
    places = [_places(model.elements[i], boxes.get(i)) for i in owners]
    alike: dict[object, list[int]] = {}
    for which, place in in_one_place(places):
        e = model.elements[owners[which]]
        key = e.ifc_class, e.role, e.kind, e.system, e.size_in, place
        alike.setdefault(key, []).append(owners[which])
    again: set[int] = set()
    for found in alike.values():
        first, *others = sorted(set(found), key=lambda i: (unmet[i], i))
        again.update(others)
        if others and model.elements[first].role is not Role.PIPE:
            _note(model, [model.elements[i] for i in (first, *others)])
    kept = {i: box for i, box in boxes.items() if i not in again}
    return [at for at in free if at[0] not in again], kept


def _places(element: Element, box: Box | None) -> list[Point]:
    return list(box) if box else element.places


def whole_mm(place: Point) -> tuple[int, ...]:
    return tuple(round(c * MM_PER_M) for c in place)


def in_one_place(places: list[list[Point]]) -> list[tuple[int, tuple[tuple[int, ...], ...]]]:
    """Which of several rows of two or more places may occur twice, in whatever order: rows of one
    sum, each with its places, to the millimetre, which tell these apart."""
    rows = [k for k, points in enumerate(places) if len(points) > 1]
    count = [len(places[k]) for k in rows]
    if not rows:
        return []
    numbers = np.fromiter(
        chain.from_iterable(chain.from_iterable(places[k] for k in rows)), float, 3 * sum(count)
    )
    rounded = np.rint(numbers * MM_PER_M).astype(np.int64).reshape(-1, 3)
    starts = np.concatenate([[0], np.cumsum(count)[:-1]])
    key = np.add.reduceat(rounded @ MIXED, starts)
    _, which, many = np.unique(key, return_inverse=True, return_counts=True)
    return [
        (rows[k], tuple(sorted(map(tuple, rounded[starts[k] : starts[k] + count[k]].tolist()))))
        for k in np.flatnonzero(many[which] > 1).tolist()
    ]


def note_identities(model: Model) -> None:
    """Note elements whose GlobalId is missing, or another's too: findings name elements by it."""
    different = {element.guid for element in model.elements}
    if len(different) == len(model.elements) and "" not in different:
        return
    seen: dict[str, Element] = {}
    for element in model.elements:
        first = seen.setdefault(element.guid, element)
        if not element.guid:
            what = f"{element.label} has no GlobalId; no finding can name it."
        elif first is not element and not first.one_pipe_with(element):
            what = f"{element.label} has the GlobalId of {first.label}; one is taken for the other."
        else:
            continue
        remedy = "Give every element a GlobalId of its own."
        model.notes.append(Note(what, remedy, element.guid, "identity"))
