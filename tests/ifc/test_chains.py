"""Pipes of which the body is several pieces: one line where each begins at the end of another."""

from __future__ import annotations

import pytest

from ifclint.ifc.shape.chains import chained
from ifclint.ifc.shape.solids import EXTRUDED, Axis
from tests.effort import calls


def piece(*points, outside=0.0603):
    return Axis(tuple(points), outside, None, EXTRUDED)


STEPS = [  # a drain that falls 1/4 in after each foot, drawn level and plumb
    piece((0.0, 0, 0), (0.3, 0, 0)),
    piece((0.3, 0, -0.006), (0.3, 0, 0)),
    piece((0.3, 0, -0.006), (0.6, 0, -0.006)),
    piece((0.6, 0, -0.006), (0.6, 0, -0.012)),
    piece((0.9, 0, -0.012), (0.6, 0, -0.012)),
]


@pytest.mark.parametrize("order", [(0, 1, 2, 3, 4), (2, 4, 0, 3, 1), (4, 3, 2, 1, 0)])
def test_pieces_in_any_order_are_one_line(order):
    axis = chained([STEPS[i] for i in order])
    assert axis is not None
    assert {axis.points[0], axis.points[-1]} == {(0.0, 0, 0), (0.9, 0, -0.012)}
    assert axis.length_m == pytest.approx(0.912)


@pytest.mark.parametrize(
    "pieces",
    [
        [STEPS[0], STEPS[2]],  # 6 mm apart is 6 mm, in short pieces; but these are long
        [STEPS[0], piece((0.3, 0, 0.015), (0.6, 0, 0.015))],
    ],
)
def test_long_pieces_may_miss_each_other_by_a_quarter_of_the_pipe(pieces):
    assert chained(pieces) is not None


@pytest.mark.parametrize(
    "pieces",
    [
        [STEPS[0]],
        [STEPS[0], piece((0.3, 0, 0.0152), (0.6, 0, 0.0152))],  # farther than that
        [STEPS[0], piece((0.15, 0, 0), (0.15, 0, 1))],  # a tee
        [STEPS[0], piece((0, 0, 0), (0.3, 0, 0), outside=0.1)],  # insulation
        [STEPS[0], piece((0.3, 0, 0), (0.6, 0, 0), outside=None)],
        [STEPS[1], piece((0.3, 0, 0.0031), (0.3, 0, 0.0091))],  # short ones, half of one apart
    ],
    ids=["one", "apart", "tee", "insulation", "no pipe", "short"],
)
def test_what_is_not_one_line(pieces):
    assert chained(pieces) is None


def test_twice_the_pieces_cost_twice_as_much():
    def line(count):
        return [piece((0.3 * n, 0, 0), (0.3 * (n + 1), 0, 0)) for n in range(count)]

    few, many = line(100), line(400)
    assert calls(lambda: chained(many[::-1])) < 5 * calls(lambda: chained(few[::-1]))
