"""The gate: which corrections and open questions stop a revision."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from ifclint.comparison import Comparison, compare
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
    review: Review,
    fail_on: str = "any",
    strict: bool = False,
    baseline: Path | None = None,
    not_asked: int = 0,
) -> Review:
    """The review with the gate's result.

    With a baseline, a correction is new where the comparison says so (`comparison`), or cannot tell
    it from an earlier one. A model that is not reviewable never passes. What
    makes the result weaker than it sounds is said with it: rules that were not asked, and what
    makes the two reviews differ beside the model.
    """
    compared = _compared(review, baseline)  # whatever stops it: both must be of one building
    if not fail_on.startswith("new"):
        compared = None
    counts = _counting(fail_on, compared)
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
        named = f" ({_named(stopping)})" if compared else ""
        reasons.append(_counted(len(stopping), f"{kind}correction") + named)
    if questions:
        reasons.append(_counted(len(questions), "open question") + " of high severity")
    said = " and ".join(reasons) or "nothing that it stops at"
    if not_asked:
        said += f"; {not_asked} rules were not asked"
    said = " ".join((f"{said}.", *(compared.notes if compared else ())))
    gate = Gate(fail_on, strict, baseline.name if baseline else "", not reasons, said)
    return replace(review, gate=gate)


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}{'' if count == 1 else 's'}"


def _compared(review: Review, baseline: Path | None) -> Comparison | None:
    if baseline is None:
        return None
    return compare(read(baseline), reviewed(Path("this review"), to_dict(review)))


def _counting(fail_on: str, compared: Comparison | None) -> Callable[[Correction], bool]:
    new = {change.new_id for change in compared.corrections if change.new_id} if compared else None

    def counts(correction: Correction) -> bool:
        grave = correction.severity is Severity.HIGH or not fail_on.endswith("high")
        return grave and (new is None or correction.id in new)

    return counts


def _named(corrections: Sequence[Correction]) -> str:
    """The first by its title, and how many more."""
    more = f"; and {len(corrections) - 1} more" if len(corrections) > 1 else ""
    return corrections[0].title.rstrip(".") + more
