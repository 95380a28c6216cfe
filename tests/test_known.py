"""Facts asked for inside a rule: the value goes on, a missing one becomes a question."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from ifclint.checks import (
    PASS,
    Bounds,
    Fact,
    PartKind,
    check,
    drawn,
    due,
    each,
    given,
    known,
    missing,
    not_known,
    violation,
)  # fmt: skip
from ifclint.codes import Limit
from ifclint.findings import Answer, Outcome
from ifclint.packs import Context, rule
from ifclint.plumbing import DrainSegment
from ifclint.testing import ask
from ifclint.testing.questions import all_answers, context_of

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


def test_what_a_rule_needs_is_given_to_it() -> None:
    assert given(0.0) == 0.0
    with pytest.raises(AssertionError, match="needs"):
        given(None)


def test_parts_that_are_drawn_nowhere_are_asked_for_once() -> None:
    hangers = PartKind("hangers", lambda context: False, "Model the hangers.")
    drains = PartKind("drains", lambda context: True, "Model the drains.")

    def judge(drain: DrainSegment, context: Context) -> Answer:
        drawn(drains, context, "whether {} is one", drain)
        drawn(hangers, context, "how {} is hung from {}", drain, "the joists")
        raise AssertionError("the rule went on")

    answer = _asked(judge)
    assert answer.outcome is Outcome.UNVERIFIED
    assert answer.message == 'how 2 in trap arm "P1" is hung from the joists is not known.'
    assert (answer.part, answer.remedy) == (hangers, "Model the hangers.")


def test_a_missing_part_without_a_remedy_has_that_of_its_kind() -> None:
    hangers = PartKind("hangers", lambda context: True, "Model the hangers.")
    assert missing(hangers, message="Not hung.").remedy == "Model the hangers."
    assert missing(hangers, message="Not hung.", remedy="Hang it.").remedy == "Hang it."


def test_each_thing_is_judged_for_itself() -> None:
    depths = {"a": 3.0, "b": None, "c": 12.0, "d": -1.0}

    def judge(name: str) -> Answer:
        depth = known(depths[name], DEPTH, name)
        due(depth if depth >= 0 else None)
        return check(depth, at_most=LIMIT, message=f"{name} is deep.", remedy="mend it")

    first, second, third = each(depths, judge)
    assert first is PASS
    assert second.message == "The depth of b is not known."
    assert third.message == "c is deep."


def test_what_is_said_of_each_is_about_it() -> None:
    def judge(drain: DrainSegment, context: Context) -> Iterator[Answer]:
        wrong = violation(message="Bent.", remedy="Straighten it.")
        yield from each(drain.pipe_elements, lambda pipe: wrong)
        named = violation(message="Bent.", remedy="Mend it.", elements=("other",), about="other")
        yield from each(drain.pipe_elements, lambda pipe: named)

    made = rule(title="Trial", subject=DrainSegment, clauses={"any": "trial"})(judge)
    said = all_answers(made, context_of(NETWORK))["P1"]
    assert [(answer.about, answer.elements) for answer in said] == [
        ("P1", ("P1",)),
        ("other", ("other",)),
    ]


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
