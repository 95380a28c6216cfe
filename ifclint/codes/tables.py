"""A code table: rows read from a CSV file, each with the place its values come from."""

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from ifclint.codes.provenance import SourceKind, source_kind, value_recalled
from ifclint.engineering.arithmetic import Source, Step
from ifclint.engineering.data import LARGEST_BYTES, CsvRow, CsvTable, read_csv
from ifclint.files import read_within

HERE = Path(__file__).parent
COLUMNS = "columns.toml"
KINDS = ("number", "text", "series")  # of columns

Value = float | str | None
Documentation = Mapping[str, Mapping[str, str]]  # "number", "text", "series" -> column -> meaning

SAID = ("source", "note", "clause", "assumes")  # columns that explain a row
_SISTER_CODE = re.compile(r"(IFGC|IMC|IPC|IRC|IBC|UPC|UMC) (?!\d{4} )")  # published together
_OF_YEAR = re.compile(r"\d{4}")
_OWN_NUMBER = re.compile(  # "703.2", "P3004.1", "A 104", "Table 4.2": the code's own
    r"[A-Z]?[A-Z]?[ .-]?\d|(?:tables?|sections?|chapters?|appendix|figures?|charts?|footnotes?)\b"
    r"|annex\b|exceptions?\b|notes?\b",
    re.IGNORECASE,
)
_SERIES = re.compile(r"([a-z]+)_(\d+(?:\.\d+)?)_[a-z]+")  # "cfh_0.75_in", "wsfu_40_ft"


class _Cited:
    """What is told of where a value or a row of a code comes from."""

    clause: str
    source: str
    carried_from: str
    amended: bool

    def __post_init__(self) -> None:
        if self.source:
            cited = Source(self.clause, self.provenance, self.source_kind)
            object.__setattr__(self, "clause", cited)

    @property
    def provenance(self) -> str:
        """Where the value comes from, as its row says it."""
        carried = f", carried over from {self.carried_from}" if self.carried_from else ""
        return f"{self.source}{carried}"

    @property
    def source_kind(self) -> SourceKind:
        """What kind of source that is, the weakest of several (see `ifclint.codes.provenance`)."""
        return source_kind(self.source, self.carried_from, self.amended)

    @property
    def from_memory(self) -> bool:
        """Whether any value was recalled and not read, or carried over from another edition."""
        return value_recalled(self.source) or bool(self.carried_from)


class LeftOut(ValueError):
    """A code lists no value that a rule goes by: the clause and the column."""


@dataclass(frozen=True)
class Limit(_Cited):
    """A single value of a code, in the unit the code gives it in."""

    key: str
    value: float
    unit: str
    clause: str
    source: str
    note: str = ""
    carried_from: str = ""  # the edition whose value this is, where the adopted one was not seen
    amended: bool = False

    def step(self, words: str) -> Step:
        """Its line of the arithmetic, with its clause."""
        return Step(words, self.value, self.unit, self.clause)


@dataclass(frozen=True, eq=False)
class Row(_Cited):
    """One line of a code table. A blank cell is None: the code lists no value there."""

    values: Mapping[str, Value]
    clause: str  # "UPC 2021 Table 703.2", with the row's own clause where it has one
    source: str
    note: str = ""
    carried_from: str = ""  # the edition whose row this is, where the adopted one was not seen
    amended: bool = False  # a local amendment changed a cell
    _limits: dict[tuple[str, str], Limit] = field(default_factory=dict, init=False, repr=False)

    def number(self, column: str) -> float:
        """The cell as a number; ValueError where it is text, `LeftOut` where it is blank."""
        value = self.values[column]
        if value is None:
            raise LeftOut(self.clause, column)
        if not isinstance(value, float):
            raise ValueError(f"{self.clause}: {column} holds no number in this row")
        return value

    def number_or_none(self, column: str) -> float | None:
        return None if self.values[column] is None else self.number(column)

    def limit(self, column: str, unit: str) -> Limit:
        """The cell as a limit to check against, in its unit; ValueError where it is no number."""
        if (column, unit) not in self._limits:
            self._limits[column, unit] = Limit(
                column, self.number(column), unit, self.clause, self.source, self.note,
                self.carried_from, self.amended,
            )  # fmt: skip
        return self._limits[column, unit]

    def text(self, column: str) -> str:
        """The cell as text, "" where it is blank."""
        value = self.values.get(column)
        return "" if value is None else str(value)

    def series(self, quantity: str) -> dict[float, float]:
        """The filled cells of a row of many columns: `series("cfh")` is {0.5: 172.0, 0.75: ...}."""
        found = ((_SERIES.fullmatch(column), value) for column, value in self.values.items())
        return {
            float(match[2]): value
            for match, value in found
            if match and match[1] == quantity and isinstance(value, float)
        }


