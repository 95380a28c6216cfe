"""Vents of what burns fuel: what each appliance has alone, and what several share."""

from __future__ import annotations

import pytest

from ifclint.engineering.units import M_PER_FT
from ifclint.plumbing import build
from ifclint.plumbing.heaters.fuel_vents import FuelVent
from ifclint.testing import read_network

COMMON = """
system=flue
water-heater H system=none  flue 4 0 5
pipe 3 C1  0.5 0 7 > 3.5 0 6
bend 3 E at=4,0,6  3.5 0 6 > 4 0 5.5
pipe 3.5 R  4 0 5.5 > 4 0 5
furnace F system=none  flue 0 0 5
pipe 4 V0  0 0 5 > 0 0 6.5
wye 4 W at=0,0,7  0 0 6.5 > 0 0 7.5 > 0.5 0 7
pipe 5 V1  0 0 7.5 > 0 0 15
pipe 4 V2  0 0 15 > 0 0 20
vent-through-roof TOP  0 0 20 > 0 0 21
"""


def vents(text: str, order: int = 1) -> list[FuelVent]:
    lines = text.strip().splitlines()
    return build(read_network("\n".join([lines[0], *lines[1:][::order]]))).heaters.vents


def feet(length_m: float | None) -> float | None:
    return None if length_m is None else round(length_m / M_PER_FT, 3)


@pytest.mark.parametrize("order", [1, -1])
def test_two_appliances_share_a_vent_from_where_they_meet(order: int) -> None:
    (vent,) = vents(COMMON, order)
    assert [e.guid for e in vent.common] == ["TOP", "V2", "V1", "W"]
    assert (vent.size_in, vent.is_common, vent.element_ids) == (4, True, ("V2", "V1"))
    assert (feet(vent.top_m), feet(vent.height_m)) == (21, 16)
    furnace, heater = sorted(vent.connectors, key=lambda c: c.appliance.guid)
    assert [e.guid for e in furnace.elements] == ["V0", "W"]
    assert [e.guid for e in heater.elements] == ["R", "E", "C1", "W"]
    assert (feet(furnace.level_m), feet(heater.level_m)) == (0, 4)
    assert (feet(furnace.rise_m), feet(heater.rise_m)) == (2, 2)
    assert (furnace.turns, heater.turns) == (0, 1)
    assert (furnace.size_in, heater.size_in) == (4, 3)


def test_one_alone_has_its_vent_to_the_terminal() -> None:
    others = ("H", "C1", "E", "R")
    mine = [line for line in COMMON.splitlines() if not {*line.split()} & {*others}]
    (vent,) = vents("\n".join(mine))
    (connector,) = vent.connectors
    assert [e.guid for e in connector.elements] == ["V0", "W", "V1", "V2", "TOP"]
    assert not vent.is_common
    assert feet(vent.height_m) == 16


def test_how_high_a_vent_is_counts_from_the_highest_outlet_and_where_all_are_known() -> None:
    higher = COMMON.replace("flue 0 0 5", "flue 0 0 5.5").replace("V0  0 0 5 >", "V0  0 0 5.5 >")
    assert feet(vents(higher)[0].height_m) == 15.5
    (unknown,) = vents(
        COMMON.replace("furnace F system=none", "furnace F system=none unplaced=yes")
    )
    assert unknown.height_m is None
    (bare,) = vents(COMMON.replace("vent-through-roof TOP  0 0 20 > 0 0 21", ""))
    assert (bare.terminal.guid, bare.is_capped, bare.height_m) == ("V2", False, None)


def test_a_size_that_is_not_known_leaves_the_smallest_unknown() -> None:
    (vent,) = vents(COMMON.replace("pipe 5 V1", "pipe V1").replace("pipe 3 C1", "pipe C1"))
    assert vent.size_in is None
    assert [c.size_in for c in vent.connectors if c.appliance.guid == "H"] == [None]


def test_a_flue_without_an_appliance_is_no_vent() -> None:
    assert vents("system=flue\npipe 4 V  0 0 0 > 0 0 9\nvent-through-roof TOP  0 0 9") == []
