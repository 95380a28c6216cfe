"""Axes and turned places, held equal to another library's."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from ifclint.ifc.shape.placement import right_handed, turned

METRES = st.integers(-20, 20).map(float)
PLACE = st.tuples(METRES, METRES, METRES)


@given(PLACE, PLACE, PLACE, st.floats(-4.0, 4.0))
def test_a_place_turned_about_an_axis(
    place: tuple[float, float, float],
    pivot: tuple[float, float, float],
    about: tuple[float, float, float],
    angle: float,
) -> None:
    length = float(np.linalg.norm(about))
    assume(length > 0)
    x, y, z = (v / length for v in about)
    there = Rotation.from_rotvec(angle * np.array([x, y, z])).apply(np.subtract(place, pivot))
    found = turned(place, pivot, (x, y, z), angle)
    assert found == pytest.approx((there + pivot).tolist(), abs=1e-9)


@given(PLACE, PLACE)
def test_axes_are_square_with_x_as_near_the_reference_as_can_be(
    up: tuple[float, float, float], near: tuple[float, float, float]
) -> None:
    assume(any(up) and any(np.cross(up, near)))
    x, y, z = (v / float(np.linalg.norm(up)) for v in up)
    length = float(np.linalg.norm(near))
    axes = np.array(right_handed((x, y, z), tuple(v / length for v in near))).reshape(3, 3)
    assert axes @ axes.T == pytest.approx(np.eye(3), abs=1e-9)
    assert np.linalg.det(axes) == pytest.approx(1)
    assert axes[2] == pytest.approx((x, y, z))
    assert float(axes[0] @ near) > 0
    assert float(axes[1] @ near) == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("z", [(0.0, 0.0, 1.0), (0.0, -1.0, 0.0), (0.6, 0.0, 0.8)])
def test_without_a_reference_x_is_as_near_to_east_as_can_be(z: tuple[float, float, float]) -> None:
    axes = right_handed(z, None)
    assert axes[6:] == pytest.approx(z)
    assert axes[0] > 0
    assert axes[3] == pytest.approx(0)  # y has no part of it
    assert right_handed((1.0, 0.0, 0.0), None)[:3] == pytest.approx((0, 1, 0)), "else north"
