"""The drain cock of a heater or tank is no outlet: nothing draws there, and nothing is asked."""

from __future__ import annotations

import pytest

from ifclint.plumbing.supply.water_supply import Supply
from ifclint.testing import context_of

HOUSE = """
system=cold_water material=copper
water-meter 1 M  in 0 0 1 > out 1 0 1
pipe 1 C1  1 0 1 > 10 0 1
water-heater WH energy=electricity  cold 10 0 1 > hot 10 0 5 > {end}
{cock}
pipe 1 H1 system=hot_water  10 0 5 > 30 0 5
lavatory L system=hot_water  hot 30 0 5
"""


def _supply(end: str, cock: str) -> Supply:
    return context_of(HOUSE.format(end=end, cock=cock), "ipc-2021").plumbing.supply


@pytest.mark.parametrize(
    ("end", "cock"),
    [
        ("cold 10 1 1", "drain D  10 1 1"),
        ("cold 10 1 1", "faucet D  10 1 1"),
        ("cold 10 1 1", "hose-bibb D  10 1 1"),
        ("10 1 1", "faucet D called=Boiler_drain  10 1 1"),
        ("cold 10 1 1", "pipe 0.75 N  10 1 1 > 10 1.3 1\nhose-bibb D  10 1.3 1"),
    ],
)
def test_a_drain_cock_takes_no_water(end: str, cock: str) -> None:
    supply = _supply(end, cock)
    assert [fixture.element.guid for fixture in supply.fixtures] == ["L"]
    assert supply.not_fed == []


@pytest.mark.parametrize(
    ("end", "cock"),
    [
        ("hot 10 1 5", "hose-bibb D  10 1 5"),  # an outlet of hot water
        ("cold 10 1 1", "pipe 0.75 N  10 1 1 > 12 1 1\npipe 0.75 O  12 1 1 > 14 1 1\n"
         "pipe 0.75 P  12 1 1 > 12 4 1\nhose-bibb D  14 1 1"),  # a line that leads on elsewhere
    ],
)  # fmt: skip
def test_what_leads_elsewhere_is_no_drain_cock(end: str, cock: str) -> None:
    assert {f.element.guid for f in _supply(end, cock).fixtures} == {"L", "D"}
