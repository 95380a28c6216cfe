"""A trap arm that ends in what is not understood, before it meets a vent."""

from __future__ import annotations

import pytest

from ifclint.findings import Answer, Outcome
from ifclint.rules.venting.protected import protected
from ifclint.testing.questions import context_of

ARM = """
system=sanitary_drainage
lavatory L  0 0 2
p-trap 1.5 T  0 0 2 > 0.3 0 1.8
pipe 1.5 A  0.3 0 1.8 > {turn}2 0 1.76
lavatory L2  20 0 2
p-trap 1.5 T2  20 0 2 > 20.3 0 1.8
pipe 1.5 A2  20.3 0 1.8 > 22 0 1.76
sanitary-tee 2 S2  22 0 1.76 > 22.2 0 1.5 > 22.2 0 2
pipe 1.5 V2 system=vent  22.2 0 2 > 22.2 0 10
vent-through-roof 1.5 X2  22.2 0 10
pipe 2 D2  22.2 0 1.5 > 22.2 0 -1
sewer-connection E  22.2 0 -1
"""
DROP = "1.5 0 1.78\npipe 1.5 B  1.5 0 1.78 > 1.5 0 0\npipe 1.5 C  1.5 0 0 > "


def said(turn: str, strangers: dict[str, str]) -> Answer:
    context = context_of(ARM.format(turn=turn), code="upc-2021")
    context.plumbing.network.model.leads_elsewhere.update(strangers)
    (arm,) = (a for a in context.plumbing.venting.arms if a.fixture.label == "L")
    answer = protected(arm, context)
    assert isinstance(answer, Answer)
    return answer


@pytest.mark.parametrize(
    ("turn", "strangers", "outcome"),
    [
        ("", {}, Outcome.VIOLATION),  # it ends open
        ("", {"A": "Zork"}, Outcome.UNVERIFIED),
        ("", {"D2": "Zork"}, Outcome.VIOLATION),  # another drain does
        (DROP, {"C": "Zork"}, Outcome.VIOLATION),  # it turned down before
    ],
)
def test_what_an_arm_ends_in(turn: str, strangers: dict[str, str], outcome: Outcome) -> None:
    assert said(turn, strangers).outcome is outcome


@pytest.mark.parametrize(("name", "called"), [("Zork", '"Zork"'), ("", "something")])
def test_what_it_ends_in_is_called_by_its_name(name: str, called: str) -> None:
    assert f"ends in {called}, which is not understood" in said("", {"A": name}).message
