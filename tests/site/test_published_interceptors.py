"""The grease that interceptors must hold, against a city's table made another way."""

from __future__ import annotations

import pytest

from ifclint.codes import load

IN3_PER_GAL = 231
# New York City, proper sizing of grease interceptors, Table I (nyc.gov/dep): cubic inches of the
# fixtures that drain into one, and the pounds of grease that it must hold: the usual reckoning
# (three quarters of the volume, drained in two minutes) put to the flow rates of the IPC's table.
TABLE = [
    (2462, 8), (4312, 14), (6160, 20), (9240, 30), (12320, 40), (15400, 50), (21560, 70),
    (30800, 100), (46200, 150), (61600, 200),
]  # fmt: skip


@pytest.mark.parametrize(("volume_in3", "retention_lb"), TABLE)
def test_grease_held_as_new_york_asks(volume_in3: float, retention_lb: float) -> None:
    flow_gpm = 0.75 * volume_in3 / IN3_PER_GAL / 2
    row = load("ipc-2021").table("grease_retention").next_row("rating_gpm", round(flow_gpm, 2))
    assert row is not None
    assert row.number("retention_lb") == retention_lb
    assert row.number("rating_gpm") == pytest.approx(flow_gpm, rel=0.005)
