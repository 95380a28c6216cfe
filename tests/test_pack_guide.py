"""The guide for authors of packs is true: the pack that it writes is made of it and tested."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from types import ModuleType

from ifclint.packs import load_packs, make_pack
from ifclint.report import write_reports
from ifclint.review import review

ROOT = Path(__file__).parent.parent
TEMPLATE = ROOT / "docs" / "pack-template"
SMALLEST = ROOT / "models" / "smallest.ifc"
GUIDE = (ROOT / "plugins" / "README.md").read_text(encoding="utf-8")
BLOCK = re.compile(r"^```(?:toml|python|csv)\n(.*?)^```$", re.M | re.S)


def _files() -> dict[str, str]:
    """What the guide writes: the first line of each block names its file."""
    found = {}
    for text in BLOCK.findall(GUIDE):
        first = text.partition("\n")[0]
        if first.startswith("# ") and re.fullmatch(r"# [\w/]+\.\w+", first):
            found[first[2:]] = text
        elif first.startswith("size_in,"):
            found["acme_linings/tables/lining.csv"] = text
    return found


def test_the_template_is_the_pack_of_the_guide() -> None:
    files = _files()
    assert len(files) == 7
    for name, text in files.items():
        path = TEMPLATE / name
        if os.environ.get("IFCLINT_WRITE_GOLDEN"):
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        assert path.read_text(encoding="utf-8") == text
    there = (p for p in TEMPLATE.rglob("*") if p.is_file() and "__pycache__" not in p.parts)
    assert {p.relative_to(TEMPLATE).as_posix() for p in there} == {*files, "README.md"}


def test_the_template_installed_is_listed_asked_and_tested(tmp_path: Path) -> None:
    """As its author would: copied, installed, `ifclint packs`, its own tests, a review."""
    shutil.copytree(TEMPLATE, tmp_path / "acme")
    site = tmp_path / "site"
    install = ["pip", "install", "--quiet", "--no-deps", "--no-build-isolation", "--no-index"]
    _run(tmp_path, *install, "--target", str(site), str(tmp_path / "acme"))
    env = {"PYTHONPATH": str(site), "PATH": ""}
    assert "acme  from acme-linings 1.0" in _run(tmp_path, "ifclint.cli", "packs", env=env)
    tested = _run(tmp_path / "acme", "pytest", "-q", "-p", "no:cacheprovider", "tests", env=env)
    assert "1 passed" in tested
    review = ["review", str(SMALLEST), "--code", "upc-2021", "--rules", "acme-lining"]
    said = _run(tmp_path, "ifclint.cli", *review, "--format", "json", "--out", "r", env=env, ends=2)
    (row,) = [c for c in json.loads(said)["coverage"] if c["rule"] == "acme-lining"]
    assert row["subjects"] == row["unverified"] > 0


def test_all_that_the_guide_shows_a_pack_to_bring_is_taken(tmp_path: Path) -> None:
    (text,) = [block for block in BLOCK.findall(GUIDE) if "def ifclint_drawings" in block]
    shown = ModuleType("shown")
    sys.modules["shown"] = shown
    exec(text, shown.__dict__)
    pack = make_pack("shown", shown)
    packs = load_packs()
    packs.loaded.append(pack)
    done = review([ROOT / "models" / "dwelling_early.ifc"], code="upc-2021", packs=packs)
    done, _ = write_reports(done, tmp_path, packs)
    assert done.failures == ()
    (schedule,) = [s for s in done.schedules if s.key == "acme-valves"]
    (drawn,) = [r for r in done.risers if r.key == "acme-valves"]
    untagged = {f.subject for f in done.findings if f.rule == "valve-tagged"}
    assert len(schedule.rows) == len(drawn.marks) > 2
    assert set((tmp_path / "untagged.txt").read_text().splitlines()) == untagged
    (judged,) = [c for c in done.coverage if c.rule == "valve-tagged"]
    assert judged.subjects == len(schedule.rows)


def _run(at: Path, *command: str, env: dict[str, str] | None = None, ends: int = 0) -> str:
    run = subprocess.run(
        [sys.executable, "-m", *command], cwd=at, capture_output=True, text=True, check=False,
        env=env,
    )  # fmt: skip
    assert run.returncode == ends, run.stdout[-3000:] + run.stderr[-3000:]
    return run.stdout


def test_every_hook_is_in_the_guide() -> None:
    from ifclint.packs import PackHooks

    hooks = [name for name in dir(PackHooks) if name.startswith("ifclint_")]
    assert len(hooks) == 8
    for hook in hooks:
        assert f"| `{hook}` |" in GUIDE
        assert len(getattr(PackHooks, hook).__doc__ or "") > 20
