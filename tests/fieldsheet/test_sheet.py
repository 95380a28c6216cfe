"""The sheet as a whole: nothing the review found is lost, and what is written can be read."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from typer.testing import CliRunner

from ifclint.cli import app
from ifclint.engineering.units import M3_PER_US_GAL
from ifclint.fieldsheet import FieldSheet, field_sheet
from ifclint.fieldsheet.sheet import Look, Stage, TakeoffPiece
from ifclint.fieldsheet.walking import lines
from ifclint.fieldsheet.writing import as_csv, as_html, numbers
from ifclint.findings import Outcome, Review
from ifclint.ifc.elements import Role, System
from ifclint.packs import load_packs
from ifclint.plumbing.context import Context
from ifclint.report.arrange import numbered
from ifclint.review import review_with_context
from tests.reviewing import reviewed_demo

MODELS = Path(__file__).parents[2] / "models"
Made = tuple[FieldSheet, Review, Context]


@pytest.fixture(scope="module", params=["dwelling_early", "restaurant_early"])
def made(request: pytest.FixtureRequest) -> Made:
    review, context = reviewed_demo(request.param)
    return field_sheet(review, context), review, context


def test_every_correction_is_walked_and_taken_off(made: Made) -> None:
    sheet, review, _ = made
    every = set(range(1, len(review.corrections) + 1))
    assert every
    assert {n for look in sheet.looks for n in look.corrections} == every
    assert {n for piece in sheet.takeoff for n in piece.corrections} == every


def test_every_open_question_is_walked(made: Made) -> None:
    sheet, review, _ = made
    asked = {i.number for i in numbered(review) if i.finding.outcome is Outcome.UNVERIFIED}
    assert asked
    assert {n for look in sheet.looks for n in look.open_items} == asked


def test_pipe_taken_off_is_the_pipe_that_changes(made: Made) -> None:
    """Feet of pipe in new sizes, against the lengths of the pipes that the corrections name."""
    sheet, review, context = made
    wanted = {
        guid for c in review.corrections for change in c.changes if change.what == "size"
        for guid in change.element_ids
    }  # fmt: skip
    pipes = [
        e for e in context.plumbing.network.elements
        if e.guid in wanted and e.role is Role.PIPE and e.length_m is not None
    ]  # fmt: skip
    feet = sum(e.length_m or 0.0 for e in pipes) / 0.3048
    taken = [p for p in sheet.takeoff if p.unit == "ft" and p.what != "pipe to hang anew"]
    assert feet > 10
    assert sum(p.quantity for p in taken) == pytest.approx(feet)


def test_every_walked_rule_is_a_rule_and_stands_on_one_line() -> None:
    known = {rule.name for pack in load_packs().loaded for rule in pack.rules}
    named = [rule for line in lines() for rule in line.rules]
    assert set(named) <= known
    assert len(named) == len(set(named))
    for line in lines():
        assert line.stages
        assert line.of <= {
            "drain", "vent", "water", "gas", "storm", "fixture", "appliance", "heater",
            "interceptor",
        }  # fmt: skip


def test_the_table_holds_the_sheet(made: Made) -> None:
    sheet, _, _ = made
    rows = list(csv.DictReader(io.StringIO(as_csv(sheet))))
    assert [r["item"] for r in rows if r["part"] == "walk"] == [k.text for k in sheet.looks]
    held = [r for r in rows if r["item"].endswith("contents of its pipe")]
    assert [float(r["quantity"]) for r in held] == pytest.approx(
        [s.contents_m3 / M3_PER_US_GAL for s in sheet.sections], abs=1e-3
    )
    assert all(r["as_found"] == "" for r in rows)


def test_the_page_has_a_box_for_every_line(made: Made) -> None:
    sheet, _, _ = made
    page = as_html(sheet)
    boxes = page.count('<td class="box"><i></i></td>')
    assert boxes == len(sheet.looks) + len(sheet.procedures) + len(sheet.takeoff)
    assert not re.search(r"https?://|<script", page)
    colours = set(re.findall(r"#[0-9a-fA-F]{3,6}\b", page))
    assert colours <= {"#000", "#fff"}  # black and white


def _hostile(sheet: FieldSheet) -> Iterator[FieldSheet]:
    text = '=1+1<img src=x onerror="y">\u202e'
    look = Look(Stage.FINISH, text, text)
    piece = TakeoffPiece(text, "", text, 1.0, "pcs", (1,), text)
    yield replace(sheet, job=text, looks=(look,), takeoff=(piece,), notes=(text,))


def test_words_of_a_model_do_no_harm(made: Made) -> None:
    for sheet in _hostile(made[0]):
        page, table = as_html(sheet), as_csv(sheet)
        assert "<img" not in page
        assert "\u202e" not in page + table
        cells = [c for row in csv.reader(io.StringIO(table)) for c in row]
        assert not [c for c in cells if c.startswith("=")]


def test_long_lists_of_numbers_are_cut() -> None:
    assert numbers((3, 7)) == "3, 7"
    assert numbers(tuple(range(1, 9))) == "1, 2, 3, 4, 5, 6, 7, 8"
    assert numbers(tuple(range(1, 11))) == "1, 2, 3, 4, 5, 6, 7, 8 and 2 more"


def test_the_command_writes_both(tmp_path: Path) -> None:
    model, job = MODELS / "dwelling_corrected.ifc", MODELS / "dwelling_corrected.toml"
    ran = CliRunner().invoke(
        app, ["fieldsheet", str(model), "--job", str(job), "--out", str(tmp_path / "sheet")]
    )
    assert ran.exit_code == 0, ran.output
    page = (tmp_path / "sheet" / "fieldsheet.html").read_text(encoding="utf-8")
    assert "The review asks for no correction." in page
    assert (tmp_path / "sheet" / "fieldsheet.csv").exists()


def test_a_model_without_plumbing_still_has_a_sheet(tmp_path: Path) -> None:
    path = MODELS / "restaurant_architecture.ifc"
    sheet = field_sheet(*review_with_context([path], code="irc-2021"))
    assert sheet.sections == ()
    assert sheet.notes[0].startswith("The review says: ")
    assert "The review asks for no correction." in as_html(sheet)
    words = ["fieldsheet", str(path), "--code", "irc-2021", "--out", str(tmp_path / "sheet")]
    assert CliRunner().invoke(app, words).exit_code == 2


def test_nobody_walks_a_foundation_above_the_slab(made: Made) -> None:
    sheet, _, _ = made
    assert "Foundation" not in {look.storey for look in sheet.looks}
    underground = {k.storey for k in sheet.looks if k.stage is Stage.UNDERGROUND}
    assert underground == {"Level 1"}


def test_vents_through_the_roof_are_walked_at_the_top_out(made: Made) -> None:
    sheet, _, _ = made
    top = [k for k in sheet.looks if k.stage is Stage.TOP_OUT]
    assert any("reaches the open air" in k.text for k in top)
    assert not any("drain" in k.text and "Level on" in k.text for k in top)


def test_what_is_not_tested_is_said(made: Made) -> None:
    sheet, _, context = made
    relief = [
        e for e in context.plumbing.network.elements
        if e.role is Role.PIPE and e.system is System.RELIEF
    ]  # fmt: skip
    said = [note for note in sheet.notes if note.startswith("No test stands here")]
    assert bool(relief) == any(f"{len(relief)} of relief discharge" in note for note in said)
