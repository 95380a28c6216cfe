"""Where parts come to lie when a drain gets its fall: what moves, what stays, what cannot be."""

from __future__ import annotations

from math import dist

import pytest

from ifclint.corrections.heights import LEAST_UPRIGHT_M, DrainRun, Resettled, settled
from ifclint.ifc.elements import Element, End, Joint, Model, Role, System
from ifclint.network import Network, connect
from ifclint.testing import read_network
from tests.effort import calls

M = 0.3048
QUARTER_IN_PER_FT = 1 / 48

# Feet. A lavatory's drain: tailpiece, trap, arm to a tee whose top is a vent, an upright from there
# down to a level branch, a wye on a building drain, and beyond it the outlet. The branch is level.
LAVATORY = """
lavatory L  0 0 3
pipe 1.5 TAIL  0 0 3 > 0 0 2
p-trap 1.5 T  0 0 2 > 0.3 0 2
pipe 1.5 ARM  0.3 0 2 > 2 0 1.96
sanitary-tee 2 TEE  2 0 1.96 > 2 0 1.7 > 2 0 2.2
pipe 1.5 VENT system=vent 2 0 2.2 > 2 0 12
vent-through-roof 1.5 VTR system=vent 2 0 12
pipe 2 DROP  2 0 1.7 > 2 0 {drop}
bend 2 B  2 0 {drop} > 2.2 0 -0.2
pipe 2 LEVEL  2.2 0 -0.2 > 12.2 0 -0.2
wye 3 W  12.2 0 -0.2 > 12.4 0 -0.21 > 12.4 0.4 -0.2
pipe 3 OUT  12.4 0 -0.21 > 20 0 -0.4
sewer-connection S  20 0 -0.4
pipe 3 OTHER  12.4 0.4 -0.2 > 12.4 10 0
"""
RISE_M = 10 * QUARTER_IN_PER_FT * M


def given(network: Network, *names: str, runs: dict[str, DrainRun] | None = None) -> Resettled:
    slopes = {e.guid: QUARTER_IN_PER_FT for e in network.elements if e.name in names}
    return settled(network, network.elements, slopes, runs or {})


def moved(network: Network, made: Resettled) -> dict[str, list[float]]:
    """By how much the ends of each element moved, m; of those that did."""
    far = {
        old.name: [
            round(b.position[2] - a.position[2], 6)
            for a, b in zip(old.ends, new.ends, strict=True)
            if a.position and b.position
        ]
        for old, new in zip(network.elements, made.elements, strict=True)
    }
    return {name: by for name, by in far.items() if any(by)}


def apart_m(network: Network, made: Resettled) -> float:
    """The widest that joined ends stand apart."""
    ends = [
        (made.elements[j.a].ends[j.a_end].position, made.elements[j.b].ends[j.b_end].position)
        for j in network.joints
    ]
    return max(dist(a, b) for a, b in ends if a and b)


def test_an_upright_is_cut_and_nothing_above_it_moves() -> None:
    network = read_network(LAVATORY.format(drop=0))
    made = given(network, "LEVEL", runs={"LEVEL": DrainRun((2.2 * M, 0, -0.2 * M), "")})
    up = round(RISE_M, 6)
    assert moved(network, made) == {"DROP": [0, up], "B": [up, up], "LEVEL": [up, 0]}
    assert (made.lifted_m, made.deeper_m) == (pytest.approx(RISE_M), 0)
    assert not made.stuck
    assert apart_m(network, made) < 1e-9


def test_what_is_moved_takes_its_place_and_length_with_it() -> None:
    network = read_network(LAVATORY.format(drop=0))
    made = given(network, "LEVEL", runs={"LEVEL": DrainRun((2.2 * M, 0, -0.2 * M), "")})
    for old, new in zip(network.elements, made.elements, strict=True):
        if old.name == "B" and old.position and new.position:
            assert new.position[2] - old.position[2] == pytest.approx(RISE_M)
        if old.name == "DROP":
            assert new.length_m == pytest.approx((old.length_m or 0) - RISE_M)


def test_where_the_upright_is_too_short_the_outlet_goes_deeper() -> None:
    """With no more than 3 in of upright, 2-1/2 in cannot be cut from it: it grows longer."""
    network = read_network(LAVATORY.format(drop=1.45))
    made = given(network, "LEVEL", runs={"LEVEL": DrainRun((2.2 * M, 0, -0.2 * M), "")})
    spare_m = 0.25 * M - LEAST_UPRIGHT_M
    assert made.deeper_m == pytest.approx(RISE_M - spare_m)
    far = moved(network, made)
    assert far["S"] == far["W"][:1] == far["OTHER"][:1] == [round(spare_m - RISE_M, 6)]
    assert not {"TEE", "ARM", "T", "TAIL", "L", "VENT", "VTR"} & set(far)
    assert apart_m(network, made) < 1e-9


