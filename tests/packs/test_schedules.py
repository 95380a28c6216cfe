"""What the packs tabulate and draw of the demos is as it was last looked at."""

from __future__ import annotations

import pytest

from ifclint.packs import Pack
from tests.packs.sheets import SHEETS, file_of, sheets


@pytest.mark.parametrize(("demo", "code", "pack"), SHEETS)
def test_sheets_of_the_demos_are_kept(demo: str, code: str, pack: Pack) -> None:
    kept = file_of(demo, pack)
    said = kept.read_text(encoding="utf-8") if kept.exists() else ""
    assert sheets(demo, code, pack) == said, "IFCLINT_WRITE_GOLDEN: see test_golden"
