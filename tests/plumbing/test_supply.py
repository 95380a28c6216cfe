"""The supply as a plumber sees it: source, hot and cold, heaters, connections."""

from __future__ import annotations

import pytest

from ifclint.errors import InputError
from ifclint.plumbing.supply.water_supply import (
    COLD,
    GUESSED,
    HOT,
    Supply,
    WaterSegment,
    find_supply,
)
from ifclint.testing import read_network

COLD_SIDE = """
system=cold_water material=copper
water-meter 1 M  in 0 0 0 > out 1 0 0
pipe 1 P  1 0 0 > 10 0 0
pipe 0.75 C1  10 0 0 > 10 5 0
pipe 0.75 C2  10 0 0 > 20 0 0
"""
PARALLEL = (
    COLD_SIDE
    + """
water-heater A  cold 10 5 0 > hot 10 6 0
water-heater B  cold 20 0 0 > hot 20 1 0
system=hot_water
pipe 0.75 H1  10 6 0 > 30 6 0
pipe 0.75 H2  20 1 0 > 30 6 0
pipe 1 H3  30 6 0 > 40 6 0
lavatory L  hot 40 6 0
"""
)
SERIES = """
system=cold_water material=copper
water-meter 1 M  in 0 0 0 > out 1 0 0
pipe 1 P  1 0 0 > 10 0 0
water-heater A  in 10 0 0 > out 11 0 0
system=hot_water
pipe 1 H1  11 0 0 > 12 0 0
water-heater B  in 12 0 0 > out 13 0 0
pipe 1 H2  13 0 0 > 20 0 0
lavatory L  hot 20 0 0
"""


def seen(text: str, source: str | None = None) -> Supply:
    return find_supply(read_network(text), source)


def line(supply: Supply, name: str) -> WaterSegment:
    return next(x for x in supply.segments if x.first.name == name)


def test_heaters_in_parallel_and_in_series() -> None:
    supply = seen(PARALLEL)
    groups = {supply.elements[i].name: how for i, how in supply.heater_groups.items()}
    assert groups == {"A": "in parallel", "B": "in parallel"}
    supply = seen(SERIES)
    groups = {supply.elements[i].name: how for i, how in supply.heater_groups.items()}
    assert groups == {"A": "in series", "B": "in series"}
    assert supply.elements[line(supply, "H2").heater].name == "B"


def test_one_heater_stands_alone() -> None:
    supply = seen(PARALLEL.replace("water-heater B  cold 20 0 0 > hot 20 1 0\n", ""))
    assert list(supply.heater_groups.values()) == ["alone"]
    assert [supply.elements[i].name for i in supply.not_fed] == []


def test_hot_downstream_of_a_heater() -> None:
    supply = seen(PARALLEL)
    assert line(supply, "P").service == COLD
    assert line(supply, "H3").service == HOT
    assert supply.fixtures[0].tap(HOT) is not None


def test_cold_and_hot_piping_joined_by_mistake_pass_nothing() -> None:
    supply = seen(COLD_SIDE + "system=hot_water\npipe 1 H  20 0 0 > 30 0 0\n")
    assert [supply.elements[i].name for i in supply.not_fed] == ["H"]
    assert len(supply.distribution.refused) == 1


def test_circulation_is_no_supply() -> None:
    supply = seen(PARALLEL + "system=hot_water_return\npipe 0.5 R  40 6 0 > 10 5 0\n")
    assert [supply.elements[i].name for i in supply.returns] == ["R"]
    assert all(loop.shared for loop in supply.distribution.loops)


def test_a_mixing_valve_is_fed_from_its_hot_side() -> None:
    text = (
        COLD_SIDE
        + """
    water-heater A  cold 20 0 0 > hot 20 1 0
    mixing 0.75 MIX  10 5 0 > 20 5 0 > 15 9 0
    system=hot_water
    pipe 0.75 H  20 1 0 > 20 5 0
    pipe 0.5 T  15 9 0 > 15 20 0
    lavatory L  hot 15 20 0
    """
    )
    supply = seen(text)
    assert line(supply, "T").service == HOT
    tap = supply.fixtures[0].taps[0]
    assert tap.named == tap.service == HOT


@pytest.mark.parametrize("system", ["cold_water", "hot_water", "none"])
def test_a_faucet_passes_hot_from_its_hot_inlet_whatever_its_system(system: str) -> None:
    text = (
        COLD_SIDE
        + f"""
    water-heater A  cold 20 0 0 > hot 20 1 0
    valve FAUCET system={system}  10 5 0 > 20 5 0 > 15 9 0
    system=hot_water
    pipe 0.75 H  20 1 0 > 20 5 0
    pipe 0.5 T system=water  15 9 0 > 15 20 0
    shower SH  15 20 0
    """
    )
    network = read_network(text)
    next(e for e in network.elements if e.name == "FAUCET").kind = "faucet"
    shower = find_supply(network).fixtures[0]
    assert shower.taps[0].service == HOT
    assert shower.taps[0].named == ""


