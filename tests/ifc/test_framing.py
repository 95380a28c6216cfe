"""Studs, joists, hangers and nail plates, and how far a fixture is turned."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from tests.ifc.small_models import SmallModel


@pytest.mark.parametrize("schema", ["IFC2X3", "IFC4"])
def test_studs_and_joists_are_told_by_their_names(tmp_path, schema):
    m = SmallModel(schema)
    m.block("IfcMember", "Wall stud 2x4", (0, 0, 0), (0.038, 0.089, 2.4))
    m.block("IfcBeam", "Floor Joist 2x10", (0, 0, 2.4), (0.038, 4, 2.635))
    m.block("IfcBeam", "Ridge beam", (0, 0, 5), (0.1, 4, 5.3))
    m.block("IfcMember", "Studio rail", (0, 0, 0), (1, 1, 1))
    m.pipe((0, 0, 0), (1, 0, 0), name="Pipe")
    model = read(m.write(tmp_path))
    assert {(s.kind, s.name) for s in model.surfaces} == {
        ("stud", "Wall stud 2x4"),
        ("joist", "Floor Joist 2x10"),
    }
    (joist,) = (s for s in model.surfaces if s.kind == "joist")
    assert joist.high == pytest.approx((0.038, 4, 2.635))
    assert model.notes == []


def test_studs_and_joists_are_told_by_their_predefined_type(tmp_path):
    m = SmallModel("IFC4")
    m.block("IfcMember", "A", (0, 0, 0), (0.038, 0.089, 2.4)).PredefinedType = "STUD"
    m.block("IfcBeam", "B", (0, 0, 2.4), (0.038, 4, 2.635)).PredefinedType = "JOIST"
    m.block("IfcMember", "C", (0, 0, 2.4), (0.038, 4, 2.635)).PredefinedType = "PLATE"
    m.pipe((0, 0, 0), (1, 0, 0), name="Pipe")
    assert [(s.kind, s.name) for s in read(m.write(tmp_path)).surfaces] == [
        ("stud", "A"),
        ("joist", "B"),
    ]


def test_hangers_and_nail_plates_are_known_and_join_nothing(tmp_path):
    m = SmallModel("IFC4")
    m.pipe((0, 0, 0), (1, 0, 0), name="Pipe")
    m.block("IfcDiscreteAccessory", "Clevis hanger 1 in", (0.4, -0.1, -0.1), (0.6, 0.1, 0.3))
    m.block("IfcMechanicalFastener", "Nail plate", (0.2, 0, 0), (0.3, 0.1, 0.1))
    m.block("IfcDiscreteAccessory", "Anchor bolt", (0, 0, 0), (0.1, 0.1, 0.1))
    m.block("IfcPipeFitting", "Pipe strap", (0.8, -0.1, -0.1), (0.9, 0.1, 0.1))
    model = read(m.write(tmp_path))
    found = {e.name: (e.role.value, e.kind) for e in model.elements if e.name != "Pipe"}
    assert found == {
        "Clevis hanger 1 in": ("other", "hanger"),
        "Nail plate": ("other", "nail-plate"),
        "Pipe strap": ("other", "hanger"),
    }
    assert model.joints == []


def test_how_far_a_fixture_is_turned(tmp_path):
    m = SmallModel("IFC4")
    m.block("IfcSanitaryTerminal", "Toilet A", (0, 0, 0), (0.4, 0.7, 0.7))
    turned = m.block("IfcSanitaryTerminal", "Toilet B", (0, 0, 0), (0.4, 0.7, 0.7))
    turned.ObjectPlacement = m.placement((3, 3, 0), (0.0, 0.0, 1.0), (0.5, 0.8660254, 0.0))
    found = {e.name: e.turned_deg for e in read(m.write(tmp_path)).elements}
    assert found == {"Toilet A": pytest.approx(0.0), "Toilet B": pytest.approx(60.0)}
