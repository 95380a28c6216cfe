"""Where free ends point and what they meet, of models made by hand: each bound from both sides."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from ifclint.ifc.elements import Element, End, Model, Point, Role, System
from ifclint.ifc.joints.end_directions import direction_between, ray_of
from ifclint.ifc.joints.fitting_centers import join_to_fitting_centers
from ifclint.ifc.joints.gaps import bridge_gaps
from ifclint.ifc.joints.meetings import join_meetings
from ifclint.ifc.joints.nearby import join_beside
from ifclint.ifc.joints.pieces import cut_at_sides
from ifclint.ifc.joints.tees import join_tees

TOLERANCE_M = 0.010
HERE = (0.0, 0.0, 0.0)


def pipe(name: str, *places: Point, **more: float) -> Element:
    element = Element(name, name=name, role=Role.PIPE, system=System.COLD_WATER)
    element.ends = [End(place) for place in places]
    element.length_m = more.get("length_m", math.dist(*places))
    return element


def free(made: Model) -> list[tuple[int, int]]:
    return [(i, n) for i, e in enumerate(made.elements) for n in range(len(e.ends))]


def model(*elements: Element) -> Model:
    return Model(elements=list(elements), joining_tolerance_m=TOLERANCE_M)


@pytest.mark.parametrize(("far_m", "points"), [(0.97, True), (1.0, True), (1.03, False)])
def test_an_end_points_away_from_a_middle_within_a_metre(far_m: float, points: bool) -> None:
    valve = Element("V", role=Role.VALVE, position=(0.0, 0.0, 0.0), ends=[End((far_m, 0.0, 0.0))])
    ray = ray_of(model(valve), (0, 0))
    assert (ray is not None) is points
    assert ray is None or ray.direction == (1.0, 0.0, 0.0)


@pytest.mark.parametrize(("length_m", "points"), [(1.009, True), (1.011, False)])
def test_a_pipe_longer_than_its_chord_is_bent_and_points_nowhere(
    length_m: float, points: bool
) -> None:
    bent = pipe("P", (0.0, 0.0, 0.0), (0.0, 0.0, 1.0), length_m=length_m)
    assert (ray_of(model(bent), (0, 1)) is not None) is points


@pytest.mark.parametrize(("apart_m", "tells"), [(0.0009, False), (0.001, True), (0.0011, True)])
def test_two_places_within_a_millimetre_tell_no_direction(apart_m: float, tells: bool) -> None:
    assert (direction_between((0.0, 0.0, 0.0), (0.0, apart_m, 0.0)) is not None) is tells


@pytest.mark.parametrize(
    ("places_m", "joined"),
    [
        ((0.0, 0.004, 0.008), 2),  # every two of the three meet
        ((0.0, 0.0099, 0.0198), 2),  # the outer two do not: all are within reach of the middle
        ((0.0, 0.01, 0.02), 2),
        ((0.0, 0.0001, 0.0202), 0),  # no two meet what the third would
    ],
)
def test_pipes_run_through_where_all_of_them_end_within_reach_of_one_point(
    places_m: tuple[float, ...], joined: int
) -> None:
    a, b, c = ((x, 0.0, 0.0) for x in places_m)
    made = model(
        pipe("A", (-2.0, 0.0, 0.0), a), pipe("B", b, (0.0, 2.0, 0.0)), pipe("C", c, (2.0, 0.0, 0.0))
    )
    join_meetings(made, free(made))
    assert len(made.joints) == joined


@pytest.mark.parametrize(("short_m", "joined"), [(0.007, 2), (0.0072, 0)])
def test_pipes_that_stop_short_of_the_middle_of_a_tee_meet_there(
    short_m: float, joined: int
) -> None:
    """The branch lies from each end of the run as far as the tolerance reaches, or farther."""
    made = model(
        pipe("A", (-2.0, 0.0, 0.0), (-short_m, 0.0, 0.0)),
        pipe("B", (short_m, 0.0, 0.0), (2.0, 0.0, 0.0)),
        pipe("C", (0.0, short_m, 0.0), (0.0, 2.0, 0.0)),
    )
    join_meetings(made, free(made))
    assert len(made.joints) == joined


@pytest.mark.parametrize(("count", "joined"), [(3, 2), (4, 3), (5, 0)])
def test_no_more_than_four_pipes_meet(count: int, joined: int) -> None:
    turns = (math.tau * n / count for n in range(count))
    around = ((math.cos(t), math.sin(t), 0.0) for t in turns)
    made = model(*(pipe(f"P{n}", tip, HERE) for n, tip in enumerate(around)))
    join_meetings(made, free(made))
    assert len(made.joints) == joined


@pytest.mark.parametrize(("bent_deg", "joined"), [(29.0, 2), (31.0, 0)])
def test_pipes_of_unknown_service_run_through_within_30_degrees(
    bent_deg: float, joined: int
) -> None:
    t = math.radians(bent_deg)
    tips = ((-1.0, 0.0, 0.0), (math.cos(t), math.sin(t), 0.0), (0.0, 0.0, 1.0))
    pipes = [pipe(f"P{n}", tip, HERE) for n, tip in enumerate(tips)]
    for one in pipes:
        one.system = None
    made = model(*pipes)
    join_meetings(made, free(made))
    assert len(made.joints) == joined


@pytest.mark.parametrize(
    ("outside_m", "aside_m", "joined"),
    [
        (None, 0.009, True), (None, 0.011, False),  # of unknown size: the tolerance alone
        (0.1143, 0.066, True), (0.1143, 0.068, False),  # within the tolerance of the pipe's side
    ],
)  # fmt: skip
def test_an_end_meets_the_side_of_a_pipe_within_it(
    outside_m: float | None, aside_m: float, joined: bool
) -> None:
    main = pipe("Main", (-2.0, 0.0, 0.0), (2.0, 0.0, 0.0))
    if outside_m is not None:
        main.properties["outside_diameter_m"] = outside_m
    made = model(main, pipe("Branch", (0.0, aside_m, 0.0), (0.0, 1.0, 0.0)))
    join_tees(made, [(1, 0)])
    assert bool(made.joints) is joined


BOX = (0.0, 0.0, 0.0), (0.5, 0.4, 0.2)
WIDE, HIGH = 0.5, 0.2


@pytest.mark.parametrize(
    ("kind", "place", "limit_m"),
    [
        ("lavatory", lambda d: (WIDE + d, 0.2, 0.1), 0.15),  # beside it
        ("lavatory", lambda d: (-d, 0.2, 0.1), 0.15),
        ("lavatory", lambda d: (0.2, -d, 0.1), 0.15),
        ("lavatory", lambda d: (0.2, 0.2, -d), 0.5),  # its stop below
        ("lavatory", lambda d: (0.2, 0.2, HIGH + d), 0.4),  # a spout over it
        ("water-closet", lambda d: (0.2, 0.2, HIGH + d), 0.7),  # a flush valve
        ("shower", lambda d: (0.2, 0.2, d), 2.1),  # a head, above the floor
        ("mop-sink", lambda d: (0.2, 0.2, d), 1.25),  # a faucet, above the floor
    ],
)  # fmt: skip
@pytest.mark.parametrize("share", [0.98, 1.02])
def test_how_far_from_a_fixture_water_ends_that_feeds_it(
    kind: str, place: Callable[[float], Point], limit_m: float, share: float
) -> None:
    _is_joined_within(Role.FIXTURE, kind, System.COLD_WATER, place, limit_m, share)


@pytest.mark.parametrize(
    ("system", "place", "limit_m"),
    [
        (System.GAS, lambda d: (0.2, 0.2, -d), 0.15),
        (System.GAS, lambda d: (WIDE + d, 0.2, 0.1), 0.15),
        (System.GAS, lambda d: (0.2, 0.2, HIGH + d), 0.15),
        (System.FLUE, lambda d: (0.2, 0.2, HIGH + d), 0.3),  # a draft hood
    ],
)
@pytest.mark.parametrize("share", [0.98, 1.02])
def test_how_far_from_a_heater_gas_and_flue_end(
    system: System, place: Callable[[float], Point], limit_m: float, share: float
) -> None:
    _is_joined_within(Role.HEATER, "storage", system, place, limit_m, share)


def _is_joined_within(
    role: Role, kind: str, system: System, place: Callable[[float], Point], limit_m: float,
    share: float,
) -> None:  # fmt: skip
    end = place(share * limit_m)
    away = tuple(c + 3.0 * (c - m) for c, m in zip(end, (0.2, 0.2, 0.1), strict=True))
    outward = pipe("P", away, end)
    outward.system = system
    taker = Element("T", name="T", role=role, kind=kind, box=BOX)
    made = model(outward, taker)
    join_beside(made, [(0, 1)], {1: BOX})
    assert bool(made.joints) is (share < 1)


@pytest.mark.parametrize(
    ("kind", "joined"),
    [("coupling", True), ("bend-90", True), ("hammer-arrester", False), ("cap", False)],
)
@pytest.mark.parametrize("role", [Role.FITTING, Role.VALVE])
def test_a_fixture_is_not_fed_by_what_water_does_not_leave(
    kind: str, joined: bool, role: Role
) -> None:
    closed = Element("A", role=role, kind=kind, system=System.COLD_WATER)
    closed.ends = [End((-1.0, 0.2, 0.1)), End((-0.1, 0.2, 0.1))]
    taker = Element("T", role=Role.FIXTURE, kind="water-closet", box=BOX)
    made = model(closed, taker)
    join_beside(made, [(0, 1)], {1: BOX})
    assert bool(made.joints) is joined


@pytest.mark.parametrize(
    ("tolerance_m", "limit_m"), [(0.010, 0.025), (0.020, 0.025), (0.004, 0.010)]
)
@pytest.mark.parametrize("share", [0.98, 1.02])
def test_how_wide_a_gap_is_bridged(tolerance_m: float, limit_m: float, share: float) -> None:
    """25 mm, or two and a half times the tolerance where closer joints are asked for."""
    a = pipe("A", (-2.0, 0.0, 0.0), HERE)
    b = pipe("B", (share * limit_m, 0.0, 0.0), (2.0, 0.0, 0.0))
    made = model(a, b)
    made.joining_tolerance_m = tolerance_m
    bridge_gaps(made, free(made), {})
    assert bool(made.joints) is (share < 1)


@pytest.mark.parametrize(("apart_m", "pieces"), [(0.0, 2), (0.00098, 2), (0.00102, 3)])
def test_branches_within_a_millimetre_enter_a_pipe_at_one_place(
    apart_m: float, pieces: int
) -> None:
    main = pipe("Main", (-2.0, 0.0, 0.0), (2.0, 0.0, 0.0))
    there = (apart_m, 0.0, 0.0)
    made = model(main, pipe("B", HERE, (0.0, 1.0, 0.0)), pipe("C", there, (apart_m, -1.0, 0.0)))
    join_tees(made, [(1, 0), (2, 0)])
    cut_at_sides(made)
    assert [e.guid for e in made.elements].count("Main") == pieces


@pytest.mark.parametrize("share", [0.98, 1.02])
@pytest.mark.parametrize(
    ("place", "limit_m"),
    [
        (lambda d: (0.0, d, 0.0), 0.18),  # three outside diameters of 60 mm off
        (lambda d: (d, 0.1, 0.0), 0.005),  # half the tolerance beside its line
    ],
)
def test_how_near_a_pipe_points_at_the_middle_of_a_fitting(
    place: Callable[[float], Point], limit_m: float, share: float
) -> None:
    x, y, z = place(share * limit_m)
    tee = Element("T", name="T", role=Role.FITTING, kind="tee", position=HERE)
    pipes = [
        pipe("A", (-1.0, 0.0, 0.0), (-0.1, 0.0, 0.0)),
        pipe("B", (1.0, 0.0, 0.0), (0.1, 0.0, 0.0)),
        pipe("C", (x, y + 1.0, z), (x, y, z)),
    ]
    for one in pipes:
        one.properties["outside_diameter_m"] = 0.06
    made = model(*pipes, tee)
    join_to_fitting_centers(made, [(0, 1), (1, 1), (2, 1)], {})
    assert len(made.joints) == (3 if share < 1 else 2)


@pytest.mark.parametrize(("aside_m", "joined"), [(0.0049, True), (0.0051, False)])
def test_a_gap_is_bridged_along_one_line_alone(aside_m: float, joined: bool) -> None:
    a = pipe("A", (-2.0, 0.0, 0.0), HERE)
    b = pipe("B", (0.02, aside_m, 0.0), (2.0, aside_m, 0.0))
    made = model(a, b)
    bridge_gaps(made, free(made), {})
    assert bool(made.joints) is joined
