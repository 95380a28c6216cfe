"""Names as people give them, in six languages: what each element is taken for."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from ifclint.ifc.elements import Role
from ifclint.ifc.facts.classify import classify
from ifclint.ifc.facts.vocabulary import vocabulary

HERE = Path(__file__).parent / "names"
LANGUAGES = ("english", "spanish", "french", "german", "dutch", "russian")
FEWEST = {"russian": 30}


def rows(language: str) -> list[dict[str, str]]:
    with (HERE / f"{language}.csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("language", LANGUAGES)
def test_names_of_a_language(language):
    words = vocabulary({})
    wrong = []
    for row in rows(language):
        found = classify(row["ifc_class"], "NOTDEFINED", "", [(row["name"], "name")], words)
        told = ("-", "") if found is None else (found.role.value, found.kind)
        if told != (row["role"], row["kind"]):
            wrong.append(f"{row['name']}: {told}, not {(row['role'], row['kind'])}")
    assert wrong == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_each_language_has_enough_names_and_each_is_there_once(language):
    names = [row["name"] for row in rows(language)]
    assert len(names) >= FEWEST.get(language, 60)
    assert len(set(names)) == len(names)
    assert {r["role"] for r in rows(language)} <= {"-", *(role.value for role in Role)}


@pytest.mark.parametrize(
    "name", ["Mirrored wall", "Latchup", "Badezimmer", "Tubular", "Capital", "Teeth", "Coder 3"]
)
def test_only_whole_words_count(name):
    found = classify("IfcFlowTerminal", "NOTDEFINED", "", [(name, "name")], vocabulary({}))
    assert found is None


@pytest.mark.parametrize(
    ("ifc_class", "literal", "name", "role", "kind"),
    [
        ("IfcSanitaryTerminal", "BATH", "Mirror", Role.FIXTURE, "bathtub"),
        ("IfcSanitaryTerminal", "SHOWER", "Shower curtain", Role.FIXTURE, "shower"),
        ("IfcPipeFitting", "CONNECTOR", "Valve body", Role.FITTING, "coupling"),
        ("IfcWasteTerminal", "FLOORTRAP", "Grab bar", Role.FIXTURE, "floor-drain"),
    ],
)
def test_no_name_overrides_an_enumeration_that_is_set(ifc_class, literal, name, role, kind):
    found = classify(ifc_class, literal, literal, [(name, "name")], vocabulary({}))
    assert found is not None
    assert (found.role, found.kind) == (role, kind)
