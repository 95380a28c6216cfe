"""Both files are written whole, into a folder made for them, or not at all."""

from __future__ import annotations

import os
from pathlib import Path
from types import SimpleNamespace

import pytest

from ifclint.errors import InputError
from ifclint.findings import Review
from ifclint.packs import Packs, ReportFormat, hookimpl, make_pack
from ifclint.report import formats, write_reports
from ifclint.report.as_json import json_bytes, write_json
from tests.report import samples


def test_both_files_are_written_and_nothing_else(tmp_path: Path) -> None:
    out = tmp_path / "a" / "b"
    _, paths = write_reports(samples.full(), out)
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


def test_a_report_of_a_pack_is_written_beside_ours_and_a_failing_one_is_named(
    tmp_path: Path,
) -> None:
    def broken(review: Review) -> bytes:
        raise RuntimeError("out of ink")

    brought = [ReportFormat("count.txt", lambda r: str(len(r.findings)).encode())]
    brought += [ReportFormat("broken.txt", broken), ReportFormat("../x.txt", lambda r: b"")]
    pack = SimpleNamespace(ifclint_report_formats=hookimpl(lambda: brought))
    packs = Packs([make_pack("reports", formats), make_pack("trial", pack)])
    said, paths = write_reports(samples.full(), tmp_path, packs)
    assert {p.name for p in paths} == {"findings.json", "report.html", "count.txt"}
    assert (tmp_path / "count.txt").read_bytes() == str(len(samples.full().findings)).encode()
    failed = [(f.pack, f.rule) for f in said.failures if f.pack == "trial"]
    assert failed == [("trial", "broken.txt"), ("trial", "../x.txt")]
    assert b"out of ink" in (tmp_path / "findings.json").read_bytes()


def test_a_report_that_fails_now_leaves_none_of_an_earlier_run(tmp_path: Path) -> None:
    def broken(review: Review) -> bytes:
        raise RuntimeError("out of ink")

    (tmp_path / "list.txt").write_text("of yesterday", encoding="utf-8")
    pack = SimpleNamespace(
        ifclint_report_formats=hookimpl(lambda: [ReportFormat("list.txt", broken)])
    )
    write_reports(samples.full(), tmp_path, Packs([make_pack("trial", pack)]))
    assert sorted(p.name for p in tmp_path.iterdir()) == ["findings.json", "report.html"]


def test_our_reports_are_written_whatever_is_installed(tmp_path: Path) -> None:
    names = ["findings.json", "findings.sarif", "corrections.txt", "schedule-drains.csv"]
    claims = [ReportFormat(name, lambda r: b"mine") for name in names]
    pack = SimpleNamespace(ifclint_report_formats=hookimpl(lambda: claims))
    said, _ = write_reports(samples.full(), tmp_path, Packs([make_pack("trial", pack)]))
    assert (tmp_path / "findings.json").read_bytes() == json_bytes(said)
    assert [f.rule for f in said.failures if f.pack == "trial"] == names
