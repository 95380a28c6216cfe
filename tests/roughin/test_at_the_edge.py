"""Boxes and pipes that lie exactly at a bound."""

from __future__ import annotations

from types import SimpleNamespace
from typing import cast

import pytest

from ifclint.ifc.elements import Element, End, Role, Surface, System
from ifclint.rules.roughin.bores import _bore
from ifclint.rules.roughin.facing import _supplied_from
from ifclint.rules.roughin.pipes import Straight, straights
from ifclint.rules.roughin.standing import Stand, askew_walls
from ifclint.testing.questions import context_of

STUD = Surface("S", "stud", "stud", (0.0, 0.0, 0.0), (0.05, 0.125, 2.5))


def _across(y: float, z: float) -> Straight:
    """A pipe without a stated diameter, through the thickness of the stud."""
    pipe = Element("P", role=Role.PIPE)
    pipe.properties["outside_diameter_m"] = 0.03125
    return Straight(pipe, (-1.0, y, z), (1.0, y, z))


@pytest.mark.parametrize(("z", "passes"), [(-0.1, 0), (0.0, 0), (0.1, 1), (2.5, 0), (2.6, 0)])
def test_a_pipe_at_the_end_of_a_stud_bores_none(z: float, passes: int) -> None:
    assert (_bore(_across(0.0625, z), STUD) is not None) == bool(passes)


def test_wood_left_at_both_edges_of_a_stud() -> None:
    """Of 125 mm, 40 mm to the middle of a pipe of 31.25 mm."""
    bore = _bore(_across(0.04, 1.0), STUD)
    assert bore is not None
    assert (bore.low_m, bore.high_m) == pytest.approx((0.024375, 0.069375))
    assert bore.left_m == bore.low_m
    assert bore.depth_m == 0.125


@pytest.mark.parametrize(("y", "notched"), [(0.015625, False), (0.0155, True), (0.1094, True)])
def test_a_hole_that_just_meets_an_edge_is_no_notch(y: float, notched: bool) -> None:
    bore = _bore(_across(y, 1.0), STUD)
    assert bore is not None
    assert bore.is_notch == notched


@pytest.mark.parametrize(("metres", "runs"), [(0.049, 0), (0.05, 1), (0.06, 1)])
def test_pipe_of_two_inches_runs_somewhere(metres: float, runs: int) -> None:
    context = context_of(f"pipe 1 P  0 0 0 > {metres / 0.3048!r} 0 0")
    ends = context.plumbing.network.elements[0].ends
    ends[1].position = (metres, 0.0, 0.0)
    assert len(straights(context)) == runs


@pytest.mark.parametrize(("metres", "askew"), [(0.59, 0), (0.6, 0), (0.61, 1)])
def test_a_wall_thicker_than_two_feet_is_askew(metres: float, askew: int) -> None:
    context = context_of(f"wall W  0 0 0 > {metres / 0.3048!r} 10 9")
    (wall,) = context.plumbing.surroundings.of_kind("wall")
    assert len(askew_walls(context)) == askew
    assert wall.high[0] == pytest.approx(metres)


@pytest.mark.parametrize(
    ("x", "y", "axis", "side"),
    [
        (2.0 + 0.05, 5.3, 0, -1),  # of a closet from (2, 5) to (2.5, 5.75): 50 mm off its left side
        (2.0 + 0.05, 5.3, 1, 0),
        (2.45, 5.3, 0, 1),
        (2.25, 5.05, 1, -1),
        (2.25, 5.7, 1, 1),
        (2.25, 5.375, 0, 0),  # in the middle
        (2.1, 5.12, 0, 0),  # in a corner: 100 mm off one side, 120 mm off the other
    ],
)
def test_a_closet_backs_where_its_supply_enters(x: float, y: float, axis: int, side: int) -> None:
    element = Element("WC", ends=[End((x, y, 0.2), system=System.COLD_WATER)])
    stand = SimpleNamespace(box=((2.0, 5.0, 0.0), (2.5, 5.75, 0.8)), element=element)
    assert _supplied_from(cast("Stand", stand), axis) == side


def test_two_supplies_tell_no_back() -> None:
    ends = [End((2.05, y, 0.2), system=System.COLD_WATER) for y in (5.3, 5.4)]
    stand = SimpleNamespace(
        box=((2.0, 5.0, 0.0), (2.5, 5.75, 0.8)), element=Element("WC", ends=ends)
    )
    assert _supplied_from(cast("Stand", stand), 0) == 0
