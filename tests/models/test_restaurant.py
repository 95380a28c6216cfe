"""The second demo, drawn by another habit: its files, its mistakes, and nothing else."""

from __future__ import annotations

import dataclasses
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import ifcopenshell
import pytest

from ifclint.findings import Review
from ifclint.review import review
from models.restaurant.build import ARCHITECTURE, FILES, main
from models.restaurant.design import CORRECTED, EARLY

MODELS = Path(__file__).parents[2] / "models"
LIST = tomllib.loads((MODELS / "restaurant_mistakes.toml").read_text())
MISTAKES: list[dict[str, str]] = LIST["mistake"]
WRONG: list[dict[str, str]] = LIST.get("false_correction", [])
SILENT = [mistake for mistake in MISTAKES if "silent" in mistake]
FOUND = [mistake for mistake in MISTAKES if "rule" in mistake]
Found = set[tuple[str, str]]  # rule and mark


def test_the_committed_files_are_what_the_generator_writes(tmp_path: Path) -> None:
    main(tmp_path)
    for name in (*FILES, ARCHITECTURE):
        assert (tmp_path / name).read_bytes() == (MODELS / name).read_bytes(), name
        assert (MODELS / name).stat().st_size < 1_000_000


def test_every_mistake_is_listed_once() -> None:
    different = {
        field.name
        for field in dataclasses.fields(EARLY)
        if getattr(EARLY, field.name) != getattr(CORRECTED, field.name)
    }
    assert sorted(mistake["field"] for mistake in MISTAKES) == sorted(different)
    assert len(MISTAKES) >= 20
    assert all(("rule" in mistake) != ("silent" in mistake) for mistake in MISTAKES)


@pytest.mark.parametrize("mistake", FOUND, ids=[m["field"] for m in FOUND])
def test_a_mistake_is_found_on_its_element(mistake: dict[str, str]) -> None:
    assert any(
        rule == mistake["rule"] and _of(mark, mistake["element"]) for rule, mark in _found("early")
    )
    known = {"rule": mistake["rule"], "element": mistake["element"]}
    assert any(known.items() <= each.items() for each in WRONG) or not any(
        rule == mistake["rule"] and _of(mark, mistake["element"])
        for rule, mark in _found("corrected")
    )


def test_every_mistake_that_is_found_is_one_correction() -> None:
    """None is split, none merges two; beside them stands only what follows from one, and which
    another change would clear."""
    done, marks = _reviewed("early"), _marks("early")
    by_id = {finding.id: finding for finding in done.findings}
    about = [
        {(by_id[f].rule, marks.get(e, "")) for f in c.finding_ids for e in by_id[f].element_ids}
        for c in done.corrections
    ]
    numbers = [
        n
        for mistake in FOUND
        for n, said in enumerate(about)
        if any(rule == mistake["rule"] and _of(mark, mistake["element"]) for rule, mark in said)
    ]
    follows = [(each["rule"], each["element"]) for each in LIST["follows"]]
    alone = [
        n
        for n, said in enumerate(about)
        if all(any(rule == each and _of(mark, of) for each, of in follows) for rule, mark in said)
    ]
    assert sorted(numbers + alone) == list(range(len(done.corrections)))
    assert len(numbers) == len(FOUND)


@pytest.mark.parametrize("mistake", SILENT, ids=[m["field"] for m in SILENT])
def test_a_mistake_that_nothing_finds_is_still_not_found(mistake: dict[str, str]) -> None:
    """Where this fails, a rule has learnt to see: say in the list which."""
    argued = {(each["rule"], each["element"]) for each in WRONG}
    follows = {each["rule"] for each in (*MISTAKES, *LIST["follows"]) if "rule" in each}
    new = {
        (rule, mark)
        for rule, mark in _found("early") - _found("corrected") - argued
        if _of(mark, mistake["element"]) and rule not in follows
    }
    assert not new


@pytest.mark.parametrize("revision", ["early", "corrected"])
def test_nothing_else_is_a_violation(revision: str) -> None:
    """In the corrected revision nothing but what is known to be false; in the early one the
    mistakes, too, and what follows from them."""
    known = {(each["rule"], each["element"]) for each in WRONG}
    if revision == "early":
        known |= {(each["rule"], each["element"]) for each in MISTAKES if "rule" in each}
        known |= {(each["rule"], each["element"]) for each in LIST["follows"]}
    odd = [
        (rule, marks)
        for rule, marks in _findings(revision)
        if not any(rule == each and any(_of(m, of) for m in marks) for each, of in known)
    ]
    assert odd == []


def test_the_corrected_revision_stands_under_the_other_code_too() -> None:
    known = {(each["rule"], each["element"]) for each in WRONG}
    odd = [
        (rule, marks)
        for rule, marks in _findings("corrected", "ipc-2021")
        if not any(rule == each and any(_of(m, of) for m in marks) for each, of in known)
    ]
    assert odd == []


@pytest.mark.parametrize("false", WRONG, ids=[f"{w['rule']} {w['element']}" for w in WRONG])
def test_a_false_correction_that_is_known_is_still_made(false: dict[str, str]) -> None:
    """Where this fails, it is made no longer: take it off the list."""
    revisions = ("early", "corrected")
    assert any(
        rule == false["rule"] and _of(mark, false["element"])
        for revision in revisions
        for rule, mark in _found(revision)
    )


def _of(mark: str, element: str) -> bool:
    """Whether a mark is the element's, or that of a piece or part of it."""
    rest = mark.removeprefix(element)
    return mark.startswith(element) and (not rest or not rest[0].isdigit())


@cache
def _reviewed(revision: str, code: str | None = None) -> Review:
    return review(
        [MODELS / f"restaurant_{revision}.ifc", MODELS / ARCHITECTURE],
        MODELS / f"restaurant_{revision}.toml",
        code,
    )


@cache
def _findings(revision: str, code: str | None = None) -> list[tuple[str, tuple[str, ...]]]:
    """Rule and marks of every violation."""
    marks, done = _marks(revision), _reviewed(revision, code)
    assert not done.failures
    return [
        (finding.rule, tuple(marks.get(each, "") for each in finding.element_ids))
        for finding in done.findings
        if finding.outcome.value == "violation"
    ]


def _found(revision: str) -> Found:
    return {(rule, mark) for rule, marks in _findings(revision) for mark in marks}


def _marks(revision: str) -> dict[str, Any]:
    """GlobalId -> mark, read by another reader than ours."""
    model = ifcopenshell.open(str(MODELS / f"restaurant_{revision}.ifc"))
    return {
        product.GlobalId: relation.RelatingPropertyDefinition.HasProperties[
            0
        ].NominalValue.wrappedValue
        for relation in model.by_type("IfcRelDefinesByProperties")
        if relation.RelatingPropertyDefinition.Name == "Identity Data"
        for product in relation.RelatedObjects
    }
