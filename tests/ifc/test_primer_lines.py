"""The line of a trap primer is joined to the one floor drain that it ends beside."""

from __future__ import annotations

import pytest

from ifclint.ifc.elements import Element, End, Joint, Model, Point, Role, System
from ifclint.ifc.joints.drains_below import join_primer_lines
from ifclint.ifc.joints.free_ends import join

DRAIN = (0.0, 0.0, -0.05), (0.15, 0.15, 0.0)


def part(name: str, role: Role, kind: str, *places: Point) -> Element:
    element = Element(name, name=name, role=role, kind=kind, system=System.COLD_WATER)
    element.ends = [End(place) for place in places]
    return element


def floor_drain(name: str, away_m: float = 0.0, kind: str = "floor-drain") -> Element:
    low, high = DRAIN
    box = (low[0] + away_m, *low[1:]), (high[0] + away_m, *high[1:])
    drain = Element(name, name=name, role=Role.FIXTURE, kind=kind, box=box)
    drain.ends = [End((0.07 + away_m, 0.07, -0.05), system=System.SANITARY)]
    return drain


def primed(end: Point, *drains: Element, first: str = "trap-primer") -> list[Joint]:
    """The joints made where a line leads from a valve by way of an elbow to a place."""
    above = (end[0], end[1] + 0.5, end[2])
    made = Model(joining_tolerance_m=0.01)
    made.elements = [
        part("Main", Role.PIPE, "", (3.0, 2.0, 1.0), (2.0, 2.0, 1.0)),
        part("Valve", Role.VALVE, first, (2.0, 2.0, 1.0), (1.9, 2.0, 1.0)),
        part("Line", Role.PIPE, "", (1.9, 2.0, 1.0), above),
        part("Elbow", Role.FITTING, "bend-90", above, above),
        part("Last", Role.PIPE, "", above, end),
        *drains,
    ]
    for i in range(4):
        join(made, (i, 1), (i + 1, 0))
    before = len(made.joints)
    join_primer_lines(made)
    return made.joints[before:]


@pytest.mark.parametrize("kind", ["floor-drain", "floor-sink"])
@pytest.mark.parametrize(
    ("end", "joined"),
    [
        ((0.07, 0.15, -0.1), True),  # at its tail
        ((0.07, 0.07, -0.34), True),
        ((0.07, 0.07, -0.36), False),
        ((0.44, 0.07, -0.03), True),
        ((0.46, 0.07, -0.03), False),
    ],
)
def test_how_near_the_line_ends(kind: str, end: Point, joined: bool) -> None:
    made = primed(end, floor_drain("FD", kind=kind))
    assert [(j.a, j.b) for j in made] == ([(4, 5)] if joined else [])


def test_the_distance_is_kept() -> None:
    (joint,) = primed((0.07, 0.07, -0.15), floor_drain("FD"))
    assert joint.gap_m == pytest.approx(0.1)


@pytest.mark.parametrize("first", ["isolating", "check", "vacuum-breaker"])
def test_a_water_line_without_a_primer_is_left_open(first: str) -> None:
    assert primed((0.07, 0.15, -0.1), floor_drain("FD"), first=first) == []


def test_between_two_drains_it_is_left_open() -> None:
    far, near = floor_drain("Far", 2.0), floor_drain("Near", 0.3)
    assert len(primed((0.2, 0.07, -0.1), floor_drain("FD"), far)) == 1
    assert primed((0.2, 0.07, -0.1), floor_drain("FD"), near) == []


def test_a_fixture_that_is_used_takes_no_primer() -> None:
    assert primed((0.07, 0.15, -0.1), floor_drain("Sink", kind="kitchen-sink")) == []


@pytest.mark.parametrize("branches", [False, True])
def test_a_line_that_branches_behind_its_primer_is_no_line_of_one_drain(branches: bool) -> None:
    made = Model(joining_tolerance_m=0.01)
    made.elements = [
        part("Valve", Role.VALVE, "trap-primer", (2.0, 0.0, 0.0), (1.0, 0.0, 0.0)),
        part("Tee", Role.FITTING, "tee", (1.0, 0.0, 0.0), (0.9, 0.0, 0.0), (1.0, 1.0, 0.0)),
        part("Last", Role.PIPE, "", (0.9, 0.0, 0.0), (0.2, 0.0, 0.0)),
        part("Hose bibb", Role.PIPE, "", (1.0, 1.0, 0.0), (1.0, 2.0, 0.0)),
        floor_drain("FD"),
    ]
    join(made, (0, 1), (1, 0))
    join(made, (1, 1), (2, 0))
    if branches:
        join(made, (1, 2), (3, 0))
    before = len(made.joints)
    join_primer_lines(made)
    assert len(made.joints) - before == (not branches)
