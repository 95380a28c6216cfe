"""What differs between two adopted codes, or between a code and its amended self."""

from collections.abc import Iterator
from dataclasses import dataclass

from ifclint.codes.adopted import AdoptedCode
from ifclint.codes.changes import key_text
from ifclint.codes.tables import Row, Table, Value

Key = tuple[tuple[str, Value], ...]


@dataclass(frozen=True)
class Difference:
    """One cell that differs.

    Without `column` a whole row stands in one code only; without `row` a whole table does. The
    side that has it says "listed", and the other has None.
    """

    table: str
    topic: str
    row: str  # "size_in 3, orientation vertical"
    column: str
    value_a: Value
    value_b: Value
    source_a: str = ""
    source_b: str = ""


def differences(a: AdoptedCode, b: AdoptedCode) -> tuple[Difference, ...]:
    """The cells, rows and tables in which two codes differ, in the order of a's tables."""
    keys = dict.fromkeys((*a.tables, *b.tables))
    return tuple(found for key in keys for found in _of_table(a, b, key))


def _of_table(a: AdoptedCode, b: AdoptedCode, key: str) -> Iterator[Difference]:
    if key not in a.tables or key not in b.tables:
        table = (a if key in a.tables else b).table(key)
        yield Difference(key, table.topic, "", "", *_listed(key in a.tables))
        return
    ours, theirs = a.table(key), b.table(key)
    in_a, in_b = _by_key(ours), _by_key(theirs)
    for row_key in dict.fromkeys((*in_a, *in_b)):
        row_a, row_b = in_a.get(row_key), in_b.get(row_key)
        if row_a is None or row_b is None:
            sources = (row_a.source if row_a else "", row_b.source if row_b else "")
            text = key_text(row_key)
            yield Difference(key, ours.topic, text, "", *_listed(row_a is not None), *sources)
        else:
            yield from _of_row(ours, theirs, row_key, row_a, row_b)


def _of_row(ours: Table, theirs: Table, key: Key, row_a: Row, row_b: Row) -> Iterator[Difference]:
    for column in dict.fromkeys((*ours.value_columns, *theirs.value_columns)):
        value_a, value_b = row_a.values.get(column), row_b.values.get(column)
        if value_a != value_b:
            yield Difference(
                ours.key, ours.topic, key_text(key), column,
                value_a, value_b, row_a.source, row_b.source,
            )  # fmt: skip


def _by_key(table: Table) -> dict[Key, Row]:
    return {table.key_of(row): row for row in table.rows}


def _listed(in_a: bool) -> tuple[Value, Value]:
    return ("listed", None) if in_a else (None, "listed")
