"""What the name of a relief valve or regulator tells of its setting and rating."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Confidence
from tests.ifc.small_models import SmallModel

PSI = 6894.757293
BTU_PER_H = 0.29307107
INCH_OF_WATER = 249.08891  # conventional, NIST SP 811, appendix B.8


def element_of(tmp_path, m):
    return read(m.write(tmp_path)).elements[0]


def valve(tmp_path, name: str, predefined: str = "PRESSURERELIEF"):
    m = SmallModel()
    m.element("IfcValve", name, predefined=predefined)
    return element_of(tmp_path, m)


@pytest.mark.parametrize(
    ("name", "pascals"),
    [
        ('3/4" Temperature and Pressure Relief Valve 150 psi 210 F', 150 * PSI),
        ("TPRV 150#/210F 105 MBH", 150 * PSI),
        ("T&P relief valve 3/4 in 150psi", 150 * PSI),
        ("Relief valve, set at 125 psi, body 300 psi", 125 * PSI),
        ("Relief valve 300 psi body, 100 psig setting", 100 * PSI),
        ("Sicherheitsventil 10 bar", 1e6),
        ("Sicherheitsgruppe 7,5 bar", 7.5e5),
        ("Pressure relief valve 1,000 kPa", 1e6),
        ("Relief valve 300 psi WOG", None),
        ("Relief valve, max. 175 psi", None),
        ("Relief valve 75-150 psi", None),
        ("Relief valve 100 psi 150 psi", None),
        ("Relief valve 3/4 in 210 F", None),
    ],
)
def test_the_setting_of_a_relief_valve_in_its_name(tmp_path, name, pascals):
    read = valve(tmp_path, name)
    assert read.kind == "relief"
    assert read.properties.number("relief_pressure_pa") == (pascals and pytest.approx(pascals))
    if pascals:
        assert read.basis["relief_pressure_pa"].confidence is Confidence.WORDS


@pytest.mark.parametrize(
    ("name", "watts"),
    [
        ("T&P relief valve 3/4 in rated 105,000 Btu/h", 105_000 * BTU_PER_H),
        ("T&P relief valve 150 psi 105 MBH", 105_000 * BTU_PER_H),
        ("Relief valve 1500000 BTU ASME, 105000 BTU AGA", 105_000 * BTU_PER_H),
        ("Sicherheitsventil 6 bar 75 kW", 75_000.0),
        ("T&P relief valve 3/4 in 150 psi 210 F", None),
    ],
)
def test_the_rating_of_a_relief_valve_in_its_name(tmp_path, name, watts):
    read = valve(tmp_path, name)
    assert read.properties.number("relief_capacity_w") == (watts and pytest.approx(watts, abs=1))


def test_what_its_properties_state_goes_before_its_name(tmp_path):
    m = SmallModel()
    made = m.element("IfcValve", "Relief valve 150 psi 40 MBH", predefined="PRESSURERELIEF")
    m.properties(
        made, "Data", SetPressure=("IfcPressureMeasure", 8.6e5),
        DischargeCapacity=("IfcPowerMeasure", 30_000.0),
    )  # fmt: skip
    read = element_of(tmp_path, m)
    assert read.properties["relief_pressure_pa"] == 8.6e5
    assert read.properties["relief_capacity_w"] == 30_000.0


@pytest.mark.parametrize(
    ("name", "pascals"),
    [
        ("Pressure reducing valve 3/4 in, set at 60 psi", 60 * PSI),
        ("PRV 1 in (55 psi set)", 55 * PSI),
        ("Druckminderer, setpoint 4 bar", 4e5),
        ("Pressure Reducing Valve PRV-1 set 65 psi", 65 * PSI),
        ("Pressure reducing valve 1 in 65 psi", 65 * PSI),
        ("Druckminderer DN25 4,5 bar", 4.5e5),
        ("Pressure reducing valve 300 psi", None),
        ("Pressure reducing valve 300 psi body, set 65 psi", 65 * PSI),
        ("Pressure reducing valve 25-75 psi", None),
        ("Pressure reducing valve 80 psi to 50 psi", 50 * PSI),
        ("Pressure reducing valve 80 to 50 psi", 50 * PSI),
        ("Pressure reducing valve 25 to 75 psi", None),
        ("Pressure reducing valve 25 to 75 psi, set at 60 psi", 60 * PSI),
        ("Gas line regulator R-1 2 psi to 7 in. w.c.", 7 * INCH_OF_WATER),
        ('Gas regulator, 5 psi / 11" WC', 11 * INCH_OF_WATER),
        ("Line regulator 2 psig -> 8 inches of water", 8 * INCH_OF_WATER),
        ("Line regulator 2 psi to 1/2 psi", PSI / 2),
        ("Gas regulator 1 in 7 in wc", 7 * INCH_OF_WATER),
        ("Gasdruckregler 100 auf 20 mbar", 2_000.0),
    ],
)
def test_the_setting_of_a_regulator_in_its_name(tmp_path, name, pascals):
    read = valve(tmp_path, name, "PRESSUREREDUCING")
    told = read.properties.number("downstream_pressure_pa")
    assert told == (pascals and pytest.approx(pascals))


def test_another_valve_has_no_relief_setting(tmp_path):
    assert "relief_pressure_pa" not in valve(tmp_path, "Ball valve 150 psi", "ISOLATING").properties


@pytest.mark.parametrize("name", ["Set Pressure", "Setting", "Pressure Setting", "SetPoint"])
@pytest.mark.parametrize(
    ("literal", "fact"),
    [
        ("PRESSUREREDUCING", "downstream_pressure_pa"),
        ("PRESSURERELIEF", "relief_pressure_pa"),
    ],
)
def test_what_a_property_calls_its_setting(tmp_path, literal, fact, name):
    m = SmallModel()
    made = m.element("IfcValve", "V-1", predefined=literal)
    m.properties(made, "Settings", **{name: ("IfcLabel", "60 psi")})
    m.properties(made, "Pset_ValveTypePressureReducing", Other=("IfcLabel", "x"))
    (valve,) = read(m.write(tmp_path)).elements
    assert valve.properties.number(fact) == pytest.approx(60 * 6894.757, rel=1e-4)
    both = {"downstream_pressure_pa", "relief_pressure_pa"}
    assert both & valve.properties.keys() == {fact}


def test_a_stated_downstream_pressure_goes_before_a_setting(tmp_path):
    m = SmallModel()
    made = m.element("IfcValve", "V-1", predefined="PRESSUREREDUCING")
    m.properties(
        made, "S", Setting=("IfcLabel", "75 psi"), DownstreamPressure=("IfcLabel", "60 psi")
    )
    (valve,) = read(m.write(tmp_path)).elements
    assert valve.properties.number("downstream_pressure_pa") == pytest.approx(413_685, rel=1e-4)
