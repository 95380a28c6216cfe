"""Where two places of a model disagree, a note names both values and both places, and a finding
of the readiness pack tells it."""

from __future__ import annotations

import pytest

from ifclint.findings import Finding
from ifclint.ifc import read
from ifclint.ifc.elements import Note, System
from ifclint.review import review
from ifclint.rules.site.outside import approved_inside
from tests.ifc.small_models import SmallModel


def notes_of(tmp_path, m, topic) -> list[Note]:
    return [n for n in read(m.write(tmp_path)).notes if n.topic == topic]


def doubts(tmp_path, m) -> list[Finding]:
    done = review([m.write(tmp_path)], code="upc-2021")
    return [f for f in done.findings if f.rule == "told-without-doubt"]


def piped(literal=None, name="P", ports=(), ifc_class="IfcPipeSegment", **more):
    m = SmallModel()
    if ifc_class == "IfcPipeSegment":
        element = m.pipe((0, 0, 0), (1, 0, 0), name=name)
    else:
        element = m.element(ifc_class, name, at=m.placement((0, 0, 0)), **more)
    places = ((0, 0, 0), (1, 0, 0))[: len(ports)]
    for port, system in zip(m.ports(element, *places) if ports else (), ports, strict=True):
        port.SystemType = system
    if literal:
        m.system("S-1", [element], literal)
    return m


def test_sizes_that_disagree_reach_a_finding(tmp_path):
    m = piped("DOMESTICCOLDWATER", "Cold pipe 3 in")
    pipe = m.file.by_type("IfcPipeSegment")[0]
    m.properties(pipe, "Data", NominalDiameter=("IfcPositiveLengthMeasure", 0.0508))
    (finding,) = doubts(tmp_path, m)
    assert "2 in by Data.NominalDiameter (50.8 mm)" in finding.message
    assert '3 in by name ("Cold pipe 3 in")' in finding.message
    assert finding.element_ids == (pipe.GlobalId,)


@pytest.mark.parametrize("inside", [0.0762, 0.1016], ids=["as the others", "otherwise"])
def test_one_doubt_about_all_pipes_of_a_kind_is_told_once(tmp_path, inside):
    m = SmallModel()
    for y, outside in enumerate([0.0762, 0.0762, inside]):
        pipe = m.pipe((0, y, 0), (1, y, 0), name=f"P-{y}")
        m.properties(pipe, "Data", NominalDiameter=("IfcPositiveLengthMeasure", 0.0508))
        m.properties(pipe, "More", NominalSize=("IfcPositiveLengthMeasure", outside))
    done = review([m.write(tmp_path)], code="upc-2021")
    found = [f for f in done.findings if f.rule == "told-without-doubt"]
    alike = 3 if inside == 0.0762 else 2
    assert sorted(len(f.element_ids) for f in found) == [1] * (3 - alike) + [alike]
    more = f"So it is with {alike - 1} more."
    assert [more in f.message for f in found].count(True) == 1
    noted = [note for note in done.network.notes if "the first was taken" in note]
    assert len(noted) == len(found)
    assert [more in note for note in noted].count(True) == 1


def test_a_size_that_name_and_object_type_repeat_is_told_once_without_the_number(tmp_path):
    m = piped("DOMESTICCOLDWATER", "Cold pipe 3 in:Standard:340003")
    pipe = m.file.by_type("IfcPipeSegment")[0]
    pipe.ObjectType = "Cold pipe 3 in:Standard"
    m.properties(pipe, "Data", NominalDiameter=("IfcPositiveLengthMeasure", 0.0508))
    (finding,) = doubts(tmp_path, m)
    assert '("Cold pipe 3 in:Standard")' in finding.message


