"""The lists of what is built in, and the page generated from the rules' needs."""

from __future__ import annotations

import csv
import io
import os
from importlib.metadata import version
from pathlib import Path

import pytest

from ifclint import codes
from ifclint.catalogue import (
    codes_text,
    differences_text,
    model_page,
    packs_text,
    rules_page,
    rules_text,
    sources_page,
    table_text,
)
from ifclint.errors import InputError
from ifclint.findings import Verdict
from ifclint.job_keys import job_page
from ifclint.packs import load_packs
from ifclint.review import review

ROOT = Path(__file__).parent.parent


@pytest.mark.parametrize("edition", codes.editions())
def test_every_table_is_listed_with_its_rows_and_memory(edition: str) -> None:
    said = " ".join(codes_text(edition).split())
    for key in codes.load(edition).tables:
        assert f"{key}: " in said
    assert "rest on memory" in said


@pytest.mark.parametrize("edition", codes.editions())
def test_every_table_is_written_as_csv_with_the_source_of_each_row(edition: str) -> None:
    code = codes.load(edition)
    for key in code.tables:
        lines = list(csv.DictReader(io.StringIO(table_text(edition, key, as_csv=True))))
        assert len(lines) == len(code.table(key).rows)
        assert all(line["source"] for line in lines)


def test_a_table_of_a_pack_is_shown_with_its_sources() -> None:
    lines = list(csv.DictReader(io.StringIO(table_text("upc-2021", "propane_containers", True))))
    assert lines
    assert all(line["source"] for line in lines)


def test_a_table_shorter_than_the_one_it_stands_for_says_so() -> None:
    said = " ".join(codes_text("irc-2021").split())
    own, base = codes.load("irc-2021"), codes.load("ipc-2021")
    lost = {
        k: len(base.table(k).rows) - len(own.table(k).rows) for k in own.tables if k in base.tables
    }
    shorter = {key: count for key, count in lost.items() if count > 0}
    assert len(shorter) > 2
    for key, count in shorter.items():
        assert f"{len(own.table(key).rows)} rows ({count} fewer than in ipc-2021)" in said
    assert said.count("fewer than") == len(shorter)
    assert "fewer" not in codes_text("ipc-2021")


def test_a_topic_alone() -> None:
    said = codes_text("upc-2021", "drainage")
    assert "drain_capacity" in said
    assert "water_supply" not in said


def test_the_difference_of_two_editions() -> None:
    assert "kitchen-sink" in differences_text("upc-2021", "upc-2024")
    assert "do not differ" in differences_text("ipc-2021", "ipc-2021")
    rows = list(csv.DictReader(io.StringIO(differences_text("upc-2021", "ipc-2021", True))))
    washer = [r for r in rows if r["table"] == "drainage_fixture_units" and "clothes" in r["row"]]
    assert any((r["upc-2021"], r["ipc-2021"]) == ("3", "2") for r in washer)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: codes_text("upc-1900"), "upc-2021"),
        (lambda: codes_text("upc-2021", "drainag"), "drainage"),
        (lambda: table_text("upc-2021", "drain_capacitty"), "drain_capacity"),
    ],
)
def test_a_wrong_name_is_answered_with_the_nearest(call, said: str) -> None:
    with pytest.raises(InputError, match=said):
        call()


def test_rules_are_listed_by_pack() -> None:
    said, failed = rules_text()
    assert not failed
    for pack in load_packs().loaded:
        for rule in pack.rules:
            assert f"  {rule.name}: {rule.title}" in said


def test_packs_are_listed_with_where_they_come_from() -> None:
    said, failed = packs_text()
    assert not failed
    for pack in load_packs().loaded:
        assert f"{pack.name}  from ifclint {version('ifclint')}" in said
    assert "[venting] in the job file" in said
    assert "reports report.html, findings.json" in said
    tables = [str(each.folder) for pack in load_packs().loaded for each in pack.tables]
    assert tables
    assert all(folder in said for folder in tables)  # whole, to be copied


@pytest.mark.parametrize(
    ("name", "page"),
    [
        ("plugins/MODEL.md", model_page),
        ("plugins/RULES.md", rules_page),
        ("ifclint/codes/SOURCES.md", sources_page),
        ("docs/job-file.md", job_page),
    ],
)
def test_the_generated_pages_are_up_to_date(name: str, page) -> None:
    path = ROOT / name
    if os.environ.get("IFCLINT_WRITE_GOLDEN"):
        path.write_text(page(), encoding="utf-8")
    assert path.read_text(encoding="utf-8") == page()


def test_the_page_of_the_job_file_has_every_key() -> None:
    page = job_page()
    for name, section in load_packs().sections.items():
        assert f"[{name}]" in page or f"[[{name}." in page
        for key in section.model_fields:
            assert f"`{key}`" in page or f"[[{name}.{key}]]" in page
    assert '| `cable_length` | `"40 ft"` | in pipe of 3 in and larger |' in page
    assert "| `kind` | `natural`, `propane` |" in page


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021"])
def test_the_smallest_example_tells_all_that_drainage_needs(code: str, tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text('out_of_scope = ["venting"]\n', encoding="utf-8")
    done = review([ROOT / "models" / "smallest.ifc"], job, code)
    assert done.verdict is Verdict.PASS
    judged = [f for f in done.findings if f.pack in ("drainage", "readiness")]
    assert judged == []
