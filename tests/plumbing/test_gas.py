"""Gas piping traced from its source: segments from the middle of one fitting to that of the next,
and what stands before each appliance."""

from __future__ import annotations

import pytest

from ifclint.engineering.units import M_PER_FT
from ifclint.plumbing import build
from ifclint.plumbing.gas.gas_piping import GasAppliance, GasPiping, GasSegment
from ifclint.testing import read_network

LINE = """
system=fuel_gas material=steel
gas-meter 1 M  in 0 0 0 > out 1 0 0
pipe 1 P1  1 0 0 > 11 0 0
tee 1 T1  11 0 0 > 13 0 0 > 12 1 0
pipe 0.75 P2  13 0 0 > 23 0 0
coupling 0.75 C  23 0 0 > 23.5 0 0
pipe 0.75 P3  23.5 0 0 > 33 0 0
furnace F input_rating_w=20000  gas 33 0 0
pipe 0.5 B1  12 1 0 > 12 7 0
gas-shutoff 0.5 V1  12 7 0 > 12 7.5 0
pipe 0.5 B2  12 7.5 0 > 12 9 0
gas-shutoff 0.5 V2  12 9 0 > 12 9.5 0
tee 0.5 T2  12 9.5 0 > 12 10.5 0 > 12 10 -0.5
pipe 0.5 N  12 10 -0.5 > 12 10 -0.8
cap 0.5 N2  12 10 -0.8 > 12 10 -0.9
pipe 0.5 B3  12 10.5 0 > 12 13 0
range R input_rating_w=15000  gas 12 13 0
"""


def gas(text: str) -> GasPiping:
    found = build(read_network(text)).gas
    assert found is not None
    return found


def segments(piping: GasPiping) -> dict[str, tuple[float, float]]:
    """Where each begins and ends, in feet from the source."""
    return {s.first.guid: (feet(s.start_m), feet(s.end_m)) for s in piping.segments}


def feet(length_m: float | None) -> float:
    assert length_m is not None
    return round(length_m / M_PER_FT, 3)


def appliance(piping: GasPiping, guid: str) -> GasAppliance:
    return next(a for a in piping.appliances if a.element.guid == guid)


def of(piping: GasPiping, guid: str) -> GasSegment:
    return next(s for s in piping.segments if s.first.guid == guid)


def test_segments_reach_from_the_middle_of_one_fitting_to_that_of_the_next() -> None:
    piping = gas(LINE)  # a fitting has its middle where the pipes joined to it would meet
    assert segments(piping) == {"P1": (0.0, 11.5), "B1": (11.5, 24.5), "P2": (11.5, 32.5)}
    furnace, burner = appliance(piping, "F"), appliance(piping, "R")
    assert [s.first.guid for s in furnace.segments] == ["P1", "P2"]
    assert [s.first.guid for s in burner.segments] == ["P1", "B1"]
    assert feet(sum(s.length_m for s in furnace.segments)) == feet(furnace.length_m) == 32.5
    assert [a.element.guid for a in of(piping, "P1").appliances] == ["F", "R"]
    assert [a.element.guid for a in of(piping, "B1").appliances] == ["R"]
    assert [e.guid for e in of(piping, "B1").fittings] == ["V1", "V2", "T2"]
    assert [e.guid for e in of(piping, "P2").path] == ["P2", "C", "P3"]


def test_what_stands_before_an_appliance_past_the_last_junction() -> None:
    burner = appliance(gas(LINE), "R")
    assert [e.guid for e in burner.own] == ["B1", "V1", "B2", "V2", "T2", "B3"]
    assert burner.shutoff is not None
    assert burner.shutoff.guid == "V2"  # the last of two
    assert feet(burner.shutoff_distance_m) == 3.75
    assert burner.sediment_trap is not None
    assert (burner.sediment_trap.guid, feet(burner.nipple_m)) == ("T2", 0.3)
    furnace = appliance(gas(LINE), "F")
    assert (furnace.shutoff, furnace.shutoff_distance_m, furnace.sediment_trap) == (None,) * 3


NIPPLE = "pipe 0.5 N  12 10 -0.5 > 12 10 -0.8\ncap 0.5 N2  12 10 -0.8 > 12 10 -0.9"


@pytest.mark.parametrize(
    ("nipple", "is_trap"),
    [
        (NIPPLE, True),
        (NIPPLE.replace("10 -0.8", "10.06 -0.8").replace("10 -0.9", "10.06 -0.9"), True),
        (NIPPLE.replace("10 -0.8", "10.08 -0.8").replace("10 -0.9", "10.08 -0.9"), False),
        (NIPPLE.replace("12 10 -0.", "12.08 10 -0.").replace("12.08 10 -0.5", "12 10 -0.5"), False),
        (NIPPLE.replace("-0.8", "-0.2").replace("-0.9", "-0.1"), False),  # it points up
        (NIPPLE.replace("cap 0.5", "bend 0.5"), False),
        ("cap 0.5 N  12 10 -0.5 > 12 10 -0.9", True),  # of one piece
        (f"{NIPPLE}\n".replace("-0.8 > 12 10 -0.9", "-0.9 > 12 10 -1").replace("10 -0.8", "10 -0.7")
         + "coupling 0.5 N3  12 10 -0.7 > 12 10 -0.9", True),
    ],
)  # fmt: skip
def test_a_sediment_trap_is_a_nipple_plumb_down_to_a_cap(nipple: str, is_trap: bool) -> None:
    burner = appliance(gas(LINE.replace(NIPPLE, nipple)), "R")
    assert (burner.sediment_trap is not None) is is_trap
    if nipple.startswith("cap"):
        assert burner.nipple_m is None
    elif is_trap:
        assert burner.nipple_m is not None


