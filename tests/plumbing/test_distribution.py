"""Piping under pressure: directed from its source, with loops, ways that share, and lengths."""

from __future__ import annotations

import pytest

from ifclint.engineering.units import M_PER_FT
from ifclint.ifc.elements import Element, Role
from ifclint.network import Network, connect
from ifclint.plumbing.flow.distribution import Distribution
from ifclint.plumbing.flow.pressure import PressurePiping, distribute, head_of
from ifclint.plumbing.supply.segments import make_water_segments
from ifclint.testing import read_network

TREE = """
system=fuel_gas material=steel
pipe 1 A     0 0 0 > 10 0 0
tee 1 T      10 0 0 > 10.5 0 0 > 11 0 0 > 10.5 0 -1
pipe 0.5 B   11 0 0 > 20 0 0
coupling 0.5 C  20 0 0 > 20.1 0 0
pipe 0.5 B2  20.1 0 0 > 26 0 0
pipe 0.5 D   10.5 0 -1 > 10.5 0 -4
fixture X    26 0 0
fixture Y    10.5 0 -4
"""
LOOP = """
system=cold_water
pipe 1 IN  0 0 0 > 10 0 0
pipe 1 NEAR  10 0 0 > 20 0 0
pipe 1 FAR  10 0 0 > 10 20 0
pipe 1 OVER  10 20 0 > 20 0 0
pipe 1 OUT  20 0 0 > 30 0 0
fixture X  30 0 0
"""


def uses(element: Element) -> bool:
    return element.role is Role.FIXTURE


def of(text: str, source: str, network: Network | None = None) -> Distribution:
    made = network or read_network(text)
    at = index_of(made)
    return distribute(made, range(len(made.elements)), [at[source]], uses)


def index_of(network: Network) -> dict[str, int]:
    return {e.name: i for i, e in enumerate(network.elements)}


def names(made: Distribution, indexes: list[int]) -> list[str]:
    return [made.elements[i].name for i in indexes]


def test_way_and_developed_length() -> None:
    made = of(TREE, "A")
    at = index_of(made.network)
    assert names(made, made.path(at["B2"])) == ["A", "T", "B", "C", "B2"]
    lengths = {made.elements[c.element].name: c.length_m for c in made.connections}
    # half of the source, then tee and pipe end to end
    assert lengths["X"] == pytest.approx((5 + 1 + 9 + 6) * M_PER_FT, abs=0.16)
    assert lengths["Y"] == pytest.approx((5 + 1 + 0.5 + 3) * M_PER_FT, abs=0.32)


def test_loads_add_up_toward_the_source() -> None:
    made = of(TREE, "A")
    at = index_of(made.network)
    flow = made.accumulate({c.up: 1.0 for c in made.connections})
    assert flow[at["A"]] == 2
    assert flow[at["B"]] == flow[at["D"]] == 1


def test_lines_end_at_junctions_and_not_at_couplings() -> None:
    lines = make_water_segments(of(TREE, "A"))
    assert [[e.name for e in line.elements if e.role is Role.PIPE] for line in lines] == [
        ["A"], ["D"], ["B", "B2"],
    ]  # fmt: skip
    assert {line.first.name: line.branches for line in lines[1:]} == {"B": False, "D": True}
    assert lines[2].length_m == pytest.approx(14.9 * M_PER_FT)
    assert lines[2].connection is not None
    assert lines[0].connection is None


def test_two_ways_to_one_point_share() -> None:
    made = of(LOOP, "IN")
    at = index_of(made.network)
    (loop,) = made.loops
    assert loop.shared
    flow = made.accumulate({c.up: 6.0 for c in made.connections})
    assert flow[at["OUT"]] == flow[at["IN"]] == 6
    assert flow[at["NEAR"]] == flow[at["FAR"]] == flow[at["OVER"]] == 3
    place = {i: k for k, i in enumerate(made.order)}
    assert all(place[f] < place[i] for i in made.order for f in made.feeds(i))


