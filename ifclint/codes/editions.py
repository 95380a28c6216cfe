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

from collections.abc import Mapping
from dataclasses import replace
from difflib import get_close_matches
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from ifclint.codes.changes import find_row, key_text, near
from ifclint.codes.folders import DESCRIPTION, folder_of, installed, is_path
from ifclint.codes.tables import (
    Documentation,
    Row,
    Table,
    Value,
    cited,
    documentation_of,
    read_table,
    read_toml,
)

Differences = Mapping[str, Any]

LIMITS = "limits"
ALIKE = 0.9  # names of tables of which one is a slip of the pen
FAMILIES = ("upc", "ipc")  # how pipes are sized
FILES = (DESCRIPTION, "tables.toml", "columns.toml", "differences.toml")  # beside tables
DESCRIBED = ("id", "family", "short", "title", "edition", "publisher")
STATED = ("title", "clause", "status", "row_key")  # what tables.toml has of every table
STATED_TOO = ("topic", "used_by", "shared")
DIFFERING = {
    "change": ("table", "row", "set", "source"),
    "add": ("table", "row", "source"),
    "remove": ("table", "row", "source"),
}


def editions() -> list[str]:
    """The names of all installed adopted codes."""
    return sorted(installed().folders)


@cache
def description(edition: str) -> Mapping[str, str]:
    """What an edition is called, from its code.toml; ValueError where that is not whole."""
    home = folder_of(edition)
    stated = read_toml(home / DESCRIPTION)
    _refuse_odd(DESCRIPTION, stated, DESCRIBED, ("based_on",))
    if not all(isinstance(value, str) and value for value in stated.values()):
        raise ValueError(f"{DESCRIPTION}: write every value as text")
    if stated["id"] != home.name:
        raise ValueError(f"{DESCRIPTION}: id is {stated['id']!r}, but the folder is {home.name!r}")
    if stated["family"] not in FAMILIES:
        raise ValueError(f"{DESCRIPTION}: family is {stated['family']!r}: write upc or ipc")
    return MappingProxyType(stated)


def bases(edition: str) -> tuple[str, ...]:
    """The editions that one is based on, nearest first; ValueError where there are none such."""
    found: list[str] = []
    while edition := description(edition).get("based_on", ""):
        if is_path(edition) or edition not in installed().folders:
            raise ValueError(f"based_on is {edition!r}: {near(edition, editions())}")
        if edition in found:
            raise ValueError(f"based_on leads from {edition} back to {edition}")
        found.append(edition)
    return tuple(found)


@cache
def contents(edition: str) -> Mapping[str, Mapping[str, Any]]:
    """What tables.toml says of every table of an edition, by key, with what its base says."""
    base = description(edition).get("based_on", "")
    without = differences(edition).get("without", [])
    before = contents(base) if base else {}
    merged = {k: v for k, v in before.items() if k not in without}
    for key, own in _toml(edition, "tables.toml").items():
        if not isinstance(own, Mapping):
            raise ValueError(f"tables.toml, {key}: write keys and values, not {own!r}")
        if meant := [] if key in merged else get_close_matches(key, before, n=1, cutoff=ALIKE):
            raise ValueError(f"tables.toml, {key}: no rule asks for it; write {meant[0]}")
        merged[key] = {**merged.get(key, {}), **own}
    for key, stated in merged.items():
        _refuse_odd(f"tables.toml, {key}", stated, STATED, STATED_TOO)
    refuse_unlisted(folder_of(edition), merged)
    if LIMITS not in merged:
        raise ValueError(f"it has no {LIMITS}.csv, and {DESCRIPTION} names no based_on")
    for path in sorted(folder_of(edition).glob("*.toml")):
        if path.name not in FILES:
            raise ValueError(f"{path.name} is not read: {near(path.name, FILES)}")
    return MappingProxyType(merged)


@cache
def differences(edition: str) -> Differences:
    """The differences of an edition from the one it is based on."""
    found = _toml(edition, "differences.toml")
    base = description(edition).get("based_on", "")
    known = {*(contents(base) if base else ()), *_toml(edition, "tables.toml")}
    for kind, entries in found.items():
        if kind not in (*DIFFERING, "without"):
            raise ValueError(f"differences.toml: {kind!r}: {near(kind, (*DIFFERING, 'without'))}")
        for entry in entries if kind in DIFFERING else ():
            _refuse_odd(f"differences.toml, {kind}", entry, DIFFERING[kind], ("note", "set"))
        named = [e["table"] for e in entries] if kind in DIFFERING else entries
        for key in named:
            if key not in known:
                raise ValueError(f"differences.toml, {kind}: no table {key!r}: {near(key, known)}")
    return found


