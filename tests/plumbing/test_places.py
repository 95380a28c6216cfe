"""Places: the ends of elements merged where they are joined, and where axes meet."""

from __future__ import annotations

from math import cos, radians, sin

import pytest

from ifclint.ifc.elements import Element, End, Joint, Model, Point, Role
from ifclint.network import Network, connect
from ifclint.plumbing.flow.places import Places, middle_points


def element(role: Role, origin: Point | None, *ends: Point | None) -> Element:
    return Element("e", role=role, position=origin, ends=[End(end) for end in ends])


def middle(one: Element) -> Point | None:
    network = connect(Model(elements=[one]))
    return middle_points(Places(network, [0]).middles)[0]


LEFT, RIGHT = (-1.0, 0.0, 2.0), (1.0, 0.0, 4.0)
MEAN = (0.0, 0.0, 3.0)
FLAT = ((-1.0, 0.0, 0.0), (1.0, 0.0, 0.0))


@pytest.mark.parametrize(
    ("origin", "is_own"),
    [((0.0, 1.09, 0.0), True), ((0.0, 1.11, 0.0), False), ((0.0, 0.0, 0.0), True), (None, False)],
)
def test_the_axes_of_a_fitting_meet_in_its_origin_where_that_lies_among_its_ends(
    origin: Point | None, is_own: bool
) -> None:
    found = middle(element(Role.FITTING, origin, *FLAT))
    assert found == (origin if is_own else (0.0, 0.0, 0.0))


def test_how_far_the_ends_of_a_fitting_reach_is_that_of_the_farthest() -> None:
    ends = ((-1.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 3.0, 0.0))  # the mean lies at (0, 1, 0)
    origin = (0.0, 1.0, 2.1)
    assert middle(element(Role.FITTING, origin, *ends)) == origin
    assert middle(element(Role.FITTING, (0.0, 1.0, 2.3), *ends)) == (0.0, 1.0, 0.0)


def test_of_a_pipe_it_is_the_mean_of_its_ends_and_of_a_single_end_that() -> None:
    origin = (0.5, 0.0, 3.0)
    assert middle(element(Role.PIPE, origin, LEFT, RIGHT)) == MEAN
    assert middle(element(Role.FITTING, origin, LEFT)) == LEFT
    assert middle(element(Role.FITTING, origin)) == origin
    assert middle(element(Role.FITTING, origin, None, RIGHT)) == RIGHT
    assert middle(element(Role.PIPE, None, None, None)) is None


UP, DOWN, SIDE = (0.0, 0.0, 0.1), (0.0, 0.0, -0.1), (0.2, 0.0, 0.0)
SLANTED = (0.1, 0.0, 0.1)


def middle_among_pipes(fitting: Element, *pipes: tuple[Point, Point]) -> Point | None:
    """Where the axes of a fitting meet that is joined to pipes, each at its first end."""
    elements = [fitting, *(element(Role.PIPE, None, *pipe) for pipe in pipes)]
    ends = [end.position for end in fitting.ends]
    joints = [Joint(0, ends.index(pipe[0]), n + 1, 0) for n, pipe in enumerate(pipes)]
    places = Places(connect(Model(elements=elements, joints=joints)), range(len(elements)))
    return middle_points(places.middles)[0]


@pytest.mark.parametrize("origin", [None, UP, SIDE, (0.0, 0.0, 0.1009)])
def test_a_fitting_placed_at_one_of_its_ends_is_met_where_its_pipes_would(
    origin: Point | None,
) -> None:
    run = [(UP, (0.0, 0.0, 1.0)), (DOWN, (0.0, 0.0, -1.0))]
    elbow = element(Role.FITTING, origin, UP, SIDE)
    found = middle_among_pipes(elbow, run[0], (SIDE, (1.0, 0.0, 0.0)))
    assert found == pytest.approx((0.0, 0.0, 0.0))
    wye = element(Role.FITTING, origin, UP, DOWN, SLANTED)
    found = middle_among_pipes(wye, *run, (SLANTED, (1.0, 0.0, 1.0)))
    assert found == pytest.approx((0.0, 0.0, 0.0))
    wye = element(Role.FITTING, (0.0, 0.0, 0.0985), UP, DOWN, SLANTED)  # at none of them
    assert middle_among_pipes(wye, *run) == (0.0, 0.0, 0.0985)


