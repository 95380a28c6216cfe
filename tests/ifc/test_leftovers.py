"""Pipe ends that are left over: over a fixture, at a joint of others, in a part's third side."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Element, End, Joint, Model, Role, System
from ifclint.ifc.joints.bodies import hang_faucets
from ifclint.ifc.joints.leftovers import join_leftovers
from tests.ifc.small_models import SmallModel
from tests.ifc.test_joining import block, system_of_ends
from tests.ifc.test_systems_and_joints import names

COPPER_M = 0.0222


# Flush valves and wall faucets: the supply ends over the fixture

CLOSET, URINAL, MOP, BASIN = "TOILETPAN", "URINAL", "SINK", "WASHHANDBASIN"


def over(tmp_path, kind: str, name: str, top_m: float, end_m: float, aside_m: float = 0.0):
    """A fixture of 0.6 by 0.5 m from the floor, and a pipe that ends at a height over it."""
    m = SmallModel()
    m.element("IfcSanitaryTerminal", name, predefined=kind, at=m.placement((0, 0, 0)),
              shape=block(m, (-0.3, 0, 0), (0.3, 0.5, top_m)))  # fmt: skip
    pipe = m.pipe((0.1 + aside_m, 0.05, 3), (0.1 + aside_m, 0.05, end_m), name="Branch",
                  diameter=COPPER_M)  # fmt: skip
    m.system("Cold", [pipe], "DOMESTICCOLDWATER")
    return names(read(m.write(tmp_path)))


@pytest.mark.parametrize(
    ("kind", "name", "top_m", "end_m", "joined"),
    [
        (CLOSET, "Wall-hung closet", 0.40, 0.70, True),  # 12 in over the rim
        (CLOSET, "Wall-hung closet", 0.40, 1.09, True),
        (CLOSET, "Wall-hung closet", 0.40, 1.12, False),
        (URINAL, "Urinal", 1.00, 1.30, True),
        (MOP, "Mop sink", 0.26, 1.05, True),  # a faucet 42 in above the floor
        (MOP, "Mop sink", 0.26, 1.30, False),
        (BASIN, "Lavatory", 0.85, 1.20, True),  # a spout on the wall
        (BASIN, "Lavatory", 0.85, 1.30, False),
    ],
)
def test_water_that_ends_over_a_fixture_feeds_it(tmp_path, kind, name, top_m, end_m, joined):
    assert over(tmp_path, kind, name, top_m, end_m) == [("Branch", name)] * joined


def test_water_that_ends_beside_the_plan_of_a_fixture_feeds_it_not(tmp_path):
    assert over(tmp_path, CLOSET, "Closet", 0.4, 0.7, aside_m=0.36) == []
    assert over(tmp_path, CLOSET, "Closet", 0.4, 0.7, aside_m=0.34) == [("Branch", "Closet")]


def test_a_fixture_that_is_fed_leaves_what_ends_over_it_alone(tmp_path):
    m = SmallModel()
    m.element("IfcSanitaryTerminal", "Closet", predefined="TOILETPAN", at=m.placement((0, 0, 0)),
              shape=block(m, (-0.3, 0, 0), (0.3, 0.5, 0.4)))  # fmt: skip
    pipes = [m.pipe((0.1, 0.05, z + 1), (0.1, 0.05, z), name=n, diameter=COPPER_M)
             for z, n in ((0.3, "Near"), (0.7, "Over"))]  # fmt: skip
    m.system("Cold", pipes, "DOMESTICCOLDWATER")
    assert ("Closet", "Near") in names(read(m.write(tmp_path)))
    assert ("Closet", "Over") not in names(read(m.write(tmp_path)))


@pytest.mark.parametrize(
    ("aside_m", "joined"),
    [(0.0, ["Tub"]), (0.42, ["Tub"]), (0.46, []), (0.61, ["Basin"])],  # the edges at 0.4 and 0.6
)
def test_a_faucet_is_of_the_fixture_it_stands_over_before_one_beside(aside_m, joined):
    at = (aside_m, 0.1, 0.8)
    tub, basin = (
        Element(name, role=Role.FIXTURE, box=((low, 0.0, 0.0), (high, 0.8, 0.6)))
        for name, low, high in (("Tub", -0.4, 0.4), ("Basin", 0.6, 1.0))
    )
    faucet = Element("F", role=Role.VALVE, kind="faucet", position=at, ends=[End(at)])
    pipe = Element("P", role=Role.PIPE, system=System.COLD_WATER, ends=[End(at)])
    model = Model(elements=[tub, basin, faucet, pipe], joints=[Joint(2, 0, 3, 0)])
    hang_faucets(model)
    guids = [{model.elements[j.a].guid, model.elements[j.b].guid} for j in model.joints[1:]]
    assert guids == [{"F", name} for name in joined]


# A pipe that ends where two others are joined


@pytest.mark.parametrize(("system", "joined"), [("DOMESTICHOTWATER", 1), ("DOMESTICCOLDWATER", 0)])
def test_a_pipe_that_ends_at_a_joint_of_others_of_its_service_branches_there(
    tmp_path, system, joined
):
    m = SmallModel()
    run = [m.pipe((0, 0, 0), (1, 0, 0), name="A"), m.pipe((1, 0, 0), (2, 0, 0), name="B")]
    ports = [m.ports(pipe, (x, 0, 0)) for pipe, x in zip(run, (1, 0), strict=True)]
    m.connect(ports[0][0], ports[1][0])
    branch = m.pipe((1, 0, 0), (1, 1, 0), name="C")
    m.system("Hot", run, "DOMESTICHOTWATER")
    m.system("Branch", [branch], system)
    found = names(read(m.write(tmp_path)))
    assert ("A", "B") in found
    assert len(found) == 1 + joined


# The third side of a mixing valve and of a tee


def rod(m: SmallModel, low, high, aside=0.0):
    """A cylinder along x, beside the placement of its part: that is no middle."""
    axis = m.extrusion(0.024, high - low)
    axis.Position = m.axes((low, aside, aside), (1, 0, 0), (0, 0, 1))
    return m.shape(axis)


@pytest.mark.parametrize("far_m", [0.06, 0.147, 0.153])
def test_the_third_pipe_at_a_mixing_valve_is_its_other_side(tmp_path, far_m):
    m = SmallModel()
    m.element("IfcValve", "Mixer", predefined="MIXING", at=m.placement((0, 0, 0)),
              shape=rod(m, -0.05, 0.05))  # fmt: skip
    hot = [m.pipe((-1, 0, 0), (-0.05, 0, 0), name="Hot in", diameter=COPPER_M),
           m.pipe((0.05, 0, 0), (1, 0, 0), name="Mixed", diameter=COPPER_M)]  # fmt: skip
    cold = m.pipe((0, -1, 0), (0, -far_m, 0), name="Cold in", diameter=COPPER_M)
    m.system("Hot", hot, "DOMESTICHOTWATER")
    m.system("Cold", [cold], "DOMESTICCOLDWATER")
    model = read(m.write(tmp_path))
    assert (("Cold in", "Mixer") in names(model)) is (far_m < 0.15)
    assert (System.COLD_WATER in system_of_ends(model, "Mixer")) is (far_m < 0.15)


def test_of_two_ends_beside_a_mixing_valve_the_one_that_points_at_it_is_joined(tmp_path):
    m = SmallModel()
    m.element("IfcValve", "Mixer", predefined="MIXING", at=m.placement((0, 0, 0)),
              shape=rod(m, -0.05, 0.05))  # fmt: skip
    hot = [m.pipe((-1, 0, 0), (-0.05, 0, 0), name="Hot in", diameter=COPPER_M),
           m.pipe((0.05, 0, 0), (1, 0, 0), name="Mixed", diameter=COPPER_M)]  # fmt: skip
    cold = [m.pipe((0, -1, 0), (0, -0.06, 0), name="Cold in", diameter=COPPER_M),
            m.pipe((0.08, -0.06, 1), (0.08, -0.06, 0), name="Passer",
                   diameter=COPPER_M)]  # fmt: skip
    m.system("Hot", hot, "DOMESTICHOTWATER")
    m.system("Cold", cold, "DOMESTICCOLDWATER")
    found = names(read(m.write(tmp_path)))
    assert ("Cold in", "Mixer") in found
    assert ("Mixer", "Passer") not in found


@pytest.mark.parametrize(("far_m", "joined"), [(0.03, True), (0.1, False)])
def test_a_pipe_points_into_the_leg_of_a_tee_that_is_not_drawn(tmp_path, far_m, joined):
    m = SmallModel()
    m.element("IfcPipeFitting", "Tee", predefined="JUNCTION", object_type="Tee",
              at=m.placement((0, -0.02, -0.02)), shape=rod(m, -0.04, 0.04, 0.02))  # fmt: skip
    for name, near, far in (("A", -0.04, -1), ("B", 0.04, 1)):
        m.pipe((far, 0, 0), (near, 0, 0), name=name, diameter=COPPER_M)
    m.pipe((0, -1, 0), (0, -far_m, 0), name="C", diameter=COPPER_M)
    assert (("C", "Tee") in names(read(m.write(tmp_path)))) is joined


# A bend of which one leg is drawn


@pytest.mark.parametrize(
    ("start", "joined"),
    [((0.0, 0.0, -0.01), True), ((0.0, 0.02, -0.01), False), ((0.0, 0.0, -0.12), False)],
)
def test_a_pipe_whose_axis_meets_that_of_the_drawn_leg_goes_on_round_the_bend(
    tmp_path, start, joined
):
    m = SmallModel()
    m.element("IfcPipeFitting", "Bend", predefined="BEND", at=m.placement((0, -0.02, -0.02)),
              shape=rod(m, 0.0, 0.04, 0.02))  # fmt: skip
    m.pipe((1, 0, 0), (0.04, 0, 0), name="A", diameter=COPPER_M)
    m.pipe((start[0], start[1], -1), start, name="B", diameter=COPPER_M)
    found = names(read(m.write(tmp_path)))
    assert ("A", "Bend") in found
    assert (("B", "Bend") in found) is joined


@pytest.mark.parametrize("named", [True, False])
def test_water_of_which_only_joints_tell_the_service_is_met_at_its_fixture(tmp_path, named):
    """A riser that no name calls water, behind a pipe that one does."""
    m = SmallModel()
    m.element("IfcSanitaryTerminal", "Closet", predefined="TOILETPAN", at=m.placement((0, 0, 0)),
              shape=block(m, (-0.3, 0, 0), (0.3, 0.5, 0.4)))  # fmt: skip
    m.pipe((0.1, -2, 0.2), (0.1, -0.3, 0.2), diameter=COPPER_M,
           name="Cold water pipe" if named else "Pipe")  # fmt: skip
    m.pipe((0.1, -0.3, 0.2), (0.1, -0.05, 0.2), diameter=COPPER_M, name="Riser")
    assert (("Closet", "Riser") in names(read(m.write(tmp_path)))) is named


def test_a_mixing_valve_without_a_place_takes_no_pipe_and_breaks_nothing() -> None:
    def pipe(guid: str, x: float) -> Element:
        return Element(guid, role=Role.PIPE, ends=[End((x, 0, 0)), End((x + 1, 0, 0))])

    valve = Element("V", role=Role.VALVE, kind="mixing", ends=[End(None), End(None)])
    model = Model(elements=[valve, pipe("A", 0), pipe("B", 5), pipe("C", 9)])
    model.joints = [Joint(0, 0, 1, 0), Joint(0, 1, 2, 0)]
    assert join_leftovers(model, [(3, 0)]) == [(3, 0)]
    assert len(model.joints) == 2
