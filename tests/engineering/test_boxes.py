"""Which of many boxes lie around a place."""

from __future__ import annotations

import pytest

from ifclint.engineering.boxes import Boxes

UNIT = ((0.0, 0.0, 0.0), (1.0, 1.0, 1.0))
ABOVE = ((0.0, 0.0, 1.0), (1.0, 1.0, 2.0))
BESIDE = ((1.5, 0.0, 0.0), (2.0, 1.0, 1.0))


@pytest.mark.parametrize(
    ("place", "held"),
    [
        ((0.5, 0.5, 0.5), [0]),
        ((0.5, 0.5, 1.0), [0, 1]),  # on the face of both
        ((0.0, 1.0, 2.0), [1]),  # at a corner
        ((0.5, 0.5, 2.001), []),
        ((-0.001, 0.5, 0.5), []),
        ((0.5, 1.001, 0.5), []),
    ],
)
def test_a_box_holds_what_is_in_it_and_on_its_faces(
    place: tuple[float, float, float], held: list[int]
) -> None:
    assert Boxes([UNIT, ABOVE, BESIDE]).around(place) == held


def test_a_box_may_be_missed_by_so_little() -> None:
    boxes = Boxes([UNIT, ABOVE, BESIDE])
    assert boxes.around((1.25, 0.5, 0.5), (0.25, 0.0, 0.0)) == [0, 2]
    assert boxes.around((1.25, 0.5, 0.5), (0.24, 0.0, 0.0)) == []
    assert boxes.around((1.25, 0.5, 0.5), (0.0, 0.25, 0.25)) == []


def test_seen_from_above_heights_do_not_count() -> None:
    boxes = Boxes([UNIT, ABOVE, BESIDE])
    assert boxes.above_or_below((0.5, 0.5, 99.0)) == [0, 1]
    assert boxes.above_or_below((1.5, 1.0, -99.0)) == [2]
    assert boxes.above_or_below((3.0, 0.5, 0.5)) == []


def test_no_boxes_hold_nothing() -> None:
    assert Boxes([]).around((0.0, 0.0, 0.0)) == []
