"""Kinds that the ends of fittings tell, where neither words nor enumerations do."""

from __future__ import annotations

from math import cos, radians, sin

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Confidence, Element
from ifclint.ifc.facts.fitting_kinds import BY_ANGLE, BY_SIZES
from tests.ifc.small_models import SmallModel

IN_LINE = (0, 180)


def fitting_of(tmp_path, angles, *, literal="NOTDEFINED", name="F-7", diameters=(), **more):
    """A fitting with a port and a pipe at each of these angles (degrees) in one plane."""
    m = SmallModel()
    tips = [(cos(radians(a)), sin(radians(a)), 0.0) for a in angles]
    fitting = m.element("IfcPipeFitting", name, predefined=literal, at=m.placement((0, 0, 0)))
    near = [tuple(0.1 * c for c in tip) for tip in tips]
    ports = m.ports(fitting, *near)
    members = [fitting]
    sizes = diameters or (0.0603,) * len(tips)
    for tip, start, port, diameter in zip(tips, near, ports, sizes, strict=True):
        pipe = m.pipe(start, tip, diameter=diameter, name="P")
        m.connect(port, m.ports(pipe, start, tip)[0])
        members.append(pipe)
    m.system("S", members, more.get("system", "DOMESTICCOLDWATER"))
    return next(e for e in read(m.write(tmp_path)).elements if e.name == name)


def kind_of(element: Element) -> tuple[str, str]:
    return element.kind, str(element.basis.get("kind", ""))


@pytest.mark.parametrize(
    ("angles", "kind"),
    [
        ((0, 180, 90), "tee"),
        ((0, 180, 87.5), "tee"),
        ((0, 180, 45), "wye"),
        ((0, 180, 135), "wye"),
        ((90, 0, 180), "tee"),  # in whatever order
        ((0, 180, 67), ""),
        ((0, 120, 240), ""),
        ((0, 180, 90, 270), "cross"),
        ((0, 180, 45, 315), "double-wye"),
        ((0, 180, 45, 270), ""),
        ((0, 90), "quarter-bend"),
        ((0, 135), "eighth-bend"),
        ((0, 145), "bend"),
    ],
)
def test_kinds_by_angle(tmp_path, angles, kind):
    element = fitting_of(tmp_path, angles)
    assert kind_of(element) == (kind, "angle of its ends" if kind else "")


@pytest.mark.parametrize("off", [-5.1, -4.9, 4.9, 5.1])
@pytest.mark.parametrize(
    ("degrees", "kind"),
    [(90, "quarter-bend"), (60, "sixth-bend"), (45, "eighth-bend"), (22.5, "sixteenth-bend")],
)
def test_a_bend_is_of_a_kind_within_five_degrees(tmp_path, degrees, kind, off):
    element = fitting_of(tmp_path, (0, 180 - degrees - off))
    assert element.kind == (kind if abs(off) < 5 else "bend")


def test_two_ends_in_line_are_a_reducer_or_a_coupling(tmp_path):
    reducer = fitting_of(tmp_path, IN_LINE, diameters=(0.0603, 0.1143))
    assert kind_of(reducer) == ("reducer", "sizes of its ends")
    assert [e.size_in for e in reducer.ends] == [2, 4]
    assert kind_of(fitting_of(tmp_path, IN_LINE)) == ("coupling", "sizes of its ends")
    unsized = fitting_of(tmp_path, IN_LINE, diameters=(0.0603, 0.0444))
    assert kind_of(unsized) == ("", "")


def test_one_end_alone_is_no_cap(tmp_path):
    assert fitting_of(tmp_path, (0,)).kind == ""
    assert fitting_of(tmp_path, (0,), name="End cap").kind == "cap"


@pytest.mark.parametrize(
    ("literal", "name", "angles", "kind"),
    [
        ("NOTDEFINED", "Wye 2 in", (0, 180, 90), "wye"),  # words are believed
        ("NOTDEFINED", "Sanitary tee", (0, 180, 45), "sanitary-tee"),
        ("TRANSITION", "T-1", IN_LINE, "reducer"),  # so is the enumeration
        ("CONNECTOR", "C-1", (0, 90), "coupling"),
        ("BEND", "B-1", (0, 180, 90), "bend"),
        ("JUNCTION", "J-1", (0, 90), ""),  # a junction of two ends lacks one
        ("JUNCTION", "J-1", (0, 180, 90), "tee"),
    ],
)
def test_words_and_enumerations_are_never_overridden(tmp_path, literal, name, angles, kind):
    assert fitting_of(tmp_path, angles, literal=literal, name=name).kind == kind


def test_a_fitting_joined_to_nothing_is_known_by_its_ports(tmp_path):
    m = SmallModel()
    fitting = m.element("IfcPipeFitting", "F", at=m.placement((0, 0, 0)))
    m.ports(fitting, (-0.1, 0, 0), (0.1, 0, 0), (0, 0, 0.1))
    (element,) = read(m.write(tmp_path)).elements
    assert kind_of(element) == ("tee", "angle of its ends")


def test_how_far_such_kinds_can_be_trusted():
    assert BY_ANGLE.confidence is Confidence.SHAPE
    assert BY_SIZES.confidence is Confidence.INFERRED
