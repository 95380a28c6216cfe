"""Levels are no floors: what tells the lowest floor, the floor of a fixture, and the ground."""

from __future__ import annotations

import pytest

from ifclint.ifc.elements import Box, Element, End, Model, Role, Space, Storey, Surface
from ifclint.plumbing.crawl_spaces import HEADROOM_M, CrawlSpaces, find_crawl_spaces
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


def test_a_level_below_is_no_floor_where_each_floor_has_its_slab_and_it_has_none() -> None:
    levels = (Storey("Level 0", -2.4), FIRST, SECOND)
    slabs = flat("slab", 0.0), flat("slab", 3.6)
    assert floors(fixture(0.6), fixture(4.2), *slabs, levels=levels).lowest.name == "Level 1"
    assert floors(fixture(0.6), fixture(4.2), slabs[1], levels=levels).lowest is None
    assert floors(fixture(0.6), slabs[0], levels=levels).lowest is None
    basement = (Storey("Basement", -2.4), FIRST, SECOND)
    assert floors(fixture(0.6), fixture(4.2), *slabs, levels=basement).lowest is None
    below = flat("slab", -2.4), *slabs
    assert floors(fixture(0.6), fixture(4.2), *below, levels=levels).lowest.name == "Level 0"


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


@pytest.mark.parametrize(
    ("held", "counts"),
    [
        # our bounds in metres, each drawn a hair short of it and a hair beyond
        (room(0.0, 2.09), False),
        (room(0.0, 2.11), True),
        (door(0.0, 1.49), False),
        (door(0.0, 1.51), True),
        (flat("slab", 0.0, wide=1.49), False),
        (flat("slab", 0.0, wide=1.51), True),
        (fixture(-0.31), False),
        (fixture(-0.29), True),
        (fixture(-0.61, "shower"), False),
        (fixture(-0.59, "shower"), True),
        (fixture(2.11), False),
        (fixture(2.09), True),
        (room(0.31), False),  # a floor of its own, and none of the level's
        (room(0.29), True),
        (room(-0.29), True),
    ],
)
def test_what_tells_that_a_level_is_a_floor_is_bounded(held, counts) -> None:
    assert ("Level 1" in names(floors(held, fixture(4.2), levels=(FIRST, SECOND)))) is counts


def test_a_room_is_as_high_as_it_is_wherever_its_floor_lies() -> None:
    up = tuple(Storey(s.name, s.elevation_m + 90.0) for s in LEVELS)
    assert names(floors(room(90.0, 2.0), fixture(94.2), levels=up)) == ["L2"]
    assert names(floors(door(90.0, 1.4), fixture(94.2), levels=up)) == ["L2"]
    low = Surface("s", "slab", "", (50.0, 50.0, 89.8), (51.0, 59.0, 90.0))
    assert names(floors(low, fixture(94.2), levels=up)) == ["L2"]


@pytest.mark.parametrize(("gap_m", "told"), [(0.31, False), (2.09, False), (2.11, True)])
def test_a_heater_tells_a_floor_only_where_one_can_stand_under_the_floor_above(gap_m, told) -> None:
    heater = fixture(-gap_m, "furnace", role=Role.HEATER)
    levels = (Storey("Under", -gap_m), Storey("Above", 0.0))
    found = floors(heater, room(0.0), levels=levels)
    assert ("Under" in names(found)) is told


@pytest.mark.parametrize(
    ("cover", "is_floor"),
    [
        (flat("slab", 2.09, thick=0.28), True),  # 1.81 m free, headroom less a sill
        (flat("slab", 2.09, thick=0.30), False),  # 1.79 m
        (flat("slab", 0.29), False),  # the same floor, in two layers: nothing over it
        (Surface("r", "roof", "", (9.0, 0.0, 3.0), (18.0, 9.0, 3.3)), False),  # beside it
        (Surface("r", "roof", "", (8.9, 0.0, 3.0), (18.0, 9.0, 3.3)), True),
        (Surface("r", "roof", "", (0.0, 9.0, 3.0), (9.0, 18.0, 3.3)), False),
        (Surface("r", "roof", "", (0.0, 8.9, 3.0), (9.0, 18.0, 3.3)), True),
    ],
)
def test_a_slab_is_a_floor_with_headroom_to_what_covers_it(cover, is_floor) -> None:
    held = floors(flat("slab", 0.0), cover, levels=(FIRST,))
    assert ("Level 1" in names(held)) is is_floor


