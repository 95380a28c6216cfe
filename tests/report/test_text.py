"""The summary in a terminal: short, plain, and honest about what was not checked."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from ifclint.findings import Outcome, Review
from ifclint.report import summary
from tests.report import samples


def test_a_review_in_full() -> None:
    assert summary(samples.full(), 80, (Path("out/findings.json"),)) == (
        """\
quince_house.ifc, judged under 2021 Uniform Plumbing Code
CORRECTIONS REQUIRED
3 drains and 1 fitting do not meet the adopted code; 3 facts are missing.

Read: 131 elements, 140 joints, 4.29 % of them inferred with a tolerance of 5 mm
(2 across gaps of up to 12.7 mm); of the pipes, 92.3 % have a size and 99.2 %
are joined at every end; the report has 1 note on reading

THIS REVIEW IS INCOMPLETE: these failed and judged nothing
  venting dry-vent-rise: division by zero on one subject

    1  Lay the branch in 3 in from the closet bend to the stack. (Bath 2, Upper
       floor)
    2  Lower the sewer end by 5-3/8 in, or have 1/8 in/ft approved. (4 in
       building drain, kitchen wye to sewer; near Kitchen sink K-1, Crawl space)
    3  Lay it in 2 in from the sanitary tee down. (1-1/2 in drain from kitchen
       sink K-1; Kitchen, Ground floor)
    4  Use a wye or a combination wye and eighth bend. (Sanitary tee at the
       laundry branch; Laundry, Ground floor)

                  violations
                  high  medium  low  advisories  not checked
drainage-sizing      2       2    0           1            3

Could not be checked: 3. What would settle it:
    2  State NominalDiameter in Pset_PipeSegmentTypeCommon.
    1  Join it to a receptor, or model the receptor. (Condensate drain C-1)

Assumed, because neither the model nor the job file says:
  Flush volume of WC-2 is not stated: 1.6 gal or less taken.

1 of 6 rules saw no subject: sump-lift

Written: out/findings.json
"""
    )


def test_corrections_beyond_a_screen_are_counted() -> None:
    text = summary(samples.many(150))
    assert "   40  Lay it in 3 in." in text
    assert "   10  more, see the report" in text


@pytest.mark.parametrize("sample", [samples.empty, samples.passing, samples.full, samples.hostile])
def test_lines_keep_to_the_width_and_hold_no_control_character(
    sample: Callable[[], Review],
) -> None:
    text = summary(sample(), 72)
    text.encode("utf-8")
    table = "violations\n"
    assert max(map(len, text.partition(table)[0].splitlines())) <= 72
    assert all(c.isprintable() or c == "\n" for c in text)


def test_nothing_found_is_not_said_of_what_was_not_reviewed() -> None:
    text = summary(samples.empty())
    assert "NOT REVIEWABLE" in text
    assert "The model holds no pipe" in text


def test_a_remedy_is_told_with_the_key_at_its_end() -> None:
    review = samples.full()
    (first, *rest) = (f for f in review.findings if f.outcome is Outcome.UNVERIFIED)
    remedy = f"Give the pipe a size {'that is a trade size ' * 12}or write it (reading.words.size)."
    others = [f for f in review.findings if f.id != first.id]
    assert len(others) > len(rest)
    text = summary(replace(review, findings=(*others, replace(first, remedy=remedy))))
    assert remedy in " ".join(text.split())


def test_remedies_beyond_a_screen_are_counted() -> None:
    review = samples.many(30)
    findings = tuple(
        replace(f, outcome=Outcome.UNVERIFIED, remedy=f"Fix {n}.")
        for n, f in enumerate(review.findings)
    )
    text = summary(replace(review, findings=findings, corrections=()))
    assert "Could not be checked: 30" in text
    assert "22  for other reasons, see the report" in text
    assert len(text.splitlines()) < 32
