"""The same small building in every schema and unit reads to the same Model."""

from __future__ import annotations

import gc
import math
import re

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Role, System
from ifclint.ifc.facts import occurrences, properties
from ifclint.ifc.joints import ports
from ifclint.ifc.shape import extrusions, representations, shapes
from ifclint.ifc.step import columns, library, opening
from ifclint.ifc.step.text_index import TextIndex
from tests.ifc.small_models import SCHEMAS, SmallModel

WHOLE = property(lambda self: self.whole)  # what `Library.rare` is a part of
LENGTH = ("IfcPositiveLengthMeasure",)


def bathroom(schema: str, unit: str = "METRE", ports: bool = True) -> SmallModel:
    """A lavatory, its trap, a drain with a sanitary tee, and a vent."""
    m = SmallModel(schema, unit)
    basin = m.element(
        "IfcSanitaryTerminal", "Lavatory L-1", predefined="WASHHANDBASIN", type_name="Oval",
        at=m.placement((0, 0, 0.8)),
    )  # fmt: skip
    trap = m.element(
        "IfcWasteTerminal", "P-trap", predefined="WASTETRAP", type_name="P-trap 1-1/4 in",
        at=m.placement((0, 0, 0.5)),
    )  # fmt: skip
    arm = m.pipe(
        (0, 0, 0.5), (1.0, 0, 0.48), diameter=0.0483, name="Trap arm",
        predefined="RIGIDSEGMENT", type_name='PVC - DWV 1-1/2"',
    )  # fmt: skip
    tee = m.element(
        "IfcPipeFitting", "Fitting 1", predefined="JUNCTION", type_name='Sanitary tee 2"x1-1/2"',
        at=m.placement((1.05, 0, 0.48)),
    )  # fmt: skip
    stack = m.pipe(
        (1.05, 0, 0.4), (1.05, 0, -1.0), name="Stack", predefined="RIGIDSEGMENT",
        type_name='PVC - DWV 2"',
    )  # fmt: skip
    vent = m.pipe(
        (1.05, 0, 0.55), (1.05, 0, 3.0), name="Vent", predefined="RIGIDSEGMENT",
        type_name='PVC - DWV 2"',
    )  # fmt: skip
    m.system("Sanitary drainage", [trap, arm, tee, stack], "SEWAGE")
    m.system("Sanitary vent", [vent], "VENT")
    for pipe in (arm, stack, vent):
        m.material(pipe, "PVC DWV")
    if ports:
        (b,) = m.ports(basin, (0, 0, 0.75), flows=("SOURCE",))
        t = m.ports(trap, (0, 0, 0.75), (0, 0, 0.5), flows=("SINK", "SOURCE"))
        a = m.ports(arm, (0, 0, 0.5), (1.0, 0, 0.48), flows=("SINK", "SOURCE"))
        s = m.ports(tee, (1.0, 0, 0.48), (1.05, 0, 0.4), (1.05, 0, 0.55))
        d = m.ports(stack, (1.05, 0, 0.4), (1.05, 0, -1.0), flows=("SINK", "SOURCE"))
        v = m.ports(vent, (1.05, 0, 0.55), (1.05, 0, 3.0))
        for one, other in ((b, t[0]), (a[0], t[1]), (a[1], s[0]), (s[1], d[0]), (v[0], s[2])):
            m.connect(one, other)
    return m


