"""Boxes, and which of many lie around a place."""

from collections.abc import Iterable

import numpy as np

Place = tuple[float, float, float]


class Boxes:
    """Boxes by their low and high corners, numbered as they are given."""

    def __init__(self, boxes: Iterable[tuple[Place, Place]]) -> None:
        corners = np.array([*boxes], dtype=np.float64).reshape(-1, 2, 3)
        self._low, self._high = corners[:, 0].T.copy(), corners[:, 1].T.copy()

    def around(self, place: Place, beyond: Place = (0.0, 0.0, 0.0)) -> list[int]:
        """The boxes that hold a place, on their faces too, or miss it by so little along each
        axis, in their order."""
        return self._around(place, beyond, 3)

    def above_or_below(self, place: Place) -> list[int]:
        """The boxes that hold a place as seen from above, in their order."""
        return self._around(place, (0.0, 0.0, 0.0), 2)

    def _around(self, place: Place, beyond: Place, axes: int) -> list[int]:
        held = np.ones(self._low.shape[1], dtype=np.bool_)
        for low, high, at, more in zip(
            self._low[:axes], self._high[:axes], place, beyond, strict=False
        ):
            held &= (low - more <= at) & (at <= high + more)
        return [int(number) for number in np.flatnonzero(held)]