def test_two_property_sets_that_disagree_about_a_size(tmp_path):
    m = SmallModel("IFC4", "MILLIMETRE")
    for name, own in (("P-1", 80.0), ("P-2", 50.0), ("P-3", 60.3)):
        pipe = m.pipe((0, len(name), own), (1, len(name), own), name=name)
        m.properties(pipe, "Vendor", DN=("IfcReal", own))
        m.properties(
            pipe, "Pset_PipeSegmentTypeCommon", NominalDiameter=("IfcPositiveLengthMeasure", 50.0)
        )
    model = read(m.write(tmp_path))
    assert {e.size_in for e in model.elements} == {2}
    (note,) = [n for n in model.notes if n.topic == "size"]  # 60.3 mm is the outside of a 2 in pipe
    assert "P-1 is DN 50 by Pset_PipeSegmentTypeCommon.NominalDiameter (50 mm)" in note.what
    assert 'DN 80 by Vendor.DN ("80.0")' in note.what


@pytest.mark.parametrize(
    ("drawn_mm", "size"), [(73.0, 2.5), (75.0, 2.5), (79.4, 3), (85.0, 3), (88.9, 3), (48.3, None)]
)
def test_pipe_of_75_mm_is_of_the_size_it_is_drawn(tmp_path, drawn_mm, size):
    m = SmallModel("IFC4", "MILLIMETRE")
    pipe = m.pipe((0, 0, 0), (1, 0, 0), name="Pipe DN75", diameter=drawn_mm / 1000)
    stated = ("IfcPositiveLengthMeasure", 75.0)
    m.properties(pipe, "Pset_PipeSegmentTypeCommon", NominalDiameter=stated)
    (element,) = read(m.write(tmp_path)).elements
    assert element.size_in == size


@pytest.mark.parametrize(("drawn_mm", "size"), [(75.0, 2.5), (88.9, 3)])
def test_polypropylene_is_made_in_iron_pipe_sizes_too(tmp_path, drawn_mm, size):
    m = SmallModel("IFC4", "MILLIMETRE")
    pipe = m.pipe((0, 0, 0), (1, 0, 0), name="Acid waste DN75", diameter=drawn_mm / 1000)
    m.material(pipe, "Polypropylene")
    (element,) = read(m.write(tmp_path)).elements
    assert element.size_in == size


def test_a_name_that_fits_two_sizes_is_settled_by_the_drawing(tmp_path):
    m = SmallModel("IFC4", "MILLIMETRE")
    m.pipe((0, 0, 0), (1, 0, 0), name="Abwasserleitung DN75", diameter=0.0853)
    (element,) = read(m.write(tmp_path)).elements
    assert element.size_in == 3


@pytest.mark.parametrize(("joined_mm", "size"), [(88.9, 3), (73.0, 2.5), (60.3, None)])
def test_a_fitting_that_fits_two_sizes_is_of_the_pipe_joined_to_it(tmp_path, joined_mm, size):
    m = SmallModel("IFC4", "MILLIMETRE")
    pipe = m.pipe((0, 0, 0), (1, 0, 0), diameter=joined_mm / 1000)
    bend = m.element("IfcPipeFitting", "Long Sweep 1/4 Bend", predefined="BEND")
    stated = ("IfcPositiveLengthMeasure", 75.0)
    m.properties(bend, "Pset_PipeFittingTypeCommon", NominalDiameter=stated)
    m.connect(m.ports(pipe, (1, 0, 0))[0], m.ports(bend, (1, 0, 0))[0])
    model = read(m.write(tmp_path))
    assert next(e.size_in for e in model.elements if e.guid == bend.GlobalId) == size
    assert bool([n for n in model.notes if n.topic == "size"]) is (size is None)


def test_the_connections_of_a_fixture_may_be_of_two_sizes(tmp_path):
    m = SmallModel("IFC4", "MILLIMETRE")
    sink = m.element("IfcSanitaryTerminal", "Sink", predefined="SINK")
    m.properties(sink, "Supply", ConnectionSize=("IfcPositiveLengthMeasure", 15.0))
    m.properties(sink, "Waste", DrainSize=("IfcPositiveLengthMeasure", 40.0))
    assert notes_of(tmp_path, m, "size") == []


def test_a_group_and_ports_of_different_services(tmp_path):
    m = piped("DOMESTICCOLDWATER", ports=("DOMESTICHOTWATER", "DOMESTICHOTWATER"))
    (note,) = notes_of(tmp_path, m, "system")
    assert 'IfcDistributionSystem "S-1", which is cold water' in note.what
    assert "SystemType of its ports says hot water" in note.what
    (finding,) = doubts(tmp_path, m)
    assert finding.message == note.what


