"""Trade sizes from designations, diameters and words."""

from __future__ import annotations

import csv
from importlib.resources import files

import pytest
from fluids.piping import nearest_pipe

from ifclint.ifc import read
from ifclint.ifc.facts.size.diameters import (
    Doubt,
    dn_text,
    dns_of,
    from_drawn_diameter,
    from_inside,
    from_nominal,
    from_outside,
    may_be,
    pipe_sizes,
    trade_sizes,
)
from ifclint.ifc.facts.size.words import from_words
from tests.ifc.small_models import SCHEMAS, SmallModel

IN = 0.0254


@pytest.mark.parametrize(
    ("text", "sizes"),
    [
        ('PVC - DWV 2"', (2,)),
        ('1-1/4"ø-1"ø-1-1/2"ø', (1.25, 1, 1.5)),  # the size of each end
        ('2"ø-90', (2,)),
        ("1-1/2 in copper", (1.5,)),
        ('1 1/2"', (1.5,)),
        ("1½ in", (1.5,)),
        ("DN50", (2,)),
        ("DN 110 PP", (4,)),
        ("Rohr DN20", (0.75,)),
        ("Ø110", (4,)),
        ("ø50 mm", (2,)),
        ("PVC pipe 50 mm", (2,)),
        ('Wye 4"x3"', (4, 3)),
        ("Reducer 4 x 3 in", (4, 3)),
        ('Tee 3"x3"x1-1/2"', (3, 1.5)),
        ("3 in soil stack S-1, level 1", (3,)),
        ("Pipe P-2 in shaft", ()),
        ("Grab bar 36 x 18", ()),
        ("Wall 7 in thick", ()),
        ('3" Overflow Roof Drain with 2" dam', (3,)),
        ('Floor Drain 2" with 6" grate', (2,)),
        ("Level 2", ()),
        ("DN 70", (2.5,)),
        ("HT-Abzweig DN 110/50/45°", (4, 2)),
        ("Bogen DN 110/45", (4,)),  # the second number is an angle
        ("Combination Wye and 1/8 Bend DN80", (3,)),
        ("DN 100 x 80", (4, 3)),
        ("KG-Rohr DN 110 x 1000", (4,)),  # a length
        ("Rohr DN 110x500", (4,)),
        ("Reduktion DN 70/100", (2.5, 4)),
        ("KG 110x3.2", (4,)),
        ("Kupferrohr 22x1,0", (0.75,)),
        ("P-trap 2 in, arm 48 in long", (2,)),
        ("vent 2 in, 14 in above the roof", (2,)),
        ("200 x 118 x 75 mm", ()),  # a product's measures
        ("Tee 110 x 50 mm", (4, 2)),
        ("Box 200 x 118 mm", ()),
        ('6" wall', ()),
        ('2" wall cleanout', (2,)),
        ('Rough-in 12"', ()),
        ('12" rough-in', ()),
        ("Water closet, 10 in R.I.", ()),
        ('Stud wall 6"', ()),
        ('2" pipe in wall', (2,)),
        ("NPS 4", (4,)),
        ("NPS 1-1/2", (1.5,)),
        ("NPS 1/2 pipe", (0.5,)),
        ("D110", (4,)),
        ("Pipe D50", (2,)),
        ("D-110", ()),  # a number of a drain
        ("D45°", ()),
        ("Труба Дн110", (4,)),
        ("Ду50", (2,)),
        ("20×3.4", (0.5,)),
        ("20х3.4", (0.5,)),  # the letter of the Cyrillic alphabet
        ("", ()),
        ('Rohr 1,5"', (1.5,)),
        ('2",3"', (2, 3)),
        ('1/4" per ft', ()),  # a slope
        ("4 in @ 1/4 in/ft", (4,)),
        ('3", 1/8"/foot', (3,)),
        ('1/4":12" 3"', (3,)),
        ("3'-6\" run", ()),  # feet and inches
        ('2" pipe 10\' 4 1/2" long', (2,)),
        ("4'' x 2''", (4, 2)),
        ('H=36" trap 2"', (2,)),
        ("Black steel, Schedule 40 - 1/2 in", (0.5,)),
        ("Sch. 80-1/2 in", (0.5,)),
        ("SDR 11 - 3/4 in", (0.75,)),
        ("Class 150 - 1 1/4 in", (1.25,)),
        ("Schedule 1-1/2 in", (1.5,)),  # a list, and no class
        ("L=150 mm, 50 mm", (2,)),
        ('2" deep seal P-trap', (2,)),
        ('2" deep', ()),
        ("Line regulator 2 psi to 8 in wc with vent limiter", ()),  # a pressure
        ('3/4" regulator, 7" WC', (0.75,)),
        ("Gas range, 4 in. w.c.", ()),
        ("8 inches of water", ()),
        ("6 inches water column, 1 in", (1,)),
        ("10 inH2O", ()),
        ("4 in WC drain", (4,)),  # of a water closet
        ('3" WC outlet', (3,)),
    ],
)
def test_words(text, sizes):
    assert from_words(text) == sizes


