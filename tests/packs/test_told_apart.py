"""A message never writes what lies past a limit as the limit itself.

All cases that are drawn near a limit are drawn nearer, just beyond what drawing may cost, and the
figures of each message are read back.
"""

from __future__ import annotations

import re
from fractions import Fraction

import pytest

from ifclint.findings import Answer, Outcome
from ifclint.testing import near, read_cases
from ifclint.testing.cases import said_of
from tests.packs.test_rule_cases import HERE, PACKS

COUNTED = frozenset({"branch intervals", "water closets"})  # at which the limit itself is wrong
NEAR = 0.05  # of the limit: what lies nearer could be written as the limit
AT_LIMIT = {"drain-dead-end"}  # the same
FIGURE = re.compile(r"(?:([\d,]+) ft )?((?:\d+-)?\d+/\d+|[\d,]*\.?\d+)(?: (ft|in)\b)?")


def figures(message: str, unit: str) -> list[float]:
    """The figures of a message, lengths in the unit asked for."""
    found = []
    for feet, figure, of in FIGURE.findall(message):
        value = float(sum(map(Fraction, figure.replace(",", "").split("-"))))
        if of == "in" and unit == "ft":
            value = value / 12 + float(feet.replace(",", "") or 0)
        found.append(value)
    return found


def contradicts_itself(answer: Answer) -> bool:
    """Whether the limit stands in a message and no figure on the side of the value found."""
    found, asked = answer.measured, answer.required
    if answer.outcome is Outcome.UNVERIFIED or not found or not asked:
        return False
    if found.value is None or asked.value is None or asked.unit in COUNTED:
        return False
    past = found.value - asked.value
    if abs(past) > NEAR * abs(asked.value):
        return False
    off = [figure - asked.value for figure in figures(answer.message, asked.unit)]
    says_limit = any(abs(each) < 1e-6 for each in off)
    return says_limit and not any(0 < each * past <= 3 * past**2 for each in off)


@pytest.mark.parametrize("share", [0.004, 0.0015])
@pytest.mark.parametrize("pack", PACKS)
def test_what_is_past_a_limit_is_told_from_it(pack: str, share: float, monkeypatch) -> None:
    monkeypatch.setattr(near, "SHARES", (1 - share, 1.0, 1 + share))
    cases = [c for c in read_cases(HERE / pack) if ": just " in c.name and c.rule not in AT_LIMIT]
    wrong = [
        f"{case.rule}, {case.name}: {answer.message}"
        for case in cases
        for answers in said_of(case, PACKS[pack]).values()
        for answer in answers
        if contradicts_itself(answer)
    ]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize(
    ("message", "unit", "expected"),
    [
        ("W is 6 ft 1/4 in from its vent.", "ft", [6 + 1 / 48]),
        ("1-1/4 in may be 5.5 ft", "ft", [1.25 / 12, 5.5]),
        ("takes 1,200 DFU", "DFU", [1200.0]),
    ],
)
def test_figures_are_read(message: str, unit: str, expected: list[float]) -> None:
    assert figures(message, unit) == pytest.approx(expected)
