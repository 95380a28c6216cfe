"""Room to spare never hurts: where cases draw a clearance just below, at and just above what is
asked, a longer one never turns a pass into a violation, however long it is."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from typing import Any

import pytest

from ifclint.errors import InputError
from ifclint.findings import Outcome
from ifclint.testing import Case, ask
from ifclint.testing.cases import job_of
from ifclint.testing.near import drawn, filled
from tests.packs.test_rule_cases import CASES, PACKS

CLEARANCES = {
    "room-before-fixture", "fixtures-apart", "room-before-shower",
    "shower-large-enough", "cleanout-clearance", "gas-meter-clearance",
    "gas-regulator-openings", "terminal-from-openings",
    "terminal-from-walls", "heater-attic-access", "heater-ignition-height",
    "water-sewer-apart", "site-distance", "sewer-cover", "service-cover", "vacuum-breaker-height",
    "indirect-waste", "gas-burial", "trap-reached",
}  # fmt: skip
SHARES = (0.55, 0.8, 0.97, 1.0, 1.03, 1.2, 1.5, 2.0)  # of the limit
WRONG = (Outcome.ADVISORY, Outcome.VIOLATION)
Near = dict[str, Any]


def _near() -> list[tuple[str, Case, Near, str]]:
    """Each clearance that a case draws below, at and above one limit, by code."""
    found = []
    for pack, case in CASES:
        for near in case.stated.get("near") or []:
            limit, answers = near.get("limit"), near.get("answers", ["", ""])
            parts = answers[0] in WRONG and answers[1] == "pass"
            if case.rule in CLEARANCES and isinstance(limit, int | float) and parts:
                named = near.get("code", case.code)
                codes = [named] if isinstance(named, str) else named
                found += [(pack, case, near, code) for code in codes]
    return found


def _outcome(pack: str, case: Case, near: Near, code: str, dimension: float) -> Outcome:
    told = filled(near.get("job", case.stated.get("job", {})), dimension)
    text = drawn(case.network, near.get("draw", []), dimension)
    varied = replace(case, stated={**case.stated, "job": told})
    rule = next(rule for rule in PACKS[pack].rules if rule.name == case.rule)
    said = ask(
        rule, text, code, job_of(varied, PACKS[pack]),
        subjects=PACKS[pack].subjects, tables=PACKS[pack].tables,
    )  # fmt: skip
    subjects = [near["subject"]] if "subject" in near else case.subjects
    return next(said[s].outcome for s in subjects if s in said)


NEAR = _near()


@pytest.mark.parametrize(
    ("pack", "case", "near", "code"),
    NEAR,
    ids=[f"{c.rule}: {n['limit']}, {k}" for _, c, n, k in NEAR],
)
def test_a_longer_clearance_never_hurts(pack: str, case: Case, near: Near, code: str) -> None:
    said = []
    for share in SHARES:
        with suppress(InputError, StopIteration, TypeError):  # not to be drawn so far off
            said.append(_outcome(pack, case, near, code, share * near["limit"]))
    assert len(said) > len(SHARES) / 2
    enough = said.index(Outcome.PASS)
    assert set(said[:enough]) & set(WRONG), said
    assert not set(said[enough:]) & set(WRONG), said


def test_these_clearances_are_drawn() -> None:
    assert {case.rule for _, case, _, _ in NEAR} == CLEARANCES
