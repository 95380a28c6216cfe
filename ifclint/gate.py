"""The gate: which corrections and open questions stop a revision."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from ifclint.comparison import State, compare
from ifclint.comparison.reading import read, reviewed
from ifclint.errors import InputError
from ifclint.findings import Correction, Gate, Outcome, Review, Severity, Verdict
from ifclint.report.as_json import to_dict

FAIL_ON = ("any", "high", "new", "new-high")


def check_gate(fail_on: str, baseline: Path | None) -> None:
    """Refuse what cannot be decided, before long work. Raises InputError."""
    if fail_on not in FAIL_ON:
        raise InputError(f'--fail-on "{fail_on}" is not known; write {", ".join(FAIL_ON)}.')
    if fail_on.startswith("new") and baseline is None:
        raise InputError(f"--fail-on {fail_on} needs an earlier review: --baseline OLD.json.")
    if baseline is not None:
        read(baseline)


def gated(
    review: Review, fail_on: str = "any", strict: bool = False, baseline: Path | None = None
) -> Review:
    """The review with the gate's result.

    With a baseline, a correction is new where it answers a finding that the earlier review does not
    have; what cannot be told apart counts as new. A model that is not reviewable never passes.
    """
    counts = _counting(review, fail_on, baseline)
    stopping = [correction for correction in review.corrections if counts(correction)]
    questions = [
        finding
        for finding in review.findings
        if strict
        and finding.outcome is Outcome.UNVERIFIED
        and finding.severity is Severity.HIGH
        and finding.variance is None
    ]
    reasons = []
    if review.verdict is Verdict.NOT_REVIEWABLE:
        reasons.append("the model is not reviewable")
    if stopping:
        kind = {"any": "", "high": "high-severity "}.get(fail_on, f"{fail_on.replace('-', ', ')} ")
        reasons.append(_counted(len(stopping), f"{kind}correction"))
    if questions:
        reasons.append(_counted(len(questions), "open question") + " of high severity")
    said = " and ".join(reasons) or "nothing that it stops at"
    gate = Gate(fail_on, strict, baseline.name if baseline else "", not reasons, f"{said}.")
    return replace(review, gate=gate)


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}{'' if count == 1 else 's'}"


def _counting(review: Review, fail_on: str, baseline: Path | None) -> Callable[[Correction], bool]:
    known: set[str] = set()
    if fail_on.startswith("new") and baseline is not None:
        made = compare(read(baseline), reviewed(Path("this review"), to_dict(review)))
        known = {c.new_id for c in made.findings if c.state in (State.OPEN, State.MOVED)}

    def counts(correction: Correction) -> bool:
        grave = correction.severity is Severity.HIGH or not fail_on.endswith("high")
        return grave and not set(correction.finding_ids) <= known

    return counts
