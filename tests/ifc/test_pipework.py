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


def by_service(m, element):
    m.properties(element, "Mechanical", **{"System Type": ("IfcLabel", "Domestic Cold Water")})


def by_mark(m, element):
    m.properties(element, "Mechanical", **{"System Abbreviation": ("IfcText", "CW")})


@pytest.mark.parametrize("schema", SCHEMAS)
@pytest.mark.parametrize(("name", "role", "kind"), NAMES)
def test_a_proxy_in_a_plumbing_system_is_what_it_is_called(tmp_path, schema, name, role, kind):
    m = SmallModel(schema)
    by_system(m, loose(m, PROXY, name))
    (element,) = read(m.write(tmp_path)).elements
    assert element.role is role
    assert element.kind in (kind, "")
    assert element.system is (System.SANITARY if role is not Role.FIXTURE else element.system)


@pytest.mark.parametrize("tell", [by_system, by_ports, by_sets, by_service, by_mark])
def test_a_system_ports_of_pipe_or_a_property_set_tell_pipework(tmp_path, tell):
    m = SmallModel()
    tell(m, loose(m, PROXY, "Pipe"))
    loose(m, PROXY, "Pipe")  # of which nothing says that it is no part of a playground
    (element,) = read(m.write(tmp_path)).elements
    assert (element.role, element.ifc_class) == (Role.PIPE, PROXY)
    assert element.length_m == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("name", "said"), [("System Type", "Supply Air"), ("System Type", "Hydronic"), ("Mark", "CW")]
)
def test_a_property_that_names_no_service_of_plumbing_tells_none(tmp_path, name, said):
    m = SmallModel()
    m.properties(loose(m, PROXY, "Pipe"), "Mechanical", **{name: ("IfcLabel", said)})
    assert read(m.write(tmp_path)).elements == []


def test_a_property_set_of_pipes_tells_a_pipe_of_any_name(tmp_path):
    m = SmallModel()
    by_sets(m, loose(m, PROXY, "Body 12"))
    (element,) = read(m.write(tmp_path)).elements
    assert (element.role, element.size_in) == (Role.PIPE, 2.0)


@pytest.mark.parametrize(
    ("name", "set_name", "role", "kind"),
    [
        ("Angle stop", "Pset_ValveTypeCommon", Role.VALVE, "isolating"),
        ("Ball valve", "Pset_ValveTypeIsolating", Role.VALVE, "isolating"),
        ("Body 12", "Pset_ValveTypeCommon", Role.VALVE, ""),
        ("Gas regulator", "Pset_ValveTypeCommon", Role.REGULATOR, "gas"),
        ("Recirculation pump", "Pset_PumpTypeCommon", Role.PUMP, "circulator"),
        ("Body 12", "Pset_PumpTypeCommon", None, ""),  # what it pumps is not told
    ],
)
def test_a_property_set_of_valves_or_equipment_tells_pipework(tmp_path, name, set_name, role, kind):
    m = SmallModel()
    size = ("IfcPositiveLengthMeasure", 0.0127)
    m.properties(loose(m, PROXY, name), set_name, NominalDiameter=size)
    elements = read(m.write(tmp_path)).elements
    assert [(e.role, e.kind) for e in elements] == ([(role, kind)] if role else [])


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


@pytest.mark.parametrize("schema", SCHEMAS)
@pytest.mark.parametrize("ifc_class", ["IfcDiscreteAccessory", "IfcMechanicalFastener"])
def test_an_accessory_in_a_plumbing_system_is_what_it_is_called(tmp_path, schema, ifc_class):
    m = SmallModel(schema)
    by_system(m, loose(m, ifc_class, "Ball valve"))
    loose(m, ifc_class, "Ball valve")  # on a shelf
    (element,) = read(m.write(tmp_path)).elements
    assert (element.role, element.kind) == (Role.VALVE, "isolating")


@pytest.mark.parametrize(("name", "kind"), [("Water meter", "water"), ("Gas meter", "gas")])
def test_an_instrument_called_a_meter_is_one(tmp_path, name, kind):
    m = SmallModel()
    loose(m, "IfcFlowInstrument", name)
    loose(m, "IfcFlowInstrument", "Pressure gauge at the meter", 1)
    kinds = {e.name: (e.role, e.kind) for e in read(m.write(tmp_path)).elements}
    assert kinds[name] == (Role.METER, kind)
    assert kinds["Pressure gauge at the meter"] == (Role.OTHER, "pressure-gauge")


DUCT = "IfcDuctSegment"


