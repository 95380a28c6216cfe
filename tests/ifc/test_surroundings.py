"""Walls, slabs, roofs, windows, doors and spaces around the plumbing."""

from __future__ import annotations

import re

import pytest

from ifclint.ifc import read
from ifclint.ifc.shape import extrusions
from ifclint.ifc.step import opening
from tests.ifc.small_models import SCHEMAS, SmallModel

NEVER = re.compile(b"(?!)")


def house(schema: str = "IFC4", unit: str = "METRE") -> SmallModel:
    """One of each kind, drawn in each way that is read from text, and a pipe."""
    m = SmallModel(schema, unit)
    drawn = {"indexed": schema != "IFC2X3"}
    m.block("IfcWall", "North", (0, 5, 0), (8, 5.2, 3), **drawn)
    m.block("IfcWallStandardCase", "South", (0, 0, 0), (8, 0.2, 3))
    m.block("IfcSlab", "Floor", (0, 0, -0.2), (8, 5.2, 0), PredefinedType="FLOOR")
    m.block("IfcSlab", "Deck", (0, 0, 3), (8, 5.2, 3.2), PredefinedType="ROOF")
    m.block("IfcRoof", "Canopy", (8, 0, 3), (10, 2, 3.1))
    m.block("IfcWindow", "Window", (1, 0, 1), (2, 0.2, 2), **drawn)
    m.block("IfcDoor", "Door", (3, 0, 0), (4, 0.2, 2.1))
    m.space("Bath", (0, 0.2, 0), (3, 5, 3))
    m.pipe((1, 1, 1), (2, 1, 1), name="Pipe", type_name="Pipe")
    return m


@pytest.fixture
def files_opened(monkeypatch):
    """Names of the files given to the library, as they are opened."""
    names = []
    parse = opening._parse

    def counted(plain, *more):
        names.append(plain.name)
        return parse(plain, *more)

    monkeypatch.setattr(opening, "_parse", counted)
    return names


@pytest.mark.parametrize("unit", ["METRE", "MILLIMETRE", "FOOT"])
@pytest.mark.parametrize("schema", SCHEMAS)
def test_boxes_are_read_at_once_and_one_by_one(tmp_path, schema, unit, monkeypatch, files_opened):
    path = house(schema, unit).write(tmp_path)
    from_text = read(path)
    assert files_opened == ["rare.ifc"]
    found = {s.name: (s.kind, s.low, s.high) for s in from_text.surfaces}
    assert {name: kind for name, (kind, _, _) in found.items()} == {
        "North": "wall", "South": "wall", "Floor": "slab", "Deck": "roof", "Canopy": "roof",
        "Window": "window", "Door": "door",
    }  # fmt: skip
    assert found["North"][1] == pytest.approx((0, 5, 0), abs=1e-9)
    assert found["North"][2] == pytest.approx((8, 5.2, 3))
    (bath,) = from_text.spaces
    assert (bath.name, bath.storey) == ("Bath", "Ground floor")
    assert bath.high == pytest.approx((3, 5, 3))
    assert from_text.notes == []
    monkeypatch.setattr(extrusions, "EXTRUSION", b"!")
    assert read(path) == from_text


@pytest.mark.parametrize(
    "row", ["IFCLINEINDEX((1,2,3)),IFCLINEINDEX((3,4,1))", "IFCLINEINDEX((1,2,3,4,1))"]
)
def test_an_indexed_curve_of_lines_is_followed_from_text(tmp_path, row, files_opened):
    m = SmallModel("IFC4")
    m.block("IfcWall", "W", (1, 1, 0), (3, 2, 3), indexed=True)
    m.pipe((0, 0, 0), (1, 0, 0), name="Pipe")
    path = m.write(tmp_path)
    text = path.read_text()
    path.write_text(re.sub(r"(IFCINDEXEDPOLYCURVE\(#\d+),\$", rf"\1,({row})", text))
    (wall,) = read(path).surfaces
    assert wall.low == pytest.approx((1, 1, 0))
    assert wall.high == pytest.approx((3, 2, 3))
    assert files_opened == ["rare.ifc"]


@pytest.mark.parametrize("row", ["IFCLINEINDEX((1,2,9))", "IFCLINEINDEX((0,2,3))"])
def test_an_indexed_curve_through_points_it_has_not_is_noted(tmp_path, row):
    m = SmallModel("IFC4")
    m.block("IfcWall", "W", (1, 1, 0), (3, 2, 3), indexed=True)
    m.pipe((0, 0, 0), (1, 0, 0), name="Pipe")
    path = m.write(tmp_path)
    text = path.read_text()
    path.write_text(re.sub(r"(IFCINDEXEDPOLYCURVE\(#\d+),\$", rf"\1,({row})", text))
    model = read(path)
    assert model.surfaces == []
    assert [n.topic for n in model.notes] == ["surroundings"]


