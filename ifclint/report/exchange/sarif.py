"""What code hosts read of a review: SARIF 2.1.0 (OASIS), with violations and advisories as results
at the line of the model's text, and the JSON that is shown beside a merge request.

What could not be checked and what a variance accepts is left out: hosts show both as alerts.
"""

import json
from collections.abc import Mapping
from typing import Any

from ifclint.findings import Finding, Outcome, Review, ReviewedElement, Severity
from ifclint.report.arrange import plain
from ifclint.report.as_json import fingerprints
from ifclint.report.exchange.sources import SourceLines, uri_of
from ifclint.report.exchange.wording import in_full, not_done, sentence
from ifclint.report.in_file import in_file

SCHEMA = (
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
)
MOST_RESULTS = 5000  # hosts show no more
LEVELS = {Severity.HIGH: "error", Severity.MEDIUM: "warning", Severity.LOW: "note"}
SEVERITIES = {Severity.HIGH: "critical", Severity.MEDIUM: "major", Severity.LOW: "minor"}


def sarif_bytes(review: Review, sources: SourceLines) -> bytes:
    review = in_file(review)
    told = [
        f
        for f in review.findings
        if f.outcome in (Outcome.VIOLATION, Outcome.ADVISORY) and f.variance is None
    ]
    told.sort(key=lambda f: (f.outcome is not Outcome.VIOLATION, list(Severity).index(f.severity)))
    rules = {coverage.rule: coverage for coverage in review.coverage}
    known = {element.guid: element for element in review.elements}
    name, _, version = review.generator.partition(" ")
    document = {
        "$schema": SCHEMA,
        "version": "2.1.0",
        "runs": [
            {
                "tool": {
                    "driver": {
                        "name": name,
                        "version": version,
                        "rules": [
                            {
                                "id": rule.rule,
                                "shortDescription": {"text": plain(rule.title)},
                                "fullDescription": {"text": plain(f"{rule.title}. {rule.clause}")},
                                "properties": {"pack": rule.pack, "clause": rule.clause},
                            }
                            for rule in rules.values()
                        ],
                    }
                },
                "automationDetails": {"id": f"{review.adopted_code.id}/{_building(review)}/"},
                "invocations": [_invocation(review)],
                "artifacts": [{"location": {"uri": uri_of(file)}} for file in sources.files],
                "results": [_result(f, known, sources) for f in told[:MOST_RESULTS]],
                "properties": {"resultsLeftOut": max(0, len(told) - MOST_RESULTS)},
            }
        ],
    }
    return (json.dumps(document, indent=2, ensure_ascii=True) + "\n").encode()


def _building(review: Review) -> str:
    """What tells the building from others of one commit: its name in the job file, or its files."""
    names = str(review.job.get("name") or "") or " ".join(model.name for model in review.models)
    return plain(names).replace("/", " ")


def _invocation(review: Review) -> dict[str, Any]:
    """Whether the review was done as a whole, and what failed."""
    undone = not_done(review)
    return {
        "executionSuccessful": not undone,
        "toolExecutionNotifications": [
            {"level": "error", "message": {"text": said}} for said in undone
        ],
    }


def _result(
    finding: Finding, known: Mapping[str, ReviewedElement], sources: SourceLines
) -> dict[str, Any]:
    place = sources.of(finding.element_ids)
    prints = fingerprints(
        finding, known.get(finding.element_ids[0]) if finding.element_ids else None
    )
    level = LEVELS[finding.severity] if finding.outcome is Outcome.VIOLATION else "note"
    return {
        "ruleId": finding.rule,
        "level": level,
        "kind": "fail",
        "message": {"text": sentence(finding), "markdown": in_full(finding)},
        "locations": [
            {
                "physicalLocation": {
                    "artifactLocation": {"uri": uri_of(place.file)},
                    "region": {"startLine": place.line},
                },
                "logicalLocations": [
                    {"name": plain(finding.subject), "fullyQualifiedName": guid, "kind": "element"}
                    for guid in finding.element_ids[:1]
                ],
            }
        ],
        "partialFingerprints": {
            "primaryLocationLineHash": finding.id,
            **{f"{key}/v1": value for key, value in prints.items() if value},
        },
    }


def code_quality_bytes(review: Review, sources: SourceLines) -> bytes:
    """Violations by their severity, advisories as information; no questions. What kept the review
    from being done blocks."""
    first = sources.of(())
    entries = [
        {
            "description": said,
            "check_name": "review",
            "fingerprint": f"review-{number}",
            "severity": "blocker",
            "location": {"path": first.file, "lines": {"begin": first.line}},
        }
        for number, said in enumerate(not_done(review), start=1)
    ]
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
