"""What hangs on a relief valve's outlet is a discharge line, whatever system it is drawn in."""

from __future__ import annotations

import pytest

from ifclint.ifc.elements import System
from ifclint.ifc.facts.service.kinds_of_service import refine
from ifclint.testing import read_network

LINE = """
system=cold_water
water-heater WH  cold 0 0 3 > hot 0 1 3 > 0 2 4
pipe 0.75 C  -9 0 3 > 0 0 3
relief 0.75 V  in 0 2 4 > out 0 2.3 4
system=sanitary_drainage
pipe 0.75 R1  0 2.3 4 > 1 2.3 4
quarter-bend 0.75 E  1 2.3 4 > 1 2.3 3.9
pipe 0.75 R2  1 2.3 3.9 > 1 2.3 0.5
"""
PARTS = ("V", "R1", "E", "R2")


def _systems(text: str) -> dict[str, System | None]:
    return {e.guid: e.system for e in read_network(text).elements}


@pytest.mark.parametrize(
    "drawn_as",
    ["sanitary_drainage", "vent", "storm_drainage", "hot_water", "water", "none", "condensate"],
)
@pytest.mark.parametrize(
    "end",
    [
        "",
        "cap 0.75 CAP  1 2.3 0.5\n",
        "system=sanitary_drainage\nfloor-drain FD  1 2.3 0.5 > 1 2.3 0\n"
        "trap 2 T  1 2.3 0 > 1 2.3 -1",
        "system=relief_discharge\nair-gap 0.75 G  1 2.3 0.5 > 1 2.3 0\n"
        "system=sanitary_drainage\np-trap 2 T  1 2.3 0 > 1 2.3 -1",
    ],
    ids=["in the open", "capped", "floor drain", "air gap"],
)
def test_it_is_relief_discharge_whatever_it_is_drawn_as(drawn_as: str, end: str) -> None:
    told = _systems(LINE.replace("sanitary_drainage", drawn_as) + end)
    assert {told[i] for i in PARTS[1:]} == {System.RELIEF}
    assert told["C"] is System.COLD_WATER
    assert told.get("T", System.SANITARY) is System.SANITARY


@pytest.mark.parametrize(
    "end",
    [
        "lavatory L  1 2.3 0.5",
        "p-trap 2 T  1 2.3 0.5 > 1 2.3 0",
        "pipe 3 D  -5 2.3 0.5 > 1 2.3 0.5\nwater-closet W  -5 2.3 0.5",
        "sewer-connection S  1 2.3 0.5",
    ],
    ids=["fixture", "trap", "drain of a closet", "sewer"],
)
def test_what_else_is_on_it_makes_it_a_drain_as_drawn(end: str) -> None:
    told = _systems(LINE + end)
    assert {told[i] for i in PARTS[1:]} == {System.SANITARY}


@pytest.mark.parametrize(
    ("drawn_as", "told"), [("sanitary_drainage", System.RELIEF), ("hot_water", System.HOT_WATER)]
)
def test_a_valve_in_it_does_not_hide_it_unless_it_may_be_water(drawn_as: str, told: System) -> None:
    line = LINE.replace("sanitary_drainage", drawn_as)
    valved = _systems(
        line + "isolating 0.75 X  1 2.3 0.5 > 1 2.3 0.3\npipe 0.75 R3  1 2.3 0.3 > 1 2.3 0"
    )
    assert {valved[i] for i in (*PARTS[1:], "X", "R3")} == {told}


@pytest.mark.parametrize("system", ["fuel_gas", "other", "flue"])
def test_other_services_stay(system: str) -> None:
    told = _systems(LINE.replace("sanitary_drainage", system))
    assert told["R1"] is not System.RELIEF


def test_two_lines_may_meet_and_water_that_branches_is_none() -> None:
    two = LINE + (
        "tee 0.75 T  1 2.3 0.5 > 1 2.3 0.2 > 1.2 2.3 0.4\n"
        "pipe 0.75 R3  1.2 2.3 0.4 > 3 2.3 0.4\npipe 0.75 R4  1 2.3 0.2 > 1 2.3 0.1\n"
    )
    assert {_systems(two)[i] for i in ("R1", "T", "R3", "R4")} == {System.RELIEF}
    water = _systems(two.replace("sanitary_drainage", "cold_water"))
    assert {water[i] for i in ("R1", "T", "R3", "R4")} == {System.COLD_WATER}


@pytest.mark.parametrize(
    ("flow", "drawn_as", "system"),
    [
        ("out", "hot_water", System.RELIEF),
        ("in", "hot_water", System.HOT_WATER),
        ("in", "sanitary_drainage", System.RELIEF),
    ],
)
def test_of_a_valve_joined_to_no_heater_its_flow_or_the_drain_tells(
    flow: str, drawn_as: str, system: System
) -> None:
    alone = "\n".join(line for line in LINE.splitlines() if not line.startswith("water-heater"))
    alone = alone.replace("out 0 2.3 4", f"{flow} 0 2.3 4")
    assert _systems(alone.replace("sanitary_drainage", drawn_as))["R1"] is system


