"""Bounds by which water supply and storm drainage are told, each from both sides."""

from __future__ import annotations

import pytest

from ifclint.engineering.units import M_PER_FT
from ifclint.plumbing import build
from ifclint.plumbing.storm.members import building_storm
from ifclint.plumbing.supply.sides import Parting
from ifclint.plumbing.supply.water_fixtures import uses_water
from ifclint.testing import read_network


def ft(length_m: float) -> str:
    return repr(length_m / M_PER_FT)


@pytest.mark.parametrize(("apart_m", "by_box"), [(1.99, True), (2.01, False)])
def test_a_washer_takes_its_water_at_the_box_its_hoses_reach(apart_m: float, by_box: bool) -> None:
    supply = build(
        read_network(f"""
system=cold_water
water-meter 1 M  in 0 0 0 > out 1 0 0
pipe 0.75 P  1 0 0 > 9 0 0
clothes-washer BOX at=9,0,0  cold 9 0 0
clothes-washer-appliance W at=9,{ft(apart_m)},0  9 50 0
""")
    ).supply
    assert supply is not None
    assert [f.element.guid for f in supply.fixtures] == (["BOX"] if by_box else ["BOX", "W"])


@pytest.mark.parametrize(
    ("lines", "source"),
    [
        ("pipe 1 A  5 0 0 > 9 0 0\npipe 0.75 B  5 5 -9 > 9 0 0", "A"),  # the larger
        ("pipe 1 A  5 0 0 > 9 0 0\npipe 1 B  5 5 -9 > 9 0 0", "B"),  # the lower
        ("pipe 1 A  5 0 -9 > 9 0 0\npipe 1 B  5 5 -9 > 9 0 0", "A"),  # the first
        ("pipe 1 A  5 0 0 > 9 0 0\npipe B  5 5 -9 > 9 0 0", "A"),  # of B no size is known
        ("pipe A  5 0 0 > 9 0 0\npipe B  5 5 -9 > 9 0 0", "B"),
        ("pipe 1 A system=hot_water  5 0 0 > 9 0 0\npipe 0.75 B  5 5 9 > 9 0 0", "B"),
        ("pipe 1 A  5 0 0\npipe 0.75 B  5 5 9 > 9 0 0", "B"),
        ("pipe 2 A  50 0 0 > 51 0 0\npipe 0.75 B  5 5 9 > 9 0 0", "B"),  # joined to nothing
    ],
)
def test_without_a_meter_water_comes_from_the_largest_open_end(lines: str, source: str) -> None:
    text = f"system=cold_water\n{lines}\npipe 0.75 P  9 0 0 > 20 0 0\nlavatory L  cold 20 0 0"
    supply = build(read_network(text)).supply
    assert supply is not None
    assert [supply.elements[i].guid for i in supply.distribution.sources] == [source]


@pytest.mark.parametrize(
    ("line", "is_building"),
    [
        ("pipe 4 A  0 0 8 > 0 0 0", True),
        ("pipe 4 A  0 0 7.9 > 0 0 0", False),  # less than a storey
        ("pipe 4 A  0 0 0 > 8.3 0 8", False),  # it leans by more than 45 degrees
        ("pipe 4 A  0 0 0 > 7.9 0 8", True),
        ("fitting 4 A  0 0 8 > 0 0 0", False),
        ("pipe 4 A  0 0 8", False),
        ("roof-drain A  0 0 8", True),
    ],
)
def test_storm_piping_is_a_buildings_where_it_falls_a_storey(line: str, is_building: bool) -> None:
    network = read_network(f"system=storm_drainage\n{line}\npipe 4 YARD  90 0 0 > 99 0 0")
    found = [network.elements[i].guid for i in building_storm(network)]
    assert found == (["A"] if is_building else [])


@pytest.mark.parametrize(
    ("low", "between", "is_building"),
    [
        ("0 0 4 > 0 0 0", "coupling F  0 0 5 > 0 0 4", True),
        ("0 0 4 > 0 0 0.1", "coupling F  0 0 5 > 0 0 4", False),  # less than a storey
        ("9 0 4 > 9 0 0", "pipe 4 F  0 0 5 > 9 0 4", False),  # level between
    ],
)
def test_a_leader_in_pieces_falls_as_far_as_they_do(
    low: str, between: str, is_building: bool
) -> None:
    text = f"system=storm_drainage\npipe 4 A  0 0 8 > 0 0 5\n{between}\npipe 4 B  {low}"
    found = building_storm(read_network(text))
    assert len(found) == (3 if is_building else 0)


