"""Both files are written whole, into a folder made for them, or not at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from ifclint.errors import InputError
from ifclint.report import write_reports
from ifclint.report.as_json import json_bytes, write_json
from tests.report import samples


def test_both_files_are_written_and_nothing_else(tmp_path: Path) -> None:
    out = tmp_path / "a" / "b"
    paths = write_reports(samples.full(), out)
    assert paths == (out / "findings.json", out / "report.html")
    assert sorted(path.name for path in out.iterdir()) == ["findings.json", "report.html"]
    assert paths[0].read_bytes() == json_bytes(samples.full())
    assert paths[1].read_bytes().startswith(b"<!DOCTYPE html>")


def test_files_of_an_earlier_run_are_replaced(tmp_path: Path) -> None:
    write_reports(samples.full(), tmp_path)
    write_reports(samples.empty(), tmp_path)
    assert (tmp_path / "findings.json").read_bytes() == json_bytes(samples.empty())


def test_findings_can_be_written_alone(tmp_path: Path) -> None:
    write_json(samples.full(), tmp_path / "f.json")
    assert (tmp_path / "f.json").read_bytes() == json_bytes(samples.full())


def test_a_folder_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file", encoding="utf-8")
    with pytest.raises(InputError, match=r"cannot be written to .*taken.*--out"):
        write_reports(samples.full(), tmp_path / "taken")


def test_a_write_that_fails_leaves_the_earlier_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_reports(samples.empty(), tmp_path)

    def full_disk(source: str, target: str) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full_disk)
    with pytest.raises(InputError, match="No space left"):
        write_reports(samples.full(), tmp_path)
    assert (tmp_path / "findings.json").read_bytes() == json_bytes(samples.empty())
    assert sorted(path.name for path in tmp_path.iterdir()) == ["findings.json", "report.html"]
