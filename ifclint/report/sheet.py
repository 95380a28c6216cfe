"""Room on a drawing: which parts of the paper are taken, and where a word covers least."""

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain
from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

Pixel = tuple[float, float]
Box = tuple[float, float, float, float]  # left, top, right, bottom

Cells: TypeAlias = tuple[slice, slice] | tuple[NDArray[np.int64], NDArray[np.int64]]

CELL = 5.0  # px
REACH = (3, 9, 18, 32, 50, 72, 100)  # px lettering may stand away from what it names
FARTHER = (*REACH, 130, 170, 220, 280, 350)  # px a number may stand away, which is never left off
OVER_PIPE = (*REACH, 130, 170)  # px lettering may stand away whose thin line runs over pipe
FARNESS = 0.35  # cost of a px of distance, in cells written over
CROSSED = 200.0  # cost of a cell of lettering or a symbol that a thin line crosses
FULL = 2.0  # weight from which a cell should not be written over
WRITTEN_OVER = 100.0  # times its weight, cost of such a cell
_NEAR = ((1, 0), (-1, 0), (0, -1), (0, 1), (1, -1), (-1, -1), (1, 1), (-1, 1))
_BETWEEN = tuple((a * x, b * y) for x, y in ((1, 0.5), (0.5, 1)) for a in (1, -1) for b in (-1, 1))
_FAR = REACH[2]  # px from which there is room between the eight directions
_AROUND, _AROUND_OVER_PIPE = (  # the gap, and the direction across and down
    np.array([(g, *way) for g in reach for way in ((*_NEAR, *_BETWEEN) if g >= _FAR else _NEAR)])
    for reach in (REACH, OVER_PIPE)
)
_ALONG = np.linspace(0.0, 1.0, 64)  # of a thin line, denser than the cells it passes


class Spot(NamedTuple):
    """Where lettering may stand: its box, the place on the drawing it names, the gap between."""

    box: Box
    place: Pixel
    gap: float


