"""What an element is: class, enumeration and words, in this order of trust."""

from __future__ import annotations

import pytest

from ifclint.errors import InputError
from ifclint.ifc import read
from ifclint.ifc.elements import Role, System
from tests.ifc.small_models import SCHEMAS, SmallModel


def read_one(tmp_path, schema, ifc_class, name, **more):
    m = SmallModel(schema)
    m.element(ifc_class, name, **more)
    model = read(m.write(tmp_path))
    return (model.elements[0] if model.elements else None), model


CASES = [
    ("IfcSanitaryTerminal", "SINK", "Kitchen sink", Role.FIXTURE, "kitchen-sink"),
    ("IfcSanitaryTerminal", "SINK", "Laundry sink", Role.FIXTURE, "laundry-sink"),
    ("IfcSanitaryTerminal", "SINK", "S-3", Role.FIXTURE, "sink"),
    ("IfcSanitaryTerminal", "TOILETPAN", "Anything", Role.FIXTURE, "water-closet"),
    ("IfcSanitaryTerminal", "WCSEAT", "WC", Role.FIXTURE, "water-closet"),
    ("IfcSanitaryTerminal", "BATH", "Tub", Role.FIXTURE, "bathtub"),
    ("IfcSanitaryTerminal", "SHOWER", "Shower", Role.FIXTURE, "shower"),
    ("IfcSanitaryTerminal", "NOTDEFINED", "Waschtisch 60 cm", Role.FIXTURE, "lavatory"),
    ("IfcSanitaryTerminal", "NOTDEFINED", "Inodoro", Role.FIXTURE, "water-closet"),
    ("IfcSanitaryTerminal", "NOTDEFINED", "Évier double", Role.FIXTURE, "kitchen-sink"),
    ("IfcSanitaryTerminal", "NOTDEFINED", "Wastafel", Role.FIXTURE, "lavatory"),
    ("IfcSanitaryTerminal", "NOTDEFINED", "FloorDrain_2", Role.FIXTURE, "floor-drain"),
    (
        "IfcSanitaryTerminal",
        "NOTDEFINED",
        "Clothes washer standpipe",
        Role.FIXTURE,
        "clothes-washer",
    ),
    ("IfcSanitaryTerminal", "NOTDEFINED", "Standpipe", Role.FIXTURE, "clothes-washer"),
    (
        "IfcSanitaryTerminal",
        "NOTDEFINED",
        "Standpipe fire department",
        Role.APPLIANCE,
        "fire-sprinklers",
    ),
    (
        "IfcSanitaryTerminal",
        "NOTDEFINED",
        "Fire standpipe, class I",
        Role.APPLIANCE,
        "fire-sprinklers",
    ),
    ("IfcSanitaryTerminal", "NOTDEFINED", "Trap primer valve ASSE 1018", Role.VALVE, "trap-primer"),
    ("IfcWasteTerminal", "NOTDEFINED", "Trap primer", Role.VALVE, "trap-primer"),
    ("IfcWasteTerminal", "NOTDEFINED", "P-trap, trap primer connection", Role.TRAP, "p-trap"),
    ("IfcWasteTerminal", "NOTDEFINED", "Trap primer at FD-1", Role.VALVE, "trap-primer"),
    ("IfcWasteTerminal", "NOTDEFINED", "Floor drain, trap primer", Role.FIXTURE, "floor-drain"),
    ("IfcWasteTerminal", "FLOORWASTE", "FD-1", Role.FIXTURE, "floor-drain"),
    ("IfcWasteTerminal", "FLOORTRAP", "Floor sink", Role.FIXTURE, "floor-sink"),
    ("IfcPipeFitting", "JUNCTION", "Culotte 87°30 DN50/DN40", Role.FITTING, "sanitary-tee"),
    ("IfcPipeFitting", "JUNCTION", "Culotte 45° DN50/DN40", Role.FITTING, "wye"),
    ("IfcPipeFitting", "JUNCTION", "Heel Inlet 1/4 Bend 3 in", Role.FITTING, "heel-inlet-bend"),
    ("IfcPipeFitting", "BEND", "Side Inlet Quarter Bend", Role.FITTING, "side-inlet-bend"),
    ("IfcPipeFitting", "JUNCTION", "Culotte double 87°30 DN100/DN50", Role.FITTING, "cross"),
    ("IfcPipeFitting", "JUNCTION", "Doppelabzweig 87° DN100/DN50", Role.FITTING, "cross"),
    ("IfcPipeFitting", "OBSTRUCTION", "Regard de dégorgement DN80", Role.CLEANOUT, "cleanout"),
    ("IfcPipeFitting", "OBSTRUCTION", "Registro de piso 3 in", Role.CLEANOUT, "cleanout"),
    ("IfcPipeFitting", "OBSTRUCTION", "Registro de dos vías a nivel", Role.CLEANOUT, "two-way"),
    ("IfcPipeFitting", "OBSTRUCTION", "Ontstoppingsput vloer DN80", Role.CLEANOUT, "cleanout"),
    ("IfcStackTerminal", "RAINWATERHOPPER", "Overflow Roof Drain 4 in", Role.FIXTURE, "roof-drain"),
    ("IfcStackTerminal", "RAINWATERHOPPER", "Hopper", Role.OTHER, "rainwater-hopper"),
    ("IfcSanitaryTerminal", "NOTDEFINED", "Downspout Nozzle 4 in", Role.FITTING, "exit"),
    ("IfcWasteTerminal", "NOTDEFINED", "Dishwasher air gap fitting", Role.FITTING, "air-gap"),
    ("IfcPipeFitting", "NOTDEFINED", "Air gap device", Role.FITTING, "air-gap"),
    ("IfcWasteTerminal", "NOTDEFINED", "Floor sink with air gap", Role.FIXTURE, "floor-sink"),
    ("IfcWasteTerminal", "WASTETRAP", "T", Role.TRAP, "p-trap"),
    ("IfcWasteTerminal", "WASTETRAP", "Drum trap", Role.TRAP, "drum-trap"),
    ("IfcWasteTerminal", "WASTEDISPOSALUNIT", "x", Role.FIXTURE, "disposer"),
    ("IfcStackTerminal", "COWL", "VTR", Role.VENT_TERMINAL, "vent-through-roof"),
    (
        "IfcStackTerminal",
        "NOTDEFINED",
        "Air admittance valve",
        Role.VENT_TERMINAL,
        "air-admittance-valve",
    ),
    ("IfcValve", "NOTDEFINED", "AAV 2 in", Role.VENT_TERMINAL, "air-admittance-valve"),
    ("IfcStackTerminal", "COWL", "Flue cap", Role.VENT_TERMINAL, "vent-through-roof"),
    ("IfcValve", "PRESSURERELIEF", "T&P", Role.VALVE, "relief"),
    ("IfcValve", "CHECK", "Backwater valve", Role.VALVE, "backwater"),
    ("IfcValve", "NOTDEFINED", "Water hammer arrester", Role.VALVE, "hammer-arrester"),
    ("IfcPipeFitting", "JUNCTION", "Sanitary tee", Role.FITTING, "sanitary-tee"),
    ("IfcPipeFitting", "JUNCTION", "Double sanitary tee", Role.FITTING, "double-sanitary-tee"),
    ("IfcPipeFitting", "BEND", "Long Sweep 1/4 Bend 3 in", Role.FITTING, "long-sweep"),
    ("IfcPipeFitting", "BEND", "1/4 bend, long sweep", Role.FITTING, "long-sweep"),
    ("IfcPipeFitting", "BEND", "90 degree elbow - long radius 90", Role.FITTING, "long-sweep"),
    ("IfcPipeFitting", "BEND", "Short sweep quarter bend", Role.FITTING, "short-sweep"),
    ("IfcPipeFitting", "BEND", "1/4 Bend 3 in", Role.FITTING, "quarter-bend"),
    ("IfcPipeFitting", "BEND", "Closet 1/4 bend", Role.FITTING, "closet-bend"),
    (
        "IfcPipeFitting",
        "JUNCTION",
        "Double Fixture Fitting 2x1-1/2 in",
        Role.FITTING,
        "double-fixture-fitting",
    ),
    ("IfcPipeFitting", "JUNCTION", "Combo wye", Role.FITTING, "combination"),
    ("IfcPipeFitting", "JUNCTION", "Combination wye and eighth bend", Role.FITTING, "combination"),
    ("IfcPipeFitting", "JUNCTION", "Wye", Role.FITTING, "wye"),
    ("IfcPipeFitting", "JUNCTION", "J-7", Role.FITTING, ""),
    ("IfcPipeFitting", "JUNCTION", "Gas manifold 1-1/4 in", Role.FITTING, "manifold"),
    ("IfcPipeFitting", "BEND", "Long sweep quarter bend", Role.FITTING, "long-sweep"),
    ("IfcPipeFitting", "BEND", "Elbow 45", Role.FITTING, "eighth-bend"),
    ("IfcPipeFitting", "BEND", "Closet bend", Role.FITTING, "closet-bend"),
    ("IfcPipeFitting", "TRANSITION", "Reducer", Role.FITTING, "reducer"),
    ("IfcPipeFitting", "CONNECTOR", "Closet flange", Role.FITTING, "closet-flange"),
    ("IfcPipeFitting", "CONNECTOR", "Coupling", Role.FITTING, "coupling"),
    ("IfcPipeFitting", "NOTDEFINED", "Cleanout", Role.CLEANOUT, "cleanout"),
    ("IfcPipeFitting", "NOTDEFINED", "Two-way cleanout", Role.CLEANOUT, "two-way"),
    ("IfcPipeFitting", "NOTDEFINED", "P-trap", Role.TRAP, "p-trap"),
    ("IfcFlowMeter", "GASMETER", "M", Role.METER, "gas"),
    ("IfcTank", "NOTDEFINED", "Expansion tank", Role.TANK, "expansion"),
    ("IfcBoiler", "WATER", "Gas storage water heater", Role.HEATER, "storage"),
    ("IfcBoiler", "WATER", "Tankless water heater", Role.HEATER, "tankless"),
    ("IfcBoiler", "STEAM", "Steam Boiler 15 psi, 300,000 Btu/h", Role.HEATER, "boiler"),
    ("IfcBoiler", "STEAM", "B-1", Role.HEATER, "boiler"),
    ("IfcValve", "FAUCET", "FPHB w/ VB", Role.FIXTURE, "hose-bibb"),
    ("IfcElectricAppliance", "WASHINGMACHINE", "W", Role.APPLIANCE, "clothes-washer-appliance"),
    ("IfcElectricAppliance", "NOTDEFINED", "Gas range", Role.APPLIANCE, "range"),
]