@pytest.mark.parametrize("unit", ["METRE", "MILLIMETRE", "FOOT", "INCH"])
@pytest.mark.parametrize("schema", SCHEMAS)
def test_same_building_in_every_schema_and_unit(tmp_path, schema, unit):
    model = read(bathroom(schema, unit).write(tmp_path))
    by_name = {e.name: e for e in model.elements}
    assert {e.name: e.role for e in model.elements} == {
        "Fitting 1": Role.FITTING, "Lavatory L-1": Role.FIXTURE, "P-trap": Role.TRAP,
        "Stack": Role.PIPE, "Trap arm": Role.PIPE, "Vent": Role.PIPE,
    }  # fmt: skip
    assert by_name["Lavatory L-1"].kind == "lavatory"
    assert by_name["P-trap"].kind == "p-trap"
    assert by_name["P-trap"].size_in == 1.25
    assert by_name["Fitting 1"].kind == "sanitary-tee"
    assert by_name["Fitting 1"].size_in == 2
    assert [e.size_in for e in by_name["Fitting 1"].ends] == [1.5, 2, 2]
    arm = by_name["Trap arm"]
    assert (arm.size_in, arm.material, arm.system) == (1.5, "pvc", System.SANITARY)
    assert arm.length_m == pytest.approx(math.hypot(1.0, 0.02))
    assert arm.ends[0].position == pytest.approx((0, 0, 0.5), abs=1e-9)
    assert arm.ends[1].position == pytest.approx((1.0, 0, 0.48), abs=1e-9)
    assert [e.flow for e in arm.ends] == ["in", "out"]
    assert by_name["Vent"].system is System.VENT
    assert {e.storey for e in model.elements} == {"Ground floor"}
    assert len(model.joints) == 5
    assert not any(j.inferred for j in model.joints)
    assert model.notes == []


@pytest.mark.parametrize("schema", SCHEMAS)
def test_without_ports_ends_come_from_the_shapes_and_are_joined(tmp_path, schema):
    m = SmallModel(schema, "MILLIMETRE")
    for i in range(3):
        m.pipe((i * 1.0, 0, 0), (i * 1.0 + 0.995, 0, 0), name=f"Pipe {i}", type_name="Drain")
    model = read(m.write(tmp_path))
    assert [e.basis["ends"].words for e in model.elements] == ["extruded solid"] * 3
    assert [(j.a, j.b, j.inferred) for j in model.joints] == [(0, 1, True), (1, 2, True)]
    assert model.elements[0].size_in == 2  # drawn with an outside diameter of 60.3 mm
    assert model.elements[0].basis["size"].words == "diameter of the extruded solid"


def test_several_files_become_one_model(tmp_path):
    a, b = SmallModel("IFC4", "MILLIMETRE"), SmallModel("IFC2X3", "FOOT")
    a.pipe((0, 0, 0), (1, 0, 0), name="From A")
    b.pipe((1, 0, 0), (2, 0, 0), name="From B", type_name="Pipe")
    model = read([a.write(tmp_path, "a.ifc"), b.write(tmp_path, "b.ifc")])
    assert [(e.name, e.model) for e in model.elements] == [("From A", 0), ("From B", 1)]
    assert [f.schema for f in model.files] == ["IFC4", "IFC2X3"]
    assert len(model.joints) == 1
    assert model.joints[0].inferred


def test_storey_is_found_by_elevation_where_containment_says_nothing(tmp_path):
    m = SmallModel()
    upper = m.root("IfcBuildingStorey", "Upper floor")
    upper.Elevation = 3.0
    m.aggregate(m.building, [upper])
    m.pipe((0, 0, 2.8), (1, 0, 2.8), name="Under the upper floor", storey=False)
    m.pipe((0, 0, 1.0), (1, 0, 1.0), name="Low", storey=False)
    low, under = read(m.write(tmp_path)).elements
    assert (under.storey, under.basis["storey"].words) == ("Upper floor", "by elevation")
    assert low.storey == "Ground floor"


def test_space_and_storey_by_containment(tmp_path):
    m = SmallModel()
    space = m.root("IfcSpace", "101")
    space.LongName = "Bath 2"
    m.aggregate(m.storey, [space])
    basin = m.element("IfcSanitaryTerminal", "Basin", predefined="WASHHANDBASIN", storey=False)
    m.contain(basin, space)
    (element,) = read(m.write(tmp_path)).elements
    assert (element.space, element.storey) == ("Bath 2", "Ground floor")


