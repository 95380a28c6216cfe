"""Boxes and what lies in them, by hand."""

from __future__ import annotations

import pytest

from ifclint.engineering.extents import (
    apart_m,
    box_around,
    covers,
    grown,
    holds,
    level_apart_m,
    level_m,
    lies_flat,
    middle,
    overlap_in_plan,
    passed,
    plan_m2,
    shared_m,
    sides_m,
    thin_axis,
)
from ifclint.engineering.tolerance import LENGTH_M

LOW, HIGH = (1.0, 20.0, 300.0), (3.0, 25.0, 309.0)


def test_a_box_and_its_measures() -> None:
    assert box_around(((3.0, 20.0, 309.0), (1.0, 25.0, 300.0))) == (LOW, HIGH)
    assert sides_m(LOW, HIGH) == (2.0, 5.0, 9.0)
    assert plan_m2(LOW, HIGH) == 10.0
    assert middle(LOW, HIGH) == (2.0, 22.5, 304.5)
    assert grown(LOW, HIGH, 0.5) == ((0.5, 19.5, 299.5), (3.5, 25.5, 309.5))
    assert level_m((1.0, 20.0, 300.0), (4.0, 24.0, 0.0)) == 5.0


def test_boxes_beside_each_other() -> None:
    one = ((0.0, 0.0, 0.0), (1.0, 2.0, 3.0))
    assert shared_m(one, ((0.5, -1.0, 1.0), (9.0, 0.5, 2.0))) == (0.5, 0.5, 1.0)
    for other in (((4.0, 6.0, 15.0), (5.0, 9.0, 99.0)), ((-4.0, -5.0, -15.0), (-3.0, -4.0, -12.0))):
        assert level_apart_m(one, other) == level_apart_m(other, one) == 5.0
        assert apart_m(one, other) == apart_m(other, one) == 13.0
    assert apart_m(one, one) == level_apart_m(one, one) == 0.0


@pytest.mark.parametrize(("high", "axis"), [((1, 2, 0), 0), ((2, 1, 0), 1), ((2, 2, 0), 0)])
def test_across_which_axis_a_box_is_thinner(high: tuple[int, int, int], axis: int) -> None:
    assert thin_axis((0, 0, 0), high) == axis


@pytest.mark.parametrize("axis", [0, 1, 2])
@pytest.mark.parametrize("side", [0, 1])
@pytest.mark.parametrize("reach_m", [0.0, 0.5])
def test_what_lies_in_a_box(axis: int, side: int, reach_m: float) -> None:
    """On each face, as far off as a drawing may be, and a little farther."""
    low, high = (0.0, 0.0, 0.0), (0.0, 0.0, 0.0)
    for off_m, is_in in ((0.0, True), (LENGTH_M, True), (2 * LENGTH_M, False)):
        place = [0.0, 0.0, 0.0]
        place[axis] = (reach_m + off_m) * (1 if side else -1)
        at = (place[0], place[1], place[2])
        assert holds(low, high, at, reach_m) is is_in
        assert covers(low, high, at, reach_m) is (is_in or axis == 2)


def test_in_a_box_each_axis_has_its_own_bounds() -> None:
    assert holds(LOW, HIGH, (2.0, 22.0, 305.0))
    assert not holds(LOW, HIGH, (22.0, 22.0, 305.0))
    assert not holds(LOW, HIGH, (2.0, 2.0, 305.0))
    assert not holds(LOW, HIGH, (2.0, 22.0, 22.0))


@pytest.mark.parametrize(
    ("a", "b", "axis", "at"),
    [
        ((-1.0, 1.0, 1.0), (2.0, 1.0, 2.5), 0, (0.5, 1.0, 1.75)),
        ((2.0, 1.0, 2.5), (-1.0, 1.0, 1.0), 0, (0.5, 1.0, 1.75)),
        ((0.25, 0.25, 1.0), (0.75, 1.75, 1.0), 1, (0.5, 1.0, 1.0)),
        ((0.25, -0.25, 1.0), (0.75, 1.5, 1.0), 1, None),  # ends in it
        ((0.25, 0.5, 1.0), (0.75, 2.25, 1.0), 1, None),  # begins in it
        ((0.5, -1.0, 1.0), (0.5, 3.0, 9.0), 1, None),  # leaves by the top
        ((0.5, -1.0, 1.0), (0.5, 3.0, 1.0), 0, None),  # along the other axis
        ((0.5, 0.5, 0.0), (0.5, 0.5, 3.0), 2, (0.5, 0.5, 1.5)),
    ],
)
def test_where_a_line_passes_through_a_box(a, b, axis, at) -> None:
    assert passed(a, b, (0.0, 0.0, 0.0), (1.0, 2.0, 3.0), axis, 0.25) == at


def test_a_line_within_a_box_of_no_thickness_does_not_pass_it() -> None:
    assert passed((0, 0, 0), (0, 1, 0), (0, 0, 0), (0, 1, 1), 0, 0.01) is None


def test_boxes_that_share_an_edge_do_not_overlap() -> None:
    one = ((0.0, 0.0, 0.0), (1.0, 2.0, 3.0))
    assert overlap_in_plan(one, ((0.9, 1.9, 50.0), (9.0, 9.0, 60.0)))
    assert not overlap_in_plan(one, ((1.0, 0.0, 0.0), (2.0, 2.0, 3.0)))
    assert not overlap_in_plan(one, ((0.0, 2.0, 0.0), (1.0, 3.0, 3.0)))
    assert overlap_in_plan(one, ((-9.0, -9.0, 0.0), (0.1, 0.1, 3.0)))
    assert not overlap_in_plan(one, ((-9.0, 0.0, 0.0), (0.0, 2.0, 3.0)))
    assert not overlap_in_plan(one, ((0.0, -9.0, 0.0), (1.0, 0.0, 3.0)))


@pytest.mark.parametrize("at", [(0.0, 1.0), (1.0, 1.0), (0.5, 0.0), (0.5, 2.0)])
def test_a_box_covers_what_stands_over_its_edges(at: tuple[float, float]) -> None:
    low, high = (0.0, 0.0, 0.0), (1.0, 2.0, 3.0)
    x, y = (3 * at[0] - 1, at[1]) if at[0] != 0.5 else (at[0], 2 * at[1] - 1)
    assert covers(low, high, (*at, 9.0))
    assert not covers(low, high, (x, y, 9.0))
    assert covers(low, high, (x, y, 9.0), 1.0)


@pytest.mark.parametrize(("rise_m", "flat"), [(0.0, True), (4.9, True), (5.0, False), (9.0, False)])
def test_what_runs_farther_than_it_rises_lies_flat(rise_m: float, flat: bool) -> None:
    for sign in (1, -1):
        assert lies_flat((1.0, 2.0, 7.0), (4.0, 6.0, 7.0 + sign * rise_m)) is flat  # 5 m level