def test_a_bare_fraction_is_a_size_only_where_a_size_is_meant():
    assert from_words("1/2") == ()
    assert from_words("1/2", size_property=True) == (0.5,)


@pytest.mark.parametrize(
    ("mm", "size"),
    [(50.8, 2), (50, 2), (51, 2), (38.1, 1.5), (40, 1.5), (100, 4), (101.6, 4), (150, 6),
     (31.75, 1.25), (32, 1.25), (60.3, 2), (12, 0.5), (300, 12), (64, 2.5), (102, 4), (63, 2)],
)  # fmt: skip
def test_nominal_lengths(mm, size):
    assert from_nominal(mm / 1000).size_in == size


@pytest.mark.parametrize(
    ("material", "size"),
    [("", None), ("pvc", None), ("cast iron", 3), ("copper", 3), ("polypropylene", None)],
)
def test_75_mm_is_3_in_or_the_outside_of_metric_pipe(material, size):
    found = from_nominal(0.075, material, use="drainage")
    assert found.size_in == size
    assert found.either == (() if size else (2.5, 3))


@pytest.mark.parametrize("mm", [68, 45, 7, 412])
def test_lengths_between_the_series_are_no_size(mm):
    assert from_nominal(mm / 1000) == from_outside(mm / 1000)
    assert from_nominal(mm / 1000).size_in is None
    assert from_nominal(mm / 1000).doubt is Doubt.NO_SIZE


@pytest.mark.parametrize(
    ("mm", "material", "size"),
    [(60.3, "pvc", 2), (114.3, "steel", 4), (88.9, "steel", 3), (54.0, "copper", 2),
     (28.6, "copper", 1), (22.0, "copper", 0.75), (110, "pvc", 4), (59.7, "cast iron", 2)],
)  # fmt: skip
def test_outside_diameters_by_material(mm, material, size):
    assert from_outside(mm / 1000, material).size_in == size


def test_an_outside_diameter_two_series_share_is_ambiguous():
    # 40 mm is DN 40 waste pipe (1-1/2 in) and DN 32 pressure pipe (1-1/4 in)
    assert from_outside(0.040, "pvc").doubt is Doubt.AMBIGUOUS
    assert from_outside(0.040, "pvc").size_in is None


def test_what_a_pipe_is_used_for_settles_its_series():
    assert from_outside(0.040, "pvc", "drainage").size_in == 1.5
    assert from_outside(0.040, "pvc", "supply").size_in == 1.25
    assert from_outside(0.040).doubt is Doubt.AMBIGUOUS


