"""Facts for rule packs: flush volume, energy, input, capacity, pump flow."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from tests.ifc.small_models import SmallModel


def properties_of(tmp_path, m) -> dict:
    (element,) = read(m.write(tmp_path)).elements
    return element.properties


@pytest.mark.parametrize(
    ("text", "gallons"),
    [("Water closet 1.28 gpf", 1.28), ("WC - Flush Tank: 6.1 Lpf", 1.611), ("WC 4.8 LPF", 1.268)],
)
def test_flush_volume_in_a_name(tmp_path, text, gallons):
    m = SmallModel()
    m.element("IfcSanitaryTerminal", text, predefined="TOILETPAN")
    assert properties_of(tmp_path, m)["flush_volume_gal"] == pytest.approx(gallons, abs=1e-3)


@pytest.mark.parametrize(
    ("measure", "value", "gallons"),
    [("IfcVolumeMeasure", 0.006, 1.585), ("IfcLabel", "1.6 gpf", 1.6), ("IfcReal", 1.6, 1.6)],
)
def test_flush_volume_as_a_property(tmp_path, measure, value, gallons):
    m = SmallModel()
    closet = m.element("IfcSanitaryTerminal", "WC", predefined="TOILETPAN")
    m.property_set(closet, "Data", [m.single("Flush Volume", measure, value)])
    assert properties_of(tmp_path, m)["flush_volume_gal"] == pytest.approx(gallons, abs=1e-3)


@pytest.mark.parametrize(
    ("name", "kind"),
    [("WC flushometer valve", "flushometer-valve"), ("WC pressure assisted", "flushometer-tank"),
     ("WC, flush tank", "gravity-tank")],
)  # fmt: skip
def test_flush_type(tmp_path, name, kind):
    m = SmallModel()
    m.element("IfcSanitaryTerminal", name, predefined="TOILETPAN")
    assert properties_of(tmp_path, m)["flush_type"] == kind


@pytest.mark.parametrize(
    ("name", "literal", "takes_none"),
    [("Composting toilet self-contained", "TOILETPAN", True), ("Incinerating Toilet", "", True),
     ("Waterless urinal", "URINAL", True), ("Non-water urinal", "URINAL", True),
     ("Portable toilet", "TOILETPAN", True), ("Trockentoilette", "TOILETPAN", True),
     ("Urinal 0.125 gpf", "URINAL", False), ("Water closet, dry wall carrier", "TOILETPAN", False),
     ("Water closet", "TOILETPAN", False)],
)  # fmt: skip
def test_toilets_and_urinals_that_take_no_water(tmp_path, name, literal, takes_none):
    m = SmallModel()
    m.element("IfcSanitaryTerminal", name, predefined=literal or "TOILETPAN")
    assert properties_of(tmp_path, m).get("nonwater", False) is takes_none


def test_gas_heater(tmp_path):
    m = SmallModel()
    heater = m.element(
        "IfcBoiler", "Gas storage water heater 50 gal 40,000 Btu/h", predefined="WATER"
    )
    m.properties(heater, "Pset_BoilerTypeCommon", WaterStorageCapacity=("IfcVolumeMeasure", 0.2))
    found = properties_of(tmp_path, m)
    assert found["energy"] == "gas"
    assert found["input_rating_w"] == pytest.approx(11722.8, rel=1e-4)
    assert found["storage_volume_m3"] == pytest.approx(0.2)  # the property, not the name


@pytest.mark.parametrize(
    ("name", "measure", "value", "btu_h"),
    [
        ("Gas Input (Btu/h)", "IfcReal", 40000.0, 40000), ("Input MBH", "IfcReal", 100.0, 100000),
        ("Gas Input [BTUH]", "IfcInteger", 40000, 40000), ("Input_kW", "IfcReal", 11.72284, 40000),
        ("Input Rating (Btu/hr)", "IfcLabel", "40,000", 40000),
        ("Gas Consumption", "IfcLabel", "65,000 Btu/h", 65000),
        ("Gas Consumption (MBH)", "IfcReal", 65.0, 65000),
        ("Gas Consumption", "IfcReal", 1.2, None),  # a volume of gas, it may be
        ("Gas Input", "IfcVolumetricFlowRateMeasure", 0.0003, None),
        ("Gas Input (Btu/h)", "IfcPowerMeasure", 11722.84, 40000),  # in the file's unit
    ],
)  # fmt: skip
def test_an_input_in_the_unit_that_its_property_names(tmp_path, name, measure, value, btu_h):
    m = SmallModel()
    heater = m.element("IfcBoiler", "Gas water heater", predefined="WATER")
    m.properties(heater, "Maker", **{name: (measure, value)})
    watts = properties_of(tmp_path, m).get("input_rating_w")
    assert watts == (btu_h and pytest.approx(btu_h * 0.29307107, rel=1e-5))


W_PER_BTU_PER_H = 0.29307107


@pytest.mark.parametrize(
    ("unit", "measure", "value", "most", "least"),
    [
        ("FOOT", "IfcReal", 40000.0, 40_000 * W_PER_BTU_PER_H, None),
        ("INCH", "IfcLabel", "40,000", 40_000 * W_PER_BTU_PER_H, None),
        ("FOOT", "IfcInteger", 5_000, 5_000 * W_PER_BTU_PER_H, None),
        ("FOOT", "IfcReal", 4_999.0, None, None),  # as Btu/h it heats nothing, as MBH a town
        ("FOOT", "IfcReal", 199.0, 199_000 * W_PER_BTU_PER_H, None),
        ("FOOT", "IfcReal", 4.9, None, None),
        ("FOOT", "IfcReal", 0.0, None, None),
        ("MILLIMETRE", "IfcReal", 40000.0, 40_000, 40_000 * W_PER_BTU_PER_H),
        ("METRE", "IfcText", "40000", 40_000, 40_000 * W_PER_BTU_PER_H),
        ("METRE", "IfcReal", 24.0, 24_000, 24_000 * W_PER_BTU_PER_H),
        ("METRE", "IfcReal", 4_000.0, 4_000, None),  # as Btu/h it heats nothing
    ],
)
def test_an_input_without_a_unit_is_in_what_makes_sense(
    tmp_path, unit, measure, value, most, least
):
    m = SmallModel("IFC4", unit)
    heater = m.element("IfcBoiler", "Gas water heater", predefined="WATER")
    m.properties(heater, "Maker", **{"Gas Input": (measure, value)})
    model = read(m.write(tmp_path))
    found = model.elements[0].properties
    for fact, watts in (("input_rating_w", most), ("least_input_rating_w", least)):
        assert found.get(fact) == (watts and pytest.approx(watts, rel=1e-5))
    told = [n.what for n in model.notes if n.topic == "power"]
    in_btu = most is not None and unit in ("FOOT", "INCH")
    assert told == (
        [
            "The input of Gas water heater is given as "
            f"{float(str(value).replace(',', '')):,.10g} without a unit; "
            f"{'MBH' if value == 199.0 else 'Btu/h'} were taken."
        ]
        if in_btu
        else []
    )


def test_an_electric_heater_takes_watts_or_kilowatts(tmp_path):
    for value, watts in ((4500.0, 4500), (4.5, 4500)):
        m = SmallModel("IFC4", "FOOT")
        heater = m.element("IfcBoiler", "Electric water heater", predefined="WATER")
        m.properties(heater, "Maker", Input=("IfcReal", value))
        assert properties_of(tmp_path, m)["input_rating_w"] == watts


def test_an_input_in_words_goes_before_a_number_without_a_unit(tmp_path):
    m = SmallModel("IFC4", "METRE")
    heater = m.element("IfcBoiler", "Gas water heater 40 MBH", predefined="WATER")
    m.properties(heater, "Maker", Input=("IfcReal", 40000.0))
    found = properties_of(tmp_path, m)
    assert found["input_rating_w"] == pytest.approx(40_000 * W_PER_BTU_PER_H)
    assert "least_input_rating_w" not in found


@pytest.mark.parametrize(("unit", "watts"), [("FOOT", 105_000 * W_PER_BTU_PER_H), ("METRE", None)])
def test_the_rating_of_a_relief_valve_without_a_unit(tmp_path, unit, watts):
    m = SmallModel("IFC4", unit)
    made = m.element("IfcValve", "Relief valve 150 psi", predefined="PRESSURERELIEF")
    m.properties(made, "Data", AGARating=("IfcReal", 105_000.0))
    assert properties_of(tmp_path, m).get("relief_capacity_w") == (
        watts and pytest.approx(watts, rel=1e-5)
    )


@pytest.mark.parametrize(
    ("name", "watts"),
    [
        ("Electric water heater 50 gal 4.5 kW", 4500.0), ("Elektroboiler electric 9kW", 9000.0),
        ("Gas water heater 30 kW", None), ("Electric water heater 12 kWh per day", None),
    ],
)  # fmt: skip
def test_an_electric_heater_takes_the_kilowatts_of_its_name(tmp_path, name, watts):
    m = SmallModel()
    m.element("IfcBoiler", name, predefined="WATER")
    assert properties_of(tmp_path, m).get("input_rating_w") == watts


@pytest.mark.parametrize(
    ("name", "measure", "value"),
    [("EHD", "IfcReal", 23.0), ("EHD", "IfcLabel", "23"), ("Flow Designation", "IfcInteger", 23)],
)
def test_the_flow_designation_of_corrugated_tubing(tmp_path, name, measure, value):
    m = SmallModel()
    pipe = m.pipe((0, 0, 0), (1, 0, 0), name="CSST gas pipe 3/4")
    m.properties(pipe, "Maker", **{name: (measure, value)})
    assert properties_of(tmp_path, m)["ehd"] == 23


def test_pump_flow_range_gives_its_upper_bound(tmp_path):
    m = SmallModel()
    pump = m.element("IfcPump", "Sump pump")
    low, high = (m.file.create_entity("IfcVolumetricFlowRateMeasure", q) for q in (0.001, 0.002))
    made = m.file.create_entity("IfcPropertyBoundedValue", "FlowRateRange", None, high, low)
    m.property_set(pump, "Pset_PumpTypeCommon", [made])
    assert properties_of(tmp_path, m)["flow_rate_m3s"] == pytest.approx(0.002)


def test_true_diameters_are_kept(tmp_path):
    m = SmallModel("IFC4", "MILLIMETRE")
    pipe = m.pipe((0, 0, 0), (1, 0, 0), name="P")
    m.properties(
        pipe, "Pset_PipeSegmentTypeCommon",
        OuterDiameter=("IfcPositiveLengthMeasure", 60.3),
        InnerDiameter=("IfcPositiveLengthMeasure", 52.5),
    )  # fmt: skip
    found = properties_of(tmp_path, m)
    assert found["outside_diameter_m"] == pytest.approx(0.0603)
    assert found["inside_diameter_m"] == pytest.approx(0.0525)


@pytest.mark.parametrize(
    ("literal", "name", "inside"),
    [("FLOORTRAP", "FD-1", True), ("GULLYTRAP", "FD-1", True), ("FLOORWASTE", "FD-1", None),
     ("FLOORWASTE", "Floor drain with P-trap 2 in", True),
     ("FLOORWASTE", "Floor drain with integral trap", True),
     ("FLOORWASTE", "Floor drain with trap primer", None)],
)  # fmt: skip
def test_a_trap_inside_a_floor_drain(tmp_path, literal, name, inside):
    m = SmallModel()
    m.element("IfcWasteTerminal", name, predefined=literal)
    assert properties_of(tmp_path, m).get("integral_trap") is inside


@pytest.mark.parametrize(
    ("name", "cut_in_psi", "cut_out_psi"),
    [
        ("Well pressure tank 44 gal, 30/50 psi", 30, 50),
        ("Pressure tank 40-60 PSI", 40, 60),
        ("Druckkessel 2,0 bis 3 bar", None, None),
        ("Pressure tank 2 - 3.5 bar", 29.01, 50.76),
        ("Pressure tank 50/30 psi", None, None),
    ],
)
def test_the_pressures_at_which_a_pump_starts_and_stops(tmp_path, name, cut_in_psi, cut_out_psi):
    m = SmallModel()
    m.element("IfcTank", name)
    facts = properties_of(tmp_path, m)
    for key, psi in (("cut_in_pa", cut_in_psi), ("cut_out_pa", cut_out_psi)):
        assert facts.get(key) == (None if psi is None else pytest.approx(psi * 6894.757, rel=1e-3))


@pytest.mark.parametrize(
    ("ifc_class", "told"), [("IfcWasteTerminal", "ASSE 1072 device"), ("IfcPipeSegment", None)]
)
def test_description_of_fixtures_and_traps_alone(tmp_path, ifc_class, told):
    m = SmallModel()
    drain = m.element(ifc_class, "Trench drain")
    drain.Description = "ASSE 1072 device"
    assert properties_of(tmp_path, m).get("described") == told


@pytest.mark.parametrize(
    ("name", "size_in"),
    [
        ("Gas Water Heater 100 gal, 199,900 Btu/h, atmospheric, 6 in draft hood", 6),
        ("Boiler 300,000 Btu/h, draft hood 8 in", 8),
        ('GWH-1 50 gal 4" flue', 4),
        ("Gas heater, draught diverter: 150 mm", 6),
        ("Gas water heater, flue collar diameter 3 inch", 3),
        ('Gas water heater 3-in. round flue outlet, 60" high', 3),
        ("Gas water heater, 7 in B-vent", 7),
        ("Gas water heater, vent 24 in above roof", None),
        ("Gas water heater, flue 60 in high", None),
        ("Gas water heater, 120 in flue height", None),
        ("Gas water heater 1/2 in gas, draft hood", None),
        ("Gas water heater, flue gas 4 in wc", None),
    ],
)
def test_the_size_of_a_flue_outlet_in_words(tmp_path, name, size_in):
    m = SmallModel()
    m.element("IfcBoiler", name, predefined="WATER")
    assert properties_of(tmp_path, m).get("flue_outlet_in") == size_in


@pytest.mark.parametrize(
    ("called", "measure", "value", "size_in"),
    [
        ("DraftHoodOutlet", "IfcLabel", '6"', 6),
        ("Flue Diameter", "IfcPositiveLengthMeasure", 0.1016, 4),
        ("Vent Size", "IfcReal", 0.15, 6),
        ("Flue Size", "IfcLabel", "by maker", None),
    ],
)
def test_the_size_of_a_flue_outlet_as_a_property(tmp_path, called, measure, value, size_in):
    m = SmallModel()
    heater = m.element("IfcBoiler", "Gas water heater", predefined="WATER")
    m.property_set(heater, "Data", [m.single(called, measure, value)])
    assert properties_of(tmp_path, m).get("flue_outlet_in") == size_in


@pytest.mark.parametrize(
    ("name", "psi"),
    [
        ("Gas hot water heating boiler, max 30 psi, 80,000 Btu/h", 30),
        ("Gas boiler, MAWP 50 psi", 50),
        ("Boiler max. working pressure: 160 psig", 160),
        ("Boiler 80,000 Btu/h, gas 2 psi", None),
    ],
)
def test_what_a_boiler_is_made_for_in_words(tmp_path, name, psi):
    m = SmallModel()
    m.element("IfcBoiler", name, predefined="WATER")
    found = properties_of(tmp_path, m).get("working_pressure_pa")
    assert found == (None if psi is None else pytest.approx(psi * 6894.757, rel=1e-4))