def test_of_slabs_of_one_floor_the_highest_is_what_there_must_be_headroom_over() -> None:
    lower = Surface("a", "slab", "", (0.0, 0.0, -0.2), (4.0, 4.0, 0.0))
    upper = Surface("b", "slab", "", (4.0, 4.0, 0.0), (9.0, 9.0, 0.2))
    near = Surface("r", "roof", "", (5.0, 5.0, 1.9), (9.0, 9.0, 2.4))
    over_one = Surface("r", "roof", "", (0.0, 0.0, 3.0), (3.0, 3.0, 3.4))
    assert names(floors(lower, upper, near, levels=(FIRST,))) == []
    assert names(floors(lower, upper, over_one, levels=(FIRST,))) == ["Level 1"]
    beside_all = Surface("r", "roof", "", (10.0, 0.0, 3.0), (12.0, 9.0, 3.4))
    assert names(floors(lower, upper, beside_all, levels=(FIRST,))) == []


def test_a_slab_is_a_floor_under_a_floor_that_is_told_otherwise() -> None:
    levels = (Storey("Under", -2.0), FIRST)
    assert names(floors(flat("slab", -2.0), room(0.0), levels=levels)) == ["Under", "Level 1"]
    levels = (Storey("Under", -1.7), FIRST)
    assert names(floors(flat("slab", -1.7), room(0.0), levels=levels)) == ["Level 1"]


def test_the_level_of_what_has_no_place_is_its_storeys() -> None:
    lost = Element("g", role=Role.FIXTURE, kind="lavatory", storey="L2")
    assert names(floors(lost)) == ["L2"]
    boxed = Element("g", role=Role.FIXTURE, storey="", box=((0.0, 0.0, 3.6), (1.0, 1.0, 9.0)))
    assert names(floors(boxed)) == ["L2"]
    ends = [End((0.0, 0.0, 9.0)), End((0.0, 0.0, 3.7))]
    assert names(floors(Element("g", role=Role.FIXTURE, ends=ends))) == ["L2"]


@pytest.mark.parametrize(
    ("foot_m", "name"),
    [(3.31, "L2"), (3.29, "Level 1"), (5.69, "L2"), (5.71, "Loft")],
)
def test_an_element_stands_on_its_storeys_floor_within_reach_and_headroom(foot_m, name) -> None:
    levels = (FIRST, SECOND, Storey("Loft", 5.6))
    found = floors(room(0.0), room(3.6), room(5.6), levels=levels)
    assert found.of(fixture(foot_m, storey="L2")).name == name


def test_a_storey_below_may_be_a_floor_where_one_can_stand_on_it_and_not_above_all() -> None:
    levels = (Storey("A", 0.0), Storey("B", 2.11), Storey("C", 4.19), Storey("D", 8.0))
    found = floors(fixture(4.5), levels=levels)
    assert [f.name for f in found.told] == ["C"]
    assert [f.name for f in found.doubtful] == ["A"]  # B lies 2.08 m under C
    closer = (Storey("A", 0.0), Storey("B", 2.08), Storey("C", 4.19))
    assert [f.name for f in floors(fixture(4.5), levels=closer).doubtful] == ["B"]


@pytest.mark.parametrize(
    ("floor_m", "raised"),
    [(0.44, False), (0.46, True)],
)
def test_a_floor_stands_clear_of_the_ground_from_18_in(floor_m: float, raised: bool) -> None:
    found = floors(room(floor_m, name="Hall"), levels=(Storey("Level 1", floor_m),))
    assert found.is_raised(0.0) is raised
    assert not found.is_raised(None)  # the floors alone do not tell
    assert found.is_in_ground((1.0, 2.0, floor_m - 0.1), 0.0) is (not raised)
    assert found.is_in_ground((1.0, 2.0, -0.1), 0.0) is True
    assert not floors(levels=()).is_raised(0.0)


