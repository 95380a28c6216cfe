"""What stands around the plumbing: rooms beside each other, openings, slabs, floors, rims."""

from __future__ import annotations

import pytest

from ifclint.ifc.elements import Element, Model, Point, Role, Space, Storey, Surface
from ifclint.plumbing.drainage.fixtures import Fixture
from ifclint.plumbing.footprint import beyond_faces
from ifclint.plumbing.surroundings.obstacles import Surroundings, level_distance_m, rim_m
from ifclint.plumbing.surroundings.roofs import RoofFaces
from ifclint.plumbing.surroundings.rooms import are_beside


def room(low: Point, high: Point, name: str = "Room") -> Space:
    return Space(name, "", low, high)


def surface(kind: str, low: Point, high: Point, exterior: bool | None = None) -> Surface:
    return Surface(f"{kind} {low}", kind, "", low, high, exterior)


HERE = room((0, 0, 0), (4, 4, 2.5))


@pytest.mark.parametrize(
    ("low", "high", "beside"),
    [
        ((4.49, 0, 0), (8, 4, 2.5), True),
        ((4.51, 0, 0), (8, 4, 2.5), False),
        ((-8, 0, 0), (-0.49, 4, 2.5), True),
        ((-8, 0, 0), (-0.51, 4, 2.5), False),
        ((0, 4.49, 0), (4, 8, 2.5), True),
        ((0, 4.51, 0), (4, 8, 2.5), False),
        ((0, -8, 0), (4, -0.49, 2.5), True),
        ((0, -8, 0), (4, -0.51, 2.5), False),
        ((4.1, 0, 2.5), (8, 4, 5), False),  # on the floor above
        ((4.1, 0, 2.4), (8, 4, 5), True),
        ((4.1, 0, -3), (8, 4, 0), False),
    ],
)
def test_rooms_are_beside_each_other_where_a_wall_at_most_lies_between(low, high, beside) -> None:
    assert are_beside(HERE, room(low, high)) is beside
    assert are_beside(room(low, high), HERE) is beside


@pytest.mark.parametrize(
    ("low", "high", "places"),
    [
        ((2, 5, 0), (3, 5.2, 2), [(2.5, 4.7, 1), (2.5, 5.5, 1)]),
        ((5, 2, 0), (5.2, 3, 2), [(4.7, 2.5, 1), (5.5, 2.5, 1)]),
        ((5, 2, 0), (6, 3, 2), [(4.7, 2.5, 1), (6.3, 2.5, 1)]),  # square in plan: across x
    ],
)
def test_the_faces_of_an_opening_are_its_long_sides(low, high, places) -> None:
    for found, place in zip(beyond_faces(low, high), places, strict=True):
        assert found == pytest.approx(place)


def test_a_window_between_rooms_or_in_an_inner_wall_is_not_outdoors() -> None:
    window = surface("window", (2, 4.0, 1), (3, 4.2, 2))
    inner = surface("wall", (0, 4.0, 0), (9, 4.2, 3), False)
    outer = surface("wall", (0, 4.0, 0), (9, 4.2, 3), True)
    unsaid = surface("wall", (0, 4.0, 0), (9, 4.2, 3))
    rooms = [room((0, 0, 0), (9, 4, 3)), room((0, 4.2, 0), (9, 9, 3))]

    def opens(*surfaces: Surface, spaces: list[Space] = rooms) -> bool:
        return bool(Surroundings(Model(surfaces=list(surfaces), spaces=spaces)).outdoor_openings)

    assert not opens(window, inner)
    assert opens(window, outer)
    assert not opens(window, unsaid)
    assert opens(window, unsaid, spaces=rooms[:1])
    assert opens(surface("window", window.low, window.high, True), inner)
    assert not opens(surface("window", window.low, window.high, False), outer)
    beside = surface("wall", (3, 4.0, 0), (9, 4.2, 3), False)  # it ends at the window
    assert opens(window, beside, spaces=rooms[:1])


BOX = ((0.0, 0.0, 0.0), (2.0, 3.0, 4.0))


@pytest.mark.parametrize(
    ("low", "high", "found"),
    [
        ((1, 1, 1), (9, 9, 9), True),
        ((2, 0, 0), (9, 3, 4), False),  # they share a face
        ((-9, 0, 0), (0, 3, 4), False),
        ((0, 3, 0), (2, 9, 4), False),
        ((0, -9, 0), (2, 0, 4), False),
        ((0, 0, 4), (2, 3, 9), False),
        ((0, 0, -9), (2, 3, 0), False),
        ((1.9, 2.9, 3.9), (9, 9, 9), True),
        ((-9, -9, -9), (0.1, 0.1, 0.1), True),
    ],
)
def test_what_shares_more_than_its_surface_with_a_box_is_within(low, high, found) -> None:
    wall = surface("wall", *BOX)
    heater = Element("h", role=Role.HEATER, box=BOX)
    pipe = Element("p", role=Role.PIPE, box=BOX)
    around = Surroundings(Model(surfaces=[wall], elements=[heater, pipe]))
    kinds = [o.kind for o in around.within(low, high)]
    assert kinds == (["equipment", "wall"] if found else [])


