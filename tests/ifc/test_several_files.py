"""Several files of one building: one system of coordinates, one set of storeys, joined pipes."""

from __future__ import annotations

import math
import zipfile

import pytest

from ifclint.errors import InputError
from ifclint.ifc import read
from ifclint.ifc.building.federation import CHECK
from ifclint.ifc.building.georeference import Georeference
from tests.ifc.small_models import SmallModel
from tests.ifc.test_reading import bathroom

HERE, EAST, NORTH = (1000.0, 2000.0, 50.0), (1010.0, 2000.0, 50.0), (1000.0, 2020.0, 50.0)


def one_pipe(start, end, name, schema="IFC4", unit="METRE") -> SmallModel:
    m = SmallModel(schema, unit, first=1000 * ord(name[0]))
    m.pipe(start, end, name=name, type_name="Pipe")
    return m


def on_map(m: SmallModel, origin, turned=0.0, crs="EPSG:25832", scale=None, unit=None) -> None:
    """Say where on a map the zero point of the file lies (metres of the map's unit)."""
    create = m.file.create_entity
    target = create("IfcProjectedCRS", Name=crs, MapUnit=unit)
    create(
        "IfcMapConversion", m.context, target, *(float(c) for c in origin),
        math.cos(turned), math.sin(turned), scale,
    )  # fmt: skip


def metre(m: SmallModel):
    return m.file.create_entity("IfcSIUnit", UnitType="LENGTHUNIT", Name="METRE")


def together(tmp_path, *models: SmallModel):
    return read([m.write(tmp_path, f"{'abc'[i]}.ifc") for i, m in enumerate(models)])


def places(model) -> dict[str, list]:
    return {e.name: [end.position for end in e.ends] for e in model.elements}


# -- one origin ----------------------------------------------------------------------------------


def building(tmp_path, order):
    architecture = SmallModel("IFC2X3", "FOOT")
    architecture.block("IfcWall", "Wall", (0, -0.2, 0), (6, 0, 3))
    architecture.space("Bath", (0, 0, 0), (3, 3, 2.5))
    architecture.space("Hall", (3, 0, 0), (6, 3, 2.5))
    lower = one_pipe((1, 1, 1), (2, 1, 1), "Lower", "IFC4", "MILLIMETRE")
    upper = one_pipe((2, 1, 1), (2, 1, 2), "Upper", "IFC4X3_ADD2", "METRE")
    lower.storey.Name, upper.storey.Name = "00", "Level 0"
    written = {
        "architecture": architecture.write(tmp_path, "a.ifc"),
        "lower": lower.write(tmp_path, "l.ifc"),
        "upper": upper.write(tmp_path, "u.ifc"),
    }
    return read([written[name] for name in order])


@pytest.mark.parametrize(
    "order", [("architecture", "lower", "upper"), ("upper", "lower", "architecture")]
)
def test_three_schemas_and_units_make_one_building(tmp_path, order):
    model = building(tmp_path, order)
    assert model.notes == []
    assert len(model.files) == 3
    (joint,) = model.joints
    assert joint.inferred
    assert {model.elements[joint.a].name, model.elements[joint.b].name} == {"Lower", "Upper"}
    (wall,) = model.surfaces
    assert wall.high == pytest.approx((6, 0, 3), abs=1e-9)
    first = {"architecture": "Ground floor", "upper": "Level 0"}[order[0]]
    assert [s.name for s in model.storeys] == [first]  # all three lie at 0
    assert {e.storey for e in model.elements} == {first}
    assert {e.space for e in model.elements} == {"Bath"}
    assert {s.storey for s in model.spaces} == {first}


def test_zipped_files_go_together_too(tmp_path):
    paths = []
    for name, m in (("a", one_pipe((0, 0, 0), (1, 0, 0), "A")),
                    ("b", one_pipe((1, 0, 0), (2, 0, 0), "B", "IFC2X3", "FOOT"))):  # fmt: skip
        paths.append(tmp_path / f"{name}.ifczip")
        with zipfile.ZipFile(paths[-1], "w", zipfile.ZIP_DEFLATED) as archive:
            archive.write(m.write(tmp_path, "inside.ifc"), "inside.ifc")
    model = read(paths)
    assert len(model.joints) == 1
    assert [f.name for f in model.files] == ["a.ifczip", "b.ifczip"]


