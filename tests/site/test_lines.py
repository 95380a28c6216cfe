"""Where two lines are nearest in plan: crossing on both, or on neither's extension."""

from __future__ import annotations

import pytest

from ifclint.rules.site.separation import nearest

ALONG = ((0.0, 0.0, 0.0), (4.0, 0.0, 0.0))


@pytest.mark.parametrize(
    ("a", "b", "apart_m"),
    [
        ((1.0, -1.0, -1.0), (1.0, 3.0, -1.0), 0.0),
        ((0.0, -1.0, -1.0), (0.0, 3.0, -1.0), 0.0),  # at the very end of the one
        ((1.0, 0.0, -1.0), (1.0, 3.0, -1.0), 0.0),  # at the very end of the other
        ((-2.0, -1.0, -1.0), (-2.0, 3.0, -1.0), 2.0),  # before the one
        ((6.0, -1.0, -1.0), (6.0, 3.0, -1.0), 2.0),  # past the one
        ((1.0, 0.5, -1.0), (1.0, 3.0, -1.0), 0.5),  # before the other
        ((1.0, -3.0, -1.0), (1.0, -0.5, -1.0), 0.5),  # past the other
    ],
)
def test_lines_cross_only_where_both_are(a, b, apart_m):
    place, other, found_m = nearest(ALONG, (a, b))
    assert found_m == pytest.approx(apart_m)
    assert place[0] == pytest.approx(min(max(a[0], 0.0), 4.0))
    assert other[0] == pytest.approx(a[0])