def test_what_is_large_is_found_wherever_one_asks() -> None:
    wall = surface("wall", (-20.0, -0.1, 0.0), (20.0, 0.1, 3.0))
    around = Surroundings(Model(surfaces=[wall]))
    for x in range(-20, 20):
        assert around.within((x + 0.2, -0.05, 1.0), (x + 0.4, 0.05, 1.1)), x
    assert not around.within((20.1, -0.05, 1.0), (20.4, 0.05, 1.1))


def test_the_lowest_slab_over_a_point_or_around_it() -> None:
    slabs = [surface("slab", (0, 0, z - 0.2), (5, 5, z)) for z in (9.0, 3.0, 6.0)]
    around = Surroundings(Model(surfaces=slabs))

    def top(z: float) -> float | None:
        slab = around.slab_at((1.0, 1.0, z))
        return None if slab is None else slab.high[2]

    assert [top(z) for z in (0.0, 2.9, 3.0, 6.5, 9.0)] == [3.0, 3.0, 6.0, 9.0, None]
    assert around.slab_at((5.1, 1.0, 0.0)) is None


def test_the_highest_of_several_roofs_counts() -> None:
    roofs = [surface("roof", (0, 0, z), (5, 5, z + 0.3)) for z in (3.0, 6.0, 4.0)]
    found = Surroundings(Model(surfaces=roofs)).roof_over((1.0, 1.0, 0.0))
    assert found is not None
    assert found.top_m == pytest.approx(6.3)


@pytest.mark.parametrize(
    ("space", "below"),
    [
        (room((0, 0, -2.5), (4, 4, -0.3)), True),
        (room((0, 0, -2.5), (4, 4, -0.41)), False),  # 2.09 m high: no room
        (room((0, 0, -2.5), (4, 4, -0.39)), True),
        (room((0, 0, -1.81), (4, 4, 0.5)), True),  # headroom less a sill below the floor
        (room((0, 0, -1.79), (4, 4, 0.5)), False),
        (room((5.29, 0, -2.5), (9, 4, -0.3)), True),  # the point lies 0.29 m beside it
        (room((5.31, 0, -2.5), (9, 4, -0.3)), False),
    ],
)
def test_a_room_lies_under_a_point_of_a_floor(space: Space, below: bool) -> None:
    around = Surroundings(Model(spaces=[space, room((0, 0, 0), (9, 9, 2.5))]))
    point = (5.0, 1.0, 0.0) if space.low[0] else (2.0, 2.0, 0.0)
    assert around.has_rooms_below(point, 0.0) is below


def test_walls_below_tell_rooms_where_none_is_drawn() -> None:
    cellar = [
        surface("wall", (0, 0, -2.5), (9, 0.2, 0)), surface("wall", (0, 7, -2.5), (9, 7.2, 0)),
    ]  # fmt: skip
    upper = [surface("wall", (0, 0, 0), (20, 0.2, 3))]
    around = Surroundings(Model(surfaces=[*upper, *cellar]))
    assert around.has_rooms_below((4.0, 4.0, 0.0), 0.0) is True
    assert around.has_rooms_below((12.0, 4.0, 0.0), 0.0) is False
    assert around.has_rooms_below((9.29, 4.0, 0.0), 0.0) is True
    assert Surroundings(Model(surfaces=upper)).has_rooms_below((4.0, 4.0, 0.0), 0.0) is False


@pytest.mark.parametrize(
    ("low", "high", "below"),
    [
        ((0, 0, -3.2), (9, 9, -3.0), True),
        ((4.29, 0, -3.2), (9, 9, -3.0), True),  # the point lies 0.29 m beside it
        ((4.31, 0, -3.2), (9, 9, -3.0), None),
        ((0, 0, -2.0), (9, 9, -1.79), False),  # lower than one can stand
        ((0, 0, -3.2), (1.4, 9, -3.0), False),  # a footing
    ],
)
def test_a_floor_below_is_told_by_its_slab_where_rooms_of_the_upper_alone_are_drawn(
    low: Point, high: Point, below: bool | None
) -> None:
    slab = surface("slab", low, high)
    model = Model(spaces=[HERE], surfaces=[slab], storeys=[Storey("Lower", -3.0)])
    assert Surroundings(model).has_rooms_below((4.0, 4.0, 0.0), 0.0) is below


def test_without_rooms_and_walls_a_floor_below_leaves_it_open() -> None:
    storeys = [Storey("Lower", -3.0), Storey("Upper", 0.0)]
    sinks = [Element(f"{z}", role=Role.FIXTURE, position=(0.0, 0.0, z)) for z in (-2.9, 0.1)]
    around = Surroundings(Model(storeys=storeys, elements=sinks))
    assert around.has_rooms_below((4.0, 4.0, 0.0), 0.0) is None
    assert around.has_rooms_below(None, 0.0) is None
    assert around.has_rooms_below((4.0, 4.0, 0.0), -3.0) is False


