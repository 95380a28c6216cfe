"""The words of the verdict: one or several, and from how many on."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest

from ifclint.findings import Acceptance, Coverage, Failure, Outcome, Verdict
from ifclint.ifc.elements import Model, Note
from ifclint.packs import Packs, load_packs, make_pack
from ifclint.plumbing import build
from ifclint.testing import read_network
from ifclint.verdict import first_to_mend, of_a_part, verdict_of, without_water
from tests.report import samples

PIPES = "lavatory L 0 0 0\npipe 2 P 0 0 0 > 9 0 -0.2\nsewer-connection S 9 0 -0.2"
NOTHING = "thing T 0 0 0"


def said(corrected: int = 0, open_: int = 0, answered: int = 0, network: str = PIPES):
    coverage = Coverage("p", "r", "R", "1", open_ + answered, answered, unverified=open_)
    return verdict_of(build(read_network(network)), Packs([]), [], [coverage], corrected, ())


@pytest.mark.parametrize(
    ("corrected", "words"),
    [(1, "1 correction is required."), (2, "2 corrections are required.")],
)
def test_corrections_are_counted(corrected: int, words: str) -> None:
    assert said(corrected) == (Verdict.CORRECTIONS_REQUIRED, words)


@pytest.mark.parametrize(
    ("open_", "answered", "words"),
    [
        (1, 0, "1 question could not be answered and none could."),
        (2, 0, "2 questions could not be answered and none could."),
        (3, 2, "3 questions could not be answered and only 2 could."),
        (2, 1, "2 questions could not be answered and only 1 could."),
    ],
)
def test_more_questions_open_than_answered_are_no_review(
    open_: int, answered: int, words: str
) -> None:
    assert said(0, open_, answered) == (Verdict.NOT_REVIEWABLE, words)


def test_as_many_answered_as_open_are_enough() -> None:
    _, words = said(0, 2, 2)
    assert "could not be answered" not in words


def test_nothing_of_the_plumbing_is_no_review() -> None:
    verdict, words = said(3, network=NOTHING)
    assert verdict is Verdict.NOT_REVIEWABLE
    assert words == "The model holds no plumbing that could be read."


def test_what_only_a_pack_of_somebody_else_judges_is_reviewed() -> None:
    plumbing = build(read_network(NOTHING))
    packs = Packs([make_pack("medgas", SimpleNamespace())])
    found = [replace(samples.full().findings[0], pack="medgas", outcome=Outcome.VIOLATION)]
    coverage = [Coverage("medgas", "r", "R", "1", 1, violations=1)]
    verdict, words = verdict_of(plumbing, packs, found, coverage, 1, ())
    assert (verdict, words) == (Verdict.CORRECTIONS_REQUIRED, "1 correction is required.")
    ours = verdict_of(plumbing, Packs([]), found, coverage, 1, ())
    assert ours[0] is Verdict.NOT_REVIEWABLE


def test_nothing_asked_is_no_review() -> None:
    verdict, words = said()
    assert verdict is Verdict.NOT_REVIEWABLE
    assert words.startswith("The model holds no plumbing that any rule judges")


@pytest.mark.parametrize(
    ("more", "begins"),
    [
        ("", "The model holds no fixtures or appliances, without which nothing of its piping "
             "(cold water) is judged: review it together with the file"),
        ("furnace F 9 0 0", "The model holds no plumbing that any rule judges"),
    ],
)  # fmt: skip
def test_piping_alone_asks_for_the_file_with_the_fixtures(more: str, begins: str) -> None:
    piping = "water-meter 0.75 M  in -1 0 0 > out 0 0 0\npipe 0.75 P  0 0 0 > 9 0 0"
    verdict, words = said(network=f"system=cold_water\n{piping}\n{more}")
    assert verdict is Verdict.NOT_REVIEWABLE
    assert words.startswith(begins)


@pytest.mark.parametrize(
    ("accepted", "left", "words"),
    [
        (1, 0, "Nothing to correct beyond 1 accepted by variance."),
        (2, 1, "Nothing to correct beyond 2 accepted by variance, but 1 question was left open."),
        (0, 2, "Nothing to correct, but 2 questions were left open."),
    ],
)
def test_a_pass_says_what_was_accepted_and_left_open(accepted: int, left: int, words: str) -> None:
    pattern = samples.full().findings[0]
    wrong = replace(
        pattern, outcome=Outcome.VIOLATION, variance=Acceptance("seen", "the inspector", "")
    )
    question = replace(pattern, outcome=Outcome.UNVERIFIED, variance=None)
    coverage = Coverage("p", "r", "R", "1", 9, 6, unverified=3)
    found = [*[wrong] * accepted, *[question] * left]
    some = Packs([], not_asked=1)
    verdict = verdict_of(build(read_network(PIPES)), some, found, [coverage], 0, ())
    assert verdict == (Verdict.PASS, words)


@pytest.mark.parametrize(("topic", "passes"), [("unit", False), ("damage", False), ("size", True)])
def test_what_is_doubtful_of_the_whole_file_forbids_a_pass(topic: str, passes: bool) -> None:
    plumbing = build(read_network(PIPES))
    plumbing.network.model.notes.append(Note("It is so.", "Mend it.", "", topic))
    coverage = Coverage("p", "r", "R", "1", 9, 9)
    verdict, words = verdict_of(plumbing, Packs([], not_asked=1), [], [coverage], 0, ())
    assert (verdict is Verdict.PASS) == passes
    assert passes or "the notes on reading say" in words


@pytest.mark.parametrize(
    ("failures", "words"),
    [
        ([Failure("acme", "ring", "it broke")], "acme ring failed"),
        ([Failure("acme", "", "it broke")] * 3, "acme and 2 more failed"),
    ],
)
def test_what_failed_forbids_a_pass_and_hides_no_correction(
    failures: list[Failure], words: str
) -> None:
    plumbing, coverage = build(read_network(PIPES)), Coverage("p", "r", "R", "1", 9, 9)
    some = Packs([], not_asked=1)
    verdict, said = verdict_of(plumbing, some, [], [coverage], 0, (), failures)
    assert verdict is Verdict.NOT_REVIEWABLE
    assert said == f"Nothing wrong was found, but {words} and judged nothing."
    verdict, _ = verdict_of(plumbing, some, [], [coverage], 1, (), failures)
    assert verdict is Verdict.CORRECTIONS_REQUIRED


@pytest.mark.parametrize("corrected", [0, 31])
def test_no_correction_stands_on_a_length_without_a_unit(corrected: int) -> None:
    plumbing = build(read_network(PIPES))
    notes, coverage = plumbing.network.model.notes, Coverage("p", "r", "R", "1", 9, 9)
    notes.append(Note("It names no unit.", "Export it with one.", "", "scale"))
    some = Packs([], not_asked=1)
    verdict, words = verdict_of(plumbing, some, [], [coverage], corrected, ())
    assert verdict is Verdict.NOT_REVIEWABLE
    assert "rests on a unit that is not known" in words
    assert first_to_mend(plumbing.network.model) == "It names no unit. Export it with one."
    notes.clear()
    verdict, _ = verdict_of(plumbing, some, [], [coverage], corrected, ())
    assert verdict is (Verdict.CORRECTIONS_REQUIRED if corrected else Verdict.PASS)


def test_a_file_that_lies_apart_is_told_of_first() -> None:
    model = Model(notes=[Note("b.ifc lies far off.", "Move it.", topic="apart"), Note("A.", "B.")])
    assert first_to_mend(model) == "b.ifc lies far off. Move it."
    assert first_to_mend(Model()) == ""


@pytest.mark.parametrize(
    ("not_asked", "words"),
    [(0, ""), (314, "Only 0 of 314 rules were asked: this review is of a part.")],
)
def test_a_part_of_the_rules_is_told_beside_the_verdict(not_asked: int, words: str) -> None:
    assert of_a_part(Packs([], not_asked=not_asked)) == words


@pytest.mark.parametrize(
    ("more", "packs", "is_said"),
    [
        ("", ["supply"], True),
        ("", ["drainage"], False),
        ("system=cold_water\npipe 0.5 W 5 0 1 > 5 0 2", ["supply"], False),
    ],
)
def test_water_that_no_file_draws_is_told_as_not_judged(
    more: str, packs: list[str], is_said: bool
) -> None:
    plumbing = build(read_network(f"{PIPES}\n{more}"))
    loaded = Packs([pack for pack in load_packs().loaded if pack.name in packs])
    told = without_water(plumbing, loaded)
    assert told.startswith("No water piping is drawn: the water of a fixture was") is is_said
    assert is_said or not told


def test_what_takes_no_water_is_not_told() -> None:
    plumbing = build(read_network(PIPES.replace("lavatory", "floor-drain")))
    assert without_water(plumbing, load_packs()) == ""
