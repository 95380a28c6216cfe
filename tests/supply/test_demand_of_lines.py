"""What a line carries: never more than its fixtures draw, and never less for one fixture more."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from ifclint.engineering.demand import FixtureGroup, exhaustive_flow_m3_per_s
from ifclint.engineering.units import M3_PER_S_PER_GPM
from ifclint.job import Job
from ifclint.rules.supply.demand import WaterDemand, demand, units_text
from ifclint.testing.questions import context_of

MAIN = """
system=cold_water material=copper
water-meter 1 M  in 0 0 0 > out 1 0 0
pipe 1 P1  1 0 0 > 20 0 0
"""
CLOSET = (
    MAIN
    + """
pipe 0.5 B  20 0 0 > 20 0 3
water-closet WC flush_type=gravity-tank  cold 20 0 3
"""
)
BATH = (
    MAIN
    + """
pipe 0.75 P2  20 0 0 > 25 0 0
water-heater WH  cold 20 0 0 > hot 20 1 0
pipe 0.75 P3  25 0 0 > 30 0 0
pipe 0.75 P4  30 0 0 > 35 0 0
water-closet WC space=Bath flush_type=gravity-tank  cold 25 0 0
lavatory L space=Bath  cold 30 0 0 > hot 30 1 0
bathtub T space={other}  cold 35 0 0 > hot 35 1 0
system=hot_water
pipe 0.75 H1  20 1 0 > 30 1 0
pipe 0.75 H2  30 1 0 > 35 1 0
"""
)


def _made(network: str, code: str, **water: object) -> WaterDemand:
    return demand(context_of(network, code, Job.model_validate({"water": water})))


def _of(made: WaterDemand, pipe: str) -> tuple[float, float | None]:
    segment = next(s for s in made.supply.segments if any(e.guid == pipe for e in s.pipe_elements))
    return made.wsfu[segment.number], made.gpm(segment)


@pytest.mark.parametrize("code", ["ipc-2021", "irc-2021"])
def test_a_closet_draws_three_gallons(code: str) -> None:
    """IPC Table 604.3, IRC Table P2903.1: 3 gpm, where the curve says 5.3."""
    made = _made(CLOSET, code)
    assert _of(made, "B")[1] == pytest.approx(3.0)
    steps = [s.text for s in made.steps(made.supply.segments[-1])]
    assert any("draw no more" in words for words in steps)


def test_the_cap_counts_with_what_runs_all_the_time() -> None:
    """A line that carries as much as its fixtures draw, but not the continuous use besides."""
    made = _made(CLOSET, "ipc-2021")
    segment = made.supply.segments[-1]
    flow = made.flow_m3_per_s[segment.number]
    running = replace(made, continuous_m3_per_s=[M3_PER_S_PER_GPM] * len(made.wsfu))
    assert flow == pytest.approx(made.most_m3_per_s[segment.number])
    assert not any("draw no more" in s.text for s in running.steps(segment))


def test_a_flushometer_valve_is_not_capped_by_a_tank() -> None:
    network = CLOSET.replace("gravity-tank", "flushometer-valve")
    assert (_of(_made(network, "upc-2021"), "B")[1] or 0.0) > 20.0


def test_the_reading_of_the_worked_example_knows_no_cap() -> None:
    assert (_of(_made(CLOSET, "ipc-2021", demand_reading="next-row"), "B")[1] or 0.0) > 3.0


def test_continuous_flow_replaces_units() -> None:
    flow = [{"element": "WC", "flow": "2 gpm"}]
    units, gpm = _of(_made(CLOSET, "upc-2021", continuous_flow=flow), "B")
    assert units == 0.0
    assert gpm == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("code", "other", "trunk", "cold", "hot"),
    [
        ("ipc-2021", "Bath", 3.6, 2.7, 1.5),  # Table E103.3(2), bathroom group
        ("irc-2021", "Bath", 3.6, 2.7, 1.5),  # Table P2903.6, full-bath group
        ("ipc-2021", "Laundry", 4.3, 3.7, 1.5),  # a tub elsewhere makes no group of a full bath
        ("irc-2021", "Laundry", 4.0, 3.5, 1.5),  # half-bath group of 2.6 and a tub of 1.4
        ("upc-2021", "Bath", 7.5, 6.25, 3.75),  # the UPC has no groups
    ],
)
def test_bathroom_groups(code: str, other: str, trunk: float, cold: float, hot: float) -> None:
    made = _made(BATH.replace("{other}", other), code)
    found = [_of(made, pipe)[0] for pipe in ("P1", "P2", "H1")]
    assert found == pytest.approx([trunk, cold, hot])


BROKEN = (  # the cold of the lavatory branches off before the closet, the tub and the heater
    MAIN
    + """
pipe 0.5 B1  20 0 0 > 20 5 0
lavatory L space=Bath  cold 20 5 0 > hot 30 1 0
pipe 0.75 P2  20 0 0 > 25 0 0
pipe 0.75 P3  25 0 0 > 35 0 0
water-heater WH  cold 25 0 0 > hot 25 1 0
water-closet WC space=Bath flush_type=gravity-tank  cold 25 0 4
pipe 0.5 B2  25 0 0 > 25 0 4
bathtub T space={other}  cold 35 0 0 > hot 35 1 0
system=hot_water
pipe 0.75 H1  25 1 0 > 30 1 0
pipe 0.75 H2  30 1 0 > 35 1 0
"""
)


@pytest.mark.parametrize(
    ("code", "other", "trunk", "behind"),
    [
        ("ipc-2021", "Bath", 3.6, 3.6),  # 2.2 and 1.4 and the lavatory's hot 0.5 add up to 4.1
        ("irc-2021", "Bath", 3.6, 3.6),
        ("irc-2021", "Laundry", 4.0, 4.0),  # half-bath group of 2.6 and a tub of 1.4
        ("ipc-2021", "Laundry", 4.3, 4.1),  # no group: what is left of the plain sum
    ],
)
def test_no_line_behind_a_broken_group_carries_more_than_feeds_it(
    code: str, other: str, trunk: float, behind: float
) -> None:
    made = _made(BROKEN.replace("{other}", other), code)
    assert [_of(made, pipe)[0] for pipe in ("P1", "P2")] == pytest.approx([trunk, behind])


def test_low_demand_never_falls() -> None:
    """30 dwellings and 31: 41.0 gpm fell to 39.0 where the method changed."""
    use = [(0.055, 5.5), (0.01, 3.0), (0.02, 1.5), (0.02, 2.2), (0.005, 1.3), (0.055, 3.5)]
    flows = [
        exhaustive_flow_m3_per_s([FixtureGroup(n, p, q * M3_PER_S_PER_GPM) for p, q in use])
        for n in range(1, 120)
    ]
    assert all(more >= less for less, more in pairwise(flows))
    assert flows[-1] > 2 * flows[29]


def test_only_hose_bibbs_count_as_each_further_one() -> None:
    made = _made(BATH.replace("{other}", "Bath") + "hose-bibb HB  cold 35 1 0\n", "upc-2021")
    said = {fixture.element.guid: units_text(fixture, made) for fixture in made.units}
    assert {guid for guid, text in said.items() if "each further" in text} == {"HB"}
