"""Grid axes, true north and walls that stand aslant, in every schema and unit."""

from __future__ import annotations

import math

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import GridAxis, Model
from tests.ifc.small_models import SCHEMAS, SmallModel


def grid(m: SmallModel, at=(0, 0, 0), x=None, **axes) -> None:
    """A grid; each keyword is a tag, its points the course of the axis."""
    made = []
    for tag, points in axes.items():
        curve = m.file.create_entity("IfcPolyline", [m.point(p) for p in points])
        made.append(m.file.create_entity("IfcGridAxis", tag, curve, True))
    placement = m.placement(at, (0.0, 0.0, 1.0), x)
    m.root("IfcGrid", "Grid", ObjectPlacement=placement, UAxes=made[:1], VAxes=made[1:] or made[:1])


def model(tmp_path, m: SmallModel) -> Model:
    m.pipe((0, 0, 0), (1, 0, 0), name="Pipe")
    return read([m.write(tmp_path)])


def near(axis: GridAxis, a, b) -> bool:
    return math.dist(axis.a, a) < 1e-6 and math.dist(axis.b, b) < 1e-6


@pytest.mark.parametrize("schema", SCHEMAS)
@pytest.mark.parametrize("unit", ["METRE", "MILLIMETRE", "FOOT"])
def test_axes_are_read_where_the_grid_is_placed(tmp_path, schema, unit):
    m = SmallModel(schema, unit)
    grid(m, (1, 2, 0), (0.0, 1.0, 0.0), A=[(0, 0), (5, 0)], B=[(0, 1), (5, 1)])
    a, b = model(tmp_path, m).grid
    assert [a.tag, b.tag] == ["A", "B"]
    assert near(a, (1, 2), (1, 7))
    assert near(b, (0, 2), (0, 7))


def test_a_bent_axis_keeps_its_course_and_one_of_no_length_is_passed_over(tmp_path):
    m = SmallModel()
    grid(m, A=[(0, 0), (5, 0), (5, 5)], B=[(1, 1), (1, 1)], C=[(0, 2), (2, 2), (5, 2)])
    a, c = model(tmp_path, m).grid
    assert (a.tag, a.course) == ("A", ((0, 0), (5, 0), (5, 5)))
    assert (c.tag, c.via) == ("C", ())


@pytest.mark.parametrize("unit", ["METRE", "FOOT"])
def test_axes_on_arcs_and_whole_circles_keep_their_course(tmp_path, unit):
    m = SmallModel(unit=unit)
    centre = m.file.create_entity("IfcAxis2Placement2D", m.point((0.0, 0.0)))
    quarter, ring = (m.file.create_entity("IfcCircle", centre, m.length(r)) for r in (10.0, 20.0))
    trims = [[m.point(p)] for p in ((10.0, 0.0), (0.0, 10.0))]
    arc = m.file.create_entity("IfcTrimmedCurve", quarter, *trims, True, "CARTESIAN")
    axes = [
        m.file.create_entity("IfcGridAxis", tag, curve, True)
        for tag, curve in (("R", arc), ("S", ring))
    ]
    placement = m.placement((3.0, 0.0, 0.0))
    m.root("IfcGrid", "Grid", ObjectPlacement=placement, UAxes=axes[:1], VAxes=axes[1:])
    r, s = model(tmp_path, m).grid
    assert near(r, (13, 0), (3, 10))
    for axis, radius in ((r, 10), (s, 20)):
        assert all(math.dist(p, (3, 0)) == pytest.approx(radius) for p in axis.course)
    assert len(s.course) > 3 * len(r.course) > 60


def test_an_axis_without_a_tag_or_a_curve_names_nothing(tmp_path):
    m = SmallModel()
    grid(m, A=[(0, 0), (5, 0)])
    path = m.write(tmp_path)
    text = path.read_text()
    assert text.count("IFCGRIDAXIS('A'") == 1
    path.write_text(text.replace("IFCGRIDAXIS('A'", "IFCGRIDAXIS($"))
    assert read([path]).grid == []


def test_a_grid_repeated_on_each_storey_is_one_and_a_second_of_that_tag_is_two(tmp_path):
    m = SmallModel()
    grid(m, (0, 0, 0), A=[(0, 0), (5, 0)])
    grid(m, (0, 0, 3), A=[(5, 0), (0, 0)])
    grid(m, (0, 0.06, 3), A=[(0, 0), (5, 0)])
    assert len(model(tmp_path, m).grid) == 2


@pytest.mark.parametrize(
    ("direction", "degrees"), [((0, 1), 0), ((-1, 1), 45), ((1, 0), -90), ((0, -1), 180)]
)
def test_true_north_is_told_by_the_context(tmp_path, direction, degrees):
    m = SmallModel()
    m.context.TrueNorth = m.file.create_entity("IfcDirection", [float(c) for c in direction])
    north = model(tmp_path, m).north
    assert north is not None
    assert math.cos(north - math.radians(degrees)) == pytest.approx(1)


def test_true_north_is_not_told_unless_it_is_said(tmp_path):
    assert model(tmp_path, SmallModel()).north is None


def test_the_grid_of_another_file_is_moved_with_it_and_its_north_turned(tmp_path):
    plumbing, architecture = SmallModel(), SmallModel(first=10_000)
    plumbing.pipe((0, 0, 0), (1, 0, 0), name="Pipe")
    grid(architecture, A=[(0, 0), (5, 0)])
    architecture.context.WorldCoordinateSystem = architecture.axes(
        (10, 0, 0), (0.0, 0.0, 1.0), (0.0, 1.0, 0.0)
    )
    architecture.context.TrueNorth = architecture.file.create_entity("IfcDirection", [0.0, 1.0])
    read_together = read([plumbing.write(tmp_path, "a.ifc"), architecture.write(tmp_path, "b.ifc")])
    (axis,) = read_together.grid
    assert near(axis, (10, 0), (10, 5))
    assert read_together.north == pytest.approx(math.pi / 2)


def test_a_wall_that_stands_aslant_has_its_corners_and_one_that_does_not_has_none(tmp_path):
    m = SmallModel()
    straight = m.block("IfcWall", "Straight", (0, 0, 0), (4, 0.2, 3))
    aslant = m.block("IfcWall", "Aslant", (0, 0, 0), (4, 0.2, 3))
    aslant.ObjectPlacement = m.placement((1, 1, 0), (0.0, 0.0, 1.0), (0.6, 0.8, 0.0))
    assert straight.ObjectPlacement is not None
    walls = {s.name: s for s in model(tmp_path, m).surfaces}
    assert walls["Straight"].outline == ()
    corners = walls["Aslant"].outline
    expected = [(1, 1), (3.4, 4.2), (3.24, 4.32), (0.84, 1.12)]
    assert all(math.dist(a, b) < 1e-6 for a, b in zip(corners, expected, strict=True))