@cache
def table_of(edition: str, key: str) -> Table:
    """A table of an edition, read from its own folder or taken over from its base."""
    return _read(edition, key, contents(edition)[key], description(edition)["short"])


def _read(edition: str, key: str, stated: Mapping[str, Any], short: str) -> Table:
    home = folder_of(edition)
    shared = _toml(edition, "tables.toml").get(key, {}).get("shared")
    path = (home.parent / shared if shared else home) / f"{key}.csv"
    base = description(edition).get("based_on", "")
    if path.exists():
        table = read_described(path, stated, short, documentation_of(home))
        if base and key in contents(base):
            _refuse_less(path.name, table, table_of(base, key), base)
    elif base:
        table = _carried(_read(base, key, stated, short), base)
    else:
        raise ValueError(f"tables.toml tells of a table {key}, but there is no {path.name}")
    return _apply(table, differences(edition), short)


def _refuse_less(name: str, table: Table, before: Table, base: str) -> None:
    """ValueError where a table of an edition holds less than nothing, or loses most limits."""
    for column in filter(table.is_number, table.columns):
        listed = [v for row in before.rows if isinstance(v := row.values.get(column), float)]
        least = min([0.0, *listed])
        for row in table.rows:
            value = row.values[column]
            if isinstance(value, float) and value < least:
                raise ValueError(f"{name}: {column} holds {least:g} and more, not {value:g}")
    if table.key == LIMITS and 2 * len(table.rows) < len(before.rows):
        what = f"{name} holds {len(table.rows)} of the {len(before.rows)} limits of {base}"
        raise ValueError(f"{what}: write into differences.toml those that differ")


def read_described(
    path: Path, stated: Mapping[str, Any], short: str, documented: Documentation
) -> Table:
    """A table by what its entry in tables.toml states of it."""
    _refuse_odd(f"tables.toml, {path.stem}", stated, STATED, STATED_TOO)
    words = {k: v for k, v in stated.items() if k not in ("shared", "row_key")}
    key = tuple(stated["row_key"])
    return read_table(path, code=short, row_key=key, documented=documented, **words)


def refuse_unlisted(folder: Path, stated: Mapping[str, Any]) -> None:
    """ValueError where a folder has a CSV file that tables.toml does not tell of."""
    for path in sorted(folder.glob("*.csv")):
        if path.stem not in stated:
            raise ValueError(f"tables.toml tells nothing of {path.name}")


def _refuse_odd(
    place: str, stated: Mapping[str, Any], needed: tuple[str, ...], allowed: tuple[str, ...]
) -> None:
    """ValueError where a key is missing, or is none that is known."""
    if lacking := [key for key in needed if key not in stated]:
        raise ValueError(f"{place} lacks {', '.join(lacking)}")
    if odd := [key for key in stated if key not in (*needed, *allowed)]:
        raise ValueError(f"{place}: no key {odd[0]!r}: {near(odd[0], (*needed, *allowed))}")


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
    made = replace(table, rows=tuple(kept))
    _refuse_less("differences.toml", made, table, "the edition it differs from")
    return made


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
    return {c: _value(table, c, v) for c, v in given.items()}


def _value(table: Table, column: str, given: Any) -> Value:
    if given == "":
        return None
    right = (int, float) if table.is_number(column) else str
    if isinstance(given, bool) or not isinstance(given, right):
        kind = "a number" if table.is_number(column) else "text"
        raise ValueError(f"differences of {table.key}: {column} holds {kind}, not {given!r}")
    return float(given) if isinstance(given, int | float) else given


def _of(found: Differences, kind: str, table: Table) -> list[Mapping[str, Any]]:
    return [entry for entry in found.get(kind, []) if entry["table"] == table.key]


def _place(entry: Mapping[str, Any]) -> str:
    return f"differences.toml, {entry['table']}, row {key_text(entry['row'].items())}"


@cache
def _toml(edition: str, name: str) -> dict[str, Any]:
    return read_toml(folder_of(edition) / name)
