"""Drains and vents drawn bends and all in one element are read as their straight legs."""

from __future__ import annotations

from math import cos, pi, sin

import pytest

from ifclint.ifc import read
from ifclint.ifc.joints.pieces import LEG_M, STRAIGHT_DEG, with_sharp_bends
from tests.ifc.small_models import SmallModel

DROP = [(0.0, 0.0, 3.0), (0.0, 0.0, 0.0), (4.0, 0.0, -0.08)]


def arc(x: float, z: float, radius: float, steps: int = 9) -> list[tuple[float, float, float]]:
    """A quarter from straight down to level, that begins above a corner."""
    turns = [n * pi / 2 / steps for n in range(steps + 1)]
    return [(x + radius * (1 - cos(t)), 0.0, z + radius * (1 - sin(t))) for t in turns]


@pytest.mark.parametrize("radius", [0.05, 0.15, 0.3])
def test_legs_meet_where_their_axes_do_whatever_the_bend(radius) -> None:
    course = ((0.0, 0.0, 3.0), *arc(0.0, 0.0, radius), (4.0, 0.0, 0.0))
    (start, corner, end) = with_sharp_bends(course)
    assert (start, end) == (course[0], course[-1])
    assert corner == pytest.approx((0.0, 0.0, 0.0), abs=0.03)


@pytest.mark.parametrize(
    ("course", "corners"),
    [
        (DROP, [DROP[1]]),
        ([(0.0, 0.0, 0.0), (1.0, 0.0, 0.01), (4.0, 0.0, -0.08)], []),  # too little to be a bend
        ([(0.0, 0.0, 0.0), (2.0, 0.0, 0.0), (2.0, 0.0, 0.0), (2.0, 2.0, 0.0)], [(2.0, 0.0, 0.0)]),
        ([(0.0, 0.0, 0.0), (2.0, 0.0, 0.0), (2.05, 0.0, 0.05), (4.0, 0.0, 0.05)],
         [(2.0, 0.0, 0.0), (2.05, 0.0, 0.05)]),  # a jog
        ([(0.0, 0.0, 0.0), (2.0, 0.0, 0.0), (2.0, 0.0, -0.029), (4.0, 0.0, -0.029)], []),  # steps
        ([(0.0, 0.0, 0.0), (2.0, 0.0, 0.0), (2.0, 0.0, -0.029)], []),
        ([(0.0, 0.0, 0.0), (2.0, 0.0, 0.0), (2.0, 0.0, -0.031), (4.0, 0.0, -0.031)],
         [(2.0, 0.0, 0.0), (2.0, 0.0, -0.031)]),
        ([(1.0, 0.0, 0.0), (1.0, 0.0, 0.0), (1.0, 0.0, 0.0)], []),  # of no length
    ],
)  # fmt: skip
def test_the_corners_of_a_course(course, corners) -> None:
    assert with_sharp_bends(tuple(course)) == (course[0], *map(pytest.approx, corners), course[-1])


@pytest.mark.parametrize(("below", "cut"), [(STRAIGHT_DEG - 0.1, 0), (STRAIGHT_DEG + 0.1, 1)])
def test_what_turns_little_is_one_leg(below, cut) -> None:
    rise = sin(below * pi / 180) / cos(below * pi / 180)
    course = (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (2.0, 0.0, rise)
    assert len(with_sharp_bends(course)) == 2 + cut


@pytest.mark.parametrize(("length_m", "corners"), [(LEG_M + 0.001, 2), (LEG_M - 0.001, 1)])
def test_what_is_short_between_two_legs_is_their_bend(length_m, corners) -> None:
    side = length_m / 2**0.5
    course = (0.0, 0.0, 2.0), (0.0, 0.0, 0.0), (side, 0.0, -side), (3.0, 0.0, -side)
    assert len(with_sharp_bends(course)) == 2 + corners


def run(m: SmallModel, points: list[tuple[float, float, float]], name: str):
    line = m.file.createIfcPolyline([m.point(p) for p in points])
    body = m.file.createIfcSweptDiskSolid(line, 0.05, None, None, None)
    return m.element("IfcPipeSegment", name, at=m.placement((0, 0, 0)), shape=m.shape(body))


@pytest.mark.parametrize(
    ("system", "pieces"), [("WASTEWATER", 2), ("VENT", 2), ("DOMESTICCOLDWATER", 1)]
)
def test_a_drain_of_one_element_is_read_as_its_legs(tmp_path, system, pieces) -> None:
    m = SmallModel()
    pipe = run(m, DROP, "Run")
    beyond = m.pipe((4.0, 0.0, -0.08), (6.0, 0.0, -0.12), name="On")
    m.system("S", [pipe, beyond], system)
    model = read(m.write(tmp_path))
    legs = [e for e in model.elements if e.name == "Run"]
    assert len(legs) == pieces == len({e.key for e in legs})
    assert len(model.joints) == pieces
    assert sum(e.length_m for e in legs) == pytest.approx(3 + (16 + 0.08**2) ** 0.5, abs=1e-3)
    if pieces == 2:
        assert [leg.line for leg in legs] == [
            (pytest.approx(DROP[0]), pytest.approx(DROP[1])),
            (pytest.approx(DROP[1]), pytest.approx(DROP[2])),
        ]


def test_a_bent_drain_that_another_enters_is_cut_there_and_at_its_bend(tmp_path) -> None:
    m = SmallModel()
    pipe = run(m, DROP, "Run")
    branch = m.pipe((0.0, 1.0, 1.52), (0.0, 0.0, 1.5), name="Branch")
    m.system("S", [pipe, branch], "WASTEWATER")
    model = read(m.write(tmp_path))
    legs = [e for e in model.elements if e.name == "Run"]
    assert len({e.key for e in legs}) == 3
    lowest = min(legs, key=lambda e: e.line[-1][2])
    assert lowest.line[0] == pytest.approx(DROP[1])
    joined = [{model.elements[j.a].key, model.elements[j.b].key} for j in model.joints]
    assert len(joined) == 3  # the branch at its height, and the pieces in line