@pytest.mark.parametrize(
    ("mm", "material", "size"),
    [(76.1, "steel", 2.5), (58, "cast iron", 2), (78, "cast iron", 2.5), (118, "ductile iron", 4),
     (186, "vitrified clay", 6), (26, "multilayer", 0.75), (16, "pex", 0.5),
     (63, "polyethylene", 2),
     (110, "polypropylene", 4), (400, "pvc", 16), (18, "copper", 0.5), (355.6, "steel", 14)],
)  # fmt: skip
def test_european_outside_diameters(mm, material, size):
    found = from_outside(mm / 1000, material)
    assert (found.size_in, found.by_dn) == (size, True)


def test_a_copper_tube_that_britain_and_the_rest_name_differently_is_ambiguous():
    assert from_outside(0.0761, "copper").doubt is Doubt.AMBIGUOUS


@pytest.mark.parametrize(
    ("mm", "material", "size"),
    [(239, "pvc", 10), (103.6, "pvc", 4), (400, "concrete", 16), (13.0, "copper", 0.5),
     (26.0, "multilayer", 1), (200, "vitrified clay", 8)],
)  # fmt: skip
def test_bores(mm, material, size):
    assert from_inside(mm / 1000, material).size_in == size


def test_a_bore_between_two_sizes_is_none_and_says_between_which():
    found = from_inside(0.297, "concrete")
    assert (found.size_in, found.doubt) == (None, Doubt.NO_SIZE)
    found = from_inside(0.280, "concrete")
    assert found.nearest == "between DN 250 (250.0 mm) and DN 300 (300.0 mm)"


@pytest.mark.parametrize(("size", "dn"), [(0.5, "DN 15"), (2, "DN 50"), (4, "DN 100")])
def test_the_dn_a_size_stands_for(size, dn):
    assert dn_text(size) == dn


def test_every_trade_size_has_a_dn() -> None:
    assert all(float(dn_text(size).removeprefix("DN ")) in dns_of(size) for size in trade_sizes())
    assert dn_text(0.25) == "DN 8"


def test_what_a_pipe_of_a_size_may_measure():
    assert may_be(0.1143, 4)
    assert may_be(0.100, 4)
    assert may_be(0.1022, 4)
    assert not may_be(0.1143, 3)


def test_a_pipe_drawn_at_its_nominal_size():
    assert from_drawn_diameter(2 * IN).size_in == 2
    assert from_drawn_diameter(2.375 * IN, "pvc").size_in == 2
    # half an inch across: a 1/2 in pipe drawn at nominal size, or 3/8 in copper
    assert from_drawn_diameter(0.5 * IN, "copper").doubt is Doubt.AMBIGUOUS


def test_outside_diameters_agree_with_an_independent_source():
    checked = 0
    for size in pipe_sizes():
        if size.series == "iron pipe size" and size.nominal_in <= 12:
            nps, _, outside, _ = nearest_pipe(NPS=size.nominal_in, schedule="40")
            assert nps == size.nominal_in
            assert size.outside_mm == pytest.approx(outside * 1000, abs=0.15)
            checked += 1
    assert checked >= 12


def test_the_size_table_is_complete_and_in_order():
    with (
        files("ifclint.engineering").joinpath("pipe_dimensions.csv").open(encoding="utf-8") as file
    ):
        rows = list(csv.DictReader(file))
    assert all(r["source"].strip() for r in rows)
    by_series: dict[str, list] = {}
    for size in pipe_sizes():
        by_series.setdefault(size.series, []).append(size)
        if size.inside_mm and size.outside_mm:
            assert size.inside_mm < size.outside_mm
        if size.inside_least_mm:
            assert size.inside_least_mm < size.inside_mm
        # a DN is a size in quarter inches of 25 mm, or the trade size next to it
        assert 0.72 <= size.dn_mm / (25 * size.nominal_in) <= 1.3, size
    for sizes in by_series.values():
        nominal = [s.nominal_in for s in sizes]
        assert nominal == sorted(nominal)
        outside = [s.outside_mm for s in sizes if s.outside_mm]
        assert outside == sorted(set(outside))
    # one DN stands for one trade size, whatever the series
    assert len({(s.dn_mm, s.nominal_in) for s in pipe_sizes()}) == len(
        {s.dn_mm for s in pipe_sizes()}
    )


