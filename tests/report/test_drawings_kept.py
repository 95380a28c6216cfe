"""The drawings of the demos and of a made-up review are kept line by line: where each pipe, word,
number and symbol stands on its paper."""

from __future__ import annotations

import pytest

from tests.report.kept_drawings import FOLDER, KEPT, differing, drawings


@pytest.mark.parametrize("name", KEPT)
def test_drawings_are_as_kept(name: str) -> None:
    found = differing(drawings(name), (FOLDER / f"{name}.txt").read_text(encoding="utf-8"))
    assert not found, "IFCLINT_WRITE_GOLDEN: see test_golden\n" + "\n".join(found[:10])


@pytest.mark.parametrize(
    ("made", "kept", "count"),
    [
        ("x: 1.25 2.00", "x: 1.25 2.00", 0), ("x: 1.25", "x: 1.30", 0), ("x: 1.25", "x: 1.35", 1),
        ("x: 1", "x: 2", 1), ("x: 1.25", "y: 1.25", 1), ("x", "x\ny", 1), ("x: 1.5", "x: 1 2.5", 1),
    ],
)  # fmt: skip
def test_what_differs(made: str, kept: str, count: int) -> None:
    assert len(differing(made, kept)) == count
