"""The review as findings.json: what other programs rely on, described by findings.schema.json.

Same review, same bytes: findings and coverage are sorted, numbers rounded, and nothing in the
document tells when it was written.
"""

import hashlib
import json
import math
from functools import lru_cache
from math import isfinite
from pathlib import Path
from typing import Any

from pydantic_core import to_json

from ifclint import findings
from ifclint.engineering.arithmetic import kind_of
from ifclint.ifc.elements import Location
from ifclint.report.in_file import in_file

SCHEMA_VERSION = "1"
SCHEMA_PATH = Path(__file__).with_name("findings.schema.json")
SIGNIFICANT_DIGITS = 6
COORDINATE_DECIMALS = 4  # a tenth of a millimetre, also where a model lies far from its origin
PLACE_M = 0.1  # places are rounded to this; whoever compares searches around them


def write_json(review: findings.Review, path: Path) -> None:
    """Write findings.json as UTF-8, two spaces of indent, one newline at the end."""
    path.write_bytes(json_bytes(review))


def json_bytes(review: findings.Review) -> bytes:
    """The document as bytes. Half a surrogate pair in a model's name is written as its escape."""
    document = to_dict(review)
    try:
        return to_json(document, indent=2) + b"\n"  # many times faster than json with an indent
    except ValueError:
        text = json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False)
        return (text + "\n").encode("utf-8", "backslashreplace")


def to_dict(review: findings.Review) -> dict[str, Any]:
    """The document as plain dicts, lists, strings and numbers, in the order it is written."""
    review = in_file(review)
    code = review.adopted_code
    known = {element.guid: element for element in review.elements}
    return {
        "schema_version": SCHEMA_VERSION,
        "generator": review.generator,
        "models": [_fields(model) for model in review.models],
        "adopted_code": _fields(code),
        "job": jsonable(review.job),
        "verdict": review.verdict.value,
        "reason": review.reason,
        "gate": review.gate and _fields(review.gate),
        "corrections": [_correction(c) for c in review.corrections],
        "findings": [
            _finding(f, known.get(f.element_ids[0]) if f.element_ids else None)
            for f in sorted(review.findings, key=_finding_order)
        ],
        "elements": [_element(element) for element in review.elements],
        "judged": [_fields(line) for line in sorted(review.judged, key=_judged_order)],
        "set_aside": [_fields(service) for service in review.set_aside],
        "coverage": sorted(map(_fields, review.coverage), key=lambda c: (c["pack"], c["rule"])),
        "failures": sorted(map(_fields, review.failures), key=lambda f: (f["pack"], f["rule"])),
        "network": _network(review.network),
        "schedules": {schedule.key: _schedule(schedule) for schedule in review.schedules},
        "variances": [_variance(use) for use in review.variances],
        "amendments": list(review.amendments),
        "assumptions": list(review.assumptions),
        "cautions": list(review.cautions),
    }


def _judged_order(line: findings.Judged) -> tuple[str, str]:
    return line.pack, line.question


def _finding_order(finding: findings.Finding) -> tuple[str, str, str]:
    return finding.pack, finding.rule, finding.id


def _finding(finding: findings.Finding, element: findings.ReviewedElement | None) -> dict[str, Any]:
    return {
        "id": finding.id,
        "pack": finding.pack,
        "rule": finding.rule,
        "outcome": finding.outcome.value,
        "severity": finding.severity.value,
        "title": finding.title,
        "message": finding.message,
        "clause": finding.clause,
        "subject": finding.subject,
        "system": finding.system,
        "element_ids": list(finding.element_ids),
        "fingerprints": fingerprints(finding, element),
        "location": _location(finding.location),
        "measured": _measure(finding.measured),
        "required": _measure(finding.required),
        "provenance": finding.provenance,
        "source_kind": finding.source_kind,
        "check": finding.check,
        "caution": finding.caution,
        "remedy": finding.remedy,
        "change": _change(finding.change),
        "steps": [_step(step) for step in finding.steps],
        "variance": _fields(finding.variance) if finding.variance else None,
    }


def _change(change: findings.Change | None) -> dict[str, Any] | None:
    if change is None:
        return None
    value = change.value if isinstance(change.value, str) else _number(change.value)
    return {"what": change.what, "element_ids": list(change.element_ids), "value": value}


def _element(element: findings.ReviewedElement) -> dict[str, Any]:
    return {
        "guid": element.guid,
        "class": element.ifc_class,
        "name": element.name,
        "type": element.type_name,
        "tag": element.tag,
        "location": _location(element.location),
    }


