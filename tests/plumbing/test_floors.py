"""Levels are no floors: what tells the lowest floor, the floor of a fixture, and the ground."""

from __future__ import annotations

import pytest

from ifclint.ifc.elements import Box, Element, End, Model, Role, Space, Storey, Surface
from ifclint.plumbing.crawl_spaces import HEADROOM_M
from ifclint.plumbing.floors import (
    DEEP_M,
    DOOR_M,
    NARROW_M,
    SILL_M,
    SUNK_M,
    Floors,
)

FOUNDATION, FIRST, SECOND = Storey("Foundation", -1.2), Storey("Level 1", 0.0), Storey("L2", 3.6)
PLATE, ROOF = Storey("T.O. Plate", 6.7), Storey("Roof", 7.5)
LEVELS = (FOUNDATION, FIRST, SECOND, PLATE, ROOF)


def floors(*held: Element | Surface | Space, levels: tuple[Storey, ...] = LEVELS) -> Floors:
    return Floors(
        Model(
            storeys=sorted(levels, key=lambda s: s.elevation_m),
            elements=[h for h in held if isinstance(h, Element)],
            surfaces=[h for h in held if isinstance(h, Surface)],
            spaces=[h for h in held if isinstance(h, Space)],
        )
    )


def fixture(z: float, kind: str = "lavatory", storey: str = "", role=Role.FIXTURE) -> Element:
    return Element("g", role=role, kind=kind, storey=storey, position=(1.0, 1.0, z))


def flat(kind: str, z: float, thick: float = 0.2, wide: float = 9.0, name: str = "") -> Surface:
    return Surface(f"{kind}{z}", kind, name, (0.0, 0.0, z - thick), (wide, 9.0, z))


def room(z: float, high: float = 2.5, name: str = "Room") -> Space:
    return Space(name, "", (0.0, 0.0, z), (5.0, 5.0, z + high))


def door(z: float, high: float = 2.0) -> Surface:
    return Surface("d", "door", "", (0.0, 0.0, z), (1.0, 0.2, z + high))


def names(found: Floors) -> list[str]:
    return [floor.name for floor in found.told]


@pytest.mark.parametrize(
    ("held", "expected"),
    [
        ([fixture(0.6), fixture(4.2)], ["Level 1", "L2"]),
        ([fixture(0.0, "floor-drain", "Foundation")], ["Level 1"]),  # contained, and far above
        ([fixture(-0.09, "floor-drain", "Foundation"), fixture(0.6)], ["Level 1"]),
        ([fixture(-SUNK_M + 0.01, "shower"), fixture(0.6)], ["Level 1"]),
        ([room(0.0), fixture(4.2)], ["Level 1", "L2"]),
        ([room(-1.2, 1.1, "Crawl space"), room(0.0)], ["Level 1"]),
        ([room(-1.2, HEADROOM_M + 0.1, "Elevator shaft"), room(0.0)], ["Level 1"]),
        ([door(0.0), fixture(4.2)], ["Level 1", "L2"]),
        ([door(0.0, DOOR_M - 0.1), fixture(4.2)], ["L2"]),  # a hatch, an access panel
        ([flat("slab", 0.0), fixture(4.2)], ["Level 1", "L2"]),
        ([flat("slab", -1.2), flat("slab", 0.0), fixture(4.2)], ["Level 1", "L2"]),  # a rat slab
        ([flat("slab", 0.0), flat("slab", 3.6), flat("slab", 6.7)], ["Level 1", "L2"]),  # a deck
        ([flat("slab", 0.0, wide=NARROW_M - 0.1), fixture(4.2)], ["L2"]),
        ([flat("slab", 0.0, name="Strip footing"), fixture(4.2)], ["L2"]),
        ([fixture(6.9, "roof-drain"), fixture(0.6)], ["Level 1"]),
        ([fixture(-0.7, "hose-bibb"), fixture(0.6)], ["Level 1"]),
        ([fixture(-1.2, "furnace", role=Role.HEATER), fixture(0.6)], ["Level 1"]),  # in a crawl
    ],
)
def test_a_floor_is_a_level_with_something_that_stands_on_it(held, expected) -> None:
    assert names(floors(*held)) == expected