@pytest.mark.parametrize("schema", SCHEMAS)
@pytest.mark.parametrize(("ifc_class", "literal", "name", "role", "kind"), CASES)
def test_role_and_kind(tmp_path, schema, ifc_class, literal, name, role, kind):
    element, model = read_one(
        tmp_path, schema, ifc_class, name, predefined=literal, type_name="Type"
    )
    assert (element.role, element.kind) == (role, kind)
    assert [n.topic for n in model.notes] == []


def test_a_name_does_not_override_an_enumeration_but_is_noted(tmp_path):
    element, model = read_one(
        tmp_path, "IFC4", "IfcSanitaryTerminal", "Water closet 1", predefined="SINK"
    )
    assert element.kind == "sink"
    assert [n.topic for n in model.notes] == ["role"]
    assert "water-closet" in model.notes[0].what
    assert model.notes[0].guid == element.guid


def test_accessories_are_no_fixtures(tmp_path):
    element, model = read_one(tmp_path, "IFC4", "IfcSanitaryTerminal", "Grab bar 36 in")
    assert (element.role, element.kind) == (Role.OTHER, "accessory")
    assert "counts as no fixture" in model.notes[0].what


@pytest.mark.parametrize(
    ("ifc_class", "name"),
    [("IfcElectricAppliance", "Television"), ("IfcBuildingElementProxy", "Cupboard"),
     ("IfcDuctSegment", "Duct"), ("IfcLightFixture", "Lamp"), ("IfcCableSegment", "Cable")],
)  # fmt: skip
def test_what_is_no_plumbing_is_left_out(tmp_path, ifc_class, name):
    element, model = read_one(tmp_path, "IFC4", ifc_class, name)
    assert element is None
    assert model.notes == []