@pytest.mark.parametrize(
    ("point", "away_m"),
    [
        ((1, 1, 9), 0), ((5, 1, 0), 3), ((-3, 1, 0), 3), ((1, 7, 0), 4), ((1, -4, 0), 4),
        ((5, 7, 0), 5), ((-3, -4, 0), 5),
    ],
)  # fmt: skip
def test_how_far_a_point_lies_beside_a_box(point: Point, away_m: float) -> None:
    assert level_distance_m(point, *BOX) == pytest.approx(away_m)


@pytest.mark.parametrize(
    ("kind", "above_m"),
    [
        ("floor-drain", 0.10), ("floor-sink", 0.30), ("shower", 0.20), ("water-closet", 0.50),
        ("urinal", 0.60), ("bathtub", 0.60), ("clothes-washer", 1.10), ("lavatory", 0.40),
    ],
)  # fmt: skip
def test_a_rim_that_is_not_told_lies_as_high_above_the_outlet_as_is_usual(kind, above_m) -> None:
    fixture = Fixture(Element("f", role=Role.FIXTURE, kind=kind), 0, True)
    assert rim_m(fixture, (0.0, 0.0, 2.0), None) == pytest.approx((2.0, 2.0 + above_m))
    assert rim_m(fixture, None, None) is None


def test_a_rim_is_told_or_is_the_top_of_the_box() -> None:
    element = Element("f", role=Role.FIXTURE, kind="lavatory", box=((0, 0, 2.5), (1, 1, 3)))
    fixture = Fixture(element, 0, True)
    assert rim_m(fixture, (0.0, 0.0, 2.0), 1.0) == (3, 3)
    element.properties["flood_level_rim_m"] = 0.8
    assert rim_m(fixture, (0.0, 0.0, 2.0), 1.0) == (1.8, 1.8)
    assert rim_m(fixture, (0.0, 0.0, 2.0), None) == (3, 3)
    assert rim_m(Fixture(Element("d", kind="disposer", box=BOX), 0, True), (0, 0, 2), 1) is None


@pytest.mark.parametrize(
    ("kind", "body", "rim"),
    [
        ("shower", (1.0, 1.23), (1.23, 1.23)),
        ("shower", (1.0, 3.1), (1.05, 1.23)),  # a cabin with its walls
        ("shower", (1.3, 3.1), (1.35, 1.53)),  # on a platform
        ("bathtub", (1.0, 3.0), (1.35, 1.65)),  # with a surround
        ("water-closet", (1.0, 1.5), (1.5, 1.5)),
        ("water-closet", (1.0, 1.8), (1.35, 1.5)),  # with its tank
        ("lavatory", (1.6, 1.92), (1.92, 1.92)),
        ("lavatory", (1.8, 2.3), (1.8, 1.92)),  # with its faucet
        ("drinking-fountain", (1.6, 2.1), (2.1, 2.1)),
        ("drinking-fountain", (1.6, 2.4), (1.65, 2.1)),  # with its bottle filler
        ("bar-sink", (1.7, 2.5), (1.75, 2.1)),
        ("laundry-sink", (1.2, 2.4), (1.75, 1.97)),
        ("clinical-sink", (1.2, 2.4), (2.4, 2.4)),
    ],
)
def test_no_body_has_its_rim_above_where_those_of_its_kind_lie(
    kind: str, body: tuple[float, float], rim: tuple[float, float]
) -> None:
    box = ((0.0, 0.0, body[0]), (1.0, 1.0, body[1]))
    fixture = Fixture(Element("f", role=Role.FIXTURE, kind=kind, box=box), 0, True)
    assert rim_m(fixture, (0.0, 0.0, 1.0), 1.0) == pytest.approx(rim)
    assert rim_m(fixture, (0.0, 0.0, 1.0), None) == (body[1], body[1])


@pytest.mark.parametrize(("deep_m", "is_exact"), [(0.59, True), (0.61, False)])
def test_what_lies_deep_under_the_hull_of_a_roof_is_a_valley(deep_m: float, is_exact: bool) -> None:
    z = 8 - deep_m
    corners: tuple[Point, ...] = (
        (0, 0, 8), (10, 0, 8), (10, 4, z), (0, 4, z), (10, 8, 8), (0, 8, 8),
        (0, 0, 7.42), (10, 0, 7.42), (10, 8, 7.42), (0, 8, 7.42),
    )  # fmt: skip
    roof = Surface("R", "roof", "RoofFaces", (0, 0, 7.3), (10, 8, 8), None, (), corners)
    found = RoofFaces(roof).over((5.0, 4.0, 0.0))
    assert found is not None
    assert found.is_exact is is_exact


@pytest.mark.parametrize("count", [1, 2, 3])
def test_of_a_roof_of_too_few_corners_the_box_is_taken(count: int) -> None:
    corners: tuple[Point, ...] = ((0, 0, 5), (10, 0, 5), (10, 8, 9))
    roof = Surface("R", "roof", "", (0, 0, 5), (10, 8, 9), None, (), corners[:count])
    found = RoofFaces(roof).over((5.0, 4.0, 0.0))
    assert found is not None
    assert (found.underside_m, found.top_m) == (5, 9)
