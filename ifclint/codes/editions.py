"""The folders of the editions: what each holds, and what it takes over from another.

An edition with `based_on` in its code.toml has the tables of that edition, except where its own
folder holds a CSV file of the same name, and except what differences.toml says:

    without = ["waste_stack_vent"]                  # tables the edition does not have

    [[change]]                                      # cells of one row
    table = "limits"
    row = { key = "shower_flow_gpm" }
    set = { value = 2.0 }
    source = "where it was read"

    [[add]]                                         # a whole row
    table = "limits"
    row = { key = "...", topic = "...", value = 1.0, unit = "in", clause = "..." }
    source = "where it was read"

    [[remove]]                                      # a row the edition does not have
    table = "limits"
    row = { key = "..." }
    source = "where it was read"

A change with an empty `set` says that the edition was seen to hold the same values. All other rows
of the base are carried over, unseen, and say so. A table that several codes print alike stands in
a folder of its own, named in tables.toml by `shared`.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from ifclint.codes.changes import find_row, key_text
from ifclint.codes.folders import folder_of, installed
from ifclint.codes.tables import Documentation, Row, Table, Value, cited, read_table

Differences = Mapping[str, Any]


def editions() -> list[str]:
    """The names of all installed adopted codes."""
    return sorted(installed())


@cache
def description(edition: str) -> Mapping[str, str]:
    """What an edition is called, from its code.toml."""
    return MappingProxyType(_toml(edition, "code.toml"))


@cache
def contents(edition: str) -> Mapping[str, Mapping[str, Any]]:
    """What tables.toml says of every table of an edition, by key, with what its base says."""
    base = description(edition).get("based_on", "")
    without = differences(edition).get("without", [])
    merged = {k: v for k, v in (contents(base) if base else {}).items() if k not in without}
    for key, own in _toml(edition, "tables.toml").items():
        merged[key] = {**merged.get(key, {}), **own}
    return MappingProxyType(merged)


@cache
def differences(edition: str) -> Differences:
    """The differences of an edition from the one it is based on."""
    return _toml(edition, "differences.toml")


@cache
def table_of(edition: str, key: str) -> Table:
    """A table of an edition, read from its own folder or taken over from its base."""
    return _read(edition, key, contents(edition)[key], description(edition)["short"])


def _read(edition: str, key: str, stated: Mapping[str, Any], short: str) -> Table:
    home = folder_of(edition)
    shared = _toml(edition, "tables.toml").get(key, {}).get("shared")
    path = (home.parent / shared if shared else home) / f"{key}.csv"
    if path.exists():
        table = read_described(path, stated, short)
    else:
        base = description(edition)["based_on"]
        table = _carried(_read(base, key, stated, short), base)
    return _apply(table, differences(edition), short)


def read_described(
    path: Path, stated: Mapping[str, Any], short: str, documented: Documentation | None = None
) -> Table:
    """A table by what its entry in tables.toml states of it."""
    words = {k: v for k, v in stated.items() if k not in ("shared", "row_key")}
    key = tuple(stated["row_key"])
    return read_table(path, code=short, row_key=key, documented=documented, **words)


def _carried(table: Table, base: str) -> Table:
    rows = tuple(replace(row, carried_from=row.carried_from or base) for row in table.rows)
    return replace(table, rows=rows)


def _apply(table: Table, found: Differences, short: str) -> Table:
    """The table with the differences of one edition."""
    rows = list(table.rows)
    for change in _of(found, "change", table):
        index = find_row(table, change["row"], _place(change))
        rows[index] = _changed(table, rows[index], change, short)
    gone = {find_row(table, away["row"], _place(away)) for away in _of(found, "remove", table)}
    kept = [row for i, row in enumerate(rows) if i not in gone]
    kept += [_added(table, new, short) for new in _of(found, "add", table)]
    return replace(table, rows=tuple(kept))


def _changed(table: Table, row: Row, change: Mapping[str, Any], short: str) -> Row:
    cells = {**row.values, **_cells(table, change["set"]), "source": change["source"]}
    return _row(table, {**cells, "note": change.get("note", row.note)}, short)


def _added(table: Table, new: Mapping[str, Any], short: str) -> Row:
    empty: dict[str, Value] = dict.fromkeys(table.columns)
    cells = {**empty, **_cells(table, new["row"]), "source": new["source"]}
    return _row(table, {**cells, "note": new.get("note", "")}, short)


def _row(table: Table, cells: Mapping[str, Value], short: str) -> Row:
    own = cells.get("clause")
    clause = cited(short, str(own)) if own else table.clause
    return Row(MappingProxyType(dict(cells)), clause, str(cells["source"]), str(cells["note"]))


def _cells(table: Table, given: Mapping[str, Any]) -> dict[str, Value]:
    if unknown := set(given) - set(table.columns):
        raise ValueError(f"differences of {table.key}: no column {', '.join(sorted(unknown))}")
    return {c: float(v) if table.is_number(c) and v != "" else v or None for c, v in given.items()}


def _of(found: Differences, kind: str, table: Table) -> list[Mapping[str, Any]]:
    return [entry for entry in found.get(kind, []) if entry["table"] == table.key]


def _place(entry: Mapping[str, Any]) -> str:
    return f"differences.toml, {entry['table']}, row {key_text(entry['row'].items())}"


@cache
def _toml(edition: str, name: str) -> dict[str, Any]:
    path = folder_of(edition) / name
    return tomllib.loads(path.read_text(encoding="utf-8")) if path.exists() else {}