def test_the_placement_of_the_site_counts(tmp_path):
    a = one_pipe((10, 5, 0), (11, 5, 0), "A")
    b = one_pipe((1, 0, 0), (2, 0, 0), "B", unit="MILLIMETRE")
    site = b.root("IfcSite", "Site", ObjectPlacement=b.placement((10, 5, 0)))
    b.aggregate(b.project, [site])
    (pipe,) = b.file.by_type("IfcPipeSegment")
    pipe.ObjectPlacement.PlacementRelTo = site.ObjectPlacement
    model = together(tmp_path, a, b)
    assert len(model.joints) == 1
    assert places(model)["B"][0] == pytest.approx((11, 5, 0))
    assert model.notes == []


# -- world coordinate systems --------------------------------------------------------------------


def test_a_world_coordinate_system_counts_between_files_and_is_told(tmp_path):
    a = one_pipe((100, 0, 0), (101, 0, 0), "A")
    b = one_pipe((1, 0, 0), (2, 0, 0), "B", unit="MILLIMETRE")
    b.context.WorldCoordinateSystem = b.axes((100, 0, 0))
    model = together(tmp_path, a, b)
    assert len(model.joints) == 1
    assert places(model)["B"][1] == pytest.approx((102, 0, 0))
    (note,) = model.notes
    assert note.topic == "placement"
    assert note.what == (
        "b.ifc was moved by (100.000, 0.000, 0.000) m and turned by 0.00°, as it and a.ifc say "
        "where they lie."
    )
    assert note.remedy == CHECK


def test_a_world_coordinate_system_both_share_moves_nothing(tmp_path):
    a, b = one_pipe((0, 0, 0), (1, 0, 0), "A"), one_pipe((1, 0, 0), (2, 0, 0), "B")
    for m in (a, b):
        m.context.WorldCoordinateSystem = m.axes((500, 0, 7), x=(0, 1, 0), z=(0, 0, 1))
    model = together(tmp_path, a, b)
    assert places(model)["A"][0] == pytest.approx((0, 0, 0))
    assert len(model.joints) == 1
    assert model.notes == []


def test_one_file_keeps_its_own_coordinates(tmp_path):
    a = one_pipe((0, 0, 0), (1, 0, 0), "A")
    a.context.WorldCoordinateSystem = a.axes((500, 0, 7))
    on_map(a, HERE)
    model = together(tmp_path, a)
    assert places(model)["A"][0] == pytest.approx((0, 0, 0))
    assert model.notes == []


def test_a_turned_file_is_turned_back_with_all_that_is_in_it(tmp_path):
    a = one_pipe((0, 0, 0), (1, 0, 0), "A")
    b = SmallModel("IFC4", "FOOT")
    b.context.WorldCoordinateSystem = b.axes((1, 0, 3), z=(0, 0, 1), x=(0, 1, 0))  # 90° left
    b.storey.Elevation = 0.0
    b.pipe((0, 0, -3), (0, -1, -3), name="B", type_name="Pipe")
    b.block("IfcWall", "Wall", (0, 0, 0), (4, 0.2, 3))
    b.space("Bath", (0, -2, -4), (2, 0, -1))
    b.element(
        "IfcSanitaryTerminal", "Basin", predefined="WASHHANDBASIN", at=b.placement((1, -1, -3)),
        shape=b.shape(b.raised(b.polygon((0, 0), (0.6, 0), (0.6, 0.4), (0, 0.4)), 0.2)),
    )  # fmt: skip
    model = together(tmp_path, a, b)
    assert places(model)["B"] == [
        pytest.approx((1, 0, 0), abs=1e-9), pytest.approx((2, 0, 0), abs=1e-9)
    ]  # fmt: skip
    assert len(model.joints) == 1
    (wall,) = model.surfaces
    assert wall.low == pytest.approx((0.8, 0, 3), abs=1e-9)
    assert wall.high == pytest.approx((1, 4, 6), abs=1e-9)
    basin = next(e for e in model.elements if e.name == "Basin")
    assert basin.position == pytest.approx((2, 1, 0), abs=1e-9)
    assert basin.box[0] == pytest.approx((1.6, 1, 0), abs=1e-9)
    assert basin.space == "Bath"
    assert [s.elevation_m for s in model.storeys] == [0.0, pytest.approx(3.0)]
    assert any("turned by 90.00°" in n.what for n in model.notes)


