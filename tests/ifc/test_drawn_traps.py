"""A U of pipe and bends below a fixture is a trap; one below a trap, or too deep, is none."""

from __future__ import annotations

from itertools import pairwise

import pytest

from ifclint.ifc.elements import Element, End, Joint, Model, Role, System
from ifclint.ifc.joints.drawn_traps import tell_drawn_traps

R = 0.05  # of the bends


def chain(parts, *, first=Role.FIXTURE, system=System.SANITARY):
    """Parts, as role and places, one joined to the next."""
    model = Model(joining_tolerance_m=0.003)
    for number, (role, *places) in enumerate(((first, parts[0][1]), *parts)):
        ends = [End(position=place) for place in places]
        model.elements.append(
            Element(guid=f"G{number}", name=f"E{number}", role=role, system=system, ends=ends)
        )
    model.elements[0].system = None
    model.joints = [
        Joint(a, 0 if a == 0 else 1, b, 0) for a, b in pairwise(range(len(model.elements)))
    ]
    return model


def u_below(top=0.8, low=0.3, across=0.1, weir=0.45, by_joints=False):
    """A tailpiece, a U and an arm: from the bends on, in the plane of x and z."""
    up, x = weir - R, 0.0
    level = () if by_joints else ((Role.PIPE, (x + R, 0, low), (x + across - R, 0, low)),)
    far = x + (2 * R if by_joints else across)
    return [
        (Role.PIPE, (x, 0, top), (x, 0, low + R)),
        (Role.FITTING, (x, 0, low + R), (x + R, 0, low)),
        *level,
        (Role.FITTING, (far - R, 0, low), (far, 0, low + R)),
        (Role.PIPE, (far, 0, low + R), (far, 0, up)),
        (Role.FITTING, (far, 0, up), (far + R, 0, weir)),
        (Role.PIPE, (far + R, 0, weir), (far + 1, 0, weir - 0.02)),
    ]


def traps(model):
    return [e for e in model.elements if e.role is Role.TRAP]


@pytest.mark.parametrize("by_joints", [False, True])
@pytest.mark.parametrize("system", [System.SANITARY, System.CONDENSATE])
def test_a_u_is_one_trap_from_the_height_of_its_weir_to_its_outlet(by_joints, system):
    model = chain(parts := u_below(by_joints=by_joints), system=system)
    tell_drawn_traps(model)
    (trap,) = traps(model)
    inlet, outlet = (end.position for end in trap.ends)
    assert inlet == pytest.approx((0, 0, 0.45))
    assert outlet == parts[-2][2]
    tailpiece, arm = model.elements[1], model.elements[len(parts)]
    assert tailpiece.ends[1].position == inlet
    index = model.elements.index(trap)
    assert sorted(j[:4] for j in model.joints) == sorted(
        [(0, 0, 1, 0), (1, 1, index, 0), (index, 1, model.elements.index(arm), 0)]
    )
    assert not any(e.ends for e in model.elements if e.role is Role.OTHER)
    (note,) = model.notes
    assert note.guid == trap.guid


def test_a_return_bend_below_and_a_quarter_bend_are_a_trap():
    model = chain(
        [
            (Role.PIPE, (0, 0, 0.8), (0, 0, 0.4)),
            (Role.FITTING, (0, 0, 0.4), (0.1, 0, 0.4)),
            (Role.FITTING, (0.1, 0, 0.4), (0.15, 0, 0.45)),
            (Role.PIPE, (0.15, 0, 0.45), (1.0, 0, 0.43)),
        ]
    )
    tell_drawn_traps(model)
    (trap,) = traps(model)
    assert [end.position for end in trap.ends] == [pytest.approx((0, 0, 0.45)), (0.15, 0, 0.45)]


def test_it_is_a_trap_in_whatever_order_its_parts_are_joined():
    model = chain(u_below())
    model.joints = [Joint(j.b, j.b_end, j.a, j.a_end) for j in reversed(model.joints)]
    tell_drawn_traps(model)
    assert len(traps(model)) == 1


@pytest.mark.parametrize(
    ("changes", "is_one"),
    [
        ({"weir": 0.45}, True),
        ({"weir": 0.59}, True),
        ({"weir": 0.62}, False),  # a climb of more than a foot
        ({"across": 0.5}, True),
        ({"across": 0.6}, False),  # a drain that dips
        ({"top": 0.44}, False),  # what flows in stands lower than where it would flow out
    ],
)
def test_how_deep_and_wide_a_trap_may_be(changes, is_one):
    model = chain(u_below(**changes))
    tell_drawn_traps(model)
    assert len(traps(model)) == is_one


def test_a_drain_that_rises_by_less_than_a_seal_is_none():
    low, weir = 0.43, 0.45
    model = chain(
        [
            (Role.PIPE, (0, 0, 0.8), (0, 0, low)),
            (Role.PIPE, (0, 0, low), (0.1, 0, low)),
            (Role.PIPE, (0.1, 0, low), (0.1, 0, weir)),
            (Role.PIPE, (0.1, 0, weir), (1.0, 0, weir)),
        ]
    )
    tell_drawn_traps(model)
    assert not traps(model)


@pytest.mark.parametrize("first", [Role.TRAP, Role.PUMP, Role.CHAMBER])
def test_what_is_trapped_or_pumped_makes_no_trap_where_it_dips(first):
    model = chain(u_below(), first=first)
    tell_drawn_traps(model)
    assert [e.role for e in model.elements[1:]] == [p[0] for p in u_below()]
    assert not model.notes


@pytest.mark.parametrize("system", [System.VENT, System.COLD_WATER, System.STORM, None])
def test_only_what_drains_fixtures_is_trapped(system):
    model = chain(u_below(), system=system)
    tell_drawn_traps(model)
    assert not traps(model)


def test_two_fixtures_have_a_trap_each():
    one, other = chain(u_below()), chain(u_below())
    first = len(one.elements)
    model = Model(joining_tolerance_m=0.003, elements=[*one.elements, *other.elements])
    model.joints = [
        *one.joints,
        *(Joint(j.a + first, j.a_end, j.b + first, j.b_end) for j in other.joints),
    ]
    tell_drawn_traps(model)
    assert len(traps(model)) == 2
