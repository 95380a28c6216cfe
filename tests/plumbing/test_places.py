"""Places: the ends of elements merged where they are joined, and where axes meet."""

from __future__ import annotations

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
