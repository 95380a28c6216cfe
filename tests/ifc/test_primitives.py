"""Solid cylinders and blocks, and disks swept along a line between two of its parameters."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from tests.ifc.small_models import SmallModel
from tests.ifc.test_shapes import read_pipe

UNITS = pytest.mark.parametrize("unit", ["METRE", "MILLIMETRE", "FOOT"])


def cylinder(m: SmallModel, height: float, radius: float):
    return m.file.createIfcRightCircularCylinder(
        m.axes((1.0, 2.0, 3.0), z=(0.0, 3.0, 4.0), x=(1.0, 0.0, 0.0)),
        m.length(height),
        m.length(radius),
    )


def swept(m: SmallModel, first: float | None, last: float | None):
    vector = m.file.createIfcVector(m.direction((0.0, 3.0, 4.0)), m.length(0.5))
    line = m.file.createIfcLine(m.point((1.0, 2.0, 3.0)), vector)
    return m.file.createIfcSweptDiskSolid(line, m.length(0.05), None, first, last)


@UNITS
@pytest.mark.parametrize("wrapped", [True, False])
def test_a_solid_cylinder_is_a_pipe_from_one_of_its_faces_to_the_other(tmp_path, unit, wrapped):
    m = SmallModel("IFC4", unit)
    item = cylinder(m, 2.0, 0.05)
    pipe = read_pipe(tmp_path, m, m.file.createIfcCsgSolid(item) if wrapped else item, kind="CSG")
    assert pipe.line == (pytest.approx((1.0, 2.0, 3.0)), pytest.approx((1.0, 3.2, 4.6)))
    assert pipe.length_m == pytest.approx(2.0)
    assert pipe.properties.number("drawn_outside_diameter_m") == pytest.approx(0.1)
    assert pipe.basis["length"].words == "solid cylinder"


@pytest.mark.parametrize(("height", "radius"), [(0.0, 0.05), (2.0, 0.0), (-2.0, 0.05)])
def test_no_pipe_is_without_length_or_width(tmp_path, height, radius):
    m = SmallModel()
    pipe = read_pipe(tmp_path, m, m.file.createIfcCsgSolid(cylinder(m, height, radius)), kind="CSG")
    assert pipe.line == ()


@UNITS
def test_a_disk_swept_along_a_line_lies_between_its_parameters(tmp_path, unit):
    m = SmallModel("IFC4", unit)
    pipe = read_pipe(tmp_path, m, swept(m, 2.0, 6.0))
    assert pipe.line == (pytest.approx((1.0, 2.6, 3.8)), pytest.approx((1.0, 3.8, 5.4)))


@pytest.mark.parametrize("between", [(None, 4.0), (0.0, None), (None, None)])
def test_a_line_without_ends_is_no_pipe(tmp_path, between):
    m = SmallModel()
    assert read_pipe(tmp_path, m, swept(m, *between)).line == ()


@UNITS
def test_boxes_of_a_block_and_of_a_cylinder(tmp_path, unit):
    m = SmallModel("IFC4", unit)
    block = m.file.createIfcBlock(m.axes((1.0, 2.0, 3.0)), *map(m.length, (0.4, 0.5, 0.6)))
    around = m.file.createIfcRightCircularCylinder(
        m.axes((1.0, 2.0, 3.0)), m.length(0.6), m.length(0.2)
    )
    for item in (block, around):
        shape = m.shape(m.file.createIfcCsgSolid(item), kind="CSG")
        m.element(
            "IfcSanitaryTerminal",
            "Basin",
            at=m.placement((10.0, 0.0, 0.0)),
            shape=shape,
            predefined="WASHHANDBASIN",
        )
    boxes = [e.box for e in read(m.write(tmp_path)).elements]
    assert boxes == [
        (pytest.approx((11.0, 2.0, 3.0)), pytest.approx((11.4, 2.5, 3.6))),
        (pytest.approx((10.8, 1.8, 3.0)), pytest.approx((11.2, 2.2, 3.6))),
    ]
