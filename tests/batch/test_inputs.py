"""What decides a review changes its digest, and nothing else does."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from importlib.metadata import EntryPoint
from pathlib import Path

import pytest

from ifclint.batch import inputs
from ifclint.batch.buildings import ListedBuilding
from ifclint.batch.inputs import digest

JOB = 'adopted_code = "./larkspur-2024"\njurisdiction = "city.toml"\n'
ENDS = '[[variances]]\nfinding = "drain-slope-1"\nuntil = 2026-12-31\n'


@pytest.fixture
def building(tmp_path: Path) -> ListedBuilding:
    (tmp_path / "larkspur-2024").mkdir()
    for name, text in {
        "house.ifc": "ISO-10303-21;", "job.toml": JOB, "city.toml": "", "other.txt": "",
        "larkspur-2024/code.toml": "based_on = 'upc-2021'", "larkspur-2024/limits.csv": "limit",
    }.items():  # fmt: skip
        (tmp_path / name).write_text(text, encoding="utf-8")
    return ListedBuilding("house", (tmp_path / "house.ifc",), tmp_path / "job.toml")


@pytest.mark.parametrize(
    ("name", "decides"),
    [
        ("house.ifc", True), ("job.toml", True), ("city.toml", True), ("other.txt", False),
        ("larkspur-2024/code.toml", True), ("larkspur-2024/limits.csv", True),
    ],
)  # fmt: skip
def test_every_file_that_a_review_reads_decides(
    building: ListedBuilding, tmp_path: Path, name: str, decides: bool
) -> None:
    before = digest(building)
    assert digest(building) == before
    with (tmp_path / name).open("a", encoding="utf-8") as file:
        file.write("# changed\n")
    assert (digest(building) != before) is decides


def test_a_job_file_that_begins_with_a_byte_order_mark_is_followed(
    building: ListedBuilding, tmp_path: Path
) -> None:
    (tmp_path / "job.toml").write_text(JOB, encoding="utf-8-sig")
    before = digest(building)
    (tmp_path / "city.toml").write_text("# changed", encoding="utf-8")
    assert digest(building) != before


def test_a_file_of_the_code_named_on_the_command_line_decides(
    building: ListedBuilding, tmp_path: Path
) -> None:
    folder = tmp_path / "larkspur-2024"
    named = replace(building, job=None, code=str(folder))
    before = digest(named)
    (folder / "limits.csv").unlink()
    assert digest(named) != before


@pytest.mark.parametrize("file", ["job.toml", "city.toml"])
@pytest.mark.parametrize("ends", [True, False])
def test_the_day_decides_where_a_variance_ends(
    building: ListedBuilding,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    file: str,
    ends: bool,
) -> None:
    class Later(date):
        @classmethod
        def today(cls) -> date:
            return date(2027, 1, 1)

    if ends:
        with (tmp_path / file).open("a", encoding="utf-8") as job:
            job.write(ENDS)
    before = digest(building)
    monkeypatch.setattr(inputs, "date", Later)
    assert (digest(building) != before) is ends


def test_a_pack_of_others_decides(
    building: ListedBuilding, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    entry = EntryPoint("acme", "acme_linings", "ifclint.packs")
    monkeypatch.setattr(inputs, "entry_points", lambda group: [entry] if "packs" in group else [])
    monkeypatch.syspath_prepend(str(tmp_path))
    pack = tmp_path / "acme_linings.py"
    seen = set()
    for text in ("least_mm = 2", "least_mm = 3"):
        pack.write_text(text, encoding="utf-8")
        inputs._installed.cache_clear()
        seen.add(digest(building))
    inputs._installed.cache_clear()
    assert len(seen) == 2
