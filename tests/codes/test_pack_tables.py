"""Tables and limits of a rule pack: cited as they say, amendable, never in place of the code's."""

from __future__ import annotations

from pathlib import Path

import pytest

from ifclint.codes import AmendedCell, CodeTables, load
from ifclint.codes.tables import cited

LININGS = """size_in,least_mm,clause,source,note
2,2,,Acme standard sheet 4,
3,4,Acme standard 4.2,Acme standard sheet 4,
4,5,5.1,Acme standard sheet 4,
"""
TABLES = """
[lining]
title = "Least thickness of linings"
clause = "Table 4"
status = "complete"
row_key = ["size_in"]
"""
COLUMNS = '[number]\nleast_mm = "least thickness of the lining, mm"\n'
LIMITS = "key,topic,value,unit,clause,source,note\nacme_most_mm,acme,6,mm,4.3,Acme sheet 5,\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "tables"
    made.mkdir()
    (made / "lining.csv").write_text(LININGS)
    (made / "tables.toml").write_text(TABLES)
    (made / "columns.toml").write_text(COLUMNS)
    (made / "limits.csv").write_text(LIMITS)
    return made


@pytest.mark.parametrize("edition", ["upc-2021", "upc-2024", "ipc-2021", "irc-2021"])
def test_a_table_of_a_pack_is_one_of_the_code_and_cited_as_it_says(
    folder: Path, edition: str
) -> None:
    code = load(edition).with_tables(CodeTables(folder, "Acme standard"))
    assert "lining" in code.tables
    assert "lining" not in load(edition).tables
    assert code.table("lining").clause == "Acme standard Table 4"
    assert [row.clause for row in code.table("lining").rows] == [
        "Acme standard Table 4",
        "Acme standard 4.2",
        "Acme standard 5.1",
    ]
    most = code.limit("acme_most_mm")
    assert (most.key, most.value, most.unit) == ("acme_most_mm", 6, "mm")
    assert (most.clause, most.source) == ("Acme standard 4.3", "Acme sheet 5")


def test_rows_and_limits_of_a_pack_are_amended_like_any(folder: Path) -> None:
    changes = [
        AmendedCell("lining", {"size_in": 3}, "least_mm", 1, "ordinance 7"),
        AmendedCell.of_limit("acme_most_mm", 9, "ordinance 8"),
        AmendedCell.of_limit("shared_trap_spacing_in", 3, "ordinance 9"),
    ]
    brought = CodeTables(folder, "Acme standard")
    code = load("upc-2021").with_tables(brought).amended(changes)
    row = code.table("lining").one(size_in=3.0)
    assert row is not None
    limit = row.limit("least_mm", "mm")
    assert (limit.key, limit.value, limit.unit, limit.amended) == ("least_mm", 1, "mm", True)
    assert limit.clause == "Acme standard 4.2, amended: ordinance 7"
    assert code.limit("acme_most_mm").value == 9
    assert code.limit("shared_trap_spacing_in").value == 3
    later = load("upc-2021").amended(changes[2:]).with_tables(brought)
    assert later.limit("shared_trap_spacing_in").value == 3
    assert later.limit("acme_most_mm").value == 6


@pytest.mark.parametrize(
    ("edition", "least"),
    [("upc-2021", 7), ("upc-2024", 8), ("ipc-2021", 9), ("irc-2021", 10)],
)
def test_a_table_may_differ_by_edition_code_or_family(
    folder: Path, edition: str, least: float
) -> None:
    for name, value in {"upc-2021": 7, "upc": 8, "ipc": 9, "irc": 10}.items():
        (folder / name).mkdir()
        (folder / name / "lining.csv").write_text(LININGS.replace("3,4,", f"3,{value},"))
    code = load(edition).with_tables(CodeTables(folder, "Acme standard"))
    row = code.table("lining").one(size_in=3.0)
    assert row is not None
    assert row.number("least_mm") == least


def test_a_table_that_one_code_alone_has_is_not_asked_of_another(folder: Path) -> None:
    (folder / "upc").mkdir()
    (folder / "lining.csv").rename(folder / "upc" / "lining.csv")
    brought = CodeTables(folder, "Acme standard")
    assert "lining" in load("upc-2021").with_tables(brought).tables
    assert "lining" not in load("ipc-2021").with_tables(brought).tables


