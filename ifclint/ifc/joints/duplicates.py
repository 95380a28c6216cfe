"""Pipes drawn twice in the same place."""

from __future__ import annotations

from itertools import chain

import numpy as np

from ifclint.ifc.elements import Element, Model, Note, Point, Role

MM_PER_M = 1000.0
MIXED = (1, 1_000_003, 998_244_353)  # makes one number of three; pipes it confuses are compared


def note_duplicates(model: Model) -> None:
    """Note pipes of one class and size whose ends lie in the same places, to the millimetre."""
    pipes = [e for e in model.elements if e.role is Role.PIPE and len(e.ends) >= 2]
    seen: dict[object, Element] = {}
    for element, place in _in_one_place(pipes):
        first = seen.setdefault((element.ifc_class, element.size_in, place), element)
        if first is not element:
            what = f"{element.label} lies in the same place as {first.label}."
            model.notes.append(Note(what, "Delete one of the two.", element.guid, "duplicate"))


def _in_one_place(pipes: list[Element]) -> list[tuple[Element, tuple[int, ...]]]:
    """The pipes that share their place with another, each with that place (mm)."""
    placed: list[Element] = []
    ends: list[Point] = []
    for pipe in pipes:
        a, b = pipe.ends[0].position, pipe.ends[1].position
        if a is not None and b is not None:
            placed.append(pipe)
            ends += (a, b)
    numbers = np.fromiter(chain.from_iterable(ends), float, 3 * len(ends))
    rounded = np.rint(numbers * MM_PER_M).astype(np.int64).reshape(-1, 2, 3)
    key = rounded.sum(axis=1) @ MIXED  # the same whichever end comes first
    _, which, count = np.unique(key, return_inverse=True, return_counts=True)
    shared = np.flatnonzero(count[which] > 1)
    alike = [sorted(pair) for pair in rounded[shared].tolist()]
    return [(placed[i], (*a, *b)) for i, (a, b) in zip(shared.tolist(), alike, strict=True)]


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
        elif first is not element:
            what = f"{element.label} has the GlobalId of {first.label}; one is taken for the other."
        else:
            continue
        remedy = "Give every element a GlobalId of its own."
        model.notes.append(Note(what, remedy, element.guid, "identity"))