def test_a_proxy_with_a_plumbing_name_is_read(tmp_path):
    element, _ = read_one(tmp_path, "IFC4", "IfcBuildingElementProxy", "Floor cleanout 4 in")
    assert (element.role, element.size_in) == (Role.CLEANOUT, 4)


PIECES = [  # as those name them who draw a family of pipework without classes for it
    ('3" Wye DWV', Role.FITTING, "wye"),
    ('2" Long Sweep 90 Elbow DWV', Role.FITTING, "long-sweep"),
    ('2" Combination Wye and 45 DWV', Role.FITTING, "combination"),
    ('3/4" 90 Elbow Black Malleable', Role.FITTING, "quarter-bend"),
    ("DN50 Bogen 45°", Role.FITTING, "eighth-bend"),
    ('1/2" Angle Stop Valve', Role.VALVE, "isolating"),
    ('1/2" Washing Machine Valve', Role.VALVE, "isolating"),
    ('3/4" Irrigation Zone Valve', Role.VALVE, ""),
    ('3/4" Temperature and Pressure Relief Valve 150 psi 210 F', Role.VALVE, "relief"),
    ('3/4" Reduced Pressure Backflow Preventer ASSE 1013', Role.VALVE, "backflow-preventer"),
    ('2" P-Trap DWV', Role.TRAP, "p-trap"),
    ('2" Cleanout Plug', Role.CLEANOUT, "cleanout"),
    ('1/2" Hose Bibb with integral vacuum breaker', Role.FIXTURE, "hose-bibb"),
]


