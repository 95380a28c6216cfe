"""Names are made safe once, where they enter: nothing of a model drives a terminal or a sheet."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from ifclint.element_report import as_csv, as_text, rows
from ifclint.ifc import read
from ifclint.ifc.step.text import clean
from tests.ifc.small_models import SmallModel

HARMFUL = ("\x1b", "\x07", "\n", "\u202e", "\u2066", "\u200b", "\u200f", "\u061c", "\ufeff", "\x9b")


@pytest.mark.parametrize("mark", HARMFUL)
def test_what_drives_a_terminal_or_hides_text_goes(mark: str) -> None:
    assert mark not in clean(f"Sink{mark}one")
    assert clean(f"Sink{mark}one").replace(" ", "") == "Sinkone"


def test_no_name_of_a_model_reaches_a_terminal_raw(tmp_path: Path) -> None:
    m = SmallModel("IFC4", "METRE")
    m.pipe((0, 0, 0), (4, 0, -0.1), diameter=0.1, name="=HYPERLINK(1)")
    text = m.write(tmp_path).read_text(encoding="utf-8")
    assert "=HYPERLINK(1)" in text
    sly = r"\X\1B[31m\X2\202E\X0\@Pipe"
    path = tmp_path / "sly.ifc"
    path.write_text(text.replace("=HYPERLINK(1)", sly), encoding="utf-8")
    model = read([path])
    shown = as_text(rows(model), len(model.elements), model.notes)
    assert "[31m@Pipe" in shown
    assert not any(mark in shown for mark in HARMFUL if mark != "\n")


@pytest.mark.parametrize("first", ["=", "+", "-", "@"])
def test_no_cell_is_a_formula(tmp_path: Path, first: str) -> None:
    m = SmallModel("IFC4", "METRE")
    m.pipe((0, 0, 0), (4, 0, -0.1), diameter=0.1, name=f"{first}1+1")
    made = rows(read([m.write(tmp_path)]))
    (row,) = [r for r in csv.DictReader(io.StringIO(as_csv(made))) if r["name"].endswith("1+1")]
    assert row["name"] == f"'{first}1+1"
