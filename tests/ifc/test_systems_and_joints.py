"""Spreading systems, joining free ends, and what must not be joined."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Role, System
from tests.ifc.small_models import SmallModel


def names(model):
    return sorted(
        tuple(sorted((model.elements[j.a].name, model.elements[j.b].name))) for j in model.joints
    )


def test_a_system_spreads_along_pipes_but_not_across_a_meter(tmp_path):
    m = SmallModel()
    known = m.pipe((0, 0, 0), (1, 0, 0), name="Known")
    m.pipe((1, 0, 0), (2, 0, 0), name="Next")
    meter = m.element("IfcFlowMeter", "Meter", at=m.placement((2, 0, 0)))
    m.ports(meter, (2, 0, 0), (2, 0, 0.3))
    m.pipe((2, 0, 0.3), (2, 0, 1), name="Beyond")
    m.system("Cold", [known], "DOMESTICCOLDWATER")
    by_name = {e.name: e for e in read(m.write(tmp_path)).elements}
    assert by_name["Next"].system is System.COLD_WATER
    assert by_name["Next"].basis["system"].words == "spread along connections"
    assert by_name["Beyond"].system is None


@pytest.mark.parametrize("system", ["SEWAGE", "VENT"])
def test_what_is_joined_to_a_trap_drains_whatever_vent_it_meets(tmp_path, system):
    m = SmallModel()
    known = m.pipe((0, 0, 1), (1, 0, 0), name="Known")
    m.pipe((1, 0, 0), (2, 0, 0), name="Arm")
    trap = m.element(
        "IfcWasteTerminal", "P-trap", predefined="WASTETRAP", at=m.placement((2, 0, 0))
    )
    m.ports(trap, (2, 0, 0), (2, 0, 0.3))
    m.pipe((2, 0, 0.3), (2, 0, 1), name="Tailpiece")
    m.system("Known", [known], system)
    by_name = {e.name: e for e in read(m.write(tmp_path)).elements}
    for name in ("Arm", "Tailpiece", "P-trap"):
        assert by_name[name].system is System.SANITARY, name


def test_a_manhole_that_vents_are_joined_to_is_of_the_drains(tmp_path):
    m = SmallModel()
    known = m.pipe((0, 0, 1), (1, 0, 0), name="Vent pipe")
    manhole = m.element(
        "IfcDistributionChamberElement", "M", predefined="MANHOLE", at=m.placement((1, 0, 0))
    )
    m.ports(manhole, (1, 0, 0), (2, 0, 0))
    m.system("Vent", [known], "VENT")
    by_name = {e.name: e for e in read(m.write(tmp_path)).elements}
    assert by_name["M"].system is System.SANITARY


def test_ends_of_different_systems_are_not_joined(tmp_path):
    m = SmallModel()
    cold, hot = m.pipe((0, 0, 0), (1, 0, 0), name="C"), m.pipe((1, 0, 0), (2, 0, 0), name="H")
    m.system("Cold", [cold], "DOMESTICCOLDWATER")
    m.system("Hot", [hot], "DOMESTICHOTWATER")
    assert read(m.write(tmp_path)).joints == []


def test_soil_and_vent_are_joined(tmp_path):
    m = SmallModel()
    soil, vent = m.pipe((0, 0, 0), (0, 0, 1), name="S"), m.pipe((0, 0, 1), (0, 0, 2), name="V")
    m.system("Soil", [soil], "SEWAGE")
    m.system("Vent", [vent], "VENT")
    assert names(read(m.write(tmp_path))) == [("S", "V")]


@pytest.mark.parametrize(("gap", "joined"), [(0.008, 1), (0.012, 0)])
def test_the_tolerance_is_what_was_asked_for(tmp_path, gap, joined):
    m = SmallModel("IFC4", "MILLIMETRE")
    m.pipe((0, 0, 0), (1, 0, 0), name="A")
    m.pipe((1 + gap, 0, 0), (1 + gap, 1, 0), name="B")  # round a corner
    path = m.write(tmp_path)
    assert len(read(path).joints) == joined
    assert len(read(path, joining_tolerance_m=0.015).joints) == 1


def test_a_branch_at_the_ends_of_a_run_is_joined_without_a_fitting(tmp_path):
    m = SmallModel()
    m.pipe((0, 0, 0), (1, 0, 0), name="A")
    m.pipe((1, 0, 0), (2, 0, 0), name="B")
    m.pipe((1, 0, 0), (1, 1, 0), name="C")
    model = read(m.write(tmp_path))
    assert names(model) == [("A", "B"), ("B", "C")]
    assert [n for n in model.notes if n.topic == "joint"] == []


def test_two_branches_at_the_ends_of_a_run_are_joined_without_a_fitting(tmp_path):
    m = SmallModel()
    for name, end in zip("ABCD", ((0, 0, 0), (2, 0, 0.02), (1, 1, 0), (1, -1, 0)), strict=True):
        m.pipe((1, 0, 0), end, name=name)
    assert len(read(m.write(tmp_path)).joints) == 3


@pytest.mark.parametrize("third", [(1, 0, 1), (0.95, 0.3, 1)])
def test_three_ends_of_which_none_run_through_are_noted_not_joined(tmp_path, third):
    m = SmallModel()
    m.pipe((0, 0, 0), (1, 0, 0), name="A")
    m.pipe((1, 0, 0), (1, 1, 0), name="B")
    m.pipe((1, 0, 0), third, name="C")
    model = read(m.write(tmp_path))
    assert model.joints == []
    (note,) = [n for n in model.notes if n.topic == "joint"]
    assert "A, B, C" in note.what
    assert note.remedy


def test_a_run_of_one_service_takes_no_branch_of_another(tmp_path):
    m = SmallModel()
    cold = [m.pipe((0, 0, 0), (1, 0, 0), name="A"), m.pipe((1, 0, 0), (2, 0, 0), name="B")]
    m.system("Cold", cold, "DOMESTICCOLDWATER")
    m.system("Gas", [m.pipe((1, 0, 0), (1, 1, 0), name="C")], "GAS")
    assert names(read(m.write(tmp_path))) == [("A", "B")]


def test_a_branch_that_meets_a_side_is_joined_there(tmp_path):
    m = SmallModel()
    m.pipe((0, 0, 0), (4, 0, 0), name="Main", diameter=0.1143)
    m.pipe((1, 1, 0), (1, 0.05, 0), name="Branch")  # stops at the surface of the main
    model = read(m.write(tmp_path))
    before, after = (e for e in model.elements if e.name == "Main")  # cut where it is entered
    assert names(model) == [("Branch", "Main"), ("Main", "Main")]
    assert before.ends[1].position == pytest.approx((1, 0, 0), abs=1e-9)
    assert after.ends[0].position == pytest.approx((1, 0, 0), abs=1e-9)
    assert [e.length_m for e in (before, after)] == [pytest.approx(1), pytest.approx(3)]
    assert before.guid == after.guid
    assert before.key != after.key


def test_a_pipe_that_only_passes_close_by_is_not_joined(tmp_path):
    m = SmallModel()
    m.pipe((0, 0, 0), (4, 0, 0), name="Main")
    m.pipe((1, -1, 0.2), (1, 1, 0.2), name="Crossing")
    assert read(m.write(tmp_path)).joints == []


def test_a_fixture_without_ports_takes_the_one_free_drain_end_at_it(tmp_path):
    m = SmallModel()
    m.element("IfcSanitaryTerminal", "WC", predefined="TOILETPAN", at=m.placement((0, 0, 0)))
    m.pipe((0.05, 0, -0.05), (0.05, 0, -1), name="Drop")
    model = read(m.write(tmp_path))
    assert names(model) == [("Drop", "WC")]
    assert model.joints[0].inferred


def test_with_two_candidates_it_takes_neither(tmp_path):
    m = SmallModel()
    m.element("IfcSanitaryTerminal", "WC", predefined="TOILETPAN", at=m.placement((0, 0, 0)))
    m.pipe((0.05, 0, -0.05), (0.05, 0, -1), name="Drop")
    m.pipe((-0.05, 0, -0.05), (-0.05, 0, -1), name="Other drop")
    assert read(m.write(tmp_path)).joints == []


def test_a_port_in_several_links_keeps_them_all(tmp_path):
    m = SmallModel()
    tank = m.element("IfcTank", "Tank", at=m.placement((0, 0, 0)))
    (hub,) = m.ports(tank, (0, 0, 0))
    for i in range(3):
        pipe = m.pipe((0, 0, 0), (1, i, 0), name=f"P{i}")
        near, _ = m.ports(pipe, (0, 0, 0), (1, i, 0))
        m.connect(near, hub)
    assert names(read(m.write(tmp_path))) == [("P0", "Tank"), ("P1", "Tank"), ("P2", "Tank")]


def test_the_same_link_stated_twice_is_one_joint(tmp_path):
    m = SmallModel()
    a, b = m.pipe((0, 0, 0), (1, 0, 0), name="A"), m.pipe((1, 0, 0), (2, 0, 0), name="B")
    pa, pb = m.ports(a, (0, 0, 0), (1, 0, 0)), m.ports(b, (1, 0, 0), (2, 0, 0))
    m.connect(pa[1], pb[0])
    m.connect(pb[0], pa[1])
    assert len(read(m.write(tmp_path)).joints) == 1


def test_a_pipe_drawn_twice_is_noted(tmp_path):
    m = SmallModel()
    m.pipe((0, 0, 0), (1, 0, 0), name="A")
    m.pipe((1, 0, 0), (0, 0, 0), name="Again")
    (note,) = [n for n in read(m.write(tmp_path)).notes if n.topic == "duplicate"]
    assert "Again" in note.what
    assert "A" in note.what


def test_two_services_for_one_pipe_are_noted(tmp_path):
    m = SmallModel()
    pipe = m.pipe((0, 0, 0), (1, 0, 0), name="Odd")
    m.system("Sanitary", [pipe], "SEWAGE")
    m.system("Gas", [pipe], "GAS")
    model = read(m.write(tmp_path))
    assert model.elements[0].system is System.SANITARY
    assert [n.topic for n in model.notes] == ["system"]


def test_hot_and_cold_told_apart_by_ports_in_one_water_system(tmp_path):
    m = SmallModel()
    pipes = [m.pipe((0, i, 0), (1, i, 0), name=f"P{i}") for i in range(2)]
    for pipe, literal in zip(pipes, ("DOMESTICCOLDWATER", "DOMESTICHOTWATER"), strict=True):
        for port in m.ports(pipe, (0, 0, 0), (1, 0, 0)):
            port.SystemType = literal
    m.system("Water", pipes, "WATERSUPPLY")
    found = [e.system for e in read(m.write(tmp_path)).elements]
    assert found == [System.COLD_WATER, System.HOT_WATER]


def test_a_fixture_in_several_systems_is_no_conflict(tmp_path):
    m = SmallModel()
    basin = m.element("IfcSanitaryTerminal", "L", predefined="WASHHANDBASIN")
    m.system("Cold", [basin], "DOMESTICCOLDWATER")
    m.system("Sanitary", [basin], "SEWAGE")
    model = read(m.write(tmp_path))
    assert model.elements[0].role is Role.FIXTURE
    assert model.elements[0].system is System.SANITARY
    assert model.notes == []


def elbow(m, name, corner):
    """An elbow drawn as two legs from its corner, without ports: to -x and to +y."""
    x, y, z = corner
    legs = []
    for direction in ((-1.0, 0.0, 0.0), (0.0, 1.0, 0.0)):
        legs.append(
            m.file.create_entity(
                "IfcExtrudedAreaSolid", m.round_profile(0.0603),
                m.axes((0, 0, 0), direction, (0.0, 0.0, 1.0)), m.direction((0, 0, 1)),
                m.length(0.1),
            )
        )  # fmt: skip
    return m.element(
        "IfcPipeFitting", name, predefined="BEND", at=m.placement((x, y, z)), shape=m.shape(*legs)
    )


def test_a_fitting_without_ports_is_met_at_the_ends_of_its_legs(tmp_path):
    m = SmallModel("IFC4", "MILLIMETRE")
    m.pipe((0, 0, 0), (0.9, 0, 0), name="A")
    elbow(m, "Elbow", (1, 0, 0))
    m.pipe((1, 0.1, 0), (1, 1, 0), name="B")
    model = read(m.write(tmp_path))
    assert names(model) == [("A", "Elbow"), ("B", "Elbow")]
    bend = next(e for e in model.elements if e.name == "Elbow")
    assert bend.kind == "quarter-bend"
    assert [e.position for e in bend.ends] == [
        pytest.approx((0.9, 0, 0)), pytest.approx((1, 0.1, 0))
    ]  # fmt: skip
    assert bend.basis["ends"].words == "extruded solid"


def test_an_unmet_leg_of_a_bend_is_an_open_end_but_that_of_a_cap_is_not(tmp_path):
    m = SmallModel()
    m.pipe((0, 0, 0), (0.9, 0, 0), name="A")
    elbow(m, "Elbow", (1, 0, 0))
    cap = elbow(m, "Cap", (1, 5, 0))
    cap.PredefinedType = "OBSTRUCTION"
    m.pipe((0, 5, 0), (0.9, 5, 0), name="B")
    model = read(m.write(tmp_path))
    assert names(model) == [("A", "Elbow"), ("B", "Cap")]
    ends = {e.name: len(e.ends) for e in model.elements}
    assert (ends["Elbow"], ends["Cap"]) == (2, 1)


def test_two_fittings_without_ports_meet_each_other(tmp_path):
    m = SmallModel()
    elbow(m, "One", (0, 0, 0))
    two = elbow(m, "Two", (0, 0, 0))
    two.ObjectPlacement = m.placement((0, 0.2, 0), (0, 0, 1), (0, 1, 0))  # a leg back to -y
    assert names(read(m.write(tmp_path))) == [("One", "Two")]


def test_a_meshed_fitting_without_ports_takes_the_ends_inside_its_box(tmp_path):
    m = SmallModel()
    corners = [(x, y, z) for x in (-0.1, 0.1) for y in (-0.1, 0.1) for z in (-0.1, 0.1)]
    points = m.file.create_entity("IfcCartesianPointList3D", corners)
    mesh = m.file.create_entity("IfcTriangulatedFaceSet", points, None, False, [(1, 2, 3)])
    m.element(
        "IfcPipeFitting", "Tee", predefined="JUNCTION", at=m.placement((1, 0, 0)),
        shape=m.shape(mesh, kind="Tessellation"),
    )  # fmt: skip
    m.pipe((0, 0, 0), (0.9, 0, 0), name="A")
    m.pipe((1.1, 0, 0), (2, 0, 0), name="B")
    m.pipe((1, 0.1, 0), (1, 1, 0), name="C")
    m.pipe((1.3, 0.2, 0), (1.3, 1, 0), name="Elsewhere")
    model = read(m.write(tmp_path))
    assert names(model) == [("A", "Tee"), ("B", "Tee"), ("C", "Tee")]
    assert all(j.inferred for j in model.joints)


def test_where_different_systems_meet_nothing_is_guessed(tmp_path):
    m = SmallModel()
    soil = m.pipe((0, 0, 0), (1, 0, 0), name="Soil")
    m.pipe((1, 0, 0), (2, 0, 0), name="Between")
    gas = m.pipe((2, 0, 0), (3, 0, 0), name="Gas")
    m.system("Soil", [soil], "SEWAGE")
    m.system("Gas", [gas], "GAS")
    by_name = {e.name: e for e in read(m.write(tmp_path)).elements}
    assert by_name["Between"].system is None


def test_a_disposer_hangs_under_its_sink(tmp_path):
    m = SmallModel()
    for name, literal, ifc_class, z in (
        ("Kitchen sink", "SINK", "IfcSanitaryTerminal", 0.7),
        ("Disposer", "WASTEDISPOSALUNIT", "IfcWasteTerminal", 0.5),
    ):
        corners = [(x, y, h) for x in (-0.1, 0.1) for y in (-0.1, 0.1) for h in (0.0, 0.2)]
        points = m.file.create_entity("IfcCartesianPointList3D", corners)
        mesh = m.file.create_entity("IfcTriangulatedFaceSet", points, None, False, [(1, 2, 3)])
        shape = m.shape(mesh, kind="Tessellation")
        m.element(ifc_class, name, predefined=literal, at=m.placement((0, 0, z)), shape=shape)
    model = read(m.write(tmp_path))
    assert names(model) == [("Disposer", "Kitchen sink")]
    assert {e.name: e.ends[0].flow for e in model.elements} == {
        "Kitchen sink": "out", "Disposer": "in"
    }  # fmt: skip


def test_elements_connected_without_ports(tmp_path):
    m = SmallModel()
    a = m.pipe((0, 0, 0), (1, 0, 0), name="A")
    b = m.pipe((1.05, 0, 0), (2, 0, 0), name="B")  # too far to be joined by geometry
    basin = m.element("IfcSanitaryTerminal", "Basin", predefined="WASHHANDBASIN")
    for one, other in ((a, b), (b, a), (b, basin)):
        m.root("IfcRelConnectsElements", RelatingElement=one, RelatedElement=other)
    model = read(m.write(tmp_path))
    assert names(model) == [("A", "B"), ("B", "Basin")]
    met = model.joints[0]
    assert model.elements[met.a].ends[met.a_end].position == pytest.approx((1, 0, 0))
    assert model.elements[met.b].ends[met.b_end].position == pytest.approx((1.05, 0, 0))
    assert not any(j.inferred for j in model.joints)


@pytest.mark.parametrize(
    ("first", "second", "noted"),
    [
        ("DOMESTICCOLDWATER", "GAS", True),
        ("DOMESTICCOLDWATER", "SEWAGE", True),
        ("DOMESTICCOLDWATER", "DOMESTICHOTWATER", True),
        ("SEWAGE", "VENT", False),
        ("WATERSUPPLY", "DOMESTICCOLDWATER", False),
        ("DOMESTICCOLDWATER", "FIREPROTECTION", False),
    ],
)
def test_a_stated_joint_between_services_is_noted(tmp_path, first, second, noted):
    m = SmallModel("IFC4")
    one, other = m.pipe((0, 0, 0), (1, 0, 0), name="P1"), m.pipe((1, 0, 0), (2, 0, 0), name="P2")
    m.connect(m.ports(one, (0, 0, 0), (1, 0, 0))[1], m.ports(other, (1, 0, 0), (2, 0, 0))[0])
    m.system("A", [one], first)
    m.system("B", [other], second)
    model = read(m.write(tmp_path))
    assert len(model.joints) == 1
    assert [n.topic for n in model.notes] == (["joint"] if noted else [])
    assert all("P1 is " in n.what and "joined to P2" in n.what for n in model.notes)


@pytest.mark.parametrize(
    ("system", "found", "basis"),
    [("EXHAUST", "flue", "spread"), ("VENT", "vent", "spread"), (None, "vent", "what it is")],
)
def test_what_a_vent_cap_ends_tells_of_which_kind_it_is(tmp_path, system, found, basis):
    m = SmallModel()
    pipe = m.pipe((0, 0, 0), (0, 0, 2), name="Pipe")
    if system:
        m.system("A system", [pipe], system)
    cap = m.element("IfcStackTerminal", "Vent cap", predefined="COWL")
    m.ports(cap, (0, 0, 2 if system else 9))
    (told,) = [e for e in read(m.write(tmp_path)).elements if e.name == "Vent cap"]
    assert told.system is not None
    assert told.system.value == found
    assert str(told.basis["system"]).startswith(basis)


def test_what_is_joined_to_something_else_leads_elsewhere(tmp_path):
    m = SmallModel()
    pipe, other = m.pipe((0, 0, 0), (0, 0, 2), name="Pipe"), m.pipe((1, 0, 0), (1, 0, 2))
    ends = m.ports(pipe, (0, 0, 0), (0, 0, 2))
    m.ports(other, (1, 0, 0), (1, 0, 2))
    thing = m.element("IfcElectricAppliance", "Machine of a maker nobody knows")
    m.connect(ends[1], m.ports(thing, (0, 0, 2))[0])
    model = read(m.write(tmp_path))
    assert model.leads_elsewhere == {pipe.GlobalId: "Machine of a maker nobody knows"}


@pytest.mark.parametrize(("systems", "joined"), [("CCC", 2), ("CC?", 0), ("CCH", 1)])
def test_pipes_of_one_service_that_meet_in_a_corner_are_joined(tmp_path, systems, joined):
    """Three ends at one place, square to one another, and no fitting."""
    m = SmallModel()
    ends = (((0, 0, -1), (0, 0, 0)), ((0, 0, 0), (0, 1, 0)), ((0, 0, 0), (-1, 0, 0)))
    pipes = [m.pipe(a, b, name=f"P{k}") for k, (a, b) in enumerate(ends)]
    for letter, literal in (("C", "DOMESTICCOLDWATER"), ("H", "DOMESTICHOTWATER")):
        mine = [pipe for pipe, said in zip(pipes, systems, strict=True) if said == letter]
        if mine:
            m.system(literal, mine, literal)
    model = read(m.write(tmp_path))
    assert len(model.joints) == joined


@pytest.mark.parametrize(
    ("system", "literal", "port", "joined"),
    [
        ("Relief discharge", "DRAINAGE", "DRAINAGE", True),
        ("Vent", "VENT", "DRAINAGE", True),
        ("Cold water", "DOMESTICCOLDWATER", "WATERSUPPLY", True),
        ("Relief discharge", "DRAINAGE", "GAS", False),  # it says what no relief line is
    ],
)
@pytest.mark.parametrize("with_ports", ["pipe", "fitting"])
def test_ports_that_tell_what_their_system_is_a_kind_of_meet_ends_without_ports(
    tmp_path, system, literal, port, joined, with_ports
):
    """One half of the line has ports, the other is told by its shape and system alone."""
    m = SmallModel()
    pipe = m.pipe((0, 0, 0), (1, 0, 0), name="A")
    ends = ((1, 0, 0), (1.1, 0, 0))
    bar = m.extrusion(0.0603, 0.1)
    bar.Position = m.axes((0, 0, 0), (1, 0, 0), (0, 1, 0))
    fitting = m.element("IfcPipeFitting", "B", predefined="CONNECTOR", shape=m.shape(bar),
                        at=m.placement((1, 0, 0)))  # fmt: skip
    m.system(system, [pipe, fitting], literal)
    own = (pipe, ((0, 0, 0), (1, 0, 0))) if with_ports == "pipe" else (fitting, ends)
    for made in m.ports(own[0], *own[1]):
        made.SystemType = port
    assert (names(read(m.write(tmp_path))) == [("A", "B")]) is joined
