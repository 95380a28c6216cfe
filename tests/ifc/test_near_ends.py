"""What ends on the very side of a pipe beside its end, and parts that stand at a side."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from tests.ifc.small_models import SmallModel
from tests.ifc.test_bodies_of_several import joined_to


def stack(foot: float, branch: float = 0.05, aside: float = 0.0) -> SmallModel:
    """A stack whose foot lies below a branch that ends on its axis, or `aside` of it."""
    m = SmallModel()
    pipes = [
        m.pipe((0, 0, 3), (0, 0, -foot), name="Stack", diameter=0.11),
        m.pipe((2, 0, 0.04), (aside, 0, 0), name="Branch", diameter=branch),
    ]
    m.system("Soil", pipes, "SEWAGE")
    return m


def pieces(model, name):
    """The lowest place of each piece of a pipe, and whether its lower end is joined."""
    met = {at for j in model.joints for at in ((j.a, j.a_end), (j.b, j.b_end))}
    found = []
    for i, e in enumerate(model.elements):
        if e.name == name:
            number, end = min(enumerate(e.ends), key=lambda pair: pair[1].position[2])
            found.append((round(end.position[2], 4), (i, number) in met))
    return sorted(found)


@pytest.mark.parametrize("foot", [0.002, 0.006, 0.0099, 0.02])
def test_what_ends_on_the_axis_of_a_stack_enters_above_its_foot(tmp_path, foot):
    model = read(stack(foot).write(tmp_path))
    assert pieces(model, "Stack") == [(-foot, False), (0.0, True)]
    assert len(model.joints) == 2


def test_a_wide_tolerance_takes_no_foot_for_the_end_of_its_branch(tmp_path):
    model = read(stack(0.02).write(tmp_path), joining_tolerance_m=0.03)
    assert pieces(model, "Stack") == [(-0.02, False), (0.0, True)]


@pytest.mark.parametrize(("foot", "branch", "aside"), [(0.006, 0.11, 0.0), (0.006, 0.05, 0.004)])
def test_pipes_of_one_size_or_not_on_the_axis_meet_end_to_end(tmp_path, foot, branch, aside):
    """A corner drawn a little past its point."""
    model = read(stack(foot, branch, aside).write(tmp_path))
    assert pieces(model, "Stack") == [(-foot, True)]
    assert len(model.joints) == 1


def test_a_smaller_pipe_in_line_with_a_larger_one_runs_on_from_its_end(tmp_path):
    m = SmallModel()
    pipes = [m.pipe((0, 0, 0), (1, 0, 0), name="Large", diameter=0.06),
             m.pipe((0.994, 0, 0), (2, 0, 0), name="Small", diameter=0.03)]  # fmt: skip
    m.system("Cold", pipes, "DOMESTICCOLDWATER")
    model = read(m.write(tmp_path))
    assert len(model.joints) == 1
    assert len(model.elements) == 2


@pytest.mark.parametrize(
    ("ifc_class", "places", "joined"),
    [
        ("IfcFlowMeter", ((0, 0.0007, 1), (0.2, 0, 1)), ["Riser"]),
        ("IfcValve", ((0, 0.0, 1), (0.1, 0, 1)), ["Riser"]),
        ("IfcValve", ((0, 0.02, 1), (0.1, 0.02, 1)), []),  # beside the axis, within the pipe
        ("IfcValve", ((0, 0.0, 2.995), (0.1, 0, 3)), ["Riser"]),  # at its end
    ],
)
def test_a_meter_or_valve_at_the_side_of_a_riser_is_joined_there(
    tmp_path, ifc_class, places, joined
):
    m = SmallModel()
    part = m.element(ifc_class, "Part", at=m.placement(places[0]))
    m.ports(part, *places)
    riser = m.pipe((0, 0, 0), (0, 0, 3), name="Riser", diameter=0.05)
    m.system("Cold", [part, riser], "DOMESTICCOLDWATER")
    model = read(m.write(tmp_path))
    assert sorted(set(joined_to(model, "Part"))) == joined


def test_a_bent_pipe_faces_the_way_its_last_leg_does(tmp_path):
    """A gap before the end of a pipe swept round a corner is bridged as before a straight one."""
    m = SmallModel()
    points = [(0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (1.0, 1.0, 0.0)]
    line = m.file.create_entity("IfcPolyline", [m.point(p) for p in points])
    solid = m.file.create_entity("IfcSweptDiskSolid", line, m.length(0.03), None, None, None)
    shape = m.shape(solid, kind="AdvancedSweptSolid")
    bent = m.element("IfcPipeSegment", "Bent", at=m.placement((0, 0, 0)), shape=shape)
    on = m.pipe((1, 1.015, 0), (1, 2, 0), name="On", diameter=0.06)
    beside = m.pipe((-0.015, 0.0, 0), (-0.015, 2, 0), name="Beside", diameter=0.06)
    m.system("Cold", [bent, on, beside], "DOMESTICCOLDWATER")
    assert joined_to(read(m.write(tmp_path)), "On") == ["Bent"]
    assert joined_to(read(m.write(tmp_path)), "Beside") == []
