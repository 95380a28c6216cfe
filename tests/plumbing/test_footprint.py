"""What lies in a building and what outdoors, as its walls enclose it."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from ifclint.ifc.elements import Space, Surface
from ifclint.plumbing.footprint import Footprint, _joined_to_first

T = 0.2  # of the walls


def wall(x1: float, y1: float, x2: float, y2: float, kind: str = "wall") -> Surface:
    """Along the line between two corners, as thick on both sides of it."""
    low, high = (
        (min(x1, x2) - T / 2, min(y1, y2) - T / 2),
        (max(x1, x2) + T / 2, max(y1, y2) + T / 2),
    )
    return Surface(f"{x1} {y1} {x2} {y2}", kind, "", (*low, 0.0), (*high, 3.0))


def around(*corners: tuple[float, float]) -> list[Surface]:
    ends = [*corners[1:], corners[0]]
    return [wall(*a, *b) for a, b in zip(corners, ends, strict=True)]


L_SHAPED = around((0, 0), (12, 0), (12, 6), (7, 6), (7, 10), (0, 10))


@pytest.mark.parametrize(
    ("x", "y", "inside"),
    [
        (3, 3, True), (11, 5, True), (3, 9, True), (6.5, 9.9, True),
        (9, 8, False), (7.5, 6.5, False), (11.9, 9.9, False), (13, 3, False), (-1, 5, False),
        # at the wall of the yard, whose outer face is at x = 7.1
        (7.09, 8, True), (7.1, 8, True), (7.13, 8, False), (7.2, 8, False),
        # at an outer wall, whose face is at x = 12.1, and at its inner face
        (12.09, 3, True), (12.13, 3, False), (11.85, 3, True), (0.12, 3, True),
    ],
)  # fmt: skip
def test_an_l_shaped_house_has_a_yard_in_its_corner(x: float, y: float, inside: bool) -> None:
    assert Footprint(L_SHAPED, [], []).holds((x, y, 1.0)) is inside


@pytest.mark.parametrize(("gap", "closed"), [(0.08, True), (0.6, False)])
def test_a_small_gap_between_walls_lets_nobody_through(gap: float, closed: bool) -> None:
    others = L_SHAPED[1:]
    left, right = wall(0, 0, 5, 0), wall(5 + T + gap, 0, 12, 0)
    house = Footprint([left, right, *others], [], [])
    # where walls enclose no building the box around them counts as one
    assert house.holds((9, 8, 1)) is not closed
    assert house.holds((3, 3, 1))


def test_windows_and_doors_close_what_walls_leave_open() -> None:
    others = L_SHAPED[1:]
    parts = [wall(0, 0, 5, 0), wall(5 + T, 0, 6, 0, "door"), wall(6 + T, 0, 12, 0, "window")]
    assert not Footprint([*parts, *others], [], []).holds((9, 8, 1))


def test_a_patio_is_no_part_of_the_building_and_a_lone_slab_is_one() -> None:
    patio = Surface("patio", "slab", "", (7, 6, -0.1), (12, 10, 0))
    assert not Footprint(L_SHAPED, [patio], []).holds((9, 8, 0))
    assert Footprint([], [patio], []).holds((9, 8, 0))
    assert not Footprint([], [patio], []).holds((6, 8, 0))
    assert Footprint(L_SHAPED[:1], [patio], []).holds((9, 8, 0))


def test_a_room_that_no_wall_encloses_is_inside() -> None:
    glazed = Space("Lobby", "", (12.1, 1, 0), (16, 5, 3))
    slab = Surface("slab", "slab", "", (0, 0, -0.2), (16, 10, 0))
    assert Footprint(L_SHAPED, [slab], [glazed]).holds((14, 3, 1))
    assert not Footprint(L_SHAPED, [slab], []).holds((14, 3, 1))
    assert not Footprint(L_SHAPED, [slab], [glazed]).holds((14, 7, 1))
    in_the_l = Space("Whole house", "", (0, 0, 0), (12, 10, 3))  # the box of a room shaped as an L
    assert not Footprint(L_SHAPED, [slab], [in_the_l]).holds((9, 8, 1))


def test_where_a_line_leaves_the_building() -> None:
    house = Footprint(L_SHAPED, [], [])
    (part,) = house.outside_parts((3, 8, 0), (13, 8, 0))
    assert part[0] == pytest.approx((7.1, 8, 0), abs=0.02)
    assert part[1] == (13, 8, 0)
    first, last = house.outside_parts((-2, 3, 0), (14, 3, -1))
    assert first[1] == pytest.approx((-0.1, 3, -1.9 / 16), abs=0.02)
    assert last[0] == pytest.approx((12.1, 3, -14.1 / 16), abs=0.02)
    assert not list(house.outside_parts((1, 1, 0), (11, 5, 0)))
    assert list(house.outside_parts((8, 7, 0), (11, 9, 0))) == [((8, 7, 0), (11, 9, 0))]
    assert house.share_inside((3, 8, 0), (13, 8, 0)) == pytest.approx(0.41, abs=0.002)


def test_outer_faces() -> None:
    house = Footprint(L_SHAPED, [], [])
    assert house.has_outer_face((6.9, 7, 1), (7.1, 8, 2))  # in the wall to the yard
    assert house.has_outer_face((3, -0.1, 1), (4, 0.1, 2))
    assert not house.has_outer_face((4.9, 3, 0), (5.1, 4, 2))  # in a partition


def test_many_walls_are_soon_known() -> None:
    rooms = [w for n in range(60) for w in around((n * 4.013, 0), (n * 4.013 + 4, 0),
             (n * 4.013 + 4, 5), (n * 4.013, 5))]  # fmt: skip
    house = Footprint(rooms, [], [])
    assert house.holds((100.0, 2.5, 0))
    assert not house.holds((100.0, 5.5, 0))


def test_what_hangs_together_with_the_first_cell() -> None:
    drawn = np.random.default_rng(3)
    for share in (0.4, 0.55, 0.6, 0.9):
        for _ in range(20):
            cells = drawn.random(drawn.integers(1, 30, 2)) < share
            cells[0, 0] = True
            parts, _ = ndimage.label(cells)
            assert np.array_equal(_joined_to_first(cells), parts == parts[0, 0])


def moved(walls: list[Surface], x: float) -> list[Surface]:
    return [
        Surface(w.guid, w.kind, "", (w.low[0] + x, *w.low[1:]), (w.high[0] + x, *w.high[1:]))
        for w in walls
    ]


FAR = moved(L_SHAPED, 60.0)


@pytest.mark.parametrize("others", [[], [wall(30, -5, 30, 15)], [wall(-5, 30, 90, 30)]])
def test_buildings_far_apart_have_an_outline_each(others: list[Surface]) -> None:
    site = Footprint([*L_SHAPED, *FAR, *others], [], [])
    assert site.holds((3, 3, 1))
    assert site.holds((63, 3, 1))
    assert not site.holds((9, 8, 1))
    assert not site.holds((69, 8, 1))
    assert not site.holds((40, 3, 1))


def test_a_wall_far_from_the_house_is_none_of_it() -> None:
    assert not Footprint([*L_SHAPED, wall(40, 0, 40, 10)], [], []).holds((25, 3, 1))


def test_walls_about_an_enclosed_core_are_a_building_drawn_in_part() -> None:
    core = around((0, 0), (4, 0), (4, 4), (0, 4))
    facade = [wall(-10, -10, -10, 14), wall(14, -10, 14, 14)]
    assert Footprint([*core, *facade], [], []).holds((8, 8, 1))


@pytest.mark.parametrize(("apart", "is_one"), [(0.7, True), (1.5, False)])
def test_walls_without_a_strip_between_them_are_of_one(apart: float, is_one: bool) -> None:
    """Walls that begin so near to a house are of it, and what they enclose together is open."""
    near = [wall(12 + T + apart, 0, 60, 0), wall(60, 0, 60, 40)]
    assert Footprint([*L_SHAPED, *near], [], []).holds((9, 8, 1)) is is_one


def test_slabs_far_apart_are_two_buildings() -> None:
    slabs = [
        Surface("near", "slab", "", (0, 0, 0), (9, 9, 0.2)),
        Surface("far", "slab", "", (40, 0, 0), (49, 9, 0.2)),
    ]
    site = Footprint([], slabs, [])
    assert site.holds((3, 3, 1))
    assert site.holds((45, 3, 1))
    assert not site.holds((20, 3, 1))