def test_every_port_is_moved_once(tmp_path):
    a = one_pipe((0, 0, 0), (1, 0, 0), "A")
    there = read(bathroom("IFC4", "FOOT").write(tmp_path, "b.ifc"))
    b = bathroom("IFC4", "FOOT")
    b.context.WorldCoordinateSystem = b.axes((10, 20, 30))
    moved = together(tmp_path, a, b).elements[1:]
    assert len(moved) == 6
    for one, other in zip(there.elements, moved, strict=True):
        before = [one.position, *(e.position for e in one.ends)]
        after = [other.position, *(e.position for e in other.ends)]
        assert after == [pytest.approx((x + 10, y + 20, z + 30)) for x, y, z in before]


# -- map conversions -----------------------------------------------------------------------------


def test_map_conversions_that_differ_bring_the_files_together(tmp_path):
    a, b = one_pipe((10, 0, 0), (11, 0, 0), "A"), one_pipe((1, 0, 0), (2, 0, 0), "B")
    on_map(a, HERE)
    on_map(b, EAST)
    model = together(tmp_path, a, b)
    assert places(model)["B"][0] == pytest.approx((11, 0, 0))
    assert len(model.joints) == 1
    assert "moved by (10.000, 0.000, 0.000) m" in model.notes[0].what


def test_map_conversions_alike_move_nothing(tmp_path):
    a, b = one_pipe((0, 0, 0), (1, 0, 0), "A"), one_pipe((1, 0, 0), (2, 0, 0), "B")
    on_map(a, HERE, 0.3)
    on_map(b, HERE, 0.3)
    model = together(tmp_path, a, b)
    assert len(model.joints) == 1
    assert model.notes == []


def test_map_conversions_turned_against_each_other(tmp_path):
    quarter = math.pi / 2
    a, b = one_pipe((19, 1, 0), (20, 1, 0), "A"), one_pipe((1, 0, 0), (2, 0, 0), "B")
    on_map(a, HERE, quarter)  # its x axis points north on the map
    on_map(b, NORTH, 0.0)
    model = together(tmp_path, a, b)
    assert places(model)["B"][0] == pytest.approx((20, -1, 0))
    assert places(model)["B"][1] == pytest.approx((20, -2, 0))
    assert "turned by -90.00°" in model.notes[0].what


@pytest.mark.parametrize(
    ("scale", "with_unit", "per_metre"),
    [(0.001, False, 1.0), (0.001, True, 1.0), (None, True, 1.0), (None, False, 1000.0)],
    ids=["scale", "scale and unit", "unit", "neither: in units of the file"],
)
def test_units_of_the_map(tmp_path, scale, with_unit, per_metre):
    a = one_pipe((10, 0, 0), (11, 0, 0), "A")
    b = one_pipe((1, 0, 0), (2, 0, 0), "B", unit="MILLIMETRE")
    on_map(a, HERE)
    origin = tuple(c * per_metre for c in EAST)
    on_map(b, origin, scale=scale, unit=metre(b) if with_unit else None)
    model = together(tmp_path, a, b)
    assert places(model)["B"][0] == pytest.approx((11, 0, 0))


def test_the_scale_of_the_map_is_taken_out(tmp_path):
    a, b = one_pipe((0, 0, 0), (1, 0, 0), "A"), one_pipe((0, 0, 0), (1, 0, 0), "B")
    on_map(a, HERE, scale=0.9996)
    on_map(b, (HERE[0] + 0.9996, *HERE[1:]), scale=0.9996)  # a metre east on the ground
    model = together(tmp_path, a, b)
    assert places(model)["B"][0] == pytest.approx((1, 0, 0), abs=1e-9)


