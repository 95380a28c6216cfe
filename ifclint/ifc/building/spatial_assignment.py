"""Storey and space of elements that no relation places, by where they stand."""

from bisect import bisect_right

import numpy as np

from ifclint.engineering.extents import box_around, middle
from ifclint.ifc.elements import Basis, Box, Confidence, Element, Model, Role
from ifclint.ifc.step.arrays import Ints

BELOW_STOREY_M = 0.6  # pipes hang this far below the floor of the storey they serve
OVER_FLOOR_M = 0.1  # what is let into a floor is in the room this far above its rim
LET_IN = frozenset({"floor-drain", "floor-sink"})
WITHIN_M = 0.001  # an element may stand this far out of a space that it is said to be in
BY_ELEVATION = Basis("by elevation", Confidence.INFERRED)
BY_POSITION = Basis("by position", Confidence.INFERRED)


def assign_storeys_and_spaces(model: Model) -> None:
    """Give elements without a storey or a space the one they stand in."""
    model.storeys.sort(key=lambda s: (s.elevation_m, s.name))
    if model.storeys:
        _complete_storeys(model)
    if model.spaces:
        _complete_spaces(model)


def _complete_storeys(model: Model) -> None:
    """The highest storey whose floor is at or below an element, allowing for pipes hung under a
    floor; the lowest for what is below all."""
    floors = [storey.elevation_m for storey in model.storeys]
    for element in model.elements:
        if not element.storey and element.position is not None:
            row = bisect_right(floors, element.position[2] + BELOW_STOREY_M) - 1
            element.storey = model.storeys[max(row, 0)].name
            element.basis["storey"] = BY_ELEVATION


def _complete_spaces(model: Model) -> None:
    """The one space whose box holds an element, among those of its storey or else among all."""
    spans = [(e, span) for e in model.elements if not e.space and (span := _span(e))]
    if not spans:
        return
    spaces = model.spaces
    low, high = (np.array([span[k] for _, span in spans]) for k in (0, 1))
    storeys = np.array([e.storey for e, _ in spans])
    everywhere = _SpaceCounts(len(spans))
    on_storey = _SpaceCounts(len(spans))
    order = np.argsort(low[:, 0], kind="stable")
    at_x = low[order, 0]
    for number, space in enumerate(spaces):
        floor, top = np.array(space.low) - WITHIN_M, np.array(space.high) + WITHIN_M
        rows = order[np.searchsorted(at_x, floor[0]) : np.searchsorted(at_x, top[0], "right")]
        rows = rows[(low[rows] >= floor).all(axis=1) & (high[rows] <= top).all(axis=1)]
        everywhere.add(rows, number)
        on_storey.add(rows[storeys[rows] == space.storey], number)
    found = np.where(on_storey.count > 0, on_storey.only(), everywhere.only())
    for row in np.flatnonzero(found >= 0).tolist():
        element = spans[row][0]
        element.space = spaces[found[row]].name
        element.basis["space"] = BY_POSITION


class _SpaceCounts:
    """How many spaces hold each element, and the last of them."""

    def __init__(self, size: int) -> None:
        self.count = np.zeros(size, dtype=np.int64)
        self._last = np.full(size, -1)

    def add(self, rows: Ints, number: int) -> None:
        self.count[rows] += 1
        self._last[rows] = number

    def only(self) -> Ints:
        """The one space that holds each element; -1 where none does, or more than one."""
        return np.where(self.count == 1, self._last, -1)


def _span(element: Element) -> Box | None:
    """The corners between which an element is: a pipe both its ends, anything else its middle,
    what is let into a floor above its rim."""
    if element.kind in LET_IN and (tops := _tops(element)):
        low, high = tops
        x, y, _ = middle(low, high)
        over = (x, y, high[2] + OVER_FLOOR_M)
        return over, over
    ends = element.places
    if element.box is None and ends:
        low, high = box_around(ends)
        return (low, high) if element.role is Role.PIPE else (middle(low, high),) * 2
    if element.box is not None:
        return (middle(*element.box),) * 2
    return (element.position, element.position) if element.position is not None else None


def _tops(element: Element) -> Box | None:
    if element.box is not None or element.position is None:
        return element.box
    return element.position, element.position
