"""The guide for authors of packs is true: the pack that it writes is made of it and tested."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent
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


def test_the_pack_of_the_guide_passes_its_own_test(tmp_path: Path) -> None:
    files = _files()
    assert len(files) == 7
    for name, text in files.items():
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "tests"]
    run = subprocess.run(
        command, cwd=tmp_path, capture_output=True, text=True, check=False,
        env={"PYTHONPATH": str(tmp_path), "PATH": ""},
    )  # fmt: skip
    assert run.returncode == 0, run.stdout[-3000:]
    assert "1 passed" in run.stdout


def test_every_hook_is_in_the_guide() -> None:
    from ifclint.packs import PackHooks

    hooks = [name for name in dir(PackHooks) if name.startswith("ifclint_")]
    assert len(hooks) == 8
    for hook in hooks:
        assert f"| `{hook}` |" in GUIDE
        assert len(getattr(PackHooks, hook).__doc__ or "") > 20
