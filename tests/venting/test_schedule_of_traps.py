"""The schedule of traps gives length and fall of an arm only where it ends at a vent."""

from __future__ import annotations

import pytest

from ifclint.rules.venting.schedules import trap_schedule
from ifclint.testing import context_of
from tests.venting.test_vent_limits import NETWORKS

MEASURED = ("arm_ft", "fall_in")


@pytest.mark.parametrize("name", ["arms.lavatory", "arms.turned_down"])
def test_an_arm_is_measured_to_its_vent(name: str) -> None:
    context = context_of(NETWORKS[name], "upc-2021")
    rows = trap_schedule(context).rows
    assert rows
    for row, arm in zip(rows, context.plumbing.venting.arms, strict=True):
        given = [row[key] is not None for key in MEASURED]
        assert given == [arm.breathes] * 2