@pytest.mark.parametrize(
    ("ends", "has_heater", "is_fed"),
    [
        ("in 20 0 0 > in 20 1 0 > out 21 0.5 0", True, True),
        ("20 0 0 > 20 1 0 > 21 0.5 0", True, True),  # meter and heater are on the other side
        ("in 20 0 0 > in 20 1 0 > in 21 0.5 0", True, True),
        ("20 0 0 > 20 1 0 > 21 0.5 0", False, False),  # nothing tells
    ],
)
def test_what_a_mixing_valve_gives_may_be_in_the_cold_system(
    ends: str, has_heater: bool, is_fed: bool
) -> None:
    heated = """
pipe 0.75 C3  5.1 0.2 0 > 5.1 1 0
water-heater WH  cold 5.1 1 0 > hot 6 1 0
pipe 0.75 H system=hot_water  6 1 0 > 20 1 0
"""
    found = seen(f"""
system=cold_water
pipe 0.75 C1  1 0 0 > 5 0 0
tee 0.75 T  5 0 0 > 5.2 0 0 > 5.1 0.2 0
pipe 0.75 C2  5.2 0 0 > 20 0 0
{heated if has_heater else ""}
mixing 0.75 MV  {ends}
pipe 0.5 B1  21 0.5 0 > 30 0.5 0
bathtub T1  30 0.5 0
""")
    index = next(i for i, e in enumerate(found.elements) if e.guid == "B1")
    assert found.distribution.reached(index) is is_fed
    path = [found.elements[i].guid for i in found.distribution.path(index)]
    assert path[-3:] == (["H", "MV", "B1"] if is_fed else ["B1"])
    if is_fed:
        assert line(found, "B1").service == HOT


def test_a_faucet_of_hot_and_cold_without_an_outlet_takes_both() -> None:
    text = (
        COLD_SIDE
        + """
    water-heater A  cold 20 0 0 > hot 20 1 0
    valve FAUCET system=cold_water  cold 10 5 0 > hot 20 5 0
    system=hot_water
    pipe 0.75 H  20 1 0 > 20 5 0
    """
    )
    network = read_network(text)
    next(e for e in network.elements if e.name == "FAUCET").kind = "faucet"
    (faucet,) = find_supply(network).fixtures
    assert {tap.service for tap in faucet.fed} == {COLD, HOT}


def test_a_connection_that_nothing_feeds_is_cold_only_where_something_says_so() -> None:
    text = "lavatory L  0 90 0 > cold 1 90 0\nsystem=none\npipe 0.5 X  0 90 0 > 0 95 0\n"
    text += "system=water\npipe 0.5 Y  1 90 0 > 1 95 0\npipe 0.5 Z  0 95 0 > 0 99 0\n"
    lavatory = next(f for f in seen(COLD_SIDE + text).fixtures if f.element.guid == "L")
    assert {tap.service for tap in lavatory.taps} <= {"", COLD}
    assert all(tap.service == tap.named for tap in lavatory.taps)


def test_where_hot_and_cold_part() -> None:
    text = (
        COLD_SIDE
        + """
    water-heater A  cold 10 5 0 > hot 10 6 0
    lavatory L  cold 20 0 0 > hot 40 6 0
    system=hot_water
    pipe 0.75 H1  10 6 0 > 40 6 0
    """
    )
    supply = seen(text)
    met = supply.met(line(supply, "C2"), line(supply, "H1"))
    assert met is not None
    assert met.first.name == "P"
    assert supply.met(line(supply, "H1"), line(supply, "H1")) is line(supply, "H1")


def test_source_named_guessed_or_missing() -> None:
    without = "\n".join(x for x in COLD_SIDE.splitlines() if "meter" not in x)
    guessed = seen(without)
    assert guessed.sources.basis == GUESSED
    assert guessed.elements[guessed.heads[0]].name == "P"
    assert seen(without, "C2").sources.basis == "job file"
    with pytest.raises(InputError, match=r"water\.source"):
        seen(without, "nobody")
    assert seen("system=none\npipe 1 X  0 0 0 > 1 0 0").heads == []


def test_manifold() -> None:
    """A home run from a manifold is a line of its own for every fixture."""
    ports = " > ".join(f"10.{k} 0 0" for k in range(5))
    segments = "\n".join(
        f"pipe 0.5 R{k}  10.{k} 0 0 > 20 {k} 0\nlavatory L{k}  cold 20 {k} 0" for k in range(1, 5)
    )
    supply = seen(
        "system=cold_water material=pex\nwater-meter 1 M  in 0 0 0 > out 1 0 0\n"
        f"pipe 1 P  1 0 0 > 10.0 0 0\nfitting 1 MANIFOLD  {ports}\n{segments}"
    )
    first, *runs = (x.first.name for x in supply.segments)
    assert (first, sorted(runs)) == ("P", ["R1", "R2", "R3", "R4"])
    assert all(x.connection is not None for x in supply.segments[1:])