def test_ducts_in_systems_of_pipe_are_read_as_pipe_and_noted(tmp_path):
    m = SmallModel()
    m.system("Sanitary", [loose(m, DUCT, "Segment 1")], "SEWAGE")
    m.system("Sanitary vent", [loose(m, DUCT, "Segment 2", 1)], "VENT")
    loose(m, DUCT, "Segment 3", 2)
    model = read(m.write(tmp_path))
    assert {(e.name, e.role, e.system) for e in model.elements} == {
        ("Segment 1", Role.PIPE, System.SANITARY), ("Segment 2", Role.PIPE, System.VENT),
    }  # fmt: skip
    assert [note.what for note in model.notes if DUCT in note.what] == [
        "2 of class IfcDuctSegment are in systems of pipe, and were read as of class "
        "IfcPipeSegment."
    ]


def test_ducts_of_a_system_of_vents_without_any_pipe_are_of_air(tmp_path):
    m = SmallModel()
    m.system("Vent", [loose(m, DUCT, "Segment 1")], "VENT")
    assert not read(m.write(tmp_path)).elements


def test_an_air_terminal_among_vent_pipes_ends_a_vent(tmp_path):
    m = SmallModel()
    pipe, cap = loose(m, "IfcPipeSegment", "Pipe"), loose(m, "IfcAirTerminal", "Cap", 1)
    m.system("Sanitary vent", [pipe, cap], "VENT")
    roles = {e.name: e.role for e in read(m.write(tmp_path)).elements}
    assert roles == {"Pipe": Role.PIPE, "Cap": Role.VENT_TERMINAL}


def test_members_of_a_plumbing_system_of_no_class_of_plumbing_are_noted(tmp_path):
    m = SmallModel()
    others = [loose(m, "IfcRailing", "Pipe", 1), loose(m, "IfcRailing", "Pipe", 2)]
    wrapped = loose(m, "IfcCovering", "Insulation", 3)
    m.system("Sanitary", [loose(m, "IfcPipeSegment", "Pipe"), *others, wrapped], "SEWAGE")
    m.system("Frame", [loose(m, "IfcColumn", "Post", 4)])
    model = read(m.write(tmp_path))
    assert len(model.elements) == 1
    assert [note.what for note in model.notes if note.topic == "role"] == [
        "2 of class IfcRailing are in systems of pipe; they were not read."
    ]


def test_what_moves_or_senses_a_valve_is_none(tmp_path):
    m = SmallModel()
    controls = [loose(m, c, "Ball valve", y) for y, c in enumerate(("IfcSensor", "IfcActuator"))]
    m.system("Sanitary", [loose(m, "IfcPipeSegment", "Pipe", 3), *controls], "SEWAGE")
    model = read(m.write(tmp_path))
    assert [e.name for e in model.elements] == ["Pipe"]
    assert not [note for note in model.notes if note.topic == "role"]


def row(m: SmallModel, *named: tuple[str, str], linked: bool = True) -> None:
    """Pieces of a metre one behind the other, of these classes and names, linked by their ports."""
    before = None
    for n, (ifc_class, name) in enumerate(named):
        made = m.root(ifc_class, name, ObjectPlacement=m.placement((float(n), 0, 0)))
        m.contain(made, m.storey)
        start, end = m.ports(made, (float(n), 0, 0), (n + 1.0, 0, 0))
        if linked and before is not None:
            m.connect(before, start)
        before = end


STRANGE = [
    ("IfcFlowFitting", "Zork 3"), ("IfcFlowFitting", "Zork 4"), ("IfcFlowController", "Zork 5"),
    ("IfcFlowSegment", "Zork 6"),
]  # fmt: skip


def test_what_the_file_links_to_pipe_one_after_another_is_pipework_of_its_class(tmp_path):
    m = SmallModel("IFC2X3")
    row(m, ("IfcFlowSegment", "Pipe 3 in"), *STRANGE, ("IfcFlowSegment", "Pipe 3 in"))
    told = {e.name: e.role for e in read(m.write(tmp_path)).elements}
    assert told == {
        "Pipe 3 in": Role.PIPE, "Zork 3": Role.FITTING, "Zork 4": Role.FITTING,
        "Zork 5": Role.VALVE, "Zork 6": Role.PIPE,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("named", "linked"),
    [
        ([("IfcFlowSegment", "Pipe"), ("IfcFlowFitting", "Zork")], True),  # by one port
        ([("IfcFlowSegment", "Pipe"), *STRANGE, ("IfcFlowSegment", "Pipe")], False),
        ([("IfcFlowTerminal", "Lavatory"), *STRANGE], True),  # to no pipe
        ([("IfcFlowSegment", "Pipe"), ("IfcFlowTerminal", "Zork"), ("IfcFlowSegment", "P")], True),
    ],
)
def test_what_the_file_does_not_link_to_pipe_at_two_ports_is_not_understood(
    tmp_path, named, linked
):
    m = SmallModel("IFC2X3")
    row(m, *named, linked=linked)
    model = read(m.write(tmp_path))
    assert not [e.name for e in model.elements if e.name.startswith("Zork")]
    assert any("what they are; they were not read" in note.what for note in model.notes)
