"""Templates are compiled once, and anew as soon as anything about them differs."""

from __future__ import annotations

import sys
from pathlib import Path

import jinja2
import pytest

from ifclint.report import pages


@pytest.fixture(autouse=True)
def _written(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "dont_write_bytecode", False)


def _said(folder: Path, text: str = "a {{ what }}") -> str:
    (folder / "page.j2").write_text(text, encoding="utf-8")
    return pages.environment(folder).get_template("page.j2").render(what="<b>")


def _compiled(folder: Path) -> list[Path]:
    return sorted(folder.glob("__pycache__/*"))


def test_a_template_is_compiled_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert _said(tmp_path) == "a &lt;b&gt;"
    assert len(_compiled(tmp_path)) == 1
    monkeypatch.delattr(jinja2.Environment, "compile")
    assert _said(tmp_path) == "a &lt;b&gt;"


def test_a_changed_template_is_compiled_anew(tmp_path: Path) -> None:
    assert _said(tmp_path) == "a &lt;b&gt;"
    assert _said(tmp_path, "c {{ what }}") == "c &lt;b&gt;"
    assert len(_compiled(tmp_path)) == 1


@pytest.mark.parametrize("version", ["3.0.0", "99.0"])
def test_another_version_compiles_anew(
    version: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _said(tmp_path)
    (kept,) = _compiled(tmp_path)
    before = kept.read_bytes()
    monkeypatch.setattr(jinja2, "__version__", version)
    assert _said(tmp_path) == "a &lt;b&gt;"
    assert kept.read_bytes() != before


def test_what_is_damaged_is_compiled_anew(tmp_path: Path) -> None:
    _said(tmp_path)
    (kept,) = _compiled(tmp_path)
    kept.write_bytes(b"nothing")
    assert _said(tmp_path) == "a &lt;b&gt;"


@pytest.mark.parametrize("length", [0, 10, 60, 120])
def test_what_is_cut_off_is_compiled_anew(length: int, tmp_path: Path) -> None:
    _said(tmp_path)
    (kept,) = _compiled(tmp_path)
    kept.write_bytes(kept.read_bytes()[:length])
    assert _said(tmp_path) == "a &lt;b&gt;"


def test_nothing_is_kept_where_it_may_not_be(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    assert _said(tmp_path) == "a &lt;b&gt;"
    assert not _compiled(tmp_path)


def test_nothing_is_kept_where_it_cannot_be(tmp_path: Path) -> None:
    (tmp_path / "__pycache__").write_text("a file", encoding="utf-8")
    assert _said(tmp_path) == "a &lt;b&gt;"
