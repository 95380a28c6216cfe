"""Riser drawings: diagrams of drains and vents, isometrics of the rest, lettered without covering
what is drawn."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest

from ifclint.drawings import Riser, RiserLine, RiserMark
from ifclint.plumbing import Service
from ifclint.report.arrange import numbered
from ifclint.report.drawing import SERVICES, TALLEST, Drawing, Flag, Word
from ifclint.report.isometric import View
from ifclint.report.lettering import Label, Spots, flags, kept
from ifclint.report.plan import draw_plan
from ifclint.report.riser import draw, one_view
from ifclint.report.schematic import BAND
from ifclint.report.sheet import Pixel, Sheet
from tests.report import samples
from tests.report.meetings import meetings, pieces
from tests.reviewing import reviewed_demo

SHELL = "restaurant_architecture"
DEMOS = {
    "dwelling_early": ["dwelling_early"],
    "dwelling_corrected": ["dwelling_corrected"],
    "restaurant_early": ["restaurant_early", SHELL],
    "restaurant_corrected": ["restaurant_corrected", SHELL],
}


def house() -> list[Drawing]:
    review = samples.full()
    return draw(review.risers[0], numbered(review), "riser-1")


def tower(storeys: int = 12, stacks: int = 5) -> Riser:
    """Stacks with a bathroom of three fixtures on each storey, each vented to a vent stack."""
    lines, marks = [], []
    for s in range(stacks):
        x = 9.0 * s
        for n in range(storeys):
            z = 3.0 * n + 2.7
            lines.append(
                _line(f"stack {s}.{n}", "drain", (x, 0, z), (x, 0, z - 3), "4 in · 12 DFU")
            )
            lines.append(_line(f"vent {s}.{n}", "vent", (x + 1, 0, z), (x + 1, 0, z + 3), "3 in"))
            at = (x, 0.0, z)
            for f, name in enumerate(("Water closet", "Lavatory", "Shower")):
                end = (x - 1.2 * (f + 1), 0.0, z + 0.05 * (f + 1))
                lines.append(_line(f"b {s}.{n}.{f}", "drain", end, at, "2 in · 3 DFU"))
                lines.append(_line(f"v {s}.{n}.{f}", "vent", end, (*end[:2], z + 2), "1-1/2 in"))
                label = f"{name} {s}-{n} (Bath {s}) · 3 DFU"
                marks.append(RiserMark(f"m {s}.{n}.{f}", "fixture", end, label))
                at = end
        lines.append(_line(f"foot {s}", "drain", (x, 0, -0.3), (x, -3, -0.4), "4 in · 144 DFU"))
        lines.append(_line(f"main {s}", "drain", (x, -3, -0.4), (x + 9, -3, -0.5), "6 in"))
    marks.append(RiserMark("sewer", "outlet", (9.0 * stacks, -3, -0.5), "Sewer"))
    levels = tuple((f"Level {n + 1}", 3.0 * n) for n in range(storeys))
    return Riser("tower", "Tower", tuple(lines), tuple(marks), levels)


def _line(name: str, service: str, a: tuple, b: tuple, label: str) -> RiserLine:
    return RiserLine((name,), (a, b), service, label, size_in=2.0)


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
    for sheet in house():
        points = [tuple(map(float, p.split(","))) for run in sheet.runs for p in run.points.split()]
        points += [(mark.x, mark.y) for mark in sheet.symbols + sheet.flags + sheet.words]
        assert all(0 <= x <= sheet.width and 0 <= y <= sheet.height for x, y in points)


def test_words_and_numbers_do_not_cover_each_other() -> None:
    for sheet in house():
        assert meetings(sheet) == []


@pytest.mark.parametrize("name", DEMOS)
def test_no_label_of_the_demos_meets_another_a_thin_line_or_pipe(name: str) -> None:
    review, _ = reviewed_demo(*DEMOS[name])
    items = numbered(review)
    shown = one_view(review.risers)
    risers = [d for r in shown for d in draw(r, items, r.key)]
    assert len(risers) > len(shown)  # the drainage takes several sheets
    plans = [p for plan in review.plans if (p := draw_plan(plan, items, "plan"))]
    drawn = {flag.item.number for d in (*risers, *plans) for flag in d.flags}
    assert {item.number for item in items} == drawn  # every finding is on some drawing
    assert {d.title: met for d in (*risers, *plans) if (met := meetings(d))} == {}
    assert all(drawing.words for drawing in risers)
    assert all(drawing.width <= 1036 for drawing in risers)
    assert sum(drawing.left_off for drawing in risers) <= 2 * len(risers)
    assert sum(plan.left_off for plan in plans) <= 1  # a pan has the place of its heater


def test_a_tower_is_drawn_on_sheets_with_its_storeys_as_bands_of_one_height() -> None:
    sheets = draw(tower(), (), "r")
    assert len(sheets) > 1
    assert all(sheet.width <= 1036 for sheet in sheets)
    for sheet in sheets:
        assert meetings(sheet) == []
        heights = [band.y for band in sheet.bands]
        assert len(heights) >= 11
        steps = [a - b for a, b in itertools.pairwise(heights)]
        assert steps == pytest.approx([BAND] * len(steps))
    lettered = sum(len(sheet.words) for sheet in sheets)
    assert lettered > 2 * sum(sheet.left_off for sheet in sheets)
    titles = [sheet.title for sheet in sheets]
    assert titles[0] == f"Tower, sheet 1 of {len(sheets)}"
    notes = [word.text for word in sheets[0].words]
    assert "→ sheet 2" in notes


def test_pipe_of_a_diagram_runs_level_and_plumb_and_is_all_there() -> None:
    riser = tower(3, 2)
    sheets = draw(riser, (), "r")
    for sheet in sheets:
        for x1, y1, x2, y2 in pieces(sheet):
            assert x1 == pytest.approx(x2, abs=0.2) or y1 == pytest.approx(y2, abs=0.2)
    labels = {run.tooltip for sheet in sheets for run in sheet.runs}
    assert labels == {line.label for line in riser.lines}
    drawn = sum(len(sheet.runs) for sheet in sheets)
    assert drawn >= len(riser.lines)


def test_no_two_level_pipes_of_a_diagram_lie_on_each_other() -> None:
    levels = [
        (min(x1, x2), max(x1, x2), y1)
        for sheet in draw(tower(3, 1), (), "r")
        for x1, y1, x2, y2 in pieces(sheet)
        if abs(y1 - y2) < 0.2 and abs(x1 - x2) > 1
    ]
    for (a1, a2, y), (b1, b2, other) in itertools.combinations(levels, 2):
        assert abs(y - other) > 2 or min(a2, b2) - max(a1, b1) <= 1


def test_ends_that_a_fitting_holds_together_are_drawn_as_one() -> None:
    apart = (
        RiserLine(("a",), ((0.0, 0.0, 3.0), (0.0, 0.0, 0.2)), "drain"),
        RiserLine(("b",), ((0.1, 0.0, 0.1), (5.0, 0.0, 0.0)), "drain"),
        RiserLine(("c",), ((0.0, 0.0, 3.0), (0.0, 0.0, 6.0)), "vent"),
    )
    (drawing,) = draw(Riser("r", "R", apart, (), (("Level 1", 0.0),)), (), "r")
    ends = [{run.points.split()[0], run.points.split()[-1]} for run in drawing.runs]
    assert ends[0] & ends[1]
    assert ends[0] & ends[2]


def test_pipes_of_one_label_that_follow_one_another_are_lettered_once() -> None:
    ends = [(0.0, 0.0, 3.0 - n) for n in range(4)]
    lines = [_line(f"{n}", "drain", *ends[n : n + 2], "3 in · 6 DFU") for n in range(3)]
    lines.append(_line("v", "vent", (0.0, 0.0, 3.0), (0.0, 0.0, 3.9), "3 in"))
    (drawing,) = draw(Riser("r", "R", tuple(lines), (), (("Level 1", 0.0),)), (), "r")
    assert [word.text for word in drawing.words] == ["3 in · 6 DFU", "3 in"]
    assert drawing.left_off == 0


def test_a_label_is_a_whole_name_where_there_is_room_and_else_its_mark() -> None:
    forms = Label("Lavatory L-2 (Bath 2):4711 · 1 DFU", [(0.0, 0.0)]).forms()
    assert forms[0] == ("Lavatory L-2 (Bath 2) · 1 DFU",)
    assert ("Lavatory L-2", "(Bath 2)", "1 DFU") in forms
    assert forms[-1] == ("L-2",)
    assert Label("Lavatory - Wall Hung · 1 DFU", [(0.0, 0.0)]).forms()[-1] == ("Lavatory",)
    tub = Label("Bathtub with Shower, Pressure Balance Valve · 63 psi", [(0.0, 0.0)]).forms()
    assert ("Bathtub", "63 psi") in tub
    assert Label("1-1/2 in · 3 DFU", [(0.0, 0.0)]).forms()[-1] == ("1-1/2 in",)
    long = Label("Hose bibb HB-2 (rear), with vacuum breaker", [(0.0, 0.0)]).forms()
    assert long[0] == ("Hose bibb HB-2 (rear),", "with vacuum breaker")


def test_numbers_on_one_thing_stand_side_by_side_with_one_line_to_it() -> None:
    review = samples.full()
    items = numbered(review)[:6]
    sheet = Sheet(400, 400)
    sheet.take_box((190, 190, 210, 210))
    made = list(flags(sheet, Spots((), ((200.0, 200.0),), 7.0), items, "r"))
    assert [f.item for f in made] == list(items)
    assert sum(f.leader is not None for f in made) <= 1
    for one, other in itertools.combinations(made, 2):
        assert max(abs(one.x - other.x), abs(one.y - other.y)) >= 18


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize(
    ("at", "line", "stays"),
    [((100, 100), None, False), ((100, 400), None, True),
     ((300, 300), ((300, 290), (90, 90)), False), ((300, 300), ((300, 290), (300, 200)), True)],
)  # fmt: skip
def test_a_word_gives_way_to_a_number_and_its_line(
    turned: bool, at: Pixel, line: tuple[Pixel, Pixel] | None, stays: bool
) -> None:
    word = Word(100, 100, ("Lavatory",), "label", None, turned)
    number = Flag(*at, numbered(samples.full())[0], "mark", line)
    assert (kept([word], [number]) == [word]) == stays


def test_every_label_is_lettered_or_counted_as_left_off() -> None:
    riser = samples.house_riser()
    labels = {line.label for line in riser.lines} | {mark.label for mark in riser.marks}
    sheets = house()
    words = [word for sheet in sheets for word in sheet.words if word.style == "label"]
    for word in words:  # in full, or in fewer of its words
        assert any(set(word.text.split()) <= set(label.split()) for label in labels)
    assert len(words) + sum(sheet.left_off for sheet in sheets) >= len(labels - {""})


def test_words_that_find_no_room_are_counted() -> None:
    riser = samples.house_riser()
    lines = [replace(line, label=f"{n} in") for n in range(12) for line in riser.lines]
    crowded = replace(riser, lines=tuple(lines))
    assert sum(sheet.left_off for sheet in draw(crowded, (), "r")) > 0


def rack(count: int, *others: str) -> Riser:
    """Many pipes of one size 4 cm apart, between which no lettering fits, and some of other
    sizes."""
    sizes = [*["1/2 in"] * count, *others]
    lines = [
        _line(str(n), "cold", (0.0, 0.04 * n, 0.0), (0.6, 0.04 * n, 0.0), size)
        for n, size in enumerate(sizes)
    ]
    far = _line("far", "hot", (0.0, 0.0, 0.0), (0.0, 9.0, 3.0), "2 in")
    return Riser("r", "R", (*lines, far), ())


def test_the_usual_size_is_said_once_for_the_pipe_that_has_none_beside_it() -> None:
    sheets = draw(rack(40), (), "r")
    written = sum(word.text == "1/2 in" for sheet in sheets for word in sheet.words)
    assert written < 40
    assert {"cold": "1/2 in"} in [sheet.usual_sizes for sheet in sheets]
    assert sum(sheet.left_off for sheet in sheets) == 0


@pytest.mark.parametrize("others", [("3/4 in",) * 30, ("size?",) * 30, ("",)])
def test_no_usual_size_is_said_where_pipe_of_another_size_has_none_beside_it(
    others: tuple[str, ...],
) -> None:
    sheets = draw(rack(40, *others), (), "r")
    assert [sheet.usual_sizes for sheet in sheets] == [{}] * len(sheets)
    assert sum(sheet.left_off for sheet in sheets) > 0


def test_a_drawing_with_too_little_room_for_its_lettering_is_drawn_larger_on_more_sheets() -> None:
    """Twelve bathrooms side by side, each with its own sizes."""
    lines = []
    for n in range(12):
        x = 3.0 * n
        lines.append(_line(f"m{n}", "cold", (x, 0, 0), (x + 3, 0, 0), f"{n + 1} in"))
        for k in range(4):
            at = x + 0.4 * k
            lines.append(_line(f"b{n}.{k}", "cold", (at, 0, 0), (at, 0, 1), f"{n}-{k}/8 in"))
    sheets = draw(Riser("r", "R", tuple(lines), ()), (), "r")
    assert len(sheets) > 1
    assert sheets[1].title == f"R, sheet 2 of {len(sheets)}"
    assert all(sheet.width <= 1036 for sheet in sheets)
    assert all(meetings(sheet) == [] for sheet in sheets)
    words = {word.text for sheet in sheets for word in sheet.words}
    assert "→ sheet 2" in words
    assert len({line.label for line in lines} - words) <= 2


def test_an_end_that_a_fitting_joins_leaves_nothing_beside_the_paper() -> None:
    """The fixture stands at the pipe's own end, which is drawn at what it faces."""
    apart = (
        RiserLine(("a",), ((0.0, 0.0, 3.0), (0.0, 0.0, 0.2)), "drain"),
        RiserLine(("b",), ((0.1, 0.0, 0.1), (5.0, 0.0, 0.0)), "drain"),
        RiserLine(("c",), ((0.0, 0.0, 3.0), (0.0, 0.0, 6.0)), "vent"),
    )
    marks = (RiserMark("m", "fixture", (0.1, 0.0, 0.1), "Sink"),)
    (drawing,) = draw(Riser("r", "R", apart, marks, (("Level 1", 0.0),)), (), "r")
    (symbol,) = drawing.symbols
    assert 0 <= symbol.x <= drawing.width
    ends = [tuple(map(float, end.split(","))) for run in drawing.runs for end in run.points.split()]
    assert (symbol.x, symbol.y) in ends


