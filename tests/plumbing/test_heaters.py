"""What belongs to heaters: the pan below, the relief valve beside, the lines that leave."""

from __future__ import annotations

import pytest

from ifclint.engineering.units import M_PER_FT
from ifclint.plumbing import build
from ifclint.plumbing.heaters.heaters import Heaters
from ifclint.testing import read_network


def heaters(text: str) -> Heaters:
    return build(read_network(text)).heaters


def pan_at(x_m: float, y_m: float, below_m: float) -> str | None:
    """What stands in a pan so far beside a heater and below it."""
    x, y, z = (value / M_PER_FT for value in (x_m, y_m, -below_m))
    found = heaters(
        f"water-heater H at=0,0,0  cold 9 9 9\npan-drain P at={x!r},{y!r},{z!r}  50 50 0\n"
    )
    serves = found.pans[0].serves
    return None if serves is None else serves.guid


@pytest.mark.parametrize(
    ("beside", "stands"),
    [
        ((0.99, 0.0, 0.1), True), ((1.01, 0.0, 0.1), False),
        ((0.0, 0.99, 0.1), True), ((0.0, -1.01, 0.1), False),
        ((0.0, 0.0, 2.59), True), ((0.0, 0.0, 2.61), False),
        ((0.0, 0.0, -0.29), True), ((0.0, 0.0, -0.31), False),
    ],
)  # fmt: skip
def test_a_pan_lies_under_what_stands_in_it(beside: tuple[float, float, float], stands: bool):
    assert pan_at(*beside) == ("H" if stands else None)


def test_a_pan_serves_the_nearest_of_several() -> None:
    found = heaters("""
water-heater FAR at=2,0,1  cold 9 9 9
water-heater NEAR box=0,0,0,1,1,6  cold 9 8 9
pan-drain P at=0,0,0  50 50 0
""")
    assert [h.pan is not None for h in found.heaters] == [False, True]
    assert found.pans[0].serves is found.heaters[1].element


def relief(pieces: int) -> Heaters:
    pipes = "".join(f"pipe 0.75 R{n}  {n} 0 5 > {n + 1} 0 5\n" for n in range(pieces))
    return heaters(f"""
system=hot_water
water-heater H  0 0 5
{pipes}
relief 0.75 V  {pieces} 0 5 > {pieces} 0 4.5
pipe 0.75 D1 system=none  {pieces} 0 4.5 > {pieces} 0 3
pipe 0.75 D2 system=none  {pieces} 0 3 > {pieces} 0 1
""")


@pytest.mark.parametrize(("pieces", "found"), [(0, True), (1, True), (6, True), (7, False)])
def test_a_relief_valve_stands_within_a_few_pieces_of_its_heater(pieces: int, found: bool) -> None:
    lines = relief(pieces).relief_lines
    assert [line.line.start.guid for line in lines] == (["V"] if found else [])
    for line in lines:
        assert [e.guid for e in line.before] == [f"R{n}" for n in range(pieces)]
        assert [e.guid for e in line.line.elements] == ["D1", "D2"]
        assert line.line.end == pytest.approx((pieces * M_PER_FT, 0, M_PER_FT))


def test_a_relief_valve_belongs_to_the_nearer_of_two_heaters() -> None:
    found = heaters("""
system=hot_water
water-heater A  0 0 5
pipe 0.75 R1  0 0 5 > 1 0 5
pipe 0.75 R2  1 0 5 > 2 0 5
relief 0.75 V  2 0 5 > 3 0 5 > 2 0 4
pipe 0.75 R3  3 0 5 > 4 0 5
water-heater B  4 0 5
""")
    assert [len(h.relief) for h in found.heaters] == [0, 1]


