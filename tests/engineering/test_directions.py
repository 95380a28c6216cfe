"""Directions and the angles between them."""

from __future__ import annotations

from math import sqrt

import pytest

from ifclint.engineering.directions import angle_deg, direction, foot, rise_deg

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
HALF = sqrt(0.5)


def test_a_direction_is_of_length_one_and_leads_from_start_to_end() -> None:
    assert direction((1, 2, 3), (1, 2, 8)) == (0, 0, 1)
    assert direction((1, 2, 3), (1, 2, -8)) == (0, 0, -1)
    assert direction((1, 2, 3), (4, 6, 3)) == pytest.approx((0.6, 0.8, 0))


def test_there_is_none_where_places_are_one_or_not_known() -> None:
    assert direction((1, 2, 3), (1, 2, 3)) is None
    assert direction(None, (1, 2, 3)) is None
    assert direction((1, 2, 3), None) is None


@pytest.mark.parametrize(
    ("one", "other", "degrees"),
    [
        (X, X, 0), (X, Y, 90), (Y, Z, 90), (Z, X, 90), (X, (-1.0, 0.0, 0.0), 180),
        (X, (HALF, HALF, 0.0), 45), (Y, (0.0, HALF, HALF), 45), (Z, (HALF, 0.0, HALF), 45),
        ((HALF, HALF, 0.0), (HALF, -HALF, 0.0), 90), ((HALF, 0.0, HALF), (-HALF, 0.0, HALF), 90),
        ((0.0, HALF, HALF), (0.0, HALF, -HALF), 90), ((0.6, 0.8, 0.0), (0.8, 0.6, 0.0), 16.2602),
        ((0.6, 0.0, 0.8), (0.8, 0.0, 0.6), 16.2602), ((0.0, 0.6, 0.8), (0.0, 0.8, 0.6), 16.2602),
    ],
)  # fmt: skip
def test_the_angle_between_two(one, other, degrees: float) -> None:
    assert angle_deg(one, other) == pytest.approx(degrees, abs=1e-4)
    assert angle_deg(other, one) == pytest.approx(degrees, abs=1e-4)


@pytest.mark.parametrize(
    ("way", "degrees"),
    [(X, 0), (Y, 0), (Z, 90), ((0.0, 0.0, -1.0), -90), ((0.6, 0.0, 0.8), 53.1301),
     ((0.0, 0.8, -0.6), -36.8699)],
)  # fmt: skip
def test_how_steeply_a_direction_rises(way, degrees: float) -> None:
    assert rise_deg(way) == pytest.approx(degrees, abs=1e-4)


A, B = (1.0, 2.0, 3.0), (4.0, 6.0, 15.0)  # 13 apart: 3, 4 and 12


@pytest.mark.parametrize("share", [0.0, 0.25, 0.5, 1.0])
@pytest.mark.parametrize("aside", [(0.0, 0.0, 0.0), (4.0, -3.0, 0.0), (0.0, 12.0, -4.0)])
def test_the_foot_of_a_place_square_beside_a_line(
    share: float, aside: tuple[float, float, float]
) -> None:
    on = tuple(a + share * (b - a) for a, b in zip(A, B, strict=True))
    x, y, z = (p + q for p, q in zip(on, aside, strict=True))
    at, along = foot((x, y, z), A, B)
    assert at == pytest.approx(on)
    assert along == pytest.approx(share)


def test_before_a_line_and_past_it_the_foot_is_its_end() -> None:
    assert foot((-2.0, -2.0, 0.0), A, B) == (A, 0.0)
    assert foot((5.0, 7.0, 20.0), A, B) == (B, 1.0)
    assert foot((5.0, 7.0, 20.0), A, A) == (A, 0.0)
