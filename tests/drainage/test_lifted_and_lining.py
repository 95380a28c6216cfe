"""Figures of drains worked out by hand: the fall to spare above a drain, the lining of a pipe."""

from __future__ import annotations

import pytest

from ifclint.ifc.elements import Element, Point
from ifclint.plumbing.drainage.segments import Pipe
from ifclint.rules.drainage.lifted import SLOPE, _spare_m
from ifclint.rules.drainage.slopes import _roughness


def _pipe(up: Point | None, down: Point | None) -> Pipe:
    return Pipe(Element("P"), up, down, None, None, None, None)


DRAIN = _pipe((10.0, 5.0, 2.0), (20.0, 15.0, 1.0))


@pytest.mark.parametrize(
    ("trap", "nearest"),
    [
        ((14.0, 11.0, 3.0), (15.0, 10.0, 1.5)),  # square to its middle
        ((12.0, 5.0, 3.0), (11.0, 6.0, 1.9)),  # a tenth along it
        ((4.0, 2.0, 3.0), (10.0, 5.0, 2.0)),  # before its upper end
        ((20.0, 18.0, 3.0), (20.0, 15.0, 1.0)),  # past its lower end
    ],
)
def test_fall_to_spare_is_measured_to_the_nearest_place_of_a_drain(
    trap: Point, nearest: Point
) -> None:
    x, y, z = nearest
    by_hand = trap[2] - z - (abs(trap[0] - x) + abs(trap[1] - y)) * SLOPE
    assert _spare_m(trap, DRAIN) == pytest.approx(by_hand)


def test_fall_to_spare_above_an_upright_drain_is_that_to_its_top() -> None:
    upright = _pipe((10.0, 5.0, 2.0), (10.0, 5.0, 0.0))
    assert _spare_m((13.0, 9.0, 3.0), upright) == pytest.approx(1.0 - 7.0 * SLOPE)


@pytest.mark.parametrize("lacking", [_pipe(None, (0.0, 0.0, 0.0)), _pipe((0.0, 0.0, 0.0), None)])
def test_a_pipe_without_a_place_takes_nothing(lacking: Pipe) -> None:
    assert _spare_m((0.0, 0.0, 9.0), lacking) == float("-inf")


@pytest.mark.parametrize(
    ("named", "listed"),
    [("cast iron", "cast iron"), ("Pipe, cast-iron hubless", "cast iron"), ("copper", "copper"),
     ("copper DWV type", "copper"), ("something else", "pvc")],
)  # fmt: skip
def test_a_lining_is_found_by_one_word_of_the_material_or_two(named: str, listed: str) -> None:
    assert _roughness(named).material == listed
