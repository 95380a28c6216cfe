"""Bent tubes drawn as meshes: their ends, the length along their middle, their diameter."""

from __future__ import annotations

import itertools
import math

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Point
from ifclint.ifc.shape.bent_tubes import Face, fit_tube
from tests.ifc.small_models import SmallModel

SIDES = 8
LINE = [(0.0, 0.0, 0.0), (0.3, 0.0, 0.0), (0.5, 0.0, 0.2), (0.5, 0.3, 0.2), (0.5, 0.3, 0.6)]
LENGTH_M = sum(math.dist(a, b) for a, b in itertools.pairwise(LINE))
Mesh = tuple[list[Point], list[Face]]


def tube(line: list[Point] = LINE, radius: float = 0.01, ends: str = "flat") -> Mesh:
    """Rings about the points of a line, each across the way past it, with quads between them."""
    corners: list[Point] = []
    for k, (x, y, z) in enumerate(line):
        before, after = line[max(k - 1, 0)], line[min(k + 1, len(line) - 1)]
        along = [b - a for a, b in zip(before, after, strict=True)]
        size = math.hypot(*along)
        w = [c / size for c in along]
        h = (0.0, 1.0, 0.0) if abs(w[1]) < 0.9 else (1.0, 0.0, 0.0)
        on_it = sum(a * b for a, b in zip(h, w, strict=True))
        u = [a - on_it * b for a, b in zip(h, w, strict=True)]
        long = math.hypot(*u)
        u = [c / long for c in u]
        v = [w[1] * u[2] - w[2] * u[1], w[2] * u[0] - w[0] * u[2], w[0] * u[1] - w[1] * u[0]]
        for i in range(SIDES):
            c, s = math.cos(2 * math.pi * i / SIDES), math.sin(2 * math.pi * i / SIDES)
            corners.append(tuple(o + radius * (c * a + s * b)
                                 for o, a, b in zip((x, y, z), u, v, strict=True)))  # type: ignore[arg-type]  # fmt: skip
    faces: list[Face] = []
    last = (len(line) - 1) * SIDES
    for start in range(0, last, SIDES):
        for i in range(SIDES):
            j = (i + 1) % SIDES
            faces.append((start + i, start + j, start + SIDES + j, start + SIDES + i))
    for first, middle in ((0, line[0]), (last, line[-1])):
        if ends == "flat":
            faces.append(tuple(range(first, first + SIDES)))
        elif ends == "fans":
            corners.append(middle)
            faces += [(first + i, first + (i + 1) % SIDES, len(corners) - 1) for i in range(SIDES)]
    return corners, faces


def in_triangles(faces: list[Face]) -> list[Face]:
    return [(f[0], f[k], f[k + 1]) for f in faces for k in range(1, len(f) - 1)]


@pytest.mark.parametrize("triangles", [False, True])
@pytest.mark.parametrize("ends", ["flat", "fans", "open"])
def test_the_line_of_a_tube_leads_from_one_end_to_the_other(ends, triangles):
    corners, faces = tube(ends=ends)
    found = fit_tube(corners, in_triangles(faces) if triangles else faces)
    assert found is not None
    line = found.points if found.points[0][0] < 0.1 else found.points[::-1]
    assert [pytest.approx(p, abs=1e-9) for p in line] == LINE
    assert found.outside_m == pytest.approx(0.02)


def hollow() -> Mesh:
    (outer, sides), (inner, within) = tube(ends="open"), tube(radius=0.008, ends="open")
    far = len(outer)
    faces = sides + [tuple(i + far for i in face) for face in within]
    for first in (0, far - SIDES):
        for i in range(SIDES):
            a, b = first + i, first + (i + 1) % SIDES
            faces.append((a, b, b + far, a + far))
    return outer + inner, faces


def test_a_tube_with_a_wall_is_as_wide_as_its_outside():
    found = fit_tube(*hollow())
    assert found is not None
    assert found.outside_m == pytest.approx(0.02)
    assert {found.points[0], found.points[-1]} != {found.points[0]}


def with_a_lid_too_many() -> Mesh:
    """Two tubes of one body: four ends."""
    (corners, faces), (others, more) = tube(), tube([(x, y + 1, z) for x, y, z in LINE])
    return corners + others, faces + [tuple(i + len(corners) for i in face) for face in more]


def box() -> Mesh:
    corners = [(x, y, z) for x in (0.0, 1.0) for y in (0.0, 1.0) for z in (0.0, 1.0)]
    faces = [(0, 1, 3, 2), (4, 5, 7, 6), (0, 1, 5, 4), (2, 3, 7, 6), (0, 2, 6, 4), (1, 3, 7, 5)]
    return corners, faces


@pytest.mark.parametrize("mesh", [with_a_lid_too_many(), box(), ([], [])])
def test_what_is_no_tube_with_two_ends_is_none(mesh):
    assert fit_tube(*mesh) is None


@pytest.mark.parametrize("ifc_class", ["IfcFacetedBrep", "IfcTriangulatedFaceSet",
                                       "IfcPolygonalFaceSet"])  # fmt: skip
def test_a_hose_drawn_as_a_mesh_has_length_and_ends(tmp_path, ifc_class):
    m = SmallModel("IFC4", "MILLIMETRE")
    corners, faces = tube()
    create = m.file.create_entity
    listed = [tuple(m.length(c) for c in p) for p in corners]
    if ifc_class == "IfcFacetedBrep":
        points = [create("IfcCartesianPoint", p) for p in listed]
        made = [
            create("IfcFace", [create("IfcFaceOuterBound",
                                      create("IfcPolyLoop", [points[i] for i in face]), True)])
            for face in faces
        ]  # fmt: skip
        body = create(ifc_class, create("IfcClosedShell", made))
    elif ifc_class == "IfcTriangulatedFaceSet":
        numbered = [tuple(i + 1 for i in face) for face in in_triangles(faces)]
        body = create(ifc_class, create("IfcCartesianPointList3D", listed), None, True, numbered)
    else:
        made = [create("IfcIndexedPolygonalFace", tuple(i + 1 for i in face)) for face in faces]
        body = create(ifc_class, create("IfcCartesianPointList3D", listed), True, made)
    at, shape = m.placement((5, 5, 1)), m.shape(body)
    m.element("IfcPipeSegment", "Hose", predefined="FLEXIBLESEGMENT", at=at, shape=shape)
    (hose,) = read(m.write(tmp_path)).elements
    assert hose.length_m == pytest.approx(LENGTH_M, rel=1e-6)
    ends = sorted(end.position for end in hose.ends if end.position is not None)
    assert ends == [pytest.approx((5, 5, 1)), pytest.approx((5.5, 5.3, 1.6))]
