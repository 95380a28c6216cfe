"""Tables and single limits that a rule pack brings, beside those of the adopted code.

A folder holds one CSV file a table, tables.toml that describes them and, where a table has columns
of its own, columns.toml that documents those, all in the form of an edition's folder. A table may
differ by the code adopted: the file in a folder named as the edition ("upc-2021") or as its family
("upc") goes before the one beside tables.toml. limits.csv adds to the limits of the code.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from ifclint.codes.editions import read_described
from ifclint.codes.tables import Table

LIMITS = "limits"
LIMITS_ENTRY = {
    "title": "Single limits of rule packs", "clause": "", "status": "as the pack states them",
    "topic": "rule packs", "used_by": "the pack that brings them", "row_key": ["key"],
}  # fmt: skip


@dataclass(frozen=True)
class CodeTables:
    """A folder of tables, and what they are cited as: "Acme standard"."""

    folder: Path
    citation: str


def tables_of(brought: CodeTables, edition: str, family: str) -> list[Table]:
    """The tables of a folder under an adopted code. ValueError names the file that is wrong."""
    documented = _toml(brought.folder / "columns.toml")
    stated = _toml(brought.folder / "tables.toml")
    if _file(brought.folder, LIMITS, edition, family).exists():
        stated = {LIMITS: LIMITS_ENTRY, **stated}
    found = []
    for key, entry in stated.items():
        path = _file(brought.folder, key, edition, family)
        if path.exists():  # a table may be there for some codes alone
            found.append(read_described(path, entry, brought.citation, documented))
    return found


def merged(limits: Table, more: Iterable[Table]) -> Table:
    """The limits of a code with those of rule packs. ValueError for one that both set."""
    rows = list(limits.rows)
    for table in more:
        known = {row.text("key") for row in rows}
        for row in table.rows:
            if row.text("key") in known:
                raise ValueError(f"limits.csv: {limits.clause} sets {row.text('key')} already")
            empty = dict.fromkeys(limits.columns)
            rows.append(replace(row, values={**empty, **row.values}))
    return replace(limits, rows=tuple(rows))


def _file(folder: Path, key: str, edition: str, family: str) -> Path:
    own = (folder / name / f"{key}.csv" for name in (edition, family))
    return next((path for path in own if path.exists()), folder / f"{key}.csv")


def _toml(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8")) if path.exists() else {}