@pytest.mark.parametrize("ifc_class", ["IfcBuildingElementProxy", "IfcPipeSegment"])
@pytest.mark.parametrize(("name", "role", "kind"), PIECES)
def test_a_proxy_or_segment_is_the_piece_that_its_name_ends_with(
    tmp_path, ifc_class, name, role, kind
):
    element, _ = read_one(tmp_path, "IFC4", ifc_class, name)
    assert (element.role, element.kind) == (role, kind)


@pytest.mark.parametrize(
    "name",
    ["2 in trap arm", "2 in cleanout riser", "3/4 in ball valve stem", "3 in vent stack",
     "2 in PVC DWV pipe", "3 in tee to stack", "Wye", "Elbow lamp", "2 in elbow and pipe"],
)  # fmt: skip
def test_a_segment_that_is_called_after_what_it_leads_to_is_a_pipe(tmp_path, name):
    element, _ = read_one(tmp_path, "IFC4", "IfcPipeSegment", name)
    assert element.role is Role.PIPE


@pytest.mark.parametrize(
    ("name", "role"),
    [
        ("2 in vent, WC-1", Role.PIPE),  # not the closet that it serves
        ("4 in building drain, closet WC-1 down", Role.PIPE),
        ("2 in shower branch, SH-1 to S-3", Role.PIPE),
        ("1-1/4 in trap arm, L-2", Role.PIPE),
        ("1/2 in cold branch to HB-2, through wall", Role.PIPE),
        ("2 in vent header south", Role.PIPE),
        ("2 in floor drain", Role.FIXTURE),
        ("3 in water closet", Role.FIXTURE),
        ("Closet branch of the tree", None),
    ],
)
def test_a_proxy_that_begins_with_a_size_and_names_a_run_is_pipe(tmp_path, name, role):
    element, _ = read_one(tmp_path, "IFC4", "IfcBuildingElementProxy", name)
    assert (element.role if element else None) is role


def test_a_proxy_that_tells_a_size_of_pipe_and_is_not_understood_is_noted(tmp_path):
    m = SmallModel()
    for name in ('3/4" flux capacitor', '3/4" flux capacitor', "Desk", '3" wye'):
        m.element("IfcBuildingElementProxy", name)
    model = read(m.write(tmp_path))
    (note,) = [n.what for n in model.notes if "IfcBuildingElementProxy" in n.what]
    assert "is told by 1 name of IfcBuildingElementProxy" in note
    assert '"3/4" flux capacitor"' in note