# -- in a model ------------------------------------------------------------------------------


def one_pipe(schema="IFC4", unit="MILLIMETRE", **more):
    m = SmallModel(schema, unit)
    return m, m.pipe((0, 0, 0), (1, 0, 0), **({"name": "P", "type_name": "T"} | more))


def type_of(m):
    return m.file.by_type("IfcPipeSegmentType")[0]


@pytest.mark.parametrize("schema", SCHEMAS)
@pytest.mark.parametrize(("unit", "value"), [("MILLIMETRE", 50.8), ("FOOT", 2 / 12), ("INCH", 2.0)])
def test_nominal_diameter_of_the_type(tmp_path, schema, unit, value):
    m, _ = one_pipe(schema, unit)
    m.properties(
        type_of(m), "Pset_PipeSegmentTypeCommon",
        NominalDiameter=("IfcPositiveLengthMeasure", value),
    )  # fmt: skip
    (pipe,) = read(m.write(tmp_path)).elements
    assert pipe.size_in == 2
    assert pipe.basis["size"].words == "Pset_PipeSegmentTypeCommon.NominalDiameter of the type"


def test_an_occurrence_overrides_its_type(tmp_path):
    m, pipe = one_pipe()
    for holder, value in ((type_of(m), 50.8), (pipe, 76.2)):
        m.properties(
            holder, "Pset_PipeSegmentTypeCommon",
            NominalDiameter=("IfcPositiveLengthMeasure", value),
        )  # fmt: skip
    (element,) = read(m.write(tmp_path)).elements
    assert element.size_in == 3
    assert element.basis["size"].words == "Pset_PipeSegmentTypeCommon.NominalDiameter"


@pytest.mark.parametrize("kind", ["list", "bounded", "enumerated"])
def test_other_property_shapes(tmp_path, kind):
    m, pipe = one_pipe()
    value = m.file.create_entity("IfcPositiveLengthMeasure", 100.0)
    if kind == "list":
        made = m.file.create_entity("IfcPropertyListValue", "NominalDiameter", None, [value])
    elif kind == "bounded":
        made = m.file.create_entity(
            "IfcPropertyBoundedValue", "NominalDiameter", None, value, value
        )
    else:
        made = m.file.create_entity("IfcPropertyEnumeratedValue", "NominalDiameter", None, [value])
    m.property_set(pipe, "Pset_PipeSegmentTypeCommon", [made])
    assert read(m.write(tmp_path)).elements[0].size_in == 4


@pytest.mark.parametrize(
    ("name", "measure", "value", "size"),
    [
        ("DN", "IfcReal", 80.0, 3),
        ("DN", "IfcLabel", "DN 80", 3),
        ("Nennweite", "IfcInteger", 50, 2),
        ("Size", "IfcText", '1-1/4"', 1.25),
        ("Size", "IfcLabel", "1 1/2", 1.5),
        ("Nominal Diameter", "IfcLengthMeasure", 100.0, 4),
        ("NOMINAL_DIAMETER", "IfcReal", 100.0, 4),
        ("Диаметр", "IfcLabel", "100", 4),
        ("公称直径", "IfcLabel", "DN100", 4),
    ],
)
def test_sizes_under_other_names(tmp_path, name, measure, value, size):
    m, pipe = one_pipe()
    m.property_set(pipe, "Mechanical", [m.single(name, measure, value)])
    (element,) = read(m.write(tmp_path)).elements
    assert element.size_in == size
    assert element.basis["size"].words.startswith("Mechanical.")