def test_an_arc_in_an_outline_is_followed(tmp_path, files_opened):
    m = SmallModel("IFC4")
    points = m.file.create_entity("IfcCartesianPointList2D", [[-1.0, 0.0], [0.0, 1.0], [1.0, 0.0]])
    segments = [
        m.file.create_entity("IfcArcIndex", [1, 2, 3]),
        m.file.create_entity("IfcLineIndex", [3, 1]),
    ]
    curve = m.file.create_entity("IfcIndexedPolyCurve", points, segments, False)
    profile = m.file.create_entity("IfcArbitraryClosedProfileDef", "AREA", "Bow, round", curve)
    made = m.root("IfcWall", "Bow", ObjectPlacement=m.placement((0, 0, 0)))
    made.Representation = m.shape(m.raised(profile, 3))
    m.pipe((0, 0, 0), (1, 0, 0), name="Pipe")
    (wall,) = read(m.write(tmp_path)).surfaces
    assert wall.high == pytest.approx((1, 1, 3), abs=1e-3)  # chords of 4 degrees
    assert files_opened == ["rare.ifc"]


def test_the_axis_of_a_wall_is_no_part_of_its_box_and_opens_nothing(tmp_path, files_opened):
    m = SmallModel("IFC4")
    wall = m.block("IfcWall", "W", (0, 0, 0), (4, 0.2, 3))
    line = m.file.create_entity("IfcPolyline", [m.point((0, 0)), m.point((9, 0))])
    axis = m.file.create_entity("IfcShapeRepresentation", m.context, "Axis", "Curve2D", [line])
    wall.Representation.Representations = [axis, *wall.Representation.Representations]
    m.pipe((0, 0, 0), (1, 0, 0), name="Pipe")
    (found,) = read(m.write(tmp_path)).surfaces
    assert found.high == pytest.approx((4, 0.2, 3))
    assert files_opened == ["rare.ifc"]


def test_a_round_column_of_wall_is_the_box_around_its_circle(tmp_path):
    m = SmallModel("IFC4")
    origin = m.file.create_entity("IfcCartesianPoint", [2.0, 0.0])
    circle = m.file.create_entity(
        "IfcCircle", m.file.create_entity("IfcAxis2Placement2D", origin), 0.5
    )
    profile = m.file.create_entity("IfcArbitraryClosedProfileDef", "AREA", None, circle)
    made = m.root("IfcWall", "Round", ObjectPlacement=m.placement((0, 0, 0)))
    made.Representation = m.shape(m.raised(profile, 1))
    m.pipe((0, 0, 0), (1, 0, 0), name="Pipe")
    (wall,) = read(m.write(tmp_path)).surfaces
    assert wall.low == pytest.approx((1.5, -0.5, 0))
    assert wall.high == pytest.approx((2.5, 0.5, 1))


@pytest.mark.parametrize(
    ("pattern", "changed"),
    [
        (r"(IFCWALL\('[^']*',\$,'W',\$,\$,)#\d+", r"\1#99999"),  # placed on nothing
        (r"IFCCARTESIANPOINT\(\(4\.,0\.2\)\)", "IFCCARTESIANPOINT((1.E300,0.2))"),
        (r"IFCCARTESIANPOINT\(\(4\.,0\.2\)\)", "IFCCARTESIANPOINT((1.E9,0.2))"),
        (r"IFCCARTESIANPOINT\(\(4\.,0\.2\)\)", "IFCCARTESIANPOINT((NAN,0.2))"),
        (r"(IFCEXTRUDEDAREASOLID\(.*),3\.\)", r"\1,$)"),
        (r"(IFCARBITRARYCLOSEDPROFILEDEF\(.*),#\d+\)", r"\1,#99999)"),
        (r"IFCPOLYLINE\(\(#\d+", "IFCPOLYLINE((#99999"),
    ],
    ids=["placement", "too far", "too large", "no number", "height", "no curve", "no point"],
)
def test_a_wall_that_cannot_be_read_is_noted_and_not_misplaced(tmp_path, pattern, changed):
    m = SmallModel("IFC4")
    m.block("IfcWall", "W", (0, 0, 0), (4, 0.2, 3))
    m.block("IfcWall", "V", (0, 0, 0), (5, 0.3, 2))
    m.pipe((0, 0, 0), (1, 0, 0), name="Pipe")
    path = m.write(tmp_path)
    text = path.read_text()
    assert re.search(pattern, text)
    path.write_text(re.sub(pattern, changed, text, count=1))
    model = read(path)
    assert [s.name for s in model.surfaces] == ["V"]
    (note,) = (n for n in model.notes if n.topic == "surroundings")
    is_damage = "99999" in changed or "NAN" in changed
    assert [n.topic for n in model.notes if n is not note] == ["damage"] * is_damage
    assert note.what.startswith("The shape or the place of 1 wall cannot be read")
    assert note.remedy


