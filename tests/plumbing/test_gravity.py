"""Drainage by gravity: outlets, stranded drains, loops, reversed and self-joined elements."""

from __future__ import annotations

import dataclasses
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ifclint.ifc.elements import Joint, Storey
from ifclint.network import connect
from ifclint.plumbing import Part, Plumbing, Service, build
from ifclint.plumbing.drainage.gravity import direct
from ifclint.testing import read_network

BATH = """
water-closet WC  0 0 0
pipe 3 P1  0 0 0 > 0 0 -1
long-sweep 3 B1  0 0 -1 > 0.3 0 -1.3
pipe 3 P2  0.3 0 -1.3 > 10 0 -1.502
wye 3 W1  10 0 -1.502 > 10 0.3 -1.502 > 10.3 0 -1.508
lavatory L1  10 8 2.5
p-trap 1.25 T1  10 8 2.5 > 10 7.7 1.5
pipe 1.5 A1  10 7.7 1.5 > 10 6 1.46
sanitary-tee 1.5 ST  10 6 1.46 > 10 5.9 1.3 > 10 5.9 1.6
pipe 1.5 V1 system=vent  10 5.9 1.6 > 10 5.9 20
vent-through-roof VTR system=vent  10 5.9 20
pipe 1.5 D1  10 5.9 1.3 > 10 5.9 -1
long-sweep 1.5 QB  10 5.9 -1 > 10 5.7 -1.39
pipe 1.5 D2  10 5.7 -1.39 > 10 0.3 -1.502
pipe 3 P3  10.3 0 -1.508 > 30 0 -1.91
cleanout 3 CO  10.3 1 -1.4
sewer-connection S  30 0 -1.91
"""


def _segments(plumbing: Plumbing) -> dict[str, tuple[Service, Part]]:
    return {run.first.guid: (run.service, run.part) for run in plumbing.segments}


def test_a_bathroom_as_a_plumber_sees_it() -> None:
    plumbing = build(read_network(BATH))
    segments = _segments(plumbing)
    assert segments["V1"][0] is Service.VENT
    assert segments["A1"] == (Service.DRAIN, Part.TRAP_ARM)
    assert segments["P2"] == (Service.DRAIN, Part.TRAP_ARM)
    assert segments["D1"] == (Service.DRAIN, Part.BUILDING_DRAIN_BRANCH)
    assert segments["P3"] == (Service.DRAIN, Part.BUILDING_DRAIN)
    closet, lavatory = plumbing.fixtures
    assert closet.trap is not None
    assert closet.trap.integral
    assert lavatory.trap_size_in == 1.25
    assert lavatory.drain is not None
    assert lavatory.drain.first.guid == "A1"
    assert {f.outlet.kind for f in plumbing.fixtures if f.outlet} == {"sewer-connection"}


def test_loads_gather_downstream() -> None:
    plumbing = build(read_network(BATH))
    closet, lavatory = plumbing.fixtures
    carried = {r.first.guid: v for r, v in plumbing.load({closet: 3.0, lavatory: 1.0}).items()}
    assert carried == {"P1": 3, "P2": 3, "A1": 1, "D1": 1, "D2": 1, "P3": 4}


@pytest.mark.parametrize(("rise", "certain"), [(0.0, True), (8.0, False)])
def test_a_chamber_of_no_known_kind_at_the_foot_of_the_piping_is_where_it_leaves(
    rise: float, certain: bool
) -> None:
    """Whatever it is called: 3 ft below the lowest floor, or up in the building."""
    network = read_network(BATH.replace("sewer-connection S", "manhole S"))
    for element in network.elements:
        element.kind = "" if element.guid == "S" else element.kind
    network.model.storeys.append(Storey("Ground floor", -rise))
    (outlet,) = {f.outlet for f in build(network).fixtures}
    assert outlet is not None
    assert network.elements[outlet.element].guid == "S"
    assert (outlet.accepted, outlet.certain) == (True, certain)


def test_where_no_outlet_is_named_the_lowest_open_end_below_the_floor_is_taken() -> None:
    text = BATH.replace("sewer-connection S  30 0 -1.91\n", "")
    plumbing = build(read_network(text, (Storey("Ground", 0.0),)))
    (outlet,) = {f.outlet for f in plumbing.fixtures}
    assert (outlet.kind, outlet.accepted) == ("open end", True)
    assert plumbing.network.elements[outlet.element].guid == "P3"


