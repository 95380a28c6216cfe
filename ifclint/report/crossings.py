"""Where pipe passes pipe on a diagram: the level one is parted, as a drafter parts it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from ifclint.engineering.distinct import distinct
from ifclint.report.sheet import Pixel

HALF_GAP = 5.0  # px
CLEAR = 2 * HALF_GAP  # px from the ends of both, where they may be joined
MOST = 4_000_000  # pairs that are looked at; a denser sheet is drawn as it is

Path = list[Pixel]


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
