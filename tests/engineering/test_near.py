"""Which places lie near others: few, measured at once, and many, asked of a tree, alike."""

from __future__ import annotations

import numpy as np
import pytest

from ifclint.engineering import near
from ifclint.engineering.near import NearPlaces

REACH_M = 0.5


@pytest.fixture(params=[0, 10_000], ids=["tree", "measured"])
def few(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> int:
    monkeypatch.setattr(near, "FEW", request.param)
    return request.param


def test_what_lies_as_far_as_the_reach_is_near(few: int):
    places = NearPlaces([(0, 0, 0), (0, 0, REACH_M), (0, 3, 0)])
    assert places.pairs(REACH_M).tolist() == [[0, 1]]
    assert places.around([(0, 0, 0), (0, 3, 1)], [REACH_M, 0.9]) == [[0, 1], []]
    assert places.around((0, 3, 1), 1.0) == [[2]]
    away, at = places.nearest([(0, 0, REACH_M * 2), (9, 9, 9)], 2, REACH_M)
    assert away.tolist() == [[REACH_M, np.inf], [np.inf, np.inf]]
    assert at.tolist() == [[1, 3], [3, 3]]


def test_more_are_asked_for_than_there_are(few: int):
    away, at = NearPlaces([(0, 0, 0), (0, 4, 0)]).nearest((0, 1, 0), 3)
    assert away.tolist() == [[1, 3, np.inf]]
    assert at.tolist() == [[0, 1, 2]]


def test_no_places_and_no_centers(few: int):
    nowhere = NearPlaces([])
    assert nowhere.pairs(1.0).tolist() == []
    assert nowhere.around([(0, 0, 0)], 1.0) == [[]]
    assert nowhere.nearest((0, 0, 0))[1].tolist() == [[0]]
    assert NearPlaces([(0, 0, 0)]).around([], 1.0) == []


def test_measured_and_asked_of_a_tree_they_are_the_same(monkeypatch: pytest.MonkeyPatch):
    drawn = np.random.default_rng(4)
    points, centers = drawn.random((300, 3)) * 4, drawn.random((70, 3)) * 4
    reach = drawn.random(70)
    found = []
    for few in (0, len(points)):
        monkeypatch.setattr(near, "FEW", few)
        places = NearPlaces(points)
        away, at = places.nearest(centers, 4, REACH_M)
        found.append(
            (
                places.pairs(REACH_M).tolist(),
                places.around(centers, reach),
                away.tolist(),
                at.tolist(),
            )
        )
    assert found[0][0]
    assert any(found[0][1])
    assert found[0][:2] == found[1][:2]
    assert found[0][3] == found[1][3]
    assert np.allclose(found[0][2], found[1][2])