@pytest.mark.parametrize(
    ("line", "condenses"),
    [
        ("air-conditioner A  0 0 0", True),
        ("furnace A called=Condensing_furnace  0 0 0", True),
        ("furnace A called=Non-condensing_furnace  0 0 0", False),
        ("water-heater A called=Tankless_heater_non-condensing,_category_III  0 0 0", False),
        ("water-heater A called=Tankless_heater_category_IV  0 0 0", True),
        ("appliance A called=Gas-Brennwertkessel  0 0 0", True),
        ("appliance A called=chaudiere_sans_condensation  0 0 0", False),
        ("furnace A  0 0 0", False),
        ("furnace A  0 0 0\npipe 0.75 C system=condensate  0 0 0 > 3 0 0", True),
        ("lavatory A called=condensing  0 0 0", False),
        ("water-softener A  0 0 0\npipe 0.75 C system=condensate  0 0 0 > 3 0 0", False),
        ("water-filter A  0 0 0\npipe 0.75 C system=condensate  0 0 0 > 3 0 0", False),
    ],
)
def test_what_makes_condensate(line: str, condenses: bool) -> None:
    found = heaters(line).condensing
    assert [c.element.guid for c in found] == (["A"] if condenses else [])


def test_condensate_leaves_by_its_own_line_else_by_the_drain() -> None:
    both = heaters("""
air-conditioner A  0 0 2 > 1 0 2
pipe 1 D  1 0 2 > 9 0 1
pipe 0.75 C system=condensate  0 0 2 > 0 0 1
pipe 0.75 C2 system=condensate  0 0 1 > 0 5 0.5
""").condensing
    assert [e.guid for e in both[0].line.elements] == ["C", "C2"]
    drain = heaters("air-conditioner A  1 0 2\npipe 1 D  1 0 2 > 9 0 1").condensing
    assert [e.guid for e in drain[0].line.elements] == ["D"]
    capped = heaters("air-conditioner A  1 0 2\ncap 1 D  1 0 2").condensing
    assert capped[0].line.elements == ()


def test_a_line_that_parts_is_followed_down_and_told() -> None:
    found = heaters("""
system=hot_water
water-heater H  0 0 5
relief 0.75 V  0 0 5 > 0 0 4
system=none
tee 0.75 T  0 0 4 > 0.2 0 4 > 0 0 3.8
pipe 0.75 HIGH  0.2 0 4 > 3 0 4
pipe 0.75 LOW  0 0 3.8 > 0 0 1
""")
    (line,) = found.relief_lines
    assert [e.guid for e in line.line.elements] == ["T", "LOW"]
    assert [e.guid for e in line.line.branches] == ["T"]


@pytest.mark.parametrize(
    ("circuit", "counted"),
    [("non-potable_water", 0), ("heating_or_cooling", 0), ("hot_water", 1), ("other", 1)],
)
def test_a_boiler_in_the_circuit_of_a_pool_or_of_heating_is_no_water_heater(circuit, counted):
    found = heaters(
        f"""
system=cold_water material=copper
water-meter 1 M  in 0 0 0 > out 1 0 0
pipe 1 P1  1 0 0 > 9 0 0
lavatory L  cold 9 0 0
water-heater B  20 0 0 > 20.5 0 0
pipe 2 Q1 system={circuit}  20 0 0 > 20 9 0
pipe 2 Q2 system={circuit}  20.5 0 0 > 20.5 9 0
"""
    )
    assert len(found.heaters) == counted


@pytest.mark.parametrize(
    ("tank", "counted"),
    [
        ("storage-tank T called=Solar_tank  10 0 0 > 10.5 0 5 > 10 1 2", 1),
        ("storage-tank T  10 0 0 > hot 10.5 0 5", 1),
        ("storage-tank T called=Preheat_tank  10 0 0 > 10.5 0 5", 1),
        ("storage-tank T called=Buffer_tank  10 0 0 > 10.5 0 5", 0),
        ("storage-tank T called=Solar_tank  10 0 0", 0),
        ("expansion-tank T called=Expansion_tank  10 0 0 > 10.5 0 5 > 10 1 2", 0),
    ],
)
def test_a_tank_in_the_water_of_the_taps_that_is_heated_holds_hot_water(tank, counted) -> None:
    found = heaters(
        f"""
system=cold_water material=copper
water-meter 1 M  in 0 0 0 > out 1 0 0
pipe 1 P1  1 0 0 > 10 0 0
{tank}
pipe 1 P2  10.5 0 5 > 20 0 5
lavatory L  cold 20 0 5
pipe 1 F system=heating_or_cooling  10 1 2 > 10 9 2
"""
    )
    assert len(found.tanks) == counted
