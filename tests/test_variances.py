"""Amendments and variances of the job file, from the file to the report."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from ifclint.errors import InputError
from ifclint.findings import Outcome, Review, Verdict
from ifclint.report.as_json import to_dict
from ifclint.report.html import render
from ifclint.report.text import summary
from ifclint.review import review
from tests.reviewing import without_corrections

EARLY = Path(__file__).parent.parent / "models" / "dwelling_early.ifc"
TODAY = date(2026, 6, 1)


def _review(
    tmp_path: Path,
    text: str,
    code: str = "upc-2021",
    made: Callable[..., Review] = without_corrections,
) -> Review:
    job = tmp_path / "job.toml"
    job.write_text(text, encoding="utf-8")
    return made([EARLY], job, code, today=TODAY)


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Review:
    return _review(tmp_path_factory.mktemp("plain"), "")


def _violations(done: Review) -> set[str]:
    return {f.id for f in done.findings if f.outcome is Outcome.VIOLATION and f.variance is None}


def _variance(name: str, more: str = "") -> str:
    return f'[[variances]]\n{name}\nreason = "seen on site"\naccepted_by = "the inspector"\n{more}'


def test_an_accepted_finding_leaves_the_count_and_stays_visible(
    tmp_path: Path, plain: Review
) -> None:
    finding = next(f for f in plain.findings if f.rule == "drain-backfall")
    done = _review(tmp_path, _variance(f'finding = "{finding.id}"', "until = 2026-06-01"))
    assert _violations(done) == _violations(plain) - {finding.id}
    (kept,) = [f for f in done.findings if f.id == finding.id]
    assert kept.variance is not None
    assert kept.variance.accepted_by == "the inspector"
    assert done.variances[0].status == "applied"
    assert "Accepted by variance, not counted: 1" in summary(done)
    page = render(done)
    assert "seen on site" in page
    assert finding.subject.replace('"', "&#34;") in page
    written = next(f for f in to_dict(done)["findings"] if f["id"] == finding.id)
    assert written["variance"]["reason"] == "seen on site"


def test_a_variance_by_rule_and_element(tmp_path: Path, plain: Review) -> None:
    finding = next(f for f in plain.findings if f.rule == "drain-backfall")
    name = f'rule = "drain-backfall"\nelement = "{finding.element_ids[0]}"'
    done = _review(tmp_path, _variance(name))
    assert _violations(done) == _violations(plain) - {finding.id}


def test_an_expired_variance_comes_back(tmp_path: Path, plain: Review) -> None:
    finding = next(f for f in plain.findings if f.rule == "drain-backfall")
    done = _review(tmp_path, _variance(f'finding = "{finding.id}"', "until = 2026-05-31"))
    assert _violations(done) == _violations(plain)
    assert done.variances[0].status == "expired"
    assert "expired on 2026-05-31" in summary(done, width=200)


def test_a_variance_that_matches_nothing_is_reported(tmp_path: Path, plain: Review) -> None:
    done = _review(tmp_path, _variance('finding = "drain-slope-0000000000"'))
    assert _violations(done) == _violations(plain)
    assert done.variances[0].status == "matches nothing"
    assert "matches no finding" in summary(done, width=200)


def test_a_pass_beyond_accepted_violations_needs_that_all_was_judged(tmp_path: Path) -> None:
    """One trap arm of the early house has no size: how far its vent is cannot be told."""
    job = EARLY.with_suffix(".toml").read_text(encoding="utf-8")
    first = _review(tmp_path, job)
    accepted = "\n".join(_variance(f'finding = "{v}"') for v in sorted(_violations(first)))
    done = _review(tmp_path, f"{job}\n{accepted}", made=review)
    assert done.verdict is Verdict.NOT_REVIEWABLE
    assert "the vent of 1 of 15 fixtures (Lavatory L-3 (Bath 2))" in done.reason
    (left,) = [f.id for f in done.findings if f.rule == "trap-arm-length" and not f.variance]
    found = f'finding = "{left}"'
    done = _review(tmp_path, f"{job}\n{accepted}\n{_variance(found)}", made=review)
    assert done.verdict is Verdict.PASS
    assert "accepted by variance" in done.reason


AMENDMENT = """
[[amendments]]
table = "minimum_slope"
row = { applies_to = "drainage", size_from_in = 1.25, size_to_in = 12 }
column = "min_in_per_ft"
value = 0.125
reason = "Ordinance 12-4 of the city"
"""


def test_an_amendment_changes_the_answer_and_is_shown(tmp_path: Path, plain: Review) -> None:
    done = _review(tmp_path, AMENDMENT)
    slopes = {f.id for f in plain.findings if f.rule == "drain-slope" and f.clause}
    assert {f.rule for f in plain.findings if f.id in slopes}
    assert not [
        f for f in done.findings if f.rule == "drain-slope" and f.outcome is Outcome.VIOLATION
    ]
    assert "Ordinance 12-4 of the city" in " ".join(done.amendments)
    assert "Ordinance 12-4 of the city" in render(done)


def test_a_stricter_amendment_is_cited_by_the_findings_that_rest_on_it(tmp_path: Path) -> None:
    done = _review(tmp_path, AMENDMENT.replace("0.125", "0.5"))
    steep = [f for f in done.findings if f.rule == "drain-slope" and f.required]
    assert steep
    assert all("Ordinance 12-4" in f.clause for f in steep)
    assert all(f.required.value == 0.5 for f in steep)


def test_what_an_amendment_leaves_out_is_asked_for_once_by_each_rule(tmp_path: Path) -> None:
    done = _review(tmp_path, AMENDMENT.replace("value = 0.125\n", ""))
    assert not done.failures
    asked = [f for f in done.findings if "it leaves out min_in_per_ft" in f.message]
    assert [f.rule for f in asked] == ["drain-capacity", "drain-slope"]
    assert {f.outcome for f in asked} == {Outcome.UNVERIFIED}
    assert len(asked[1].element_ids) > 1


def test_a_jurisdiction_file_holds_for_its_job_files(tmp_path: Path) -> None:
    (tmp_path / "city.toml").write_text(
        'adopted_code = "upc-2021"\n[drainage]\neighth_inch_slope_approved = true\n' + AMENDMENT,
        encoding="utf-8",
    )
    job = tmp_path / "job.toml"
    job.write_text('jurisdiction = "city.toml"\nname = "Lot 7"\n', encoding="utf-8")
    done = without_corrections([EARLY], job)
    assert done.adopted_code.id == "upc-2021"
    assert done.amendments
    assert done.job["drainage"] == {"eighth_inch_slope_approved": True}


@pytest.mark.parametrize("of_city", [True, False])
def test_a_wrong_amendment_is_told_of_the_file_it_stands_in(tmp_path: Path, of_city: bool) -> None:
    wrong = AMENDMENT.replace("size_from_in = 1.25", "size_from_in = 7")
    city, job = tmp_path / "city.toml", tmp_path / "job.toml"
    city.write_text(AMENDMENT + (wrong if of_city else ""), encoding="utf-8")
    named = 'adopted_code = "upc-2021"\njurisdiction = "city.toml"\n'
    job.write_text(named + ("" if of_city else wrong), encoding="utf-8")
    with pytest.raises(InputError) as error:
        without_corrections([EARLY], job)
    place = f"Job file {city}, amendments.2: " if of_city else "Job file, amendments.1: "
    assert str(error.value).startswith(place)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (AMENDMENT.replace('"minimum_slope"', '"minimum_slopes"'), "minimum_slope"),
        (AMENDMENT.replace("min_in_per_ft", "min_in_per_foot"), "min_in_per_ft"),
        (AMENDMENT.replace("size_from_in = 1.25", "size_from_in = 7"), "no such row"),
        (AMENDMENT.replace("value = 0.125", 'value = "flat"'), "holds a number"),
        (AMENDMENT.replace('reason = "Ordinance 12-4 of the city"', ""), "amendments.1.reason"),
        (_variance('rule = "drain-slope"'), "rule and element"),
        (
            _variance('finding = "x"').replace('reason = "seen on site"\n', ""),
            "variances.1.reason",
        ),
        ('jurisdiction = "nowhere.toml"', "nowhere.toml does not exist"),
    ],
)
def test_what_is_wrong_is_refused_with_its_key(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(InputError) as refused:
        _review(tmp_path, text)
    assert said in str(refused.value)
    assert "\n" not in str(refused.value)
