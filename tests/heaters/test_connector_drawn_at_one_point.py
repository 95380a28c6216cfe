"""A pipe of a vent connector whose two ends are drawn at one point tells no slope."""

from __future__ import annotations

import pytest

from ifclint import codes
from ifclint.findings import Outcome
from ifclint.job import Job
from ifclint.judge import answers
from ifclint.packs import Context
from ifclint.plumbing import build
from ifclint.plumbing.subjects import finders
from ifclint.rules.heaters.connectors import vent_connector_slope
from ifclint.testing import read_network

CONNECTOR = """
system=hot_water
water-heater 4 A energy=gas  flue 24 6 5.2
system=flue material=Type_B_double-wall
pipe 4 F1  24 6 5.2 > 24 6 6.8
bend 4 FB1  24 6 6.8 > 24.2 6 7
pipe 4 F2  24.2 6 7 > 26.9 6 7.1
bend 4 FB2  26.9 6 7.1 > 27 6 7.3
pipe 4 F5  27 6 7.3 > 27 6 20
vent-through-roof 4 CAP  27 6 20
"""


@pytest.mark.parametrize(
    ("length_m", "wanted"),
    [(None, [Outcome.UNVERIFIED]), (0.82, [Outcome.UNVERIFIED]), (0.03, [Outcome.NOT_APPLICABLE])],
)
@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021", "irc-2021"])
def test_ends_at_one_point(code: str, length_m: float | None, wanted: list[Outcome]) -> None:
    """Unless it is known for a stub, which has no slope to speak of."""
    network = read_network(CONNECTOR)
    pipe = next(e for e in network.elements if e.guid == "F2")
    bend = next(e for e in network.elements if e.guid == "FB1")
    pipe.length_m = length_m
    bend.ends[1].position = pipe.ends[0].position = pipe.ends[1].position
    context = Context(codes.load(code), build(network), Job())
    ((_, said),) = answers(vent_connector_slope, context, finders())
    assert [answer.outcome for answer in said] == wanted