@pytest.mark.parametrize("schema", SCHEMAS)
def test_the_terrain_is_the_shape_of_the_site(tmp_path, schema):
    m = SmallModel(schema, "METRE")
    m.block("IfcSite", "Lot", (-20, -20, -0.5), (20, 20, -0.2))
    (site,) = (s for s in read(m.write(tmp_path)).surfaces if s.kind == "terrain")
    assert (site.low, site.high) == (
        pytest.approx((-20, -20, -0.5)),
        pytest.approx((20, 20, -0.2)),
    )


def test_a_roof_made_of_parts_is_not_missed(tmp_path):
    m = SmallModel("IFC4")
    roof = m.root("IfcRoof", "Roof")
    m.aggregate(roof, [m.block("IfcSlab", "Part", (0, 0, 3), (4, 4, 3.2), PredefinedType="ROOF")])
    m.pipe((0, 0, 0), (1, 0, 0), name="Pipe")
    model = read(m.write(tmp_path))
    assert [(s.name, s.kind) for s in model.surfaces] == [("Part", "roof")]
    assert model.notes == []


@pytest.mark.parametrize(
    ("name", "literal", "kind"),
    [
        ("Roof", None, "roof"),
        ("Basic Roof:Generic - 12in", "NOTDEFINED", "roof"),
        ("Dach über Haus", None, "roof"),
        ("Roof", "FLOOR", "slab"),  # what is stated goes before the name
        ("Ceiling below roof", None, "slab"),
        ("Dachgeschoss", None, "slab"),
        ("Floor", "ROOF", "roof"),
    ],
)
def test_a_slab_that_is_called_a_roof(tmp_path, name, literal, kind):
    m = SmallModel("IFC4")
    m.block("IfcSlab", name, (0, 0, 3), (4, 4, 3.2), PredefinedType=literal)
    m.pipe((0, 0, 0), (1, 0, 0), name="Pipe")
    assert [s.kind for s in read(m.write(tmp_path)).surfaces] == [kind]


@pytest.mark.parametrize("width", [1.6, 5_000.0, 1e7])
def test_a_fixture_larger_than_a_building_has_no_box_and_is_noted(tmp_path, width):
    m = SmallModel("IFC4")
    tub = m.raised(m.polygon((0, 0), (width, 0), (width, 0.8), (0, 0.8)), 0.5)
    m.element(
        "IfcSanitaryTerminal", "Tub", predefined="BATH", at=m.placement((0, 0, 0)),
        shape=m.shape(tub),
    )  # fmt: skip
    model = read(m.write(tmp_path))
    (element,) = model.elements
    real = width < 10
    assert (element.box is not None) is real
    assert [(n.topic, n.guid) for n in model.notes] == ([] if real else [("shape", element.guid)])


# -- exterior ------------------------------------------------------------------------------------

YES, NO = ("IfcBoolean", True), ("IfcBoolean", False)


def exterior_of(tmp_path, m: SmallModel) -> bool | None:
    m.pipe((0, 0, 0), (1, 0, 0), name="Pipe", type_name="Pipe")
    (surface,) = read(m.write(tmp_path)).surfaces
    return surface.exterior


@pytest.mark.parametrize("value", [True, False])
@pytest.mark.parametrize("ifc_class", ["IfcWall", "IfcSlab", "IfcRoof", "IfcWindow", "IfcDoor"])
@pytest.mark.parametrize("schema", SCHEMAS)
def test_exterior_as_the_common_set_says(tmp_path, schema, ifc_class, value):
    m = SmallModel(schema)
    made = m.block(ifc_class, "One", (0, 0, 0), (4, 0.2, 3))
    m.properties(made, f"Pset_{ifc_class[3:]}Common", IsExternal=("IfcBoolean", value))
    assert exterior_of(tmp_path, m) is value