def test_a_stated_size_that_is_none_stays_unknown_and_is_noted(tmp_path):
    m, pipe = one_pipe()
    m.properties(
        pipe, "Pset_PipeSegmentTypeCommon", NominalDiameter=("IfcPositiveLengthMeasure", 45.0)
    )
    model = read(m.write(tmp_path))
    assert model.elements[0].size_in is None
    (note,) = model.notes
    assert "45 mm, which is no pipe size (it lies between DN 32 (42.4 mm) and" in note.what
    assert note.guid == model.elements[0].guid


@pytest.mark.parametrize(
    ("unit", "stated", "outside_m", "size", "told"),
    [
        ("METRE", 50.8, 0.0603, 2, "taken as millimetres, it is 2 in"),
        ("METRE", 50.8, None, 2, "taken as millimetres, it is 2 in"),
        ("METRE", 0.5, 0.0213, 0.5, "taken as inches, it is 1/2 in"),  # 500 mm is a size as well
        ("MILLIMETRE", 2.0, 0.0603, 2, "taken as inches, it is 2 in"),
        ("MILLIMETRE", 0.5, None, 0.5, "taken as inches, it is 1/2 in"),
        ("FOOT", 2.0, 0.0603, 2, "taken as inches, it is 2 in"),
        ("INCH", 50.8, 0.0603, 2, "taken as millimetres, it is 2 in"),
        ("MILLIMETRE", 1.0, 0.0603, 2, "1 mm, which is no size of any pipe"),
        ("MILLIMETRE", 50.8, 0.0603, 2, ""),  # in the unit of the file
        ("MILLIMETRE", 50.8, 0.0213, 2, "the first was taken"),  # in no unit what is drawn
        ("MILLIMETRE", 45.0, 0.0603, None, "45 mm, which is no pipe size"),
        ("METRE", 1.5, None, None, "1500 mm, which is no pipe size"),  # a pipe may be so wide
    ],
)  # fmt: skip
def test_sizes_told_in_another_unit_than_the_file_s(tmp_path, unit, stated, outside_m, size, told):
    m = SmallModel("IFC4", unit)
    for y in (0.0, 1.0):
        drawn = outside_m is not None
        pipe = m.pipe((0, y, 0), (1, y, 0), diameter=outside_m or 1.0, shaped=drawn)
        m.properties(
            pipe, "Pset_PipeSegmentTypeCommon", NominalDiameter=("IfcPositiveLengthMeasure", stated)
        )
    model = read(m.write(tmp_path))
    assert [e.size_in for e in model.elements] == [size, size]
    assert len({note.cause for note in model.notes}) == bool(told)
    assert all(told in note.what for note in model.notes)


@pytest.mark.parametrize("blank", [0.0, 1e-6, 0.05])
def test_a_size_left_at_zero_is_not_stated(tmp_path, blank):
    m, pipe = one_pipe(diameter=0.1143)
    m.properties(
        pipe, "Pset_PipeSegmentTypeCommon", NominalDiameter=("IfcPositiveLengthMeasure", blank),
        OuterDiameter=("IfcPositiveLengthMeasure", 107.3),
    )  # fmt: skip
    assert read(m.write(tmp_path)).elements[0].size_in == 4


def test_an_ambiguous_outside_diameter_stays_unknown_and_is_noted(tmp_path):
    m, pipe = one_pipe(shaped=False)
    m.material(pipe, "PVC")
    m.properties(pipe, "Data", OuterDiameter=("IfcPositiveLengthMeasure", 40.0))
    model = read(m.write(tmp_path))
    assert model.elements[0].size_in is None
    assert model.elements[0].properties["outside_diameter_m"] == pytest.approx(0.04)
    assert "40.0 mm, which fits more than one pipe size" in model.notes[0].what