def test_a_larger_pipe_is_a_heavier_line_and_an_unknown_size_the_thinnest() -> None:
    sizes = (None, 1.25, 2.0, 4.0, 6.0)
    lines = tuple(
        RiserLine((str(n),), ((0.0, 0.0, n), (1.0, 0.0, n)), "drain", size_in=size)
        for n, size in enumerate(sizes)
    )
    (drawing,) = draw(Riser("r", "R", lines, ()), (), "r")
    weights = [run.weight for run in drawing.runs]
    assert weights == sorted(weights)
    assert len(set(weights)) == len(sizes)


def test_storeys_of_an_isometric_are_marked_where_an_upright_run_passes_them() -> None:
    riser = samples.house_riser()
    gas = replace(riser, lines=tuple(replace(line, service="gas") for line in riser.lines))
    (drawing,) = draw(gas, (), "r")
    assert {line.storey for line in drawing.floor_lines} == {"Ground floor", "Upper floor", "Roof"}
    names = [word.text for word in drawing.words if word.style == "level"]
    assert any(name.startswith("Upper floor 3.10 m") for name in names)


def test_what_has_no_place_is_left_out() -> None:
    nan = float("nan")
    assert draw(Riser("r", "R", (), ()), (), "r") == []
    only_nan = (RiserMark("m", "p-trap", (nan, 0.0, 0.0)),)
    assert draw(Riser("r", "R", (), only_nan), (), "r") == []
    one = (RiserMark("m", "two-way", (5.0, 5.0, 5.0), "CO"),)
    (drawing,) = draw(Riser("r", "R", (), one), (), "r")
    assert drawing.symbol_names == ["cleanout"]


