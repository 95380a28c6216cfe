"""Places in words: from grid lines, walls and rooms, by the compass, in feet and inches."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from ifclint.drawings import Plan, PlanBox
from ifclint.ifc.elements import GridAxis, Location
from ifclint.report.places import AT_M, REACH_M, PlacesInWords

FT = 0.3048
GRID = (
    GridAxis("A", (0.0, 0.0), (20.0, 0.0)),
    GridAxis("B", (0.0, 6.0), (20.0, 6.0)),
    GridAxis("1", (0.0, 0.0), (0.0, 20.0)),
)
WALLS = (
    PlanBox((0.0, -0.2), (20.0, 0.0), "South wall"),
    PlanBox((-0.2, 0.0), (0.0, 20.0), "West wall"),
    PlanBox((9.0, 0.0), (9.1, 20.0), "Partition"),
    PlanBox((12.0, 0.0), (12.1, 20.0), "Partition"),
)
ROOMS = (PlanBox((5.0, 5.0), (9.0, 9.0), "Bath 2"),)
PLAN = Plan("Level 1", WALLS, ROOMS, (), (), elevation_m=3.0)


def at(x: float, y: float, z: float | None = None, room: str = "") -> Location:
    return Location("Level 1", room, x, y, z)


def text(plan: Plan, place: Location) -> str:
    return PlacesInWords([plan]).text(place)


def test_grid_lines_come_before_walls() -> None:
    plan = replace(PLAN, grid=GRID)
    assert (
        text(plan, at(2 * FT, 6 + 3.5 * FT))
        == "2 ft 0 in east of grid 1, 3 ft 6 in north of grid B"
    )
    assert text(plan, at(2 * FT, 6 - 0.5 * FT)) == "6 in south of grid B, 2 ft 0 in east of grid 1"


@pytest.mark.parametrize(("off", "said"), [(0.0, "on"), (AT_M, "on"), (AT_M + 0.001, "1 in north")])
def test_a_place_on_a_line_is_on_it(off: float, said: str) -> None:
    assert text(replace(PLAN, grid=GRID[1:2]), at(4, 6 + off)).startswith(said)


ARC = GridAxis(
    "R", (10.0, 0.0), (0.0, 10.0),
    tuple((10 * math.cos(d / 20), 10 * math.sin(d / 20)) for d in range(1, 31)),
)  # fmt: skip


@pytest.mark.parametrize(
    ("off", "said"),
    [(2 * FT, "2 ft 0 in northeast of grid R"), (-3 * FT, "3 ft 0 in southwest of grid R"),
     (0.0, "on grid R"), (REACH_M + 0.1, "")],
)  # fmt: skip
def test_a_bent_axis_is_measured_from_where_it_is_nearest(off: float, said: str) -> None:
    away = (10 + off) * math.sqrt(0.5)
    assert text(replace(PLAN, walls=(), grid=(ARC,)), at(away, away)) == said


def test_a_bent_axis_is_not_measured_from_beyond_its_ends() -> None:
    plan = replace(PLAN, walls=(), grid=(ARC,))
    assert text(plan, at(10 + 2 * FT, -0.1)) == "2 ft 0 in east of grid R"
    assert text(plan, at(10 + 2 * FT, -1.5)) == ""


def test_a_ray_and_a_ring_tell_both_ways() -> None:
    ray = GridAxis("5", (0.0, 0.0), (20.0, 0.0))
    said = text(replace(PLAN, walls=(), grid=(ARC, ray)), at(10 + 2 * FT, 1 * FT))
    assert said == "1 ft 0 in north of grid 5, 2 ft 0 in east of grid R"


def test_walls_are_measured_from_their_face_and_a_place_in_one_is_in_it() -> None:
    assert (
        text(PLAN, at(FT, 2 * FT)) == "1 ft 0 in east of West wall, 2 ft 0 in north of South wall"
    )
    assert text(PLAN, at(-0.1, 2 * FT)) == "in West wall, 2 ft 0 in north of South wall"
    below = replace(at(-0.1, 2 * FT), z=PLAN.elevation_m - FT)
    said = "under West wall, 2 ft 0 in north of South wall, 1 ft 0 in below the floor"
    assert text(PLAN, below) == said


def test_a_name_that_several_walls_have_is_no_name() -> None:
    assert "Partition" not in text(PLAN, at(9.5, 2 * FT))
    alone = replace(PLAN, walls=WALLS[:3])
    assert text(alone, at(9.1 + FT, 2 * FT)).startswith("1 ft 0 in east of Partition")


def test_the_sides_of_the_room_serve_where_nothing_else_does() -> None:
    bare = replace(PLAN, walls=())
    place = at(5 + FT, 9 - 2 * FT, room="Bath 2")
    assert text(bare, place) == (
        "1 ft 0 in from the west side of the room, 2 ft 0 in from the north side of the room"
    )
    assert text(bare, replace(place, space="Hall")) == ""


def test_a_wall_tells_one_way_and_the_room_the_other() -> None:
    one_wall = replace(PLAN, walls=WALLS[1:2])
    said = text(one_wall, at(5 + FT, 9 - 2 * FT, room="Bath 2"))
    assert said == "17 ft 5 in east of West wall, 2 ft 0 in from the north side of the room"


@pytest.mark.parametrize(
    ("turned", "said"),
    [
        (0, "east"),
        (90, "south"),
        (-90, "north"),
        (180, "west"),
        (45, "southeast"),
        (30, "southeast"),
    ],
)
def test_the_compass_follows_true_north(turned: float, said: str) -> None:
    plan = replace(PLAN, walls=WALLS[1:2], north=math.radians(turned))
    assert text(plan, at(FT, 5)) == f"1 ft 0 in {said} of West wall"


def test_a_wall_that_stands_aslant_is_measured_square_to_it() -> None:
    corners = ((0.0, 0.0), (8.0, 8.0), (7.9, 8.1), (-0.1, 0.1))
    wall = PlanBox((-0.1, 0.0), (8.0, 8.1), "Diagonal", corners)
    plan = replace(PLAN, walls=(wall,))
    away = FT / math.sqrt(2)
    assert text(plan, at(4 + away, 4 - away)) == "1 ft 0 in southeast of Diagonal"


@pytest.mark.parametrize(("x", "found"), [(REACH_M - 0.01, True), (REACH_M + 0.01, False)])
def test_what_is_out_of_reach_is_not_measured_from(x: float, found: bool) -> None:
    assert bool(text(replace(PLAN, walls=WALLS[1:2]), at(x, 5))) is found


@pytest.mark.parametrize(("y", "found"), [(20.9, True), (21.1, False)])
def test_a_wall_is_measured_from_only_where_it_runs(y: float, found: bool) -> None:
    assert bool(text(replace(PLAN, walls=WALLS[1:2]), at(1, y))) is found


def test_a_block_is_no_wall_to_measure_from() -> None:
    assert text(replace(PLAN, walls=(PlanBox((0, 0), (3, 2), "Core"),)), at(3.5, 1)) == ""


@pytest.mark.parametrize(
    ("z", "said"),
    [(3.0, "at the floor"), (3.0 + 1.5 * FT, "1 ft 6 in above the floor"),
     (3.0 - FT / 12, "1 in below the floor")],
)  # fmt: skip
def test_heights_are_from_the_storey(z: float, said: str) -> None:
    assert text(PLAN, at(1, 1, z)).endswith(said)


def test_a_height_or_north_that_is_no_number_is_left_out() -> None:
    broken = replace(PLAN, elevation_m=math.nan, north=math.nan)
    assert text(broken, at(FT, 2 * FT, 3.0)).endswith("2 ft 0 in north of South wall")


@pytest.mark.parametrize("x", [None, math.nan, math.inf, 1e30])
def test_no_place_is_no_words(x: float | None) -> None:
    assert text(PLAN, replace(at(0, 0), x=x)) == ""
    assert text(PLAN, Location("Level 9", "", 1.0, 1.0, 1.0)) == ""
