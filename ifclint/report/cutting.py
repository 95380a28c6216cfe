"""What is done to a whole drawing: pipe parted where another passes it, and a wide one cut into
sheets."""

import itertools
from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import ceil

import numpy as np
from numpy.typing import NDArray

from ifclint.engineering.distinct import distinct
from ifclint.report.sheet import Pixel

HALF_GAP = 5.0  # px
CLEAR = 2 * HALF_GAP  # px from the ends of both, where they may be joined
MOST = 4_000_000  # pairs that are looked at; a denser sheet is drawn as it is
Path = list[Pixel]
LEAST, LAST = 0.55, 0.3  # of the room that a sheet takes, and the last one
CHOICE = 0.15  # of the room, among which a place to cut is looked for; else a sheet more is taken
PLACES = 10


def cuts(paths: Sequence[Sequence[Pixel]], left: float, right: float, room: float) -> list[float]:
    """Where sheets begin and end: as wide as fit, cut where the fewest pipes cross."""
    made = [left]
    pieces = (pair for path in paths for pair in itertools.pairwise(path))
    across = np.sort(np.array([(a[0], b[0]) for a, b in pieces]).reshape(-1, 2), axis=1)
    while (left_over := (right - made[-1]) / room) > 1.0001:
        low, high = max(LEAST, left_over - ceil(left_over) + 1), min(1.0, left_over - LAST)
        low = low if high - low >= CHOICE else LEAST
        places = (made[-1] + room * share for share in np.linspace(low, high, PLACES).tolist())
        made.append(min(places, key=lambda x: (_crossing(across, x), -x)))
    return [*made, right]


def _crossing(across: NDArray[np.float64], x: float) -> int:
    """How many pieces of pipe, each from one side to another, pass a place."""
    return int(((across[:, 0] < x) & (x < across[:, 1])).sum())


def clipped(path: Sequence[Pixel], start: float, end: float) -> Iterator[list[Pixel]]:
    """The pieces of a path that lie between two places."""
    piece: list[Pixel] = []
    for a, b in itertools.pairwise(path):
        if max(min(a[0], b[0]), start) > min(max(a[0], b[0]), end):
            continue
        one, other = _at(a, b, start, end), _at(b, a, start, end)
        if not piece or piece[-1] != one:
            if len(piece) > 1:
                yield piece
            piece = [one]
        if other != one:
            piece.append(other)
    if len(piece) > 1:
        yield piece


def _at(a: Pixel, b: Pixel, start: float, end: float) -> Pixel:
    """The end of a line at `a`, or where the line enters what lies between two places."""
    x = min(max(a[0], start), end)
    return a if x == a[0] else (x, a[1] + (b[1] - a[1]) * (x - a[0]) / (b[0] - a[0]))


def leading_on(
    pieces: Sequence[Sequence[Pixel]], bounds: Sequence[float], number: int
) -> list[tuple[str, Pixel]]:
    """For one of the sheets, where pipe goes on and on which sheet."""
    notes = []
    for x, other in ((bounds[number], number), (bounds[number + 1], number + 2)):
        if 0 < other < len(bounds):
            ends = {piece[k] for piece in pieces for k in (0, -1) if piece[k][0] == x}
            notes += [(f"sheet {other}", at) for at in sorted(ends)]
    return notes


def parted(paths: Sequence[Path]) -> list[list[Path]]:
    """Each path in the parts it is drawn in: level pieces with a gap where they cross a plumb one
    that they do not join."""
    plumb = [(a, b) for path in paths for a, b in pairwise(path) if a[0] == b[0]]
    level = sum(a[1] == b[1] for path in paths for a, b in pairwise(path))
    if not plumb or len(plumb) * level > MOST:
        return [[path] for path in paths]
    x = np.array([a[0] for a, _ in plumb])
    heights = np.array([(a[1], b[1]) for a, b in plumb])
    low, high = heights.min(axis=1) + CLEAR, heights.max(axis=1) - CLEAR
    made = []
    for path in paths:
        parts = [path[:1]]
        for a, b in pairwise(path):
            if a[1] == b[1]:
                left, right = min(a[0], b[0]) + CLEAR, max(a[0], b[0]) - CLEAR
                crosses = (x > left) & (x < right) & (low < a[1]) & (high > a[1])
                _part(parts, a, b, distinct(x[crosses]).tolist())
            parts[-1].append(b)
        made.append(parts)
    return made


def _part(parts: list[Path], a: Pixel, b: Pixel, crossed: Sequence[float]) -> None:
    """End a part before each place and begin the next behind it; gaps that meet are one."""
    way = 1.0 if b[0] > a[0] else -1.0
    for place in crossed if way > 0 else crossed[::-1]:
        before, behind = (place - way * HALF_GAP, a[1]), (place + way * HALF_GAP, a[1])
        last = parts[-1][-1]
        if (before[0] - last[0]) * way <= 0 and len(parts[-1]) == 1 and last != a:
            parts[-1][-1] = behind
            continue
        parts[-1].append(before)
        parts.append([behind])