@pytest.mark.parametrize(
    ("between", "deeper_m"),
    [("", RISE_M), ("pipe 2 LEG  2.2 0 0 > 2.2 0 -0.2\n", RISE_M + LEAST_UPRIGHT_M - 0.2 * M)],
)
def test_what_stands_fixed_is_not_lifted(between: str, deeper_m: float) -> None:
    """A floor drain at the upper end itself, and one that stands on a leg of 2.4 in."""
    at = 0 if between else -0.2
    network = read_network(
        f"floor-drain F  2.2 0 {at}\n{between}"
        "pipe 2 LEVEL  2.2 0 -0.2 > 12.2 0 -0.2\nsewer-connection S  12.2 0 -0.2\n"
    )
    made = given(network, "LEVEL", runs={"LEVEL": DrainRun((2.2 * M, 0, -0.2 * M), "")})
    assert made.deeper_m == pytest.approx(deeper_m)
    assert "F" not in moved(network, made)
    assert not made.stuck


def test_what_stands_fixed_at_both_ends_leaves_no_fall_and_is_told() -> None:
    network = read_network(
        "floor-drain F  2.2 0 0\npipe 2 LEVEL  2.2 0 0 > 12.2 0 0\nfloor-sink R  12.2 0 0\n"
        "floor-drain G  2.2 9 0\npipe 2 FREE  2.2 9 0 > 12.2 9 0\nsewer-connection S  12.2 9 0\n"
    )
    runs = {n: DrainRun((2.2 * M, y * M, 0), "") for n, y in (("LEVEL", 0), ("FREE", 9))}
    made = given(network, "LEVEL", "FREE", runs=runs)
    assert made.stuck == {"LEVEL"}
    assert set(moved(network, made)) == {"FREE", "S"}


def test_a_pipe_that_falls_the_wrong_way_gets_its_fall_the_right_way() -> None:
    text = "pipe 2 P  0 0 0 > 10 0 {z}\nsewer-connection S  10 0 {z}\n"
    rises = {}
    for z in (0.1, -0.1, -0.3):
        network = read_network(text.format(z=z))
        made = given(network, "P", runs={"P": DrainRun((0, 0, 0), "")})
        rises[z] = moved(network, made).get("P")
    want = round(RISE_M, 6)
    assert rises[0.1] == [pytest.approx(want + 0.1 * M, abs=1e-5), 0]
    assert rises[-0.1] == [pytest.approx(want - 0.1 * M, abs=1e-5), 0]
    assert rises[-0.3] is None  # falls more than is asked


def test_pieces_of_one_pipe_each_keep_their_own_upper_end() -> None:
    ends = [(0.0, 0.0, 0.0), (3.0, 0.0, 0.0), (6.0, 0.0, 0.0)]
    pipes = [
        Element("P", role=Role.PIPE, system=System.SANITARY, piece=n, ends=[End(a), End(b)])
        for n, (a, b) in enumerate([(ends[0], ends[1]), (ends[1], ends[2])])
    ]
    network = connect(Model(elements=pipes, joints=[Joint(0, 1, 1, 0)]))
    runs = {p.key: DrainRun(p.ends[0].position, "") for p in pipes}
    made = settled(network, pipes, {"P": 0.02}, runs)
    heights = [[e.position[2] for e in p.ends if e.position] for p in made.elements]
    assert heights[0] == [pytest.approx(0.12), pytest.approx(0.06)]
    assert heights[1] == [pytest.approx(0.06), pytest.approx(0.0)]


def test_of_two_branches_each_gets_its_fall_and_the_drain_below_both() -> None:
    network = read_network(
        "pipe 2 A  0 0 0 > 10 0 0\npipe 2 B  10 20 0 > 10 0 0\npipe 3 C  10 0 0 > 30 0 0\n"
        "sewer-connection S  30 0 0\n"
    )
    runs = {"A": DrainRun((0, 0, 0), ""), "B": DrainRun((10 * M, 20 * M, 0), ""),
            "C": DrainRun((10 * M, 0, 0), "")}  # fmt: skip
    far = moved(network, given(network, "A", "B", "C", runs=runs))
    third = [round(n * RISE_M, 6) for n in (2, 3, 4)]
    assert far == {"A": [third[1], third[0]], "B": [third[2], third[0]], "C": [third[0], 0]}


def test_what_has_no_place_gets_the_slope_as_stated() -> None:
    pipe = Element("P", role=Role.PIPE, ends=[End(None), End(None)])
    made = settled(connect(Model(elements=[pipe])), [pipe], {"P": 0.02}, {})
    assert made.elements[0].slope == 0.02
    assert pipe.slope is None


def test_a_long_chain_takes_no_more_than_its_share() -> None:
    """Ten times as much pipe must not take a hundred times as long."""
    made_calls = {}
    for count in (1_000, 10_000):
        points = [(float(n), 0.0, 0.0) for n in range(count + 1)]
        pipes = [
            Element(f"P{n}", role=Role.PIPE, ends=[End(points[n]), End(points[n + 1])])
            for n in range(count)
        ]
        network = connect(
            Model(elements=pipes, joints=[Joint(n, 1, n + 1, 0) for n in range(count - 1)])
        )
        runs = {p.key: DrainRun(p.ends[0].position, "") for p in pipes}
        slopes = {p.guid: 0.02 for p in pipes}
        made = settled(network, pipes, slopes, runs)
        assert made.lifted_m == pytest.approx(0.02 * count)
        made_calls[count] = calls(lambda: settled(network, pipes, slopes, runs))  # noqa: B023
    assert made_calls[10_000] < 15 * made_calls[1_000]