def test_where_pipe_changes_without_a_fitting_a_segment_ends_at_the_end_of_the_pipe() -> None:
    piping = gas("""
system=fuel_gas material=steel
gas-meter 1 M  in 0 0 0 > out 1 0 0
pipe 1 P1  1 0 0 > 11 0 0
pipe 0.75 P2  11 0 0 > 21 0 0
pipe 0.75 P3  21 0 0 > 26 0 0
furnace F  gas 26 0 0
""")
    assert segments(piping) == {"P1": (0.0, 10.5), "P2": (10.5, 25.5)}


def test_where_a_pipe_enters_the_side_of_another_both_begin_there() -> None:
    piping = gas("""
system=fuel_gas material=steel
gas-meter 1 M  in 0 0 0 > out 1 0 0
pipe 1 P1  1 0 0 > 11 0 0
pipe 1 P2  11 0 0 > 21 0 0
furnace F  gas 21 0 0
pipe 1 B  11 0 0 > 11 4 0
range R  gas 11 4 0
""")
    assert segments(piping) == {"P1": (0.0, 10.5), "P2": (10.5, 20.5), "B": (10.5, 14.5)}
    assert [e.guid for e in appliance(piping, "R").own] == ["B"]


TANK = """
system=fuel_gas material=steel
fuel-tank T  out 0 0 0
pipe 0.75 S1  0 0 0 > 4 0 0
gas-regulator 0.75 R1  in 4 0 0 > out 5 0 0
pipe 0.5 S2  5 0 0 > 15 0 0
gas-regulator 0.5 R2  in 15 0 0 > out 16 0 0
pipe 0.5 S3  16 0 0 > 26 0 0
furnace F  gas 26 0 0
"""


def test_a_zone_begins_behind_each_regulator() -> None:
    piping = gas(TANK)
    assert [e.guid for e in piping.source_elements] == ["R1"]  # the first stage
    assert segments(piping) == {"S2": (0.0, 11.0), "S3": (11.0, 21.5)}
    first, second = piping.zones
    assert (first.start.guid, first.is_first, first.above) == ("R1", True, None)
    assert (second.start.guid, second.is_first, second.above) == ("R2", False, first)
    assert (feet(first.start_m), feet(second.start_m)) == (0.0, 11.0)
    assert [a.element.guid for z in piping.zones for a in z.appliances] == ["F"]
    assert [r.element.guid for r in first.regulators] == ["R2"]
    (regulator,) = piping.regulators
    assert (feet(regulator.at_m), regulator.segment) == (11.0, of(piping, "S2"))
    assert piping.zone_of["S3"] is second
    assert [s.first.guid for s in piping.before] == ["S1"]
    assert all(s.is_before_source for s in piping.before)


def test_what_lies_before_a_meter_is_the_suppliers() -> None:
    piping = gas(LINE + "pipe 1 S  -9 0 0 > 0 0 0")
    assert (piping.before, piping.stray) == ([], [])


@pytest.mark.parametrize(
    ("beginnings", "sources"),
    [
        ("gas-meter 1 A  in 0 0 0 > out 1 0 0", ["A"]),
        ("gas-meter 1 A  in 0 0 0 > out 1 0 0\ngas-meter 1 B  in 0 9 0 > out 1 9 0", ["A", "B"]),
        ("gas-regulator 1 A  in 0 0 0 > out 1 0 0", ["A"]),
        ("gas-regulator 1 A  in 0 0 0 > out 1 0 0\ngas-regulator 1 B  in 2 0 0 > out 3 0 0", []),
        ("fuel-tank A  out 1 0 0", ["A"]),
        ("fuel-tank A  out 5 5 5", []),  # joined to nothing
        ("pipe 1 A  0 0 0 > 1 0 0", []),
    ],
)
def test_where_gas_comes_from(beginnings: str, sources: list[str]) -> None:
    text = f"system=fuel_gas\n{beginnings}\npipe 1 P  1 0 0 > 2 0 0\nfurnace F  gas 9 9 9"
    assert [e.guid for e in gas(text).source_elements] == sources


def test_what_burns_gas_by_its_kind_only_where_gas_is_drawn_and_nothing_says_otherwise() -> None:
    def taken(appliances: str, piping: str = "pipe 1 P  0 0 0 > 9 0 0") -> list[tuple[str, bool]]:
        found = build(read_network(f"system=fuel_gas\n{piping}\nsystem=none\n{appliances}")).gas
        return [(a.element.guid, a.is_stated) for a in found.appliances] if found else []

    assert taken("furnace F 5 5 5") == [("F", False)]
    assert taken("water-heater H cold 5 5 5") == [("H", False)]
    assert taken("furnace F energy=electricity 5 5 5") == []
    assert taken("furnace F energy=gas 5 5 5") == [("F", True)]
    assert taken("dishwasher-appliance D 5 5 5") == []
    assert taken("furnace F energy=gas 5 5 5", "") == [("F", True)]
    assert taken("furnace F 5 5 5", "") == []


