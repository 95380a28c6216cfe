"""What the two inlets of a mixing valve carry of what its outlet gives."""

from __future__ import annotations

import pytest

from ifclint.engineering.units import M3_PER_S_PER_GPM
from ifclint.job import job_of
from ifclint.rules.supply.demand import WaterDemand, demand
from ifclint.testing.questions import context_of

ONE_SHOWER = """
system=cold_water material=copper
water-meter 0.75 M  in 0 0 0 > out 1 0 0
pipe 0.75 BOTH  1 0 0 > 10 0 0
tee 0.75 TC  10 0 0 > 10.2 0 0 > 10.1 0.2 0
pipe 0.75 COLD  10.1 0.2 0 > 26 2 0
pipe 0.75 FEED  10.2 0 0 > 24 0 0
water-heater WH  cold 24 0 0 > hot 24 1 0
system=hot_water
pipe 0.75 HOT  24 1 0 > 26 1 0
mixing 0.75 MV  hot in 26 1 0 > cold in 26 2 0 > out 27 1 0
pipe 0.75 MIXED  27 1 0 > 65 1 0
shower S  hot 65 1 0
"""
THREE_SHOWERS = ONE_SHOWER.replace(
    "shower S  hot 65 1 0",
    """tee 0.75 T1  65 1 0 > 65.2 1 0 > 65.1 1.2 0
tee 0.75 T2  65.2 1 0 > 65.4 1 0 > 65.3 1.2 0
shower S1  hot 65.1 1.2 0
shower S2  hot 65.3 1.2 0
shower S3  hot 65.4 1 0""",
)


def _units(made: WaterDemand) -> dict[str, float]:
    return {s.first.guid: made.wsfu[s.number] for s in made.supply.segments}


@pytest.mark.parametrize(
    ("code", "whole", "side"),
    [("upc-2021", 2.0, 1.5), ("ipc-2021", 1.4, 1.0), ("irc-2021", 1.4, 1.0)],
)
def test_inlets_of_a_shower_valve_are_its_connections(code: str, whole: float, side: float) -> None:
    units = _units(demand(context_of(ONE_SHOWER, code)))
    assert units["MIXED"] == units["BOTH"] == pytest.approx(whole)
    assert units["HOT"] == units["FEED"] == units["COLD"] == pytest.approx(side)


def test_a_valve_for_many_may_take_all_from_its_hot_side() -> None:
    units = _units(demand(context_of(THREE_SHOWERS)))
    assert units["MIXED"] == units["BOTH"] == units["HOT"] == pytest.approx(6.0)
    assert units["COLD"] == pytest.approx(4.5)


@pytest.mark.parametrize("method", ["hunter", "low-demand"])
@pytest.mark.parametrize("network", [ONE_SHOWER, THREE_SHOWERS])
def test_no_inlet_carries_more_than_the_outlet_and_both_no_less(network: str, method: str) -> None:
    job = job_of({"water": {"demand_method": method}}, {})
    made = demand(context_of(network, "upc-2021", job))
    gpm = {
        s.first.guid: (made.flow_m3_per_s[s.number] or 0) / M3_PER_S_PER_GPM
        for s in made.supply.segments
    }
    assert max(gpm["HOT"], gpm["COLD"]) <= gpm["MIXED"] + 1e-9
    assert gpm["HOT"] + gpm["COLD"] >= gpm["MIXED"] - 1e-9
    assert gpm["BOTH"] == pytest.approx(gpm["MIXED"])


MASTER_VALVE = """
system=cold_water material=copper
water-meter 0.75 M  in 0 0 0 > out 1 0 0
pipe 0.75 BOTH  1 0 0 > 10 0 0
tee 0.75 TH  10 0 0 > 10.2 0 0 > 10.1 0.2 0
pipe 0.75 FEED  10.1 0.2 0 > 10.1 8 0
pipe 0.75 ON  10.2 0 0 > 20 0 0
tee 0.75 TM  20 0 0 > 20.2 0 0 > 20.1 0.2 0
pipe 0.75 INLET  20.1 0.2 0 > 20.1 8 0
pipe 0.75 COLD  20.2 0 0 > 30 0 0
lavatory L  cold 30 0 0 > hot 30 1 0
water-heater WH  cold 10.1 8 0 > hot 11 8 0
system=hot_water
pipe 0.75 HOT  11 8 0 > 20 9 0
mixing 0.75 MV  hot in 20 9 0 > cold in 20.1 8 0 > out 21 9 0
pipe 0.75 MIXED  21 9 0 > 30 1 0
"""


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021", "irc-2021"])
@pytest.mark.parametrize("method", ["hunter", "low-demand"])
def test_no_line_carries_more_of_a_fixture_than_the_service(code: str, method: str) -> None:
    """Past the heater's tee the main feeds the cold side and the cold inlet of the master valve."""
    made = demand(context_of(MASTER_VALVE, code, job_of({"water": {"demand_method": method}}, {})))
    units, whole = _units(made), made.units[made.supply.fixtures[0]]
    assert whole is not None
    assert units["BOTH"] == units["ON"] == pytest.approx(whole.total)
    assert units["COLD"] == pytest.approx(whole.cold or whole.total)
    assert units["FEED"] <= units["MIXED"] == pytest.approx(whole.hot or whole.total)
    flow = {s.first.guid: made.flow_m3_per_s[s.number] or 0.0 for s in made.supply.segments}
    assert flow["ON"] <= flow["BOTH"] + 1e-12


def test_without_a_cold_pipe_the_hot_side_carries_the_whole() -> None:
    alone = "\n".join(line for line in ONE_SHOWER.splitlines() if " COLD " not in line)
    units = _units(demand(context_of(alone)))
    assert units["HOT"] == units["MIXED"] == pytest.approx(2.0)
