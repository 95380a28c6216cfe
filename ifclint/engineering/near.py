"""Which of many places lie near others.

Few places are measured one and all as arrays; more are asked of a tree, whose library takes longer
to start than a small building to read.
"""

from collections.abc import Iterator
from functools import cached_property
from itertools import chain
from math import inf
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

TOGETHER = 4096  # centers asked for at a time, lest what lies near them fill the memory
FEW, FEW_LENGTHS = 1000, 1_000_000  # so many places, or lengths between them, are measured at once


class NearPlaces:
    """Points in space, asked for those near others. What lies as far as the reach is near."""

    def __init__(self, points: ArrayLike) -> None:
        self.points: Floats = np.array(points, dtype=np.float64).reshape(-1, 3)

    def pairs(self, reach_m: float) -> Ints:
        """All pairs (n, 2) near each other, by their numbers, ascending."""
        if self._few(len(self.points)):
            near = _squares(self.points, self.points) <= reach_m * reach_m
            return np.argwhere(np.triu(near, 1))
        found: Ints = self._tree.query_pairs(reach_m, output_type="ndarray")
        return found[np.lexsort(found.T[::-1])]

    def around(self, centers: ArrayLike, reach_m: ArrayLike) -> list[list[int]]:
        """The numbers of the points near each center, ascending; the reach is that of all, or of
        each."""
        middles = _rows(centers)
        if not self._few(len(middles)):
            return self._tree.query_ball_point(middles, reach_m, return_sorted=True).tolist()  # type: ignore[no-any-return]
        reach = np.broadcast_to(np.asarray(reach_m, dtype=np.float64), len(middles))
        near = _squares(middles, self.points) <= (reach * reach)[:, None]
        return [np.flatnonzero(row).tolist() for row in near]

    def beside(self, centers: ArrayLike, reach_m: ArrayLike) -> Iterator[tuple[Ints, Ints]]:
        """The same as arrays, some centers at a time: the number of a center, and beside it that of
        a point near it, for all there are."""
        middles = _rows(centers)
        reach = np.broadcast_to(np.asarray(reach_m, dtype=np.float64), len(middles))
        for first in range(0, len(middles), TOGETHER):
            rows = slice(first, first + TOGETHER)
            near = self.around(middles[rows], reach[rows])
            counts = np.array([len(found) for found in near])
            numbers = np.fromiter(chain.from_iterable(near), np.int64, counts.sum())
            yield np.arange(first, first + len(near)).repeat(counts), numbers

    def nearest(
        self, centers: ArrayLike, count: int = 1, reach_m: float = inf
    ) -> tuple[Floats, Ints]:
        """How far the nearest few are from each center, and their numbers, a row for each; infinite
        and the number of all points where there is none."""
        middles = _rows(centers)
        if not self._few(len(middles)):
            return self._tree.query(  # type: ignore[no-any-return]
                middles, k=range(1, count + 1), distance_upper_bound=np.nextafter(reach_m, inf)
            )
        away = np.sqrt(_squares(middles, self.points))
        order = np.argsort(away, axis=1, kind="stable")[:, :count]
        away = np.take_along_axis(away, order, axis=1)
        far = away > reach_m
        away[far], order[far] = inf, len(self.points)
        lacking = ((0, 0), (0, count - away.shape[1]))
        return (
            np.pad(away, lacking, constant_values=inf),
            np.pad(order, lacking, constant_values=len(self.points)),
        )

    def _few(self, centers: int) -> bool:
        return len(self.points) <= FEW and len(self.points) * centers <= FEW_LENGTHS

    @cached_property
    def _tree(self) -> Any:
        from scipy.spatial import cKDTree

        return cKDTree(self.points)


def _rows(centers: ArrayLike) -> Floats:
    return np.asarray(centers, dtype=np.float64).reshape(-1, 3)


def _squares(a: Floats, b: Floats) -> Floats:
    """The squares of the distances from each of `a` to each of `b`."""
    x, y, z = (a[:, None, axis] - b[None, :, axis] for axis in (0, 1, 2))
    found: Floats = x * x + y * y + z * z
    return found
