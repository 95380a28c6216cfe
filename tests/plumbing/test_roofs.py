"""How high a roof lies over a place: flat, pitched, with a ridge, with a valley."""

from __future__ import annotations

import pytest

from ifclint.ifc.elements import Point, Surface
from ifclint.plumbing.surroundings.roofs import Roof

THICK_M = 0.2


def roof(*upper: Point) -> Surface:
    """A roof with these corners above, and the same lower by its thickness."""
    corners = (*upper, *((x, y, z - THICK_M) for x, y, z in upper))
    low = tuple(min(c[k] for c in corners) for k in range(3))
    high = tuple(max(c[k] for c in corners) for k in range(3))
    return Surface("R", "roof", "Roof", low, high, None, (), corners)  # type: ignore[arg-type]


FLAT = roof((0, 0, 5), (10, 0, 5), (10, 8, 5), (0, 8, 5))
MONO = roof((0, 0, 5), (10, 0, 5), (10, 8, 9), (0, 8, 9))
GABLE = roof((0, 0, 5), (10, 0, 5), (10, 4, 8), (0, 4, 8), (10, 8, 5), (0, 8, 5))
HIP = roof((0, 0, 5), (10, 0, 5), (7, 4, 8), (3, 4, 8), (10, 8, 5), (0, 8, 5))
VALLEY = roof((0, 0, 8), (10, 0, 8), (10, 4, 5), (0, 4, 5), (10, 8, 8), (0, 8, 8))


@pytest.mark.parametrize(
    ("over", "place", "top_m"),
    [
        (FLAT, (5, 4, 0), 5.0),
        (MONO, (5, 0, 0), 5.0),
        (MONO, (5, 2, 0), 6.0),
        (MONO, (5, 8, 0), 9.0),
        (GABLE, (5, 2, 0), 6.5),
        (GABLE, (5, 4, 0), 8.0),
        (GABLE, (5, 6, 99), 6.5),
        (HIP, (1.5, 4, 0), 6.5),
        (HIP, (5, 2, 0), 6.5),
    ],
)
def test_the_top_of_a_roof_where_a_vent_passes_it(over: Surface, place: Point, top_m: float):
    found = Roof(over).over(place)
    assert found is not None
    assert found.is_exact
    assert found.top_m == pytest.approx(top_m)
    if over in (FLAT, MONO):
        assert found.underside_m == pytest.approx(top_m - THICK_M)


def test_beside_it_there_is_none():
    assert Roof(GABLE).over((5, 8.1, 0)) is None
    corner_cut = roof((0, 0, 5), (10, 0, 5), (10, 8, 5))  # a triangle in plan
    assert Roof(corner_cut).over((9, 1, 0)) is not None
    assert Roof(corner_cut).over((1, 7, 0)) is None


def test_in_a_valley_it_lies_no_higher_than_told():
    found = Roof(VALLEY).over((5, 4, 0))
    assert found is not None
    assert not found.is_exact
    assert found.top_m == pytest.approx(8.0)


def test_a_roof_of_which_only_the_box_is_known():
    box = Surface("R", "roof", "Roof", (0, 0, 4), (10, 8, 5))
    found = Roof(box).over((5, 4, 0))
    assert found is not None
    assert (found.underside_m, found.top_m) == (4, 5)
