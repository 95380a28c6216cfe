"""Accepted variances: findings that somebody has accepted leave the count and stay visible."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from ifclint.findings import Acceptance, Finding, VarianceUse
from ifclint.job import Variance


def accept(
    findings: Sequence[Finding], variances: Sequence[Variance], today: date
) -> tuple[list[Finding], list[VarianceUse]]:
    """The findings with their acceptances, and what became of each variance.

    A variance holds up to and with its last day; after it the finding counts again.
    """
    accepted: dict[str, Acceptance] = {}
    uses = []
    matching = _index(findings)
    for number, variance in enumerate(variances, 1):
        acceptance = _acceptance(variance)
        ids = tuple(matching[_name(variance)])
        status = "applied" if ids else "matches nothing"
        if variance.until is not None and variance.until < today:
            status = "expired"
        elif ids:
            accepted.update(dict.fromkeys(ids, acceptance))
        uses.append(VarianceUse(number, " on ".join(_name(variance)), status, ids, acceptance))
    left = [replace(f, variance=accepted[f.id]) if f.id in accepted else f for f in findings]
    return left, uses


def _index(findings: Sequence[Finding]) -> dict[tuple[str, ...], list[str]]:
    """Every way a variance can name a finding: its id, or its rule and one of its elements."""
    index: dict[tuple[str, ...], list[str]] = defaultdict(list)
    for finding in findings:
        index[finding.id,].append(finding.id)
        for element in dict.fromkeys(finding.element_ids):
            index[finding.rule, element].append(finding.id)
    return index


def _name(variance: Variance) -> tuple[str, ...]:
    if variance.finding is not None:
        return (variance.finding,)
    return (variance.rule or "", variance.element or "")


def _acceptance(variance: Variance) -> Acceptance:
    until = variance.until.isoformat() if variance.until else ""
    return Acceptance(variance.reason, variance.accepted_by, until)