def test_material_profile_set(tmp_path):
    m, _pipe = one_pipe(shaped=False)
    steel = m.file.create_entity("IfcMaterial", "Galvanized steel")
    profile = m.file.create_entity(
        "IfcMaterialProfile", "P", None, steel, m.round_profile(0.1143, 0.006)
    )
    made = m.file.create_entity("IfcMaterialProfileSet", "Set", None, [profile])
    m.root("IfcRelAssociatesMaterial", RelatedObjects=[type_of(m)], RelatingMaterial=made)
    (element,) = read(m.write(tmp_path)).elements
    assert (element.size_in, element.material) == (4, "galvanized steel")
    assert element.basis["size"].words == "diameter of the material profile"


def test_sizes_of_ports(tmp_path):
    m = SmallModel("IFC4", "MILLIMETRE")
    reducer = m.element(
        "IfcPipeFitting", "Reducer", predefined="TRANSITION", at=m.placement((0, 0, 0))
    )
    for port, value in zip(m.ports(reducer, (0, 0, 0), (0.1, 0, 0)), (100.0, 76.2), strict=True):
        m.properties(
            port, "Pset_DistributionPortTypePipe",
            NominalDiameter=("IfcPositiveLengthMeasure", value),
        )  # fmt: skip
    (element,) = read(m.write(tmp_path)).elements
    assert [e.size_in for e in element.ends] == [4, 3]


def test_drain_size_of_a_fixture(tmp_path):
    m = SmallModel("IFC4", "FOOT")
    sink = m.element("IfcSanitaryTerminal", "Sink 24 in wide", predefined="SINK")
    m.properties(
        sink, "Pset_SanitaryTerminalTypeSink",
        DrainSize=("IfcPositiveLengthMeasure", 1.5 / 12),
    )  # fmt: skip
    assert read(m.write(tmp_path)).elements[0].size_in == 1.5


@pytest.mark.parametrize(
    ("name", "size"),
    [("Roof Drain 4 in", 4), ("Roof Drain", None), ("Roof Drain 8 in dome 4 in outlet", None)],
)
def test_the_name_of_a_roof_drain_tells_its_outlet(tmp_path, name, size):
    m = SmallModel("IFC4", "FOOT")
    m.element("IfcWasteTerminal", name, predefined="ROOFDRAIN")
    assert read(m.write(tmp_path)).elements[0].size_in == size


def test_an_inside_diameter_tells_the_size_where_nothing_else_does(tmp_path):
    m, pipe = one_pipe(shaped=False)
    m.material(pipe, "PVC")
    m.properties(pipe, "Data", InnerDiameter=("IfcPositiveLengthMeasure", 237.6))
    (element,) = read(m.write(tmp_path)).elements
    assert (element.size_in, element.basis["size"].words) == (10, "Data.InnerDiameter")
    assert element.properties["designation"] == "DN 250"


@pytest.mark.parametrize(
    ("system", "size"), [("SEWAGE", 1.5), ("DOMESTICCOLDWATER", 1.25), ("NOTDEFINED", None)]
)
def test_the_system_settles_which_series_a_plastic_pipe_is(tmp_path, system, size):
    m, pipe = one_pipe(shaped=False)
    m.material(pipe, "PVC")
    m.system("S", [pipe], system)
    m.properties(pipe, "Data", OuterDiameter=("IfcPositiveLengthMeasure", 40.0))
    assert read(m.write(tmp_path)).elements[0].size_in == size


def test_a_model_in_inches_has_no_dn(tmp_path):
    m, pipe = one_pipe()
    m.properties(pipe, "Data", NominalDiameter=("IfcPositiveLengthMeasure", 50.8))
    (element,) = read(m.write(tmp_path)).elements
    assert element.size_in == 2
    assert "designation" not in element.properties


