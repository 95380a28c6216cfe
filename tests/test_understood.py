"""The list of elements as they were understood: text, CSV and JSON of the same facts."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from pathlib import Path

import pytest

from ifclint import ifc
from ifclint.element_report import as_csv, as_json, as_text, rows
from ifclint.ifc.elements import (
    Confidence,
    Element,
    End,
    Model,
    Note,
    Properties,
    Role,
    System,
)

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="module")
def model() -> Model:
    return ifc.read([ROOT / "models" / "dwelling_early.ifc"])


def test_every_element_has_a_row_with_its_facts_and_their_basis(model: Model) -> None:
    made = rows(model)
    assert len(made) == len(model.elements)
    trap = next(r for r in made if r["name"] == "P-trap 1 in, L-3")
    assert (trap["role"], trap["kind"], trap["size_in"]) == ("trap", "p-trap", 1.0)
    assert trap["role_from"] == "IfcWasteTerminal WASTETRAP"
    assert trap["role_confidence"] == "stated"
    assert trap["kind_confidence"] == "read from words"


@pytest.mark.parametrize(
    ("places", "stated", "slope", "shown"),
    [
        (((0, 0, 1), (3, 4, 0.9)), None, 0.02, "(2 %)"),
        (((0, 0, 1), (3, 4, 1)), 0.5, 0.0, "0 in/ft (0 %)"),
        (((0, 0, 1), (0, 0, 0)), None, None, ""),
        ((), 0.005, 0.005, "(0.5 %)"),
    ],
)
def test_the_slope_of_a_pipe_is_as_drawn_else_as_stated(places, stated, slope, shown) -> None:
    ends = [End(place) for place in places]
    pipe = Element("G", "P", role=Role.PIPE, system=System.SANITARY, slope=stated, ends=ends)
    (row,) = made = rows(Model(elements=[pipe]))
    assert row["slope"] == slope
    assert shown in as_text(made, 1)
    assert ("in/ft" in as_text(made, 1)) is bool(shown)


def test_only_the_unknown(model: Model) -> None:
    made = rows(model, only_unknown=True)
    assert 0 < len(made) < len(model.elements) / 10
    assert all(row["unknown"] or row["doubts"] for row in made)
    sizeless = next(r for r in made if "floor drain branch" in str(r["name"]))
    assert "size" in str(sizeless["unknown"])


def test_a_size_is_shown_as_the_model_names_it(model: Model) -> None:
    pipe = Element(
        "G", "P", role=Role.PIPE, size_in=4.0, properties=Properties(designation="DN 100")
    )
    made = rows(Model(elements=[pipe, replace(pipe, guid="H", properties=Properties())]))
    assert [r["designation"] for r in made] == ["DN 100", None]
    text = as_text(made, 2)
    assert "4 in (DN 100) · " in text
    assert "4 in · " in text
    assert {r["designation"] for r in rows(model)} == {None}  # a model in inches


def test_several_doubts_are_told_one_by_one_and_those_of_the_file_at_the_end() -> None:
    pipe = Element("G", "P", role=Role.PIPE, size_in=4.0)
    notes = [
        Note("In two systems.", "Take one.", "G"),
        Note("Of two sizes.", "State one.", "G"),
        Note("Two files lie far apart.", "Check where they are placed."),
    ]
    made = rows(Model(elements=[pipe], notes=notes))
    assert made[0]["doubts"] == ["In two systems. Take one.", "Of two sizes. State one."]
    assert json.loads(as_json(made))[0]["doubts"] == made[0]["doubts"]
    (from_csv,) = csv.DictReader(io.StringIO(as_csv(made)))
    assert from_csv["doubts"] == "In two systems. Take one.; Of two sizes. State one."
    lines = as_text(made, 1, notes).splitlines()
    doubtful = [line.strip() for line in lines if "doubtful" in line]
    assert doubtful == ["doubtful  In two systems. Take one.", "doubtful  Of two sizes. State one."]
    assert "noted  Two files lie far apart. Check where they are placed." in lines


def test_csv_and_json_say_the_same(model: Model) -> None:
    made = rows(model)
    from_csv = list(csv.DictReader(io.StringIO(as_csv(made))))
    from_json = json.loads(as_json(made))
    assert [r["global_id"] for r in from_csv] == [r["global_id"] for r in from_json]
    assert [r["system_from"] or None for r in from_csv] == [r["system_from"] for r in from_json]
    assert f"{len(made)} of {len(made)} elements shown" in as_text(made, len(made))


CONFIDENCE = {
    "IfcPipeSegment RIGIDSEGMENT": Confidence.STATED,
    "Pset_PipeSegmentTypeCommon.NominalDiameter of the type": Confidence.STATED,
    "material": Confidence.STATED,
    "words of the name": Confidence.WORDS,
    "type name": Confidence.WORDS,
    "shape told by words of the object type": Confidence.SHAPE,
    "extruded solid": Confidence.SHAPE,
    "angle of its ends": Confidence.SHAPE,
    "pipe ends inside its shape": Confidence.INFERRED,
    "spread along connections": Confidence.INFERRED,
    "by elevation": Confidence.INFERRED,
}


def test_each_basis_says_how_far_it_can_be_trusted(model: Model) -> None:
    restaurant = ifc.read([ROOT / "models" / "restaurant_early.ifc"])
    known = {
        basis.words: basis.confidence
        for element in (*model.elements, *restaurant.elements)
        for basis in element.basis.values()
    }
    assert {words: known.get(words) for words in CONFIDENCE} == CONFIDENCE
