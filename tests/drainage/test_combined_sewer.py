"""Storm drainage that joins the sanitary drainage on the way to a combined sewer."""

from __future__ import annotations

import tomllib
from importlib import import_module
from pathlib import Path

import pytest

from ifclint import job
from ifclint.packs import make_pack
from ifclint.rules.storm.section import StormSection
from ifclint.testing.cases import all_answers, context_of

CASES = Path(__file__).parents[1] / "packs" / "drainage" / "backflow.toml"
PACK = make_pack("drainage", import_module("ifclint.rules.drainage"))


@pytest.fixture(scope="module")
def drawn() -> str:
    return str(tomllib.loads(CASES.read_text(encoding="utf-8"))["networks"]["combined"])


def _larger(text: str) -> str:
    """The same within walls that stand farther out than the joint."""
    for old, new in (("12 -5 -1 > 12.5 5", "25 -5 -1 > 25.5 5"), ("12.5 ", "25.5 ")):
        text = text.replace(old, new)
    return text


def _without_walls(text: str) -> str:
    return "\n".join(line for line in text.splitlines() if not line.startswith("wall"))


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021", "irc-2021"])
@pytest.mark.parametrize(
    ("combined", "change", "answer"),
    [
        (True, str, "pass"),
        (False, str, "violation"),
        (None, str, "violation"),
        (True, _larger, "violation"),
        (True, _without_walls, "unverified"),
    ],
    ids=["outside", "no combined sewer", "not stated", "within the walls", "no walls drawn"],
)
def test_it_may_join_a_combined_sewer_outside_the_walls(drawn, code, combined, change, answer):
    stated = {} if combined is None else {"storm": {"combined_sewer": combined}}
    context = context_of(change(drawn), code, job.job_of(stated, {"storm": StormSection}))
    rule = next(rule for rule in PACK.rules if rule.name == "storm-into-sanitary")
    found, *_ = all_answers(rule, context, PACK.subjects)["STORM"]
    assert found.outcome.value == answer