REFUSED = [
    ("drain_capacity.csv", LININGS, "drain_capacity.csv: upc-2021 has a table drain_capacity alr"),
    (
        "limits.csv",
        LIMITS.replace("acme_most_mm", "shared_trap_spacing_in"),
        "4.3 sets shared_trap_spacing_in",
    ),
    ("limits.csv", LIMITS.replace("unit", "note").replace(",note\n", "\n"), "limits.csv"),
    ("limits.csv", "key,value,source,note\na,1,b,\n", "limits.csv lacks clause, unit"),
    ("stray.csv", LININGS, "tables.toml tells nothing of stray.csv"),
    ("upc/stray.csv", LININGS, "tables.toml tells nothing of stray.csv"),
    ("columns.toml", COLUMNS + 'size_in = "x"\n', "size_in is documented already"),
    ("columns.toml", "", "column least_mm is not documented"),
    ("lining.csv", LININGS.replace("3,4,", "3,thick,"), "lining.csv line 3: least_mm is not a num"),
    ("tables.toml", TABLES.replace("title", "titel"), "tables.toml, lining lacks title"),
    ("tables.toml", TABLES + TABLES.replace("lining]", "oil]"), "there is no oil.csv"),
]


@pytest.mark.parametrize(("name", "text", "said"), REFUSED)
def test_what_a_pack_cannot_bring_is_refused_naming_pack_and_place(
    folder: Path, name: str, text: str, said: str
) -> None:
    (folder / name).parent.mkdir(exist_ok=True)
    (folder / name).write_text(text)
    if name == "drain_capacity.csv":
        more = TABLES.replace("lining]", "drain_capacity]")
        (folder / "tables.toml").write_text(TABLES + more)
    with pytest.raises(ValueError, match=r"^Acme standard") as refused:
        load("upc-2021").with_tables(CodeTables(folder, "Acme standard"))
    assert said in str(refused.value)
    assert "\n" not in str(refused.value)


def test_two_packs_may_not_bring_the_same_limit(folder: Path) -> None:
    code = load("upc-2021").with_tables(CodeTables(folder, "Acme standard"))
    for name in ("tables.toml", "lining.csv"):
        (folder / name).unlink()
    with pytest.raises(ValueError, match=r"Best 4\.3 sets acme_most_mm, but Acme standard 4\.3"):
        code.with_tables(CodeTables(folder, "Best"))


@pytest.mark.parametrize(
    ("code", "clause", "whole"),
    [
        ("UPC 2021", "703.2", "UPC 2021 703.2"),
        ("IRC 2021", "P3004.1", "IRC 2021 P3004.1"),
        ("UPC 2021", "A 104", "UPC 2021 A 104"),
        ("UPC 2021", "Tables 510.2(1) and 510.2(2)", "UPC 2021 Tables 510.2(1) and 510.2(2)"),
        ("IPC 2021", "chapter 9", "IPC 2021 chapter 9"),
        ("IPC 2021", "IFGC 402.4", "IFGC 2021 402.4"),
        ("IPC 2021", "IFGC 2018 402.4", "IFGC 2018 402.4"),
        ("UPC 2021", "Acme standard 4.2", "Acme standard 4.2"),
        ("UPC 2021", "Acme Standard 4.2", "Acme Standard 4.2"),
        ("UPC 2021", "NFPA 54 7.1", "NFPA 54 7.1"),
        ("Acme standard", "ASME A112.18.1", "ASME A112.18.1"),
        ("Acme standard", "IFGC 402.4", "IFGC 402.4"),
        ("Acme standard", "4.2", "Acme standard 4.2"),
        ("Acme standard", "R-4.2", "Acme standard R-4.2"),
        ("Acme standard", "", ""),
        ("", "Table 1", "Table 1"),
    ],
)
def test_a_clause_is_cited_under_the_name_it_says(code: str, clause: str, whole: str) -> None:
    assert cited(code, clause) == whole
