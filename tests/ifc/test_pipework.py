"""Elements of a class that tells nothing are read as pipework where the file says so otherwise."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Role, System
from ifclint.report import summary
from tests.ifc.small_models import SCHEMAS, SmallModel
from tests.reviewing import without_corrections

PROXY = "IfcBuildingElementProxy"
NAMES = [
    ("Pipe", Role.PIPE, ""), ("Rohr", Role.PIPE, ""), ("Elbow 90", Role.FITTING, "quarter-bend"),
    ("Sanitary tee", Role.FITTING, "sanitary-tee"), ("Wye", Role.FITTING, "wye"),
    ("Stop valve", Role.VALVE, "isolating"), ("P-trap", Role.TRAP, "p-trap"),
    ("Lavatory", Role.FIXTURE, "lavatory"), ("Water meter", Role.METER, "water"),
    ("Union", Role.FITTING, "coupling"),
]  # fmt: skip


def loose(m: SmallModel, ifc_class: str, name: str, y: float = 0.0):
    made = m.root(ifc_class, name, ObjectPlacement=m.placement((0, y, 0), (1, 0, 0), (0, 0, 1)))
    made.Representation = m.shape(m.extrusion(0.0603, 1.0))
    m.contain(made, m.storey)
    return made


def by_system(m, element):
    m.system("Sanitary", [element], "SEWAGE")


def by_ports(m, element):
    m.ports(element, (0, 0, 0), (1, 0, 0))


def by_sets(m, element):
    m.properties(
        element, "Pset_PipeSegmentTypeCommon", NominalDiameter=("IfcPositiveLengthMeasure", 0.05)
    )


@pytest.mark.parametrize("schema", SCHEMAS)
@pytest.mark.parametrize(("name", "role", "kind"), NAMES)
def test_a_proxy_in_a_plumbing_system_is_what_it_is_called(tmp_path, schema, name, role, kind):
    m = SmallModel(schema)
    by_system(m, loose(m, PROXY, name))
    (element,) = read(m.write(tmp_path)).elements
    assert element.role is role
    assert element.kind in (kind, "")
    assert element.system is (System.SANITARY if role is not Role.FIXTURE else element.system)


@pytest.mark.parametrize("tell", [by_system, by_ports, by_sets])
def test_a_system_ports_of_pipe_or_a_property_set_tell_pipework(tmp_path, tell):
    m = SmallModel()
    tell(m, loose(m, PROXY, "Pipe"))
    loose(m, PROXY, "Pipe")  # of which nothing says that it is no part of a playground
    (element,) = read(m.write(tmp_path)).elements
    assert (element.role, element.ifc_class) == (Role.PIPE, PROXY)
    assert element.length_m == pytest.approx(1.0)


def test_a_property_set_of_pipes_tells_a_pipe_of_any_name(tmp_path):
    m = SmallModel()
    by_sets(m, loose(m, PROXY, "Body 12"))
    (element,) = read(m.write(tmp_path)).elements
    assert (element.role, element.size_in) == (Role.PIPE, 2.0)


def test_ports_of_cables_tell_no_pipework(tmp_path):
    m = SmallModel()
    element = loose(m, PROXY, "Pipe")
    for port in m.ports(element, (0, 0, 0), (1, 0, 0)):
        port.PredefinedType = "CABLE"
    assert not read(m.write(tmp_path)).elements


@pytest.mark.parametrize("schema", SCHEMAS)
@pytest.mark.parametrize(
    ("name", "role"),
    [("Gas water heater 40 gal 40,000 Btu/h", Role.HEATER), ("Water meter", Role.METER),
     ("Gas meter", Role.METER), ("Bathtub", Role.FIXTURE), ("Expansion tank", Role.TANK)],
)  # fmt: skip
def test_a_supertype_bounds_a_name_no_more_than_a_proxy(tmp_path, schema, name, role):
    m = SmallModel(schema)
    classes = PROXY, "IfcFlowTerminal", "IfcFlowController", "IfcFlowFitting"
    for y, ifc_class in enumerate(classes):
        loose(m, ifc_class, name, y)
    assert [e.role for e in read(m.write(tmp_path)).elements] == [role] * 4


@pytest.mark.parametrize("name", ["Air diffuser", "Light", "Table tee", "Wye"])
def test_a_supertype_outside_pipework_is_not_widened_to_pipes(tmp_path, name):
    m = SmallModel()
    loose(m, "IfcFlowTerminal", name)
    assert not read(m.write(tmp_path)).elements


def test_what_is_not_understood_in_systems_of_pipe_is_counted_at_the_top(tmp_path):
    m = SmallModel("IFC4", "MILLIMETRE")
    pipe = m.pipe((0, 0, 0), (1, 0, 0), name="2 in pipe")
    things = [loose(m, PROXY, f"Xylophone {n}") for n in range(3)]
    m.system("Sanitary", [pipe, *things], "SEWAGE")
    loose(m, PROXY, "Desk")
    done = without_corrections([m.write(tmp_path)], None, "upc-2021")
    said = "in systems of pipe, and not understood"
    assert [(s.service, s.elements) for s in done.set_aside] == [(said, 3)]
    assert f"{said} (3)" in " ".join(summary(done).split())
    assert any(
        note.startswith(f"3 of class {PROXY} in systems of pipe") for note in done.network.notes
    )
