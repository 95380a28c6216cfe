"""Isometric drawings: true to the model, and lettered without covering what is drawn."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest

from ifclint.findings import Riser, RiserLine, RiserMark
from ifclint.report.arrange import numbered
from ifclint.report.drawing import Drawing
from ifclint.report.lettering import CHARACTER, LINE_HEIGHT
from ifclint.report.riser import View, draw
from tests.report import samples


def house() -> Drawing:
    review = samples.full()
    drawing = draw(review.risers[0], numbered(review), "riser-1")
    assert drawing
    return drawing


@pytest.mark.parametrize("turn", range(4))
def test_up_stays_up_and_the_axes_run_at_30_degrees(turn: int) -> None:
    view = View(turn)
    x, y = view.pixel((0.0, 0.0, 1.0))
    assert (x, y) == pytest.approx((0, -1))
    for axis in ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0)):
        x, y = view.pixel(axis)
        assert math.degrees(math.atan2(abs(y), abs(x))) == pytest.approx(30)
        assert math.hypot(x, y) == pytest.approx(1)


@pytest.mark.parametrize("turn", range(4))
def test_the_building_is_not_seen_in_a_mirror(turn: int) -> None:
    """Seen from above, y lies a quarter turn to the left of x; page y points down."""
    view = View(turn)
    (ax, ay), (bx, by) = view.pixel((1.0, 0.0, 0.0)), view.pixel((0.0, 1.0, 0.0))
    assert ax * -by - -ay * bx > 0


def test_everything_lies_on_the_paper() -> None:
    drawing = house()
    points = [tuple(map(float, p.split(","))) for run in drawing.runs for p in run.points.split()]
    points += [(mark.x, mark.y) for mark in drawing.symbols + drawing.flags + drawing.words]
    assert all(0 <= x <= drawing.width and 0 <= y <= drawing.height for x, y in points)


def test_words_and_numbers_do_not_cover_each_other() -> None:
    drawing = house()
    boxes = [(w.x, w.y, len(w.text) * CHARACTER, LINE_HEIGHT) for w in drawing.words]
    boxes += [(flag.x, flag.y, 18.0, 18.0) for flag in drawing.flags]
    covering = [
        (a, b)
        for a, b in itertools.combinations(boxes, 2)
        if abs(a[0] - b[0]) * 2 < a[2] + b[2] - 1 and abs(a[1] - b[1]) * 2 < a[3] + b[3] - 1
    ]
    assert covering == []


def test_every_label_is_lettered_or_counted_as_left_off() -> None:
    riser = samples.house_riser()
    labels = [line.label for line in riser.lines if line.label]
    labels += [mark.label for mark in riser.marks if mark.label]
    drawing = house()
    lettered = [word for word in drawing.words if word.style == "label"]
    assert len(lettered) + drawing.left_off == len(labels)
    assert drawing.left_off == 0


def test_words_that_find_no_room_are_counted() -> None:
    riser = samples.house_riser()
    crowded = replace(riser, lines=riser.lines * 12)
    drawing = draw(crowded, (), "r")
    assert drawing
    assert drawing.left_off > 0


def test_a_larger_pipe_is_a_heavier_line_and_an_unknown_size_the_thinnest() -> None:
    sizes = (None, 1.25, 2.0, 4.0, 6.0)
    lines = tuple(
        RiserLine((str(n),), ((0.0, 0.0, n), (1.0, 0.0, n)), "drain", size_in=size)
        for n, size in enumerate(sizes)
    )
    drawing = draw(Riser("r", "R", lines, ()), (), "r")
    assert drawing
    weights = [run.weight for run in drawing.runs]
    assert weights == sorted(weights)
    assert len(set(weights)) == len(sizes)


def test_storeys_are_marked_where_an_upright_run_passes_them() -> None:
    drawing = house()
    assert {line.storey for line in drawing.floor_lines} == {"Ground floor", "Upper floor", "Roof"}
    names = [word.text for word in drawing.words if word.style == "level"]
    assert "Upper floor 3.10 m, 10 ft 2 in" in names


def test_what_has_no_place_is_left_out() -> None:
    nan = float("nan")
    assert draw(Riser("r", "R", (), ()), (), "r") is None
    only_nan = (RiserMark("m", "p-trap", (nan, 0.0, 0.0)),)
    assert draw(Riser("r", "R", (), only_nan), (), "r") is None
    one = (RiserMark("m", "two-way", (5.0, 5.0, 5.0), "CO"),)
    drawing = draw(Riser("r", "R", (), one), (), "r")
    assert drawing
    assert drawing.symbol_names == ["cleanout"]


@pytest.mark.parametrize("far", [1e5, 1e7, 1e300])
def test_a_stray_point_does_not_swell_the_drawing(far: float) -> None:
    lines = (
        RiserLine(("a",), ((0.0, 0.0, 0.0), (1.0, 0.0, 0.0)), "drain"),
        RiserLine(("b",), ((0.0, 0.0, 0.0), (far, 0.0, 0.0)), "drain"),
    )
    drawing = draw(Riser("r", "R", lines, ()), (), "r")
    assert drawing
    assert drawing.width < 10_000