def _correction(correction: findings.Correction) -> dict[str, Any]:
    """A correction, in the order they are numbered in: what can hurt someone first."""
    again = correction.reviewed_again
    return {
        "id": correction.id,
        "title": correction.title,
        "severity": correction.severity.value,
        "subject": correction.subject,
        "system": correction.system,
        "location": _location(correction.location),
        "near": correction.near,
        "element_ids": list(correction.element_ids),
        "changes": [_change(change) for change in correction.changes],
        "finding_ids": list(correction.finding_ids),
        "reviewed_again": again and {
            "clears": list(again.clears),
            "raises": list(again.raises),
            "together": again.together,
            "note": again.note,
        },
    }  # fmt: skip


def _variance(use: findings.VarianceUse) -> dict[str, Any]:
    return {
        "number": use.number,
        "about": use.about,
        "status": use.status,
        "findings": list(use.findings),
        **_fields(use.acceptance),
    }


def _location(place: Location) -> dict[str, Any]:
    return {
        "storey": place.storey,
        "space": place.space,
        "x": _coordinate(place.x),
        "y": _coordinate(place.y),
        "z": _coordinate(place.z),
    }


def _measure(measure: findings.Measure | None) -> dict[str, Any] | None:
    if measure is None:
        return None
    return {"value": _number(measure.value), "unit": measure.unit, "bound": measure.bound}


def _step(step: findings.Step) -> dict[str, Any]:
    value = None if step.value is None else _number(step.value)
    return {
        "text": step.text, "value": value, "unit": step.unit, "source": step.source,
        "source_kind": kind_of(step.source),
    }  # fmt: skip


def _network(network: findings.NetworkSummary) -> dict[str, Any]:
    facts = {
        fact: dict(sorted(bases.items())) for fact, bases in sorted(network.known_from.items())
    }
    return _fields(network) | {"counts": [_fields(c) for c in network.counts], "known_from": facts}


def _schedule(schedule: findings.Schedule) -> dict[str, Any]:
    return {
        "title": schedule.title,
        "note": schedule.note,
        "columns": [_fields(column) for column in schedule.columns],
        "rows": [jsonable(row) for row in schedule.rows],
    }


def _fields(record: Any) -> dict[str, Any]:
    """A flat slotted dataclass as a dict, in the order its fields are declared."""
    return {name: jsonable(getattr(record, name)) for name in record.__dataclass_fields__}


def jsonable(value: object) -> Any:
    """Whatever a job file or a schedule holds as JSON: dates and other objects as their text."""
    if type(value) is str or value is None:  # most of what a schedule holds
        return value
    if isinstance(value, float):
        return _number(value)
    if isinstance(value, dict):
        return {str(key): jsonable(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [jsonable(item) for item in value]
    return value if isinstance(value, int) else str(value)


@lru_cache(maxsize=65_536)  # what schedules hold is much the same from row to row
def _number(value: float) -> float | None:
    """Six significant digits; a value that is no number is null, never NaN."""
    value = float(value)
    return float(f"{value:.{SIGNIFICANT_DIGITS}g}") + 0.0 if math.isfinite(value) else None


def _coordinate(metres: float | None) -> float | None:
    if metres is None or not math.isfinite(metres):
        return None
    return round(float(metres), COORDINATE_DECIMALS) + 0.0


def fingerprints(
    finding: findings.Finding, element: findings.ReviewedElement | None
) -> dict[str, str]:
    """What a finding can be known by in another revision of its model, whose GlobalIds a program
    may have issued anew: the "guid" of its first element, that one's "tag", and its "place". Each
    is of the rule too: sixteen hexadecimal digits, or empty where the model does not show it."""
    place = finding.location if element is None else element.location
    at = [place.x, place.y, place.z]
    rounded = [f"{round(c / PLACE_M)}" for c in at if c is not None and isfinite(c)]
    kind = element.ifc_class if element else ""
    return {
        "guid": _hash(finding.rule, *finding.element_ids[:1]) if finding.element_ids else "",
        "tag": _hash(finding.rule, kind, element.tag) if element and element.tag else "",
        "place": _hash(finding.rule, kind, *rounded) if len(rounded) == 3 else "",
    }


def _hash(*parts: str) -> str:
    return hashlib.sha256("|".join(parts).encode("utf-8", "replace")).hexdigest()[:16]
