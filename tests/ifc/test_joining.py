"""Ends that do not quite meet: across gaps, at the middle of fittings, beside fixtures."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Model, Role, System
from tests.ifc.small_models import SmallModel
from tests.ifc.test_systems_and_joints import names


def system_of_ends(model: Model, name: str) -> list[System | None]:
    return [end.system for e in model.elements if e.name == name for end in e.ends]


def block(m: SmallModel, low, high):
    """A shape of which only the box can be read."""
    corners = [(x, y, z) for x in (low[0], high[0]) for y in (low[1], high[1])
               for z in (low[2], high[2])]  # fmt: skip
    points = m.file.create_entity(
        "IfcCartesianPointList3D", [[m.length(c) for c in corner] for corner in corners]
    )
    faces = m.file.create_entity("IfcTriangulatedFaceSet", points, None, False, [(1, 2, 3)])
    return m.shape(faces, kind="Tessellation")


# Gaps along one line


def two_pipes(tmp_path, start, end, **more):
    m = SmallModel()
    m.pipe((0, 0, 0), (1, 0, 0), name="A")
    m.pipe(start, end, name="B", **more)
    return m


@pytest.mark.parametrize(("gap", "joined"), [(0.012, 1), (0.024, 1), (0.026, 0), (0.1, 0)])
def test_a_small_gap_on_one_line_is_bridged_and_its_width_kept(tmp_path, gap, joined):
    m = two_pipes(tmp_path, (1 + gap, 0, 0), (2, 0, 0))
    joints = read(m.write(tmp_path)).joints
    assert [(j.inferred, round(j.gap_m, 6)) for j in joints] == [(True, gap)] * joined


def test_pipes_that_overlap_a_little_are_joined_once(tmp_path):
    m = two_pipes(tmp_path, (0.985, 0, 0), (2, 0, 0))
    (joint,) = read(m.write(tmp_path)).joints
    assert joint.gap_m == pytest.approx(0.015)


def test_who_asks_for_close_joints_gets_no_wide_gap_bridged(tmp_path):
    path = two_pipes(tmp_path, (1.012, 0, 0), (2, 0, 0)).write(tmp_path)
    assert read(path, joining_tolerance_m=0.004).joints == []
    assert len(read(path, joining_tolerance_m=0.005).joints) == 1


@pytest.mark.parametrize(
    ("start", "end"),
    [
        ((1.015, 0.008, 0), (2, 0.008, 0)),  # beside the line
        ((1.015, 0, 0), (2, 0.3, 0)),  # turned by 17 degrees
        ((1.015, 0, 0), (1.015, 1, 0)),  # round a corner
    ],
)
def test_ends_that_do_not_face_each_other_are_not_joined(tmp_path, start, end):
    assert read(two_pipes(tmp_path, start, end).write(tmp_path)).joints == []


@pytest.mark.parametrize(
    ("gaps", "also_round_the_corner"),
    [
        ([0.012] * 10, True),
        ([0.012] * 9, False),  # too few tell how the program draws
        ([0.012] * 9 + [0.013], True),
        ([0.012] * 8 + [0.014] * 2, False),  # of no one width
    ],
)
def test_a_gap_that_is_drawn_everywhere_is_joined_everywhere(tmp_path, gaps, also_round_the_corner):
    m, x = SmallModel(), 0.0
    for gap in gaps:
        m.pipe((x, 0, 0), (x + 1, 0, 0))
        x += 1 + gap
    m.pipe((x, 0, 0), (x + 1, 0, 0))
    m.pipe((x + 1, 0.012, 0), (x + 1, 2, 0), name="round the corner")
    model = read(m.write(tmp_path))
    assert len(model.joints) == len(gaps) + also_round_the_corner
    assert [note.topic for note in model.notes] == ["joints"] * also_round_the_corner
    assert model.joining_tolerance_m == pytest.approx(0.013 if also_round_the_corner else 0.010)


@pytest.mark.parametrize(
    ("gaps", "is_usual"),
    [
        ([0.0105] * 10 + [0.0098] * 11, True),  # as wide, though within the tolerance
        ([0.0105] * 10 + [0.009] * 11, False),
        ([0.0105] * 10 + [0.0] * 10, True),  # half of the joints
        ([0.0105] * 10 + [0.0] * 11, False),
    ],
)
def test_gaps_within_the_tolerance_tell_as_well_how_a_program_draws(tmp_path, gaps, is_usual):
    m, x = SmallModel(), 0.0
    for gap in [*gaps, 0.0]:
        m.pipe((x, 0, 0), (x + 1, 0, 0))
        x += 1 + gap
    model = read(m.write(tmp_path))
    assert len(model.joints) == len(gaps)
    assert model.joining_tolerance_m == pytest.approx(0.0115 if is_usual else 0.010)


def test_a_gap_between_two_sizes_is_not_bridged(tmp_path):
    m = two_pipes(tmp_path, (1.015, 0, 0), (2, 0, 0), diameter=0.1143)
    model = read(m.write(tmp_path))
    assert [e.size_in for e in model.elements] == [2.0, 4.0]
    assert model.joints == []


def test_a_gap_between_two_systems_is_not_bridged(tmp_path):
    m = SmallModel()
    one, other = m.pipe((0, 0, 0), (1, 0, 0)), m.pipe((1.015, 0, 0), (2, 0, 0))
    m.system("Cold", [one], "DOMESTICCOLDWATER")
    m.system("Hot", [other], "DOMESTICHOTWATER")
    assert read(m.write(tmp_path)).joints == []


def test_an_end_that_two_others_face_is_joined_to_neither(tmp_path):
    m = two_pipes(tmp_path, (1.012, 0, 0), (2, 0, 0))
    m.pipe((1.024, 0.003, 0), (3, 0.003, 0), name="C")
    assert not [pair for pair in names(read(m.write(tmp_path))) if "A" in pair]


@pytest.mark.parametrize(
    ("nipple", "joined"),
    [
        ((1.002, 1.007), [("A", "Nipple"), ("B", "Nipple")]),
        ((1.007, 1.002), [("A", "Nipple"), ("B", "Nipple")]),
        ((1.004, 1.004), []),  # neither of its ends is the nearer
    ],
)
def test_a_nipple_shorter_than_the_tolerance_is_met_at_its_nearer_end(tmp_path, nipple, joined):
    m = SmallModel()
    near, far = nipple
    aside = 0.001 if near == far else 0.0
    pipes = [
        m.pipe((0, 0, 0), (1, 0, 0), name="A"),
        m.pipe((near, aside, 0), (far, -aside, 0), name="Nipple"),
        m.pipe((1.0125, -aside, 0), (2, -aside, 0), name="B"),
    ]
    m.system("Cold", pipes, "DOMESTICCOLDWATER")
    assert names(read(m.write(tmp_path))) == joined


def test_a_crowd_is_not_passed_over(tmp_path):
    m = two_pipes(tmp_path, (1.015, 0, 0), (2, 0, 0))
    m.pipe((1, 0, 0), (1, 1, 0), name="C")
    m.pipe((1, 0, 0), (1, 0, 1), name="D")
    model = read(m.write(tmp_path))
    assert model.joints == []
    assert [n.topic for n in model.notes] == ["joint"]


def test_what_stands_in_the_gap_is_not_passed_over(tmp_path):
    m = two_pipes(tmp_path, (1.02, 0, 0), (2, 0, 0))
    m.element("IfcValve", "Valve", predefined="ISOLATING", at=m.placement((1.01, 0, 0)))
    model = read(m.write(tmp_path))
    assert names(model) == [("A", "Valve"), ("B", "Valve")]


def test_a_coupling_placed_elsewhere_is_not_passed_over(tmp_path):
    m = two_pipes(tmp_path, (1.02, 0, 0), (2, 0, 0))
    shape = block(m, (0.98, -0.04, -0.04), (1.04, 0.04, 0.04))
    m.element("IfcPipeFitting", "Coupling", predefined="CONNECTOR", at=m.placement((0, 0, 0)),
              shape=shape)  # fmt: skip
    assert names(read(m.write(tmp_path))) == [("A", "Coupling"), ("B", "Coupling")]


def test_a_fitting_with_ports_faces_a_pipe_too(tmp_path):
    m = SmallModel()
    bend = m.element("IfcPipeFitting", "Bend", predefined="BEND", at=m.placement((1, 0, 0)))
    m.ports(bend, (0.92, 0, 0), (1, 0.08, 0))
    m.pipe((0, 0, 0), (0.905, 0, 0), name="A")
    m.pipe((1, 0.2, 0), (1, 1, 0), name="Too far")
    model = read(m.write(tmp_path))
    assert names(model) == [("A", "Bend")]
    assert model.joints[0].gap_m == pytest.approx(0.015)


def test_where_a_fitting_is_placed_elsewhere_its_ports_tell_no_way(tmp_path):
    m = SmallModel()
    bend = m.element("IfcPipeFitting", "Bend", predefined="BEND", at=m.placement((0, 0, 0)))
    m.ports(bend, (2, 0, 0), (1.92, 0.08, 0))  # it looks down x only if its middle were the origin
    m.pipe((2.015, 0, 0), (3, 0, 0), name="A")
    assert read(m.write(tmp_path)).joints == []


@pytest.mark.parametrize("tolerance_m", [0.010, 0.020])
def test_an_indirect_waste_over_its_receptor_keeps_its_air_gap(tmp_path, tolerance_m):
    m = SmallModel()
    m.pipe((0, 0, 1), (0, 0, 0.0254), name="Indirect waste")
    m.pipe((0, 0, 0), (0, 0, -1), name="Standpipe")
    assert read(m.write(tmp_path), joining_tolerance_m=tolerance_m).joints == []


# The middle of a fitting


def linked_past(m: SmallModel):
    """Two bends whose ports are linked to each other, past the pipe drawn between them."""
    near = m.element("IfcPipeFitting", "Near", predefined="BEND", at=m.placement((0, 0, 0)))
    far = m.element("IfcPipeFitting", "Far", predefined="BEND", at=m.placement((2, 0, 0)))
    (out,) = m.ports(near, (0, 0, 0))
    into, _ = m.ports(far, (0, 0, 0), (2, 0, 0))
    m.connect(out, into)
    m.pipe((0.08, 0, 0), (1.92, 0, 0), name="Between")
    return near, far


def test_a_pipe_that_links_pass_by_is_put_between(tmp_path):
    m = SmallModel()
    linked_past(m)
    model = read(m.write(tmp_path))
    assert names(model) == [("Between", "Far"), ("Between", "Near")]
    assert all(j.inferred for j in model.joints)
    ends = {e.name: [p.position for p in e.ends] for e in model.elements}
    assert ends["Far"][0] == pytest.approx((1.92, 0, 0))
    (note,) = model.notes
    assert "1 pair of elements past the pipe" in note.what


def test_a_pipe_of_another_service_between_linked_fittings_stays_alone(tmp_path):
    m = SmallModel()
    near, far = linked_past(m)
    m.system("Cold", [near, far], "DOMESTICCOLDWATER")
    gas = next(p for p in m.file.by_type("IfcPipeSegment") if p.Name == "Between")
    m.system("Gas", [gas], "GAS")
    model = read(m.write(tmp_path))
    assert names(model) == [("Far", "Near")]
    assert not model.joints[0].inferred


def tee_without_openings(m: SmallModel, kind: str = "JUNCTION"):
    return m.element("IfcPipeFitting", "Tee", predefined=kind, at=m.placement((1, 0, 0)))


def test_pipes_that_point_at_the_middle_of_a_fitting_are_joined_to_it(tmp_path):
    m = SmallModel()
    tee_without_openings(m)
    m.pipe((0, 0, 0), (0.92, 0, 0), name="A")
    m.pipe((1.08, 0, 0), (2, 0, 0), name="B")
    m.pipe((1, 0.17, 0), (1, 1, 0), name="C")
    m.pipe((1, 0.02, 0.1), (1, 0.02, 1), name="Beside")  # misses the middle by 20 mm
    m.pipe((1, -0.2, 0), (1, -1, 0), name="Far")  # more than three diameters away
    model = read(m.write(tmp_path))
    assert names(model) == [("A", "Tee"), ("B", "Tee"), ("C", "Tee")]
    tee = next(e for e in model.elements if e.name == "Tee")
    assert tee.basis["ends"].words == "pipe ends that point at its middle"


def test_a_bend_takes_no_third_pipe(tmp_path):
    m = SmallModel()
    tee_without_openings(m, "BEND")
    m.pipe((0, 0, 0), (0.92, 0, 0), name="A")
    m.pipe((1.08, 0, 0), (2, 0, 0), name="B")
    m.pipe((1, 0.1, 0), (1, 1, 0), name="C")
    assert read(m.write(tmp_path)).joints == []


def test_a_fitting_that_tells_its_openings_is_not_met_at_its_middle(tmp_path):
    m = SmallModel()
    tee = tee_without_openings(m)
    m.ports(tee, (0.95, 0, 0), (1.05, 0, 0), (1, 0.05, 0))
    m.pipe((1, 0, 0.1), (1, 0, 1), name="From above")
    assert read(m.write(tmp_path)).joints == []


def test_a_fitting_with_a_box_takes_what_ends_in_it_wherever_it_points(tmp_path):
    m = SmallModel()
    m.element("IfcPipeFitting", "Wye", predefined="JUNCTION", at=m.placement((1, 0, 0)),
              shape=block(m, (-0.15, -0.1, -0.1), (0.15, 0.1, 0.1)))  # fmt: skip
    m.pipe((0, 0, 0), (0.85, 0, 0), name="A")
    m.pipe((1.15, 0, 0), (2, 0, 0), name="B")
    m.pipe((1.1, 0.1, 0), (2, 0.6, 0), name="C")  # its line misses the middle
    assert names(read(m.write(tmp_path))) == [("A", "Wye"), ("B", "Wye"), ("C", "Wye")]


# Sides


WIDE, THIN = 0.1143, 0.0159


@pytest.mark.parametrize(
    ("start", "end", "diameter"),
    [
        ((1, -1, 0), (1, 1, 0), WIDE),  # right through one another, as nobody can lay them
        ((1, -1, 0.3), (1, 1, 0.3), WIDE),  # one above the other
        ((1, -1, WIDE), (1, 1, WIDE), WIDE),  # they touch
        ((1, -1, 0.0651), (1, 0, 0.0651), THIN),  # ends on top of it, and points past it
        ((1, -1, -0.0651), (1, 0, -0.0651), THIN),  # or under it
        ((0.5, WIDE, 0), (1.5, WIDE, 0), WIDE),  # side by side
    ],
)
def test_pipes_that_cross_or_touch_are_not_joined(tmp_path, start, end, diameter):
    m = SmallModel()
    m.pipe((0, 0, 0), (2, 0, 0), diameter=WIDE)
    m.pipe(start, end, diameter=diameter)
    model = read(m.write(tmp_path))
    assert model.joints == []
    assert [note for note in model.notes if note.topic == "duplicate"] == []


@pytest.mark.parametrize(
    ("start", "end"),
    [
        ((1, -1, 0), (1, 0, 0)),  # drawn to the axis
        ((1, -1, 0), (1, -0.057, 0)),  # to the surface
        ((1, -1, 0.03), (1, 0, 0.03)),  # beside the axis, and still into the pipe
        ((0.5, 0.5, 0), (0.943, 0.057, 0)),  # as a wye, to the surface
        ((1, 0, 1), (1, 0, 0.057)),  # from above
    ],
)
def test_a_pipe_that_runs_into_the_side_of_another_is_a_branch_of_it(tmp_path, start, end):
    m = SmallModel()
    m.pipe((0, 0, 0), (2, 0, 0), name="MAIN", diameter=WIDE)
    m.pipe(start, end, name="BRANCH", diameter=0.048)
    model = read(m.write(tmp_path))
    assert ["BRANCH", "MAIN"] in [
        sorted((model.elements[j.a].name, model.elements[j.b].name)) for j in model.joints
    ]


def test_a_pipe_that_lies_in_another_is_no_branch_of_it(tmp_path):
    m = SmallModel()
    m.pipe((0, 0, 0), (4, 0, 0), name="Main")
    m.pipe((1, 0, 0), (2, 0, 0), name="DrawnDiameters again")
    assert read(m.write(tmp_path)).joints == []


# Beside a fixture


def basin(m: SmallModel):
    """A lavatory without ports, 0.7 to 0.9 m above the floor."""
    return m.element("IfcSanitaryTerminal", "Lavatory", predefined="WASHHANDBASIN",
                     at=m.placement((0, 0, 0.7)),
                     shape=block(m, (-0.25, -0.25, 0), (0.25, 0.25, 0.2)))  # fmt: skip


def supplies(m: SmallModel, *, z: float = 0.5):
    cold = m.pipe((-0.1, 1, z), (-0.1, 0.2, z), name="Cold", diameter=0.0159)
    hot = m.pipe((0.1, 1, z), (0.1, 0.2, z), name="Hot", diameter=0.0159)
    m.system("Cold", [cold], "DOMESTICCOLDWATER")
    m.system("Hot", [hot], "DOMESTICHOTWATER")


def test_cold_hot_and_drain_each_make_their_own_end(tmp_path):
    m = SmallModel()
    basin(m)
    supplies(m, z=0.75)  # inside the box
    drain = m.pipe((0, 0, 0.7), (0, 0, 0.2), name="Drain")
    m.system("Sanitary", [drain], "SEWAGE")
    model = read(m.write(tmp_path))
    assert names(model) == [("Cold", "Lavatory"), ("Drain", "Lavatory"), ("Hot", "Lavatory")]
    # which of a fixture's connections is cold and which is hot, the pipes cannot tell
    found = system_of_ends(model, "Lavatory")
    assert sorted(s.value for s in found if s) == ["sanitary drainage", "water", "water"]


def test_supplies_that_end_under_a_basin_are_met_and_the_distance_kept(tmp_path):
    m = SmallModel()
    basin(m)
    supplies(m)
    model = read(m.write(tmp_path))
    assert names(model) == [("Cold", "Lavatory"), ("Hot", "Lavatory")]
    assert [round(j.gap_m, 3) for j in model.joints] == [0.2, 0.2]
    lavatory = next(e for e in model.elements if e.name == "Lavatory")
    assert lavatory.basis["ends"].words == "pipe ends beside it"


def test_supplies_that_end_too_far_below_are_not(tmp_path):
    m = SmallModel()
    basin(m)
    supplies(m, z=0.15)
    assert read(m.write(tmp_path)).joints == []


def test_a_pipe_that_runs_through_a_fixture_is_not_joined_to_it(tmp_path):
    m = SmallModel()
    basin(m)
    passing = m.pipe((0, -2, 0.8), (0, 2, 0.8), name="Passing", diameter=0.0159)
    m.system("Cold", [passing], "DOMESTICCOLDWATER")
    assert read(m.write(tmp_path)).joints == []


def test_a_second_cold_pipe_leaves_both_open(tmp_path):
    m = SmallModel()
    basin(m)
    pipes = [m.pipe((x, 1, 0.5), (x, 0.2, 0.5), name="Cold", diameter=0.0159) for x in (0, 0.1)]
    m.system("Cold", pipes, "DOMESTICCOLDWATER")
    assert read(m.write(tmp_path)).joints == []


def test_a_supply_between_two_basins_is_left_open(tmp_path):
    m = SmallModel()
    basin(m)
    other = basin(m)
    other.ObjectPlacement = m.placement((0.7, 0, 0.7))
    pipe = m.pipe((0.35, 1, 0.5), (0.35, 0.2, 0.5), name="Cold", diameter=0.0159)
    m.system("Cold", [pipe], "DOMESTICCOLDWATER")
    assert read(m.write(tmp_path)).joints == []


@pytest.mark.parametrize(("height", "joined"), [(1.2, True), (2.0, True), (2.4, False)])
def test_a_shower_is_supplied_above_its_base(tmp_path, height, joined):
    m = SmallModel()
    m.element("IfcSanitaryTerminal", "Shower", predefined="SHOWER", at=m.placement((0, 0, 0)),
              shape=block(m, (-0.45, -0.45, 0), (0.45, 0.45, 0.1)))  # fmt: skip
    hot = m.pipe((0.5, 2, height), (0.5, 0, height), name="Hot", diameter=0.0159)
    m.system("Hot", [hot], "DOMESTICHOTWATER")
    assert names(read(m.write(tmp_path))) == [("Hot", "Shower")] * joined


@pytest.mark.parametrize("ends_at", [0.05, -0.02, -0.15])
def test_a_waste_that_ends_over_or_in_a_receptor_is_not_joined(tmp_path, ends_at):
    m = SmallModel()
    m.element("IfcWasteTerminal", "Floor sink", predefined="FLOORWASTE",
              at=m.placement((0, 0, -0.2)),
              shape=block(m, (-0.15, -0.15, 0), (0.15, 0.15, 0.2)))  # fmt: skip
    waste = m.pipe((0.1, 0, 1), (0.1, 0, ends_at), name="Indirect waste")
    water = m.pipe((0, 0.1, 1), (0, 0.1, 0.05), name="Water", diameter=0.0159)
    m.system("Sanitary", [waste], "SEWAGE")
    m.system("Cold", [water], "DOMESTICCOLDWATER")
    assert read(m.write(tmp_path)).joints == []


@pytest.mark.parametrize(("upper", "joined"), [((0, 0, 1.2), False), ((0, 0, -0.5), True)])
def test_a_waste_pushed_into_a_standpipe_is_not_joined_and_its_drain_is(tmp_path, upper, joined):
    m = SmallModel()
    m.element("IfcWasteTerminal", "Laundry standpipe 2 in", predefined="USERDEFINED",
              at=m.placement((0, 0, 0)),
              shape=block(m, (-0.03, -0.03, 0), (0.03, 0.03, 0.9)))  # fmt: skip
    line = m.pipe(upper, (0, 0, 0.8 if upper[2] > 0.9 else 0.02), name="Line", diameter=0.0213)
    m.system("Sanitary", [line], "SEWAGE")
    assert names(read(m.write(tmp_path))) == [("Laundry standpipe 2 in", "Line")] * joined


@pytest.mark.parametrize("upper", [(0.1, 0, -0.1), (0.6, 0, -0.1)])
def test_what_drains_a_receptor_is_joined_in_its_box(tmp_path, upper):
    m = SmallModel()
    m.element("IfcWasteTerminal", "Floor sink", predefined="FLOORWASTE",
              at=m.placement((0, 0, -0.2)),
              shape=block(m, (-0.15, -0.15, 0), (0.15, 0.15, 0.2)))  # fmt: skip
    tip = (0.1, 0, -0.6) if upper[0] < 0.15 else (0.1, 0, -0.15)
    drain = m.pipe(upper, tip, name="Drain")
    m.system("Sanitary", [drain], "SEWAGE")
    assert names(read(m.write(tmp_path))) == [("Drain", "Floor sink")]


@pytest.mark.parametrize(("ends_at", "joined"), [(0.13, False), (-0.05, True)])
def test_only_what_drains_a_receptor_from_below_is_met_at_its_placement(tmp_path, ends_at, joined):
    m = SmallModel()
    m.element("IfcWasteTerminal", "Floor drain", predefined="FLOORTRAP",
              at=m.placement((0, 0, 0)),
              shape=block(m, (-0.08, -0.08, -0.01), (0.08, 0.08, 0.03)))  # fmt: skip
    m.pipe((0, 0.05, 1 if ends_at > 0 else -1), (0, 0.05, ends_at), name="Line")
    assert names(read(m.write(tmp_path))) == [("Floor drain", "Line")] * joined


@pytest.mark.parametrize(
    ("service", "joined"),
    [
        ("DRAINAGE", True), ("WASTEWATER", True), ("DOMESTICHOTWATER", True), (None, True),
        ("GAS", False),
    ],
)  # fmt: skip
def test_a_relief_valve_is_where_the_system_changes(tmp_path, service, joined):
    m = SmallModel()
    m.element("IfcValve", "T&P relief valve", predefined="PRESSURERELIEF",
              at=m.placement((0, 0, 1)),
              shape=block(m, (-0.03, -0.03, -0.03), (0.03, 0.03, 0.03)))  # fmt: skip
    line = m.pipe((0, 0.03, 1), (0, 1, 1), name="Line", diameter=0.0222)
    if service:
        m.system("Line of the valve", [line], service)
    assert names(read(m.write(tmp_path))) == [("Line", "T&P relief valve")] * joined


def test_a_stop_that_is_only_a_box_feeds_the_basin_above_it(tmp_path):
    m = SmallModel()
    basin(m)
    supplies(m)
    stops = [
        m.element("IfcValve", f"Stop {x}", predefined="ISOLATING", at=m.placement((x, 0.18, 0.5)),
                  shape=block(m, (-0.02, -0.03, -0.02), (0.02, 0.03, 0.02)))
        for x in (-0.1, 0.1)
    ]  # fmt: skip
    model = read(m.write(tmp_path))
    found = [("Cold", "Stop -0.1"), ("Hot", "Stop 0.1")]
    assert names(model) == sorted([*found, *(("Lavatory", s.Name) for s in stops)])


def test_a_nipple_within_the_box_of_a_stop_is_joined_to_it_with_one_end(tmp_path):
    m = SmallModel()
    basin(m)
    m.element("IfcValve", "Stop", predefined="ISOLATING", at=m.placement((0, 0.27, 0.8)),
              shape=block(m, (-0.02, -0.01, -0.02), (0.02, 0.02, 0.02)))  # fmt: skip
    runs = [m.pipe((0, y, 0.8), (0, z, 0.8), name=name, diameter=0.0159)
            for name, y, z in (("Before", 1, 0.28), ("Nipple", 0.27, 0.255))]  # fmt: skip
    m.system("Cold", runs, "DOMESTICCOLDWATER")
    found = [("Before", "Stop"), ("Lavatory", "Nipple"), ("Nipple", "Stop")]
    assert names(read(m.write(tmp_path))) == found


def test_a_stop_in_the_run_of_a_pipe_feeds_nothing_else(tmp_path):
    m = SmallModel()
    basin(m)
    run = [m.pipe((0, y, 0.5), (0, z, 0.5), name=name, diameter=0.0159)
           for name, y, z in (("Before", -1, -0.03), ("After", 0.03, 1))]  # fmt: skip
    m.element("IfcValve", "Stop", predefined="ISOLATING", at=m.placement((0, 0, 0.5)),
              shape=block(m, (-0.02, -0.03, -0.02), (0.02, 0.03, 0.02)))  # fmt: skip
    m.system("Cold", run, "DOMESTICCOLDWATER")
    assert names(read(m.write(tmp_path))) == [("After", "Stop"), ("Before", "Stop")]


def test_a_heater_drawn_as_a_cylinder_is_met_beside_its_axis(tmp_path):
    m = SmallModel()
    m.element("IfcBoiler", "Water heater", predefined="WATER", at=m.placement((0, 0, 0)),
              shape=m.shape(m.extrusion(0.5, 1.5)))  # fmt: skip
    cold = m.pipe((-0.1, 0, 1.5), (-0.1, 0, 2.5), name="Cold", diameter=0.0159)
    hot = m.pipe((0.1, 0, 1.5), (0.1, 0, 2.5), name="Hot", diameter=0.0159)
    m.system("Cold", [cold], "DOMESTICCOLDWATER")
    m.system("Hot", [hot], "DOMESTICHOTWATER")
    model = read(m.write(tmp_path))
    assert names(model) == [("Cold", "Water heater"), ("Hot", "Water heater")]
    assert system_of_ends(model, "Water heater") == [System.COLD_WATER, System.HOT_WATER]


@pytest.mark.parametrize(
    ("entity", "kind"),
    [("IfcDistributionChamberElement", "MANHOLE"), ("IfcInterceptor", "GREASE")],
)
@pytest.mark.parametrize("to", [0.1, 0.25, 0.3])
def test_a_round_manhole_is_met_anywhere_at_its_sides(tmp_path, entity, kind, to):
    """Pipes end at its axis, within its wall or at its face; next to it they do not."""
    m = SmallModel()
    m.element(entity, "Basin", predefined=kind, at=m.placement((0, 0, 0)),
              shape=m.shape(m.extrusion(0.5, 0.7)))  # fmt: skip
    sewer = m.pipe((3, 0, 0.2), (to, 0, 0.15), name="Sewer", diameter=0.11)
    m.system("Sanitary", [sewer], "SEWAGE")
    assert names(read(m.write(tmp_path))) == ([] if to == 0.3 else [("Basin", "Sewer")])


@pytest.mark.parametrize(
    ("kind", "joined"),
    [("SUMP", [("Basin", "Rain"), ("Basin", "Sewer")]), ("MANHOLE", [("Basin", "Sewer")])],
)
def test_a_drain_that_ends_in_a_sump_runs_into_it_whatever_it_carries(tmp_path, kind, joined):
    m = SmallModel()
    basin_ = m.element("IfcDistributionChamberElement", "Basin", predefined=kind,
                       at=m.placement((0, 0, 0)), shape=m.shape(m.extrusion(0.5, 0.7)))  # fmt: skip
    sewer = m.pipe((3, 0, 0.2), (0.2, 0, 0.15), name="Sewer", diameter=0.11)
    rain = m.pipe((-3, 0, 0.2), (-0.2, 0, 0.15), name="Rain", diameter=0.11)
    m.system("Sanitary", [sewer, basin_], "SEWAGE")
    m.system("Storm", [rain], "STORMWATER")
    assert names(read(m.write(tmp_path))) == joined


def test_gas_and_vent_reach_a_furnace_beside_them(tmp_path):
    m = SmallModel()
    m.element("IfcUnitaryEquipment", "Gas furnace", at=m.placement((0, 0, 0)),
              shape=block(m, (-0.3, -0.3, 0), (0.3, 0.3, 1.5)))  # fmt: skip
    gas = m.pipe((1, 0, 0.5), (0.4, 0, 0.5), name="Gas", diameter=0.0213)
    flue = m.pipe((0, 0, 1.6), (0, 0, 3), name="Vent", diameter=0.1016)
    water = m.pipe((-1, 0, 0.5), (-0.4, 0, 0.5), name="Cold", diameter=0.0159)
    m.system("Gas", [gas], "GAS")
    m.system("Gas vent (flue)", [flue], "EXHAUST")
    m.system("Cold", [water], "DOMESTICCOLDWATER")
    model = read(m.write(tmp_path))
    furnace = next(e for e in model.elements if e.name == "Gas furnace")
    assert (furnace.role, furnace.kind) == (Role.APPLIANCE, "furnace")
    assert names(model) == [("Gas", "Gas furnace"), ("Gas furnace", "Vent")]
    assert {e.system for e in furnace.ends} == {System.GAS, System.FLUE}


@pytest.mark.parametrize(
    ("x", "above", "joined"),
    [(0.0, 0.299, True), (0.0, 0.301, False), (0.299, 0.25, True), (0.301, 0.25, False)],
)
def test_a_flue_begins_over_the_draft_hood_of_a_heater(tmp_path, x, above, joined):
    m = SmallModel()
    m.element("IfcBoiler", "Water heater", predefined="WATER", at=m.placement((0, 0, 0)),
              shape=block(m, (-0.3, -0.3, 0), (0.3, 0.3, 1.5)))  # fmt: skip
    flue = m.pipe((x, 0, 1.5 + above), (x, 0, 4), name="Flue", diameter=0.1016)
    cold = m.pipe((0.1, 0, 1.7), (0.1, 0, 3), name="Cold", diameter=0.0159)
    m.system("Gas vent (flue)", [flue], "EXHAUST")
    m.system("Cold", [cold], "DOMESTICCOLDWATER")
    model = read(m.write(tmp_path))
    assert names(model) == ([("Flue", "Water heater")] if joined else [])


def test_a_heater_without_shape_is_met_at_its_placement_by_every_service(tmp_path):
    m = SmallModel()
    m.element("IfcBoiler", "Water heater", predefined="WATER", at=m.placement((0, 0, 0)))
    lines = {
        ("Cold", "DOMESTICCOLDWATER"): ((-0.1, 0, 0), (-0.1, 0, 1)),
        ("Hot", "DOMESTICHOTWATER"): ((0.1, 0, 0), (0.1, 0, 1)),
        ("Gas", "GAS"): ((0, 0.1, 0), (0, 1, 0)),
        ("Sanitary", "SEWAGE"): ((0, -0.4, 0), (0, -1, 0)),
    }
    for (name, literal), (start, end) in lines.items():
        m.system(name, [m.pipe(start, end, name=name, diameter=0.0159)], literal)
    model = read(m.write(tmp_path))
    assert names(model) == [(n, "Water heater") for n in ("Cold", "Gas", "Hot")]
    found = {s for s in system_of_ends(model, "Water heater") if s is not None}
    assert found == {System.COLD_WATER, System.HOT_WATER, System.GAS}


def test_a_fixture_placed_at_the_origin_stands_where_its_body_is(tmp_path):
    m = SmallModel()
    here = block(m, (4, 2, 0), (4.6, 2.6, 0.9))
    m.element("IfcElectricAppliance", "Washer", predefined="WASHINGMACHINE",
              at=m.placement((0, 0, 0)), shape=here)  # fmt: skip
    near = block(m, (0.2, 0, 0), (0.8, 0.6, 0.9))
    m.element("IfcSanitaryTerminal", "Sink", predefined="SINK", at=m.placement((0, 0, 0)),
              shape=near)  # fmt: skip
    beside = block(m, (0.4, 0, 0.3), (0.8, 0.4, 0.9))
    m.element("IfcSanitaryTerminal", "Urinal", predefined="URINAL", at=m.placement((0, 0, 0)),
              shape=beside)  # fmt: skip
    sink, urinal, washer = read(m.write(tmp_path)).elements
    assert washer.position == pytest.approx((4.3, 2.3, 0))
    assert urinal.position == pytest.approx((0.6, 0.2, 0.3))
    assert sink.position == pytest.approx((0, 0, 0))


@pytest.mark.parametrize("beside", [False, True])
def test_a_hot_water_return_joins_hot_water_where_nothing_else_does(tmp_path, beside):
    m = SmallModel()
    hot = [m.pipe((0, 0, 0), (1, 0, 0), name="Hot")]
    back = m.pipe((1, 0, 0), (1, 1, 0), name="Return")
    if beside:
        hot.append(m.pipe((1, 0, 0), (2, 0, 0), name="More hot"))
    m.system("Hot", hot, "DOMESTICHOTWATER")
    m.system("Hot water return", [back])
    more = [("Hot", "More hot"), ("More hot", "Return")]  # where two end, it branches off
    assert names(read(m.write(tmp_path))) == (more if beside else [("Hot", "Return")])


@pytest.mark.parametrize("half_m", [0.03, 0.6])
def test_a_stop_within_the_body_of_its_fixture_takes_the_pipe_that_ends_in_it(tmp_path, half_m):
    """A valve smaller than the vanity around it, not what is larger than the fixture itself."""
    m = SmallModel()
    m.element("IfcSanitaryTerminal", "Vanity", predefined="WASHHANDBASIN",
              at=m.placement((0, 0, 0)),
              shape=block(m, (-0.3, -0.25, 0), (0.3, 0.25, 0.85)))  # fmt: skip
    m.element("IfcValve", "Stop", predefined="ISOLATING", at=m.placement((0.1, 0.1, 0.5)),
              shape=block(m, (-half_m, -half_m, -0.02), (half_m, half_m, 0.02)))  # fmt: skip
    branch = m.pipe((0.1, 1, 0.5), (0.1, 0.12, 0.5), name="Branch", diameter=0.0159)
    riser = m.pipe((0.1, 0.1, 0.51), (0.1, 0.1, 0.8), name="Riser", diameter=0.0159)
    m.system("Cold", [branch, riser], "DOMESTICCOLDWATER")
    found = names(read(m.write(tmp_path)))
    assert (("Branch", "Stop") in found) is (half_m < 0.25)
    if half_m < 0.25:
        assert ("Riser", "Stop") in found
        assert ("Riser", "Vanity") in found


@pytest.mark.parametrize(("valve", "taken"), [("ISOLATING", "Stop"), ("FLUSHING", "Closet")])
def test_a_fixture_whose_valve_stands_within_it_is_fed_by_the_pipe_alone(tmp_path, valve, taken):
    m = SmallModel()
    m.element("IfcSanitaryTerminal", "Closet", predefined="TOILETPAN", at=m.placement((0, 0, 0)),
              shape=block(m, (-0.3, -0.25, 0), (0.3, 0.25, 0.85)))  # fmt: skip
    m.element("IfcValve", "Stop", predefined=valve, at=m.placement((0.1, 0.1, 0.5)),
              shape=block(m, (-0.03, -0.03, -0.02), (0.03, 0.03, 0.02)))  # fmt: skip
    branch = m.pipe((0.1, 1, 0.5), (0.1, 0.12, 0.5), name="Branch", diameter=0.0159)
    m.system("Cold", [branch], "DOMESTICCOLDWATER")
    found = names(read(m.write(tmp_path)))
    assert tuple(sorted(("Branch", taken))) in found
    assert taken == "Closet" or ("Closet", "Stop") in found


@pytest.mark.parametrize(
    ("name", "line", "joined"),
    [
        ("Dental vacuum pump, water ring", "Cold", True),
        ("Vacuum pump", "Waste", True),
        ("Vacuum pump", "Gas", False),
        ("Sewage ejector pump", "Cold", False),
    ],
)
def test_water_ends_at_a_pump_of_drainage_only_where_it_seals_one(tmp_path, name, line, joined):
    m = SmallModel()
    pump = m.element("IfcPump", name, at=m.placement((0, 0, 0)),
                     shape=block(m, (0, 0, 0), (0.7, 0.3, 0.7)))  # fmt: skip
    waste = m.pipe((0.2, 0.1, 0.2), (0.2, 2, 0.2), name="Drain")
    m.system("Sanitary", [pump, waste], "SEWAGE")
    services = {"Cold": "DOMESTICCOLDWATER", "Waste": "SEWAGE", "Gas": "GAS"}
    over = m.pipe((0.5, 0.2, 2), (0.5, 0.2, 0.7), name=line, diameter=0.0159)
    m.system(line, [over], services[line])
    assert (tuple(sorted((line, name))) in names(read(m.write(tmp_path)))) is joined