def test_a_gap_strands_what_lies_above_it() -> None:
    text = BATH.replace("10.3 0 -1.508 > 30 0 -1.91", "10.3 0 -1.508 > 29 0 -1.88")
    plumbing = build(read_network(text))
    (stop,) = {f.outlet for f in plumbing.fixtures}
    assert not stop.accepted
    assert plumbing.network.elements[stop.element].guid == "P3"
    assert all(f.outlet is stop for f in plumbing.fixtures)


def test_a_pipe_joined_to_itself_is_reported_and_survived() -> None:
    network = read_network(BATH)
    index = next(i for i, e in enumerate(network.elements) if e.guid == "P2")
    network.model.joints.append(Joint(index, 0, index, 1))
    plumbing = build(connect(network.model))
    assert [loop.label for loop in plumbing.loops] == ['"P2", joined to itself']
    assert all(f.outlet is not None for f in plumbing.fixtures)


def test_a_vent_ring_is_no_ring_of_drains() -> None:
    text = (
        BATH.replace("10 5.9 1.6 > 10 5.9 20", "10 5.9 1.6 > 10 5.9 8")
        + """
tee 1.5 VT system=vent  10 5.9 8 > 10 5.8 8 > 10 5.9 8.2
pipe 1.5 V3 system=vent  10 5.9 8.2 > 10 5.9 20
pipe 1.5 V4 system=vent  10 5.8 8 > 0 0 8
tee 1.5 VT2 system=vent  0 0 8 > 0 0 8.2 > 0 0.1 8
pipe 1.5 V5 system=vent  0 0 8.2 > 10 5.9 20
"""
    )
    assert build(read_network(text)).loops == []


def _said(plumbing: Plumbing) -> dict[str, tuple[object, ...]]:
    flow = plumbing.load(dict.fromkeys(plumbing.fixtures, 1.0))
    return {
        r.first.guid: (r.service, r.part, r.size_in, round(r.length_m or 0, 6), flow.get(r))
        for r in plumbing.segments
    }


@given(st.randoms(use_true_random=False))
def test_the_order_of_elements_and_ends_changes_nothing(chance: random.Random) -> None:
    lines = [line for line in BATH.strip().splitlines() if line]
    chance.shuffle(lines)
    turned = []
    for line in lines:
        if line.startswith("pipe") and chance.random() < 0.5:
            head, _, second = line.partition(" > ")
            words = head.split()
            first = " ".join(words[-3:])
            line = " ".join([*words[:-3], second, ">", first])
        turned.append(line)
    assert _said(build(read_network("\n".join(turned)))) == _said(build(read_network(BATH)))


@given(st.floats(0.05, 0.95))
def test_drawing_a_pipe_in_two_pieces_changes_nothing(at: float) -> None:
    whole = "pipe 3 P3  10.3 0 -1.508 > 30 0 -1.91"
    x, z = 10.3 + at * 19.7, -1.508 - at * 0.402
    halves = f"pipe 3 P3  10.3 0 -1.508 > {x!r} 0 {z!r}\npipe 3 P3b  {x!r} 0 {z!r} > 30 0 -1.91"
    before, after = build(read_network(BATH)), build(read_network(BATH.replace(whole, halves)))
    assert _said(before) == _said(after)


def test_plumbing_is_not_changed_by_looking_at_it() -> None:
    network = read_network(BATH)
    before = [dataclasses.replace(e) for e in network.elements]
    build(network)
    assert network.elements == before


@pytest.mark.parametrize("ending", ["EXIT", "ENTRY"])
def test_an_exit_fitting_at_the_lowest_place_is_the_sewer_connection(ending: str) -> None:
    network = read_network("""
lavatory L  0 0 0.8
pipe 2 P  0 0 0.8 > 3 0 0.7
fitting 2 E  3 0 0.7
""")
    (fitting,) = [e for e in network.elements if e.guid == "E"]
    assert not any(o.kind == "exit fitting" for o in direct(network, ()).outlets)
    fitting.predefined_type = ending
    (outlet,) = direct(network, ()).outlets
    assert (network.elements[outlet.element].guid, outlet.kind, outlet.basis) == (
        "E", "exit fitting", "model",
    )  # fmt: skip


def test_an_exit_fitting_of_a_vent_is_no_sewer_connection() -> None:
    network = read_network("""
lavatory L  0 0 0.8
pipe 2 P  0 0 0.8 > 3 0 0.7
pipe 2 V  0 0 0.8 > 0 0 4
fitting 2 E  0 0 4
""")
    (fitting,) = [e for e in network.elements if e.guid == "E"]
    fitting.predefined_type = "EXIT"
    assert not any(o.kind == "exit fitting" for o in direct(network, ()).outlets)
