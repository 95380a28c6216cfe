"""Facts asked for inside a rule: the value goes on, a missing one becomes a question."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from ifclint.checks import Bounds, Fact, check, due, known, not_known, violation
from ifclint.codes import Limit
from ifclint.findings import Answer, Outcome
from ifclint.packs import Context, rule
from ifclint.plumbing import DrainSegment
from ifclint.testing import ask

NETWORK = """
lavatory L1  0 0 0
pipe 2 P1  0 0 0 > 10 0 -0.208333
"""
DEPTH = Fact("depth", "Draw it with its sides.")
BURIED = Fact("whether {} is buried beside {}", "Give the ground.", asked_once=True)
UNLISTED = Fact("The code lists no {}.", "Choose a listed size.")
LIMIT = Limit("most_in", 10.0, "in", "1.1", "test")


def _asked(judge) -> Answer:
    made = rule(title="Trial", subject=DrainSegment, clauses={"any": "trial"})(judge)
    return ask(made, NETWORK)["P1"]


def test_a_value_that_is_known_goes_on() -> None:
    assert known(0.0, DEPTH) == 0.0
    assert known("", DEPTH) == ""


def test_a_missing_value_ends_the_rule_with_its_question() -> None:
    def judge(drain: DrainSegment, context: Context) -> Answer:
        known(None, DEPTH)
        raise AssertionError("the rule went on")

    answer = _asked(judge)
    assert answer.outcome is Outcome.UNVERIFIED
    assert answer.message.startswith("The depth of ")
    assert answer.message.endswith(" is not known.")
    assert answer.remedy == "Draw it with its sides."
    assert answer.elements == ("P1",)


def test_what_a_rule_said_before_stands() -> None:
    def judge(drain: DrainSegment, context: Context) -> Iterator[Answer]:
        yield violation(message="Bent.", remedy="Straighten it.")
        known(None, DEPTH)

    assert _asked(judge).outcome is Outcome.VIOLATION


def test_a_subject_of_which_nothing_is_due_is_excused() -> None:
    def judge(drain: DrainSegment, context: Context) -> Answer:
        assert due(0.0) == 0.0
        due(context.code.limit_or_none("no_such_limit"))
        raise AssertionError("the rule went on")

    assert _asked(judge).outcome is Outcome.NOT_APPLICABLE


@pytest.mark.parametrize(
    ("fact", "of", "said"),
    [
        (DEPTH, ["Pan"], "The depth of Pan is not known."),
        (BURIED, ["tank", "wall"], "Whether tank is buried beside wall is not known."),
        (UNLISTED, ["pipe of 7 in {x}"], "The code lists no pipe of 7 in {x}."),
        ("length_m", ["P1"], "The developed length of P1 is not known."),
    ],
)
def test_a_fact_is_asked_for_in_its_words(fact: Fact | str, of: list[str], said: str) -> None:
    assert not_known(fact, *of).message == said


def test_a_fact_that_is_asked_once_has_a_cause() -> None:
    assert not_known(BURIED, "a", "b").cause
    assert not not_known(DEPTH, "a").cause


def _bounded(low: float, high: float, **limit: Limit) -> Answer:
    return check(
        Bounds(DEPTH, "Pan", low=low, high=high), message="wrong", remedy="mend it", **limit
    )


@pytest.mark.parametrize(
    ("low", "high", "at_least", "at_most"),
    [
        (11, 12, Outcome.PASS, Outcome.VIOLATION),
        (10, 12, Outcome.PASS, Outcome.UNVERIFIED),
        (9, 10, Outcome.UNVERIFIED, Outcome.PASS),
        (8, 9, Outcome.VIOLATION, Outcome.PASS),
        (9, float("inf"), Outcome.UNVERIFIED, Outcome.UNVERIFIED),
        (float("-inf"), 9, Outcome.VIOLATION, Outcome.PASS),
    ],
)
def test_what_is_known_in_part_is_judged_by_its_ends(
    low: float, high: float, at_least: Outcome, at_most: Outcome
) -> None:
    assert _bounded(low, high, at_least=LIMIT).outcome is at_least
    assert _bounded(low, high, at_most=LIMIT).outcome is at_most


def test_the_nearer_end_is_what_is_measured() -> None:
    wrong = _bounded(12, float("inf"), at_most=LIMIT)
    assert wrong.measured is not None
    assert (wrong.measured.value, wrong.measured.bound) == (12, "at least")
    open_ = _bounded(9, float("inf"), at_most=LIMIT)
    assert open_.message == "The depth of Pan is not known."
    assert open_.required == wrong.required
    assert open_.clause == "1.1"
