"""A findings.json as far as it takes to compare it. Bad input is one sentence."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from math import dist, isfinite
from pathlib import Path
from typing import Any

from ifclint.errors import InputError
from ifclint.files import read_within
from ifclint.ifc.elements import Point
from ifclint.report.as_json import SCHEMA_VERSION

NOT_DECIDING = frozenset({"name", "address", "variances"})  # keys of the job file
ACCEPTED = "accepted"  # the outcome of a violation that a variance accepts


@dataclass(frozen=True, slots=True)
class RecordedElement:
    guid: str
    ifc_class: str
    tag: str
    name: str
    point: Point | None

    @property
    def words(self) -> str:
        return self.name or f"{self.ifc_class} {self.guid}"


@dataclass(frozen=True, slots=True)
class RecordedFinding:
    id: str
    pack: str
    rule: str
    outcome: str
    severity: str
    message: str
    place: str  # room and storey, in words
    element_ids: tuple[str, ...]
    point: Point | None

    def distance_m(self, other: RecordedFinding) -> float | None:
        """How far apart two findings are; None where the place of one is not known."""
        return dist(self.point, other.point) if self.point and other.point else None


@dataclass(frozen=True, slots=True)
class RecordedCorrection:
    id: str
    title: str
    about: str  # what it is of, where its title does not name it
    place: str
    severity: str
    finding_ids: tuple[str, ...]


@dataclass
class Reviewed:
    """One review: what it found, of which elements, and what it could not find."""

    path: Path
    models: str
    code: str
    job: dict[str, str]  # dotted keys of what decides findings
    elements: dict[str, RecordedElement]
    findings: list[RecordedFinding]
    corrections: list[RecordedCorrection]
    asked: set[str]  # rules that had a subject
    failed: set[str]  # rules and packs
    by_id: dict[str, RecordedFinding] = field(init=False)
    unverified: dict[tuple[str, str], RecordedFinding] = field(init=False)  # by rule and GlobalId

    def __post_init__(self) -> None:
        self.by_id = {finding.id: finding for finding in self.findings}
        self.unverified = {
            (finding.rule, guid): finding
            for finding in self.findings
            if finding.outcome == "unverified"
            for guid in finding.element_ids
        }

    @property
    def violations(self) -> list[RecordedFinding]:
        return [finding for finding in self.findings if finding.outcome == "violation"]

    def element_of(self, finding: RecordedFinding) -> RecordedElement | None:
        """The first element that a finding is about."""
        return self.elements.get(finding.element_ids[0]) if finding.element_ids else None


def read(path: Path) -> Reviewed:
    """Raises InputError where the file is not a review of this version's shape."""
    document = _document(path)
    try:
        return reviewed(path, document)
    except (KeyError, TypeError, AttributeError, IndexError, ValueError) as error:
        raise InputError(f"{path} is not a whole findings.json; review the model again.") from error


LARGEST_BYTES = 2**30  # of a findings.json; one of 50,000 findings has 100 MB


def _document(path: Path) -> dict[str, Any]:
    try:
        document = json.loads(read_within(path, LARGEST_BYTES))
    except OSError as error:
        raise InputError(f"{path} cannot be read ({error.strerror}).") from error
    except (ValueError, RecursionError) as error:
        raise InputError(f"{path} is not JSON; give a findings.json of a review.") from error
    version = document.get("schema_version") if isinstance(document, dict) else None
    if version != SCHEMA_VERSION:
        raise InputError(
            f"{path} is no findings.json of version {SCHEMA_VERSION} "
            f"({'it says no version' if version is None else f'version {version}'}); "
            "review that model again with this program."
        )
    assert isinstance(document, dict)
    return document


def reviewed(path: Path, document: Mapping[str, Any]) -> Reviewed:
    """A findings.json that is at hand. Raises KeyError and the like where it is not whole."""
    elements = [_element(written) for written in document["elements"]]
    return Reviewed(
        path=path,
        models=", ".join(model["name"] for model in document["models"]),
        code=document["adopted_code"]["id"],
        job={key: text for key, text in _flat(document["job"]) if key not in NOT_DECIDING},
        elements={element.guid: element for element in elements},
        findings=list(_findings(document["findings"])),
        corrections=[_correction(written) for written in document["corrections"]],
        asked={rule["rule"] for rule in document["coverage"] if rule["subjects"]},
        failed={name for f in document["failures"] for name in _failed(f)},
    )


def _flat(facts: Mapping[str, Any], before: str = "") -> Iterator[tuple[str, str]]:
    for name, fact in facts.items():
        if isinstance(fact, dict):
            yield from _flat(fact, f"{before}{name}.")
        else:
            yield before + name, json.dumps(fact, sort_keys=True)


def _failed(failure: Mapping[str, str]) -> Iterable[str]:
    """The rule, or the pack where the whole of it failed."""
    yield failure["rule"] or failure["pack"]


def _element(written: Mapping[str, Any]) -> RecordedElement:
    return RecordedElement(
        written["guid"], written["class"], written["tag"], written["name"],
        _point(written["location"]),
    )  # fmt: skip


def _findings(written: Iterable[Mapping[str, Any]]) -> Iterable[RecordedFinding]:
    """Those that count, and violations that a variance accepts, as "accepted"."""
    for one in written:
        counts = one["variance"] is None
        if counts or one["outcome"] == "violation":
            outcome = one["outcome"] if counts else ACCEPTED
            yield RecordedFinding(
                one["id"], one["pack"], one["rule"], outcome, one["severity"],
                one["message"] or one["title"], _place(one["location"]),
                tuple(one["element_ids"]), _point(one["location"]),
            )  # fmt: skip


def _correction(written: Mapping[str, Any]) -> RecordedCorrection:
    about = "" if written["reviewed_again"] else written["subject"]
    near = f"near {written['near']}" if written["near"] else ""
    return RecordedCorrection(
        written["id"], written["title"], about, _place(written["location"], near),
        written["severity"], tuple(written["finding_ids"]),
    )  # fmt: skip


def _place(location: Mapping[str, Any], near: str = "") -> str:
    """Room, what is near, and storey."""
    return ", ".join(filter(None, (location["space"], near, location["storey"])))


def _point(location: Mapping[str, Any]) -> Point | None:
    x, y, z = location["x"], location["y"], location["z"]
    if x is None or y is None or z is None:
        return None
    point = float(x), float(y), float(z)
    if not all(map(isfinite, point)):
        raise ValueError("a coordinate is no number")
    return point
