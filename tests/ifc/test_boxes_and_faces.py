"""Pipes drawn as a bounding box alone, and as faces of true surfaces (advanced breps)."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Element
from tests.ifc.small_models import SmallModel

WIDE = 0.0603
FALL = (0.9997830567281121, 0.0, -0.020828813681835638)  # 1/4 in/ft


def box(m: SmallModel, low, sides):
    return m.file.create_entity("IfcBoundingBox", m.point(low), *(m.length(s) for s in sides))


def boxed_pipe(tmp_path, low, sides, z=None, unit="METRE", *, identifier="Box") -> Element:
    m = SmallModel("IFC4", unit)
    shape = m.shape(box(m, low, sides), kind="BoundingBox", identifier=identifier)
    at = m.placement((1, 2, 3), z, (0, 1, 0) if z else None)
    m.element("IfcPipeSegment", "P", at=at, shape=shape)
    (element,) = read(m.write(tmp_path)).elements
    return element


def near(point):
    return pytest.approx(point, abs=1e-6)


@pytest.mark.parametrize("unit", ["METRE", "MILLIMETRE", "INCH"])
@pytest.mark.parametrize("identifier", ["Box", "Body"])
def test_the_box_of_a_pipe_in_its_own_frame_tells_how_it_lies(tmp_path, unit, identifier):
    half = WIDE / 2
    pipe = boxed_pipe(tmp_path, (-half, -half, 0), (WIDE, WIDE, 2), FALL, unit,
                      identifier=identifier)  # fmt: skip
    far = tuple(c + 2 * d for c, d in zip((1, 2, 3), FALL, strict=True))
    assert [e.position for e in pipe.ends] == [near((1, 2, 3)), near(far)]
    assert pipe.length_m == pytest.approx(2)
    assert pipe.size_in == 2.0
    assert pipe.basis["length"].words == "bounding box"


@pytest.mark.parametrize(
    ("sides", "far"),
    [
        ((2.0, WIDE, WIDE), (3.0, 2 + WIDE / 2, 3 + WIDE / 2)),
        ((WIDE, 2.0, WIDE), (1 + WIDE / 2, 4.0, 3 + WIDE / 2)),
        ((2.0, WIDE, WIDE * 1.004), (3.0, 2 + WIDE / 2, 3 + WIDE * 0.502)),
        ((2.0, WIDE, WIDE * 1.006), None),  # it may fall so much
        ((2.0, WIDE, WIDE + 0.0417), None),  # 1/4 in/ft, boxed along other axes
        ((1.4, 1.4, WIDE), None),  # it may run from corner to corner
        ((WIDE, WIDE, WIDE), None),
        ((WIDE, WIDE, 0.0), None),
    ],
)
def test_only_a_box_of_two_equal_sides_and_a_longer_one_does(tmp_path, sides, far):
    pipe = boxed_pipe(tmp_path, (0, 0, 0), sides)
    assert (pipe.length_m is None) is (far is None)
    assert [e.position for e in pipe.ends[1:]] == ([near(far)] if far else [])


def test_a_body_tells_better_than_its_box(tmp_path):
    m = SmallModel()
    shape = m.shape(m.extrusion(WIDE, 1.0))
    around = m.shape(box(m, (0, 0, 0), (0.1, 0.1, 3.0)), kind="BoundingBox", identifier="Box")
    shape.Representations = [*shape.Representations, *around.Representations]
    m.element("IfcPipeSegment", "P", at=m.placement((0, 0, 0)), shape=shape)
    (pipe,) = read(m.write(tmp_path)).elements
    assert pipe.length_m == pytest.approx(1.0)


def test_a_fixture_drawn_as_its_box_alone_has_it_and_takes_its_drain(tmp_path):
    m = SmallModel()
    shape = m.shape(box(m, (-0.3, -0.2, 0), (0.6, 0.4, 0.8)), kind="BoundingBox", identifier="Box")
    m.element("IfcSanitaryTerminal", "Lavatory", predefined="WASHHANDBASIN",
              at=m.placement((0, 0, 0)), shape=shape)  # fmt: skip
    drain = m.pipe((0, 0, 0.4), (0, 0, -1), name="Drain")
    m.system("Sanitary", [drain], "SEWAGE")
    model = read(m.write(tmp_path))
    basin = next(e for e in model.elements if e.name == "Lavatory")
    assert basin.box == ((-0.3, -0.2, 0), (0.3, 0.2, 0.8))
    assert len(model.joints) == 1


# Advanced breps


class Faces:
    """Faces between circles about axes, as kernels write them: each with one seam vertex."""

    def __init__(self, m: SmallModel) -> None:
        self.m, self.create = m, m.file.create_entity
        self.faces = []

    def ring(self, centre, radius, axis=(0, 0, 1), x=(1, 0, 0)):
        seam = tuple(c + radius * d for c, d in zip(centre, x, strict=True))
        vertex = self.create("IfcVertexPoint", self.m.point(seam))
        circle = self.create("IfcCircle", self.m.axes(centre, axis, x), self.m.length(radius))
        return self.create("IfcEdgeCurve", vertex, vertex, circle, True)

    def loop(self, *edges):
        turned = [self.create("IfcOrientedEdge", None, None, e, way) for e, way in edges]
        return self.create("IfcFaceOuterBound", self.create("IfcEdgeLoop", turned), True)

    def tube(self, low, high, radius, at=(0, 0, 0), axis=(0, 0, 1), x=(1, 0, 0)) -> Faces:
        """A cylindrical face from one height along its axis to another, and a plane at each."""
        ends = [tuple(c + h * d for c, d in zip(at, axis, strict=True)) for h in (low, high)]
        one, other = (self.ring(p, radius, axis, x) for p in ends)
        way = self.create("IfcVector", self.m.direction(axis), 1.0)
        line = self.create("IfcLine", one.EdgeStart.VertexGeometry, way)
        seam = self.create("IfcEdgeCurve", one.EdgeStart, other.EdgeStart, line, True)
        bound = self.loop((one, True), (seam, True), (other, False), (seam, False))
        surface = self.create(
            "IfcCylindricalSurface", self.m.axes(at, axis, x), self.m.length(radius)
        )
        self.faces.append(self.create("IfcAdvancedFace", [bound], surface, True))
        for end, edge in zip(ends, (one, other), strict=True):
            plane = self.create("IfcPlane", self.m.axes(end, axis, x))
            self.faces.append(
                self.create("IfcAdvancedFace", [self.loop((edge, True))], plane, True)
            )
        return self

    def pipe(self, tmp_path) -> Element:
        brep = self.create("IfcAdvancedBrep", self.create("IfcClosedShell", self.faces))
        shape = self.m.shape(brep, kind="AdvancedBrep")
        self.m.element("IfcPipeSegment", "P", at=self.m.placement((1, 2, 3)), shape=shape)
        (element,) = read(self.m.write(tmp_path)).elements
        return element


@pytest.mark.parametrize("unit", ["METRE", "MILLIMETRE"])
def test_the_faces_of_a_cylinder_tell_axis_size_and_ends(tmp_path, unit):
    pipe = Faces(SmallModel("IFC4", unit)).tube(0.0, 2.0, WIDE / 2).pipe(tmp_path)
    assert [e.position for e in pipe.ends] == [near((1, 2, 3)), near((1, 2, 5))]
    assert pipe.length_m == pytest.approx(2)
    assert pipe.size_in == 2.0
    assert pipe.basis["length"].words == "cylindrical faces"


def test_the_faces_of_a_pipe_with_bore_and_bell(tmp_path):
    faces = Faces(SmallModel()).tube(0.0, 2.0, WIDE / 2).tube(0.0, 2.0, 0.0525 / 2)
    pipe = faces.tube(0.0, 0.1, 0.04).pipe(tmp_path)
    assert pipe.length_m == pytest.approx(2)
    assert pipe.properties["drawn_outside_diameter_m"] == pytest.approx(WIDE)
    assert pipe.size_in == 2.0


@pytest.mark.parametrize(
    ("other", "known"),
    [
        ({"at": (0, 0, 0)}, True),
        ({"at": (0.00005, 0, 0)}, True),
        ({"at": (0.0002, 0, 0)}, False),
        ({"at": (0, 0, 0.5), "axis": (1, 0, 0), "x": (0, 1, 0)}, False),  # a tee
    ],
)
def test_faces_about_several_axes_are_no_straight_pipe(tmp_path, other, known):
    faces = Faces(SmallModel()).tube(0.0, 2.0, WIDE / 2).tube(0.0, 2.0, 0.0525 / 2, **other)
    assert (faces.pipe(tmp_path).length_m is not None) is known


def test_a_plate_with_a_wide_rim_is_no_pipe(tmp_path):
    faces = Faces(SmallModel()).tube(0.0, 1.0, 0.02).tube(0.0, 0.1, 0.0401)
    assert faces.pipe(tmp_path).length_m is None
