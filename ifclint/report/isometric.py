"""Isometric risers: up stays up, the two horizontal axes run at 30 degrees.

Of the four sides the building can be seen from, the one that hides least is taken.
"""

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from ifclint.drawings import Riser, RiserLine
from ifclint.engineering.arithmetic import largest
from ifclint.ifc.elements import Point
from ifclint.report.cutting import clipped, cuts, leading_on
from ifclint.report.drawing import Layout
from ifclint.report.sheet import Pixel, on_lines

Floats = NDArray[np.float64]
N = TypeVar("N", float, Floats)

COS30, SIN30 = math.cos(math.pi / 6), 0.5
MARGIN = 60.0  # px around the drawing, for words
SHEET_WIDTH = 1036.0  # px, the width of the page's column
LARGEST = 9000.0  # px; a larger drawing is drawn smaller than reads well
SCALE = (36.0, 120.0)  # px per metre: least, most
ZOOMS = (1.0, 1.4, 2.0, 2.8)  # how many times larger, where the lettering has too little room


def lay_out(riser: Riser, lines: Sequence[RiserLine], zoom: float = 1.0) -> list[Layout]:
    """To the model's own dimensions: one sheet, or as many as it takes when it is drawn so many
    times larger than fits one."""
    points = [p for line in lines for p in line.points] + [mark.point for mark in riser.marks]
    clearest = _clearest(lines, points)
    view = View(clearest.turn, clearest.scale * zoom)
    whole = Layout(0.0, 0.0, list(lines))
    whole.paths = [[view.pixel(p) for p in line.points] for line in lines]
    whole.marks = [(mark, view.pixel(mark.point)) for mark in riser.marks]
    uprights = [run for line in lines for run in _uprights(line)]
    for name, elevation in riser.levels:
        places = sorted({
            view.pixel((x, y, elevation)) for x, y, low, top in uprights if low <= elevation <= top
        })  # fmt: skip
        whole.levels.append((name, elevation, places))
    flat = View(view.turn)
    for name, end in (("x", (1.0, 0.0, 0.0)), ("y", (0.0, 1.0, 0.0)), ("z", (0.0, 0.0, 1.0))):
        x, y = flat.pixel(end)
        whole.axes.append((name, round(x, 3), round(y, 3)))
    across = [view.pixel(point)[0] for point in points]
    bounds = cuts(whole.paths, min(across), max(across), SHEET_WIDTH - 2 * MARGIN)
    widths = [(min(x for x, _ in path), max(x for x, _ in path)) for path in whole.paths]
    return [_sheet(whole, widths, bounds, number) for number in range(len(bounds) - 1)]


def _sheet(whole: Layout, widths: Sequence[Pixel], bounds: Sequence[float], number: int) -> Layout:
    """What of a drawing lies between two cuts, moved onto paper of its size. `widths` tell from
    where to where each of its paths leads across."""
    start, end = bounds[number], bounds[number + 1]
    pieces = [
        (line, piece)
        for line, path, (left, right) in zip(whole.lines, whole.paths, widths, strict=True)
        if left <= end and right >= start
        for piece in clipped(path, start, end)
    ]

    def is_here(at: Pixel) -> bool:
        return start <= at[0] < end or at[0] == end == bounds[-1]

    marks = [(mark, at) for mark, at in whole.marks if is_here(at)]
    heights = [y for _, piece in pieces for _, y in piece] + [y for _, (_, y) in marks]
    top, low = min(heights, default=0.0), largest(heights)

    def on_paper(at: Pixel) -> Pixel:
        return at[0] - start + MARGIN, at[1] - top + MARGIN

    made = Layout(end - start + 2 * MARGIN, low - top + 2 * MARGIN, axes=whole.axes)
    made.lines = [line for line, _ in pieces]
    made.paths = [[on_paper(at) for at in piece] for _, piece in pieces]
    made.marks = [(mark, on_paper(at)) for mark, at in marks]
    for name, elevation, places in whole.levels:
        made.levels.append((name, elevation, [on_paper(at) for at in places if is_here(at)]))
    leading = leading_on([piece for _, piece in pieces], bounds, number)
    made.notes = [(text, on_paper(at)) for text, at in leading]
    return made


@dataclass(frozen=True, slots=True)
class View:
    """From model metres to pixels, seen after `turn` quarter turns of the building."""

    turn: int
    scale: float = 1.0

    def pixel(self, point: Point) -> Pixel:
        return self._seen(*point)

    def pixels(self, points: Sequence[Point]) -> Floats:
        """Many points, a row each."""
        x, y, z = np.array(points, dtype=float).reshape(-1, 3).T
        return np.stack(self._seen(x, y, z), axis=1)

    def _seen(self, x: N, y: N, z: N) -> tuple[N, N]:
        x, y = ((x, y), (-y, x), (-x, -y), (y, -x))[self.turn]
        across, down = (x - y) * COS30, -(x + y) * SIN30 - z
        return across * self.scale, down * self.scale


def _clearest(lines: Sequence[RiserLine], points: Sequence[Point]) -> View:
    """The side on which the runs cover most of the paper, that is, each other least."""

    fits = [_fit(turn, points) for turn in range(4)]
    scale = min(view.scale for view in fits)
    corners = [point for line in lines for point in line.points]
    is_start = np.ones(len(corners), dtype=bool)
    is_start[np.cumsum([len(line.points) for line in lines], dtype=int) - 1] = False
    starts = np.flatnonzero(is_start)

    def spread(fit: View) -> int:
        seen = View(fit.turn, scale).pixels(corners)
        rows, columns = on_lines(seen[starts], seen[starts + 1])
        if not len(rows):
            return 0
        covered = np.zeros((np.ptp(rows) + 1, np.ptp(columns) + 1), dtype=bool)
        covered[rows - rows.min(), columns - columns.min()] = True
        return int(covered.sum())

    return max(fits, key=spread)


def _fit(turn: int, points: Sequence[Point]) -> View:
    """A view of all points, at a scale that can be read."""
    flat = View(turn).pixels(points)
    (left, top), (right, bottom) = flat.min(axis=0).tolist(), flat.max(axis=0).tolist()
    across, down = right - left, bottom - top
    scale = (SHEET_WIDTH - 2 * MARGIN) / max(across, 0.1)
    scale = max(SCALE[0], min(SCALE[1], scale))
    return View(turn, min(scale, LARGEST / max(across, down, 0.1)))


def _uprights(line: RiserLine) -> Iterator[tuple[float, float, float, float]]:
    """Runs of more than a metre straight up, which are marked where they pass a level; short ones
    would clutter: where each stands, and from which height to which."""
    for (x, y, z1), (x2, y2, z2) in itertools.pairwise(line.points):
        if abs(z2 - z1) > max(1.0, 10 * math.hypot(x2 - x, y2 - y)):
            yield x, y, min(z1, z2), max(z1, z2)
