"""What is installed: one import package, typed, with its licence and its packs."""

from __future__ import annotations

import os
import zipfile
from configparser import ConfigParser
from email import message_from_bytes
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> zipfile.ZipFile:
    build = pytest.importorskip("hatchling.build", reason="hatchling, which builds it, is missing")
    folder, before = tmp_path_factory.mktemp("wheel"), Path.cwd()
    os.chdir(ROOT)
    try:
        return zipfile.ZipFile(folder / build.build_wheel(str(folder)))
    finally:
        os.chdir(before)


def test_it_installs_one_import_package(wheel: zipfile.ZipFile) -> None:
    top = {name.split("/")[0] for name in wheel.namelist()}
    assert {name for name in top if not name.endswith(".dist-info")} == {"ifclint"}


def test_all_that_the_checkout_has_is_in_it(wheel: zipfile.ZipFile) -> None:
    held = {name for name in wheel.namelist() if name.startswith("ifclint/")}
    for folder in (ROOT, ROOT / "plugins"):
        for path in (folder / "ifclint").rglob("*"):
            if path.is_file() and path.suffix not in (".pyc", ".pyo"):
                assert path.relative_to(folder).as_posix() in held
    assert "ifclint/py.typed" in held


def test_it_says_its_licence_and_carries_it(wheel: zipfile.ZipFile) -> None:
    (name,) = (name for name in wheel.namelist() if name.endswith("/METADATA"))
    said = message_from_bytes(wheel.read(name))
    assert said["License-Expression"] == "MIT"
    carried = wheel.read(f"{name.rpartition('/')[0]}/licenses/LICENSE")
    assert carried == (ROOT / "LICENSE").read_bytes()
    assert "Typing :: Typed" in said.get_all("Classifier", [])


def test_its_entry_points_lead_to_modules_in_it(wheel: zipfile.ZipFile) -> None:
    (name,) = (name for name in wheel.namelist() if name.endswith("/entry_points.txt"))
    read = ConfigParser()
    read.read_string(wheel.read(name).decode())
    places = [*read["ifclint.packs"].values(), read["console_scripts"]["ifclint"].split(":")[0]]
    for place in places:
        path = place.replace(".", "/")
        assert {f"{path}.py", f"{path}/__init__.py"} & set(wheel.namelist()), place
