"""The directed graphs that rules are given, against the walk they stand for."""

from __future__ import annotations

import networkx as nx
import pytest

from ifclint.ifc.elements import Role, System
from ifclint.testing import context_of

HOUSE = """
storey Ground 0
lavatory L        0 0 1.5
p-trap 1.25 T     0 0 1.5 > 0.5 0 1.5
pipe 1.5 ARM      0.5 0 1.5 > 2 0 1.47
sanitary-tee 2 ST 2 0 1.47 > 2.2 0 1.7 > 2.2 0 1.2
pipe 2 V system=vent  2.2 0 1.7 > 2.2 0 20
vent-through-roof 2 VTR system=vent  2.2 0 20
pipe 2 D          2.2 0 1.2 > 2.2 0 -1
sewer-connection S 2.2 0 -1
"""
WATER = """
system=cold_water material=copper
water-meter 0.75 M  in 0 0 0 > out 1 0 0
pipe 0.75 P1  1 0 0 > 20 0 0
tee 0.75 T  20 0 0 > 20.2 0 0 > 20.1 0 0.1
pipe 0.5 P2  20.2 0 0 > 30 0 0
lavatory L  cold 30 0 0
pipe 0.75 P3  20.1 0 0.1 > 20.1 0 3
water-heater WH  cold 20.1 0 3 > hot 21 0 3
pipe 0.75 H system=hot_water  21 0 3 > 25 0 3
"""


def test_drainage_runs_from_the_fixture_to_the_sewer() -> None:
    graph = context_of(HOUSE).plumbing.graph(System.SANITARY)
    below = nx.descendants(graph, "L")
    assert below == {"T", "ARM", "ST", "D", "S"}
    assert [i for i in below if graph.nodes[i]["element"].role is Role.TRAP] == ["T"]


def test_a_length_along_the_graph_is_the_developed_length() -> None:
    graph = context_of(HOUSE).plumbing.graph(System.SANITARY)
    length_m = nx.shortest_path_length(graph, "ST", "S", weight="length_m")
    drop_ft = 0.27 + 2.2  # through the tee, and down the pipe
    assert length_m == pytest.approx(drop_ft * 0.3048, abs=0.1)


def test_a_vent_leads_to_the_open_air() -> None:
    graph = context_of(HOUSE).plumbing.graph(System.VENT)
    assert list(graph.edges) == [("V", "VTR")]
    assert graph["V"]["VTR"]["length_m"] == pytest.approx((20 - 1.7) / 2 * 0.3048, rel=1e-6)


def test_cold_water_runs_from_the_meter_and_hot_from_the_heater() -> None:
    plumbing = context_of(WATER).plumbing
    cold, hot = plumbing.graph(System.COLD_WATER), plumbing.graph(System.HOT_WATER)
    assert nx.ancestors(cold, "P2") == {"M", "P1", "T"}
    assert set(hot) == {"H"}
    assert plumbing.graph(System.COLD_WATER) is cold


def test_a_service_that_is_not_followed_is_refused() -> None:
    with pytest.raises(ValueError, match="heating or cooling is not followed"):
        context_of(HOUSE).plumbing.graph(System.HEATING)
