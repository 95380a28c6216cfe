"""Axes and lengths from the ways programs draw a pipe."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from ifclint.ifc import read
from ifclint.ifc.shape import shapes
from ifclint.ifc.shape.curves import _arc_through, developed_length
from ifclint.ifc.shape.cylinders import fit_cylinder
from tests.ifc.small_models import SmallModel
from tests.ifc.test_shapes_by_kernel import by_kernel

QUARTER = math.pi / 2


def read_pipe(tmp_path, m, *items, kind="AdvancedSweptSolid", at=None, identifier="Body"):
    m.element(
        "IfcPipeSegment", "P", at=at or m.placement((0, 0, 0)),
        shape=m.shape(*items, kind=kind, identifier=identifier),
    )  # fmt: skip
    (element,) = read(m.write(tmp_path)).elements
    return element


def polyline(m, *points):
    return m.file.create_entity("IfcPolyline", [m.point(p) for p in points])


def disk(m, directrix, diameter=0.0483):
    return m.file.create_entity("IfcSweptDiskSolid", directrix, m.length(diameter / 2))


@pytest.mark.parametrize("unit", ["METRE", "MILLIMETRE", "FOOT"])
def test_swept_disk_along_a_polyline(tmp_path, unit):
    m = SmallModel("IFC4", unit)
    pipe = read_pipe(tmp_path, m, disk(m, polyline(m, (0, 0, 0), (2, 0, 0), (2, 1, 0))))
    assert pipe.length_m == pytest.approx(3)
    assert pipe.ends[1].position == pytest.approx((2, 1, 0))
    assert pipe.size_in == 1.5
    assert pipe.basis["length"].words == "swept disk solid"


@pytest.mark.parametrize(
    ("between", "course"),
    [
        ([(0.5, 0, 0), (1, 0, 0)], 0),
        ([(0.5, 0.0004, 0)], 0),
        ([(0.5, 0.002, 0)], 3),  # beside the line
        ([(1.5, 0, 0), (0.5, 0, 0)], 4),  # there and back
    ],
)
def test_a_pipe_along_one_line_is_straight_however_many_points_it_has(tmp_path, between, course):
    m = SmallModel("IFC4")
    pipe = read_pipe(tmp_path, m, disk(m, polyline(m, (0, 0, 0), *between, (2, 0, 0))))
    assert len(pipe.course) == course
    assert [end.position for end in pipe.ends] == [(0, 0, 0), (2, 0, 0)]


def test_swept_disk_with_arcs(tmp_path):
    m = SmallModel("IFC4", "MILLIMETRE")
    halfway = (1 + math.sin(QUARTER / 2), 1 - math.cos(QUARTER / 2), 0)
    corners = [[m.length(c) for c in p] for p in ((0, 0, 0), (1, 0, 0), halfway, (2, 1, 0))]
    points = m.file.create_entity("IfcCartesianPointList3D", corners)
    segments = [
        m.file.create_entity("IfcLineIndex", [1, 2]),
        m.file.create_entity("IfcArcIndex", [2, 3, 4]),
    ]
    curve = m.file.create_entity("IfcIndexedPolyCurve", points, segments, False)
    pipe = read_pipe(tmp_path, m, disk(m, curve))
    assert pipe.length_m == pytest.approx(1 + QUARTER, rel=1e-3)
    assert pipe.ends[1].position == pytest.approx((2, 1, 0), abs=1e-6)


@pytest.mark.parametrize("by", ["parameter", "point"])
def test_swept_disk_along_a_composite_of_trimmed_curves(tmp_path, by):
    m = SmallModel("IFC2X3", "MILLIMETRE")
    create = m.file.create_entity
    circle = create("IfcCircle", m.axes((0, 0, 0)), m.length(0.5))
    if by == "parameter":
        trims = [[create("IfcParameterValue", a)] for a in (0.0, QUARTER)]
    else:
        trims = [[m.point((0.5, 0, 0))], [m.point((0, 0.5, 0))]]
    arc = create("IfcTrimmedCurve", circle, trims[0], trims[1], True, "PARAMETER")
    line = polyline(m, (-1, 0.5, 0), (0, 0.5, 0))
    parts = [
        create("IfcCompositeCurveSegment", "CONTINUOUS", True, arc),
        create("IfcCompositeCurveSegment", "CONTINUOUS", False, line),
    ]
    curve = create("IfcCompositeCurve", parts, False)
    m.element(
        "IfcPipeSegment", "P", type_name="Pipe", at=m.placement((0, 0, 0)),
        shape=m.shape(disk(m, curve), kind="AdvancedSweptSolid"),
    )  # fmt: skip
    (pipe,) = read(m.write(tmp_path)).elements
    assert pipe.length_m == pytest.approx(1 + 0.5 * QUARTER, rel=1e-3)
    assert pipe.ends[0].position == pytest.approx((0.5, 0, 0), abs=1e-9)
    assert pipe.ends[1].position == pytest.approx((-1, 0.5, 0), abs=1e-9)


def test_mapped_extrusion_is_moved_and_scaled(tmp_path):
    m = SmallModel("IFC4", "MILLIMETRE")
    create = m.file.create_entity
    solid = m.extrusion(0.0603, 1.0)
    mapped = create("IfcShapeRepresentation", m.context, "Body", "SweptSolid", [solid])
    source = create("IfcRepresentationMap", m.axes((0, 0, 0)), mapped)
    target = create(
        "IfcCartesianTransformationOperator3D", None, None, m.point((0, 0, 0.5)), 2.0, None
    )
    item = create("IfcMappedItem", source, target)
    pipe = read_pipe(tmp_path, m, item, kind="MappedRepresentation", at=m.placement((1, 0, 0)))
    assert pipe.length_m == pytest.approx(2)
    assert pipe.ends[0].position == pytest.approx((1, 0, 0.5))
    assert pipe.properties["drawn_outside_diameter_m"] == pytest.approx(0.1206)


def test_first_operand_of_a_boolean_result(tmp_path):
    m = SmallModel("IFC4")
    solid = m.extrusion(0.0603, 1.0)
    cut = m.file.create_entity("IfcBooleanResult", "DIFFERENCE", solid, m.extrusion(0.02, 0.5))
    assert read_pipe(tmp_path, m, cut, kind="CSG").length_m == pytest.approx(1)


def test_axis_representation_alone(tmp_path):
    m = SmallModel("IFC4")
    line = polyline(m, (0, 0, 0), (1.5, 0, 0))
    pipe = read_pipe(tmp_path, m, line, kind="Curve3D", identifier="Axis")
    assert pipe.length_m == pytest.approx(1.5)
    assert pipe.size_in is None
    assert pipe.basis["length"].words == "axis representation"


@pytest.mark.parametrize(
    ("ifc_class", "literal", "lines", "tips"),
    [
        ("IfcPipeFitting", "JUNCTION", [[(-0.1, 0, 0)], [(0.1, 0, 0)], [(0, 0, 0.1)]], 3),
        ("IfcPipeFitting", "BEND", [[(0.1, 0, 0)], [(0, 0, 0.1)]], 2),
        ("IfcPipeFitting", "BEND", [[(0.1, 0, 0), (0.2, 0, 0.1)]], 2),  # one line through it
        ("IfcWasteTerminal", "WASTETRAP", [[(0, 0, -0.1), (0.1, 0, -0.1), (0.1, 0, 0)]], 2),
    ],
)  # fmt: skip
def test_the_axis_representation_of_a_fitting_or_trap_tells_its_ends(
    tmp_path, ifc_class, literal, lines, tips
):
    m = SmallModel("IFC4")
    curves = [polyline(m, (0, 0, 0), *line) for line in lines]
    shape = m.shape(*curves, kind="Curve3D", identifier="Axis")
    m.element(ifc_class, "E", predefined=literal, at=m.placement((1, 0, 0)), shape=shape)
    ends = [(1 + x, y, z) for *_, (x, y, z) in lines]
    ends += [(1.0, 0.0, 0.0)] if len(ends) < 2 else []
    for x, y, z in ends:
        m.pipe((x, y, z), (x + (x - 1) * 5, y, z + (z or -(x == 1)) * 5))
    model = read(m.write(tmp_path))
    assert len(ends) == len(model.joints) == tips
    element = next(e for e in model.elements if e.name == "E")
    drawn = sorted(tuple(round(c, 6) for c in end.position or ()) for end in element.ends)
    assert drawn == sorted(tuple(round(c, 6) for c in p) for p in ends)
    assert element.basis["ends"].words == "axis representation"


def test_a_rectangular_extrusion_is_no_round_pipe(tmp_path):
    m = SmallModel("IFC4")
    origin = m.file.create_entity("IfcCartesianPoint", [0.0, 0.0])
    axes = m.file.create_entity("IfcAxis2Placement2D", origin)
    square = m.file.create_entity("IfcRectangleProfileDef", "AREA", None, axes, 0.1, 0.1)
    solid = m.file.create_entity(
        "IfcExtrudedAreaSolid", square, m.axes((0, 0, 0)), m.direction((0, 0, 1)), 1.0
    )
    assert read_pipe(tmp_path, m, solid, kind="SweptSolid").length_m is None


def ring(radius, z, corners=16, lean=0.0):
    return [
        (radius * math.cos(a), radius * math.sin(a) + lean * z, z)
        for a in (2 * math.pi * i / corners for i in range(corners))
    ]


def test_fitted_cylinder_with_bore_and_bell():
    corners = ring(0.05, 0) + ring(0.06, 0) + ring(0.05, 2) + ring(0.06, 2)
    corners += ring(0.062, 1.9) + ring(0.08, 1.9) + ring(0.08, 2.1) + ring(0.062, 2.1)
    fitted = fit_cylinder(corners)
    assert fitted.outside_m == pytest.approx(0.12)
    assert fitted.inside_m == pytest.approx(0.10)
    assert math.dist(*fitted.ends) == pytest.approx(2.0)


def test_no_cylinder_in_a_box_or_a_ball():
    box = [(x, y, z) for x in (0, 0.2) for y in (0, 0.1) for z in (0, 3)]
    ball = [
        p for k in range(1, 8) for p in ring(math.sin(k * math.pi / 8), math.cos(k * math.pi / 8))
    ]
    assert fit_cylinder(box * 2) is None
    assert fit_cylinder(ball) is None


@pytest.mark.parametrize("length_m", [1.0, 0.1144, 0.05, 0.02])  # down to a close nipple
def test_a_brep_pipe(tmp_path, length_m):
    m = SmallModel("IFC2X3", "MILLIMETRE")
    create = m.file.create_entity
    bottom, top = ([m.point(p) for p in ring(0.0572, z)] for z in (0.0, length_m))
    loops = [bottom, top] + [
        [bottom[i - 1], bottom[i], top[i], top[i - 1]] for i in range(len(bottom))
    ]
    faces = [
        create("IfcFace", [create("IfcFaceOuterBound", create("IfcPolyLoop", loop), True)])
        for loop in loops
    ]
    brep = create("IfcFacetedBrep", create("IfcClosedShell", faces))
    m.element(
        "IfcPipeSegment", "P", type_name="Pipe", at=m.placement((0, 0, 0)),
        shape=m.shape(brep, kind="Brep"),
    )  # fmt: skip
    (pipe,) = read(m.write(tmp_path)).elements
    assert pipe.length_m == pytest.approx(length_m)
    assert pipe.size_in == 4
    assert pipe.basis["size"].words == "diameter of the mesh"


@pytest.mark.parametrize(("stated", "noted"), [(2.0, 0), (2.003, 0), (2.5, 1)])
def test_a_quantity_that_disagrees_is_noted_and_the_shape_wins(tmp_path, stated, noted):
    m = SmallModel("IFC4", "MILLIMETRE")
    pipe = m.pipe((0, 0, 0), (2, 0, 0), name="P")
    quantity = m.file.create_entity("IfcQuantityLength", "Length", None, None, m.length(stated))
    made = m.root("IfcElementQuantity", "Qto_PipeSegmentBaseQuantities", Quantities=[quantity])
    m.root("IfcRelDefinesByProperties", RelatedObjects=[pipe], RelatingPropertyDefinition=made)
    model = read(m.write(tmp_path))
    assert model.elements[0].length_m == pytest.approx(2)
    assert [n.topic for n in model.notes] == ["length"] * noted


@pytest.mark.parametrize("way", [(1, 0, 0), (0, 1, 0), (0, 0, 1), (1, -2, 3), (-0.3, 0.8, -0.5)])
@pytest.mark.parametrize("sweep", [0.4, 1.5, 3.0, 4.5])
def test_an_arc_in_space_keeps_its_radius(way: tuple[float, float, float], sweep: float) -> None:
    normal = np.array(way) / np.linalg.norm(way)
    x = np.cross(normal, (0.6, 0.64, 0.48))
    x /= np.linalg.norm(x)
    y, middle, radius = np.cross(normal, x), np.array((3.0, -4.0, 5.0)), 0.7

    def at(turn: float) -> tuple[float, float, float]:
        return tuple(middle + radius * (np.cos(turn) * x + np.sin(turn) * y))

    points = _arc_through(at(0.0), at(0.4 * sweep), at(sweep))
    assert points[0] == pytest.approx(at(0.0))
    assert points[-1] == pytest.approx(at(sweep))
    assert [math.dist(p, middle) for p in points] == pytest.approx([radius] * len(points))
    assert [np.dot(p - middle, normal) for p in points] == pytest.approx(
        [0.0] * len(points), abs=1e-9
    )
    assert developed_length(points) == pytest.approx(radius * sweep, rel=0.01)


def test_a_quantity_is_used_where_there_is_no_shape(tmp_path):
    m = SmallModel("IFC4", "MILLIMETRE")
    pipe = m.pipe((0, 0, 0), (2, 0, 0), name="P", shaped=False)
    quantity = m.file.create_entity("IfcQuantityLength", "Length", None, None, 2500.0)
    made = m.root("IfcElementQuantity", "Qto_PipeSegmentBaseQuantities", Quantities=[quantity])
    m.root("IfcRelDefinesByProperties", RelatedObjects=[pipe], RelatingPropertyDefinition=made)
    (element,) = read(m.write(tmp_path)).elements
    assert element.length_m == pytest.approx(2.5)
    assert element.basis["length"].words == "Qto_PipeSegmentBaseQuantities.Length"


@pytest.mark.parametrize(
    ("measure", "value", "slope"),
    [("IfcPositiveRatioMeasure", 0.02, 0.02), ("IfcLabel", "1:200", 0.005),
     ("IfcLabel", "2%", 0.02), ("IfcText", "1/4 in per ft", 1 / 48)],
)  # fmt: skip
def test_stated_slope(tmp_path, measure, value, slope):
    m = SmallModel("IFC4")
    pipe = m.pipe((0, 0, 0), (2, 0, 0), name="P")
    m.properties(pipe, "Pset_PipeSegmentOccurrence", Gradient=(measure, value))
    assert read(m.write(tmp_path)).elements[0].slope == pytest.approx(slope)


@pytest.mark.parametrize(
    ("unit", "measure", "value", "slope"),
    [
        ("MILLIMETRE", "IfcLengthMeasure", 20.8, 0.0208),  # in each metre
        ("MILLIMETRE", "IfcPositiveLengthMeasure", 5.3, 0.0053),
        ("MILLIMETRE", "IfcLengthMeasure", 4.0, 0.004),  # as a ratio it is none
        ("MILLIMETRE", "IfcLengthMeasure", 0.0208, 0.0208),  # in each millimetre
        ("METRE", "IfcLengthMeasure", 0.0208, 0.0208),
        ("FOOT", "IfcLengthMeasure", 0.0208, 0.0208),  # in each foot
        ("INCH", "IfcLengthMeasure", 0.25, 0.25 / 12),
        ("INCH", "IfcLengthMeasure", 0.0625, 0.0625 / 12),
        ("INCH", "IfcLengthMeasure", 0.02, 0.02),  # in each inch
        ("METRE", "IfcReal", 2.08, 0.0208),  # in percent
        ("METRE", "IfcReal", 0.99, 0.99),
    ],
)
def test_a_slope_told_by_a_length_or_a_plain_number(tmp_path, unit, measure, value, slope):
    m = SmallModel("IFC4", unit)
    pipe = m.pipe((0, 0, 0), (2, 0, 0), name="P")
    m.properties(pipe, "Pset_PipeSegmentOccurrence", Gradient=(measure, value))
    assert read(m.write(tmp_path)).elements[0].slope == pytest.approx(slope)


def test_walls_and_slabs_are_boxes(tmp_path):
    m = SmallModel("IFC4", "MILLIMETRE")
    origin = m.file.create_entity("IfcCartesianPoint", [m.length(2), 0.0])
    axes = m.file.create_entity("IfcAxis2Placement2D", origin)
    outline = m.file.create_entity(
        "IfcRectangleProfileDef", "AREA", None, axes, m.length(4), m.length(0.2)
    )
    solid = m.file.create_entity(
        "IfcExtrudedAreaSolid", outline, m.axes((0, 0, 0)), m.direction((0, 0, 1)), m.length(3)
    )
    m.root("IfcWall", "W", ObjectPlacement=m.placement((1, 1, 0)), Representation=m.shape(solid))
    (wall,) = read(m.write(tmp_path)).surfaces
    assert wall.kind == "wall"
    assert wall.low == pytest.approx((1, 0.9, 0))
    assert wall.high == pytest.approx((5, 1.1, 3))


def test_a_revolved_elbow_has_an_arc_for_an_axis(tmp_path):
    m = SmallModel("IFC4", "MILLIMETRE")
    about = m.file.create_entity("IfcAxis1Placement", m.point((0.1, 0, 0)), m.direction((0, 1, 0)))
    solid = m.file.create_entity(
        "IfcRevolvedAreaSolid", m.round_profile(0.0603), m.axes((0, 0, 0)), about, QUARTER
    )
    pipe = read_pipe(tmp_path, m, solid, kind="SweptSolid")
    assert pipe.length_m == pytest.approx(0.1 * QUARTER, rel=1e-3)
    assert pipe.ends[0].position == pytest.approx((0, 0, 0), abs=1e-9)
    assert pipe.ends[1].position == pytest.approx((0.1, 0, 0.1), abs=1e-9)


def test_a_shape_that_is_not_there_costs_the_shape_alone(tmp_path):
    m = SmallModel()
    m.pipe((0, 0, 0), (1, 0, 0), name="2 in drain", type_name="Pipe 2 in PVC DWV")
    path = m.write(tmp_path)
    path.write_text(re.sub(r"#\d+=IFCSHAPEREPRESENTATION.*\n", "", path.read_text()))
    (pipe,) = read(path).elements
    assert (pipe.size_in, pipe.material, pipe.length_m, pipe.ends) == (2, "pvc", None, [])


def by_operator(m, axes, scales=(None, None, None)):
    """A pipe of 1 m along z, mapped by an operator with these axes and scales."""
    create = m.file.create_entity
    shared = create(
        "IfcShapeRepresentation", m.context, "Body", "SweptSolid", [m.extrusion(0.06, 1.0)]
    )
    source = create("IfcRepresentationMap", m.axes((0, 0, 0)), shared)
    x, y, z = (m.direction(axis) if axis else None for axis in axes)
    target = create(
        "IfcCartesianTransformationOperator3DnonUniform",
        x, y, m.point((0, 0, 0)), scales[0], z, *scales[1:],
    )  # fmt: skip
    return create("IfcMappedItem", source, target)


@pytest.mark.parametrize(
    ("axes", "scales", "end", "size"),
    [
        ((None, None, None), (1.0, 1.0, 3.0), (0, 0, 3), None),
        ((None, None, None), (1.5, None, None), (0, 0, 1.5), 3),
        (((0, 1, 0), None, None), (None, None, None), (0, 0, 1), 2),
        ((None, None, (0, 1, 0)), (None, None, None), (0, 1, 0), 2),
        ((None, None, (0, 0, -1)), (None, None, 2.0), (0, 0, -2), None),
    ],
)
def test_a_mapped_pipe_is_turned_and_stretched(tmp_path, axes, scales, end, size):
    m = SmallModel("IFC4", "MILLIMETRE")
    shape = m.shape(by_operator(m, axes, scales), kind="MappedRepresentation")
    m.element("IfcPipeSegment", "Pipe", at=m.placement((0, 0, 0)), shape=shape)
    path = m.write(tmp_path)
    (pipe,) = read(path).elements
    ends = [e.position for e in pipe.ends]
    assert ends == [pytest.approx((0, 0, 0), abs=1e-9), pytest.approx(end, abs=1e-9)]
    assert pipe.size_in == size
    low, high = by_kernel(path)[pipe.guid]
    assert ((low + high) / 2).tolist() == pytest.approx([c / 2 for c in end], abs=1e-6)


@pytest.mark.parametrize("order", [1, -1])
def test_what_is_around_a_pipe_is_not_its_size(tmp_path, order):
    m = SmallModel("IFC4")
    drawn = [m.extrusion(0.1683, 2.0), m.extrusion(0.0603, 2.0)][::order]
    m.element("IfcPipeSegment", "Pipe", at=m.placement((0, 0, 0)), shape=m.shape(*drawn))
    (pipe,) = read(m.write(tmp_path)).elements
    assert (pipe.size_in, pipe.length_m) == (2, 2.0)


def test_rectangles_at_once_are_those_read_one_by_one(tmp_path, monkeypatch):
    m = SmallModel("IFC4", "FOOT")
    middle = m.file.create_entity("IfcCartesianPoint", [m.length(2), m.length(-1)])
    ways = [None, (1.0, 0.0), (2.0, 0.0), (0.6, 0.8), (-1.0, 0.0)]
    places = [None] + [
        m.file.create_entity(
            "IfcAxis2Placement2D", middle, way and m.file.create_entity("IfcDirection", way)
        )
        for way in ways
    ]
    for place in places:
        for width in (4, 0.2, 0):
            outline = m.file.create_entity(
                "IfcRectangleProfileDef", "AREA", "b, 2", place, m.length(width), m.length(0.5)
            )
            solid = m.file.create_entity(
                "IfcExtrudedAreaSolid", outline, m.axes((0, 0, 0)), m.direction((0, 0, 1)), 3.0
            )
            at = m.placement((1, 1, 0))
            m.root("IfcWall", "W", ObjectPlacement=at, Representation=m.shape(solid))
    path = m.write(tmp_path)
    found = []

    def rectangles(*given):
        found.append(by_columns(*given))
        return found[-1]

    by_columns = shapes.rectangles
    monkeypatch.setattr(shapes, "rectangles", rectangles)
    at_once = read(path)
    assert sum(len(rows) for rows, _ in found) == 8  # the others are turned, or have no width
    monkeypatch.setattr(
        shapes, "rectangles", lambda *_: (np.empty(0, dtype=np.int64), np.empty((0, 4, 3)))
    )
    assert read(path) == at_once
    assert len(at_once.surfaces) == 2 * len(places)


def test_outlines_at_once_are_those_read_one_by_one(tmp_path, monkeypatch):
    m = SmallModel("IFC4", "FOOT")
    plan = [(0, 0), (4, 0), (4, 0.5), (2, 0.7), (0, 0.5), (0, 0)]
    many = [(x / 10, x % 2) for x in range(80)]  # more than are read at once
    in_space = [(x, y, 0) for x, y in plan]
    for corners in (plan, plan[:2], many, in_space, [*plan[:-1], (1e13, 0)]):
        curve = m.file.create_entity("IfcPolyline", [m.point(corner) for corner in corners])
        outline = m.file.create_entity("IfcArbitraryClosedProfileDef", "AREA", "b, 2", curve)
        solid = m.file.create_entity(
            "IfcExtrudedAreaSolid", outline, m.axes((0, 0, 0)), m.direction((0, 0, 1)), 3.0
        )
        at = m.placement((1, 1, 0))
        m.root("IfcWall", "W", ObjectPlacement=at, Representation=m.shape(solid))
    path = m.write(tmp_path)
    at_once = read(path)
    monkeypatch.setattr(shapes, "outlines", lambda *_: {})
    assert read(path) == at_once
    assert len(at_once.surfaces) == 4
    assert at_once.surfaces[0].high[:2] == pytest.approx((5, 1.7))
