"""findings.json follows its schema, byte for byte the same for the same review."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from ifclint.findings import Finding, Measure, Outcome, Review, Severity
from ifclint.ifc.elements import Location
from ifclint.report.as_json import (
    SCHEMA_PATH,
    SCHEMA_VERSION,
    _coordinate,
    _number,
    json_bytes,
    to_dict,
)
from tests.report import samples

SCHEMA = json.loads(SCHEMA_PATH.read_text(encoding="utf-8"))
SAMPLES = [samples.empty, samples.passing, samples.full, samples.hostile]


def strict_load(data: bytes) -> Any:
    def refuse(constant: str) -> None:
        raise AssertionError(f"{constant} is not JSON")

    return json.loads(data, parse_constant=refuse)


def finding(**changes: Any) -> Finding:
    plain = Finding(
        "a", "p", "r", Outcome.VIOLATION, Severity.LOW, "", "", "", "", "", (), Location()
    )
    return replace(plain, **changes)


@pytest.mark.parametrize("sample", SAMPLES)
def test_follows_its_schema(sample: Callable[[], Review]) -> None:
    Draft202012Validator.check_schema(SCHEMA)
    Draft202012Validator(SCHEMA).validate(strict_load(json_bytes(sample())))


def test_the_schema_refuses_what_it_does_not_describe() -> None:
    document = to_dict(samples.full())
    valid = Draft202012Validator(SCHEMA).is_valid
    assert valid(document)
    assert not valid(document | {"verdict": "fine"})
    assert not valid(document | {"extra": 1})
    assert not valid({key: value for key, value in document.items() if key != "coverage"})
    assert not valid(document | {"findings": [document["findings"][0] | {"outcome": "pass"}]})


def test_every_property_of_the_schema_is_described() -> None:
    def undescribed(node: Any, path: str) -> list[str]:
        if not isinstance(node, dict):
            return []
        missing = [
            f"{path}.{name}"
            for name, child in node.get("properties", {}).items()
            if not child.get("description")
        ]
        return missing + [m for k, child in node.items() for m in undescribed(child, f"{path}.{k}")]

    assert undescribed(SCHEMA, "") == []
    assert SCHEMA["properties"]["schema_version"]["const"] == SCHEMA_VERSION


def test_same_review_same_bytes_whatever_the_order_of_its_findings() -> None:
    review = samples.full()
    turned = replace(
        review, findings=review.findings[::-1], coverage=review.coverage[::-1], failures=()
    )
    assert json_bytes(samples.full()) == json_bytes(review)
    assert json_bytes(turned) == json_bytes(replace(review, failures=()))


def test_is_indented_utf8_with_one_newline_at_the_end() -> None:
    data = json_bytes(replace(samples.empty(), reason="Kein Gefälle · 2 %"))
    assert data.startswith(b'{\n  "schema_version": "1",\n')
    assert data.endswith(b"}\n")
    assert not data.endswith(b"\n\n")
    assert "Kein Gefälle · 2 %".encode() in data


def test_numbers_are_rounded_and_never_nan() -> None:
    review = replace(
        samples.empty(),
        findings=(
            finding(
                id="a",
                measured=Measure(1 / 48, "ft/ft"),
                location=Location(x=451_234.56789, y=-0.0, z=math.inf),
            ),
            finding(id="b", measured=Measure(math.nan, "in")),
        ),
    )
    first, second = strict_load(json_bytes(review))["findings"]
    assert first["measured"]["value"] == 0.0208333
    assert first["location"] == {"storey": "", "space": "", "x": 451234.5679, "y": 0.0, "z": None}
    assert second["measured"] == {"value": None, "unit": "in", "bound": ""}


def test_everything_of_a_finding_is_there() -> None:
    document = strict_load(json_bytes(samples.full()))
    closet = next(f for f in document["findings"] if f["id"].startswith("drain-size-1k"))
    assert closet["element_ids"] == ["d-wc2", "1kTvXnbbzCWw8lcMd1dR4o"]
    assert closet["required"] == {"value": 3.0, "unit": "in", "bound": "at least"}
    assert closet["steps"][0]["source"] == "Table 702.1"
    assert closet["location"]["space"] == "Bath 2"
    assert document["job"]["variance"] == [{"until": "2026-05-01"}]
    assert set(document["schedules"]) == {"fixtures", "drains"}
    assert document["schedules"]["fixtures"]["rows"][3]["dfu"] is None
    assert len(document["findings"]) == len(samples.full().findings)


def test_a_long_name_is_kept_whole() -> None:
    document = strict_load(json_bytes(samples.hostile()))
    assert len(document["findings"][0]["subject"]) == 1_000_000


def test_no_zero_is_below_zero() -> None:
    """Else the same place is written in two ways."""
    assert [str(_coordinate(metres)) for metres in (-0.0, -1e-9, 0.0)] == ["0.0"] * 3
    assert [str(_number(value)) for value in (-0.0, 0.0)] == ["0.0"] * 2
