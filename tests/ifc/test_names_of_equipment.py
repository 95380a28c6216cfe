"""Equipment is read by its name, of whatever class, and what only sounds like it is not."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Role
from tests.ifc.small_models import SmallModel


def read_one(tmp_path, ifc_class, name, predefined=None):
    m = SmallModel()
    m.element(ifc_class, name, predefined=predefined)
    return next(iter(read(m.write(tmp_path)).elements), None)


@pytest.mark.parametrize("ifc_class", ["IfcBuildingElementProxy", "IfcFlowTerminal", "IfcBurner"])
@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("Gas range 65,000 Btu/h", "range"), ("Range-Gas:6 burner", "range"),
        ("Gas fryer 110,000 Btu/h", "cooking"), ("Gas-Fritteuse", "cooking"),
        ("Dishwasher:Standard", "dishwasher-appliance"), ("Clothes dryer", "dryer"),
        ("Pool heater", "pool-heater"), ("Unit heater gas 75 MBH", "unit-heater"),
        ("Direct vent room heater, propane, 30,000 Btu/h", "unit-heater"),
        ("Laboratory gas turret, Bunsen burner 5000 Btu/h", "laboratory-outlet"),
        ("Bunsenbrenner", "laboratory-burner"), ("Lab burner", "laboratory-burner"),
    ],
)  # fmt: skip
def test_appliances(tmp_path, ifc_class, name, kind):
    found = read_one(tmp_path, ifc_class, name)
    assert (found.role, found.kind) == (Role.APPLIANCE, kind)


@pytest.mark.parametrize(
    ("ifc_class", "predefined", "name", "kind"),
    [
        ("IfcFilter", "WATERFILTER", "Sediment filter", "water-filter"),
        ("IfcFilter", "WATERFILTER", "F-1", "water-filter"),
        ("IfcFilter", None, "Carbon filter", "water-filter"),
        ("IfcFilter", "WATERFILTER", "Water softener", "water-softener"),
        ("IfcFlowTreatmentDevice", None, "Water softener 48k", "water-softener"),
        ("IfcTank", "PRESSUREVESSEL", "Water Softener", "water-softener"),
        ("IfcBuildingElementProxy", None, "Adoucisseur", "water-softener"),
    ],
)
def test_treatment_of_water(tmp_path, ifc_class, predefined, name, kind):
    found = read_one(tmp_path, ifc_class, name, predefined)
    assert (found.role, found.kind) == (Role.APPLIANCE, kind)


@pytest.mark.parametrize(
    ("ifc_class", "predefined", "name", "role", "kind"),
    [
        ("IfcFilter", None, "Condensate neutralizer CN-1", "fitting", "condensate-neutralizer"),
        ("IfcTank", None, "Condensate neutralizing kit", "fitting", "condensate-neutralizer"),
        ("IfcTank", None, "Acid neutralization tank", "interceptor", "neutralizer"),
        ("IfcElectricGenerator", "ENGINEGENERATOR", "GEN-1", "appliance", "generator"),
        ("IfcUnitaryEquipment", None, "Standby generator", "appliance", "generator"),
        ("IfcUnitaryEquipment", None, "Water heater electric 50 gal", "water heater", "storage"),
        ("IfcUnitaryEquipment", "AIRHANDLER", "Tankless water heater", "water heater", "tankless"),
        ("IfcUnitaryEquipment", None, "Fan coil, hot water", "appliance", "air-conditioner"),
        ("IfcUnitaryEquipment", "AIRHANDLER", "AC-3", "appliance", "air-conditioner"),
        ("IfcEvaporator", None, "Walk-in cooler evaporator", "appliance", "air-conditioner"),
        ("IfcEvaporativeCooler", None, "Walk-in cooler", "appliance", "cooling-tower"),
        ("IfcUnitaryEquipment", None, "Solar heating loop, glycol", "appliance", ""),
        ("IfcUnitaryEquipment", None, "Dental chair unit", "fixture", "dental-unit"),
        ("IfcUnitaryEquipment", None, "Evaporative cooler", "appliance", "cooling-tower"),
        ("IfcUnitaryEquipment", None, "Irrigation with fertilizer", "appliance", "irrigation"),
        ("IfcSpaceHeater", None, "Gas water heater", "water heater", "storage"),
        ("IfcElectricAppliance", "REFRIGERATOR", "Ice machine", "fixture", "ice-maker"),
        ("IfcElectricAppliance", "REFRIGERATOR", "Reach-in RI-1", "appliance", "refrigerator"),
        ("IfcElectricAppliance", "FRIDGE_FREEZER", "Refrigerator", "appliance", "refrigerator"),
        (
            "IfcElectricAppliance",
            "REFRIGERATOR",
            "Refrigerator with ice maker",
            "appliance",
            "refrigerator",
        ),
    ],
)
def test_what_stands_in_lines(tmp_path, ifc_class, predefined, name, role, kind):
    found = read_one(tmp_path, ifc_class, name, predefined)
    assert (found.role.value, found.kind) == (role, kind)


def test_a_filter_of_air_is_no_plumbing(tmp_path):
    found = read_one(tmp_path, "IfcFilter", "Air filter", "AIRPARTICLEFILTER")
    assert found is None or found.role is Role.OTHER


@pytest.mark.parametrize("name", ["Range hood", "Kitchen hood", "Dryer vent", "Dryer box"])
@pytest.mark.parametrize("ifc_class", ["IfcBuildingElementProxy", "IfcElectricAppliance"])
def test_what_moves_air_is_no_appliance(tmp_path, ifc_class, name):
    assert read_one(tmp_path, ifc_class, name).role is Role.OTHER


@pytest.mark.parametrize(
    ("literal", "name", "kind"),
    [
        ("SAFETYCUTOFF", "Temperature and Pressure Relief Valve", "relief"),
        ("ANTIVACUUM", "Reduced Pressure Backflow Preventer 1-1/4 in", "backflow-preventer"),
        ("ANTIVACUUM", "Vacuum breaker", "vacuum-breaker"),
        ("SAFETYCUTOFF", "Valve", "isolating"),
        ("GASTAP", "Gas service shutoff valve 1 in", "gas-shutoff"),
    ],
)
def test_a_plain_name_outweighs_the_enumeration_of_a_valve(tmp_path, literal, name, kind):
    m = SmallModel()
    m.element("IfcValve", name, predefined=literal)
    model = read(m.write(tmp_path))
    assert [e.kind for e in model.elements] == [kind]
    assert not [note for note in model.notes if note.topic == "role"]


@pytest.mark.parametrize(
    ("ifc_class", "name", "role", "kind"),
    [
        ("IfcPipeFitting", "Water hammer arrester 1/2 in", Role.VALVE, "hammer-arrester"),
        ("IfcPipeFitting", "End cap", Role.FITTING, "cap"),
    ],
)
def test_an_obstruction_by_its_name(tmp_path, ifc_class, name, role, kind):
    found = read_one(tmp_path, ifc_class, name, "OBSTRUCTION")
    assert (found.role, found.kind) == (role, kind)


@pytest.mark.parametrize(
    ("name", "energy"),
    [
        ("Heat pump water heater 50 gal 240 V", "electric"), ("Gas water heater 240 V", "gas"),
        ("Warmwasserspeicher elektrisch", "electric"), ("Water heater 120 V", None),
        ("Calentador de agua eléctrico", "electric"), ("Water heater 40 gal", None),
    ],
)  # fmt: skip
def test_what_a_heater_runs_on(tmp_path, name, energy):
    assert read_one(tmp_path, "IfcBoiler", name, "WATER").properties.get("energy") == energy


@pytest.mark.parametrize(
    ("name", "m3"),
    [
        ("Expansion tank 2 gal", 0.00757),
        ("Expansion tank 18 L", 0.018),
        ("Propane tank 1,000 gal", 3.785),
        ("Propane tank,500 US gal", 1.893),
        ("Speicher 1,5 L", None),  # a comma for a point, and not 5 litres
    ],
)
def test_the_volume_of_a_tank_in_its_name(tmp_path, name, m3):
    found = read_one(tmp_path, "IfcTank", name, "EXPANSION")
    expected = m3 if m3 is None else pytest.approx(m3, rel=1e-2)
    assert found.properties.number("storage_volume_m3") == expected


@pytest.mark.parametrize(
    ("ifc_class", "name", "kind"),
    [
        ("IfcFlowTerminal", "Sink-Mop:24 x 24", "mop-sink"),
        ("IfcFlowTerminal", "Service sink", "mop-sink"),
        ("IfcFlowTerminal", "Clinical service sink, flushing rim", "clinical-sink"),
        ("IfcFlowTerminal", "Bedpan hopper", "clinical-sink"),
        ("IfcFlowTerminal", "Sink-Kitchen:Double", "kitchen-sink"),
        ("IfcFlowTerminal", "Drain-Floor:2 in", "floor-drain"),
        ("IfcFlowController", "Valve-Check:1 in", "check"),
        ("IfcFlowController", "Valve, Ball", "isolating"),
        ("IfcFlowTerminal", "Sink-Vanity", "lavatory"),
    ],
)
def test_a_noun_before_its_qualifier(tmp_path, ifc_class, name, kind):
    m = SmallModel("IFC2X3")
    m.root(ifc_class, name)
    assert [e.kind for e in read(m.write(tmp_path)).elements] == [kind]


@pytest.mark.parametrize("ifc_class", ["IfcBuildingElementProxy", "IfcFlowTerminal"])
@pytest.mark.parametrize(
    "name",
    ["Irrigation pop-up sprinkler head", "Rotor head 4 in", "Drip emitter", "Tree bubbler",
     "Pop-up spray head", "Versenkregner"],
)  # fmt: skip
def test_heads_of_irrigation(tmp_path, ifc_class, name):
    assert read_one(tmp_path, ifc_class, name).kind == "irrigation"


def test_a_zone_valve_of_irrigation_is_a_valve(tmp_path):
    assert read_one(tmp_path, "IfcValve", "Irrigation zone valve").role is Role.VALVE


@pytest.mark.parametrize(
    ("ifc_class", "predefined", "name", "role", "kind"),
    [
        ("IfcHumidifier", None, "H-1", Role.APPLIANCE, "humidifier"),
        ("IfcSolarDevice", "SOLARCOLLECTOR", "SC-1", Role.OTHER, "solar-collector"),
        ("IfcEvaporativeCooler", None, "EC-1", Role.APPLIANCE, "cooling-tower"),
        ("IfcSanitaryTerminal", None, "Washdown hose reel", Role.FIXTURE, "hose-bibb"),
        ("IfcFireSuppressionTerminal", "HOSEREEL", "Hose reel", Role.OTHER, "fire-suppression"),
    ],
)
def test_what_takes_water_by_its_class_or_name(tmp_path, ifc_class, predefined, name, role, kind):
    found = read_one(tmp_path, ifc_class, name, predefined)
    assert (found.role, found.kind) == (role, kind)


def test_a_panel_of_solar_cells_is_no_plumbing(tmp_path):
    assert read_one(tmp_path, "IfcSolarDevice", "PV-1", "SOLARPANEL") is None


@pytest.mark.parametrize(
    ("ifc_class", "name", "role", "kind"),
    [
        ("IfcSanitaryTerminal", "Lavatory, faucet with valve ASSE 1070", "fixture", "lavatory"),
        ("IfcFlowTerminal", "Lavatory (faucet by owner)", "fixture", "lavatory"),
        ("IfcSanitaryTerminal", "Sink - faucet single hole", "fixture", "sink"),
        ("IfcSanitaryTerminal", "Lavatory faucet", "valve", "faucet"),
        ("IfcFlowTerminal", "Lavatory faucet, chrome", "valve", "faucet"),
        ("IfcValve", "Lavatory, faucet", "valve", "faucet"),
        ("IfcBuildingElementProxy", "Bathtub, pressure balanced valve", "fixture", "bathtub"),
        ("IfcBuildingElementProxy", "Pressure balanced valve, bathtub", "valve", "mixing"),
    ],
)  # fmt: skip
def test_a_fixture_is_said_before_its_faucet(tmp_path, ifc_class, name, role, kind):
    found = read_one(tmp_path, ifc_class, name)
    assert (found.role, found.kind) == (Role(role), kind)


@pytest.mark.parametrize(
    ("name", "role"),
    [
        ("Direct vent room heater, propane, 30,000 Btu/h", Role.APPLIANCE),
        ("Gas room heater, direct vent, 30,000 Btu/h", Role.APPLIANCE),
        ("Fin tube radiator", Role.OTHER),
        ("Convector C-3", Role.OTHER),
    ],
)
def test_space_heaters(tmp_path, name, role):
    assert read_one(tmp_path, "IfcSpaceHeater", name, "CONVECTOR").role is role


@pytest.mark.parametrize(
    ("ifc_class", "name", "role", "kind"),
    [
        ("IfcDiscreteAccessory", "Water heater drain pan, galvanized, 2 in deep", "fixture",
         "pan-drain"),
        ("IfcMember", "Bollard, steel pipe, concrete filled", "other", "barrier"),
        ("IfcColumn", "Steel pipe bollard 4 in", "other", "barrier"),
        ("IfcWasteTerminal", "Overflow scupper 12 in x 4 in", "other", "scupper"),
    ],
)  # fmt: skip
def test_what_other_trades_draw(tmp_path, ifc_class, name, role, kind):
    found = read_one(tmp_path, ifc_class, name)
    assert (found.role.value, found.kind) == (role, kind)


@pytest.mark.parametrize("ifc_class", ["IfcMember", "IfcColumn", "IfcDiscreteAccessory"])
def test_structure_is_no_plumbing(tmp_path, ifc_class):
    assert read_one(tmp_path, ifc_class, "W12x26 column at grid B-2") is None
