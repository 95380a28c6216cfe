"""Models of another habit: disks swept along lines, ports without a place, a set per element."""

from __future__ import annotations

import numpy as np
import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Role
from ifclint.ifc.facts import properties
from ifclint.ifc.joints import ports
from ifclint.ifc.shape import shapes
from ifclint.ifc.step.columns import texts
from ifclint.ifc.step.text_index import TextIndex
from tests.bench.swept_disks import write_swept_disks

LENGTH_M = 1.5 * (1 + 1 / 48**2) ** 0.5


@pytest.fixture
def model(tmp_path):
    path = tmp_path / "runs.ifc"
    assert write_swept_disks(path, 25) == 25
    return path


def test_pipes_are_read_with_size_ends_and_length(model):
    found = read(model)
    pipes = [e for e in found.elements if e.role is Role.PIPE]
    assert len(pipes) == 25
    assert len(found.elements) == 25 + 9 + 9 + 4
    assert len(found.joints) == 9 * 2 + 9 * 2 + 4 * 2
    for pipe in pipes:
        assert pipe.size_in == 2.0
        assert pipe.length_m == pytest.approx(LENGTH_M)
        assert pipe.properties["outside_diameter_m"] == pytest.approx(0.060325)
        assert [e.name[:3] for e in pipe.ends] == ["InP", "Out"]
        (x, y, z), (x2, y2, z2) = (e.position for e in pipe.ends)
        assert (abs(x2 - x), y2 - y, z2 - z) == pytest.approx((1.5, 0.0, -0.03125))
    assert found.notes == []


def _same_one_by_one(model, monkeypatch):
    at_once = read(model)
    monkeypatch.setattr(properties, "property_lines", lambda *_: {})
    monkeypatch.setattr(ports, "_as_columns", lambda *_: None)
    monkeypatch.setattr(shapes, "read_swept_disks", lambda *_: {})
    return read(model) == at_once


def test_all_at_once_and_one_by_one_are_the_same(model, monkeypatch):
    assert _same_one_by_one(model, monkeypatch)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("30.1625,26.2128,0.,1.", "30.1625,$,$,$"),
        ("30.1625,26.2128,0.,1.", "0.,26.2128,0.,1."),
        ("IFCTEXT('2\"", "IFCTEXT('4\""),
        ("'Length',$", "'Len''gth',$"),
        ("'Mechanical',$", "'Mech (a)','it''s ''Size'''"),
        ("$,'InPort_1000020',$", "#1,'In, ''Port''',$"),
        (".PIPE.,.DRAINAGE.", ".DUCT.,.VENTILATION."),
        (",.SINK.,.PIPE.,.DRAINAGE.)", ",$,$,$)"),
        ("#25=IFCPOLYLINE((#23,#24))", "#25=IFCPOLYLINE((#23))"),
        ("#23=IFCCARTESIANPOINT((0.,0.,0.))", "#23=IFCCARTESIANPOINT((0.,0.))"),
        ("#25=IFCPOLYLINE((#23,#24))", "#25=IFCPOLYLINE((#23,#999999999))"),
    ],
)
def test_odd_ones_among_them_are_read_the_same(model, monkeypatch, old, new):
    text = model.read_text()
    assert old in text
    model.write_text(text.replace(old, new))
    assert _same_one_by_one(model, monkeypatch)


@pytest.mark.parametrize("owner", ["$", "#1"])
def test_a_port_without_a_place_has_none(model, owner):
    model.write_text(model.read_text().replace("B',$,'InPort", f"B',{owner},'InPort"))
    elbow = next(e for e in read(model).elements if e.role is Role.FITTING)
    assert [end.flow for end in elbow.ends] == ["in", "out"]
    assert [end.position for end in elbow.ends] == [None, None]


def test_pieces_of_text_are_compared_to_their_last_letter(model):
    text = TextIndex(model.read_bytes())
    rows = text.rows(b"IFCPROPERTYSINGLEVALUE")
    codes, examples = texts(text, text.opens[rows] + 1, text.ends[rows] - 1)
    written = text.arguments(rows)
    assert len(examples) == len(set(written)) > 64
    assert [written[row] for row in examples[codes].tolist()] == written
    nothing = np.zeros(0, dtype=np.int64)
    assert [len(found) for found in texts(text, nothing, nothing)] == [0, 0]