def test_a_profile_between_sizes_says_which_and_that_it_may_be_a_bore(tmp_path):
    m, pipe = one_pipe(shaped=False)
    concrete = m.file.create_entity("IfcMaterial", "concrete")
    profile = m.file.create_entity(
        "IfcMaterialProfile", "P", None, concrete, m.round_profile(0.4, 0.06)
    )
    made = m.file.create_entity("IfcMaterialProfileSet", "Set", None, [profile])
    m.root("IfcRelAssociatesMaterial", RelatedObjects=[pipe], RelatingMaterial=made)
    model = read(m.write(tmp_path))
    assert model.elements[0].size_in is None
    (note,) = model.notes
    assert "280.0 mm" in note.what
    assert "between DN 250 (250.0 mm) and DN 300 (300.0 mm)" in note.what
    assert "400.0 mm, would be the bore of DN 400" in note.what


# -- places that disagree --------------------------------------------------------------------


def conflict(tmp_path, m):
    model = read(m.write(tmp_path))
    (note,) = [n for n in model.notes if n.topic == "size"]
    assert note.guid == model.elements[0].guid
    return model.elements[0], note.what


def test_a_property_and_a_name_that_disagree_are_noted(tmp_path):
    m, pipe = one_pipe(name="Soil pipe 3 in", diameter=0.1143)
    m.properties(pipe, "Data", NominalDiameter=("IfcPositiveLengthMeasure", 101.6))
    element, what = conflict(tmp_path, m)
    assert element.size_in == 4
    assert "is 4 in by Data.NominalDiameter (101.6 mm) but 3 in by name" in what
    assert "the first was taken" in what


def test_a_type_property_and_a_shape_that_disagree_are_noted(tmp_path):
    m, _pipe = one_pipe(diameter=0.1143)
    m.properties(type_of(m), "Data", NominalDiameter=("IfcPositiveLengthMeasure", 50.8))
    element, what = conflict(tmp_path, m)
    assert element.size_in == 2
    assert "2 in by Data.NominalDiameter of the type (50.8 mm)" in what
    assert "4 in by diameter of the extruded solid (114.3 mm)" in what


def test_a_name_and_a_shape_that_disagree_are_noted(tmp_path):
    m, _pipe = one_pipe(name="DN 50", diameter=0.110)
    element, what = conflict(tmp_path, m)
    assert element.size_in == 2
    assert 'DN 50 by name ("DN 50") but DN 100 by diameter of the extruded solid' in what


def test_an_inside_diameter_that_is_not_the_one_drawn_is_noted(tmp_path):
    m, pipe = one_pipe()
    pipe.Representation = m.shape(m.extrusion(0.1143, 1.0, 0.006))
    m.properties(
        pipe, "Data", NominalDiameter=("IfcPositiveLengthMeasure", 100.0),
        InnerDiameter=("IfcPositiveLengthMeasure", 95.0),
    )  # fmt: skip
    _, what = conflict(tmp_path, m)
    assert "95.0 mm wide inside by Data.InnerDiameter but 102.3 mm by the extruded solid" in what


@pytest.mark.parametrize("diameter", [0.0508, 0.0603, 0.0525])
def test_a_pipe_drawn_at_any_diameter_of_its_size_is_no_conflict(tmp_path, diameter):
    m, pipe = one_pipe(diameter=diameter, name="Pipe 2 in")
    m.properties(pipe, "Data", NominalDiameter=("IfcPositiveLengthMeasure", 50.8))
    assert read(m.write(tmp_path)).notes == []


def test_dn_of_plastics_in_small_letters_is_an_outside_diameter():
    assert from_words("Dn20", "polypropylene") == from_words("20×3.4", "polypropylene") == (0.5,)
    assert from_words("DN20", "polypropylene") == (0.75,)
    assert from_words("Dn20", "copper") == (0.75,)


@pytest.mark.parametrize(("text", "designation"), [("DN15 mm", "DN 15"), ("DN12", "DN 12")])
def test_a_dn_is_shown_as_it_is_written(tmp_path, text, designation):
    m = SmallModel("IFC4", "METRE")
    m.element("IfcPipeSegment", f"Pipe {text}")
    (pipe,) = read(m.write(tmp_path)).elements
    assert pipe.size_in == 0.5
    assert pipe.properties["designation"] == designation


