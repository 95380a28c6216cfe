"""Of several findings that an earlier one may have become, the nearest is taken."""

from __future__ import annotations

import pytest

from ifclint.comparison.matching import _nearest
from ifclint.comparison.reading import RecordedFinding

Point = tuple[float, float, float]


def _at(point: Point | None, name: str = "") -> RecordedFinding:
    return RecordedFinding(name, "drainage", "slope", "violation", "high", "", "", ("P",), point)


@pytest.mark.parametrize(
    ("points", "nearest"),
    [
        ([(9.0, 0.0, 0.0)], 0),
        ([(3.0, 0.0, 0.0), (1.0, 0.0, 0.0), (2.0, 0.0, 0.0)], 1),
        ([(0.0, 0.0, 1.0), (0.0, 5.0, 0.0)], 0),
        ([(1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (9.0, 0.0, 0.0)], None),  # as near, on either side
        ([(1.0, 0.0, 0.0), None], None),  # where one is, is not known
        ([None], 0),
    ],
)
def test_the_nearest_of_several(points: list[Point | None], nearest: int | None) -> None:
    fits = [_at(point, str(n)) for n, point in enumerate(points)]
    found = _nearest(_at((0.0, 0.0, 0.0)), fits)
    assert found == (None if nearest is None else fits[nearest])
