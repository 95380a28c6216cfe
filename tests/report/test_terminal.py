"""The summary on a terminal: the plain words in tables, and nothing from a model obeyed."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import pytest

from ifclint.findings import Review
from ifclint.report import summary
from ifclint.report.terminal import printed, shown
from ifclint.report.text import CORRECTIONS_SHOWN
from tests.report import samples

COLOUR = re.compile(r"\x1b\[[\d;]*m")


@pytest.mark.parametrize("sample", [samples.empty, samples.passing, samples.full, samples.hostile])
@pytest.mark.parametrize("width", [60, 80, 132])
def test_lines_keep_to_the_terminal_and_only_our_colours_are_signs(
    sample: Callable[[], Review], width: int
) -> None:
    text = COLOUR.sub("", shown(sample(), width))
    assert all(c.isprintable() or c == "\n" for c in text)
    assert max(map(len, text.splitlines())) <= width


def test_every_correction_stands_with_its_number_and_room() -> None:
    review = samples.full()
    text = COLOUR.sub("", shown(review, 120))
    flat = " ".join(text.split())
    for number, made in enumerate(review.corrections, 1):
        assert re.search(rf"^ *{number} ", text, re.M)
        assert made.title.split(",")[0][:30] in flat
        assert (made.location.space or f"near {made.near}") in flat
    assert "Findings by pack" in text


def test_it_says_what_the_plain_summary_says() -> None:
    def words(text: str) -> set[str]:
        return set(re.findall(r"\w{3,}", text))

    review = samples.full()
    plain, terminal = summary(review, 100), COLOUR.sub("", shown(review, 100))
    assert words(plain) - words(terminal) <= {"violations"}


def test_corrections_beyond_a_screen_are_counted() -> None:
    text = COLOUR.sub("", shown(samples.many(150), 100))
    left = 50 - CORRECTIONS_SHOWN
    assert re.search(rf"^ *{left} +more, see the report", text, re.M)


@pytest.mark.parametrize("left", [0, 1, 2])
def test_what_is_left_of_corrections_is_counted_from_one(left: int) -> None:
    review = samples.many(150)
    shortened = replace(review, corrections=review.corrections[: CORRECTIONS_SHOWN + left])
    text = COLOUR.sub("", shown(shortened, 100))
    assert bool(re.search(rf"^ *{left} +more, see the report", text, re.M)) is (left > 0)


def test_tables_are_for_terminals_alone() -> None:
    review = samples.full()
    assert printed(review, "text") == summary(review) + "\n"
    assert "\x1b" not in printed(review, "text")
    assert printed(review, "text", (), 80) == shown(review, 80) + "\n"
    assert printed(review, "json", (), 80).startswith("{")
