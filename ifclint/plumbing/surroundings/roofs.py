"""The roof over a place: how high it lies there, also where it is pitched."""

from functools import cached_property
from itertools import product
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ifclint.engineering.extents import covers
from ifclint.engineering.tolerance import at_most
from ifclint.ifc.elements import Point, Surface

UPRIGHT = 1e-6  # a face whose normal has no more of the vertical stands upright
THICKEST_M = 0.6  # a roof is no thicker; what lies deeper under its hull is a valley
Planes = NDArray[np.float64]


class RoofOver(NamedTuple):
    """A roof where a vertical line through a place meets it, heights in metres.

    `is_exact` is False where the roof has a valley: then it lies no higher than `top_m`.
    """

    name: str
    underside_m: float
    top_m: float
    is_exact: bool = True


class RoofFaces:
    """A roof of the model, and the faces of its body, found once."""

    def __init__(self, surface: Surface) -> None:
        self._surface = surface

    def over(self, place: Point) -> RoofOver | None:
        """The roof at a place; None where it does not lie over it."""
        roof, planes = self._surface, self._planes
        if not covers(roof.low, roof.high, place):
            return None
        if planes is None:
            return RoofOver(roof.name, roof.low[2], roof.high[2])
        upright = planes[_sides(planes) == 0]
        outside = upright[:, 0] * place[0] + upright[:, 1] * place[1] + upright[:, 3]
        if not at_most(float(outside.max(initial=-np.inf)), 0.0, "m"):
            return None
        if self._has_valley:
            return RoofOver(roof.name, roof.low[2], _top(planes, place), False)
        return RoofOver(roof.name, _underside(planes, place), _top(planes, place))

    @cached_property
    def _planes(self) -> Planes | None:
        """None where its body has the corners of its box, as level roofs mostly have."""
        box = product(*zip(self._surface.low, self._surface.high, strict=True))
        return None if set(self._surface.corners) == set(box) else _planes(self._surface.corners)

    @cached_property
    def _has_valley(self) -> bool:
        planes = self._planes
        return planes is not None and not all(
            at_most(_top(planes, p) - p[2], THICKEST_M, "m") for p in self._surface.corners
        )


def _sides(planes: Planes) -> Planes:
    """Whether each face looks up (1), down (-1) or stands upright (0)."""
    level = np.isclose(planes[:, 2], 0.0, atol=UPRIGHT)
    sides: Planes = np.where(level, 0, np.sign(planes[:, 2]))
    return sides


def _top(planes: Planes, place: Point) -> float:
    """Where the hull ends upward, at a place."""
    up = planes[_sides(planes) == 1]
    return float(np.min(-(up[:, 0] * place[0] + up[:, 1] * place[1] + up[:, 3]) / up[:, 2]))


def _underside(planes: Planes, place: Point) -> float:
    down = planes[_sides(planes) == -1]
    return float(np.max(-(down[:, 0] * place[0] + down[:, 1] * place[1] + down[:, 3]) / down[:, 2]))


def _planes(corners: tuple[Point, ...]) -> Planes | None:
    """The faces of the convex hull, a row each: a, b, c, d of ax + by + cz + d <= 0 inside it.

    None where the corners are in one plane, or too few.
    """
    from scipy.spatial import ConvexHull, QhullError

    if not corners:
        return None
    try:
        planes: Planes = ConvexHull(np.array(corners)).equations
    except QhullError:
        return None
    return planes