@dataclass(frozen=True, eq=False)
class Table:
    """A code table.

    `status` says how much of the printed table is here, `used_by` which packs ask it or why none
    does yet, `row_key` the columns that tell one row from another.
    """

    key: str
    title: str
    clause: str
    status: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    topic: str = ""
    used_by: str = ""
    row_key: tuple[str, ...] = ()
    text_columns: frozenset[str] = frozenset()  # the columns that hold text and no numbers
    _found: dict[tuple[tuple[str, Value], ...], tuple[Row, ...]] = field(
        default_factory=dict, init=False, repr=False
    )  # a model asks the same few questions tens of thousands of times

    def where(self, **wanted: Value) -> tuple[Row, ...]:
        """The rows whose cells equal what is wanted: `where(size_in=3, orientation="vertical")`."""
        key = tuple(wanted.items())
        if key not in self._found:
            self._refuse_unknown(wanted)
            cells = list(wanted.values())
            self._found[key] = tuple(
                row for row in self.rows if [row.values[column] for column in wanted] == cells
            )
        return self._found[key]

    def one(self, **wanted: Value) -> Row | None:
        """The one row that fits, None where there is none; ValueError where there are several."""
        found = self.where(**wanted)
        if len(found) > 1:
            raise ValueError(f"{self.clause}: {len(found)} rows fit {wanted}")
        return found[0] if found else None

    def next_row(self, column: str, value: float) -> Row | None:
        """The row of the next number up in an ascending column: the next longer length."""
        self._refuse_unknown({column: None})
        rows = (r for r in self.rows if (n := r.number_or_none(column)) is not None and n >= value)
        return min(rows, key=lambda row: row.number(column), default=None)

    def numbers(self, column: str) -> tuple[float, ...]:
        """The different numbers of a column, ascending."""
        self._refuse_unknown({column: None})
        return tuple(sorted({v for r in self.rows if isinstance(v := r.values[column], float)}))

    @property
    def rows_from_memory(self) -> int:
        return sum(row.from_memory for row in self.rows)

    @property
    def value_columns(self) -> tuple[str, ...]:
        """The columns that hold what the code demands, neither key nor explanation."""
        return tuple(c for c in self.columns if c not in (*self.row_key, *SAID))

    def key_of(self, row: Row) -> tuple[tuple[str, Value], ...]:
        """The filled key cells of a row: (("size_in", 3.0), ("orientation", "vertical"))."""
        return tuple((c, row.values[c]) for c in self.row_key if row.values[c] is not None)

    def is_number(self, column: str) -> bool:
        """Whether a column holds numbers."""
        return column not in self.text_columns

    def _refuse_unknown(self, wanted: Mapping[str, Value]) -> None:
        if unknown := set(wanted) - set(self.columns):
            raise KeyError(f"{self.clause} has no column {', '.join(sorted(unknown))}")


def read_table(
    path: Path,
    *,
    title: str,
    clause: str,
    status: str,
    code: str = "",
    topic: str = "",
    used_by: str = "",
    row_key: tuple[str, ...] = (),
    documented: Documentation | None = None,
) -> Table:
    """The table of a CSV file; `code` is written before every clause.

    `documented` tells what columns mean that columns.toml does not know, in its own form.
    ValueError names the file and line of a cell that does not parse, an undocumented column, or a
    row without a source.
    """
    read = read_csv(path)
    if len(read.columns) == 1 and ";" in read.columns[0]:
        raise ValueError(f"{path.name}: its cells are parted by semicolons: write commas")
    text = frozenset(c for c in read.columns if not is_number(c, documented))
    if not read.rows:
        raise ValueError(f"{path.name} holds no row")
    rows = tuple(_row(row, text, code, clause) for row in read.rows)
    if unknown := set(row_key) - set(read.columns):
        raise ValueError(f"{path.name}: row_key names no column {', '.join(sorted(unknown))}")
    _refuse_doubles(read, row_key)
    return Table(
        key=path.stem, title=title, clause=cited(code, clause), status=status,
        columns=read.columns, rows=rows, topic=topic, used_by=used_by, row_key=tuple(row_key),
        text_columns=text,
    )  # fmt: skip


