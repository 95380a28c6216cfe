"""Boxes, and which of many lie around a place."""

from __future__ import annotations

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


def lies_over(place: Place, low: Place, high: Place, beside_m: float = 0.0) -> bool:
    """Whether a place lies within the plan of a box, on its edges too, or so little beside it."""
    return all(low[k] - beside_m <= place[k] <= high[k] + beside_m for k in (0, 1))


def share_plan(low: Place, high: Place, other_low: Place, other_high: Place) -> bool:
    """Whether two boxes have more than an edge in common, seen from above."""
    return all(low[k] < other_high[k] and other_low[k] < high[k] for k in (0, 1))


def box_around(boxes: Iterable[tuple[Place, Place]]) -> tuple[Place, Place]:
    """The low and high corner of what holds several boxes; at least one."""
    lows, highs = zip(*boxes, strict=True)
    (x, y, z), (right, back, top) = (
        map(min, zip(*lows, strict=True)),
        map(max, zip(*highs, strict=True)),
    )
    return (x, y, z), (right, back, top)