@pytest.mark.parametrize("name", ["Elbow lamp", "Wye", "Valve stem 3/4 in", "Table tee"])
def test_a_proxy_that_is_called_like_a_fitting_without_a_size_of_pipe_is_not_read(tmp_path, name):
    element, _ = read_one(tmp_path, "IFC4", "IfcBuildingElementProxy", name)
    assert element is None


@pytest.mark.parametrize(
    ("ifc_class", "name", "role", "kind"),
    [
        ("IfcSanitaryTerminal", "Bathtub with shower head", Role.FIXTURE, "bathtub"),
        ("IfcPipeFitting", "Wye with cleanout 4 in", Role.FITTING, "wye"),
        ("IfcPipeFitting", "Quarter bend with side inlet", Role.FITTING, "side-inlet-bend"),
        ("IfcPipeFitting", "Abzweig 45 mit Bogen 45", Role.FITTING, "combination"),
        ("IfcPipeFitting", "Part with cleanout", Role.CLEANOUT, "cleanout"),
        ("IfcFilter", "Grease interceptor with flow control", Role.INTERCEPTOR, "grease"),
        ("IfcPipeSegment", "Gas pipe 1 in with tracer wire", Role.PIPE, ""),
        ("IfcPipeSegment", "Copper pipe 2 in in sleeve", Role.PIPE, ""),
    ],
)
def test_what_comes_with_it_is_not_what_it_is(tmp_path, ifc_class, name, role, kind):
    element, _ = read_one(tmp_path, "IFC4", ifc_class, name)
    assert (element.role, element.kind) == (role, kind)


@pytest.mark.parametrize(
    ("name", "role"),
    [
        ("Tracer wire AWG 18 yellow beside PE gas pipe", Role.OTHER),
        ("Locating tape over gas pipe", Role.OTHER),
        ("Pipe hanger 2 in", Role.OTHER),
        ("Pipe sleeve 4 in", Role.OTHER),
        ("PE gas pipe with tracer wire", Role.PIPE),
        ("Copper pipe 2 in, in sleeve", Role.PIPE),
    ],
)
def test_what_lies_along_a_pipe_is_no_pipe(tmp_path, name, role):
    """A segment of which the class tells no more."""
    m = SmallModel("IFC2X3")
    m.contain(m.root("IfcFlowSegment", name), m.storey)
    (element,) = read(m.write(tmp_path)).elements
    assert element.role is role


def test_the_type_description_may_tell_more_than_the_name(tmp_path):
    m = SmallModel()
    basin = m.element("IfcSanitaryTerminal", "Sink type B")
    kind = m.type_of(basin, "IfcSanitaryTerminalType", "Sink type B", None)
    kind.Description = "Lavatory, oval"
    (element,) = read(m.write(tmp_path)).elements
    assert element.kind == "lavatory"
    assert element.basis["kind"].words == "words of the type description"


def test_trap_type_property(tmp_path):
    m = SmallModel()
    trap = m.element("IfcWasteTerminal", "T-1", predefined="WASTETRAP")
    m.properties(trap, "Pset_WasteTerminalTypeWasteTrap", WasteTrapType=("IfcLabel", "S_TRAP"))
    (element,) = read(m.write(tmp_path)).elements
    assert element.kind == "s-trap"


def test_a_job_file_can_add_words_of_its_own(tmp_path):
    m = SmallModel()
    m.element("IfcSanitaryTerminal", "Quxbak 12")
    path = m.write(tmp_path)
    extra = {"element": [{"role": "fixture", "kind": "mop-sink", "words": ["quxbak"]}]}
    assert read(path).elements[0].kind == ""
    assert read(path, vocabulary_extra=extra).elements[0].kind == "mop-sink"


def test_an_unusable_vocabulary_is_one_clear_sentence(tmp_path):
    path = SmallModel().write(tmp_path)
    with pytest.raises(InputError, match="in the job file"):
        read(path, vocabulary_extra={"element": [{"role": "bathysphere", "words": ["x"]}]})


