"""Troughs and waterers, and what they say of their own water."""

from __future__ import annotations

import pytest

from ifclint.rules.protection.hazard_names import OPEN_BASIN
from ifclint.rules.protection.hazards import hazards
from ifclint.testing.questions import context_of

LINE = """
system=cold_water material=copper
water-meter 1 M  in 0 0 0 > out 1 0 0
pipe 1 P1  1 0 0 > 20 0 0
pipe 0.5 B0  20 0 0 > 20 5 0
lavatory L  cold 20 5 0
pipe 0.75 P2  20 0 0 > 30 0 0
storage-tank T called={called}  30 0 0
"""


@pytest.mark.parametrize(
    ("called", "kinds"),
    [
        ("Livestock_waterer", [OPEN_BASIN]),
        ("Livestock_waterer_without_air_gap", [OPEN_BASIN]),
        ("Livestock_waterer_with_float_valve_and_air_gap", []),
        ("Cold_water_storage_tank", []),
    ],
)
def test_a_basin_that_may_foul_its_water(called: str, kinds: list[str]) -> None:
    found = hazards(context_of(LINE.format(called=called)))
    assert [hazard.kind for hazard in found] == kinds
