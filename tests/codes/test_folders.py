"""Editions by folder and by entry point, and what is said of a folder that is not whole."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Iterator
from importlib.metadata import EntryPoint
from pathlib import Path

import pytest

from ifclint.codes import AmendedCell, editions, folders, load
from ifclint.codes.editions import description
from ifclint.codes.tables import HERE
from ifclint.errors import InputError
from ifclint.review import review

ROOT = Path(__file__).parents[2]

CODE = """
id = "larkspur-2024"
family = "upc"
short = "Larkspur 2024"
title = "Plumbing code of the city of Larkspur"
edition = "2024"
publisher = "City of Larkspur"
based_on = "upc-2021"
"""
DIFFERENCES = """
[[change]]
table = "limits"
row = { key = "cleanout_interval_ft" }
set = { value = 75 }
source = "Larkspur ordinance 12-4"
"""
TABLES = """
[grease]
title = "Grease interceptors"
clause = "Table 9"
status = "complete"
row_key = ["fixture"]
"""
GREASE = "fixture,holds_gal,source,note\nkitchen-sink,50,Larkspur ordinance 12-4,\n"
COLUMNS = '[number]\nholds_gal = "what the interceptor holds, gal"\n'


@pytest.fixture
def city(tmp_path: Path) -> Path:
    folder = tmp_path / "larkspur-2024"
    folder.mkdir()
    (folder / "code.toml").write_text(CODE)
    (folder / "differences.toml").write_text(DIFFERENCES)
    (folder / "tables.toml").write_text(TABLES)
    (folder / "columns.toml").write_text(COLUMNS)
    (folder / "grease.csv").write_text(GREASE)
    return folder


def test_a_city_is_its_base_and_what_it_says_of_its_own(city: Path) -> None:
    code = load(str(city))
    assert (code.id, code.family, code.based_on) == ("larkspur-2024", "upc", "upc-2021")
    interval = code.limit("cleanout_interval_ft")
    assert (interval.value, interval.carried_from) == (75, "")
    assert interval.clause.startswith("Larkspur 2024 707")
    assert code.limit("shared_trap_spacing_in").carried_from == "upc-2021"
    (row,) = code.table("grease").rows
    assert (row.number("holds_gal"), row.clause) == (50, "Larkspur 2024 Table 9")
    change = AmendedCell("grease", {"fixture": "kitchen-sink"}, "holds_gal", 40, "ordinance 13")
    assert code.amended([change]).table("grease").rows[0].number("holds_gal") == 40
    assert load("upc-2021").limit("cleanout_interval_ft").value == 100


def test_a_folder_may_be_a_whole_edition_of_its_own(city: Path) -> None:
    (city / "code.toml").write_text(CODE.replace('based_on = "upc-2021"\n', ""))
    (city / "differences.toml").unlink()
    limits = TABLES.replace("grease]", "limits]").replace('["fixture"]', '["key"]')
    (city / "tables.toml").write_text(TABLES + limits)
    (city / "limits.csv").write_text(
        "key,value,unit,clause,source,note\ncleanout_interval_ft,75,ft,9,Ordinance 12-4,\n"
    )
    code = load(str(city))
    assert code.tables == ("grease", "limits")
    assert code.limit("cleanout_interval_ft").value == 75


def test_an_edition_without_limits_or_a_base_is_none(city: Path) -> None:
    (city / "code.toml").write_text(CODE.replace('based_on = "upc-2021"\n', ""))
    (city / "differences.toml").unlink()
    with pytest.raises(
        InputError, match=r"it has no limits\.csv, and code\.toml names no based_on"
    ):
        load(str(city))


def test_a_review_under_a_citys_folder_named_in_the_jurisdictions_file(
    city: Path, tmp_path: Path
) -> None:
    (tmp_path / "larkspur.toml").write_text('adopted_code = "./larkspur-2024"\n')
    (tmp_path / "jobs").mkdir()
    job_file = tmp_path / "jobs" / "job.toml"
    job_file.write_text('jurisdiction = "../larkspur.toml"\n')
    done = review([ROOT / "models" / "smallest.ifc"], job_file)
    assert done.adopted_code.id == "larkspur-2024"
    assert "Grease interceptors (Larkspur 2024 Table 9)" in done.adopted_code.tables
    assert done.job["adopted_code"] == "./larkspur-2024"
    cited = [clause for f in done.findings if (clause := f.clause)]
    assert not any(clause.startswith("UPC 2021") for clause in cited)


BROKEN = [
    ("code.toml", CODE.replace('family = "upc"\n', ""), "code.toml lacks family"),
    ("code.toml", CODE.replace('"upc"', '"npc"'), "family is 'npc': write upc or ipc"),
    ("code.toml", CODE.replace("larkspur-2024", "larkspur"), "id is 'larkspur', but the folder"),
    ("code.toml", CODE.replace('"upc-2021"', '"upc-2012"'), "based_on is 'upc-2012': write upc"),
    ("code.toml", CODE.replace('"upc-2021"', '"./upc-2021"'), "based_on is './upc-2021': write"),
    ("code.toml", CODE + "colour = 'red'\n", "code.toml: no key 'colour'"),
    ("code.toml", CODE + "id = ", "code.toml cannot be read"),
    ("code.toml", CODE.replace('"2024"', "2024"), "write every value as text"),
    ("tables.toml", "[grease]\ntitle = 'x'\n", "tables.toml, grease lacks clause, status, row_key"),
    ("tables.toml", TABLES + "titel = 'x'\n", "tables.toml, grease: no key 'titel': write title"),
    ("tables.toml", "grease = 3\n", "tables.toml, grease: write keys and values"),
    ("tables.toml", "", "tables.toml tells nothing of grease.csv"),
    ("tables.toml", TABLES + TABLES.replace("grease]", "oil]"), "there is no oil.csv"),
    ("tables.toml", TABLES.replace('["fixture"]', '["fixtur"]'), "row_key names no column fixtur"),
    ("grease.csv", GREASE.replace("50", "many"), "grease.csv line 2: holds_gal is not a number"),
    ("grease.csv", GREASE.replace("Larkspur ordinance 12-4", ""), "grease.csv line 2: no source"),
    ("grease.csv", "", "grease.csv is empty"),
    ("columns.toml", "", "column holds_gal is not documented"),
    ("columns.toml", COLUMNS + 'size_in = "another"\n', "size_in is documented already"),
    ("columns.toml", COLUMNS + "[facts]\n", "columns.toml: write number, text, series, not facts"),
    ("differences.toml", DIFFERENCES.replace("limits", "limit"), "no table 'limit': write limits"),
    ("differences.toml", DIFFERENCES.replace("cleanout_i", "x_i"), "there is no such row"),
    ("differences.toml", DIFFERENCES.replace("75", '"far"'), "value holds a number, not 'far'"),
    ("differences.toml", DIFFERENCES.replace("value", "valu"), "no column valu"),
    ("differences.toml", DIFFERENCES.replace("[[change", "[[chang").replace("]]", "]]"), "'chang'"),
    ("differences.toml", DIFFERENCES.replace("source =", "note ="), "change lacks source"),
    ("grease.csv", GREASE.partition("\n")[0] + "\n", "grease.csv holds no row"),
    ("grease.csv", GREASE + GREASE.partition("\n")[2], "line 3: there is a row of fixture kitchen"),
    ("grease.csv", GREASE.replace(",", ";"), "cells are parted by semicolons: write commas"),
    ("tables.toml", TABLES + TABLES.replace("grease]", "drain_capacit]"), "write drain_capacity"),
    ("differences.toml", DIFFERENCES.replace("75", "-75"), "value holds 0 and more, not -75"),
    ("amendments.toml", "", "amendments.toml is not read: write columns.toml or code"),
    ("differences.toml", "without = ['drain_capacty']\n", "no table 'drain_capacty'"),
]


@pytest.mark.parametrize(("name", "text", "said"), BROKEN)
def test_a_folder_that_is_not_whole_is_refused_in_one_sentence(
    city: Path, name: str, text: str, said: str
) -> None:
    (city / name).write_text(text)
    with pytest.raises(InputError) as refused:
        load(str(city))
    message = str(refused.value)
    assert message.startswith(f"The adopted code in {city} cannot be read: ")
    assert said in message
    assert "\n" not in message


def test_a_folder_that_is_none_is_named(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"nowhere holds no adopted code: it has no code\.toml"):
        load(str(tmp_path / "nowhere"))
    with pytest.raises(InputError, match=r"a folder is written with a slash, \./NAME"):
        load("larkspur-2024")


@pytest.fixture
def package(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A package with an edition, and one that cannot be imported, both installed."""
    home = tmp_path / "acme_codes"
    shutil.copytree(HERE / "upc-2024", home / "acme-2024")
    shutil.copytree(HERE / "upc-2024", home / "upc-2021")  # a name that we have
    described = (home / "acme-2024" / "code.toml").read_text()
    (home / "acme-2024" / "code.toml").write_text(described.replace("upc-2024", "acme-2024"))
    (home / "__init__.py").write_text("")
    (tmp_path / "broken_codes.py").write_text("raise RuntimeError('no licence')")
    found = [
        EntryPoint("acme", "acme_codes", folders.GROUP),
        EntryPoint("broken", "broken_codes", folders.GROUP),
        EntryPoint("plain", "json.decoder", folders.GROUP),
    ]
    monkeypatch.syspath_prepend(str(tmp_path))
    monkeypatch.setattr(folders, "entry_points", lambda group: found)
    folders.installed.cache_clear()
    yield home
    folders.installed.cache_clear()
    sys.modules.pop("acme_codes", None)


