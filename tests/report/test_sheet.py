"""Room on a drawing."""

from __future__ import annotations

import pytest

from ifclint.report.sheet import CELL, FULL, Pixel, Sheet, Spot

WIDE, HIGH, CLOSE = 40.0, 10.0, 9.0


def room(sheet: Sheet, place: Pixel, clear: float = 0.0, over_pipe: bool = False) -> Spot | None:
    found = sheet.first_free([place], [(WIDE, HIGH)], clear, CLOSE, over_pipe)
    return None if found is None else found[1]


def ringed(opening: bool = False, weight: float = 1.0) -> Sheet:
    """A square of pipe around the middle, 14 px off; open for a line to the right or not."""
    sheet = Sheet(400, 400)
    low, high = 186.0, 214.0
    sheet.take_paths([[(high, low), (low, low), (low, high), (high, high)]], weight)
    ends = ((low, 196.0), (207.0, high)) if opening else ((low, high),)
    sheet.take_paths([[(high, top), (high, bottom)] for top, bottom in ends], weight)
    return sheet


def test_the_nearest_room_is_taken_to_the_right_first() -> None:
    sheet = Sheet(400, 400)
    assert room(sheet, (200, 200)) == Spot((203, 195, 243, 205), (200, 200), 3.0)
    sheet.take_box((205, 195, 240, 205))
    left = room(sheet, (200, 200))
    assert left is not None
    assert left.box == (157, 195, 197, 205)


def test_room_farther_off_needs_a_line_to_it_that_meets_nothing() -> None:
    assert room(ringed(), (200, 200)) is None
    found = room(ringed(opening=True), (200, 200))
    assert found is not None
    assert found.gap > CLOSE
    assert found.box[0] > 200


def test_a_line_does_not_start_under_lettering_but_may_at_a_symbol() -> None:
    """Of a symbol the thing itself is passed; what stands on a pipe is not."""
    sheet = ringed(opening=True)
    sheet.take_box((195, 195, 205, 205))
    assert room(sheet, (200, 200)) is None
    assert room(sheet, (200, 200), clear=5.0) is not None


@pytest.mark.parametrize("place", [(-300, 45), (-30, 45), (130, 45), (50, 300)])
def test_there_is_no_room_off_the_paper_nor_a_line_from_there(place: Pixel) -> None:
    assert room(Sheet(100, 100), place) is None


def test_room_is_what_it_is_said_to_be_cell_by_cell() -> None:
    """The sums over cells say the same as the cells."""
    sheet = Sheet(200, 150)
    sheet.take_paths([[(20, 20), (180, 130)], [(100, 5), (100, 140)]])
    sheet.take_box((30, 90, 60, 110))
    for x in range(5, 200, 15):
        for y in range(5, 150, 15):
            found = room(sheet, (x, y))
            if found is None:
                continue
            left, top, right, bottom = found.box
            cells = sheet.taken[
                int(top // CELL) : int(bottom // CELL) + 1,
                int(left // CELL) : int(right // CELL) + 1,
            ]
            assert not cells.any()
            assert left >= 0
            assert right <= sheet.width


def test_a_line_that_may_run_over_pipe_still_meets_no_lettering() -> None:
    found = room(ringed(), (200, 200), over_pipe=True)
    assert found is not None
    assert found.gap > CLOSE
    assert room(ringed(weight=FULL), (200, 200), over_pipe=True) is None


@pytest.mark.parametrize("opening", [False, True])
def test_the_first_size_that_has_room_is_taken_where_it_would_stand_alone(opening: bool) -> None:
    """Of several sizes at once the answer is that of each asked by itself, in turn."""
    sheet = ringed(opening)
    sheet.take_box((225, 150, 400, 250))
    sizes = [(180.0, 40.0), (60.0, 12.0), (16.0, 10.0), (WIDE, HIGH)]
    for place in [(200.0, 200.0), (10.0, 10.0), (390.0, 200.0), (120.0, 180.0)]:
        alone = (sheet.first_free([place], [size], 0.0, CLOSE) for size in sizes)
        first = next(((n, found[1]) for n, found in enumerate(alone) if found), None)
        assert sheet.first_free([place], sizes, 0.0, CLOSE) == first


def test_a_line_weighs_one_in_the_cells_it_passes_and_what_is_told_otherwise() -> None:
    for given, weight in (((), 1.0), ((0.25,), 0.25)):
        sheet = Sheet(100, 100)
        sheet.take_paths([[(10.0, 50.0), (90.0, 50.0)]], *given)
        row = sheet.taken[round(50.0 // CELL)]
        assert set(row[row > 0].tolist()) == {weight}
        assert sheet.taken.sum() == pytest.approx(row.sum())
