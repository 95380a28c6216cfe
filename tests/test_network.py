"""What is joined to what, and open ends that are drawn to meet."""

from __future__ import annotations

import pytest

from ifclint.ifc.elements import Element, End, Joint, Model, Role
from ifclint.network import Network, connect


def pipe(*xs: float, role: Role = Role.PIPE) -> Element:
    return Element(f"{xs}", role=role, ends=[End((x, 0.0, 0.0)) for x in xs])


def network(*elements: Element, joints: tuple[tuple[int, int, int, int], ...] = ()) -> Network:
    return connect(Model(elements=list(elements), joints=[Joint(*joint) for joint in joints]))


@pytest.mark.parametrize(("gap_m", "meet"), [(0.0099, True), (0.0101, False)])
def test_open_ends_a_centimetre_apart_are_drawn_to_meet(gap_m: float, meet: bool) -> None:
    found = network(pipe(0, 1), pipe(1 + gap_m, 2)).meeting_ends
    assert found == ([(0, 1)] if meet else [])


def test_ends_that_are_joined_or_of_one_element_or_of_no_piping_do_not_meet() -> None:
    assert network(pipe(0, 1), pipe(1, 2), joints=((0, 1, 1, 0),)).meeting_ends == []
    assert network(pipe(0, 0)).meeting_ends == []
    assert network(pipe(0, 1), pipe(1, 2, role=Role.OTHER)).meeting_ends == []
    assert network(pipe(0, 1), pipe(1, 2), pipe(1, 3)).meeting_ends == [(0, 1), (0, 2), (1, 2)]


def test_components_and_what_is_joined_to_itself() -> None:
    found = network(pipe(0, 1), pipe(1, 2), pipe(5, 6), joints=((0, 1, 1, 0), (2, 0, 2, 1)))
    assert found.components() == 2
    assert found.self_joined() == [2]
    assert found.joined == [[(1, 0)], [(0, 0)], [(2, 1)]]
    assert network().components() == 0
    assert list(found.pieces([0, 1, 2])) == [{0, 1}, {2}]


def test_the_share_of_pipes_joined_at_both_ends() -> None:
    row = network(pipe(0, 1), pipe(1, 2), pipe(2, 3), joints=((0, 1, 1, 0), (1, 1, 2, 0)))
    assert row.connected_share() == pytest.approx(1 / 3)
    ring = network(pipe(0, 1), joints=((0, 0, 0, 1),))
    assert ring.connected_share() == 1
    assert network().connected_share() == 0
    assert network(pipe(0, 1)).connected_share() == 0


def test_of_a_crowd_in_one_place_only_a_few_meet() -> None:
    """Every pair of a thousand would be half a million, asked for anew in each review."""
    assert len(network(*(pipe(0, 1 + i) for i in range(1000))).meeting_ends) == 16 * 15 / 2