def test_a_basement_without_rooms_counts_by_its_slab() -> None:
    levels = (Storey("Foundation", -2.7), *LEVELS[1:])
    found = floors(flat("slab", -2.7), flat("slab", 0.0), room(0.0), levels=levels)
    assert [(f.level_m, f.basis) for f in found.told] == [(-2.7, "a slab"), (0.0, "rooms")]
    assert found.is_below_lowest(-1.0) is False
    assert names(floors(flat("slab", 0.0), room(0.0), levels=levels)) == ["Level 1"]


def test_a_room_without_a_level_of_its_own_is_a_floor_at_its_height() -> None:
    assert [f.level_m for f in floors(room(1.5), room(0.0)).told] == [0.0, 1.5]
    assert [f.level_m for f in floors(room(SILL_M - 0.01)).told] == [0.0]
    assert [f.level_m for f in floors(room(SILL_M + 0.01)).told] == [SILL_M + 0.01]


@pytest.mark.parametrize(
    ("height_m", "below", "above"),
    [(3.7, False, True), (3.6, False, None), (2.0, None, None), (0.0, None, False),
     (-0.1, True, False)],
)  # fmt: skip
def test_a_level_below_all_fixtures_may_be_a_floor_or_none(height_m, below, above) -> None:
    found = floors(fixture(4.2), levels=(FIRST, SECOND, ROOF))
    assert (found.is_below_lowest(height_m), found.is_above_lowest(height_m)) == (below, above)
    assert found.lowest is None


def test_a_level_below_is_no_floor_where_rooms_are_drawn_elsewhere_or_it_is_too_low() -> None:
    assert floors(room(3.6), levels=(FIRST, SECOND)).lowest.name == "L2"
    found = floors(fixture(0.6), levels=(Storey("Footing", -HEADROOM_M + 0.1), FIRST))
    assert found.lowest.name == "Level 1"
    found = floors(fixture(0.6), levels=(Storey("Footing", -HEADROOM_M - 0.1), FIRST))
    assert found.lowest is None


def test_where_nothing_tells_a_floor_only_what_lies_below_all_levels_is_below() -> None:
    found = floors(levels=(FOUNDATION, FIRST))
    assert [found.is_below_lowest(z) for z in (-1.3, -0.5, 0.0)] == [True, None, False]
    assert floors(levels=()).is_below_lowest(-9.0) is None
    assert floors(levels=()).ground() is None


def test_the_floor_of_an_element_is_its_storeys_or_the_next_below_it() -> None:
    found = floors(fixture(0.6), fixture(4.2))
    assert found.of(fixture(0.0, storey="Foundation")).name == "Level 1"
    assert found.of(fixture(4.2, storey="Level 1")).name == "L2"
    assert found.of(fixture(3.0, storey="L2", kind="shower")).name == "L2"
    no_place = Element("g", role=Role.FIXTURE, storey="L2")
    assert found.of(no_place).name == "L2"
    by_end = Element("g", role=Role.FIXTURE, ends=[End((0.0, 0.0, 4.0))])
    assert found.of(by_end).name == "L2"


def terrain(low: float, high: float) -> Surface:
    box: Box = ((-50.0, -50.0, low), (50.0, 50.0, high))
    return Surface("t", "terrain", "", *box)


def test_the_ground_is_told_by_job_file_then_terrain_then_the_lowest_floor() -> None:
    found = floors(room(0.0), terrain(-0.3, -0.2))
    assert (found.ground(-0.5).level_m, found.ground(-0.5).is_told) == (-0.5, True)
    assert (found.ground().level_m, found.ground().is_told) == (-0.2, True)
    plain = floors(room(0.0)).ground()
    assert (plain.level_m, plain.is_told, plain.basis) == (
        0.0,
        False,
        "lowest floor, told by rooms",
    )


