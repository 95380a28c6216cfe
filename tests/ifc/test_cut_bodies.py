"""Pipes drawn longer than they are and cut off: by half spaces, by other bodies."""

from __future__ import annotations

import math

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Element
from tests.ifc.small_models import SmallModel

LONG, WIDE = 1.0, 0.0603


def half_space(m: SmallModel, at, normal, agrees: bool = False, kind: str = "IfcHalfSpaceSolid"):
    """All on the side the normal points to; with `agrees` all on the other."""
    x = (1, 0, 0) if abs(normal[0]) < 0.9 else (0, 1, 0)
    plane = m.file.create_entity("IfcPlane", m.axes(at, normal, x))
    return m.file.create_entity(kind, plane, agrees)


def bounded(m: SmallModel, at, normal, centre, half: float):
    """A half space within a square about the z axis."""
    space = half_space(m, at, normal, kind="IfcPolygonalBoundedHalfSpace")
    x, y = centre
    around = [(x + i * half, y + j * half) for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    space.Position = m.axes((0, 0, 0))
    space.PolygonalBoundary = m.file.create_entity(
        "IfcPolyline", [m.point(p) for p in (*around, around[0])]
    )
    return space


def cut(m: SmallModel, body, other, operator: str = "DIFFERENCE"):
    clips = operator == "DIFFERENCE" and "HalfSpace" in other.is_a()
    kind = "IfcBooleanClippingResult" if clips else "IfcBooleanResult"
    return m.file.create_entity(kind, operator, body, other)


def drawn(tmp_path, m: SmallModel, body) -> Element:
    shape = m.shape(body, kind="Clipping")
    m.element("IfcPipeSegment", "P", at=m.placement((5, 0, 0)), shape=shape)
    (element,) = read(m.write(tmp_path)).elements
    return element


def heights(pipe: Element) -> list[float]:
    return [round(end.position[2], 6) for end in pipe.ends if end.position is not None]


UP, DOWN, ASLANT = (0, 0, 1), (0, 0, -1), (math.sqrt(0.5), 0, math.sqrt(0.5))


@pytest.mark.parametrize("unit", ["METRE", "MILLIMETRE"])
@pytest.mark.parametrize(
    ("normal", "agrees", "operator", "left"),
    [
        (UP, False, "DIFFERENCE", [0, 0.7]),
        (UP, True, "DIFFERENCE", [0.7, 1]),
        (DOWN, False, "DIFFERENCE", [0.7, 1]),
        (DOWN, True, "DIFFERENCE", [0, 0.7]),
        (ASLANT, False, "DIFFERENCE", [0, 0.7]),
        (UP, False, "INTERSECTION", [0.7, 1]),
        (UP, True, "INTERSECTION", [0, 0.7]),
    ],
)
def test_a_pipe_ends_where_a_half_space_cuts_it(tmp_path, unit, normal, agrees, operator, left):
    m = SmallModel("IFC4", unit)
    space = half_space(m, (0, 0, 0.7), normal, agrees)
    pipe = drawn(tmp_path, m, cut(m, m.extrusion(WIDE, LONG), space, operator))
    assert heights(pipe) == left
    assert pipe.length_m == pytest.approx(left[1] - left[0])
    assert pipe.size_in == 2.0


def test_both_ends_are_cut_one_after_the_other(tmp_path):
    m = SmallModel()
    once = cut(m, m.extrusion(WIDE, LONG), half_space(m, (0, 0, 0.9), UP))
    assert heights(drawn(tmp_path, m, cut(m, once, half_space(m, (0, 0, 0.2), DOWN)))) == [0.2, 0.9]


@pytest.mark.parametrize(("at_m", "left"), [(1.0, [0, 1]), (1.2, [0, 1]), (0.0, []), (-0.1, [])])
def test_a_half_space_beside_a_pipe_leaves_it_and_one_around_it_nothing(tmp_path, at_m, left):
    m = SmallModel()
    space = half_space(m, (0, 0, at_m), UP)
    pipe = drawn(tmp_path, m, cut(m, m.extrusion(WIDE, LONG), space))
    assert heights(pipe) == left
    assert (pipe.length_m is None) is (not left)


@pytest.mark.parametrize(
    ("centre", "half", "left"),
    [((0, 0), 0.5, [0, 0.7]), ((2, 0), 0.5, [0, 1])],
)
def test_a_bounded_half_space_cuts_what_lies_within_its_bounds(tmp_path, centre, half, left):
    m = SmallModel()
    space = bounded(m, (0, 0, 0.7), UP, centre, half)
    assert heights(drawn(tmp_path, m, cut(m, m.extrusion(WIDE, LONG), space))) == left


@pytest.mark.parametrize(
    ("at", "normal", "end"),
    [
        ((0.5, 0, 0), (1, 0, 0), (5.5, 0, 1)),
        ((0, 0, 0.5), UP, None),  # of two pieces neither is it
    ],
)
def test_a_bent_pipe_is_cut_where_one_piece_is_left(tmp_path, at, normal, end):
    m = SmallModel()
    way = m.file.create_entity(
        "IfcPolyline", [m.point(p) for p in ((0, 0, 0), (0, 0, 1), (1, 0, 1), (1, 0, 0))]
    )
    body = m.file.create_entity("IfcSweptDiskSolid", way, 0.03)
    pipe = drawn(tmp_path, m, cut(m, body, half_space(m, at, normal)))
    assert pipe.length_m == (pytest.approx(1.5) if end else None)
    assert [e.position for e in pipe.ends[1:]] == ([pytest.approx(end)] if end else [])


def bar(m: SmallModel, low: float, high: float, size: float, turned: bool = False):
    """A round body along the pipe, or across it."""
    solid = m.extrusion(size, high - low)
    solid.Position = m.axes((-0.5, 0, low), (1, 0, 0), (0, 0, 1)) if turned else m.axes((0, 0, low))
    return solid


def slab(m: SmallModel, low: float, high: float):
    """A square block across the pipe."""
    solid = m.raised(m.polygon((-1, -1), (1, -1), (1, 1), (-1, 1)), high - low)
    solid.Position = m.axes((0, 0, low))
    return solid


@pytest.mark.parametrize(
    ("other", "left"),
    [
        (lambda m: bar(m, -0.1, 1.1, 0.0525), [0, 1]),  # its bore
        (lambda m: bar(m, 0.8, 1.1, 0.0525), [0, 1]),
        (lambda m: bar(m, 0.8, 1.1, 0.08), [0, 0.8]),  # its end
        (lambda m: bar(m, -0.1, 0.2, 0.0603), [0.2, 1]),
        (lambda m: bar(m, -0.1, 1.1, 0.08), []),
        (lambda m: bar(m, 0.4, 0.6, 0.08), []),  # two pieces are left
        (lambda m: bar(m, 0.5, 1.5, 0.03, turned=True), [0, 1]),  # a hole in its side
        (lambda m: slab(m, 1.0, 1.5), [0, 1]),
        (lambda m: slab(m, -0.5, 0.1), []),  # whether it takes the end its corners do not tell
    ],
)
def test_what_another_body_takes_of_a_pipe(tmp_path, other, left):
    m = SmallModel()
    assert heights(drawn(tmp_path, m, cut(m, m.extrusion(WIDE, LONG), other(m)))) == left


@pytest.mark.parametrize("operator", ["UNION", "INTERSECTION"])
def test_bodies_put_together_are_one_and_what_two_share_is_not_known(tmp_path, operator):
    m = SmallModel()
    bell = bar(m, 0.0, 0.1, 0.08)
    pipe = drawn(tmp_path, m, cut(m, bell, m.extrusion(WIDE, LONG), operator))
    assert heights(pipe) == ([0, 1] if operator == "UNION" else [])


def test_a_plane_is_needed_to_tell_where_a_pipe_ends(tmp_path):
    m = SmallModel()
    round_surface = m.file.create_entity("IfcCylindricalSurface", m.axes((0, 0, 0)), 0.5)
    space = m.file.create_entity("IfcHalfSpaceSolid", round_surface, False)
    assert drawn(tmp_path, m, cut(m, m.extrusion(WIDE, LONG), space)).length_m is None
