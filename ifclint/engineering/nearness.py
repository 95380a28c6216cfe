"""Which points lie near each other, found cell by cell so that the work grows with the points."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Ints = NDArray[np.int64]


class Near:
    """Points in space, to be found from beside, at most `reach` away."""

    def __init__(self, points: ArrayLike, reach: float) -> None:
        self.points = np.asarray(points, dtype=float).reshape(-1, 3)
        self.reach = reach
        self._low = self.points.min(axis=0, initial=np.inf) - reach
        ...
