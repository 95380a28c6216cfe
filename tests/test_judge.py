"""The engine: isolation of packs and rules, coverage, missing facts, stable ids."""

from __future__ import annotations

from collections.abc import Callable
from types import SimpleNamespace

import pytest

from ifclint import codes
from ifclint.as_findings import finding_id
from ifclint.checks import advise, unverified
from ifclint.findings import PASS, Answer, Outcome, Severity
from ifclint.job import Job
from ifclint.judge import judge
from ifclint.packs import Context, Rule, hookimpl, make_pack, rule
from ifclint.plumbing import DrainSegment, Fixture, Stack, build
from ifclint.plumbing.subjects import finders
from ifclint.testing import context_of, read_network

NETWORK = """
bathtub T1  0 0 0
pipe 2 P1  0 0 0 > 10 0 -0.208333
bathtub T2  0 5 0
pipe P2  0 5 0 > 10 0.2 -0.208333
wye 3 W  10 0 -0.208333 > 10 0.2 -0.208333 > 11 0 -0.23
pipe 3 P3  11 0 -0.23 > 20 0 -0.42
sewer-connection S  20 0 -0.42
"""
BOTH = {"upc": "1.1", "ipc": "2.2"}


@pytest.fixture
def context() -> Context:
    return Context(codes.load("upc-2021"), build(read_network(NETWORK)), Job())


def _pack(*rules: Rule, name: str = "trial"):
    hooks = {
        "ifclint_rules": hookimpl(lambda: rules),
        "ifclint_subjects": hookimpl(lambda: finders()),
    }
    return make_pack(name, SimpleNamespace(**hooks))


@rule(title="Always passes", subject=DrainSegment, clauses=BOTH)
def always_passes(run: DrainSegment, context: Context) -> Answer:
    return PASS


@rule(title="Breaks", subject=DrainSegment, clauses=BOTH)
def breaks(run: DrainSegment, context: Context) -> Answer:
    raise RuntimeError("out of pipe")


@rule(title="Needs a size", subject=DrainSegment, clauses=BOTH, needs=("size_in",))
def needs_a_size(run: DrainSegment, context: Context) -> Answer:
    return Answer(Outcome.VIOLATION, "too round", remedy="square it")


@rule(title="Never for the UPC", subject=DrainSegment, clauses={"ipc": "2.2"})
def not_for_the_upc(run: DrainSegment, context: Context) -> Answer:
    return Answer(Outcome.VIOLATION, "never said")


@rule(title="Stacks only", subject=Stack, clauses=BOTH)
def stacks_only(stack: Stack, context: Context) -> Answer:
    return PASS


@rule(title="No bathtub", subject=Fixture, clauses=BOTH, applies=lambda f: f.kind != "bathtub")
def no_bathtub(fixture: Fixture, context: Context) -> Answer:
    return PASS


def test_a_failing_rule_is_named_and_the_others_are_kept(context: Context) -> None:
    said = judge([_pack(breaks, needs_a_size, always_passes)], context)
    assert [(f.pack, f.rule) for f in said.failures] == [("trial", "breaks")]
    assert "out of pipe" in said.failures[0].reason
    assert {c.rule for c in said.coverage} == {"needs-a-size", "always-passes"}
    assert said.findings


def test_every_subject_is_counted_once(context: Context) -> None:
    said = judge([_pack(always_passes, needs_a_size, stacks_only, no_bathtub)], context)
    segments = len(context.plumbing.drains)
    assert segments == 3
    for coverage in said.coverage:
        answered = (
            coverage.passed
            + coverage.violations
            + coverage.advisories
            + coverage.unverified
            + coverage.not_applicable
        )
        assert answered == coverage.subjects
    by_rule = {c.rule: c for c in said.coverage}
    assert by_rule["always-passes"].passed == segments
    assert (by_rule["needs-a-size"].violations, by_rule["needs-a-size"].unverified) == (2, 1)
    assert by_rule["stacks-only"].note == "saw no subject in this model"
    assert by_rule["no-bathtub"].not_applicable == 2


def test_a_missing_fact_names_the_element_and_the_remedy(context: Context) -> None:
    said = judge([_pack(needs_a_size)], context)
    (open_question,) = [f for f in said.findings if f.outcome is Outcome.UNVERIFIED]
    assert open_question.element_ids == ("P2",)
    assert "nominal diameter" in open_question.remedy
    assert "P2" not in open_question.remedy


def test_a_code_that_is_silent_makes_no_demand(context: Context) -> None:
    said = judge([_pack(not_for_the_upc)], context)
    assert said.findings == []
    assert said.coverage[0].subjects == 0
    assert said.coverage[0].note == "UPC 2021 makes no such demand"


def test_the_id_depends_on_rule_and_subject_alone(context: Context) -> None:
    first = {f.subject: f.id for f in judge([_pack(needs_a_size)], context).findings}
    again = Context(codes.load("ipc-2021"), build(read_network(NETWORK)), Job())
    assert {f.subject: f.id for f in judge([_pack(needs_a_size)], again).findings} == first
    run = context.plumbing.drains[0]
    assert finding_id(needs_a_size, run) != finding_id(always_passes, run)


