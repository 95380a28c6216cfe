"""Tables and single limits that a rule pack brings, beside those of the adopted code.

A folder holds one CSV file a table, tables.toml that describes them and, where a table has columns
of its own, columns.toml that documents those, all in the form of an edition's folder. A table may
differ by the code adopted: the file in a folder named as the edition ("irc-2021"), as the code
("irc") or as its family ("ipc") goes before the one beside tables.toml. limits.csv adds to the
limits of the code.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType

from ifclint.codes.editions import read_described, refuse_unlisted
from ifclint.codes.tables import Row, Table, Value, documentation_of, read_toml

LIMITS = "limits"
LIMITS_ENTRY = {
    "title": "Single limits of rule packs", "clause": "", "status": "as the pack states them",
    "topic": "rule packs", "used_by": "the pack that brings them", "row_key": ["key"],
}  # fmt: skip
LIMITS_COLUMNS = ("key", "value", "unit", "clause")  # those that a limit cannot be without


@dataclass(frozen=True)
class CodeTables:
    """A folder of tables, and what they are cited as: "Acme standard"."""

    folder: Path
    citation: str


def tables_of(brought: CodeTables, edition: str, family: str) -> list[Table]:
    """The tables of a folder under an adopted code. ValueError names the file that is wrong."""
    try:
        return _tables(brought, (edition, edition.partition("-")[0], family))
    except (ValueError, OSError) as error:
        raise ValueError(f"{brought.citation}: {error}") from None


def _tables(brought: CodeTables, names: Sequence[str]) -> list[Table]:
    folder = brought.folder
    if not folder.is_dir():
        raise ValueError(f"there is no folder {folder}")
    documented = documentation_of(folder)
    stated = {LIMITS: LIMITS_ENTRY, **read_toml(folder / "tables.toml")}
    homes = [home for home in (*(folder / name for name in names), folder) if home.is_dir()]
    for home in homes:
        refuse_unlisted(home, stated)
    found = []
    for key, entry in stated.items():
        files = (home / f"{key}.csv" for home in homes)
        if path := next((file for file in files if file.exists()), None):
            found.append(read_described(path, entry, brought.citation, documented))
        elif key != LIMITS and not any(folder.glob(f"*/{key}.csv")):
            raise ValueError(f"tables.toml tells of a table {key}, but there is no {key}.csv")
    for table in found:
        if table.key == LIMITS and (lacking := set(LIMITS_COLUMNS) - set(table.columns)):
            raise ValueError(f"limits.csv lacks {', '.join(sorted(lacking))}")
    return found


def joined(tables: Sequence[Table]) -> Table:
    """The limits of a code with those of rule packs. ValueError for one that two set."""
    first, *more = tables
    rows = {row.text("key"): row for row in first.rows}
    empty: dict[str, Value] = dict.fromkeys(first.columns)
    for table in more:
        for row in table.rows:
            key = row.text("key")
            if key in rows:
                there = _place(rows[key])
                raise ValueError(f"{_place(row)} sets {key}, but {there} sets it already")
            rows[key] = replace(row, values=MappingProxyType({**empty, **row.values}))
    return replace(first, rows=tuple(rows.values()))


def _place(row: Row) -> str:
    """Where a limit stands: its clause, or its source where no clause has it."""
    return row.clause or row.source
