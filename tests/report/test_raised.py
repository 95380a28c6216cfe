"""What a change raises is said wherever its correction stands."""

from __future__ import annotations

from dataclasses import replace

import pytest

from ifclint.findings import Review, ReviewedAgain
from ifclint.report import text
from ifclint.report.arrange import raised
from ifclint.report.exchange.letter import letter_bytes
from ifclint.report.exchange.sources import SourceLines
from ifclint.report.html import render
from tests.report import samples

NEW = ("Air gap: The drain ends in the sink.", "Drain too steep: It falls 1 in.")


@pytest.fixture
def review() -> Review:
    full = samples.full()
    first, *rest = full.corrections
    proof = ReviewedAgain(first.finding_ids, NEW)
    return replace(full, corrections=(replace(first, reviewed_again=proof), *rest))


def test_it_is_told_in_words_and_only_where_there_is_any(review: Review) -> None:
    said = "With it, something new is wrong: Air gap: The drain ends in the sink. And 1 more."
    assert raised(review.corrections[0]) == said
    assert all(raised(c) == "" for c in samples.full().corrections)


def test_list_field_sheet_letter_and_summary_tell_it(review: Review) -> None:
    said = raised(review.corrections[0])
    page = render(review)
    assert page.count(said) == 2  # in the list, and on the sheet of its storey
    assert 'class="again raises"' in page
    for told in (
        letter_bytes(review, SourceLines(())).decode(),
        "\n".join(text.blocks(review, 80, ())["corrections"]),
    ):
        assert said in " ".join(told.split())
    assert "something new" not in render(samples.full())
