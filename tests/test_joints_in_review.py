"""What reading joins and leaves apart, as a review tells it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from typer.testing import CliRunner

from ifclint.cli import app
from ifclint.element_report import rows
from ifclint.ifc import read
from tests.ifc.small_models import SmallModel

SCHEMA = Path(__file__).parent.parent / "ifclint" / "report" / "findings.schema.json"


def _model(folder: Path, gap_m: float = 0.012) -> Path:
    """A closet whose branch meets the side of a drain without a fitting; the drain has a gap, and
    five vents meet at one point without a fitting."""
    m = SmallModel("IFC4", "MILLIMETRE")
    m.element("IfcSanitaryTerminal", "WC", predefined="TOILETPAN", at=m.placement((1, 1, 0)))
    drain = {
        "Drop": ((1, 1, 0), (1, 1, -0.3)),
        "Branch": ((1, 1, -0.3), (1, 0, -0.32)),
        "Drain, upper": ((0, 0, -0.3), (4, 0, -0.38)),
        "Drain, lower": ((4 + gap_m, 0, -0.38 - 0.02 * gap_m), (8, 0, -0.46)),
    }
    vent = {
        "Vent A": ((5, 5, 3), (6, 5, 3)),
        "Vent B": ((5, 5, 3), (5, 6, 3)),
        "Vent C": ((5, 5, 3), (5, 5, 4)),
        "Vent D": ((5, 5, 3), (6, 6, 4)),
        "Vent E": ((5, 5, 3), (4, 6, 4)),
    }
    for system, literal, pipes in (("Sanitary", "SEWAGE", drain), ("Vents", "VENT", vent)):
        made = [m.pipe(*ends, name=name, diameter=0.1143) for name, ends in pipes.items()]
        for pipe in made:
            m.material(pipe, "PVC DWV Schedule 40")
        m.system(system, made, literal)
    return m.write(folder)


def _review(folder: Path, model: Path, *more: str) -> tuple[dict[str, Any], str, str]:
    words = ["review", str(model), "--code", "ipc-2021", "--out", str(folder / "out"), *more]
    done = CliRunner().invoke(app, words)
    assert done.exit_code in (0, 1, 2), done.output
    document = json.loads((folder / "out" / "findings.json").read_text(encoding="utf-8"))
    jsonschema.validate(document, json.loads(SCHEMA.read_text()))
    page = (folder / "out" / "report.html").read_text(encoding="utf-8")
    return document, page, " ".join(done.output.split())


def _said(document: dict[str, Any], rule: str) -> list[str]:
    return [f["subject"] for f in document["findings"] if f["rule"] == rule]


def test_joints_gaps_and_tolerance_are_stated(tmp_path: Path) -> None:
    document, page, stated = _review(tmp_path, _model(tmp_path))
    network = document["network"]
    assert (network["joints"], network["inferred_joints"]) == (4, 4)
    assert network["bridged_joints"] == 1
    assert network["widest_gap_m"] == pytest.approx(0.012, abs=1e-5)
    assert network["joining_tolerance_m"] == 0.01
    assert network["islands"] == 1 + 5
    assert (
        "4 joints, 100 % of them inferred with a tolerance of 10 mm (1 across gaps of up to 12 mm)"
        in stated
    )
    assert "the report has 1 note on reading" in stated
    words = " ".join(page.split())
    assert "were inferred with a tolerance of 10.0 mm: ends that meet, pipes that point at" in words
    assert "1 of these joins what lies farther apart, up to 12 mm" in words


def test_a_closet_drains_through_the_side_of_a_pipe_and_across_the_gap(tmp_path: Path) -> None:
    document, _, _ = _review(tmp_path, _model(tmp_path))
    (reaches,) = [c for c in document["coverage"] if c["rule"] == "fixture-reaches-outlet"]
    assert (reaches["subjects"], reaches["passed"]) == (1, 1)
    open_ends = _said(document, "ends-are-joined")
    assert not [s for s in open_ends if "Branch" in s or "Drop" in s]


def test_the_list_of_elements_names_the_gap(tmp_path: Path) -> None:
    stated = {row["name"]: row["widest_gap_m"] for row in rows(read(_model(tmp_path)))}
    assert stated["Drain, lower"] == stated["Drain, upper"] == pytest.approx(0.012, abs=1e-5)
    assert stated["Branch"] is None


def test_with_a_close_tolerance_the_gap_is_open(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text('[reading]\njoining_tolerance = "4 mm"\n')
    document, page, _ = _review(tmp_path, _model(tmp_path), "--job", str(job))
    network = document["network"]
    assert (network["joints"], network["bridged_joints"], network["widest_gap_m"]) == (3, 0, 0)
    assert network["joining_tolerance_m"] == 0.004
    assert network["islands"] == 2 + 5  # the drain in two parts, and five lone vents
    assert "inferred with a tolerance of 4.0 mm" in page
    assert "farther apart" not in page


def test_a_crowd_without_a_fitting_is_noted_and_its_pipes_are_open(tmp_path: Path) -> None:
    document, page, _ = _review(tmp_path, _model(tmp_path))
    (note,) = [n for n in document["network"]["notes"] if "More than two ends" in n]
    assert "Vent A, Vent B, Vent C, Vent D, Vent E" in note
    assert "Vent A, Vent B, Vent C" in page
    open_ends = " ".join(_said(document, "ends-are-joined"))
    assert all(f"Vent {letter}" in open_ends for letter in "ABCDE")