def test_editions_of_an_installed_package_stand_beside_ours(package: Path) -> None:
    assert {"acme-2024", "upc-2021", "ipc-2024"} <= set(editions())
    code = load("acme-2024")
    assert (code.id, code.based_on) == ("acme-2024", "upc-2021")
    assert code.limit("cleanout_interval_ft").value == 100
    assert folders.folder_of("upc-2021") == HERE / "upc-2021"


def test_a_package_that_fails_costs_no_other_its_editions_and_is_named(package: Path) -> None:
    with pytest.raises(InputError) as refused:
        load("larkspur-2030")
    message = str(refused.value)
    assert "upc-2021" in message
    assert "those of broken cannot be read: no licence" in message
    assert "those of plain cannot be read: json.decoder is no package" in message


def test_a_base_that_leads_back_is_refused(package: Path) -> None:
    described = (package / "acme-2024" / "code.toml").read_text()
    (package / "acme-2026").mkdir()
    again = described.replace('"upc-2021"', '"acme-2026"')
    (package / "acme-2024" / "code.toml").write_text(again)
    other = described.replace("acme-2024", "acme-2026").replace('"upc-2021"', '"acme-2024"')
    (package / "acme-2026" / "code.toml").write_text(other)
    folders.installed.cache_clear()
    description.cache_clear()
    try:
        with pytest.raises(InputError, match=r"based_on leads from acme-20\d\d back to acme"):
            load("acme-2026")
    finally:
        description.cache_clear()