@pytest.mark.parametrize(
    ("kind", "branches", "z"),
    [
        ("cleanout-tee", [(0.2, 0.0, 0.02)], 0.02),
        ("", [(0.2, 0.0, 0.02)], 0.02),
        ("wye", [(0.06, 0.0, 0.05)], -0.01),
        ("combination", [(0.06, 0.0, -0.05)], 0.01),  # the same, turned round
        ("wye", [(0.3, 0.0, 0.05)], -0.1),  # as far as the end of the run
        ("double-wye", [(0.06, 0.0, 0.05), (-0.06, 0.0, 0.05)], -0.01),
    ],
)
def test_the_branch_of_a_fitting_meets_the_run_of_which_alone_pipes_tell_the_axis(
    kind: str, branches: list[Point], z: float
) -> None:
    run = [(UP, (0.0, 0.0, 1.0)), (DOWN, (0.0, 0.0, -1.0))]
    fitting = element(Role.FITTING, UP, UP, DOWN, *branches)
    fitting.kind = kind
    assert middle_among_pipes(fitting, *run) == pytest.approx((0.0, 0.0, z))


@pytest.mark.parametrize(("off_m", "z"), [(0.009, 0.02 / 3), (0.011, 0.02)])
def test_what_lies_in_the_line_of_a_run_is_no_branch(off_m: float, z: float) -> None:
    run = [(UP, (0.0, 0.0, 1.0)), (DOWN, (0.0, 0.0, -1.0))]
    fitting = element(Role.FITTING, UP, UP, DOWN, (off_m, 0.0, 0.02))
    found = middle_among_pipes(fitting, *run)
    assert found is not None
    assert found[2] == pytest.approx(z)


@pytest.mark.parametrize(("turned_deg", "meets"), [(13.0, False), (15.0, True)])
def test_pipes_that_hardly_turn_run_in_one_line(turned_deg: float, meets: bool) -> None:
    x, z = sin(radians(turned_deg)), cos(radians(turned_deg))
    out = (0.1 * x, 0.0, -0.1 * z)
    bend = element(Role.FITTING, UP, UP, out)
    found = middle_among_pipes(bend, (UP, (0.0, 0.0, 1.0)), (out, (x, 0.0, -z)))
    mean = (out[0] / 2, 0.0, (0.1 + out[2]) / 2)
    assert found == pytest.approx((0.0, 0.0, 0.0) if meets else mean, abs=1e-9)


@pytest.mark.parametrize(("turned_deg", "own"), [(0.0, False), (3.0, False), (6.0, True)])
@pytest.mark.parametrize("role", [Role.VALVE, Role.FITTING])
def test_what_lies_in_the_line_of_a_pipe_is_as_long_as_between_its_ends_wherever_its_origin(
    role: Role, turned_deg: float, own: bool
) -> None:
    valve = element(role, (0.08, 0.0, 0.0), UP, DOWN)
    x, z = sin(radians(turned_deg)), cos(radians(turned_deg))
    found = middle_among_pipes(valve, (UP, (x, 0.0, 0.1 + z)))
    assert found == ((0.08, 0.0, 0.0) if own else (0.0, 0.0, 0.0))


@pytest.mark.parametrize("role", [Role.CHAMBER, Role.INTERCEPTOR])
def test_what_holds_water_is_left_at_the_height_of_its_lowest_end(role: Role) -> None:
    assert middle(element(role, (0.0, 0.0, 0.0), LEFT, RIGHT)) == (0.0, 0.0, 2.0)
    assert middle(element(role, (0.0, 0.0, -5.0))) == (0.0, 0.0, -5.0)


def chain() -> Network:
    """Three pipes in a row, after one that is no member."""
    elements = [element(Role.PIPE, None, (float(n), 0, 0), (n + 1.0, 0, 0)) for n in range(4)]
    elements[2].ends[0].position = None
    return connect(Model(elements=elements, joints=[Joint(n, 1, n + 1, 0) for n in range(3)]))


def test_joined_ends_are_one_place_where_the_first_known_end_is() -> None:
    places = Places(chain(), [1, 2, 3])
    assert places.ends_at == [[], [0, 1], [1, 2], [2, 3]]
    assert places.points == [(1, 0, 0), (2, 0, 0), (3, 0, 0), (4, 0, 0)]
    assert places.joints == [1, 2]
    assert places.joined == [0, 1, 2, 1]
    assert places.refused == []


@pytest.mark.parametrize(
    ("sides", "joints", "refused"),
    [([1, 1, 1, 1], [0, 1, 2], []), ([1, 2, 2, 0], [1, 2], [0]), ([1, 0, 2, 1], [0, 1], [2])],
)
def test_between_different_sides_nothing_is_joined(sides, joints, refused) -> None:
    network = chain()
    for side, one in zip(sides, network.elements, strict=True):
        one.properties["side"] = side
    places = Places(network, range(4), lambda e: int(e.properties["side"]))
    assert (places.joints, places.refused) == (joints, refused)


def test_an_element_joined_to_itself_is_not() -> None:
    one = element(Role.PIPE, None, LEFT, RIGHT)
    places = Places(connect(Model(elements=[one], joints=[Joint(0, 0, 0, 1)])), [0])
    assert (places.joints, places.joined, places.ends_at) == ([], [0], [[0, 1]])


def test_no_members_have_no_places() -> None:
    places = Places(chain(), [])
    assert (places.points, places.joints) == ([], [])
