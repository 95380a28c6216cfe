"""Facts from property sets: names in many languages, units, lists, ranges, what is left empty."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from ifclint.errors import InputError
from ifclint.ifc import read
from ifclint.ifc.elements import Element, Model
from ifclint.ifc.facts.written_values import decimal, from_text, ratio
from ifclint.review import review
from tests.ifc.small_models import SmallModel


def one_pipe(**more):
    m = SmallModel("IFC4", more.pop("unit", "MILLIMETRE"))
    return m, m.pipe((0, 0, 0), (1, 0, 0), name="P", shaped=False, **more)


def element_of(tmp_path, m, **more) -> Element:
    first, *_ = sorted(model_of(tmp_path, m, **more).elements, key=lambda e: e.guid)
    return first  # that was drawn, whatever the names


def model_of(tmp_path, m, **more) -> Model:
    return read(m.write(tmp_path), **more)


# -- slopes ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "slope"),
    [
        ("1:200", 1 / 200),
        ("1 : 50", 1 / 50),
        ("1/80", 1 / 80),
        ("1 in 80", 1 / 80),
        ("1:66,7", 1 / 66.7),
        ("1/4 in per ft", 1 / 48),
        ('1/8"/ft', 1 / 96),
        ("0.25 in/ft", 1 / 48),
        ('1/4" / 12"', 1 / 48),
        ('1/4" : 1\'-0"', 1 / 48),
        ('1" / 2"', None),  # over no foot
        ("2 cm/m", 0.02),
        ("15 mm per m", 0.015),
        ("2 %", 0.02),
        ("2,5 %", 0.025),
        ("1.5 percent", 0.015),
        ("150 %", 1.5),
        ("5 ‰", 0.005),
        ("5 promille", 0.005),
        ("1.146°", math.tan(math.radians(1.146))),
        ("2 deg", math.tan(math.radians(2))),
        ("2", None),  # percent or a ratio: not stated
        ("sloped", None),
        ("1:0", None),
        ("89°", None),
    ],
)
def test_slopes_written_as_text(text, slope):
    assert ratio(text) == (None if slope is None else pytest.approx(slope))


@pytest.mark.parametrize(
    ("name", "measure", "value", "slope"),
    [
        ("Gradient", "IfcPositiveRatioMeasure", 0.02, 0.02),
        ("Gefälle", "IfcLabel", "1:100", 0.01),
        ("Gefälle in %", "IfcReal", 1.5, 0.015),
        ("Pente (%)", "IfcReal", 1.5, 0.015),
        ("Pendiente", "IfcText", "2 %", 0.02),
        ("Afschot", "IfcLabel", "5 mm/m", 0.005),
        ("Slope Percent", "IfcReal", 2.0, 0.02),
        ("SlopePercent", "IfcLabel", "2,5", 0.025),
        ("Gefälle ‰", "IfcInteger", 5, 0.005),
        ("Neigung", "IfcPlaneAngleMeasure", 0.02, math.tan(0.02)),
        ("Уклон", "IfcReal", 0.02, 0.02),
    ],
)
def test_slopes_under_names_of_many_languages(tmp_path, name, measure, value, slope):
    m, pipe = one_pipe()
    m.property_set(pipe, "Rohrdaten", [m.single(name, measure, value)])
    element = element_of(tmp_path, m)
    assert element.slope == pytest.approx(slope)
    assert element.basis["slope"].words.startswith("Rohrdaten.")


@pytest.mark.parametrize("value", [0.0, 1e-12])
def test_a_slope_of_nothing_is_not_filled_in(tmp_path, value):
    m, pipe = one_pipe()
    m.properties(pipe, "Data", Gradient=("IfcPositiveRatioMeasure", value))
    assert element_of(tmp_path, m).slope is None


# -- names -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name",
    ["Nennweite", "Rohrnennweite", "Nenndurchmesser", "Diámetro nominal", "Diámetro", "Diamètre",
     "Diamètre nominal", "Nominale diameter", "Leidingmaat", "DN", "NOMINAL_BORE",
     "Диаметр условный"],
)  # fmt: skip
def test_nominal_sizes_under_names_of_many_languages(tmp_path, name):
    m, pipe = one_pipe()
    m.property_set(pipe, "Fabrikat", [m.single(name, "IfcPositiveLengthMeasure", 100.0)])
    element = element_of(tmp_path, m)
    assert (element.size_in, element.properties["designation"]) == (4, "DN 100")


@pytest.mark.parametrize(
    ("names", "fact"),
    [
        (["Aussendurchmesser", "Außendurchmesser", "Diámetro exterior", "Diamètre extérieur",
          "Buitendiameter", "External Diameter", "Наружный диаметр"], "outside_diameter_m"),
        (["Innendurchmesser", "Diámetro interior", "Diamètre intérieur", "Binnendiameter",
          "Lichte Weite", "Internal Diameter", "Внутренний диаметр"], "inside_diameter_m"),
    ],
)  # fmt: skip
def test_diameters_under_names_of_many_languages(tmp_path, names, fact):
    for name in names:
        m, pipe = one_pipe()
        m.property_set(pipe, "Maße", [m.single(name, "IfcPositiveLengthMeasure", 96.0)])
        assert element_of(tmp_path, m).properties.get(fact) == pytest.approx(0.096), name


def test_an_identifier_is_no_inside_diameter(tmp_path):
    m, pipe = one_pipe()
    m.property_set(pipe, "Data", [m.single("ID", "IfcInteger", 354211)])
    assert "inside_diameter_m" not in element_of(tmp_path, m).properties


# -- units -----------------------------------------------------------------------------------


def test_a_property_with_a_unit_of_its_own(tmp_path):
    m, pipe = one_pipe(unit="METRE")
    millimetre = m.file.create_entity(
        "IfcSIUnit", UnitType="LENGTHUNIT", Prefix="MILLI", Name="METRE"
    )
    for name, value in (("OuterDiameter", 114.3), ("NominalDiameter", 100.0)):
        made = m.single(name, "IfcReal", value)
        made.Unit = millimetre
        m.property_set(pipe, "Data", [made])
    element = element_of(tmp_path, m)
    assert element.properties["outside_diameter_m"] == pytest.approx(0.1143)
    assert element.size_in == 4


@pytest.mark.parametrize(
    ("text", "reads", "value"),
    [
        ("50 mm", "length", 0.05),
        ("5,5 cm", "length", 0.055),
        ("1-1/2 in", "length", 0.0381),
        ('2"', "length", 0.0508),
        ("2 inches", "length", 0.0508),
        ("3 bar", "pressure", 3e5),
        ("150 psi", "pressure", 150 * 6894.757293),
        ("40,000 Btu/h", "power", 40_000 * 0.29307107),
        ("40 MBH", "power", 40_000 * 0.29307107),
        ("11,7 kW", "power", 11_700),
        ("6 L", "volume", 0.006),
        ("1.28 gpf", "volume", 1.28 * 0.003785411784),
        ("2 l/s", "flow", 0.002),
        ("10 gpm", "flow", 10 * 0.003785411784 / 60),
        ("45°", "angle", math.pi / 4),
        ("12 parsecs", "length", None),
        ("mm", "length", None),
        ("12", "length", None),
    ],
)
def test_values_written_with_their_units(text, reads, value):
    assert from_text(text, reads) == (None if value is None else pytest.approx(value))


@pytest.mark.parametrize(
    ("text", "number"),
    [("2,5", 2.5), ("40,000", 40_000), ("1.234,5", 1234.5), ("1,234.5", 1234.5), ("0,125", 0.125),
     ("1,000,000", 1e6), ("-3", -3), ("1.2.3", None), ("", None)],
)  # fmt: skip
def test_decimal_points_and_commas(text, number):
    assert decimal(text) == number


# -- lists, ranges, zero ---------------------------------------------------------------------


def several(m, kind, *values):
    made = [m.file.create_entity("IfcPositiveLengthMeasure", v) for v in values]
    return m.file.create_entity(kind, "NominalDiameter", None, made)


def test_a_list_of_sizes_of_a_fitting_are_the_sizes_of_its_ends(tmp_path):
    m = SmallModel("IFC4", "MILLIMETRE")
    fitting = m.element("IfcPipeFitting", "F", predefined="TRANSITION", at=m.placement((0, 0, 0)))
    m.ports(fitting, (0, 0, 0), (0.1, 0, 0))
    m.property_set(
        fitting, "Pset_PipeFittingTypeCommon", [several(m, "IfcPropertyListValue", 100.0, 80.0)]
    )
    element = element_of(tmp_path, m)
    assert element.size_in == 4
    m.pipe((0.1, 0, 0), (1, 0, 0), name="DN 80", diameter=0.0889)
    element = element_of(tmp_path, m)
    assert [e.size_in for e in element.ends] == [4, 3]


def test_a_list_of_different_sizes_tells_none_of_a_pipe(tmp_path):
    m, pipe = one_pipe()
    m.property_set(
        pipe, "Pset_PipeSegmentTypeCommon", [several(m, "IfcPropertyListValue", 100.0, 80.0)]
    )
    model = model_of(tmp_path, m)
    assert model.elements[0].size_in is None
    assert "fits more than one pipe size" in model.notes[0].what
    assert "100 mm, 80 mm" in model.notes[0].what


@pytest.mark.parametrize("kind", ["IfcPropertyListValue", "IfcPropertyEnumeratedValue"])
def test_a_list_of_one_size_tells_it(tmp_path, kind):
    m, pipe = one_pipe()
    m.property_set(pipe, "Pset_PipeSegmentTypeCommon", [several(m, kind, 100.0, 100.0)])
    assert element_of(tmp_path, m).size_in == 4


@pytest.mark.parametrize(("low", "set_point", "size"), [(80.0, None, None), (80.0, 90.0, 3)])
def test_a_range_of_sizes_tells_none_unless_set(tmp_path, low, set_point, size):
    m, pipe = one_pipe()

    def length(value):
        return value and m.file.create_entity("IfcPositiveLengthMeasure", value)

    made = m.file.create_entity(
        "IfcPropertyBoundedValue", "NominalDiameter", None, length(100.0), length(low), None,
        length(set_point),
    )  # fmt: skip
    m.property_set(pipe, "Pset_PipeSegmentTypeCommon", [made])
    assert element_of(tmp_path, m).size_in == size


def test_zero_is_not_filled_in(tmp_path):
    m = SmallModel()
    valve = m.element("IfcValve", "V", predefined="PRESSURERELIEF")
    m.properties(valve, "Pset_ValveTypePressureRelief", ReliefPressure=("IfcPressureMeasure", 0.0))
    assert "relief_pressure_pa" not in element_of(tmp_path, m).properties
    m = SmallModel()
    valve = m.element("IfcValve", "V", predefined="PRESSURERELIEF")
    m.properties(valve, "Pset_ValveTypePressureRelief", ReliefPressure=("IfcPressureMeasure", 1e6))
    assert element_of(tmp_path, m).properties["relief_pressure_pa"] == 1e6


def test_zero_insulation_is_a_value(tmp_path):
    m, pipe = one_pipe()
    m.properties(pipe, "Data", InsulationThickness=("IfcLengthMeasure", 0.0))
    assert element_of(tmp_path, m).properties["insulated"] is False


@pytest.mark.parametrize(
    ("name", "literal", "inside"),
    [
        ("Floor drain", "FLOORTRAP", True),
        ("Yard gully", "GULLYTRAP", True),
        ("Floor drain", "FLOORWASTE", None),
        ("Floor drain with P-trap", "FLOORWASTE", True),
        ("Bodenablauf mit Geruchsverschluß", "FLOORWASTE", True),
        ("Floor drain, integral trap", "FLOORWASTE", True),
        ("Floor drain without integral trap", "FLOORWASTE", None),
        ("Floor drain, no P-trap, with trap", "FLOORWASTE", True),
        ("Floor drain with trap primer", "FLOORWASTE", None),
        ("Floor drain with trap seal protection", "FLOORWASTE", None),
    ],
)
def test_a_fixture_with_its_trap(tmp_path, name, literal, inside):
    m = SmallModel("IFC4", "METRE")
    m.element("IfcWasteTerminal", name, predefined=literal, at=m.placement((0, 0, 0)))
    assert element_of(tmp_path, m).properties.flag("integral_trap") is inside


# -- names of a job file ---------------------------------------------------------------------


def vendor_pipe():
    m, pipe = one_pipe()
    values = {"Calibre": ("IfcLabel", "DN 80"), "Nennweite": ("IfcLabel", "DN 50")}
    m.properties(pipe, "Acme", **values)
    return m


def test_a_job_file_names_the_properties_of_a_vendor(tmp_path):
    m = vendor_pipe()
    assert element_of(tmp_path, m).size_in == 2
    extra = {"property": {"size": {"from": ["Acme.Calibre"]}}}
    element = element_of(tmp_path, m, vocabulary_extra=extra)
    assert (element.size_in, element.basis["size"].words) == (3, "Acme.Calibre")
    assert element_of(tmp_path, m).size_in == 2  # and only of that run


def test_such_names_come_from_the_job_file_itself(tmp_path: Path):
    job = tmp_path / "job.toml"
    job.write_text('[reading.vocabulary.property.size]\nfrom = ["Calibre"]\n')
    done = review([vendor_pipe().write(tmp_path)], job_file=job, code="upc-2021")
    assert not [f for f in done.findings if f.rule == "pipe-has-size"]
    assert any(f.subject.startswith("3 in pipe") for f in done.findings)


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ({"colour": {"from": ["X"]}}, 'no fact is called "colour"; known are: bend_angle'),
        ({"siz": {"from": ["X"]}}, 'no fact is called "siz"; did you mean "size"'),
        ({"size": {"from": "X"}}, "need a list of names"),
        ({"size": ["X"]}, "need a list of names"),
        (["size"], "are a table by fact"),
    ],
)
def test_unusable_names_are_one_clear_sentence(tmp_path, table, words):
    path = vendor_pipe().write(tmp_path)
    with pytest.raises(InputError, match=words):
        read(path, vocabulary_extra={"property": table})


def test_a_misspelt_key_is_refused(tmp_path):
    path = vendor_pipe().write(tmp_path)
    with pytest.raises(InputError, match="has the key properties, but its keys are: dist"):
        read(path, vocabulary_extra={"properties": {"size": {"from": ["X"]}}})


@pytest.mark.parametrize(
    ("unit", "measure", "name", "number", "metres"),
    [
        ("METRE", "IfcReal", "Lengte (mm)", 6000.0, 6.0),
        ("METRE", "IfcLengthMeasure", "Lengte (mm)", 6000.0, 6.0),  # no pipe is 6 km long
        (
            "METRE",
            "IfcLengthMeasure",
            "Length (mm)",
            6.0,
            6.0,
        ),  # project units, as the standard has it
        ("MILLIMETRE", "IfcLengthMeasure", "Length [m]", 6000.0, 6.0),
        ("MILLIMETRE", "IfcReal", "Length (ft)", 10.0, 3.048),
    ],
)
def test_a_length_whose_name_tells_its_unit(tmp_path, unit, measure, name, number, metres):
    m = SmallModel("IFC4", unit)
    pipe = m.element("IfcPipeSegment", "P")
    m.properties(pipe, "Vendor", **{name: (measure, number)})
    (read_pipe,) = read(m.write(tmp_path)).elements
    assert read_pipe.length_m == pytest.approx(metres)


@pytest.mark.parametrize("name", ["Afschot 1:?", "Slope 1:n", "Gefälle (1:x)", "Slope 1/n"])
def test_a_slope_whose_name_asks_for_the_run(tmp_path, name):
    m = SmallModel("IFC4", "METRE")
    pipe = m.element("IfcPipeSegment", "P")
    m.properties(pipe, "Vendor", **{name: ("IfcReal", 200.0)})
    (read_pipe,) = read(m.write(tmp_path)).elements
    assert read_pipe.slope == pytest.approx(1 / 200)
