"""Reports of an earlier review of a folder: none stays beside another, or where none was done."""

from __future__ import annotations

from collections.abc import Collection
from contextlib import suppress
from pathlib import Path

from ifclint.report.exchange import FILES, SCHEDULES

ALWAYS = ("findings.json", "report.html")


def take_away(out_dir: Path, but: Collection[Path | None] = ()) -> None:
    """Take away all reports that a review writes, except for some files."""
    kept = {path.absolute() for path in but if path is not None}
    with suppress(OSError):
        named = [out_dir / name for name in (*ALWAYS, *FILES.values())]
        for path in (*named, *out_dir.glob(f"{SCHEDULES.removesuffix('s')}-*.csv")):
            if path.is_file() and path.absolute() not in kept:
                path.unlink()
