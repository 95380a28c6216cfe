"""Where a relief valve lets hot water out into its discharge, no service is joined to another."""

from __future__ import annotations

import pytest

from ifclint.rules.protection.hazards import hazards
from ifclint.testing import context_of

HOUSE = """
system=cold_water material=copper
water-meter 1 M  in 0 0 0 > out 1 0 0
pipe 1 P1  1 0 0 > 30 0 0
lavatory L  cold 30 0 0
pipe 0.75 S  30 0 0 > 30 0 -0.2
{valve} 0.75 V system=sanitary_drainage  30 0 -0.2 > 30 0 -0.5
pipe 0.75 D system=sanitary_drainage  30 0 -0.5 > 30 0 -3
"""


@pytest.mark.parametrize(("valve", "count"), [("relief", 0), ("isolating", 1)])
def test_a_relief_valve_is_no_crossing(valve, count):
    assert len(hazards(context_of(HOUSE.format(valve=valve)))) == count