TEED = """
system=hot_water
water-heater WH  cold 0 0 3 > hot 0 1 3
pipe 0.75 H1  0 1 3 > 0 3 3
tee 0.75 T  0 3 3 > 0.3 3 3 > 0.2 3.2 3
pipe 0.75 H2  0.3 3 3 > 9 3 3
lavatory L  hot 9 3 3
system=sanitary_drainage
pipe 0.75 N  0.2 3.2 3 > 0.2 4 3
relief 0.75 V  0.2 4 3 > 0.2 4.4 3
pipe 0.75 R1  0.2 4.4 3 > 0.2 4.4 0.3
"""


@pytest.mark.parametrize(
    ("branched", "nipple"), [(False, System.HOT_WATER), (True, System.SANITARY)]
)
def test_a_nipple_between_a_line_of_water_and_the_valve_is_of_the_water(
    branched: bool, nipple: System
) -> None:
    drain = "pipe 2 D  0.1 4 3 > 0.1 9 3\n"
    teed = TEED.replace("> 0.2 4 3\n", "> 0.2 4 3 > 0.1 4 3\n") + drain if branched else TEED
    told = _systems(teed)
    assert (told["N"], told["R1"]) == (nipple, System.RELIEF)
    assert {told["T"], told["H2"]} == {System.HOT_WATER}


def test_a_drainage_system_named_relief_drain_is_relief_discharge() -> None:
    assert refine(System.SANITARY, System.RELIEF) is System.RELIEF
    assert refine(System.STORM, System.RELIEF) is System.STORM


def test_a_relief_line_that_is_joined_to_a_drain_ends_there() -> None:
    text = LINE.replace("sanitary_drainage", "relief_discharge")
    drain = """
system=sanitary_drainage
tee 2 T  1 2 0.5 > 1 2.6 0.5 > 1 2.3 0.5
pipe 2 D1  1 0 0.5 > 1 2 0.5
pipe 2 D2  1 2.6 0.5 > 1 4 0.5
"""
    told = _systems(text + drain)
    assert {told[i] for i in PARTS[1:]} == {System.RELIEF}
    assert {told[i] for i in ("T", "D1", "D2")} == {System.SANITARY}


NIPPLE = """
system=cold_water
water-heater WH  cold 0 0 3 > hot 0 1 3 > 0 2 4
pipe 0.75 C  -9 0 3 > 0 0 3
system=sanitary_drainage
pipe 0.75 N  0 2 4 > 0 2.3 4
relief 0.75 V  in 0 2.3 4 > out 0 2.6 4
pipe 0.75 R1  0 2.6 4 > 1 2.6 4
"""


@pytest.mark.parametrize(
    ("drawn", "system"),
    [
        ("quarter-bend 0.75 E  1 2.3 4 > 1 2.3 3.9", System.RELIEF),
        (
            "tee 0.75 E  1 2.3 4 > 1 2.3 3.9 > 1.2 2.3 4\npipe 0.75 D  1.2 2.3 4 > 5 2.3 3.9",
            System.SANITARY,
        ),
    ],
    ids=["relief lines alone", "a drain too"],
)
def test_a_fitting_drawn_as_drainage_between_pipes_of_relief(drawn: str, system: System) -> None:
    line = LINE.replace("quarter-bend 0.75 E  1 2.3 4 > 1 2.3 3.9", drawn)
    line = line.replace("pipe 0.75 R1", "pipe 0.75 R1 system=relief_discharge")
    line = line.replace("pipe 0.75 R2", "pipe 0.75 R2 system=relief_discharge")
    told = _systems(line)
    assert told["E"] is system
    assert told["R1"] is System.RELIEF


def test_the_nipple_between_heater_and_valve_is_no_drain() -> None:
    told = _systems(NIPPLE)
    assert {told[i] for i in ("N", "V", "R1")} == {System.RELIEF}


@pytest.mark.parametrize(
    ("was", "now"),
    [
        (
            "pipe 0.75 N  0 2 4 > 0 2.3 4",
            "water-closet WC  0 5 4\npipe 0.75 N  0 5 4 > 0 2.3 4",
        ),
        ("pipe 0.75 N  0 2 4", "tee 0.75 N  0 1.8 4 > 0 2 4"),
    ],
    ids=["it leads to a closet", "it branches"],
)
def test_other_drains_at_a_relief_valve_stay_drains(was: str, now: str) -> None:
    more = "pipe 2 D  0 1.8 4 > 0 -9 4\n"
    assert _systems(NIPPLE.replace(was, now) + more)["N"] is System.SANITARY