@pytest.mark.parametrize(
    ("low_m", "high_m", "ground"),
    [
        (-0.5, -0.21, (-0.21, -0.21)),  # all but level
        (-0.5, -0.19, (-0.5, -0.19)),
        (5.69, 6.0, (5.69, 6.0)),  # within headroom of the highest floor
        (5.71, 6.1, None),
        (-3.0, -2.09, (-3.0, -2.09)),
        (-3.0, -2.11, None),
    ],
)
def test_the_terrain_counts_at_the_height_of_the_building(low_m, high_m, ground) -> None:
    told = floors(room(0.0), room(3.6), terrain(low_m, high_m)).ground()
    assert ((told.low_m, told.high_m) if told.is_told else None) == ground
    alone = floors(terrain(low_m, high_m), levels=()).ground()
    assert (alone is not None) is (low_m <= 2.1 and high_m >= -2.1)


def test_of_several_terrains_the_ground_lies_between_the_lowest_and_the_highest() -> None:
    ground = floors(room(0.0), terrain(-2.0, -1.5), terrain(-1.0, -0.5)).ground()
    assert (ground.low_m, ground.high_m) == (-2.0, -0.5)


@pytest.mark.parametrize(("level_m", "may"), [(-0.99, False), (-1.01, True)])
def test_a_floor_a_metre_below_zero_may_be_a_cellar(level_m: float, may: bool) -> None:
    assert floors(room(level_m), levels=()).told[0].may_be_cellar is may


@pytest.mark.parametrize(
    ("levels_m", "high_m"),
    [((-2.5,), 0.0), ((-1.5,), 0.6), ((-3.0, 0.5, 3.5), 0.5), ((-3.0, -2.0), 0.0)],
)
def test_over_a_cellar_the_ground_may_lie_up_to_the_next_floor_or_one_storey(
    levels_m: tuple[float, ...], high_m: float
) -> None:
    ground = floors(*(room(z) for z in levels_m), levels=()).ground()
    assert (ground.low_m, ground.high_m) == (levels_m[0], pytest.approx(high_m))


def test_where_only_the_surest_floor_may_be_a_cellar_the_ground_may_lie_higher() -> None:
    doubtful = (Storey("Level 1", -0.5), Storey("Basement 2", 2.0))
    ground = floors(fixture(2.5), levels=doubtful).ground()
    assert (ground.low_m, ground.high_m) == (-0.5, 2.0)


@pytest.mark.parametrize(
    ("space", "in_ground"),
    [
        (crawl(0.0, 1.69, name="S"), True),  # the point lies 0.31 m beside it
        (crawl(0.0, 1.71, name="S"), False),
        (crawl(2.31, 5.0, name="S"), True),
        (crawl(2.29, 5.0, name="S"), False),
        (crawl(0.0, 5.0, name="S", high=0.29), True),  # an outline
        (crawl(0.0, 5.0, name="S", high=0.31), False),
        (crawl(0.0, 5.0, z=-0.31, name="S", high=0.4), False),
        (crawl(0.0, 5.0, z=-0.29, name="S", high=0.4), True),
    ],
)
def test_a_low_space_under_the_floor_is_open_air(space: Space, in_ground: bool) -> None:
    point = (2.0, 2.0, max(-0.5, space.low[2]))
    assert floors(room(0.0), space).is_in_ground(point, None) is in_ground


def test_what_is_high_enough_to_stand_in_is_no_crawl_space() -> None:
    def held(high: float) -> bool:
        cellar = crawl(0.0, 5.0, z=-3.0, high=high, name="Cellar vault")
        found = find_crawl_spaces(floors(cellar)._model, 0.0)
        return found.holds((2.0, 2.0, -2.0))

    assert (held(2.09), held(2.11)) == (True, False)


@pytest.mark.parametrize(("level_m", "under"), [(-0.29, False), (-0.31, True)])
def test_a_level_called_a_crawl_space_lies_under_the_floor(level_m: float, under: bool) -> None:
    levels = (Storey("Crawl space", level_m), FIRST)
    found = find_crawl_spaces(Model(storeys=list(levels)), 0.0)
    assert found.low_m == (level_m if under else None)
    assert find_crawl_spaces(Model(storeys=list(levels)), None).low_m is None


