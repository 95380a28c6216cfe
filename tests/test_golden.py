"""The whole review of the demo, and what rules answer in their cases, kept as they should be: any
change shows as a difference.

Written anew by IFCLINT_WRITE_GOLDEN=1; look at the difference before it is committed.
"""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from ifclint.report.as_json import to_dict
from ifclint.review import review
from ifclint.testing.cases import said_of
from tests.packs.kept import is_kept, kept, told, write
from tests.packs.sheets import FOLDER, SHEETS, file_of, sheets
from tests.packs.test_rule_cases import CASES, OURS, PACKS
from tests.report import kept_drawings

ROOT = Path(__file__).parent.parent
GOLDEN = Path(__file__).parent / "golden"
KEPT = ("verdict", "reason", "findings", "coverage", "failures", "schedules", "assumptions")


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021"])
@pytest.mark.parametrize("revision", ["early", "corrected"])
def test_demo_review_is_as_kept(revision: str, code: str) -> None:
    model = ROOT / "models" / f"dwelling_{revision}.ifc"
    done = to_dict(review([model], model.with_suffix(".toml"), code))
    said = json.loads(json.dumps({key: done[key] for key in KEPT}))
    kept = GOLDEN / f"dwelling_{revision}_{code}.json"
    if os.environ.get("IFCLINT_WRITE_GOLDEN"):
        kept.parent.mkdir(exist_ok=True)
        kept.write_text(json.dumps(said, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    assert said == json.loads(kept.read_text(encoding="utf-8"))


@pytest.mark.parametrize("pack", OURS)
def test_answers_in_cases_are_kept(pack: str) -> None:
    """That they are as kept is asked case by case (tests/packs/test_rule_cases.py)."""
    cases = [case for name, case in CASES if name == pack and is_kept(case)]
    assert len({str(case) for case in cases}) == len(cases)
    if os.environ.get("IFCLINT_WRITE_GOLDEN"):
        write(pack, [(case, told(said_of(case, PACKS[pack]))) for case in cases])
        kept.cache_clear()
    assert list(kept(pack)) == [str(case) for case in cases]


def test_drawings_are_kept() -> None:
    """That they are as kept is asked one by one (tests/report/test_drawings_kept.py)."""
    files = {kept_drawings.FOLDER / f"{name}.txt": name for name in kept_drawings.KEPT}
    if os.environ.get("IFCLINT_WRITE_GOLDEN"):
        for file, name in files.items():
            file.parent.mkdir(exist_ok=True)
            file.write_text(kept_drawings.drawings(name), encoding="utf-8")
    assert {*kept_drawings.FOLDER.iterdir()} == {*files}


def test_sheets_of_the_demos_are_kept() -> None:
    """That they are as kept is asked pack by pack (tests/packs/test_schedules.py)."""
    made = {
        file_of(demo, pack): text
        for demo, code, pack in SHEETS
        if (text := sheets(demo, code, pack))
    }
    if os.environ.get("IFCLINT_WRITE_GOLDEN"):
        for file, text in made.items():
            file.parent.mkdir(exist_ok=True)
            file.write_text(text, encoding="utf-8")
    assert {*FOLDER.iterdir()} == {*made}