def test_a_map_point_away_from_zero_is_where_the_world_coordinate_system_says():
    wcs = (1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0, 5.0, 0.0, 0.0)
    axes = wcs[:9]
    first = Georeference(on_map=(*axes, *HERE))
    other = Georeference(wcs, (*axes, *HERE))  # its point (5, 0, 0) is the first's (0, 0, 0)
    assert other.seen_from(first)[9:] == pytest.approx((-5, 0, 0))
    assert first.seen_from(other)[9:] == pytest.approx((5, 0, 0))


@pytest.mark.parametrize(
    ("origin", "crs"),
    [(None, ""), (EAST, "EPSG:25833"), ((0.0, 0.0, 0.0), "EPSG:25832")],
    ids=["no map", "another map", "zeros"],
)
def test_files_on_no_common_map_are_noted_and_not_moved(tmp_path, origin, crs):
    a, b = one_pipe((0, 0, 0), (1, 0, 0), "A"), one_pipe((1, 0, 0), (2, 0, 0), "B")
    on_map(a, HERE)
    if origin:
        on_map(b, origin, crs=crs)
    model = together(tmp_path, a, b)
    assert len(model.joints) == 1
    (note,) = model.notes
    assert note.what == (
        "b.ifc and a.ifc do not name the same map, or one of them names none; they were taken to "
        "share their origin."
    )


def test_a_true_north_that_differs_is_noted(tmp_path):
    a, b = one_pipe((0, 0, 0), (1, 0, 0), "A"), one_pipe((1, 0, 0), (2, 0, 0), "B")
    a.context.TrueNorth = a.direction((0, 1))
    b.context.TrueNorth = b.direction((0.5, 0.8))
    model = together(tmp_path, a, b)
    assert ["True north" in n.what for n in model.notes] == [True]
    b.context.TrueNorth = b.direction((0, 2))
    assert together(tmp_path, a, b).notes == []


@pytest.mark.parametrize("damage", ["((123.,$,0.))", "((123.,1.E300,0.))"])
def test_a_world_coordinate_system_that_cannot_be_read_is_noted(tmp_path, damage):
    a, b = one_pipe((0, 0, 0), (1, 0, 0), "A"), one_pipe((1, 0, 0), (2, 0, 0), "B")
    b.context.WorldCoordinateSystem = b.axes((123, 0, 0))
    path = b.write(tmp_path, "b.ifc")
    path.write_text(path.read_text().replace("((123.,0.,0.))", damage))
    model = read([a.write(tmp_path, "a.ifc"), path])
    said = [n.what for n in model.notes if n.topic != "damage"]
    assert said == ["Where b.ifc lies in the world cannot be read."]
    assert len(model.notes) - len(said) == ("$" in damage)  # which holds no number


# -- files that lie apart ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("there", "far"),
    [
        ((12, 0, 0), "39 ft (12 m)"),
        ((0, 0, 120), "394 ft (120 m)"),
        ((1609, 0, 0), "5,279 ft (1,609 m)"),
        ((4_000_000, 0, 0), "2,485 mi (4,000 km)"),
    ],
)
def test_files_that_lie_far_apart_are_noted(tmp_path, there, far):
    x, y, z = there
    a, b = one_pipe((0, 0, 0), (1, 0, 0), "A"), one_pipe(there, (x + 1, y, z), "B")
    (note,) = together(tmp_path, a, b).notes
    assert note.what == f"b.ifc lies {far} from a.ifc; nothing of it meets them."
    assert (note.topic, note.remedy) == ("apart", "Export all files with one origin.")


@pytest.mark.parametrize("there", [(10, 0, 0), (0, 0, 90)])
def test_files_side_by_side_and_above_each_other_are_not(tmp_path, there):
    x, y, z = there
    a, b = one_pipe((0, 0, 0), (1, 0, 0), "A"), one_pipe(there, (x + 1, y, z), "B")
    assert together(tmp_path, a, b).notes == []


def rooms(at: tuple[float, float, float]) -> SmallModel:
    """A file with a wall and no pipe."""
    m = SmallModel("IFC4", "METRE", first=5000)
    x, y, z = at
    m.storey.Name, m.storey.Elevation = "Upper", z + 5.0
    m.block("IfcWall", "Wall", at, (x + 1, y + 1, z + 3))
    return m


