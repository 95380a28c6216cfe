"""A building that is turned in its file is read along its own walls."""

from __future__ import annotations

import math
import re
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from ifclint.ifc import read
from ifclint.ifc.building.main_direction import common_direction, longest_side
from ifclint.report.as_json import to_dict
from tests.ifc.small_models import SmallModel
from tests.reviewing import without_corrections

ROOT = Path(__file__).parent.parent.parent
MODELS = ROOT / "models"
FOOT_M = 0.3048  # both demos are drawn in feet
EAST, NORTH = 152000.0, -2100.0  # feet
PLACED = "IFCLOCALPLACEMENT(#900005,"


def direction(*lengths_by_degrees: tuple[float, float]) -> float:
    degrees, lengths = np.array(lengths_by_degrees).T
    return math.degrees(common_direction(np.radians(degrees), lengths))


@pytest.mark.parametrize("turn", [0.06, 0.5, 17.0, 27.0, 44.9, -30.0])
def test_walls_at_right_angles_tell_it(turn: float) -> None:
    assert direction((turn, 9), (turn + 90, 4), (turn - 90, 5), (turn + 180, 3)) == pytest.approx(
        turn
    )


def test_most_of_the_length_decides() -> None:
    assert direction((0, 40), (30, 12), (12, 5)) == 0.0
    assert direction((30, 40), (0, 12), (12, 5)) == pytest.approx(30.0)
    assert direction((30, 40), (0, 41)) == 0.0
    assert direction((10, 5), (30, 5), (55, 5)) == 0.0  # none in common


def test_what_drawing_costs_is_no_turn() -> None:
    assert direction((0.05, 10), (90.04, 10)) == 0.0
    assert direction((27.01, 10), (26.99, 10), (117.0, 10)) == pytest.approx(27.0, abs=1e-6)


def test_nothing_drawn_is_not_turned() -> None:
    assert common_direction(np.zeros(0), np.zeros(0)) == 0.0
    assert common_direction(np.ones(3), np.zeros(3)) == 0.0


def test_the_longest_side_of_an_outline_however_its_corners_are_written() -> None:
    c, s = math.cos(0.4), math.sin(0.4)
    rectangle = [(0.0, 0.0), (8.0, 0.0), (8.0, 0.3), (0.0, 0.3), (3.0, 0.0), (5.0, 0.15)]
    turned = [(c * x - s * y, s * x + c * y) for x, y in rectangle]
    for corners in (turned, turned[::-1], turned[3:] + turned[:3] + turned):
        angle, length = longest_side(corners)
        assert math.remainder(angle - 0.4, math.pi) == pytest.approx(0.0)
        assert length == pytest.approx(8.0)
    assert longest_side([(1.0, 1.0)])[1] == 0.0
    assert longest_side([(0.0, 0.0), (1.0, 1.0)])[1] == pytest.approx(math.sqrt(2))


def test_a_turned_wall_has_its_own_thickness_and_a_place_in_the_file(tmp_path: Path) -> None:
    m = SmallModel("IFC4", "METRE")
    x = (math.cos(0.5), math.sin(0.5), 0.0)
    wall = m.block("IfcWall", "Wall", (0, 0, 0), (6, 0.2, 3))
    wall.ObjectPlacement = m.placement((100, 50, 0), (0.0, 0.0, 1.0), x)
    m.element("IfcSanitaryTerminal", "Basin", at=m.placement((103, 52, 1)))
    model = read(m.write(tmp_path))
    assert model.turned_rad == pytest.approx(0.5, abs=1e-4)
    (surface,) = model.surfaces
    spans = [b - a for a, b in zip(surface.low, surface.high, strict=True)]
    assert spans == pytest.approx([6.0, 0.2, 3.0], abs=1e-4)
    (basin,) = model.elements
    c, s = math.cos(model.turned_rad), math.sin(model.turned_rad)
    px, py, pz = basin.position
    assert (c * px - s * py, s * px + c * py, pz) == pytest.approx((103, 52, 1))


def test_pipes_tell_it_where_no_walls_are_and_fixtures_are_placed_along_the_axes(
    tmp_path: Path,
) -> None:
    plumbing, c, s = SmallModel("IFC4", "METRE"), math.cos(0.5), math.sin(0.5)
    for k in range(3):
        plumbing.pipe((k, 0, 1), (k + 4 * c, 4 * s, 1))
    plumbing.pipe((0, 0, 1), (-3 * s, 3 * c, 1))
    plumbing.pipe((0, 0, 1), (1, 0, 6))  # stands more than it lies
    plumbing.element("IfcSanitaryTerminal", "Basin", at=plumbing.placement((3, 2, 1)))
    around = SmallModel("IFC4", "METRE", first=900)
    wall = around.block("IfcWall", "Wall", (0, 0, 0), (6, 0.2, 3))
    wall.ObjectPlacement = around.placement((0, 0, 0), (0.0, 0.0, 1.0), (c, s, 0.0))
    model = read([plumbing.write(tmp_path), around.write(tmp_path, "walls.ifc")])
    assert model.turned_rad == pytest.approx(0.5, abs=1e-4)
    (surface,) = model.surfaces
    spans = [b - a for a, b in zip(surface.low, surface.high, strict=True)]
    assert spans == pytest.approx([6.0, 0.2, 3.0], abs=1e-3)


