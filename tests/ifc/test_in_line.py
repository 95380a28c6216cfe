"""Parts without ports in the line of pipes that are drawn into them."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from tests.ifc.small_models import SmallModel
from tests.ifc.test_joining import block
from tests.ifc.test_systems_and_joints import names


def body(m: SmallModel, shape: str, half: float = 0.06):
    if shape == "box":
        return block(m, (-half, -0.04, -0.04), (half, 0.04, 0.1))
    axis, length = m.extrusion(0.06, 2 * half), 2 * half
    axis.Position = (
        m.axes((-half, 0, 0), (1, 0, 0), (0, 0, 1))
        if shape == "along"
        else m.axes((0, 0, -half), (0, 0, 1), (1, 0, 0))
    )
    assert length > 0
    return m.shape(axis)


CLASSES = [
    ("IfcValve", "Ball valve", "ISOLATING"),
    ("IfcFlowMeter", "Water meter", "WATERMETER"),
    ("IfcPipeFitting", "Coupling", "CONNECTOR"),
]


@pytest.mark.parametrize("reach", [0.06, 0.03, 0.0, -0.004], ids=lambda r: f"to {r} m")
@pytest.mark.parametrize("shape", ["box", "along"])
@pytest.mark.parametrize(("ifc_class", "name", "kind"), CLASSES)
def test_pipes_cut_back_or_run_into_a_part_are_joined_to_it(
    tmp_path, ifc_class, name, kind, shape, reach
):
    """Up to the surface of the part, into it, to its middle, and a little past that."""
    m = SmallModel()
    run = [m.pipe((-1, 0, 0), (-reach, 0, 0), name="A", diameter=0.0334),
           m.pipe((reach, 0, 0), (1, 0, 0), name="B", diameter=0.0334)]  # fmt: skip
    m.element(ifc_class, name, predefined=kind, at=m.placement((0, 0, 0)), shape=body(m, shape))
    m.system("Cold", run, "DOMESTICCOLDWATER")
    assert names(read(m.write(tmp_path))) == [("A", name), ("B", name)]


def test_a_valve_drawn_across_the_pipes_that_meet_in_it_is_in_the_line(tmp_path):
    m = SmallModel()
    m.pipe((-1, 0, 0), (0, 0, 0), name="A")
    m.pipe((0, 0, 0), (1, 0, 0), name="B")
    m.element("IfcValve", "Valve", predefined="ISOLATING", at=m.placement((0, 0, 0)),
              shape=body(m, "across"))  # fmt: skip
    assert names(read(m.write(tmp_path))) == [("A", "Valve"), ("B", "Valve")]


def test_a_cleanout_in_whose_middle_pipes_meet_is_joined_to_them(tmp_path):
    m = SmallModel()
    run = [m.pipe((-1, 0, 0), (0, 0, 0), name="A"), m.pipe((0, 0, 0), (1, 0, 0), name="B")]
    m.element("IfcPipeFitting", "Cleanout", object_type="Cleanout", predefined="USERDEFINED",
              at=m.placement((0, 0, 0)), shape=body(m, "box"))  # fmt: skip
    m.system("Sanitary", run, "SEWAGE")
    assert names(read(m.write(tmp_path))) == [("A", "Cleanout"), ("B", "Cleanout")]


def test_three_pipes_that_meet_inside_a_tee_are_joined_to_it(tmp_path):
    m = SmallModel()
    m.element("IfcPipeFitting", "Tee", predefined="JUNCTION", at=m.placement((0, 0, 0)),
              shape=block(m, (-0.1, -0.1, -0.05), (0.1, 0.1, 0.05)))  # fmt: skip
    for name, far in (("A", (-1, 0, 0)), ("B", (1, 0, 0)), ("C", (0, 1, 0))):
        m.pipe(far, (0, 0, 0), name=name)
    model = read(m.write(tmp_path))
    assert names(model) == [("A", "Tee"), ("B", "Tee"), ("C", "Tee")]
    assert model.notes == []


def test_openings_that_ports_tell_are_met_by_pipes_drawn_to_the_middle(tmp_path):
    m = SmallModel()
    bend = m.element("IfcPipeFitting", "Bend", predefined="BEND", at=m.placement((0, 0, 0)))
    m.ports(bend, (-0.08, 0, 0), (0, 0.08, 0))
    m.pipe((-1, 0, 0), (0, 0, 0), name="A")
    m.pipe((0, 0, 0), (0, 1, 0), name="B")
    model = read(m.write(tmp_path))
    assert names(model) == [("A", "Bend"), ("B", "Bend")]
    assert [round(j.gap_m, 3) for j in model.joints] == [0.08, 0.08]


def test_pipes_that_meet_beside_a_valve_leave_it_out(tmp_path):
    m = SmallModel()
    m.pipe((-1, 0.2, 0), (0, 0.2, 0), name="A")
    m.pipe((0, 0.2, 0), (1, 0.2, 0), name="B")
    m.element("IfcValve", "Valve", predefined="ISOLATING", at=m.placement((0, 0, 0)),
              shape=body(m, "box"))  # fmt: skip
    assert names(read(m.write(tmp_path))) == [("A", "B")]


def test_a_gas_valve_takes_no_water_pipes_that_meet_in_it(tmp_path):
    m = SmallModel()
    run = [m.pipe((-1, 0, 0), (0, 0, 0), name="A"), m.pipe((0, 0, 0), (1, 0, 0), name="B")]
    valve = m.element("IfcValve", "Valve", predefined="ISOLATING", at=m.placement((0, 0, 0)),
                      shape=body(m, "box"))  # fmt: skip
    m.system("Cold", run, "DOMESTICCOLDWATER")
    m.system("Gas", [valve], "GAS")
    assert names(read(m.write(tmp_path))) == [("A", "B")]


# Bodies that touch


def tub_over(m: SmallModel, *traps: float, gap: float = 0.0):
    """A tub without ports, traps without ports under it at some x, and a drain from the first."""
    m.element("IfcSanitaryTerminal", "Tub", predefined="BATH", at=m.placement((0, 0, 0)),
              shape=block(m, (-0.8, -0.4, 0), (0.8, 0.4, 0.5)))  # fmt: skip
    for number, x in enumerate(traps):
        m.element("IfcWasteTerminal", f"Trap {number}", predefined="WASTETRAP",
                  at=m.placement((x, 0, -0.2 - gap)),
                  shape=block(m, (-0.1, -0.05, 0), (0.1, 0.05, 0.2)))  # fmt: skip
    drain = m.pipe((traps[0] + 0.1, 0, -0.1 - gap), (3, 0, -0.15), name="Arm")
    m.system("Sanitary", [drain], "SEWAGE")
    return m


def test_a_trap_under_its_tub_is_joined_to_it(tmp_path):
    model = read(tub_over(SmallModel(), 0.5).write(tmp_path))
    assert names(model) == [("Arm", "Trap 0"), ("Trap 0", "Tub")]
    assert all(j.inferred for j in model.joints)


def test_of_two_traps_under_a_tub_neither_is_meant(tmp_path):
    model = read(tub_over(SmallModel(), 0.5, -0.5).write(tmp_path))
    assert names(model) == [("Arm", "Trap 0")]


def test_a_trap_well_below_a_tub_does_not_touch_it(tmp_path):
    assert names(read(tub_over(SmallModel(), 0.5, gap=0.05).write(tmp_path))) == [("Arm", "Trap 0")]


@pytest.mark.parametrize("system", ["SEWAGE", "DOMESTICCOLDWATER"])
def test_a_closet_stands_on_its_bend(tmp_path, system):
    m = SmallModel()
    m.element("IfcSanitaryTerminal", "Closet", predefined="TOILETPAN", at=m.placement((0, 0, 0)),
              shape=block(m, (-0.2, -0.35, 0), (0.2, 0.35, 0.4)))  # fmt: skip
    m.element("IfcPipeFitting", "Closet bend", predefined="BEND", at=m.placement((0, 0, -0.2)),
              shape=block(m, (-0.1, -0.06, 0), (0.1, 0.06, 0.195)))  # fmt: skip
    drain = m.pipe((0.1, 0, -0.14), (3, 0, -0.2), name="Drain", diameter=0.0889)
    m.system("Some", [drain], system)
    on_bend = [("Closet", "Closet bend")] if system == "SEWAGE" else []
    assert names(read(m.write(tmp_path))) == sorted([*on_bend, ("Closet bend", "Drain")])


@pytest.mark.parametrize(
    ("height", "inside"),
    [
        (0.05, -0.02),
        (0.05, 0.0),
        (0.05, 0.012),
        (0.05, 0.045),
        (0.3, 0.025),
        (0.3, 0.1),
        (0.3, 0.28),
    ],
)
@pytest.mark.parametrize("shape", ["box", "round"])
@pytest.mark.parametrize(
    ("ifc_class", "name"), [("IfcStackTerminal", "Cowl"), ("IfcValve", "Air admittance valve")]
)
def test_a_terminal_is_joined_to_the_vent_that_runs_up_into_it(
    tmp_path, ifc_class, name, shape, height, inside
):
    m = SmallModel()
    vent = m.pipe((0, 0, -1), (0, 0, inside), name="Vent", diameter=0.06)
    drawn = (
        block(m, (-0.06, -0.06, 0), (0.06, 0.06, height))
        if shape == "box"
        else m.shape(m.extrusion(0.12, height))
    )
    m.element(ifc_class, name, at=m.placement((0, 0, 0)), shape=drawn)
    m.system("Vents", [vent], "VENT")
    joined = names(read(m.write(tmp_path)))
    assert joined == [tuple(sorted(("Vent", name)))]


def test_cowls_side_by_side_are_each_joined_to_the_vent_that_ends_at_it(tmp_path):
    m = SmallModel()
    xs = {"A": 0.0, "B": 0.13}
    vents = [m.pipe((x, 0, -1), (x, 0, 0), name=n, diameter=0.06) for n, x in xs.items()]
    for n, x in xs.items():
        shape = m.shape(m.extrusion(0.12, 0.1))
        m.element("IfcStackTerminal", f"Cowl {n}", at=m.placement((x, 0, 0)), shape=shape)
    m.system("Vents", vents, "VENT")
    assert names(read(m.write(tmp_path))) == [("A", "Cowl A"), ("B", "Cowl B")]


def test_a_vent_that_ends_beside_a_cowl_is_not_joined_to_it(tmp_path):
    m = SmallModel()
    vent = m.pipe((0.3, 0, -1), (0.3, 0, 0.05), name="Vent", diameter=0.06)
    shape = m.shape(m.extrusion(0.12, 0.1))
    m.element("IfcStackTerminal", "Cowl", at=m.placement((0, 0, 0)), shape=shape)
    m.system("Vents", [vent], "VENT")
    assert not names(read(m.write(tmp_path)))