@pytest.mark.parametrize("pipe_first", [True, False])
@pytest.mark.parametrize(
    ("there", "kept"), [((9, 0, 0), True), ((12, 0, 0), False), ((0, 0, 90), False)]
)
def test_what_holds_no_pipe_and_lies_apart_is_left_out(tmp_path, there, kept, pipe_first):
    a, b = one_pipe((0, 0, 0), (1, 0, 0), "A"), rooms(there)
    model = together(tmp_path, *([a, b] if pipe_first else [b, a]))
    assert [s.kind for s in model.surfaces] == (["wall"] if kept else [])
    assert ("Upper" in {s.name for s in model.storeys}) == kept
    assert [e.name for e in model.elements] == ["A"]
    without = "b.ifc" if pipe_first else "a.ifc"
    told = [n.what.split("; ")[1] for n in model.notes if n.topic == "apart"]
    left_out = f"and the storeys, rooms and walls of {without} were left out."
    assert told == ([] if kept else [f"nothing of it meets them, {left_out}"])


def test_a_third_file_is_compared_with_all_before_it(tmp_path):
    a, b = one_pipe((0, 0, 0), (1, 0, 0), "A"), one_pipe((10, 0, 0), (11, 0, 0), "B")
    c = one_pipe((20, 0, 0), (21, 0, 0), "C")
    assert together(tmp_path, a, b, c).notes == []


# -- storeys -------------------------------------------------------------------------------------


def at_level(name: str, elevation: float, pipe: str) -> SmallModel:
    x = float(ord(pipe))
    m = one_pipe((x, 0, elevation), (x + 0.5, 0, elevation), pipe)
    m.storey.Name, m.storey.Elevation = name, elevation
    return m


@pytest.mark.parametrize(
    ("name", "elevation", "told", "noted"),
    [("Level 1", 3.0, "Level 1", []), ("L1", 3.01, "Level 1", []),
     ("Level 1", 3.2, "Level 1", ["storey"]), ("L1", 3.2, "L1", [])],
)  # fmt: skip
def test_which_storeys_are_one(tmp_path, name, elevation, told, noted):
    model = together(tmp_path, at_level("Level 1", 3.0, "A"), at_level(name, elevation, "B"))
    assert {e.name: e.storey for e in model.elements} == {"A": "Level 1", "B": told}
    assert sorted({s.name for s in model.storeys}) == sorted({"Level 1", told})
    assert model.storeys[0].elevation_m == 3.0
    assert [n.topic for n in model.notes] == noted


def test_one_name_at_two_heights_is_noted_and_told_apart(tmp_path):
    model = together(tmp_path, at_level("Level 1", 3.0, "A"), at_level("Level 1", 13.0, "B"))
    assert [(s.name, s.elevation_m) for s in model.storeys] == [
        ("Level 1", 3.0), ("Level 1 (b.ifc)", 13.0)
    ]  # fmt: skip
    assert {e.storey for e in model.elements} == {"Level 1", "Level 1 (b.ifc)"}
    (note,) = model.notes
    assert note.topic == "storey"
    assert note.what == (
        'The storey "Level 1" lies at 3.000 m in one file and at 13.000 m in b.ifc.'
    )


# -- two revisions of one model ------------------------------------------------------------------


def run_of(count, first=1, revision="A"):
    m = SmallModel("IFC4", "METRE", first=5000)
    for k in range(count):
        m.pipe((k, 0, 0), (k + 1, 0, 0), name=f"P{k}-{revision}", type_name="Pipe")
    pipes = m.file.by_type("IfcPipeSegment")
    for k, pipe in enumerate(pipes):
        pipe.GlobalId = f"{first + k:022d}"
    return m


@pytest.mark.parametrize("shared", [4, 2])
def test_two_revisions_of_one_building_are_refused(tmp_path, shared):
    with pytest.raises(InputError, match=f"b.ifc holds {shared} of the elements.*name one"):
        together(tmp_path, run_of(4), run_of(4, 5 - shared, "B"))


@pytest.mark.parametrize("shared", [0, 1])
def test_files_that_share_little_are_one_building(tmp_path, shared):
    model = together(tmp_path, run_of(4), run_of(4, 5 - shared, "B"))
    assert len(model.elements) == 4
    assert model.set_aside == {"drawn twice in one place": 4}
