"""Lines that end in what is not in the model but by name."""

from __future__ import annotations

import pytest

from ifclint.findings import Outcome
from ifclint.rules.protection.hazards import hazards
from ifclint.rules.protection.placing import vacuum_breaker_height
from ifclint.testing.questions import context_of

LINE = """
system=cold_water material=copper
water-meter 1 M  in 0 0 0 > out 1 0 0
pipe 1 P1  1 0 0 > 20 0 0
pipe 0.5 B0  20 0 0 > 20 5 0
lavatory L  cold 20 5 0
pipe 0.75 P2  20 0 0 > 30 0 {z}
vacuum-breaker 0.75 VB called=PVB  30 0 {z} > 30.5 0 {z}
pipe 0.75 P3  30.5 0 {z} > 30.5 0 0
"""


@pytest.mark.parametrize(
    ("z", "outcome"), [(0.9, Outcome.VIOLATION), (1.1, Outcome.UNVERIFIED)]
)  # too low above the pipe alone; high enough above it, but not known above what follows
def test_what_it_feeds_is_not_drawn(z: float, outcome: Outcome) -> None:
    context = context_of(LINE.format(z=z))
    context.plumbing.network.model.leads_elsewhere["P3"] = "Irrigation machine"
    (hazard,) = hazards(context)
    assert hazard.called == "Irrigation machine"
    said = [answer.outcome for answer in vacuum_breaker_height.judge(hazard, context)]
    assert said == [outcome]


TWO_ENDS = """
system=cold_water material=copper
water-meter 1 M  in 0 0 0 > out 1 0 0
pipe 1 P1  1 0 0 > 20 0 0
pipe 0.5 B0  20 0 0 > 20 5 0
lavatory L  cold 20 5 0
pipe 0.75 P2  20 0 0 > 30 0 0
pipe 0.75 P3  30 0 0 > 40 0 0
pipe 0.75 P4  30 0 0 > 30 9 0
"""


def _taking(text: str) -> list[str]:
    context = context_of(text)
    for end in ("P3", "P4"):
        context.plumbing.network.model.leads_elsewhere[end] = "Irrigation machine"
    return [hazard.element.guid for hazard in hazards(context)]


def test_two_ends_of_one_branch_that_lead_to_the_same_are_told_once() -> None:
    assert len(_taking(TWO_ENDS)) == 1
    apart = TWO_ENDS.replace("P4  30 0 0", "P4  20 0 0").replace("30 9 0", "20 9 0")
    assert len(_taking(apart)) == 2
