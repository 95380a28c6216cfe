"""The calculation summary: every figure is one of the schedules, and what is missing is said."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from html import unescape
from pathlib import Path

import pytest

from ifclint.findings import Review, Schedule
from ifclint.report.exchange.sources import SourceLines
from ifclint.report.exchange.summary import fixture_lines, parts, summary_bytes
from tests.report import samples
from tests.reviewing import reviewed_demo

MODEL = Path(__file__).parents[2] / "models/dwelling_early.ifc"


def page(done: Review) -> str:
    return summary_bytes(done, SourceLines(())).decode()


@pytest.fixture(scope="module")
def demo() -> Review:
    return reviewed_demo("dwelling_early")[0]


def lines_of(done: Review, title: str) -> dict[str, tuple[str, str, str]]:
    part = next(p for p in parts(done) if p.title == title)
    return {line.item: (line.figure, line.allowed, line.source) for line in part.lines}


@pytest.mark.parametrize("sample", [samples.empty, samples.passing, samples.full, samples.hostile])
def test_one_page_that_needs_nothing_else(sample: Callable[[], Review]) -> None:
    text = page(sample())
    assert text == page(sample())
    assert "default-src 'none'" in text
    assert not re.search(r"<(script|img|link|a|iframe)[ >]|<[^>]* (src|href)=", text)
    assert "Plumbing calculation summary" in text


def test_what_no_schedule_holds_is_said() -> None:
    empty = parts(replace(samples.empty(), schedules=()))
    assert [line.item for part in empty for line in part.lines] == [
        "Nothing in the model, or not reviewed"
    ] * len(empty)
    assert fixture_lines(replace(samples.empty(), schedules=())) == []


def test_the_sums_of_fixture_units_are_those_of_the_schedule(demo: Review) -> None:
    rows = next(s.rows for s in demo.schedules if s.key == "fixtures")
    everything = fixture_lines(demo)[-1]
    washers = [r["fixture"] for r in rows].count("clothes washer")
    assert (washers, everything.count) == (2, len(rows) - 1)  # one washer and its standpipe
    assert everything.dfu == sum(r["dfu"] for r in rows if isinstance(r["dfu"], (int, float)))


def test_the_sewer_outside_stands_with_what_it_needs(demo: Review) -> None:
    """The early house has a sewer of 3 in from its south wall on, where 25 DFU ask for 4 in."""
    lines = lines_of(demo, "Building drain and sewer")
    figure, allowed, _ = lines["Building sewer, the most loaded"]
    assert figure.startswith("3 in drawn, 4 in needed at 1/4 in/ft")
    assert "25 DFU" in figure
    assert allowed == "35 DFU"


def test_a_sewer_that_nothing_tells_apart_is_said_to_be_so(demo: Review) -> None:
    told = [replace(s, rows=tuple(_inside(r) for r in s.rows)) for s in demo.schedules]
    lines = lines_of(replace(demo, schedules=tuple(told)), "Building drain and sewer")
    assert lines["Building sewer"][0] == "not told apart in the model"


def _inside(row: Mapping[str, object]) -> dict[str, object]:
    part = str(row.get("part", "")).replace(" and sewer", "").replace("sewer", "drain")
    return {**row, "part": part}


def test_the_meters_stand_with_their_sizes(demo: Review) -> None:
    assert lines_of(demo, "Water service")["Water meter"][0] == "1 in"
    assert lines_of(demo, "Fuel gas")["Gas meter"][0] == "3/4 in"


def test_no_line_of_the_pressure_budget_is_cut(demo: Review) -> None:
    items = lines_of(demo, "Pressure budget of the critical fixture")
    assert items
    assert not [item for item in items if item.endswith("…")]


def test_the_building_drain_stands_with_load_capacity_and_table(demo: Review) -> None:
    drains = next(s.rows for s in demo.schedules if s.key == "drains")
    most = max(r["dfu"] for r in drains if str(r["part"]).startswith("building drain"))
    figure, allowed, source = lines_of(demo, "Building drain and sewer")[
        "Building drain, the most loaded"
    ]
    assert f"{most:g} DFU" in figure
    assert allowed.endswith("DFU")
    assert "UPC 2021 Table 703.2" in source
    assert "from memory" in source


def test_the_steps_of_the_budget_still_end_at_the_residual(demo: Review) -> None:
    rows = next(s.rows for s in demo.schedules if s.key == "pressure-budget")
    said = lines_of(demo, "Pressure budget of the critical fixture")
    assert len(said) < len(rows)
    residual = next(r["psi"] for r in rows if r["step"] == "Residual pressure")
    assert said["Residual pressure"][0] == f"{residual:.1f} psi"


def test_the_connected_load_is_the_sum_of_all_inputs(demo: Review) -> None:
    rows = next(s.rows for s in demo.schedules if s.key == "gas-appliances")
    load = sum(r["input_btu_h"] for r in rows)
    figure, _, source = lines_of(demo, "Fuel gas")[f"Connected load, {len(rows)} appliances"]
    assert figure == f"{load:,.0f} Btu/h"
    assert source == "model"


def test_a_size_that_a_correction_asks_for_stands_beside_the_size_drawn(demo: Review) -> None:
    drains = next(s for s in demo.schedules if s.key == "drains")
    rows = tuple(
        {**r, "size_in": 3.0, "needed_in": 4.0} if r["part"] == "building drain" else r
        for r in drains.rows
    )
    changed = replace(demo, schedules=(replace(drains, rows=rows),))
    figure = lines_of(changed, "Building drain and sewer")["Building drain, the most loaded"][0]
    assert figure.startswith("3 in drawn, 4 in needed")


def test_code_amendments_and_open_corrections_stand_on_top(demo: Review) -> None:
    amended = replace(demo, amendments=("UPC 2021 Table 703.2: max_dfu 200 <b>",))
    text = page(amended)
    head = unescape(text.partition("Fixture units")[0])
    assert demo.adopted_code.title in head
    assert "max_dfu 200" in head
    assert "<b>\n" not in text.partition("Amendment")[2][:200]
    assert f"{len(demo.corrections)} corrections" in head
    assert demo.models[0].sha256[:16] in head


def test_one_correction_is_no_more_than_one(demo: Review) -> None:
    head = page(replace(demo, corrections=demo.corrections[:1]))
    assert "1 correction and " in head
    assert "1 corrections" not in head


@pytest.mark.parametrize("left_out", ["dfu", "wsfu"])
def test_units_that_no_pack_counted_are_no_zeros(demo: Review, left_out: str) -> None:
    assert '<th class="number">DFU</th><th class="number">WSFU</th>' in page(demo)
    fixtures = next(s for s in demo.schedules if s.key == "fixtures")
    columns = tuple(c for c in fixtures.columns if c.key != left_out)
    rows = tuple({k: v for k, v in row.items() if k != left_out} for row in fixtures.rows)
    text = page(replace(demo, schedules=(replace(fixtures, columns=columns, rows=rows),)))
    table = text.partition("Fixture units")[2].partition("<h2>")[0]
    assert f">{left_out.upper()}<" not in table
    assert table.count("<tr") * 3 == table.count("<td") + table.count("<th ") + table.count("<th>")


@pytest.mark.parametrize(
    ("rows", "count", "unknown"),
    [
        ([(3.0, ""), ("", 4.0)], 1, set()),  # a standpipe, and the washer that hangs in it
        ([(3.0, 4.0), (3.0, 4.0)], 2, set()),
        ([(3.0, 4.0), (3.0, "")], 2, set()),
        ([("", None)], 1, {"wsfu"}),
        ([("", None), ("", 1.0)], 2, set()),
    ],
)
def test_fixtures_are_counted_once_and_what_is_not_known_is_no_zero(rows, count, unknown) -> None:
    written = tuple({"fixture": "x", "dfu": dfu, "wsfu": wsfu} for dfu, wsfu in rows)
    schedule = Schedule("fixtures", "Fixtures", (), written, "")
    line = fixture_lines(replace(samples.empty(), schedules=(schedule,)))[0]
    assert (line.count, set(line.unknown)) == (count, unknown)


@pytest.mark.parametrize(
    ("volumes", "lines"),
    [
        ([50] * 8, ["8 x Heater"]),
        ([50, 50, 40], ["2 x Heater", "Heater"]),
        (list(range(40, 48)), ["Heater"] * 6 + ["and 2 more"]),
    ],
)
def test_no_heater_is_left_out_in_silence(
    demo: Review, volumes: list[int], lines: list[str]
) -> None:
    (own,) = (s for s in demo.schedules if s.key == "water-heaters")
    rows = tuple(
        {**own.rows[0], "heater": f"Heater:{n:06d}", "stored_gal": v} for n, v in enumerate(volumes)
    )
    others = tuple(s for s in demo.schedules if s.key != "water-heaters")
    done = replace(demo, schedules=(*others, replace(own, rows=rows)))
    part = next(p for p in parts(done) if p.title == "Water heaters")
    assert [line.item for line in part.lines] == lines
