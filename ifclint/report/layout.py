"""Where a riser's lines and marks lie on a sheet, in page pixels, to be drawn and lettered."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from ifclint.drawings import RiserLine, RiserMark
from ifclint.report.sheet import Pixel


class Band(NamedTuple):
    """A storey's level, across the whole sheet."""

    name: str
    elevation_m: float
    y: float


@dataclass
class Layout:
    """One sheet. `lines` and `paths` go together."""

    width: float
    height: float
    lines: list[RiserLine] = field(default_factory=list)
    paths: list[list[Pixel]] = field(default_factory=list)
    marks: list[tuple[RiserMark, Pixel]] = field(default_factory=list)
    notes: list[tuple[str, Pixel]] = field(default_factory=list)  # where pipe leads to
    bands: list[Band] = field(default_factory=list)  # of a diagram
    levels: list[tuple[str, float, list[Pixel]]] = field(default_factory=list)  # of an isometric
    axes: list[tuple[str, float, float]] = field(default_factory=list)  # name, direction on page
