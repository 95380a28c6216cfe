"""Boxes and axes read without a geometry kernel, beside those of a kernel.

The other side is the geometry kernel of ifcopenshell (Open CASCADE), which the project itself never
uses. Its curved surfaces are tessellated, so it is a little inside of a true circle.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import ifcopenshell
import ifcopenshell.geom
import numpy as np
import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Role
from tests.ifc.small_models import SmallModel

ROOT = Path(__file__).parent.parent.parent
WITHIN_M = 0.004


def by_kernel(path: Path, turned_rad: float = 0.0) -> dict[str, tuple[Any, Any]]:
    """The box of every product with a shape, by its GlobalId (metres), along axes that are turned
    against those of the file."""
    c, s = np.cos(turned_rad), np.sin(turned_rad)
    axes = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
    settings = ifcopenshell.geom.settings()
    settings.set("use-world-coords", True)
    settings.set("disable-opening-subtractions", True)
    settings.set("mesher-linear-deflection", 0.002)
    settings.set("mesher-angular-deflection", 0.4)
    file = ifcopenshell.open(str(path))  # kept as long as it is iterated
    iterator = ifcopenshell.geom.iterator(settings, file, 1)
    found = {}
    if iterator.initialize():
        while True:
            shape = iterator.get()
            corners = np.array(shape.geometry.verts).reshape(-1, 3) @ axes
            found[shape.guid] = corners.min(axis=0), corners.max(axis=0)
            if not iterator.next():
                break
    return found


def mapped(m: SmallModel, items: list[Any], kind: str, scale: float = 1.0, **operator: Any) -> Any:
    """A shape that is another one at a place, turned and scaled. Its origin stays where it is: the
    standard (ISO 10303-43) and the kernel differ on which way another one counts."""
    create = m.file.create_entity
    shared = create("IfcShapeRepresentation", m.context, "Body", kind, items)
    source = create("IfcRepresentationMap", m.axes((0.0, 0.0, 0.0)), shared)
    target = create(
        "IfcCartesianTransformationOperator3D", operator.get("x"), operator.get("y"),
        m.point((0.3, -0.2, 0.1)), scale, operator.get("z"),
    )  # fmt: skip
    return m.shape(create("IfcMappedItem", source, target), kind="MappedRepresentation")


def brep(m: SmallModel, low: tuple[float, ...], high: tuple[float, ...]) -> Any:
    create = m.file.create_entity
    at = [m.point((x, y, z)) for z in (low[2], high[2]) for y in (low[1], high[1])
          for x in (low[0], high[0])]  # fmt: skip
    sides = ((0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5))
    faces = [
        create("IfcFace", [create("IfcFaceOuterBound",
                                  create("IfcPolyLoop", [at[i] for i in side]), True)])
        for side in sides
    ]  # fmt: skip
    return create("IfcFacetedBrep", create("IfcClosedShell", faces))


@pytest.fixture(params=["METRE", "MILLIMETRE", "FOOT"])
def drawn(request, tmp_path) -> Path:
    """Walls and fixtures drawn in every way that is read from text, all placed askew."""
    m = SmallModel("IFC4", request.param)
    create = m.file.create_entity
    at = m.placement((4, 3, 1), (0.1, 0.2, 1.0), (1.0, 0.5, 0.0))
    block = m.raised(m.polygon((0, 0), (2, 0), (2, 0.3), (0, 0.3)), 2.5)
    half = create("IfcHalfSpaceSolid", create("IfcPlane", m.axes((0, 0, 2.4))), False)
    turned = {"x": m.direction((0.0, 1.0, 0.0)), "y": m.direction((-1.0, 0.0, 0.0))}
    points = [[m.length(c) for c in p] for p in ((0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1))]
    faces = create("IfcTriangulatedFaceSet", create("IfcCartesianPointList3D", points), None,
                   True, [(1, 3, 2), (1, 2, 4), (1, 4, 3), (2, 3, 4)])  # fmt: skip
    shapes = {
        "extruded": m.shape(block),
        "mapped": mapped(m, [block], "SweptSolid", **turned),
        "scaled": mapped(m, [brep(m, (0, 0, 0), (0.6, 0.5, 0.4))], "Brep", 1.5, **turned),
        "brep": m.shape(brep(m, (-0.2, 0.1, 0.0), (0.5, 0.6, 0.7)), kind="Brep"),
        "triangles": m.shape(faces, kind="Tessellation"),
        "cut": m.shape(create("IfcBooleanClippingResult", "DIFFERENCE", block, half),
                       kind="Clipping"),
    }  # fmt: skip
    for name, shape in shapes.items():
        wall = m.root("IfcWall", name, ObjectPlacement=at)
        wall.Representation = shape
        kind = "WASHHANDBASIN" if name == "cut" else "SINK"  # no second sink in one box
        m.element("IfcSanitaryTerminal", name, predefined=kind, at=at, shape=shape)
    m.pipe((0, 0, 0), (1, 1, 0.5), name="Straight")
    return m.write(tmp_path)


def test_boxes_in_every_way_of_drawing(drawn):
    model = read(drawn)
    expected = by_kernel(drawn, model.turned_rad)
    surfaces = {s.guid: (s.name, s.low, s.high) for s in model.surfaces}
    fixtures = {e.guid: (e.name, *e.box) for e in model.elements if e.box is not None}
    assert len(surfaces) == len(fixtures) == 6
    for guid, (name, low, high) in (surfaces | fixtures).items():
        if name == "cut":  # what is cut off counts as there
            assert (np.array(low) <= expected[guid][0] + 1e-6).all()
            assert (np.array(high) >= expected[guid][1] - 1e-6).all()
            continue
        assert low == pytest.approx(tuple(expected[guid][0]), abs=1e-6), name
        assert high == pytest.approx(tuple(expected[guid][1]), abs=1e-6), name


def test_boxes_and_axes_of_the_demo():
    path = ROOT / "models" / "dwelling_early.ifc"
    model, expected = read(path), by_kernel(path)
    boxed = {e.guid: e.box for e in model.elements if e.box is not None}
    boxed |= {s.guid: (s.low, s.high) for s in model.surfaces}
    for guid, (low, high) in boxed.items():
        assert low == pytest.approx(tuple(expected[guid][0]), abs=WITHIN_M)
        assert high == pytest.approx(tuple(expected[guid][1]), abs=WITHIN_M)
    pipes = [e for e in model.elements if e.role is Role.PIPE and e.guid in expected]
    assert pipes
    for pipe in pipes:
        middle = np.mean([end.position for end in pipe.ends[:2]], axis=0)
        assert middle == pytest.approx(np.mean(expected[pipe.guid], axis=0), abs=WITHIN_M)
