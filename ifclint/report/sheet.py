"""Room on a drawing: which parts of the paper are taken, and where a word covers least."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

Pixel = tuple[float, float]
Box = tuple[float, float, float, float]  # left, top, right, bottom

CELL = 5.0  # px
REACH = (3, 9, 18, 32, 50)  # px lettering may stand away from what it names
FARNESS = 0.35  # cost of a px of distance, in cells written over
FULL = 2.0  # weight from which a cell should not be written over
_DIRECTIONS = ((1, 0), (-1, 0), (0, -1), (0, 1), (1, -1), (-1, -1), (1, 1), (-1, 1))


class Spot(NamedTuple):
    """Where lettering may stand: its box, the place on the drawing it names, the gap between."""

    box: Box
    place: Pixel
    gap: float


class Sheet:
    """Paper divided into small cells, each with the weight of what is drawn there."""

    def __init__(self, width: float = math.inf, height: float = math.inf) -> None:
        self.width, self.height = width, height
        self.taken: defaultdict[tuple[int, int], float] = defaultdict(float)

    def take_path(self, path: Sequence[Pixel], weight: float = 1.0) -> None:
        """A line from point to point."""
        for a, b in itertools.pairwise(path):
            self._take(_on_line(a, b), weight)

    def take_box(self, box: Box, weight: float = FULL) -> None:
        self._take(_in_box(box), weight)

    def best(self, spots: Iterable[Spot]) -> Spot:
        """The spot that covers least and is near, of spots given nearest first."""
        best, least = None, math.inf
        for spot in spots:
            if best is not None and FARNESS * spot.gap >= least:
                break
            cost = self._cost(spot.box) + FARNESS * spot.gap
            if best is None or cost < least:
                best, least = spot, cost
        if best is None:
            raise ValueError("no spot to choose from")
        return best

    def full(self, box: Box) -> bool:
        """Whether lettering there would run into other lettering or symbols, or off the paper."""
        return self._off(box) or any(self.taken.get(cell, 0.0) >= FULL for cell in _in_box(box))

    def _off(self, box: Box) -> bool:
        return box[0] < 0 or box[1] < 0 or box[2] > self.width or box[3] > self.height

    def _take(self, cells: Iterable[tuple[int, int]], weight: float) -> None:
        for cell in cells:
            self.taken[cell] = max(self.taken[cell], weight)

    def _cost(self, box: Box) -> float:
        if self._off(box):
            return math.inf
        weights = (self.taken.get(cell, 0.0) for cell in _in_box(box))
        return sum(weight if weight < FULL else 20 * weight for weight in weights)


def at(place: Pixel, width: float, height: float) -> Spot:
    """The spot right over a place."""
    x, y = place
    return Spot((x - width / 2, y - height / 2, x + width / 2, y + height / 2), place, 0.0)


def beside(
    places: Sequence[Pixel], width: float, height: float, clear: float = 0.0
) -> Iterator[Spot]:
    """Spots around places, the nearest first: right, left, above, below, then corners.

    `clear` is the half size of a symbol that stands at the place, in px.
    """
    for gap in REACH:
        for x, y in places:
            for across, down in _DIRECTIONS:
                away = gap + clear
                middle = x + across * (width / 2 + away), y + down * (height / 2 + away)
                yield Spot(at(middle, width, height).box, (x, y), gap)


def _on_line(a: Pixel, b: Pixel) -> Iterator[tuple[int, int]]:
    count = max(1, math.ceil(math.dist(a, b) / CELL))
    for i in range(count + 1):
        share = i / count
        yield _cell(a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share)


def _in_box(box: Box) -> Iterator[tuple[int, int]]:
    left, top = _cell(box[0], box[1])
    right, bottom = _cell(box[2], box[3])
    for i in range(left, right + 1):
        for j in range(top, bottom + 1):
            yield i, j


def _cell(x: float, y: float) -> tuple[int, int]:
    return math.floor(x / CELL), math.floor(y / CELL)