@pytest.mark.parametrize("schema", SCHEMAS)
def test_the_angle_of_a_bend_comes_from_the_pipes_it_joins(tmp_path, schema):
    m = SmallModel(schema)
    a = m.pipe((0, 0, 0), (1, 0, 0), name="A", type_name="Pipe")
    b = m.pipe((1.1, 0.1, 0), (1.1, 1, 0), name="B", type_name="Pipe")
    c = m.pipe((2, 2, 0), (3, 3, 0), name="C", type_name="Pipe")
    turn = m.element("IfcPipeFitting", "Elbow", predefined="BEND", at=m.placement((1.1, 0, 0)))
    pa, pb = m.ports(a, (0, 0, 0), (1, 0, 0)), m.ports(b, (1.1, 0.1, 0), (1.1, 1, 0))
    pt = m.ports(turn, (1, 0, 0), (1.1, 0.1, 0))
    half = m.element("IfcPipeFitting", "Elbow", predefined="BEND", at=m.placement((1.1, 1.1, 0)))
    pc = m.ports(c, (2, 2, 0), (3, 3, 0))
    ph = m.ports(half, (1.1, 1, 0), (2, 2, 0))
    for one, other in ((pa[1], pt[0]), (pt[1], pb[0]), (pb[1], ph[0]), (ph[1], pc[0])):
        m.connect(one, other)
    kinds = [e.kind for e in read(m.write(tmp_path)).elements if e.role is Role.FITTING]
    assert kinds == ["quarter-bend", "eighth-bend"]


SYSTEMS = [
    ("Sanitary 1", System.SANITARY),
    ("Sanitary Vent", System.VENT),
    ("Storm drain", System.STORM),
    ("Pumped Discharge", System.SANITARY),
    ("Sewage Force Main", System.SANITARY),
    ("Storm Force Main", System.STORM),
    ("Domestic Cold Water", System.COLD_WATER),
    ("DHW", System.HOT_WATER),
    ("Hot water return", System.HOT_WATER_RETURN),
    ("Natural gas", System.GAS),
    ("Condensate drain", System.CONDENSATE),
    ("T&P relief discharge", System.RELIEF),
    ("Abwasser", System.SANITARY),
    ("Eau froide", System.COLD_WATER),
    ("Agua caliente", System.HOT_WATER),
    ("HWA Hemelwater", System.STORM),
    ("Heating supply", System.HEATING),
    ("Sprinkler", System.FIRE),
]


@pytest.mark.parametrize("schema", SCHEMAS)
@pytest.mark.parametrize(("name", "system"), SYSTEMS)
def test_system_by_the_name_of_its_group(tmp_path, schema, name, system):
    m = SmallModel(schema)
    pipe = m.pipe((0, 0, 0), (1, 0, 0), name="P", type_name="T")
    m.system(name, [pipe], "NOTDEFINED")
    (element,) = read(m.write(tmp_path)).elements
    assert element.system is system
    assert element.system_name == name
    assert f'"{name}"' in element.basis["system"].words


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        ({"role": "fixture", "kind": "lavatori", "words": ["basin x"]}, '"lavatori".*lavatory'),
        ({"role": "fixtur", "words": ["basin x"]}, '"fixtur".*fixture'),
        ({"role": "fixture", "kind": "lavatory", "words": []}, "needs words"),
        ({"role": "fixture", "kind": "lavatory", "words": "basin"}, "needs words"),
        ({"role": "fixture", "kind": "lavatory", "words": ["--"]}, "needs words"),
        ({"words": ["basin"]}, "needs a role"),
    ],
)
def test_an_entry_of_a_job_file_that_means_nothing_is_refused(tmp_path, entry, told):
    m = SmallModel()
    m.pipe((0, 0, 0), (1, 0, 0))
    good = {"role": "fixture", "kind": "lavatory", "words": ["waschtrog"]}
    with pytest.raises(InputError, match=f"Entry 2 of .*{told}"):
        read(m.write(tmp_path), vocabulary_extra={"element": [good, entry]})