@pytest.mark.parametrize(
    ("below_m", "over"), [(0.29, False), (0.31, True), (2.09, True), (2.11, False)]
)
def test_a_floor_stands_over_a_crawl_space_at_least_a_recess_deep(below_m, over) -> None:
    places = CrawlSpaces((((0.0, 0.0, 5.0 - below_m), (9.0, 9.0, 5.0)),))
    assert places.lies_under((1.0, 1.0, 5.0)) is over
    assert not places.lies_under((9.31, 1.0, 5.0))
    assert not places.lies_under((1.0, -0.31, 5.0))


def test_the_lowest_of_several_crawl_spaces_is_the_lowest() -> None:
    assert (
        floors(room(0.0), crawl(0.0, 4.0, -1.0), crawl(4.0, 9.0, -1.3)).crawl_spaces.low_m == -1.3
    )


def test_the_lowest_floor_is_known_where_something_tells_it_or_there_is_but_one() -> None:
    assert floors(room(0.0), room(3.6)).lowest.name == "Level 1"
    assert floors(levels=(FIRST,)).lowest.name == "Level 1"
    assert floors(levels=(FIRST, SECOND)).lowest is None


def test_how_clear_a_floor_stands_counts_from_the_ground() -> None:
    found = floors(room(1.0, name="Hall"), levels=(Storey("Level 1", 1.0),))
    assert (found.is_raised(0.5), found.is_raised(0.7)) == (True, False)


def test_a_floor_a_little_above_a_slab_lies_beside_it_and_does_not_cover_it() -> None:
    levels = (Storey("Low", 0.0), Storey("High", 0.4))
    roof = Surface("r", "roof", "", (0.0, 0.0, 3.0), (9.0, 9.0, 3.3))
    assert names(floors(flat("slab", 0.15), roof, room(0.4), levels=levels)) == ["Low", "High"]


def test_what_the_ground_is_told_by_is_said() -> None:
    doubtful = (Storey("Level 1", -0.5), Storey("Basement 2", 2.0))
    assert floors(fixture(2.5), levels=doubtful).ground().basis.endswith("may lie below it")
    assert floors(room(0.0)).ground().basis == "lowest floor, told by rooms"
    above_sea = floors(room(1600.0), levels=(Storey("Level 1", 1600.0),))
    assert above_sea.is_below_lowest(1599.99) is True
    assert above_sea.is_above_lowest(1600.01) is True


def closet(z: float, kind: str = "water-closet") -> Element:
    box = (0.0, 0.0, z), (0.5, 0.5, z + 0.7)
    return Element("c", role=Role.FIXTURE, kind=kind, position=box[0], box=box)


@pytest.mark.parametrize(
    ("held", "levels", "told"),
    [
        ([closet(0.0), closet(3.0)], (FIRST,), [0.0, 3.0]),
        ([closet(0.0), closet(3.0), closet(6.1, "bathtub")], (FIRST,), [0.0, 3.0, 6.1]),
        ([closet(0.0), fixture(3.0, "water-closet")], (FIRST,), [0.0]),  # which has no body
        ([closet(0.0), closet(3.0)], (), []),
        ([closet(0.0), closet(HEADROOM_M)], (FIRST,), [0.0]),  # on a platform
        ([closet(0.0), closet(HEADROOM_M + 0.1, "shower")], (FIRST,), [0.0]),  # its head
        ([closet(-3.0), closet(0.0)], (FIRST,), [-3.0, 0.0]),
        ([closet(0.0), closet(3.7)], (FIRST, SECOND), [0.0, 3.6]),
        ([flat("slab", 0.0), flat("slab", 3.0), closet(3.0)], (FIRST,), [0.0, 3.0]),
    ],
)
def test_fixtures_far_above_every_level_stand_on_a_floor(held, levels, told) -> None:
    assert [floor.level_m for floor in floors(*held, levels=levels).told] == told


@pytest.mark.parametrize(("foot_m", "same"), [(0.7, True), (3.0, False), (3.8, False)])
def test_basins_one_above_the_other_are_of_one_floor_only_where_one_stands_on_it(foot_m, same):
    low, high, beside = (closet(z, "lavatory") for z in (0.6, foot_m, foot_m + 0.2))
    for levels in ((FIRST,), ()):
        found = floors(low, high, beside, levels=levels)
        assert (found.level_of(low) == found.level_of(high)) is same
        assert found.level_of(beside) == found.level_of(high)