def test_a_pipe_as_the_realising_element_of_a_link(tmp_path):
    m = SmallModel()
    one = m.element("IfcPipeFitting", "Elbow 1", predefined="BEND", at=m.placement((0, 0, 0)))
    two = m.element("IfcPipeFitting", "Elbow 2", predefined="BEND", at=m.placement((2, 0, 0)))
    pipe = m.pipe((0, 0, 0), (2, 0, 0), name="Between")
    (p,), (q,) = m.ports(one, (0, 0, 0)), m.ports(two, (2, 0, 0))
    m.connect(q, p, through=pipe)
    model = read(m.write(tmp_path))
    pairs = sorted((model.elements[j.a].name, model.elements[j.b].name) for j in model.joints)
    assert pairs == [("Between", "Elbow 1"), ("Between", "Elbow 2")]


@pytest.mark.parametrize("schema", SCHEMAS)
@pytest.mark.parametrize("realising", ["one", "other", "both ways"])
def test_a_part_realises_no_link_of_its_own_port(tmp_path, schema, realising):
    m = SmallModel(schema)
    pipe = m.pipe((0, 0, 0), (1, 0, 0), name="Pipe", type_name="Pipe")
    tee = m.element("IfcPipeFitting", "Tee", predefined="JUNCTION", at=m.placement((1.1, 0, 0)))
    (p, q), (t, _) = m.ports(pipe, (0, 0, 0), (1, 0, 0)), m.ports(tee, (1, 0, 0), (1.2, 0, 0))
    m.connect(q, t, through=tee if realising == "other" else pipe)
    if realising == "both ways":
        m.connect(t, q, through=tee)
        m.connect(p, q)  # what is joined to itself is joined to nothing
    model = read(m.write(tmp_path))
    assert [(model.elements[j.a].name, j.a_end) for j in model.joints] == [("Pipe", 1)]
    assert [(model.elements[j.b].name, j.b_end) for j in model.joints] == [("Tee", 0)]


def test_a_tee_realises_the_links_of_the_pipes_that_meet_in_it(tmp_path):
    m = SmallModel()
    places = (-0.1, 0, 0), (0.1, 0, 0), (0, 0.1, 0)
    tee = m.element("IfcPipeFitting", "Tee", predefined="JUNCTION", at=m.placement((0, 0, 0)))
    m.ports(tee, *places)
    pipes = [m.pipe(p, tuple(10 * x for x in p), name=f"P{n}") for n, p in enumerate(places)]
    mouths = [m.ports(pipe, p)[0] for pipe, p in zip(pipes, places, strict=True)]
    for other in mouths[1:]:
        m.connect(mouths[0], other, through=tee)
    model = read(m.write(tmp_path))
    ends = {model.elements[j.a].name: (model.elements[j.b].name, j.b_end) for j in model.joints}
    assert ends == {"P0": ("Tee", 0), "P1": ("Tee", 1), "P2": ("Tee", 2)}
    assert not any(j.inferred for j in model.joints)


@pytest.mark.parametrize("aside_m", [0.0, 0.3])
@pytest.mark.parametrize("name", ["Tee", "Elbow"])
def test_pipes_linked_past_the_fitting_between_them_are_joined_to_it(tmp_path, name, aside_m):
    m = SmallModel()
    places = [(-0.1, 0, 0), (0, 0.1, 0), (0.1, 0, 0)][: 3 if name == "Tee" else 2]
    part = m.element("IfcPipeFitting", name, at=m.placement((0, 0, aside_m)))
    legs = [(x, y, aside_m) for x, y, _ in places]
    m.ports(part, *legs)
    pipes = [m.pipe(p, tuple(10 * x for x in p), name=f"P{n}") for n, p in enumerate(places)]
    mouths = [m.ports(pipe, p)[0] for pipe, p in zip(pipes, places, strict=True)]
    for other in mouths[1:]:
        m.connect(mouths[0], other)
    model = read(m.write(tmp_path))
    pairs = {frozenset((model.elements[j.a].name, model.elements[j.b].name)) for j in model.joints}
    partners = (
        [(p.Name, name) for p in pipes] if not aside_m else [("P0", p.Name) for p in pipes[1:]]
    )
    assert pairs == set(map(frozenset, partners))


