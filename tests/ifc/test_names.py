"""Names as people give them, in many languages: what each element is taken for."""

from __future__ import annotations

import csv
from importlib.resources import files
from pathlib import Path

import pytest

from ifclint.engineering.data import read_csv
from ifclint.ifc.elements import Role, System
from ifclint.ifc.facts.classify import classify
from ifclint.ifc.facts.vocabulary import vocabulary
from ifclint.ifc.step.text import words

HERE = Path(__file__).parent / "names"
LANGUAGES = (
    "english", "spanish", "french", "german", "dutch", "russian", "portuguese", "italian",
    "polish", "czech", "swedish", "japanese", "chinese", "turkish",
)  # fmt: skip
FEWEST = dict.fromkeys(LANGUAGES[:5], 60) | {"russian": 30}


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
    assert len(names) >= FEWEST.get(language, 19)
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


@pytest.mark.parametrize(
    ("name", "system"),
    [
        ("Acque nere", System.SANITARY),
        ("Kanalizacja deszczowa", System.STORM),
        ("Ciepła woda użytkowa", System.HOT_WATER),
        ("Studená voda", System.COLD_WATER),
        ("Dagvatten", System.STORM),
        ("汚水管", System.SANITARY),
        ("雨水排水", System.STORM),
        ("通气管", System.VENT),
        ("热水回水管", System.HOT_WATER_RETURN),
        ("冷却水", System.HEATING),
        ("消防给水", System.FIRE),
        ("天然气", System.GAS),
        ("Внутренний водосток", System.STORM),
        ("ХВС", System.COLD_WATER),
        ("Esgoto sanitário", System.SANITARY),
        ("Yağmur suyu", System.STORM),
        ("SICAK SU", System.HOT_WATER),
        ("Scarico valvola di sicurezza", System.RELIEF),
    ],
)
def test_systems_are_known_by_their_names_in_many_languages(name, system):
    assert vocabulary({}).systems.find(name) is system


@pytest.mark.parametrize("column", ["it", "pl", "cs", "sv", "ja", "zh", "ru", "pt", "tr"])
def test_each_further_language_names_what_a_house_has(column):
    rows = read_csv(files("ifclint.ifc.facts").joinpath("languages.csv")).rows
    own = vocabulary({})
    for meaning in ("fixture/clothes-washer", "fixture/roof-drain", "valve/gas-shutoff", "pipe/"):
        row = next(r for r in rows if r.text("meaning") == meaning)
        for phrase in row.text(column).split(";"):
            found = own.element([phrase])
            assert found is not None, phrase
            assert f"{found[0].role.value}/{found[0].kind}" == meaning


@pytest.mark.parametrize("text", ["洗面器", "混合水栓DN15", "Y型三通"])
def test_each_sign_of_unspaced_scripts_is_a_word(text):
    given = words(text)
    assert "".join(given) == text.lower()
    assert all(len(word) == 1 for word in given if not word.isascii())


@pytest.mark.parametrize(
    ("text", "said"),
    [("Lavatories", "lavatory"), ("Robinetteries", "robinetterie"), ("Basins", "basin")],
)
def test_plurals_are_read_as_the_singular(text, said):
    assert words(text) == (said,)