@pytest.mark.parametrize("type_class", ["IfcTypeProduct", "IfcDistributionElementType"])
def test_a_type_of_anything_hides_no_element(tmp_path, type_class):
    m = SmallModel("IFC2X3")
    for name in ("Wall-hung lavatory", "Thing"):
        element = m.root("IfcFlowTerminal", name, ObjectPlacement=m.placement((0, 0, 0)))
        m.contain(element, m.storey)
        kind = m.root(type_class, name)
        m.root("IfcRelDefinesByType", RelatedObjects=[element], RelatingType=kind)
    model = read(m.write(tmp_path))
    assert [(e.name, e.kind) for e in model.elements] == [("Wall-hung lavatory", "lavatory")]
    (note,) = model.notes
    assert note.what.startswith("1 of class IfcFlowTerminal have neither a type nor a name")


@pytest.mark.parametrize(
    ("schema", "ifc_class", "literal", "name", "kinds"),
    [
        ("IFC4", "IfcFlowInstrument", "THERMOMETER", "T-1", ["thermometer"]),
        ("IFC4", "IfcFlowInstrument", None, "Manometer", ["pressure-gauge"]),
        ("IFC4", "IfcSensor", "TEMPERATURESENSOR", "T-2", ["temperature-sensor"]),
        ("IFC4", "IfcSensor", "SMOKESENSOR", "Smoke detector", []),
        ("IFC2X3", "IfcFlowInstrument", "THERMOMETER", "T-1", ["thermometer"]),
        ("IFC4", "IfcValve", None, "Thermometer", [""]),  # words do not make a valve one
    ],
)
def test_instruments_are_read(tmp_path, schema, ifc_class, literal, name, kinds):
    m = SmallModel(schema, "METRE")
    if schema == "IFC2X3":
        entity = m.root("IfcDistributionControlElement", name)
        m.type_of(entity, ifc_class + "Type", name, literal)
        m.contain(entity, m.storey)
    else:
        m.element(ifc_class, name, predefined=literal)
    assert [e.kind for e in read(m.write(tmp_path)).elements] == kinds


@pytest.mark.parametrize(
    ("name", "role", "kind"),
    [
        ("Dishwasher stop", Role.VALVE, "isolating"), ("Toilet stop", Role.VALVE, "isolating"),
        ("Washer box valve", Role.VALVE, None), ("Boiler fill valve", Role.VALVE, None),
        ("Ice maker box valve", Role.FIXTURE, "ice-maker"),
        ("Hose bibb", Role.FIXTURE, "hose-bibb"),
    ],
)  # fmt: skip
def test_a_flow_controller_named_for_what_it_serves_is_its_valve(tmp_path, name, role, kind):
    m = SmallModel("IFC2X3")
    m.contain(m.root("IfcFlowController", name), m.storey)
    (element,) = read(m.write(tmp_path)).elements
    assert element.role is role
    assert kind is None or element.kind == kind


@pytest.mark.parametrize(
    ("own", "called"),
    [(None, "Clothes washer outlet box"), ("Washer box with arresters",) * 2],
)
def test_what_the_type_says_it_is_counts_where_the_element_says_nothing(tmp_path, own, called):
    m = SmallModel("IFC4")
    box = m.element("IfcFlowTerminal", "Vaskemaskintilkobling:700961", object_type=own)
    kind = m.type_of(box, "IfcSanitaryTerminalType", "Vaskemaskintilkobling", "USERDEFINED")
    kind.ElementType = "Clothes washer outlet box"
    (element,) = read(m.write(tmp_path)).elements
    assert (element.role, element.kind) == (Role.FIXTURE, "clothes-washer")
    assert element.object_type == called
    assert called in element.called


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("Line regulator 2 psi to 7 in wc with vent limiter", "pressure-reducing"),
        ("Boiler fill valve 15 psi", ""), ("Tub spout diverter", ""), ("Solenoid valve", ""),
        ("Plug valve", "isolating"), ("Plug valve 3/4 in", "isolating"),
        ("Ice maker valve", "isolating"), ("Toilet supply stop", "isolating"),
        ("Circuit setter", "regulating"), ("Double detector check", "backflow-preventer"),
    ],
)  # fmt: skip
def test_a_flow_controller_is_a_valve_whatever_else_its_name_tells(tmp_path, name, kind):
    for schema in SCHEMAS:
        m = SmallModel(schema)
        m.contain(m.root("IfcFlowController", name), m.storey)
        (element,) = read(m.write(tmp_path)).elements
        assert (element.role, element.kind) == (Role.VALVE, kind)


