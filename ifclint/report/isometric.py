"""Isometric risers: up stays up, the two horizontal axes run at 30 degrees.

Of the four sides the building can be seen from, the one that hides least is taken.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from ifclint.findings import Riser, RiserLine
from ifclint.ifc.elements import Point
from ifclint.report.layout import Layout
from ifclint.report.sheet import Pixel, on_lines

Floats = NDArray[np.float64]
N = TypeVar("N", float, Floats)

COS30, SIN30 = math.cos(math.pi / 6), 0.5
MARGIN = 60.0  # px around the drawing, for words
SHEET_WIDTH = 1036.0  # px, the width of the page's column
LARGEST_SHEET = 9000.0  # px; a larger drawing is drawn smaller than reads well
SCALE = (36.0, 120.0)  # px per metre: least, most
WIDEST = 2**32  # more cells than any sheet is wide


def lay_out(riser: Riser, lines: Sequence[RiserLine]) -> Layout:
    """One sheet, to the model's own dimensions."""
    points = [p for line in lines for p in line.points] + [mark.point for mark in riser.marks]
    view, width, height = _clearest(lines, points)
    made = Layout(width, height, list(lines))
    made.paths = [[view.pixel(p) for p in line.points] for line in lines]
    made.marks = [(mark, view.pixel(mark.point)) for mark in riser.marks]
    for name, elevation in riser.levels:
        places = sorted({view.pixel(p) for line in lines for p in _crossings(line, elevation)})
        made.levels.append((name, elevation, places))
    flat = View(view.turn)
    for name, end in (("x", (1.0, 0.0, 0.0)), ("y", (0.0, 1.0, 0.0)), ("z", (0.0, 0.0, 1.0))):
        x, y = flat.pixel(end)
        made.axes.append((name, round(x, 3), round(y, 3)))
    return made


@dataclass(frozen=True, slots=True)
class View:
    """From model metres to page pixels, seen after `turn` quarter turns of the building."""

    turn: int
    scale: float = 1.0
    left: float = 0.0
    top: float = 0.0

    def pixel(self, point: Point) -> Pixel:
        return self._seen(*point)

    def pixels(self, points: Sequence[Point]) -> Floats:
        """Many points, a row each."""
        x, y, z = np.array(points, dtype=float).reshape(-1, 3).T
        return np.stack(self._seen(x, y, z), axis=1)

    def _seen(self, x: N, y: N, z: N) -> tuple[N, N]:
        x, y = ((x, y), (-y, x), (-x, -y), (y, -x))[self.turn]
        across, down = (x - y) * COS30, -(x + y) * SIN30 - z
        return across * self.scale + self.left, down * self.scale + self.top


def _clearest(lines: Sequence[RiserLine], points: Sequence[Point]) -> tuple[View, float, float]:
    """The side on which the runs cover most of the paper, that is, each other least."""

    fits = [_fit(turn, points) for turn in range(4)]
    scale = min(view.scale for view, _, _ in fits)
    corners = [point for line in lines for point in line.points]
    is_start = np.ones(len(corners), dtype=bool)
    is_start[np.cumsum([len(line.points) for line in lines], dtype=int) - 1] = False
    starts = np.flatnonzero(is_start)

    def spread(fit: tuple[View, float, float]) -> int:
        seen = View(fit[0].turn, scale).pixels(corners)
        rows, columns = on_lines(seen[starts], seen[starts + 1])
        return len(np.unique(rows * WIDEST + columns))

    return max(fits, key=spread)


def _fit(turn: int, points: Sequence[Point]) -> tuple[View, float, float]:
    """A view of all points, at a scale that can be read, and the paper's width and height."""
    flat = View(turn).pixels(points)
    (left, top), (right, bottom) = flat.min(axis=0).tolist(), flat.max(axis=0).tolist()
    across, down = right - left, bottom - top
    scale = (SHEET_WIDTH - 2 * MARGIN) / max(across, 0.1)
    scale = max(SCALE[0], min(SCALE[1], scale))
    scale = min(scale, LARGEST_SHEET / max(across, down, 0.1))
    view = View(turn, scale, MARGIN - left * scale, MARGIN - top * scale)
    return view, across * scale + 2 * MARGIN, down * scale + 2 * MARGIN


def _crossings(line: RiserLine, elevation: float) -> Iterator[Point]:
    """Where runs of more than a metre straight up pass a level; short ones would clutter."""
    for (x, y, z1), (x2, y2, z2) in itertools.pairwise(line.points):
        upright = abs(z2 - z1) > max(1.0, 10 * math.hypot(x2 - x, y2 - y))
        if upright and min(z1, z2) <= elevation <= max(z1, z2):
            yield x, y, elevation