@pytest.mark.parametrize("realising", ["between", "an end"])
def test_elements_joined_by_a_third_between_them(tmp_path, realising):
    m = SmallModel()
    one, two = m.pipe((0, 0, 0), (1, 0, 0), name="P0"), m.pipe((1.2, 0, 0), (2, 0, 0), name="P1")
    valve = m.element("IfcValve", "Valve", predefined="ISOLATING", at=m.placement((1.1, 0, 0)))
    relation = m.root(
        "IfcRelConnectsWithRealizingElements", RelatingElement=one, RelatedElement=two
    )
    relation.RealizingElements = [valve if realising == "between" else two]
    model = read(m.write(tmp_path))
    pairs = {(model.elements[j.a].name, model.elements[j.b].name) for j in model.joints}
    assert pairs == {("P0", "Valve"), ("P1", "Valve")} if realising == "between" else {("P0", "P1")}


def test_ports_without_placement_take_the_ends_of_the_axis(tmp_path):
    m = SmallModel()
    pipe = m.pipe((0, 0, 0), (2, 0, 0), name="Pipe")
    ports = m.ports(pipe, (0, 0, 0), (2, 0, 0), flows=("SINK", "SOURCE"))
    for port in ports:
        port.ObjectPlacement = None
    (element,) = read(m.write(tmp_path)).elements
    assert [e.position for e in element.ends] == [
        pytest.approx((0, 0, 0), abs=1e-9), pytest.approx((2, 0, 0), abs=1e-9)
    ]  # fmt: skip
    assert [e.flow for e in element.ends] == ["in", "out"]


def test_a_short_pipe_has_no_third_end_beside_its_port(tmp_path):
    m = SmallModel()
    pipe = m.pipe((0, 0, 0), (0.012, 0, 0), name="Nipple")
    m.ports(pipe, (-0.008, 0, 0))
    (element,) = read(m.write(tmp_path)).elements
    xs = [round(e.position[0], 4) for e in element.ends]
    assert xs == [-0.008, 0.012]


def test_reading_twice_gives_the_same(tmp_path):
    path = bathroom("IFC4").write(tmp_path)
    assert read(path) == read(path)


@pytest.mark.parametrize("schema", SCHEMAS)
def test_text_and_library_read_the_same(tmp_path, schema, monkeypatch):
    path = bathroom(schema, "FOOT").write(tmp_path)
    from_text = read(path)
    monkeypatch.setattr(occurrences, "_written", lambda text, lines: None)
    monkeypatch.setattr(representations.RepresentationReader, "read", lambda *_: None)
    monkeypatch.setattr(properties, "property_lines", lambda *_: {})
    monkeypatch.setattr(ports, "_as_columns", lambda *_: None)
    monkeypatch.setattr(shapes, "read_swept_disks", lambda *_: {})
    monkeypatch.setattr(extrusions, "EXTRUSION", b"!")
    monkeypatch.setattr(columns, "_parsed", lambda *_: None)
    monkeypatch.setattr(library.Library, "rare", WHOLE)
    assert read(path) == from_text
    assert len(from_text.joints) == 5


@pytest.mark.parametrize("schema", SCHEMAS)
def test_only_rare_instances_are_given_to_the_library(tmp_path, schema, monkeypatch):
    path = bathroom(schema).write(tmp_path)
    with monkeypatch.context() as patch:
        patch.setattr(library.Library, "rare", WHOLE)
        whole = read(path)
    opened = []
    parse = opening._parse

    def counted(plain, *more):
        opened.append(plain.name)
        return parse(plain, *more)

    monkeypatch.setattr(opening, "_parse", counted)
    assert read(path) == whole
    assert opened[0] == "rare.ifc"


