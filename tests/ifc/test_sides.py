"""Pipes entered on their side: where a branch enters, on straight pipes and on bent ones."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from ifclint.findings import Outcome
from ifclint.ifc import read
from ifclint.ifc.elements import Element, End, Model, Role, System
from ifclint.ifc.joints.joining import join_free_ends
from ifclint.ifc.joints.pieces import cut_at_sides
from ifclint.review import review
from tests.ifc.small_models import SmallModel


def pipe(name, *course, length_m=None):
    drawn = sum(math.dist(p, q) for p, q in pairwise(course))
    made = Element(name, name, role=Role.PIPE, system=System.SANITARY, size_in=3.0)
    made.position, made.ends = course[0], [End(course[0]), End(course[-1])]
    made.course = course if len(course) > 2 else ()
    made.length_m = length_m or drawn
    return made


def joined(*elements):
    model = Model(elements=list(elements), joining_tolerance_m=0.01)
    join_free_ends(model, {})
    cut_at_sides(model)
    return model


def met(model):
    """The elements that meet, by name and piece, with where."""
    return sorted(
        (
            *sorted(model.elements[i].key for i in (j.a, j.b)),
            model.elements[j.a].ends[j.a_end].position,
        )
        for j in model.joints
    )


def test_branches_cut_a_stack_in_their_order_along_it():
    low = pipe("Low", (1.0, 0.0, 1.02), (0.0, 0.0, 1.0))
    high = pipe("High", (0.0, 1.0, 6.02), (0.0, 0.0, 6.0))
    model = joined(pipe("Stack", (0.0, 0.0, 9.0), (0.0, 0.0, 0.0)), low, high)
    assert met(model) == [
        ("High", "Stack piece 2", (0.0, 0.0, 6.0)),
        ("Low", "Stack piece 3", (0.0, 0.0, 1.0)),
        ("Stack", "Stack piece 2", (0.0, 0.0, 6.0)),
        ("Stack piece 2", "Stack piece 3", (0.0, 0.0, 1.0)),
    ]
    lengths = [e.length_m for e in model.elements if e.guid == "Stack"]
    assert lengths == [pytest.approx(3), pytest.approx(5), pytest.approx(1)]


def clashing(material, size_in, service=None, at=1.0):
    """What of a vent and a tube is joined, which ends on the vent's side or at its end."""
    vent = pipe("Vent", (0.0, 0.0, 0.0), (2.0, 0.0, 0.0))
    vent.system, vent.material = System.VENT, "pvc"
    tube = pipe("Tube", (at, 0.0, -1.0), (at, 0.0, 0.0))
    tube.system, tube.material, tube.size_in = service, material, size_in
    return bool(joined(vent, tube).joints)


@pytest.mark.parametrize("at", [0.0, 1.0])
@pytest.mark.parametrize(
    ("material", "size_in", "service", "is_joined"),
    [
        ("copper", 0.5, None, False),
        ("copper", 1.5, None, False),  # half its size
        ("copper", 2.0, None, True),  # a joint whose fitting is not drawn
        ("pvc", 0.5, None, True),
        ("", 0.5, None, True),
        ("copper", 1.5, System.VENT, True),
        ("copper", 2.0, System.COLD_WATER, False),
    ],
)
def test_a_tube_of_another_material_and_far_other_size_only_touches(
    material, size_in, service, is_joined, at
):
    assert clashing(material, size_in, service, at) is is_joined


def test_two_branches_at_one_height_enter_at_one_place():
    east = pipe("East", (1.0, 0.0, 1.02), (0.05, 0.0, 1.0))
    north = pipe("North", (0.0, 1.0, 1.02), (0.0, 0.05, 1.0))
    stack = pipe("Stack", (0.0, 0.0, 9.0), (0.0, 0.0, 0.0))
    stack.properties["outside_diameter_m"] = 0.1
    model = joined(stack, east, north)
    assert [m[:2] for m in met(model)] == [
        ("East", "Stack piece 2"), ("North", "Stack piece 2"), ("Stack", "Stack piece 2"),
    ]  # fmt: skip


def test_a_bent_pipe_is_entered_along_its_curve_and_not_along_its_chord():
    bent = pipe("Bent", (0.0, 0.0, 0.0), (2.0, 0.0, 0.0), (2.0, 3.0, 0.0))
    on = pipe("On", (3.0, 1.0, 0.0), (2.0, 1.0, 0.0))
    chord = pipe("Chord", (1.0, 3.0, 0.0), (1.0, 1.5, 0.0))
    model = joined(bent, on, chord)
    assert met(model) == [
        ("Bent", "Bent piece 2", (2.0, 1.0, 0.0)),
        ("Bent piece 2", "On", (2.0, 1.0, 0.0)),
    ]
    before, after = (e for e in model.elements if e.guid == "Bent")
    assert (before.length_m, after.length_m) == (pytest.approx(3), pytest.approx(2))
    assert before.course == ((0.0, 0.0, 0.0), (2.0, 0.0, 0.0), (2.0, 1.0, 0.0))
    assert after.course == ()


def swept(m: SmallModel, name: str, *points):
    line = m.file.create_entity("IfcPolyline", [m.point(p) for p in points])
    disk = m.file.create_entity("IfcSweptDiskSolid", line, m.length(0.0445))
    return m.element("IfcPipeSegment", name, at=m.placement((0, 0, 0)),
                     shape=m.shape(disk, kind="AdvancedSweptSolid"))  # fmt: skip


@pytest.mark.parametrize("ports", [False, True])
def test_the_course_of_a_swept_disk_is_read(tmp_path, ports):
    m = SmallModel()
    bent = swept(m, "Bent", (0, 0, 0), (2, 0, 0), (2, 3, 0))
    if ports:
        m.ports(bent, (2, 3, 0), (0, 0, 0))
    m.pipe((3, 1, 0), (2, 1, 0), name="On")
    model = read(m.write(tmp_path))
    names = sorted(tuple(sorted(model.elements[i].name for i in j[:4:2])) for j in model.joints)
    assert names == [("Bent", "Bent"), ("Bent", "On")]


def test_a_low_arm_on_a_tall_stack_drains_down_and_not_up_to_its_middle(tmp_path):
    m = SmallModel()
    stack = m.pipe((0, 0, 7), (0, 0, 0), name="Stack", diameter=0.0889)
    drain = m.pipe((0, 0, 0), (6, 0, -0.12), name="Building drain", diameter=0.0889)
    arm = m.pipe((1, 0, 0.82), (0, 0, 0.8), name="Arm")
    trap = m.element(
        "IfcWasteTerminal", "P-trap", predefined="WASTETRAP", at=m.placement((1, 0, 1))
    )
    m.ports(trap, (1, 0, 0.92), (1, 0, 0.82))
    tail = m.pipe((1, 0, 1.1), (1, 0, 0.92), name="Tailpiece", diameter=0.0484)
    basin = m.element("IfcSanitaryTerminal", "Lavatory", predefined="WASHHANDBASIN",
                      at=m.placement((1, 0, 1.1)))  # fmt: skip
    m.ports(basin, (1, 0, 1.1))
    m.system("Sanitary", [stack, drain, arm, trap, tail], "SEWAGE")
    found = review([m.write(tmp_path)], None, "ipc-2021").findings
    assert [f.message for f in found if f.outcome is Outcome.VIOLATION] == []
    (vented,) = [f.message for f in found if f.rule == "trap-vented"]
    assert "which rises from the drain of Lavatory" in vented  # the stack above the arm
