"""The box of an element is the box of its body: what is drawn beside it in plan, and what a surface
is steered by, is no part of it."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from tests.ifc.small_models import SmallModel


def box_of(tmp_path, m, shape):
    m.element("IfcSanitaryTerminal", "Basin", at=m.placement((1, 2, 0)), shape=shape)
    (basin,) = read(m.write(tmp_path)).elements
    return basin.box


def line(m, *points):
    return m.file.create_entity("IfcPolyline", [m.point(p) for p in points])


def plan(m, *, identifier, mapped):
    """A representation of one line, far longer than the body, or of a shared one."""
    create = m.file.create_entity
    item, kind = line(m, (-5.0, 0.0), (5.0, 0.0)), "Curve2D"
    if mapped:
        source = create("IfcShapeRepresentation", m.context, identifier, kind, [item])
        shared = create("IfcRepresentationMap", m.axes((0, 0, 0)), source)
        to = create("IfcCartesianTransformationOperator3D", None, None, m.point((0, 0, 0)), 1.0)
        item, kind = create("IfcMappedItem", shared, to), "MappedRepresentation"
    return create("IfcShapeRepresentation", m.context, identifier, kind, [item])


@pytest.mark.parametrize("identifier", ["Annotation", "Plan", "Body", "FootPrint"])
@pytest.mark.parametrize("mapped", [False, True])
@pytest.mark.parametrize("first", [False, True])
def test_a_plan_beside_the_body(tmp_path, identifier, mapped, first):
    m = SmallModel("IFC4", "MILLIMETRE")
    shape = m.shape(m.raised(m.polygon((0, 0), (0.6, 0), (0.6, 0.4), (0, 0.4), (0, 0)), 0.8))
    body, beside = shape.Representations[0], plan(m, identifier=identifier, mapped=mapped)
    shape.Representations = [beside, body] if first else [body, beside]
    low, high = box_of(tmp_path, m, shape)
    assert low == pytest.approx((1, 2, 0))
    assert high == pytest.approx((1.6, 2.4, 0.8))


def advanced_brep(m, curve, start, end):
    """One face with one edge: enough to be read, as the text is."""
    create = m.file.create_entity
    vertices = [create("IfcVertexPoint", m.point(p)) for p in (start, end)]
    edge = create("IfcEdgeCurve", *vertices, curve, True)
    loop = create("IfcEdgeLoop", [create("IfcOrientedEdge", None, None, edge, True)])
    plane = create("IfcPlane", m.axes((50, 50, 50)))
    face = create("IfcAdvancedFace", [create("IfcFaceOuterBound", loop, True)], plane, True)
    return m.shape(create("IfcAdvancedBrep", create("IfcClosedShell", [face])), kind="AdvancedBrep")


@pytest.mark.parametrize("unit", ["METRE", "FOOT"])
def test_control_points_do_not_enlarge_an_advanced_brep(tmp_path, unit):
    m = SmallModel("IFC4", unit)
    poles = [m.point(p) for p in ((0, 0, 0), (0.3, 0, 4.0), (0.6, 0, 0))]
    curve = m.file.create_entity(
        "IfcBSplineCurveWithKnots",
        2, poles, "UNSPECIFIED", False, False, [3, 3], [0.0, 1.0], "UNSPECIFIED",
    )  # fmt: skip
    low, high = box_of(tmp_path, m, advanced_brep(m, curve, (0, 0, 0), (0.6, 0, 0)))
    assert low == pytest.approx((1, 2, 0))
    assert high == pytest.approx((1.6, 2, 2.0))  # the height of the arc, half that of its pole


def test_weights_of_a_rational_spline_are_heeded(tmp_path):
    m = SmallModel("IFC4", "METRE")
    poles = [m.point(p) for p in ((0.5, 0, 0), (0.5, 0.5, 0), (0, 0.5, 0))]
    curve = m.file.create_entity(
        "IfcRationalBSplineCurveWithKnots",
        2, poles, "UNSPECIFIED", False, False, [3, 3], [0.0, 1.0], "UNSPECIFIED",
        [1.0, 2**-0.5, 1.0],
    )  # fmt: skip
    at = m.placement((0, 0, 0), x=(0.5**0.5, 0.5**0.5, 0))  # a quarter circle, on its side
    shape = advanced_brep(m, curve, (0.5, 0, 0), (0, 0.5, 0))
    m.element("IfcSanitaryTerminal", "Basin", at=at, shape=shape)
    m.block("IfcWall", "Wall", (0, 0, 0), (5, 0.1, 3))  # the building is not turned
    (basin,) = read(m.write(tmp_path)).elements
    low, high = basin.box
    assert high[1] == pytest.approx(0.5, abs=1e-6)
    assert low[0] == pytest.approx(-(0.5**0.5) / 2, abs=1e-6)


@pytest.mark.parametrize("whole", [True, False])
def test_round_edges_of_an_advanced_brep(tmp_path, whole):
    m = SmallModel("IFC4", "MILLIMETRE")
    circle = m.file.create_entity("IfcCircle", m.axes((0, 0, 0)), m.length(0.5))
    end = (0.5, 0, 0) if whole else (0, 0.5, 0)
    low, high = box_of(tmp_path, m, advanced_brep(m, circle, (0.5, 0, 0), end))
    assert high[0] - 1 == pytest.approx(0.5)
    assert low[0] - 1 == pytest.approx(-0.5 if whole else 0.0, abs=1e-6)


def test_a_model_of_fixtures_whose_round_parts_are_no_openings_is_read(tmp_path):
    m = SmallModel("IFC4", "METRE")
    shape = m.shape(m.extrusion(0.5, 0.2))  # a round bowl: its axis is no opening
    m.element("IfcSanitaryTerminal", "Lavatory", at=m.placement((0, 0, 0)), shape=shape)
    model = read(m.write(tmp_path))
    assert [e.kind for e in model.elements] == ["lavatory"]
    assert model.joints == []
