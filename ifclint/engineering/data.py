"""The one reader of CSV tables, and the tables kept beside the formulas.

One CSV file a table, unit in the column name, `source` and `note` last. A blank cell is None: not
known, or not listed. The tables here hold dimensions and losses that belong to no one code.
"""

import csv
import io
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources.abc import Traversable
from pathlib import Path
from types import MappingProxyType

from ifclint.engineering.units import M_PER_FT, M_PER_IN
from ifclint.files import read_within

# Drainage pipe, half sizes too; from memory of makers' lists.
TRADE_SIZES = (1.25, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0)
# Water pipe and tube, whole steps of the trade; from memory of makers' lists.
WATER_SIZES = (0.375, 0.5, 0.75, 1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0)
LARGEST_BYTES = 10**7  # of a table; the largest of ours has 30 kB
Cell = float | str | None
TEXT = (
    "material", "standard", "joint", "fitting", "device", "arrester", "series", "materials", "use",
    "named", "source", "note",
)  # fmt: skip


@dataclass(frozen=True)
class CsvRow:
    """One line of a CSV file: its cells by column, without the blanks around them."""

    place: str  # "trap_arms.csv line 3"
    cells: Mapping[str, str]

    def text(self, column: str) -> str:
        return self.cells[column]

    def number(self, column: str) -> float:
        """The cell as a finite number; ValueError names file, line and column."""
        cell = self.cells[column]
        try:
            number = float(cell)
        except ValueError:
            raise ValueError(f"{self.place}: {column} is not a number: {cell}") from None
        if not math.isfinite(number):
            raise ValueError(f"{self.place}: {column} is not a finite number: {cell}")
        return number

    def number_or_none(self, column: str) -> float | None:
        return self.number(column) if self.cells[column] else None


@dataclass(frozen=True)
class CsvTable:
    """A CSV file as it is written: the columns its first line names, and its rows."""

    columns: tuple[str, ...]
    rows: tuple[CsvRow, ...]


def read_csv(path: Traversable) -> CsvTable:
    """The lines of a CSV file. Empty lines are passed over, as is a byte order mark.

    ValueError names the file and line that cannot be read.
    """
    try:
        lines = csv.reader(io.StringIO(_text(path), newline=""))
        told = [(lines.line_num, tuple(map(str.strip, cells))) for cells in lines if cells]
    except OSError as error:
        raise ValueError(f"{path.name} cannot be read: {error.strerror}") from None
    except UnicodeDecodeError:
        raise ValueError(f"{path.name} is not written in UTF-8: save it so") from None
    except csv.Error as error:
        raise ValueError(f"{path.name} cannot be read as a CSV file: {error}") from None
    if not told:
        raise ValueError(f"{path.name} is empty")
    (_, columns), *body = told
    if len(set(columns)) < len(columns):
        raise ValueError(f"{path.name}: two columns have the same name")
    return CsvTable(columns, tuple(_line(f"{path.name} line {n}", columns, c) for n, c in body))


def _text(path: Traversable) -> str:
    if isinstance(path, Path):
        return read_within(path, LARGEST_BYTES).decode("utf-8-sig")
    return path.read_text(encoding="utf-8-sig")


def _line(place: str, columns: tuple[str, ...], cells: tuple[str, ...]) -> CsvRow:
    if len(cells) != len(columns):
        raise ValueError(f"{place}: {len(cells)} cells for {len(columns)} columns")
    return CsvRow(place, MappingProxyType(dict(zip(columns, cells, strict=True))))


@cache
def rows_of(name: str) -> tuple[Mapping[str, Cell], ...]:
    """The rows of a table by its file name without ending: "pipe_dimensions"."""
    read = read_csv(Path(__file__).with_name(f"{name}.csv"))
    return tuple(MappingProxyType({c: _cell(row, c) for c in read.columns}) for row in read.rows)


@cache
def inside_diameter_m(material: str, size_in: float) -> float | None:
    """Inside diameter of a pipe by material (pipe_dimensions.csv) and nominal size; else None.

    The table lists pipe twice over: by `material`, with the one wall a calculation takes; and by
    `series`, with all `materials` made in it, by which a drawn diameter is told.

    >>> round(inside_diameter_m("copper-l", 0.5) / M_PER_IN, 3)
    0.545
    """
    wanted: dict[str, Cell] = {"material": material, "size_in": size_in}
    return _length("pipe_dimensions", "inside_in", M_PER_IN, wanted)


@cache
def outside_diameter_m(material: str, size_in: float) -> float | None:
    """Outside diameter of a pipe by material and nominal size; None where it is not listed."""
    wanted: dict[str, Cell] = {"material": material, "size_in": size_in}
    return _length("pipe_dimensions", "outside_in", M_PER_IN, wanted)


@cache
def fitting_length_m(joint: str, fitting: str, size_in: float) -> float | None:
    """Length of pipe that loses as much as a fitting (fitting_lengths.csv); else None.

    >>> round(fitting_length_m("pvc", "quarter-bend", 0.5) / M_PER_FT, 3)
    1.5
    """
    wanted: dict[str, Cell] = {"joint": joint, "fitting": fitting, "size_in": size_in}
    return _length("fitting_lengths", "length_ft", M_PER_FT, wanted)


def _length(name: str, column: str, metres: float, wanted: Mapping[str, Cell]) -> float | None:
    found = (row for row in rows_of(name) if all(row[c] == v for c, v in wanted.items()))
    value = next((row[column] for row in found), None)
    return value * metres if isinstance(value, float) else None


def _cell(row: CsvRow, column: str) -> Cell:
    return row.text(column) if column in TEXT else row.number_or_none(column)