def test_ports_of_different_services(tmp_path):
    m = piped(ports=("DOMESTICCOLDWATER", "DOMESTICHOTWATER"))
    (note,) = notes_of(tmp_path, m, "system")
    assert "cold water and hot water by SystemType" in note.what
    assert len(doubts(tmp_path, m)) == 1


@pytest.mark.parametrize(
    ("literal", "name", "told", "says"),
    [
        ("SEWAGE", "Gas pipe to range", "sanitary drainage", "fuel gas"),
        ("DOMESTICCOLDWATER", "Hot water pipe", "cold water", "hot water"),
        ("GAS", "Kaltwasser Leitung", "fuel gas", "cold water"),
    ],
)
def test_a_system_and_a_name_of_different_services(tmp_path, literal, name, told, says):
    m = piped(literal, name)
    (note,) = notes_of(tmp_path, m, "system")
    assert f'{told} by IfcDistributionSystem "S-1"' in note.what
    assert f"its name says {says}" in note.what
    assert read(m.write(tmp_path)).elements[0].system.value == told  # the first was taken
    assert [f.message for f in doubts(tmp_path, m)] == [note.what]


@pytest.mark.parametrize(
    ("literal", "name", "ports"),
    [
        ("SEWAGE", "Vent pipe", ("VENT", "VENT")),
        ("WATERSUPPLY", "Hot water", ("DOMESTICHOTWATER", "DOMESTICHOTWATER")),
        ("STORMWATER", "Drain pipe", ()),
        ("HEATING", "Hot water pipe", ()),
        ("DOMESTICHOTWATER", "Elbow, CW-1", ()),  # a tag
        ("DOMESTICCOLDWATER", "Relief discharge", ()),
        ("SEWAGE", "P-1", ("SEWAGE", "VENT")),
    ],
)
def test_places_that_agree_in_their_own_words_are_no_conflict(tmp_path, literal, name, ports):
    assert notes_of(tmp_path, piped(literal, name, ports), "system") == []


def test_a_mixing_valve_has_ports_of_two_services(tmp_path):
    ports = ("DOMESTICCOLDWATER", "DOMESTICHOTWATER")
    m = piped(ports=ports, ifc_class="IfcValve", predefined="MIXING")
    assert notes_of(tmp_path, m, "system") == []


@pytest.mark.parametrize(
    ("ifc_class", "literal", "name", "says"),
    [
        ("IfcSanitaryTerminal", "SINK", "Water closet", "water-closet"),
        ("IfcPipeFitting", "BEND", "Sanitary tee", "sanitary-tee"),
        ("IfcPipeFitting", "TRANSITION", "Elbow 90", "quarter-bend"),
        ("IfcValve", "CHECK", "Ball valve", "isolating"),
        ("IfcFlowMeter", "GASMETER", "Water meter", "water"),
        ("IfcInterceptor", "OIL", "Grease trap", "grease"),
    ],
)
def test_a_class_and_a_name_that_disagree(tmp_path, ifc_class, literal, name, says):
    m = piped("SEWAGE", name, ifc_class=ifc_class, predefined=literal)
    (note,) = notes_of(tmp_path, m, "role")
    assert f"is {literal} by class but its name says {says}" in note.what
    assert [f.message for f in doubts(tmp_path, m)] == [note.what]


@pytest.mark.parametrize(
    ("ifc_class", "literal", "name"),
    [
        ("IfcPipeFitting", "BEND", "Bend with socket"),
        ("IfcPipeFitting", "CONNECTOR", "No hub coupling"),
        ("IfcPipeFitting", "JUNCTION", "Reducing tee"),
        ("IfcValve", "CHECK", "Backwater valve"),
        ("IfcValve", "PRESSURERELIEF", "T&P relief valve"),
        ("IfcValve", "ANTIVACUUM", "Vacuum relief valve ANSI Z21.22"),
        ("IfcPipeFitting", "CONNECTOR", "Dishwasher air gap fitting"),
    ],
)
def test_a_name_that_only_says_more_is_no_conflict(tmp_path, ifc_class, literal, name):
    m = piped(name=name, ifc_class=ifc_class, predefined=literal)
    assert notes_of(tmp_path, m, "role") == []