@pytest.mark.parametrize(
    ("text", "sizes"),
    [
        ("0' - 2\"", (2,)),
        ("0'-1 1/2\"", (1.5,)),
        ("0' - 0 3/4\"", (0.75,)),
        ("1'-0\"", (12,)),
        ("10'-2\"", ()),  # a length
        ("1'-2\"", ()),
    ],
)
def test_a_size_may_be_told_in_feet_and_inches_but_not_in_a_name(text, sizes):
    assert from_words(text, size_property=True) == sizes
    assert from_words(text) == ()


@pytest.mark.parametrize(
    ("text", "sizes"),
    [
        ("100ø", (4,)), ("100ø-100ø-50ø", (4, 2)), ("φ100", (4,)), ("Φ50", (2,)), ("4ø", ()),
        ('4"ø', (4,)), ("100A", (4,)), ("100A x 50A", (4, 2)), ("20 A", (0.75,)), ("100AB", ()),
    ],
)  # fmt: skip
def test_a_number_before_the_sign_of_a_diameter_or_a_japanese_a(text, sizes):
    assert from_words(text, size_property=True) == sizes


def test_an_a_is_no_size_in_words():
    assert from_words("Pump 20A") == ()


@pytest.mark.parametrize(
    ("text", "sizes"),
    [("50 mmø", (2,)), ("50.0 mmø", (2,)), ("100 mmØ-50 mmØ", (4, 2)), ("50 mmx", ())],
)
def test_a_diameter_sign_may_stand_behind_the_unit(text, sizes):
    assert from_words(text, size_property=True) == sizes


@pytest.mark.parametrize(
    ("mm", "use", "size"),
    [(20.0, "supply", 0.5), (20.0, "drainage", 0.5), (50.0, "drainage", 2), (50.0, "supply", 1.5),
     (63.0, "drainage", 2), (22.0, "drainage", None)],
)  # fmt: skip
def test_pipe_of_one_series_has_its_size_whatever_it_is_used_for(mm, use, size):
    """But where its width is made for that use as well."""
    assert from_outside(mm / 1000, "polypropylene", use).size_in == size


def test_a_drain_of_water_pipe_is_as_large_as_that_is(tmp_path):
    m = SmallModel()
    pipe = m.pipe((0, 0, 0), (1, 0, -0.02), name="PPR PN20 20x3.4", diameter=0.02)
    m.material(pipe, "PPR")
    m.system("Soil", [pipe], "SEWAGE")
    (read_pipe,) = read(m.write(tmp_path)).elements
    assert read_pipe.size_in == 0.5


@pytest.mark.parametrize(
    ("unit", "written", "name", "size"),
    [
        ("INCH", 0.625, "Water meter", 0.625), ("MILLIMETRE", 15.875, "Water meter", 0.625),
        ("MILLIMETRE", 16.0, "Water meter", 0.625), ("MILLIMETRE", 15.0, "Water meter", 0.5),
        ("MILLIMETRE", 20.0, "Water meter", 0.75), ("MILLIMETRE", 0.0, "Water meter 5/8 in", 0.625),
        ("MILLIMETRE", 0.0, "Water meter 5/8 x 3/4 in", 0.625),
        ("MILLIMETRE", 0.0, "Water meter 3/4 in", 0.75),
    ],
)  # fmt: skip
def test_a_water_meter_of_five_eighths(tmp_path, unit, written, name, size):
    m = SmallModel("IFC4", unit)
    meter = m.element("IfcFlowMeter", name, predefined="WATERMETER")
    for port in m.ports(meter, (0, 0, 0), (1, 0, 0)):
        if written:
            m.properties(
                port, "Pset_DistributionPortTypePipe",
                NominalDiameter=("IfcPositiveLengthMeasure", written),
            )  # fmt: skip
    (element,) = read(m.write(tmp_path)).elements
    assert element.size_in == size
