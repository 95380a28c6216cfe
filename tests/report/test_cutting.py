"""Drawings wider than a sheet, cut into sheets."""

from __future__ import annotations

import itertools
from math import ceil, dist

import pytest

from ifclint.report.cutting import clipped, cuts, leading_on
from ifclint.report.sheet import Pixel

ASLANT = [(0.0, 0.0), (100.0, 50.0), (100.0, 90.0), (40.0, 120.0)]


@pytest.mark.parametrize("bounds", [(0.0, 100.0), (0.0, 60.0, 100.0), (0.0, 30.0, 80.0, 100.0)])
def test_the_pieces_of_a_path_are_the_whole_path(bounds: tuple[float, ...]) -> None:
    pieces = []
    for start, end in itertools.pairwise(bounds):
        own = list(clipped(ASLANT, start, end))
        assert all(start <= x <= end for piece in own for x, _ in piece)
        pieces += own
    long = sum(dist(*ends) for piece in pieces for ends in itertools.pairwise(piece))
    assert long == pytest.approx(sum(dist(*ends) for ends in itertools.pairwise(ASLANT)))


def test_a_path_is_cut_on_the_line_between_its_points() -> None:
    assert list(clipped(ASLANT, 0.0, 60.0)) == [
        [(0.0, 0.0), (60.0, 30.0)], [(60.0, 110.0), (40.0, 120.0)],
    ]  # fmt: skip


@pytest.mark.parametrize("wide", [50.0, 100.0, 101.0, 130.0, 200.0, 205.0, 260.0, 455.0, 1010.0])
def test_sheets_are_as_few_as_fit_or_one_more_and_none_is_a_sliver(wide: float) -> None:
    paths: list[list[Pixel]] = [[(x, 0.0), (x + 9.0, 5.0)] for x in range(0, int(wide), 7)]
    bounds = cuts(paths, 0.0, wide, 100.0)
    sizes = [b - a for a, b in itertools.pairwise(bounds)]
    assert sum(sizes) == pytest.approx(wide)
    assert max(sizes) <= 100.01
    assert len(sizes) <= 2 * ceil(wide / 100.0)
    if len(sizes) > 1:
        assert min(sizes) >= 25.0


def test_a_sheet_ends_where_the_fewest_pipes_pass() -> None:
    mains: list[list[Pixel]] = [[(0.0, y), (70.0, y)] for y in (0.0, 1.0)]
    mains += [[(72.0, y), (150.0, y)] for y in (0.0, 1.0)]
    assert 70.0 <= cuts(mains, 0.0, 150.0, 100.0)[1] <= 72.0


def test_pipe_that_goes_on_says_on_which_sheet() -> None:
    bounds = (0.0, 60.0, 100.0)
    first, second = (list(clipped(ASLANT, *ends)) for ends in itertools.pairwise(bounds))
    assert leading_on(first, bounds, 0) == [("sheet 2", (60.0, 30.0)), ("sheet 2", (60.0, 110.0))]
    assert leading_on(second, bounds, 1) == [("sheet 1", (60.0, 30.0)), ("sheet 1", (60.0, 110.0))]