@pytest.mark.parametrize(
    ("old", "new"),
    [("'Name'", "'Na''me'"), ("'Name'", "'Name (a'"), ("'Name'", "'Na;me'"),
     ("'Name'", "'a /* b */'"), ("'Name'", "'#1=IFCWALL(;'")],
)  # fmt: skip
def test_odd_text_is_read_all_the_same(tmp_path, old, new):
    m = SmallModel("IFC4")
    m.pipe((0, 0, 0), (1, 0, 0), name="Name")
    path = m.write(tmp_path)
    path.write_text(path.read_text().replace(old, new))
    assert [e.name for e in read(path).elements] == [new[1:-1].replace("''", "'")]


@pytest.mark.parametrize("equals", ["=", "= ", " = "])
def test_a_short_class_name_after_a_space(tmp_path, equals):
    m = SmallModel("IFC4")
    m.element("IfcTank", "Expansion tank", predefined="EXPANSION", at=m.placement((0, 0, 0)))
    m.element("IfcPump", "Pump", at=m.placement((1, 0, 0)))
    m.block("IfcWall", "Wall", (0, 0, 0), (3, 0.1, 3))
    path = m.write(tmp_path)
    path.write_text(re.sub(r"^(#\d+)=", rf"\1{equals}", path.read_text(), flags=re.M))
    model = read(path)
    assert [e.role for e in model.elements] == [Role.TANK, Role.PUMP]
    assert [s.kind for s in model.surfaces] == ["wall"]


def outside_strings(text, change):
    """The text of a file, changed in its data section, but for the strings there."""
    head, data, rest = text.partition("DATA;")
    return head + data + re.sub(r"('(?:[^']|'')*')|[^']+", lambda m: m[1] or change(m[0]), rest)


def in_small_letters(pattern):
    return lambda text: re.sub(pattern, lambda m: m[0].lower(), text)


@pytest.mark.parametrize(
    "change",
    [
        in_small_letters(r"\.[A-Z_]+\."),
        in_small_letters(r"(?<=\.[A-Z])[A-Z_]+\."),
        in_small_letters(r"(?<=IFC)[A-Z]\w+(?=\()"),
        in_small_letters(r"(?<=[^.]I)FC[A-Z]\w+(?=\()"),
        lambda text: re.sub(r"(?<=,)", "  ", in_small_letters(r"\.[A-Z_]+\.")(text)),
        lambda text: text.replace(",", ",  "),
        lambda text: text.replace("(", "(  "),
    ],
    ids=["enumerations", "Enumerations", "IFCClasses", "IfcClasses", "spaces too", "commas", "("],
)
def test_small_letters_and_wide_spaces_change_nothing(tmp_path, change):
    path = bathroom("IFC4", "MILLIMETRE").write(tmp_path)
    usual = read(path)
    path.write_text(outside_strings(path.read_text(), change))
    read_so = read(path)
    assert read_so.elements == usual.elements
    assert (read_so.joints, read_so.notes) == (usual.joints, usual.notes)


def test_small_letters_beside_an_escape(tmp_path):
    m = SmallModel("IFC4")
    m.element("IfcSanitaryTerminal", "Öl", predefined="BIDET", at=m.placement((0, 0, 0)))
    path = m.write(tmp_path)
    path.write_text(path.read_text().replace(".BIDET.", ".bidet."))
    (bidet,) = read(path).elements
    assert (bidet.name, bidet.kind, bidet.predefined_type) == ("Öl", "bidet", "BIDET")


@pytest.mark.parametrize(
    "name", ["Évier de l'îlot", "L'évier", "Évier d'appoint 24\"", "'Évier'", "Lavabo d'angle"]
)
def test_apostrophes_beside_letters_of_other_languages(tmp_path, name):
    """The format doubles the one and escapes the other."""
    m = SmallModel("IFC4")
    m.element("IfcSanitaryTerminal", name, predefined="SINK", at=m.placement((0, 0, 0)))
    (sink,) = read(m.write(tmp_path)).elements
    assert sink.name == name


