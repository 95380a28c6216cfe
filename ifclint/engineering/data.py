"""The tables kept beside the formulas: dimensions and losses that belong to no one code.

One CSV file a table, unit in the column name, `source` and `note` last, as with the code tables.
A blank cell is None: not known.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType

from ifclint.engineering.units import M_PER_FT, M_PER_IN

Cell = float | str | None
TEXT = ("material", "standard", "joint", "fitting", "device", "arrester", "source", "note")


@cache
def rows_of(name: str) -> tuple[Mapping[str, Cell], ...]:
    """The rows of a table by its file name without ending: "pipe_dimensions"."""
    path = Path(__file__).with_name(f"{name}.csv")
    with path.open(newline="", encoding="utf-8") as lines:
        return tuple(
            MappingProxyType({c: _cell(c, v) for c, v in row.items()})
            for row in csv.DictReader(lines)
        )


def inside_diameter_m(material: str, size_in: float) -> float | None:
    """Inside diameter of a pipe by material (pipe_dimensions.csv) and nominal size; else None.

    >>> round(inside_diameter_m("copper-l", 0.5) / M_PER_IN, 3)
    0.545
    """
    wanted: dict[str, Cell] = {"material": material, "size_in": size_in}
    return _length("pipe_dimensions", "inside_in", M_PER_IN, wanted)


def outside_diameter_m(material: str, size_in: float) -> float | None:
    """Outside diameter of a pipe by material and nominal size; None where it is not listed."""
    wanted: dict[str, Cell] = {"material": material, "size_in": size_in}
    return _length("pipe_dimensions", "outside_in", M_PER_IN, wanted)


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


def _cell(column: str, text: str) -> Cell:
    if column in TEXT:
        return text
    return float(text) if text else None