def test_a_misspelt_hook_is_refused() -> None:
    with pytest.raises(ValueError, match="ifclint_rulez"):
        make_pack("bad", SimpleNamespace(ifclint_rulez=lambda: []))


def test_a_rule_judges_what_the_type_of_its_first_parameter_names() -> None:
    @rule(title="Of stacks", clauses=BOTH)
    def of_stacks(stack: Stack, context: Context) -> Answer:
        return PASS

    assert of_stacks.subject is Stack
    with pytest.raises(TypeError, match="untold tells by no type of its first parameter"):

        @rule(title="Of nothing", clauses=BOTH)
        def untold(stack, context: Context) -> Answer:
            return PASS


def test_two_rules_of_one_name_are_refused() -> None:
    with pytest.raises(ValueError, match="same name"):
        _pack(always_passes, always_passes)


def test_answers_that_nothing_tells_apart_have_ids_of_their_own(context: Context) -> None:
    @rule(title="Twice", subject=DrainSegment, clauses=BOTH)
    def twice(run: DrainSegment, context: Context):
        yield advise("once", "mend it")
        yield advise("once", "mend it")

    ids = [finding.id for finding in judge([_pack(twice)], context).findings]
    assert len(ids) == len(set(ids)) == 2 * len(context.plumbing.drains)


@pytest.mark.parametrize("said", [unverified, advise])
def test_answers_of_one_cause_are_one_with_all_elements(said: Callable[..., Answer]) -> None:
    @rule(title="Known", subject=DrainSegment, clauses={"any": "none"})
    def known(drain: DrainSegment, context: Context) -> Answer:
        """Every drain is told of, the small ones for another reason than the large ones."""
        size = drain.size_in or 0.0
        return said(f"{drain.label} is odd.", "Say it.", cause=f"{size:g}")

    text = """
lavatory L   0 0 0
pipe 2 A     0 0 0 > 5 0 -0.1
pipe 3 B     5 0 -0.1 > 9 0 -0.2
pipe 2 C     9 0 -0.2 > 12 0 -0.3
sewer-connection S  12 0 -0.3
"""
    found = judge([_pack(known)], context_of(text)).findings
    told = {
        tuple(sorted(f.element_ids)): f.message.endswith("So it is with 1 more.") for f in found
    }
    assert told == {("A", "C"): True, ("B",): False}


@rule(title="Always wrong", subject=DrainSegment, clauses=BOTH)
def always_wrong(run: DrainSegment, context: Context) -> Answer:
    return Answer(Outcome.VIOLATION, "too flat", remedy="tilt it")


@rule(title="Overloaded", subject=DrainSegment, clauses=BOTH, of_load=True)
def overloaded(run: DrainSegment, context: Context) -> Answer:
    return Answer(Outcome.VIOLATION, "too full", remedy="widen it")


@rule(title="Wrong with what it joins", subject=DrainSegment, clauses=BOTH)
def wrong_together(run: DrainSegment, context: Context) -> Answer:
    return Answer(Outcome.VIOLATION, "too near", elements=(*run.element_ids, "T1"))


@rule(title="Dangerous", subject=DrainSegment, clauses=BOTH, severity=Severity.HIGH)
def dangerous(run: DrainSegment, context: Context) -> Answer:
    return Answer(Outcome.VIOLATION, "a danger", remedy="mend it")


@pytest.mark.parametrize(
    ("judged", "outcome"),
    [
        (always_wrong, Outcome.ADVISORY), (overloaded, Outcome.VIOLATION),
        (wrong_together, Outcome.VIOLATION), (dangerous, Outcome.VIOLATION),
    ],
)  # fmt: skip
def test_existing_work_may_stay_but_for_the_load_put_on_it(judged: Rule, outcome: Outcome) -> None:
    drawn = NETWORK.replace("pipe 3 P3", "pipe 3 P3 status=existing")
    context = context_of(drawn, "upc-2021", Job())
    said = judge([_pack(judged)], context).findings
    by_pipe = {f.element_ids[0]: f for f in said}
    assert by_pipe["P3"].outcome is outcome
    assert ("existing" in by_pipe["P3"].message) is (outcome is Outcome.ADVISORY)
    assert by_pipe["P1"].outcome is Outcome.VIOLATION


def test_a_model_of_existing_work_alone_is_judged_whole() -> None:
    drawn = NETWORK
    for name in ("P1", "P2", "P3"):
        drawn = drawn.replace(f" {name}  ", f" {name} status=existing  ")
    said = judge([_pack(always_wrong)], context_of(drawn, "upc-2021", Job())).findings
    assert said
    assert {f.outcome for f in said} == {Outcome.VIOLATION}


def test_two_rules_of_one_name_are_named() -> None:
    with pytest.raises(ValueError, match="the same name, breaks"):
        _pack(breaks, always_passes, breaks)