@pytest.mark.parametrize("encoding", ["utf-8", "latin-1"])
@pytest.mark.parametrize("held", ["name", "type_name"])
def test_letters_written_as_they_are(tmp_path, encoding, held):
    m = SmallModel("IFC4")
    m.pipe((0, 0, 0), (1, 0, 0), shaped=False, **{"type_name": "Std", held: "ZQX"})
    path = m.write(tmp_path)
    path.write_bytes(path.read_bytes().replace(b"ZQX", 'Ü 1½"'.encode(encoding)))
    (pipe,) = read(path).elements
    assert getattr(pipe, held) == 'Ü 1½"'
    assert pipe.size_in == 1.5


def with_line(path, line):
    text = path.read_text()
    path.write_text(text.replace("ENDSEC;\nEND-ISO", f"{line}\nENDSEC;\nEND-ISO"))
    return path


def test_damage_in_what_nothing_refers_to_is_still_noted(tmp_path):
    m = SmallModel("IFC4")
    m.pipe((0, 0, 0), (1, 0, 0), name="Name")
    path = with_line(m.write(tmp_path), "#9999=IFCPROPERTYSINGLEVALUE('a\\a',$,$,$);")
    assert [note.topic for note in read(path).notes if "#9999" in note.what] == ["damage"]


@pytest.mark.parametrize(
    "line",
    ["#9999=IFCDIRECTION((0.,0.,1.);", "#9999=IFCDIRECTION((0.;,0.,1.));", "#99=IFCDIRECTION(",
     "#9999=IFCPROPERTYSINGLEVALUE('\\X2\\00E9\\X0\\\\X2\\00E9\\X0\\',$,$,$);", "", ";;"],
)  # fmt: skip
def test_odd_lines_hide_no_element(tmp_path, line):
    m = SmallModel("IFC4")
    m.pipe((0, 0, 0), (1, 0, 0), name="Name")
    assert [e.name for e in read(with_line(m.write(tmp_path), line)).elements] == ["Name"]


def test_an_instance_that_stands_twice_counts_once(tmp_path):
    m = SmallModel("IFC4")
    m.pipe((0, 0, 0), (1, 0, 0), name="Name")
    path = m.write(tmp_path)
    twice = re.sub(r"(#\d+=IFCPIPESEGMENT.*\n)", r"\1\1", path.read_text())
    path.write_text(twice)
    assert len(read(path).elements) == 1


def test_names_alike_but_for_their_size_are_not_one(tmp_path):
    m = SmallModel("IFC4")
    names = ("Pipe DN100", "Pipe DN150", "Pipe DN 40", "Pipe DN 50", "Pipe 110 mm", "Pipe 160 mm")
    for i, name in enumerate(names):
        m.pipe((0, i, 0), (1, i, 0), name=name, shaped=False)
    sizes = {e.name: e.size_in for e in read(m.write(tmp_path)).elements}
    assert sizes == dict(zip(names, (4, 6, 1.5, 2, 4, 6), strict=True))


@pytest.mark.parametrize("number", ["$", "1.E", "#9"])
def test_a_damaged_point_costs_one_element(tmp_path, number):
    m = SmallModel("IFC4")
    m.pipe((0, 0, 0), (1, 0, 0), name="Whole")
    m.pipe((5, 6, 7), (6, 6, 7), name="Broken")
    path = m.write(tmp_path)
    text = path.read_text()
    assert "((5.,6.,7.))" in text
    path.write_text(text.replace("((5.,6.,7.))", f"((5.,{number},7.))"))
    model = read(path)
    assert {e.name: e.position for e in model.elements} == {"Whole": (0, 0, 0), "Broken": None}
    broken = next(e for e in model.elements if e.name == "Broken")
    assert {(n.topic, n.guid) for n in model.notes} == {("damage", broken.guid), ("damage", "")}


def test_the_text_of_a_file_goes_with_its_reader(tmp_path):
    """Without waiting for the collector, which a command has switched off."""
    path = bathroom("IFC4").write(tmp_path)
    gc.collect()
    gc.disable()
    try:
        model = read([path])
        assert model.elements
        assert not any(isinstance(thing, TextIndex) for thing in gc.get_objects())
    finally:
        gc.enable()