def _refuse_doubles(read: CsvTable, row_key: tuple[str, ...]) -> None:
    """ValueError where nothing tells two rows apart."""
    seen: dict[tuple[str, ...], CsvRow] = {}
    for row in read.rows if row_key else ():
        first = seen.setdefault(tuple(row.text(column) for column in row_key), row)
        if first is not row:
            told = ", ".join(f"{column} {row.text(column)}" for column in row_key)
            raise ValueError(f"{row.place}: there is a row of {told} already, {first.place}")


def is_number(column: str, more: Documentation | None = None) -> bool:
    """Whether a column holds numbers (true) or text (false), as columns.toml, or `more` in the
    same form, documents it."""
    series = _SERIES.fullmatch(column)
    for documented in (column_documentation(), more or {}):
        numbers = documented.get("number", {})
        if column in numbers or (series and series[1] in documented.get("series", {})):
            return True
        if column in documented.get("text", {}):
            return False
    raise ValueError(f"column {column} is not documented in columns.toml")


@cache
def column_documentation() -> Mapping[str, Mapping[str, str]]:
    """What every column means: "number", "text" and "series", column -> description."""
    documented = read_toml(HERE / COLUMNS)
    return MappingProxyType({kind: documented[kind] for kind in KINDS})


def documentation_of(folder: Path) -> Documentation:
    """What a folder's own columns.toml says; ValueError where it speaks of what is known."""
    own = read_toml(folder / COLUMNS)
    if unknown := set(own) - set(KINDS):
        raise ValueError(f"{COLUMNS}: write {', '.join(KINDS)}, not {', '.join(sorted(unknown))}")
    known = {column for columns in column_documentation().values() for column in columns}
    for kind in own.values():
        if taken := known & set(kind):
            raise ValueError(f"{COLUMNS}: {', '.join(sorted(taken))} is documented already")
    return own


def read_toml(path: Path) -> dict[str, Any]:
    """What a file says, nothing where there is none; ValueError names the file."""
    if not path.exists():
        return {}
    try:
        return tomllib.loads(read_within(path, LARGEST_BYTES).decode("utf-8-sig"))
    except (OSError, ValueError, RecursionError) as error:
        raise ValueError(f"{path.name} cannot be read: {error}") from None


@cache
def fact_words() -> Mapping[str, tuple[str, str]]:
    """What a fact that conditions ask for is called, and its unit: name -> (words, unit)."""
    documented = read_toml(HERE / COLUMNS)
    return MappingProxyType({name: (w, u) for name, (w, u) in documented["facts"].items()})


def _row(read: CsvRow, text: frozenset[str], code: str, clause: str) -> Row:
    values = {
        column: (cell or None) if column in text else read.number_or_none(column)
        for column, cell in read.cells.items()
    }
    source = read.cells.get("source", "")
    if not source:
        raise ValueError(f"{read.place}: no source")
    whole = cited(code, read.cells.get("clause") or clause)
    return Row(MappingProxyType(values), whole, source, read.cells.get("note", ""))


def cited(code: str, clause: str) -> str:
    """A clause with its code: "UPC 2021 703.2".

    "IFGC 402.4" names a sister code of the same year. A clause that names a standard of its own
    ("Acme standard 4.2") is cited as it stands.
    """
    year = code.split()[-1] if code else ""
    if (match := _SISTER_CODE.match(clause)) and _OF_YEAR.fullmatch(year):
        return f"{match[1]} {year} {clause[match.end() :]}"
    return f"{code} {clause}".strip() if _OWN_NUMBER.match(clause) else clause
