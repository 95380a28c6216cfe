"""The gate: what stops a revision, apart from the verdict."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from ifclint.comparison import State, compare
from ifclint.comparison.reading import read
from ifclint.errors import InputError
from ifclint.findings import Finding, Outcome, Review, Severity, Verdict
from ifclint.gate import check_gate, gated
from ifclint.packs import load_packs
from ifclint.report import write_reports
from ifclint.report.exchange import FILES
from tests.command import run
from tests.reviewing import reviewed_demo

MODELS = Path(__file__).parents[1] / "models"


@pytest.fixture(scope="module")
def early() -> Review:
    return reviewed_demo("dwelling_early")[0]


@pytest.fixture(scope="module")
def baseline(early: Review, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("baseline")
    write_reports(early, out)
    return out / "findings.json"


def passed(done: Review) -> bool:
    assert done.gate is not None
    return done.gate.passed


def with_corrections(done: Review, severity: Severity | None) -> Review:
    """Only the corrections of one severity are left; none for None."""
    return replace(done, corrections=tuple(c for c in done.corrections if c.severity is severity))


def test_any_correction_stops_unless_told_otherwise(early: Review) -> None:
    assert not passed(gated(early))
    none = replace(with_corrections(early, None), verdict=Verdict.PASS)
    assert passed(gated(none))


@pytest.mark.parametrize(
    ("severity", "stops"), [(Severity.HIGH, True), (Severity.MEDIUM, False), (None, False)]
)
def test_high_stops_at_high_alone(early: Review, severity: Severity | None, stops: bool) -> None:
    assert passed(gated(with_corrections(early, severity), "high")) is not stops


def test_new_stops_at_what_the_baseline_does_not_have(early: Review, baseline: Path) -> None:
    assert passed(gated(early, "new", baseline=baseline))
    document = json.loads(baseline.read_text(encoding="utf-8"))
    gone = next(c for c in document["corrections"] if c["severity"] == "medium")
    document["findings"] = [f for f in document["findings"] if f["id"] not in gone["finding_ids"]]
    document["corrections"].remove(gone)
    older = baseline.with_name("older.json")
    older.write_text(json.dumps(document), encoding="utf-8")
    stopped = gated(early, "new", baseline=older)
    assert stopped.gate is not None
    assert stopped.gate.reason == f"1 new correction ({gone['title'].rstrip('.')})."
    assert passed(gated(early, "new-high", baseline=older))


def test_what_is_new_is_what_the_comparison_calls_new(early: Review, baseline: Path) -> None:
    """Also where one of several findings of a correction was not there."""
    document = json.loads(baseline.read_text(encoding="utf-8"))
    joint = next(c for c in document["corrections"] if len(c["finding_ids"]) > 1)
    document["findings"] = [f for f in document["findings"] if f["id"] != joint["finding_ids"][0]]
    older = baseline.with_name("one_less.json")
    older.write_text(json.dumps(document), encoding="utf-8")
    (new,) = (c for c in compare(read(older), read(baseline)).corrections if c.state is State.NEW)
    assert (new.title, new.why) == (
        joint["title"],
        f"1 of its {len(joint['finding_ids'])} findings",
    )
    gate = gated(early, "new", baseline=older).gate
    assert gate is not None
    assert not gate.passed
    assert new.title.rstrip(".") in gate.reason


def test_strict_stops_at_open_questions_of_high_severity(early: Review) -> None:
    def asking(severity: Severity) -> Review:
        question: Finding = replace(
            early.findings[0], outcome=Outcome.UNVERIFIED, severity=severity, variance=None
        )
        return replace(early, findings=(question,), corrections=(), verdict=Verdict.PASS)

    assert passed(gated(asking(Severity.HIGH)))
    assert not passed(gated(asking(Severity.HIGH), strict=True))
    assert passed(gated(asking(Severity.MEDIUM), strict=True))


def test_what_is_not_reviewable_never_passes(early: Review) -> None:
    refused = replace(early, verdict=Verdict.NOT_REVIEWABLE, corrections=(), findings=())
    assert not passed(gated(refused, "high"))


def test_bad_gates_are_refused_before_long_work(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is not known"):
        check_gate("worst", None)
    with pytest.raises(InputError, match="needs an earlier review"):
        check_gate("new", None)
    with pytest.raises(InputError, match="cannot be read"):
        check_gate("any", tmp_path / "none.json")


def test_a_part_of_the_rules_is_asked_and_said() -> None:
    packs = load_packs()
    every = sum(len(pack.rules) for pack in packs.loaded)
    gas = packs.only(["gas"])
    assert {r.name for p in gas.loaded for r in p.rules} == {
        r.name for p in packs.loaded if p.name == "gas" for r in p.rules
    }
    one = packs.only(rules=["gas-pipe-size"])
    assert [r.name for p in one.loaded for r in p.rules] == ["gas-pipe-size"]
    assert one.not_asked == every - 1
    but = packs.only(but=["gas-pipe-size"])
    assert but.not_asked == 1
    assert packs.only().not_asked == 0
    with pytest.raises(InputError, match='no rule "gas-pipe"'):
        packs.only(rules=["gas-pipe"])
    with pytest.raises(InputError, match='no pack "gass"'):
        packs.only(["gass"])


def test_the_command_gates_and_writes_what_is_asked(baseline: Path, tmp_path: Path) -> None:
    model = MODELS / "dwelling_early.ifc"
    job = ("--job", model.with_suffix(".toml"))
    gate = ("--fail-on", "new", "--baseline", baseline)
    formats = [f"--{name}" for name in (*FILES, "schedules")]
    done = run("review", model, *job, "--out", tmp_path, *gate, *formats, "--format", "json")
    assert done.returncode == 0, done.stderr
    printed = json.loads(done.stdout)
    assert printed["gate"]["passed"] is True
    assert printed["verdict"] == "corrections-required"
    assert all(
        (tmp_path / name).stat().st_size for name in (*FILES.values(), "schedule-drains.csv")
    )
    part = run("review", model, *job, "--out", tmp_path, "--packs", "gas")
    assert part.returncode == 1
    assert "rules were asked: this review is of a part." in " ".join(part.stdout.split())


def test_rules_that_were_not_asked_are_said(early: Review, baseline: Path) -> None:
    narrow = gated(with_corrections(early, None), "new", baseline=baseline, not_asked=7)
    assert narrow.gate is not None
    assert narrow.gate.reason == "nothing that it stops at; 7 rules were not asked."


def test_a_baseline_under_another_code_is_said(early: Review, baseline: Path) -> None:
    document = json.loads(baseline.read_text(encoding="utf-8"))
    document["adopted_code"]["id"] = "ipc-2021"
    other = baseline.with_name("other-code.json")
    other.write_text(json.dumps(document), encoding="utf-8")
    compared = gated(early, "new", baseline=other)
    assert compared.gate is not None
    assert "The adopted code was ipc-2021 and is upc-2021." in compared.gate.reason


@pytest.mark.parametrize("fail_on", ["any", "new"])
def test_a_baseline_of_another_building_is_refused(
    early: Review, tmp_path: Path, fail_on: str
) -> None:
    write_reports(reviewed_demo("restaurant_early")[0], tmp_path)
    with pytest.raises(InputError, match="give two reviews of one building"):
        gated(early, fail_on, baseline=tmp_path / "findings.json")