def test_all_that_is_joined_to_a_buildings_storm_piping_is_its_own() -> None:
    network = read_network(
        "system=storm_drainage\npipe 4 B  9 0 0 > 0 0 0\npipe 4 A  0 0 9 > 0 0 0\n"
        "pipe 4 C  9 0 0 > 20 0 0\npipe 4 YARD  90 0 0 > 99 0 0"
    )
    assert [network.elements[i].guid for i in building_storm(network)] == ["B", "A", "C"]


@pytest.mark.parametrize(("apart_m", "stands"), [(0.599, True), (0.603, False)])
def test_a_roof_drain_stands_on_the_open_top_of_a_pipe_just_below(apart_m, stands) -> None:
    storm = build(
        read_network(f"""
system=storm_drainage
roof-drain RD  0 0 {ft(10 * M_PER_FT + apart_m)}
pipe 4 P  0 0 10 > 0 0 0
pipe 4 Q  0 0 0 > 30 0 -1
""")
    ).storm
    assert storm is not None
    entered = {i.element.guid: i.index for i in storm.inlets}
    assert (entered["RD"] >= 0) is stands
    assert ("P" in entered) is not stands


def test_where_two_lines_part_is_found_along_the_chains_that_carry_most() -> None:
    """A riser with a branch at each of twenty tees, drawn so that the branches come first."""
    lines = [
        "system=cold_water",
        "water-meter 1 M  in -1 0 0 > out 0 0 0",
        "pipe 1 P0  0 0 0 > 1 0 0",
    ]
    for n in range(1, 21):
        x = 2 * n
        lines += [
            f"tee 1 T{n}  {x - 1} 0 0 > {x} 1 0 > {x} 0 0",
            f"pipe 0.5 B{n}  {x} 1 0 > {x} 5 0",
            f"lavatory L{n}  cold {x} 5 0",
            f"pipe 1 P{n}  {x} 0 0 > {x + 1} 0 0",
        ]
    lines.append("lavatory END  cold 41 0 0")
    supply = build(read_network("\n".join(lines))).supply
    assert supply is not None
    of = {s.first.guid: s for s in supply.segments if s.pipes}
    parting = Parting(supply.segments)
    for n in range(1, 20):
        met = parting.met(of[f"B{n}"], of["B20"])
        assert met is of[f"P{n - 1}"]
        assert parting.met(of["B20"], of[f"B{n}"]) is met
    assert parting.met(of["P3"], of["B7"]) is of["P3"]
    riser = {parting.top[of[f"P{n}"].number] for n in range(20)}
    assert len(riser) == 1  # one chain: that it is walked in few steps rests on it


def test_lines_from_different_sources_meet_nowhere() -> None:
    supply = build(
        read_network("""
system=cold_water
water-meter 1 M1  in 0 0 0 > out 1 0 0
pipe 1 A  1 0 0 > 9 0 0
lavatory L1  cold 9 0 0
water-meter 1 M2  in 0 9 0 > out 1 9 0
pipe 1 B  1 9 0 > 9 9 0
lavatory L2  cold 9 9 0
""")
    ).supply
    assert supply is not None
    of = {s.first.guid: s for s in supply.segments if s.pipes}
    assert Parting(supply.segments).met(of["A"], of["B"]) is None


@pytest.mark.parametrize(
    ("line", "uses"),
    [
        ("water-softener S  in 0 0 0 > out 1 0 0", False),  # water passes it
        ("water-softener S  in 0 0 0", True),
        ("water-filter S  in 0 0 0 > out 1 0 0", False),
        ("faucet S  0 0 0", True),
        ("faucet S  0 0 0 > 1 0 0", False),
        ("faucet S  cold 0 0 0 > hot 1 0 0", True),
        ("isolating S  0 0 0", False),
        ("lavatory S  cold 0 0 0 > hot 1 0 0", True),
    ],
)
def test_what_takes_water_and_what_water_passes(line: str, uses: bool) -> None:
    assert uses_water(read_network(f"system=cold_water\n{line}").elements[0]) is uses