class Sheet:
    """Paper divided into small cells, each with the weight of what is drawn there."""

    def __init__(self, width: float, height: float) -> None:
        self.width, self.height = width, height
        rows, columns = math.ceil(height / CELL) + 1, math.ceil(width / CELL) + 1
        self.taken = np.zeros((rows, columns))
        self._is_taken = np.zeros((rows, columns), dtype=bool)
        self._cost_of_cells = np.zeros((rows, columns))

    def take_paths(self, paths: Iterable[Sequence[Pixel]], weight: float = 1.0) -> None:
        """Lines from point to point."""
        paths = [*paths]
        numbers = chain.from_iterable(chain.from_iterable(paths))
        places = np.fromiter(numbers, np.float64).reshape(-1, 2)
        is_last = np.zeros(len(places), dtype=bool)
        is_last[np.cumsum([len(path) for path in paths], dtype=np.int64) - 1] = True
        starts = np.flatnonzero(~is_last)
        rows, columns = on_lines(places[starts], places[starts + 1])
        there = self._there(rows, columns)
        self._take((rows[there], columns[there]), weight)

    def take_box(self, box: Box, weight: float = FULL) -> None:
        self._take(self._cells(box), weight)

    def best(self, spots: Iterable[Spot], clear: float = 0.0) -> Spot:
        """The spot that covers least and is near, of spots given nearest first, and whose line to
        what it names crosses no lettering. `clear` is as in `open`."""
        best, least = None, math.inf
        for spot in spots:
            if best is not None and FARNESS * spot.gap >= least:
                break
            cost = self._cost(spot.box) + FARNESS * spot.gap
            if best is None or cost < least:  # else what its line crosses need not be looked for
                cost += self._crossing(spot, clear)
            if best is None or cost < least:
                best, least = spot, cost
        if best is None:
            raise ValueError("no spot to choose from")
        return best

    def cost(self, spot: Spot, clear: float = 0.0) -> float:
        """What a spot covers, how far off it is, and what its thin line crosses."""
        return self._cost(spot.box) + FARNESS * spot.gap + self._crossing(spot, clear)

    def full(self, box: Box) -> bool:
        """Whether lettering there would run into other lettering or symbols, or off the paper."""
        return self._off(box) or bool((self.taken[self._cells(box)] >= FULL).any())

    def clear(self, box: Box) -> bool:
        """Whether nothing at all is there, and it is on the paper."""
        return not self._off(box) and not np.count_nonzero(self._is_taken[self._cells(box)])

    def first_free(
        self,
        places: Sequence[Pixel],
        sizes: Sequence[tuple[float, float]],
        clear: float,
        close: float,
        over_pipe: bool = False,
    ) -> tuple[int, Spot] | None:
        """The first size (by number) with a spot beside places where nothing is, the nearest first,
        and which stands close, or which a thin line leads to that meets nothing but what it names:
        a symbol of half size `clear`, else the pipe that it starts on.

        A line that leaves the paper, to a place drawn elsewhere, meets something. One that may run
        `over_pipe` meets only lettering, symbols and other thin lines, and may be longer.
        """
        at_x, at_y = np.array(places, dtype=float).T
        around = _AROUND_OVER_PIPE if over_pipe else _AROUND
        gap, across, down = around.T[:, :, None]
        width, height = np.array(sizes, dtype=float).T[:, :, None, None]
        far_x, far_y = width / 2 + gap + clear, height / 2 + gap + clear
        x, y = at_x + across * far_x, at_y + down * far_y
        left, top, right, bottom = x - width / 2, y - height / 2, x + width / 2, y + height / 2
        is_on = (left >= 0) & (top >= 0) & (right <= self.width) & (bottom <= self.height)
        free = np.flatnonzero(is_on)
        boxes = np.stack([edges.ravel()[free] for edges in (left, top, right, bottom)])
        is_free = self._none_in(boxes)
        free, boxes = free[is_free], boxes[:, is_free]
        of_size, way, place = np.unravel_index(free, is_on.shape)
        gaps = around[way, 0]
        beside = int(np.append(gaps <= close, True).argmax())  # the first that needs no line
        before = np.array(places)[place[:beside]]
        found = self._first_open(before, boxes[:, :beside], clear, over_pipe)
        if found is None and beside == len(free):
            return None
        found = beside if found is None else found
        box = tuple(boxes[:, found].tolist())
        return int(of_size[found]), Spot(box, tuple(places[place[found]]), float(gaps[found]))

    def _none_in(self, boxes: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Of which boxes nothing is taken."""
        if not boxes.size:
            return np.zeros(0, dtype=bool)
        cells = np.floor(boxes / CELL).astype(np.int64)
        x, y = cells[0].min(), cells[1].min()  # of the part of the paper that holds them all
        left, top, right, bottom = cells[0] - x, cells[1] - y, cells[2] + 1 - x, cells[3] + 1 - y
        here = self._is_taken[y : y + bottom.max(), x : x + right.max()]
        sums = np.zeros((here.shape[0] + 1, here.shape[1] + 1), dtype=np.int32)
        np.cumsum(np.cumsum(here, axis=0, dtype=np.int32), axis=1, out=sums[1:, 1:])
        taken = sums[bottom, right] - sums[top, right] - sums[bottom, left] + sums[top, left]
        return np.asarray(taken == 0)

    def _first_open(
        self, places: NDArray[np.float64], boxes: NDArray[np.float64], clear: float, over_pipe: bool
    ) -> int | None:
        """The first box that a thin line leads to from its place and meets nothing."""
        if not len(places):
            return None
        ends = np.stack([np.clip(places[:, k], boxes[k], boxes[k + 2]) for k in (0, 1)], axis=1)
        far = np.hypot(*(ends - places).T)
        share = np.minimum(1.0, (clear + 2 * CELL) / np.maximum(far, 1e-9))[:, None]
        along = share + (1.0 - share) * _ALONG
        points = places[:, :, None] + (ends - places)[:, :, None] * along[:, None, :]
        cells = np.floor(points / CELL).astype(np.int64)
        rows, columns = cells[:, 1], cells[:, 0]
        there = self._there(rows, columns)
        at = np.where(there, rows, 0), np.where(there, columns, 0)
        taken = self.taken[at] >= FULL if over_pipe else self._is_taken[at]
        is_open = there.all(axis=1) & ~taken.any(axis=1)
        if not clear:
            x, y = np.floor(places.T / CELL).astype(np.int64)
            there = self._there(y, x)
            under = self.taken[np.where(there, y, 0), np.where(there, x, 0)]
            is_open &= there & (under < FULL)
        return int(is_open.argmax()) if is_open.any() else None

    def _crossing(self, spot: Spot, clear: float) -> float:
        """The cost of the cells of lettering and symbols on the line from a spot's place to it, but
        for the symbol that stands there."""
        if spot.gap <= REACH[0]:
            return 0.0
        rows, columns = _on_the_way(spot.place, spot.box, clear)
        there = self._there(rows, columns)
        return CROSSED * int((self.taken[rows[there], columns[there]] >= FULL).sum())

    def _there(self, rows: NDArray[np.int64], columns: NDArray[np.int64]) -> NDArray[np.bool_]:
        """Which cells are on the paper."""
        down, across = self.taken.shape
        on_paper: NDArray[np.bool_] = (rows >= 0) & (rows < down) & (columns >= 0)
        return on_paper & (columns < across)

    def _off(self, box: Box) -> bool:
        return box[0] < 0 or box[1] < 0 or box[2] > self.width or box[3] > self.height

    def _take(self, cells: Cells, weight: float) -> None:
        weights = np.maximum(self.taken[cells], weight)
        self.taken[cells] = weights
        self._is_taken[cells] = True
        self._cost_of_cells[cells] = np.where(weights < FULL, weights, WRITTEN_OVER * weights)

    def _cost(self, box: Box) -> float:
        return math.inf if self._off(box) else float(self._cost_of_cells[self._cells(box)].sum())

    def _cells(self, box: Box) -> tuple[slice, slice]:
        """The cells of a box, as far as they are on the paper."""
        left, top, right, bottom = box
        return (
            slice(max(math.floor(top / CELL), 0), max(math.floor(bottom / CELL) + 1, 0)),
            slice(max(math.floor(left / CELL), 0), max(math.floor(right / CELL) + 1, 0)),
        )


def _on_the_way(
    place: Pixel, box: Box, clear: float
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Rows and columns of the cells from a little off a place to the nearest point of a box."""
    x, y = min(max(place[0], box[0]), box[2]), min(max(place[1], box[1]), box[3])
    far = math.dist(place, (x, y))
    share = min(1.0, clear / far) if far else 1.0
    start = place[0] + (x - place[0]) * share, place[1] + (y - place[1]) * share
    return on_lines(np.array([start]), np.array([(x, y)]))


def at(place: Pixel, width: float, height: float) -> Spot:
    """The spot right over a place."""
    x, y = place
    return Spot((x - width / 2, y - height / 2, x + width / 2, y + height / 2), place, 0.0)


def beside(
    places: Sequence[Pixel],
    width: float,
    height: float,
    clear: float = 0.0,
    reach: Sequence[float] = REACH,
) -> Iterator[Spot]:
    """Spots around places, the nearest first: right, left, above, below, corners, then between.

    `clear` is the half size of a symbol that stands at the place, in px.
    """
    half_width, half_height = width / 2, height / 2
    for gap in reach:
        far_x, far_y = half_width + (gap + clear), half_height + (gap + clear)
        for x, y in places:
            for across, down in (*_NEAR, *_BETWEEN) if gap >= _FAR else _NEAR:
                middle_x, middle_y = x + across * far_x, y + down * far_y
                left, top = middle_x - half_width, middle_y - half_height
                right, bottom = middle_x + half_width, middle_y + half_height
                yield Spot((left, top, right, bottom), (x, y), gap)


def on_lines(
    starts: NDArray[np.float64], ends: NDArray[np.float64]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Rows and columns of the cells along lines from x, y to x, y, one line after the other."""
    lengths = np.hypot(*(ends - starts).T)
    steps = np.maximum(np.ceil(lengths / CELL), 1).astype(np.int64)
    last = np.cumsum(steps + 1) - 1
    number = np.arange(last[-1] + 1 if len(last) else 0) - np.repeat(last - steps, steps + 1)
    points = np.repeat((ends - starts) / steps[:, None], steps + 1, axis=0) * number[:, None]
    points += np.repeat(starts, steps + 1, axis=0)
    points[last] = ends
    cells = np.floor(points / CELL).astype(np.int64)
    return cells[:, 1], cells[:, 0]