def test_why_a_size_is_not_known_is_said_by_the_rule_about_sizes(tmp_path):
    m = piped("STORMWATER", "P")
    pipe = m.file.by_type("IfcPipeSegment")[0]
    pipe.Representation = m.shape(m.extrusion(0.297, 1.0))
    done = review([m.write(tmp_path)], code="upc-2021")
    (finding,) = [f for f in done.findings if f.rule == "pipe-has-size"]
    assert "297.0 mm" in finding.message
    assert "between" in finding.message
    assert "is no pipe size" in finding.message
    assert not [f for f in done.findings if f.rule == "told-without-doubt"]


def test_several_doubts_of_one_element_are_all_told(tmp_path):
    m = piped("SEWAGE", "Gas pipe 3 in")
    pipe = m.file.by_type("IfcPipeSegment")[0]
    m.properties(pipe, "Data", NominalDiameter=("IfcPositiveLengthMeasure", 0.0508))
    system, size = sorted(doubts(tmp_path, m), key=lambda f: "3 in by name" in f.message)
    assert "fuel gas" in system.message
    assert System.SANITARY.value in system.message
    assert "3 in by name" in size.message
    assert system.element_ids == size.element_ids == (pipe.GlobalId,)
    assert system.id != size.id


@pytest.mark.parametrize(
    ("literal", "name", "doubted"),
    [
        ("BATH", "Sink - Work", True),
        ("WASHHANDBASIN", "Sink 20x18", False),
        ("SINK", "Sink", False),
    ],
)
def test_a_sink_that_is_no_bath(tmp_path, literal, name, doubted):
    m = SmallModel("IFC4", "METRE")
    m.element("IfcSanitaryTerminal", name, predefined=literal)
    said = [n for n in read(m.write(tmp_path)).notes if "but its name says sink" in n.what]
    assert bool(said) is doubted


@pytest.mark.parametrize(("literal", "noted"), [("MIXING", 0), ("FAUCET", 0), ("ISOLATING", 1)])
def test_a_mixer_is_in_two_systems_of_water(tmp_path, literal, noted):
    m = SmallModel("IFC4", "METRE")
    valve = m.element("IfcValve", "V-1", predefined=literal)
    m.system("Cold", [valve], "DOMESTICCOLDWATER")
    m.system("Hot", [valve], "DOMESTICHOTWATER")
    said = [n for n in read(m.write(tmp_path)).notes if "different services" in n.what]
    assert len(said) == noted


@pytest.mark.parametrize(
    ("stated", "kept"), [("PVC SDR 35 sewer pipe, ASTM D3034", True), ("PVC", False)]
)
def test_what_a_material_says_beyond_its_kind_is_kept(tmp_path, stated, kept):
    m = SmallModel()
    m.material(m.pipe((0, 0, 0), (1, 0, 0), name="PVC DWV Pipe 4 in"), stated)
    (pipe,) = read(m.write(tmp_path)).elements
    assert pipe.material == "pvc"
    assert pipe.properties.get("material_words") == (stated if kept else None)
    assert approved_inside(pipe) is not kept


@pytest.mark.parametrize(
    ("ifc_class", "name", "doubted"),
    [
        ("IfcValve", "Isolation valve with drain", False),
        ("IfcValve", "Ball valve, drain-down", False),
        ("IfcValve", "Sanitary ball valve", True),
        ("IfcPipeSegment", "Drain", True),
    ],
)
def test_a_valve_in_water_may_have_a_drain(tmp_path, ifc_class, name, doubted):
    m = SmallModel("IFC4", "METRE")
    valve = m.element(ifc_class, name, at=m.placement((0, 0, 0)))
    m.ports(valve, (0, 0, 0), (0.1, 0, 0))
    m.system("S-1", [valve], "DOMESTICCOLDWATER")
    assert bool(notes_of(tmp_path, m, "system")) is doubted
    assert read(m.write(tmp_path)).elements[0].system.value == "cold water"