@pytest.mark.parametrize("far", [1e5, 1e7, 1e300])
def test_a_stray_point_does_not_swell_the_drawing(far: float) -> None:
    lines = (
        RiserLine(("a",), ((0.0, 0.0, 0.0), (1.0, 0.0, 0.0)), "drain"),
        RiserLine(("b",), ((0.0, 0.0, 0.0), (far, 0.0, 0.0)), "drain"),
    )
    sheets = draw(Riser("r", "R", lines, ()), (), "r")
    assert len(sheets) <= 10
    assert all(sheet.width <= 1036 for sheet in sheets)


def test_a_drawing_too_tall_for_a_sheet_of_paper_is_cut_at_storeys_and_nothing_is_lost() -> None:
    for drawing in draw(tower(), [], "tower"):
        slices = drawing.slices
        assert len(slices) > 1
        assert slices[0][0] == 0
        assert sum(slices[-1]) == pytest.approx(drawing.height, abs=0.2)
        for (top, height), (following, _) in itertools.pairwise(slices):
            assert height <= 1.2 * TALLEST
            assert following < top + height
            middle = (following + top + height) / 2
            assert min(abs(band.y - middle) for band in drawing.bands) < 1


def test_a_drawing_that_fits_a_sheet_is_not_cut() -> None:
    assert all(not drawing.slices for drawing in draw(samples.house_riser(), [], "house"))


def test_pipe_that_a_correction_changes_is_marked_where_it_is_drawn() -> None:
    riser = samples.house_riser()
    sheets = draw(riser, (), "r", frozenset({"s-1", "not drawn"}))
    runs = [run for sheet in sheets for run in sheet.runs]
    stack = [run.points for run in runs if run.tooltip.startswith("3 in · 11 DFU")]
    marked = [course for sheet in sheets for course in sheet.changed]
    assert marked == stack
    assert all(sheet.changed == [] for sheet in draw(riser, (), "r"))


def test_every_service_of_a_drain_is_told_in_words() -> None:
    assert {str(service) for service in Service} <= SERVICES.keys()


@pytest.mark.parametrize(("x", "stays"), [(150, False), (159, True), (200, True)])
def test_a_word_gives_way_to_a_number_on_the_line_to_it(x: float, stays: bool) -> None:
    word = Word(100, 300, ("Lavatory",), "label", ((150, 100), (150, 290)))
    number = Flag(x, 200, numbered(samples.full())[0], "mark")
    assert (kept([word], [number]) == [word]) == stays