@pytest.mark.parametrize(
    ("ifc_class", "name", "role"),
    [
        ("IfcFlowController", "V-101", Role.VALVE),
        ("IfcFlowController", "Flow switch", Role.VALVE),
        ("IfcFlowFitting", "M_Part_4711", Role.FITTING),
        ("IfcFlowFitting", "Pipe penetration", Role.FITTING),
        ("IfcFlowSegment", "Xylophone", Role.PIPE),
    ],
)
def test_in_a_system_of_pipe_a_supertype_tells_the_role(tmp_path, ifc_class, name, role):
    m = SmallModel("IFC2X3")
    made = m.root(ifc_class, name)
    m.contain(made, m.storey)
    m.system("Domestic cold water", [made])
    assert [e.role for e in read(m.write(tmp_path)).elements] == [role]


@pytest.mark.parametrize("name", ["V-101", "Light switch", "Xylophone"])
def test_outside_of_them_it_tells_nothing(tmp_path, name):
    m = SmallModel("IFC2X3")
    m.contain(m.root("IfcFlowController", name), m.storey)
    assert not read(m.write(tmp_path)).elements


@pytest.mark.parametrize(
    ("name", "kind"), [("Furnace 7 in wc", "furnace"), ("WC 2", "water-closet")]
)
def test_a_pressure_of_gas_is_no_water_closet(tmp_path, name, kind):
    m = SmallModel("IFC2X3")
    m.contain(m.root("IfcFlowTerminal", name), m.storey)
    assert [e.kind for e in read(m.write(tmp_path)).elements] == [kind]


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("2 psi line regulator w/ vent limiter", "pressure-reducing"),
        ("Line pressure regulator", "pressure-reducing"),
        ("Appliance regulator", "pressure-reducing"),
        ("Gasdruckregler", "pressure-reducing"),
        ("Regulator vent limiter", ""),
        ("Flow regulator", ""),
        ("Barometric draft regulator", ""),
        ("Maxitrol 325-5A", ""),
        ("Valve before the regulator", ""),
    ],
)
def test_a_valve_named_a_regulator_regulates_pressure(tmp_path, name, kind):
    m = SmallModel()
    m.element("IfcValve", name)
    (found,) = read(m.write(tmp_path)).elements
    assert (found.role, found.kind) == (Role.VALVE, kind)


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("Toilet Paper Holder", None), ("Grab Bar at Water Closet 42 in", None),
        ("Shower Niche 12x12", None), ("Dishwasher End Panel 24", None),
        ("Floor Drain Grate Cover", None), ("Concrete Pad for Water Heater", None),
        ("Sump Pit Cover", None), ("Washing Machine Drip Tray", None), ("Urinal Screen", None),
        ("Furnace Stand 18 in", "platform"), ("Steel Bollard at Water Heater", "barrier"),
        ("Seismic Strap for Water Heater", "strap"),
        ("Lavatory Pedestal", "lavatory"), ("Shower Enclosure", "shower"),
        ("Shower Tray 36 in", "shower"), ("Water Closet for ADA", "water-closet"),
        ("Floor Drain w/ cover", "floor-drain"),
        ("Dishwasher, panel ready", "dishwasher-appliance"),
        ("Standpipe for clothes washer", "clothes-washer"), ("Kitchen Sink 33 in", "kitchen-sink"),
    ],
)  # fmt: skip
def test_what_is_named_after_a_fixture_is_none(tmp_path, name, kind):
    element, _ = read_one(tmp_path, "IFC4", "IfcBuildingElementProxy", name)
    assert (element and element.kind) == kind