def test_a_slope_tells_the_ground_only_above_and_below_all_of_it() -> None:
    ground = floors(room(0.0), terrain(-2.0, 1.0)).ground()
    assert [ground.is_below(z) for z in (-2.1, 0.0, 1.0)] == [True, None, False]


def test_the_outline_of_a_lot_and_a_terrain_elsewhere_tell_no_ground() -> None:
    assert not floors(room(0.0), terrain(0.0, 0.0)).ground().is_told
    assert not floors(room(0.0), terrain(350.0, 352.0)).ground().is_told


@pytest.mark.parametrize("level", [Storey("Basement", 0.0), Storey("L0", -DEEP_M - 1.5)])
def test_beside_a_basement_the_ground_may_be_up_to_the_floor_above(level: Storey) -> None:
    upper = Storey("Level 1", level.elevation_m + 3.0)
    ground = floors(
        room(level.elevation_m), room(upper.elevation_m), levels=(level, upper)
    ).ground()
    assert ground.level_m is None
    assert ground.is_below(level.elevation_m - 0.1) is True


def crawl(x: float, u: float, z: float = -1.0, high: float = 0.7, name: str = "Crawl") -> Space:
    return Space(name, "", (x, 0.0, z), (u, 9.0, z + high))


@pytest.mark.parametrize(
    ("held", "levels", "point", "in_ground"),
    [
        ([crawl(0.0, 5.0)], LEVELS, (2.0, 2.0, -0.5), False),
        ([crawl(0.0, 5.0)], LEVELS, (2.0, 2.0, -0.1), False),  # between the joists
        ([crawl(0.0, 5.0)], LEVELS, (2.0, 2.0, -1.1), True),  # in its earth
        ([crawl(0.0, 5.0)], LEVELS, (5.2, 2.0, -0.5), False),  # in its wall
        ([crawl(0.0, 5.0)], LEVELS, (5.4, 2.0, -0.5), True),  # under the slab beside
        ([crawl(0.0, 5.0, name="S-01")], LEVELS, (2.0, 2.0, -0.5), False),
        ([crawl(0.0, 5.0, name="Elevator shaft", high=9.0)], LEVELS, (2.0, 2.0, -0.5), True),
        ([crawl(0.0, 5.0, name="S-01", high=0.0)], LEVELS, (2.0, 2.0, -0.5), True),  # an outline
        ([], LEVELS, (2.0, 2.0, -0.5), True),
        ([], (Storey("00 CRAWL_SPACE", -1.0), FIRST), (2.0, 2.0, -0.5), False),
        ([], (Storey("00 CRAWL_SPACE", -1.0), FIRST), (2.0, 2.0, -1.1), True),
        ([], (Storey("Foundation", -1.0), FIRST), (2.0, 2.0, -0.5), True),
    ],
)
def test_a_crawl_space_is_no_ground(held, levels, point, in_ground) -> None:
    found = floors(room(0.0), *held, levels=levels)
    assert found.is_in_ground(point, None) is in_ground


def test_a_floor_over_a_crawl_space_is_no_slab_on_the_ground_where_all_of_it_is() -> None:
    slab = flat("slab", 0.0)
    assert floors(room(0.0), crawl(0.0, 9.0)).crawl_spaces.carries(slab)
    assert floors(room(0.0), crawl(0.0, 4.5), crawl(4.6, 9.0)).crawl_spaces.carries(slab)
    assert not floors(room(0.0), crawl(0.0, 4.5)).crawl_spaces.carries(slab)
    assert not floors(room(0.0)).crawl_spaces.carries(slab)


def test_over_a_crawl_space_the_ground_lies_between_its_earth_and_the_floor() -> None:
    ground = floors(room(0.0), crawl(0.0, 9.0)).ground()
    assert [ground.is_below(z) for z in (-1.1, -0.5, 0.0)] == [True, None, False]
    assert floors(room(0.0), crawl(0.0, 9.0)).ground(-0.3).level_m == -0.3
