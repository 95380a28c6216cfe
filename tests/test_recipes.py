"""The recipes for pipelines: what can be tried without a network is tried."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
import yaml

ROOT = Path(__file__).parents[1]
HOOKS = yaml.safe_load((ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8"))
ACTION = yaml.safe_load((ROOT / ".github/actions/review/action.yml").read_text(encoding="utf-8"))
PIPELINE = yaml.safe_load((ROOT / "docs/recipes/pipeline.yml").read_text(encoding="utf-8"))
MODEL = ROOT / "models/dwelling_early.ifc"
BIN = Path(sys.executable).parent
COMMANDS = ("review", "batch", "compare", "codes", "elements", "fieldsheet", "requirements")


def _env(**more: object) -> dict[str, str]:
    return {
        **os.environ,
        "PATH": f"{BIN}:{os.environ['PATH']}",
        **{k: str(v) for k, v in more.items()},
    }


def test_the_hook_runs_the_command_on_models_that_belong_together(tmp_path: Path) -> None:
    (hook,) = HOOKS
    assert hook["pass_filenames"] is False
    assert hook["require_serial"] is True
    assert re.search(hook["files"], "a/model.ifc")
    assert re.search(hook["files"], "model.ifczip")
    assert not re.search(hook["files"], "model.ifcx")
    command = [*hook["entry"].split(), str(MODEL), "--code", "upc-2021", "--out", str(tmp_path)]
    done = subprocess.run(command, env=_env(), capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert "CORRECTIONS REQUIRED" in done.stdout


def test_the_action_runs_and_gives_the_status_on(tmp_path: Path) -> None:
    _, step = ACTION["runs"]["steps"]
    inputs = {k: v.get("default", "") for k, v in ACTION["inputs"].items()}
    inputs |= {"models": str(MODEL), "job": str(MODEL.with_suffix(".toml")), "out": str(tmp_path)}
    env = {
        name: inputs[re.sub(r"\W*inputs\.(\w+)\W*", r"\1", value)]
        for name, value in step["env"].items()
    }
    told = tmp_path / "told"
    done = subprocess.run(
        ["bash", "-c", step["run"]],
        env=_env(**env, GITHUB_OUTPUT=told), capture_output=True, check=False,
    )  # fmt: skip
    assert done.returncode == 1, done.stderr
    assert told.read_text() == "status=1\n"
    assert (tmp_path / "findings.sarif").exists()


def test_the_action_installs_this_project() -> None:
    install, _ = ACTION["runs"]["steps"]
    (folder,) = re.findall(r'"(.*)"', install["run"])
    at = folder.replace("$GITHUB_ACTION_PATH", str(ROOT / ".github/actions/review"))
    project = tomllib.loads((Path(at) / "pyproject.toml").read_text(encoding="utf-8"))
    assert project["project"]["name"] == "ifclint"


def test_the_pipeline_keeps_what_the_command_writes(tmp_path: Path) -> None:
    job = PIPELINE["plumbing-review"]
    (script,) = job["script"]
    done = subprocess.run(
        ["bash", "-c", script], cwd=tmp_path, capture_output=True, check=False,
        env=_env(MODELS=MODEL, JOB=MODEL.with_suffix(".toml")),
    )  # fmt: skip
    assert done.returncode == 1, done.stderr
    assert job["artifacts"]["when"] == "always"
    for kept in (*job["artifacts"]["paths"], *job["artifacts"]["reports"].values()):
        assert (tmp_path / kept).exists()


def test_the_image_installs_optional_parts_that_there_are() -> None:
    text = (ROOT / "docs/recipes/Containerfile").read_text(encoding="utf-8")
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    (named,) = re.findall(r"/src\[([a-z,]+)\]", text)
    assert set(named.split(",")) <= set(project["optional-dependencies"])


@pytest.mark.parametrize("page", ["docs/pipelines.md", "docs/many-buildings.md", "README.md"])
def test_every_option_that_a_page_names_is_one_of_the_command(page: str) -> None:
    text = (ROOT / page).read_text(encoding="utf-8")
    helped = "".join(
        subprocess.run(
            [str(BIN / "ifclint"), name, "--help"], capture_output=True, text=True, check=False,
            env=_env(COLUMNS=300),
        ).stdout
        for name in COMMANDS
    )  # fmt: skip
    own = set(re.findall(r"`[^`\n]*?(--[a-z][a-z-]+)", text)) - {"--version"}
    assert own
    assert {option for option in own if option not in helped} == set()
