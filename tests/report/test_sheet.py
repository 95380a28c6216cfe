"""Room on a drawing."""

from __future__ import annotations

from ifclint.report.sheet import Sheet


def test_a_line_to_a_place_off_the_paper_is_not_open() -> None:
    sheet = Sheet(100, 100)
    box = (60.0, 40.0, 80.0, 50.0)
    assert sheet.open((10, 45), box, 0)
    for place in ((300, 45), (-300, 45), (70, 300), (70, -300)):
        assert not sheet.open(place, box, 0)


def test_a_line_that_meets_something_is_not_open() -> None:
    sheet = Sheet(100, 100)
    sheet.take_box((40, 40, 45, 50))
    assert not sheet.open((10, 45), (60, 40, 80, 50), 0)
    assert sheet.open((95, 45), (60, 40, 80, 50), 0)
