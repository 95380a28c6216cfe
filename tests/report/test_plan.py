"""Plans: to scale, with grid, openings and north; nothing off the paper."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest

from ifclint.drawings import Plan, PlanBox, PlanPipe
from ifclint.ifc.elements import GridAxis, Location
from ifclint.report.arrange import Item
from ifclint.report.drawing import PlanDrawing
from ifclint.report.plan import BUBBLE, HIGHEST, MARGIN, WIDTH, _fit, draw_plan
from tests.report import samples
from tests.report.meetings import meetings

WALLS = (
    PlanBox((0.0, 0.0), (10.0, 0.2), "South wall"),
    PlanBox((0.0, 0.0), (0.2, 8.0), "West wall"),
)
DOOR = PlanBox((2.0, 0.0), (3.0, 0.2), "door")
WINDOW = PlanBox((0.0, 4.0), (0.2, 5.0), "window")


def drawn(*grid: GridAxis, north: float | None = None) -> PlanDrawing:
    plan = Plan("Level 1", WALLS, (), (), (), (DOOR, WINDOW), grid, 0.0, north)
    drawing = draw_plan(plan, (), "plan-1")
    assert drawing is not None
    return drawing


@pytest.mark.parametrize(
    ("wide_m", "deep_m", "width", "height"),
    [
        (10.0, 0.0, 10.0, 0.1),  # what has no depth is taken for a tenth of a metre
        (0.0, 10.0, 0.1, 10.0),
        (10.0, 5.0, 10.0, 5.0),
        (0.0, 0.0, 0.1, 0.1),
    ],
)
def test_a_plan_fills_its_paper(wide_m: float, deep_m: float, width: float, height: float) -> None:
    view, across, down = _fit([(2.0, 3.0), (2.0 + wide_m, 3.0 + deep_m)])
    room = WIDTH - 2 * MARGIN, HIGHEST - 2 * MARGIN
    scale = min(room[0] / width, room[1] / height, 90.0)
    assert (across - 2 * MARGIN, down - 2 * MARGIN) == pytest.approx(
        (width * scale, height * scale)
    )
    assert view.pixel((2.0, 3.0 + deep_m)) == pytest.approx((MARGIN, MARGIN))


def test_an_axis_that_runs_on_is_cut_at_the_edge_with_its_circle_on_the_paper() -> None:
    drawing = drawn(GridAxis("A", (-500.0, 4.0), (500.0, 4.0)), GridAxis("1", (5, 99), (5, -99)))
    a, one = drawing.grid
    for line in (a, one):
        for x, y in line.course:
            assert 0 <= x <= drawing.width
            assert 0 <= y <= drawing.height
        assert BUBBLE <= line.at[0] <= drawing.width - BUBBLE
        assert BUBBLE <= line.at[1] <= drawing.height - BUBBLE
    assert a.at[0] < drawing.width / 4  # at the left
    assert one.at[1] < drawing.height / 4  # at the top


def test_the_circle_of_an_axis_that_ends_on_the_paper_stands_beyond_its_end() -> None:
    (line,) = drawn(GridAxis("A", (3.0, 4.0), (9.0, 4.0))).grid
    assert line.at[0] == pytest.approx(line.course[0][0] - BUBBLE, abs=0.2)


@pytest.mark.parametrize(
    "axis",
    [GridAxis("far", (50, 0), (50, 9)), GridAxis("short", (1, 1), (1.2, 1)),
     GridAxis("nan", (math.nan, 0), (1, 1)), GridAxis("huge", (1e30, 0), (1, 1))],
)  # fmt: skip
def test_an_axis_that_is_not_on_the_paper_is_not_drawn(axis: GridAxis) -> None:
    assert drawn(axis).grid == []


def test_a_bent_axis_is_drawn_along_its_course_as_far_as_it_is_on_the_paper() -> None:
    around = [(5 + 4 * math.cos(a / 9), 4 + 4 * math.sin(a / 9)) for a in range(29)]
    (line,) = drawn(GridAxis("C", around[0], around[-1], tuple(around[1:-1]))).grid
    assert len(line.course) == len(around)
    (line,) = drawn(GridAxis("D", (-50.0, 4.0), (5.0, 50.0), ((5.0, 4.0),))).grid
    assert len(line.course) == 3
    assert all(0 <= x <= 1100 for x, _ in line.course)


def test_a_window_has_a_line_along_its_middle_and_a_door_one_across() -> None:
    drawing = drawn()

    def corners(path: str) -> list[list[float]]:
        return [[float(n) for n in re.findall(r"[\d.]+", part)] for part in path.split("M")[1:]]

    _, (x1, _, x2, _) = corners(drawing.windows)
    assert x1 == x2
    _, (x1, y1, x2, y2) = corners(drawing.doors)
    assert x1 != x2
    assert y1 != y2


@pytest.mark.parametrize(
    ("hinge", "side", "clockwise"), [(2.0, 1, "1"), (2.0, -1, "0"), (3.0, 1, "0"), (3.0, -1, "1")]
)
def test_a_door_that_swings_is_drawn_open_with_the_way_of_its_edge(
    hinge: float, side: int, clockwise: str
) -> None:
    """Up the page is y; an arc of SVG turns clockwise with its last flag set."""
    y = 0.2 if side > 0 else 0.0
    leaf = (hinge, y), (5.0 - hinge, y), (hinge, y + side)
    door = replace(DOOR, leaves=(leaf,))
    plan = Plan("Level 1", WALLS, (), (), (), (door,))
    drawing = draw_plan(plan, (), "plan-1")
    assert drawing is not None
    assert drawing.doors.count("M") == 1  # its outline, and no line across
    found = re.fullmatch(
        r"M(\S+) (\S+)L(\S+) (\S+)A(\S+) \5 0 0 ([01]) (\S+) (\S+)", drawing.swings
    )
    assert found is not None
    x1, y1, x2, y2, radius, _, x3, y3 = map(float, found.groups())
    assert (x2, y2 < y1) == (x1, side > 0)
    assert radius == pytest.approx(abs(x3 - x1), abs=0.2)
    assert y3 == y1
    assert found[6] == clockwise


@pytest.mark.parametrize(("north", "degrees"), [(None, None), (0.0, 0.0), (math.pi / 2, -90.0)])
def test_north_is_turned_as_the_model_states(north: float | None, degrees: float | None) -> None:
    assert drawn(north=north).north == degrees


def test_no_number_stands_on_the_place_of_another_nor_on_the_line_to_it() -> None:
    """Findings 0.3 m apart, as in a row of fixtures, on a long building."""
    pattern = samples.full().findings[0]
    places = [(2.0 + 0.3 * (n % 6), 3.0 + 0.3 * (n // 6)) for n in range(24)]
    findings = [
        replace(pattern, id=f"f{n}", location=Location("Level 1", "", x, y, 0.0))
        for n, (x, y) in enumerate(places)
    ]
    items = [Item(n, f"a{n}", finding) for n, finding in enumerate(findings, 1)]
    walls = (*WALLS, PlanBox((0.0, 7.8), (40.0, 8.0), "North wall"))
    drawing = draw_plan(Plan("Level 1", walls, (), (), ()), items, "plan-1")
    assert drawing is not None
    assert sorted(flag.item.number for flag in drawing.flags) == list(range(1, 25))
    assert meetings(drawing) == []
    led_to = [flag.leader[0] for flag in drawing.flags if flag.leader]
    assert len(led_to) > 2
    for x, y in led_to:
        assert all(max(abs(flag.x - x), abs(flag.y - y)) > 9 for flag in drawing.flags)


def test_pipe_that_a_correction_changes_is_marked_on_the_plan() -> None:
    pipes = (
        PlanPipe("a", (1.0, 1.0, 0.0), (4.0, 1.0, 0.0), "drain", 2.0),
        PlanPipe("b", (1.0, 3.0, 0.0), (4.0, 3.0, 0.0), "drain", 2.0),
    )
    plan = Plan("Level 1", WALLS, (), (), pipes)
    drawing = draw_plan(plan, (), "plan-1", frozenset({"b"}))
    assert drawing is not None
    (marked,) = drawing.changed
    assert marked in drawing.runs[0].points
    assert not drawing.runs[0].points.startswith(marked)