def test_a_ring_with_something_taken_off_is_only_told() -> None:
    made = of(LOOP + "fixture Z  10 20 0\n", "IN")
    (loop,) = made.loops
    assert not loop.shared
    assert not made.also_fed_by
    flow = made.accumulate({c.up: 1.0 for c in made.connections})
    assert flow[index_of(made.network)["IN"]] == 2


def test_three_ways_share_in_thirds() -> None:
    """Three heaters on one header, joined one after the other."""
    text = """
    system=cold_water
    pipe 1 IN  0 0 0 > 10 0 0
    pipe 1 C1  10 0 0 > 10 5 0
    pipe 1 H12  10 0 0 > 20 0 0
    pipe 1 C2  20 0 0 > 20 5 0
    pipe 1 C3  20 0 0 > 30 0 0
    pipe 1 C3up  30 0 0 > 30 5 0
    pipe 1 J1  10 5 0 > 20 5 0
    pipe 1 J2  20 5 0 > 30 5 0
    pipe 1 OUT  30 5 0 > 40 5 0
    fixture X  40 5 0
    """
    made = of(text, "IN")
    at = index_of(made.network)
    flow = made.accumulate({c.up: 3.0 for c in made.connections})
    assert flow[at["IN"]] == pytest.approx(3)
    assert flow[at["OUT"]] == pytest.approx(3)
    assert flow[at["C1"]] + flow[at["H12"]] == pytest.approx(3)
    assert [flow[at[k]] for k in ("C1", "C2", "C3")] == pytest.approx([1, 1, 1])


def test_what_nothing_feeds_is_told() -> None:
    made = of(TREE + "pipe 1 LONE  50 0 0 > 60 0 0\nfixture W  60 0 0\n", "A")
    assert names(made, made.not_reached()) == ["LONE"]
    lost = next(c for c in made.connections if made.elements[c.element].name == "W")
    assert lost.up == -1
    assert lost.length_m is None


def test_joints_between_services_pass_nothing() -> None:
    network = read_network(TREE)
    at = index_of(network)
    made = distribute(
        network, range(len(network.elements)), [at["A"]], uses,
        lambda element: 1 + (element.name == "D"),
    )  # fmt: skip
    assert not made.reached(at["D"])
    assert made.refused


def test_the_side_of_a_meter_that_leads_nowhere_comes_first() -> None:
    text = """
    system=cold_water
    pipe 1 STREET  -20 0 0 > -1 0 0
    water-meter 1 M  -1 0 0 > 0 0 0
    pipe 1 A  0 0 0 > 10 0 0
    fixture X  10 0 0
    """
    network = read_network(text)
    at = index_of(network)
    head = head_of(PressurePiping(network, range(len(network.elements)), uses, None), at["M"])
    assert network.elements[head].name == "STREET"
    alone = read_network(text.replace("pipe 1 STREET  -20 0 0 > -1 0 0", ""))
    at = index_of(alone)
    assert (
        head_of(PressurePiping(alone, range(len(alone.elements)), uses, None), at["M"]) == at["M"]
    )


def test_order_of_elements_and_joints_changes_nothing() -> None:
    network = read_network(TREE)
    model = network.model
    count = len(model.elements)
    model.elements = model.elements[::-1]
    model.joints = [
        j._replace(a=count - 1 - j.a, b=count - 1 - j.b) for j in reversed(model.joints)
    ]
    turned, plain = of(TREE, "A", connect(model)), of(TREE, "A")
    assert {turned.elements[i].name: round(turned.length_m[i], 9) for i in turned.order} == {
        plain.elements[i].name: round(plain.length_m[i], 9) for i in plain.order
    }


def test_every_element_leads_back_to_the_source_it_is_fed_from() -> None:
    made = of(TREE, "A")
    at = index_of(made.network)
    assert {made.roots[at[name]] for name in ("A", "T", "C", "D")} == {at["A"]}
    assert made.roots[at["X"]] == made.path(at["X"])[0]


def test_what_lies_on_the_paths_of_a_ring() -> None:
    made = of(LOOP, "IN")
    assert sorted(names(made, [*made.looped])) == ["FAR", "NEAR", "OVER"]
    assert of(TREE, "A").looped == set()