@pytest.mark.parametrize("value", [True, False])
@pytest.mark.parametrize("schema", SCHEMAS)
def test_a_wall_bears_as_its_common_set_says(tmp_path, schema, value):
    m = SmallModel(schema)
    made = m.block("IfcWall", "One", (0, 0, 0), (4, 0.2, 3))
    m.properties(made, "Pset_WallCommon", LoadBearing=("IfcBoolean", value))
    m.pipe((0, 0, 0), (1, 0, 0), name="Pipe", type_name="Pipe")
    (surface,) = read(m.write(tmp_path)).surfaces
    assert (surface.bears, surface.exterior) == (value, None)


def test_exterior_is_not_told_unless_it_is_said(tmp_path):
    m = SmallModel()
    m.block("IfcWall", "One", (0, 0, 0), (4, 0.2, 3))
    assert exterior_of(tmp_path, m) is None


def test_exterior_of_the_type_counts_where_the_wall_says_nothing(tmp_path):
    m = SmallModel()
    made = m.block("IfcWall", "One", (0, 0, 0), (4, 0.2, 3))
    kind = m.type_of(made, "IfcWallType", "Outer", "SOLIDWALL")
    m.properties(kind, "Pset_WallCommon", IsExternal=YES)
    m.properties(made, "Pset_WallCommon", LoadBearing=YES)
    assert exterior_of(tmp_path, m) is True


def test_exterior_of_the_wall_counts_before_its_type(tmp_path):
    m = SmallModel()
    made = m.block("IfcWall", "One", (0, 0, 0), (4, 0.2, 3))
    kind = m.type_of(made, "IfcWallType", "Outer", "SOLIDWALL")
    m.properties(kind, "Pset_WallCommon", IsExternal=YES)
    m.properties(made, "Pset_WallCommon", IsExternal=NO)
    assert exterior_of(tmp_path, m) is False


def test_an_unknown_logical_is_neither_yes_nor_no(tmp_path):
    m = SmallModel()
    made = m.block("IfcWall", "One", (0, 0, 0), (4, 0.2, 3))
    m.properties(made, "Pset_WallCommon", IsExternal=("IfcLogical", "UNKNOWN"))
    assert exterior_of(tmp_path, m) is None


@pytest.mark.parametrize("schema", SCHEMAS)
def test_a_roof_tilted_by_its_placement_keeps_its_corners(tmp_path, schema):
    m = SmallModel(schema, "METRE")
    deck = m.block("IfcSlab", "Deck", (0, 0, 3), (4, 10, 3.2), PredefinedType="ROOF")
    deck.ObjectPlacement = m.placement((0, 0, 3), z=(0, -0.6, 0.8), x=(1, 0, 0))
    wall = m.block("IfcWall", "North", (0, 0, 0), (4, 0.2, 3))
    assert wall is not None
    roof, north = sorted(read(m.write(tmp_path)).surfaces, key=lambda s: s.name)
    assert (roof.kind, north.corners) == ("roof", ())
    ridge = max(roof.corners, key=lambda c: c[2])
    assert ridge[1:] == pytest.approx((8.0 - 0.12, 9.0 + 0.16))  # along the slope 10, then 0.2 up
    assert len(set(roof.corners)) == 8


@pytest.mark.parametrize("schema", SCHEMAS)
def test_chimneys_chutes_and_ducts_are_told_by_class_type_or_name(tmp_path, schema):
    m = SmallModel(schema)
    box = (0, 0, 0), (1, 0.5, 6)
    if schema == "IFC2X3":
        duct = m.block("IfcFlowSegment", "Rectangular", *box)
        m.type_of(duct, "IfcDuctSegmentType", "Rectangular", "RIGIDSEGMENT")
        m.block("IfcBuildingElementProxy", "Chimney, masonry", *box)
        m.block("IfcFlowSegment", "Zuluftkanal 20x12", *box)
    else:
        m.block("IfcDuctSegment", "Rectangular", *box)
        m.block("IfcChimney", "Stack", *box)
    m.block("IfcBuildingElementProxy", "Laundry chute", *box)
    m.block("IfcBuildingElementProxy", "Parachute", *box)
    m.block("IfcBuildingElementProxy", "Sideboard", *box)
    m.pipe((1, 1, 1), (2, 1, 1), name="Ductile iron pipe", type_name="Pipe")
    model = read(m.write(tmp_path))
    ducts = ["duct", "duct"] if schema == "IFC2X3" else ["duct"]
    assert sorted(s.kind for s in model.surfaces) == ["chimney", "chute", *ducts]
    assert all(len(set(s.corners)) == 8 for s in model.surfaces)
    assert [e.name for e in model.elements] == ["Ductile iron pipe"]
