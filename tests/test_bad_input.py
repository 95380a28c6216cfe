"""Input that no command can use: one sentence that names it, and status 2."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SMALLEST = ROOT / "models/smallest.ifc"
POINTER = "version https://git-lfs.github.com/spec/v1\noid sha256:4d7a2146\nsize 12345\n"
Words = tuple[object, ...]


def _ifclint(*words: object) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "ifclint.cli", *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, cwd=ROOT, check=False)


@pytest.fixture(scope="module")
def reviewed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """findings.json of the dwelling."""
    out = tmp_path_factory.mktemp("dwelling")
    model = ROOT / "models/dwelling_early.ifc"
    _ifclint("review", model, "--job", model.with_suffix(".toml"), "--out", out)
    return out / "findings.json"


def _of_another_version(reviewed: Path, folder: Path) -> Path:
    document = json.loads(reviewed.read_text(encoding="utf-8"))
    path = folder / "old.json"
    path.write_text(json.dumps({**document, "schema_version": "0"}), encoding="utf-8")
    return path


def _old_findings(reviewed: Path, folder: Path) -> Words:
    return ("compare", _of_another_version(reviewed, folder), reviewed)


def _old_baseline(reviewed: Path, folder: Path) -> Words:
    old = _of_another_version(reviewed, folder)
    return ("review", SMALLEST, "--code", "upc-2021", "--out", folder, "--baseline", old)


def _baseline_of_another_building(reviewed: Path, folder: Path) -> Words:
    return ("review", SMALLEST, "--code", "upc-2021", "--out", folder, "--baseline", reviewed)


def _one_name_twice(_: Path, folder: Path) -> Words:
    listed = folder / "buildings.toml"
    listed.write_text(f'[[building]]\nname = "Mill"\nmodels = ["{SMALLEST}"]\n' * 2)
    return ("batch", listed, "--out", folder / "out")


def _no_models(_: Path, folder: Path) -> Words:
    (folder / "notes.txt").touch()
    return ("batch", folder, "--out", folder / "out")


def _a_long_outlet(_: Path, folder: Path) -> Words:
    (folder / "job.toml").write_text(f'[drainage]\noutlets = ["{"9" * 5000}"]\n')
    job = ("--job", folder / "job.toml", "--code", "upc-2021")
    return ("review", SMALLEST, *job, "--out", folder / "out")


def _no_scheduler(_: Path, folder: Path) -> Words:
    pytest.importorskip("distributed", reason="clusters need the extra `cluster`")
    shutil.copy(SMALLEST, folder)
    return ("batch", folder, "--out", folder / "out", "--scheduler", "tcp://127.0.0.1:1")


def _no_address(_: Path, folder: Path) -> Words:
    pytest.importorskip("distributed", reason="clusters need the extra `cluster`")
    shutil.copy(SMALLEST, folder)
    return ("batch", folder, "--out", folder / "out", "--scheduler", "here://or there")


def _not_pulled(_: Path, folder: Path) -> Words:
    model = folder / "tower.ifc"
    model.write_text(POINTER)
    return ("review", model, "--code", "upc-2021", "--out", folder / "out")


def _pipe(folder: Path, name: str) -> Path:
    """A named pipe that nobody writes to: whoever reads it waits for ever."""
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    os.mkfifo(path)
    return path


def _compare_a_pipe(reviewed: Path, folder: Path) -> Words:
    return ("compare", _pipe(folder, "old.json"), reviewed)


def _compare_what_has_no_end(reviewed: Path, folder: Path) -> Words:
    return ("compare", reviewed, "/dev/zero")


def _batch_of_a_pipe(_: Path, folder: Path) -> Words:
    return ("batch", _pipe(folder, "list.toml"), "--out", folder / "out")


def _review_a_pipe(_: Path, folder: Path) -> Words:
    return ("review", _pipe(folder, "a.ifc"), "--code", "upc-2021", "--out", folder / "out")


def _edition(folder: Path) -> Path:
    edition = folder / "upc-2021"
    shutil.copytree(ROOT / "ifclint/codes/upc-2021", edition)
    (edition / "minimum_slope.csv").unlink()
    return edition


def _edition_with_a_pipe(_: Path, folder: Path) -> Words:
    edition = _edition(folder)
    _pipe(edition, "minimum_slope.csv")
    return ("review", SMALLEST, "--code", edition, "--out", folder / "out")


def _edition_without_end(_: Path, folder: Path) -> Words:
    edition = _edition(folder)
    (edition / "minimum_slope.csv").symlink_to("/dev/zero")
    return ("review", SMALLEST, "--code", edition, "--out", folder / "out")


def _a_long_name(_: Path, folder: Path) -> Words:
    listed = folder / "buildings.toml"
    listed.write_text(f'[[building]]\nname = "{"x" * 5000}"\nmodels = ["{SMALLEST}"]\n')
    return ("batch", listed, "--out", folder / "out")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (_old_findings, "old.json is no findings.json of version"),
        (_old_baseline, "old.json is no findings.json of version"),
        (_baseline_of_another_building, "give two reviews of one building"),
        (_one_name_twice, '"Mill" is named as another building is'),
        (_no_models, "holds no building"),
        (_no_scheduler, "No scheduler answers at tcp://127.0.0.1:1"),
        (_no_address, "No scheduler answers at here://or there"),
        (_compare_a_pipe, "old.json cannot be read (it is no file but a device)"),
        (_compare_what_has_no_end, "/dev/zero cannot be read (it is no file but a device)"),
        (_batch_of_a_pipe, "list.toml cannot be read (it is no file but a device)"),
        (_review_a_pipe, "a.ifc"),
        (_edition_with_a_pipe, "minimum_slope.csv cannot be read: it is no file but a device"),
        (_edition_without_end, "minimum_slope.csv cannot be read: it is no file but a device"),
        (_a_long_name, "cannot be the name of a folder"),
        (_a_long_outlet, "drainage.outlets: no drainage element has the GlobalId"),
        (_not_pulled, "is the pointer to a large file that was not fetched"),
    ],
)
def test_it_is_one_sentence_and_2(
    words: Callable[[Path, Path], Words], said: str, reviewed: Path, tmp_path: Path
) -> None:
    done = _ifclint(*words(reviewed, tmp_path))
    assert done.returncode == 2, done.stderr
    assert said in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1
    assert len(done.stderr) < 1000
    assert not list(tmp_path.rglob("findings.json"))


def test_a_model_that_was_not_pulled_costs_its_building_alone(tmp_path: Path) -> None:
    (tmp_path / "all").mkdir()
    shutil.copy(SMALLEST, tmp_path / "all/gatehouse.ifc")
    (tmp_path / "all/tower.ifc").write_text(POINTER)
    (tmp_path / "all/job.toml").write_text('adopted_code = "upc-2021"\n')
    done = _ifclint("batch", tmp_path / "all", "--out", tmp_path / "out")
    assert done.returncode == 3
    assert "was not fetched" in next(
        line for line in done.stdout.splitlines() if line.startswith("tower: not-done")
    )
    rows = json.loads((tmp_path / "out/portfolio.json").read_bytes())["buildings"]
    assert {row["name"]: row["verdict"] == "not-done" for row in rows} == {
        "gatehouse": False,
        "tower": True,
    }
