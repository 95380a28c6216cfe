"""Changes to single cells of a code table: local amendments, checked against the table.

A change names the table, the row by its key cells, the column, the new value, and who amended it
and why. What is not there is refused, with the nearest valid names.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from ifclint.codes.provenance import AMENDED
from ifclint.codes.tables import Row, Table, Value
from ifclint.errors import InputError

BEYOND = 1000  # times what a table lists is no value of it. Ours, no source


@dataclass(frozen=True)
class AmendedCell:
    """One amended cell: in `table`, in the row with the key cells `row`, `column` is `value`.

    A `value` of None says that the amended code lists no value there. `text` tells who amended it
    and why; every finding that rests on the row repeats it.
    """

    table: str
    row: Mapping[str, float | str]
    column: str
    value: Value
    text: str

    @classmethod
    def of_limit(cls, key: str, value: float, text: str) -> AmendedCell:
        """A change of a single value, in the unit the code gives it in."""
        return cls("limits", {"key": key}, "value", value, text)

    @property
    def place(self) -> str:
        """Where the change stands: "table limits, row key shared_trap_spacing_in"."""
        return f"table {self.table}, row {key_text(self.row.items())}"


def key_text(cells: Iterable[tuple[str, Value]]) -> str:
    """The cells that tell a row from the others: "size_in 3, orientation vertical"."""
    return ", ".join(f"{c} {v:g}" if isinstance(v, float | int) else f"{c} {v}" for c, v in cells)


def amend(table: Table, changes: Iterable[AmendedCell]) -> Table:
    """The table with its changes made; InputError names what a change asks for and is not there."""
    for change in changes:
        value = _checked(table, change)
        index = find_row(table, change.row, change.place)
        row = _amended(table, table.rows[index], change, value)
        table = replace(table, rows=(*table.rows[:index], row, *table.rows[index + 1 :]))
    return table


def find_row(table: Table, cells: Mapping[str, float | str], place: str) -> int:
    """The index of the one row with these cells; InputError where there is none, or several."""
    for column in cells:
        if column not in table.columns:
            raise InputError(
                f"{place}: there is no column {column!r}: {near(column, table.row_key)}."
            )
    found = [i for i, row in enumerate(table.rows) if _fits(row, cells)]
    if len(found) == 1:
        return found[0]
    if found:
        lacking = [c for c in table.row_key if c not in cells]
        values = (" with ".join(repr(table.rows[i].text(c)) for c in lacking) for i in found[:8])
        hint = f"add {' and '.join(lacking)}, one of {', '.join(values)}"
        raise InputError(f"{place}: {len(found)} rows fit: {hint}.")
    rows = [key_text(table.key_of(row)) for row in table.rows]
    raise InputError(f"{place}: there is no such row: {near(key_text(cells.items()), rows)}.")


def near(name: str, names: Iterable[str]) -> str:
    """A hint at the nearest valid names."""
    known = list(names)
    found = difflib.get_close_matches(name, known, n=3, cutoff=0.4) or known[:8]
    return f"write {' or '.join(found)}"


def _fits(row: Row, cells: Mapping[str, float | str]) -> bool:
    return all(("" if row.values[c] is None else row.values[c]) == v for c, v in cells.items())


def _checked(table: Table, change: AmendedCell) -> Value:
    """The new value as the column holds it."""
    if not change.text.strip():
        raise InputError(f"{change.place}: say who amended it and why.")
    if change.column not in table.value_columns:
        hint = near(change.column, table.value_columns)
        raise InputError(f"{change.place}: no value column is named {change.column!r}: {hint}.")
    value = change.value
    if value is None or not table.is_number(change.column):
        if value is None or isinstance(value, str):
            return value
        raise InputError(f"{change.place}: {change.column} holds text, not {value!r}.")
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise InputError(f"{change.place}: {change.column} holds a number, not {value!r}.")
    listed = [v for row in table.rows if isinstance(v := row.values[change.column], float)]
    least, most = min(0.0, *listed), BEYOND * max(1.0, *listed)
    if not least <= value <= most:
        raise InputError(f"{change.place}: {change.column} holds {least:g} to {most:g}.")
    return float(value)


def _amended(table: Table, row: Row, change: AmendedCell, value: Value) -> Row:
    """The row with the new value, saying so; the other cells keep their source."""
    before = row.values[change.column]
    was = "not listed" if before is None else f"{before:g}" if isinstance(before, float) else before
    said = AMENDED + change.text.replace(";", ",")  # a semicolon parts the sources of a row
    numbers = [c for c in table.value_columns if table.is_number(c) and row.values[c] is not None]
    alone = numbers in ([change.column], [])
    covers = change.column.removeprefix("dfu_")
    return replace(
        row,
        values=MappingProxyType({**row.values, change.column: value}),
        clause=f"{row.clause}, {said}".removeprefix(", "),
        source=said if alone else f"{said} ({covers}); {row.source}",
        note=f"{change.column} was {was} ({row.source}). {row.note}".strip(),
        amended=True,
    )