def guids(elements) -> list[str]:
    return [e.guid for e in elements]


def test_what_is_open_stray_or_ends_alone() -> None:
    piping = gas(LINE + "pipe 1 STRAY  50 0 0 > 60 0 0\ntee 1 T3  33 0 9 > 33 0 9.5 > 33 1 9\n")
    assert guids(piping.stray) == ["STRAY"]
    assert guids(piping.open_ends) == []
    opened = gas(LINE.replace("cap 0.5 N2  12 10 -0.8 > 12 10 -0.9\n", ""))
    assert guids(opened.open_ends) == ["N"]
    alone = gas(LINE.replace("pipe 0.5 N  12 10 -0.5 > 12 10 -0.8", "pipe 0.5 N  12 10 -0.5")
                .replace("cap 0.5 N2  12 10 -0.8 > 12 10 -0.9\n", ""))  # fmt: skip
    assert guids(alone.ends_alone) == ["N"]
    strange = gas(
        LINE.replace("cap 0.5 N2  12 10 -0.8 > 12 10 -0.9", "thing X system=none  12 10 -0.8")
    )
    assert guids(strange.unknown_takers) == ["N"]
    loop = gas(LINE + "tee 1 T4  5 5 5\n")
    assert guids(loop.loops) == []


@pytest.mark.parametrize("turned", [False, True])
def test_an_appliance_with_two_connections_is_fed_by_the_nearer(turned: bool) -> None:
    lines = [
        "gas-meter 1 M  in 0 0 0 > out 1 0 0", "tee 1 T  1 0 0 > 2 0 0 > 1.5 1 0",
        "pipe 1 NEAR  2 0 0 > 9 0 0", "pipe 1 FAR1  1.5 1 0 > 1.5 20 0",
        "pipe 1 FAR2  1.5 20 0 > 9 20 0",
    ]  # fmt: skip
    ends = ["gas 9 20 0", "gas 9 0 0"]
    appliance_line = f"furnace F  {' > '.join(reversed(ends) if turned else ends)}"
    piping = gas("system=fuel_gas\n" + "\n".join([*lines, appliance_line]))
    assert feet(appliance(piping, "F").length_m) == 7.5 + 1
    assert guids(appliance(piping, "F").own) == ["NEAR"]


ROUGH = """
system=fuel_gas material=steel
gas-meter 1 M  in 0 0 10 > out 1 0 10
pipe 1 P1  1 0 10 > 11 0 10
tee 1 T1  11 0 10 > 13 0 10 > 12 0 9
pipe 0.5 N  12 0 9 > 12 0 {end}
cap 0.5 C1  12 0 {end}
pipe 1 P2  13 0 10 > 23 0 10
cap 1 C2  23 0 10
"""


def outlets(text: str, loaded: tuple[str, ...] = ()) -> list[str]:
    found = build(read_network(text), gas_loads=loaded).gas
    assert found is not None
    return sorted(outlet.element.guid for outlet in found.outlets)


@pytest.mark.parametrize(("end", "found"), [(7.1, ["C2"]), (7.0, ["C1", "C2"])])
def test_a_straight_nipple_of_up_to_0_6_m_to_its_cap_is_no_outlet(
    end: float, found: list[str]
) -> None:
    assert outlets(ROUGH.format(end=end)) == found  # 0.58 m, 0.61 m
    assert outlets(ROUGH.format(end=end), ("C1",)) == ["C1", "C2"]  # the job file gives it a load


@pytest.mark.parametrize(
    ("end", "found"), [("23 0 10", ["C2"]), ("14 0 10", ["C2"]), ("13 0 12", ["C2"])]
)
def test_of_two_nipples_at_an_end_the_one_that_hangs_catches_dirt(
    end: str, found: list[str]
) -> None:
    assert outlets(ROUGH.format(end=8).replace("23 0 10", end)) == found


def test_piping_that_leads_to_caps_alone_is_the_buildings() -> None:
    piping = gas(ROUGH.format(end=4))
    assert segments(piping) == {"P1": (0.0, 11.5), "N": (11.5, 17.5), "P2": (11.5, 22.5)}
    assert [o.element.guid for o in of(piping, "P1").outlets] == ["C1", "C2"]
    assert feet(of(piping, "N").outlets[0].length_m) == 17.5


def test_a_cap_on_a_fitting_is_no_outlet() -> None:
    text = ROUGH.format(end=4).replace("pipe 0.5 N  12 0 9 > 12 0 4\n", "")
    text = text.replace("cap 0.5 C1  12 0 4", "cap 0.5 C1  12 0 9")
    assert outlets(text) == ["C2"]
    assert outlets(text, ("C1",)) == ["C1", "C2"]
