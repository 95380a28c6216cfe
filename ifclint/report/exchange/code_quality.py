"""The JSON that code hosts read beside a merge request: one entry a finding, at a line."""

from __future__ import annotations

import json

from ifclint.findings import Outcome, Review, Severity
from ifclint.report.exchange.sources import SourceLines
from ifclint.report.exchange.wording import sentence

SEVERITIES = {Severity.HIGH: "critical", Severity.MEDIUM: "major", Severity.LOW: "minor"}


def code_quality_bytes(review: Review, sources: SourceLines) -> bytes:
    """Violations by their severity, advisories as information; no questions."""
    entries = []
    for finding in review.findings:
        if finding.variance is not None or finding.outcome is Outcome.UNVERIFIED:
            continue
        place = sources.of(finding.element_ids)
        violated = finding.outcome is Outcome.VIOLATION
        entries.append(
            {
                "description": sentence(finding),
                "check_name": finding.rule,
                "fingerprint": finding.id,
                "severity": SEVERITIES[finding.severity] if violated else "info",
                "location": {"path": place.file, "lines": {"begin": place.line}},
            }
        )
    return (json.dumps(entries, indent=2, ensure_ascii=True) + "\n").encode()
