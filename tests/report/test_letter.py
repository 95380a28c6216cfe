"""The letter: what a reviewer pastes into an e-mail; every correction, in lines that mail keeps."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from ifclint.findings import Outcome, Review
from ifclint.report.exchange.letter import NO_ROOM, WIDTH, letter_bytes
from ifclint.report.exchange.sources import SourceLines
from tests.report import samples
from tests.reviewing import reviewed_demo

MODEL = Path(__file__).parents[2] / "models/dwelling_early.ifc"


def letter(done: Review) -> str:
    return letter_bytes(done, SourceLines(())).decode()


@pytest.fixture(scope="module")
def demo() -> Review:
    return reviewed_demo("dwelling_early")[0]


@pytest.mark.parametrize("sample", [samples.empty, samples.passing, samples.full, samples.hostile])
def test_lines_keep_to_the_width_and_hold_no_control_character(
    sample: Callable[[], Review],
) -> None:
    text = letter(sample())
    assert max(map(len, text.splitlines())) <= WIDTH
    assert all(c.isprintable() or c == "\n" for c in text)


def test_the_heading_tells_model_date_and_code(demo: Review) -> None:
    head = letter(demo).partition("CORRECTIONS")[0]
    assert "dwelling_early.ifc" in head
    assert "of 2025-01-01" in head
    assert demo.models[0].sha256[:16] in head
    assert "Uniform Plumbing Code, 2021 edition" in head
    dateless = replace(demo, models=(replace(demo.models[0], date=""),))
    assert "without a date" in letter(dateless)


def test_every_correction_stands_once_with_its_number_and_clause(demo: Review) -> None:
    text = letter(demo).partition("OPEN QUESTIONS")[0]
    numbers = [int(n) for n in re.findall(r"^ {0,3}(\d+)\. ", text, re.M)]
    assert sorted(numbers) == list(range(1, len(demo.corrections) + 1))
    flat = " ".join(text.split())
    violations = {f.id: f for f in demo.findings if f.outcome is Outcome.VIOLATION}
    for correction in demo.corrections:
        assert correction.title in flat
        assert f"({violations[correction.finding_ids[0]].clause})" in flat


def test_corrections_are_grouped_by_storey_and_room_the_lowest_first(demo: Review) -> None:
    text = letter(demo)
    order = ["LEVEL 1", "Kitchen:", "Powder room:", "LEVEL 2", "Bath 2:", "Laundry:"]
    assert [text.index(f"\n{name}\n") for name in order] == sorted(
        text.index(f"\n{name}\n") for name in order
    )
    bath = text.partition("Bath 2:")[2].partition("Bath 3:")[0]
    assert 'Make "P-trap 1 in, L-3" and 1 more piece 1-1/4 in, from Lavatory L-3' in bath
    assert text.count(f"{NO_ROOM}:") == 2


def test_questions_stand_under_their_remedy_and_are_none_of_the_corrections(demo: Review) -> None:
    text = letter(demo)
    asked = text.partition("OPEN QUESTIONS")[2].partition("CAUTIONS")[0]
    flat = " ".join(asked.split())
    for finding in demo.findings:
        if finding.outcome is Outcome.UNVERIFIED:
            assert finding.remedy in flat
    assert "the trap arm of Lavatory L-3 (Bath 2), Bath 2, Level 2" in flat
    assert demo.cautions[0][:40] in text.partition("CAUTIONS")[2]


def test_what_is_left_to_the_report_is_counted() -> None:
    text = letter(samples.full())
    assert "holds 1 advisory" in text
    assert "This review is incomplete" in text


def test_a_letter_of_nothing_to_correct_says_so() -> None:
    text = letter(samples.passing())
    assert "Nothing to correct was found." in text
    assert "CORRECTIONS" not in text


@pytest.mark.parametrize(("kind", "told"), [("from memory", True), ("read in a source", False)])
def test_a_limit_from_memory_is_told_as_such(demo: Review, kind: str, told: bool) -> None:
    findings = tuple(replace(f, source_kind=kind) for f in demo.findings)
    flat = " ".join(letter(replace(demo, findings=findings)).split())
    assert ("the limit is from memory" in flat) is told
