"""An element that holds several pipes is read as these, and one that holds one pipe as this."""

from __future__ import annotations

from collections import Counter

import pytest

from ifclint.ifc import read
from ifclint.ifc.shape.chains import NARROWEST_M
from tests.ifc.small_models import SmallModel

Point = tuple[float, float, float]


def layer(m: SmallModel, *pipes: tuple[Point, Point, float], name: str = "Layer"):
    """One element of straight bodies, each from a point to another, of a diameter."""
    bodies = []
    for a, b, diameter in pipes:
        line = m.file.createIfcPolyline([m.point(a), m.point(b)])
        bodies.append(m.file.createIfcSweptDiskSolid(line, diameter / 2, None, None, None))
    shape = m.shape(*bodies, kind="AdvancedSweptSolid")
    return m.element("IfcPipeSegment", name, at=m.placement((0, 0, 0)), shape=shape)


MAIN = (0.0, 0.0, 1.0), (6.0, 0.0, 0.88), 0.1143
BRANCH = (2.0, 2.0, 1.0), (2.0, 0.0, 0.96), 0.0603
APART = (0.0, 9.0, 1.0), (6.0, 9.0, 0.9), 0.0603
COVER = (0.5, 0.0, 0.99), (5.5, 0.0, 0.89), 0.16
COLLAR = (6.0, 0.0, 0.88), (6.1, 0.0, 0.878), 0.16
WIDER = (6.0, 0.0, 0.88), (9.0, 0.0, 0.82), 0.1683


@pytest.mark.parametrize(
    ("bodies", "sizes"),
    [
        ([MAIN], [4.0]),
        ([MAIN, APART], [2.0, 4.0]),
        ([MAIN, COVER], [4.0]),
        ([MAIN, COLLAR], [4.0]),
        ([MAIN, WIDER], [4.0, 6.0]),  # goes on, wider
        ([MAIN, ((1.0, 0.0, 1.2), (1.0, 0.0, 1.0), NARROWEST_M)], [4.0]),
        ([MAIN, ((1.0, 5.0, 1.2), (1.0, 5.0, 1.0), NARROWEST_M + 0.0001)], [4.0, None]),
        ([MAIN, ((6.0, 0.0, 0.88), (9.0, 0.0, 0.82), 0.1143)], [4.0]),  # two pieces of one line
        ([MAIN, COVER, APART], [2.0, 4.0]),
    ],
)
def test_the_pipes_that_an_element_holds(tmp_path, bodies, sizes) -> None:
    m = SmallModel()
    m.system("S", [layer(m, *bodies)], "WASTEWATER")
    model = read(m.write(tmp_path))
    assert Counter(e.size_in for e in model.elements) == Counter(sizes)
    assert len({e.key for e in model.elements}) == len(sizes)
    assert len({e.guid for e in model.elements}) == 1
    assert not [note for note in model.notes if note.topic in ("identity", "duplicate")]


def test_pipes_of_one_element_are_joined_where_they_meet(tmp_path) -> None:
    m = SmallModel()
    whole = layer(m, MAIN, BRANCH, APART)
    m.system("S", [whole], "WASTEWATER")
    model = read(m.write(tmp_path))
    assert len(model.elements) == len({e.key for e in model.elements}) == 4  # the main is cut
    joined = {i for j in model.joints for i in (j.a, j.b)}
    met = [model.elements[i] for i in joined]
    assert sorted(e.size_in for e in met) == [2.0, 4.0, 4.0]
    assert min(e.line[-1][2] for e in met if e.size_in == 2.0) == pytest.approx(0.96)


def test_pipes_of_one_element_that_are_as_wide_are_of_its_stated_size(tmp_path) -> None:
    m = SmallModel()
    whole = layer(m, MAIN, (*APART[:2], MAIN[2]))
    m.properties(
        whole, "Pset_PipeSegmentTypeCommon", NominalDiameter=("IfcPositiveLengthMeasure", 0.1)
    )
    m.system("S", [whole], "WASTEWATER")
    model = read(m.write(tmp_path))
    assert [e.basis["size"].words for e in model.elements] == [
        "Pset_PipeSegmentTypeCommon.NominalDiameter"
    ] * 2


def test_an_element_with_ports_is_one_pipe(tmp_path) -> None:
    m = SmallModel()
    whole = layer(m, MAIN, APART)
    m.ports(whole, MAIN[0], MAIN[1])
    m.system("S", [whole], "WASTEWATER")
    (pipe,) = read(m.write(tmp_path)).elements
    assert pipe.line == (pytest.approx(MAIN[0]), pytest.approx(MAIN[1]))
