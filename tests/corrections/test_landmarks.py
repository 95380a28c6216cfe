"""What a correction without a room is said to be near."""

from __future__ import annotations

import pytest

from ifclint.corrections.heights import DrainRun
from ifclint.corrections.landmarks import REACH_M, DrainWays, Landmarks
from ifclint.ifc.elements import Element, Location, Role, System
from ifclint.plumbing import build
from ifclint.testing import read_network


def lavatory(
    at: float, name: str = "Lavatory", tag: str = "", space: str = "", storey: str = "Level 3"
) -> Element:
    return Element(
        guid=f"{name}{at}{storey}",
        name=name,
        tag=tag,
        role=Role.FIXTURE,
        position=(at, 0.0, 6.0),
        storey=storey,
        space=space,
    )


@pytest.mark.parametrize(
    ("elements", "near"),
    [
        ([lavatory(1)], "Lavatory"),
        ([lavatory(1, tag="L-3A"), lavatory(9, tag="L-3B")], "Lavatory L-3A"),
        ([lavatory(1, tag="L-3A"), lavatory(9, tag="L-4A", storey="Level 4")], "Lavatory"),
        (  # the mark of its type, not its own
            [lavatory(1, tag="L-1", space="Bath 3A"), lavatory(9, tag="L-1", space="Bath 3B")],
            "Lavatory in Bath 3A",
        ),
        ([lavatory(1, space="Bath 3A"), lavatory(9, space="Bath 3B")], "Lavatory in Bath 3A"),
        ([lavatory(1, space="Restroom"), lavatory(2, space="Restroom")], "Lavatory"),
        (  # numbers that an authoring program gives are nothing to look for
            [
                lavatory(1, "Lavatory:22 x 18:334455", "334455", "Bath 3A"),
                lavatory(9, "Lavatory:22 x 18:334466", "334466", "Bath 3B"),
            ],
            "Lavatory:22 x 18:334455 in Bath 3A",
        ),
        ([lavatory(1, "Lavatory L-3A", "L-3A"), lavatory(9, "Lavatory L-3B")], "Lavatory L-3A"),
        ([lavatory(REACH_M + 0.1)], ""),
    ],
)
def test_the_nearest_is_told_from_others_alike(elements: list[Element], near: str) -> None:
    place = Location(storey="Level 3", x=0.0, y=0.0, z=6.0)
    assert Landmarks(elements).near(place) == near
    assert Landmarks(elements[::-1]).near(place) == near


@pytest.mark.parametrize(("away_m", "is_near"), [(7.98, True), (8.02, False)])
def test_what_is_farther_than_eight_metres_is_no_help(away_m: float, is_near: bool) -> None:
    sink = Element("s", name="Sink", role=Role.FIXTURE, storey="L1", position=(0.0, away_m, 0.0))
    said = Landmarks([sink]).near(Location("L1", "", 0.0, 0.0, 0.0))
    assert said == ("Sink" if is_near else "")
    assert Landmarks([]).near(Location("L1", "", 0.0, 0.0, 0.0)) == ""


RUNS = """
system=cold_water material=copper
water-meter 0.75 METER called=Meter at=0,0,0  in 0 0 0 > out 1 0 0
pipe 0.75 P1  1 0 0 > 10 0 0
tee 0.75 T  10 0 0 > 10.5 0 0 > 10.25 1 0
pipe 0.75 P2  10.5 0 0 > 20 0 0
lavatory L called=Lavatory_L-1 at=20,0,0  cold 20 0 0
pipe 0.5 B1  10.25 1 0 > 10.25 5 0
coupling 0.5 C  10.25 5 0 > 10.25 5.2 0
pipe 0.5 B2  10.25 5.2 0 > 10.25 10 0
water-closet W called=Closet_W-1 at=10,10,0  cold 10.25 10 0
pipe 0.5 ALONE  30 0 0 > 40 0 0
"""


@pytest.mark.parametrize(
    ("own", "where"),
    [
        ({"B1", "C", "B2"}, "from {W} toward {METER}"),
        ({"P1", "T", "P2"}, "from {METER} to {L}"),
        ({"B1"}, "from {W} toward {METER}"),
        ({"T"}, "from {METER} to {L}"),
        ({"ALONE"}, ""),
    ],
)
def test_where_pipe_runs_is_told_by_what_it_leads_to(own: set[str], where: str) -> None:
    network = read_network(RUNS)
    label = {e.guid: e.label for e in network.elements}
    said = Landmarks(network.elements).ends(network, own)
    assert said == where.format(**label)
    assert Landmarks(network.elements).own(network, ["B1", "W"]) == label["W"]
    assert Landmarks(network.elements).own(network, ["C"]) == label["W"]


DRAIN = """
system=storm_drainage
roof-drain 4 RD1 called=Roof_drain_RD-1 at=0,0,9  0 0 9
pipe 4 L1  0 0 9 > 0 0 -1
pipe 4 H1  0 0 -1 > 10 0 -1.1
wye 4 W  10 0 -1.1 > 11 0 -1.11 > 10.3 0.3 -1.1
roof-drain 4 RD2 called=Roof_drain_RD-2 at=10.3,9,9  10.3 9 9
pipe 4 L2  10.3 9 9 > 10.3 9 -1
pipe 4 H2  10.3 9 -1 > 10.3 0.3 -1.1
pipe 4 H3  11 0 -1.11 > 30 0 -1.4
"""
SEWER = "manhole MH called=Storm_sewer at=30,0,-1.4  30 0 -1.4\n"


@pytest.mark.parametrize(
    ("end", "own", "where"),
    [
        (SEWER, ["H3"], "from {RD1} toward {MH}"),
        (SEWER, ["H1"], "from {RD1} to the main"),
        (SEWER, ["H3", "H1"], "from {RD1} toward {MH}"),
        (SEWER, ["L1"], "from {RD1} to the branch"),
        (SEWER, ["H1", "H2"], None),
        ("", ["H3"], "from {RD1} toward the outlet"),
        ("", ["H1"], "from {RD1} to the main"),
    ],
)
def test_drains_are_told_as_their_water_runs(end: str, own: list[str], where: str | None) -> None:
    parts = {"L1": "leader", "L2": "leader", "H1": "branch", "H2": "branch", "H3": "main"}
    network = read_network(DRAIN + end)
    label = {e.guid: e.label for e in network.elements}
    storm = build(network).storm
    assert storm is not None
    runs = {key: DrainRun(None, System.STORM.value, part) for key, part in parts.items()}
    way = DrainWays(network, runs, [storm.drainage]).way(own)
    said = Landmarks(network.elements).of_drain(way) if way is not None else None
    assert said == (where and where.format(**label))