@pytest.mark.parametrize("turn", [-0.5, 0.3, 0.7])
def test_fixtures_tell_it_where_neither_walls_nor_pipes_are(tmp_path: Path, turn: float) -> None:
    m = SmallModel("IFC4", "METRE")
    for k in range(3):
        quarter = turn + k * math.pi / 2
        x = (math.cos(quarter), math.sin(quarter), 0.0)
        at, shape = m.placement((k, 2, 1), (0.0, 0.0, 1.0), x), m.shape(m.extrusion(0.4, 0.2))
        m.element("IfcSanitaryTerminal", f"Basin {k}", at=at, shape=shape)
    assert read(m.write(tmp_path)).turned_rad == pytest.approx(turn, abs=1e-4)


def test_one_wall_of_a_damaged_length_does_not_tell_it(tmp_path: Path) -> None:
    m = SmallModel("IFC4", "METRE")
    m.block("IfcWall", "Wall", (0, 0, 0), (6, 0.2, 3))
    wall = m.block("IfcWall", "Damaged", (0, 0, 0), (60_000, 0.2, 3))
    wall.ObjectPlacement = m.placement(
        (1, 5, 0), (0.0, 0.0, 1.0), (math.cos(0.5), math.sin(0.5), 0.0)
    )
    m.element("IfcSanitaryTerminal", "Basin", at=m.placement((3, 2, 1)))
    assert read(m.write(tmp_path)).turned_rad == 0.0


def turned(path: Path, folder: Path, degrees: float) -> Path:
    """A file with all that is placed relative to nothing turned, and far from the origin."""
    a, text = math.radians(degrees), path.read_text()
    start = text.index("DATA;") + len("DATA;\n")
    around = (
        f"#900001=IFCCARTESIANPOINT(({EAST},{NORTH},0.));\n#900002=IFCDIRECTION((0.,0.,1.));\n"
        f"#900003=IFCDIRECTION(({math.cos(a):.12f},{math.sin(a):.12f},0.));\n"
        "#900004=IFCAXIS2PLACEMENT3D(#900001,#900002,#900003);\n"
        "#900005=IFCLOCALPLACEMENT($,#900004);\n"
    )
    rest = text[start:]
    assert "IFCLOCALPLACEMENT($," in rest
    made = folder / path.name
    made.write_text(text[:start] + around + rest.replace("IFCLOCALPLACEMENT($,", PLACED))
    return made


@cache
def straight_of(files: tuple[Path, ...], job: Path) -> dict:
    return to_dict(without_corrections(files, job))


@pytest.mark.parametrize(
    ("names", "degrees"),
    [
        (["dwelling_early"], 27.0),
        (["dwelling_early"], -44.0),
        (["dwelling_early"], 90.0),
        (["restaurant_early"], 17.0),  # without walls
        (["restaurant_early", "restaurant_architecture"], 163.0),
    ],
)
def test_a_turned_building_has_the_same_findings_and_its_places_in_the_file(
    tmp_path: Path, names: list[str], degrees: float
) -> None:
    files = [MODELS / f"{name}.ifc" for name in names]
    job = files[0].with_suffix(".toml")
    straight = straight_of(tuple(files), job)
    other = to_dict(without_corrections([turned(file, tmp_path, degrees) for file in files], job))

    def said(document: dict) -> list[tuple[str, ...]]:
        words = ("id", "outcome", "message", "remedy")
        found = [tuple(finding[w] for w in words) for finding in document["findings"]]
        return [tuple(re.sub(r"at x .*, y .*, z", "at", text) for text in row) for row in found]

    assert said(other) == said(straight)
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    places = [(a["location"], b["location"]) for a, b in
              zip(straight["findings"], other["findings"], strict=True)]  # fmt: skip
    assert any(old["x"] is not None for old, _ in places)
    for old, new in places:
        if old["x"] is not None:
            x, y = c * old["x"] - s * old["y"], s * old["x"] + c * old["y"]
            moved = x + EAST * FOOT_M, y + NORTH * FOOT_M
            assert (new["x"], new["y"]) == pytest.approx(moved, abs=1e-3)
