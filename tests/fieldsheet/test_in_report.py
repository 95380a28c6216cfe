"""The field sheet as a part of the report's page."""

from __future__ import annotations

from pathlib import Path

import pytest

import ifclint.fieldsheet
from ifclint.fieldsheet import crew_section, field_sheet
from ifclint.findings import Review
from ifclint.packs import Context
from ifclint.report.html import render
from ifclint.review import review_with_context
from tests.report.page import Page
from tests.reviewing import reviewed_demo

MODEL = Path(__file__).parents[2] / "models/dwelling_early.ifc"


@pytest.fixture(scope="module")
def early() -> tuple[Review, Context]:
    return reviewed_demo("dwelling_early")


def test_the_page_holds_what_the_sheet_holds(early: tuple[Review, Context]) -> None:
    review, section = crew_section(*early)
    assert review is early[0]
    (crew,) = Page(render(review, section)).root.all("section", id="crew")
    text, sheet = " ".join(crew.text.split()), field_sheet(*early)
    assert all(caution in text for caution in sheet.cautions)
    assert all(" ".join(look.text.split()) in text for look in sheet.looks)
    assert len(crew.all("tr")) > len(sheet.looks) + len(sheet.takeoff)
    assert {h.tag for h in crew.all() if h.tag in ("h1", "h2", "h3", "h4")} == {"h2", "h3", "h4"}


def test_it_adds_less_than_a_tenth_to_the_page(early: tuple[Review, Context]) -> None:
    review, section = crew_section(*early)
    assert len(render(review, section)) < 1.1 * len(render(review))


def test_a_sheet_that_cannot_be_made_is_a_failure_and_the_page_stands(
    early: tuple[Review, Context], monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object) -> None:
        raise ZeroDivisionError("no water")

    monkeypatch.setattr(ifclint.fieldsheet, "field_sheet", fails)
    review, section = crew_section(*early)
    assert section == ""
    assert "no water" in review.failures[-1].reason
    assert not Page(render(review, section)).root.all("section", id="crew")


def test_a_model_without_plumbing_has_nothing_for_the_crew() -> None:
    model = MODEL.with_name("restaurant_architecture.ifc")
    reviewed = review_with_context([model], code="upc-2021")
    assert crew_section(*reviewed) == (reviewed[0], "")
