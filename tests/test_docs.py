"""The documentation: its commands do what it says, and it builds."""

from __future__ import annotations

import importlib.util
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.command import run

ROOT = Path(__file__).parents[1]
PAGES = sorted((ROOT / "docs" / "tutorials").glob("*.md"))


def commands(page: Path) -> list[str]:
    blocks = re.findall(r"```sh\n(.*?)```", page.read_text(encoding="utf-8"), re.S)
    return [line for block in blocks for line in block.splitlines() if line.startswith("ifclint ")]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_the_commands_of_a_tutorial_run_as_written(page: Path, tmp_path: Path) -> None:
    shutil.copytree(ROOT / "models", tmp_path / "models", ignore=shutil.ignore_patterns("*.py"))
    written = commands(page)
    assert written
    for line in written:
        done = run(*line.split()[1:], cwd=tmp_path)
        early = "_early" in line and line.startswith("ifclint review")
        assert done.returncode == (1 if early and "--fail-on" not in line else 0), done.stderr
    named = re.findall(r"`((?:review|again|agreed)/[a-z.-]+)`", page.read_text(encoding="utf-8"))
    for name in named:
        assert (tmp_path / name).exists(), name


def test_the_site_builds_without_a_warning(tmp_path: Path) -> None:
    for name in ("sphinx", "myst_parser"):
        if importlib.util.find_spec(name) is None:
            pytest.skip("the site needs the extra `docs`")
    done = subprocess.run(
        [sys.executable, "-m", "sphinx", "-Wqb", "html", str(ROOT / "docs"), str(tmp_path)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "index.html").exists()
