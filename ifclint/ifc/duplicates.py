"""Pipes drawn twice in the same place."""

from __future__ import annotations

from itertools import chain

from ifclint.ifc.elements import Element, Model, Note, Point, Role
from ifclint.ifc.sides import is_straight

MM_PER_M = 1000.0


def note_duplicates(model: Model) -> None:
    """Note pipes of one class and size whose ends lie in the same places, to the millimetre."""
    pipes = [e for e in model.elements if e.role is Role.PIPE and is_straight(e)]
    seen: dict[object, Element] = {}
    for element, place in _in_one_place(pipes):
        first = seen.setdefault((element.ifc_class, element.size_in, place), element)
        if first is not element:
            what = f"{element.label} lies in the same place as {first.label}."
            model.notes.append(Note(what, "Delete one of the two.", element.guid, "duplicate"))


def _in_one_place(pipes: list[Element]) -> list[tuple[Element, tuple[int, ...]]]:
    """The pipes that share their place with another, each with that place."""
    import numpy as np

    ends: list[Point | None] = [e.position for pipe in pipes for e in pipe.ends[:2]]
    numbers = chain.from_iterable(p for p in ends if p is not None)
    rounded = np.rint(np.fromiter(numbers, float, 6 * len(pipes)) * MM_PER_M).astype(np.int64)
    both = rounded.reshape(-1, 2, 3)
    one_key = both.sum(axis=1) @ np.array([1, 1_000_003, 998_244_353])  # in either direction
    _, which, count = np.unique(one_key, return_inverse=True, return_counts=True)
    shared = np.flatnonzero(count[which] > 1)
    return [
        (pipes[i], (*low, *high)) for i, (low, high) in zip(
            shared.tolist(), (sorted(pair) for pair in both[shared].tolist()), strict=True
        )
    ]  # fmt: skip
