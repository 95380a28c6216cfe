"""What an isometric drawing is made of, in page pixels: plain data for the page's template."""

import math
from dataclasses import dataclass, field
from typing import NamedTuple

from ifclint.drawings import RiserLine, RiserMark
from ifclint.engineering.arithmetic import not_below_zero
from ifclint.report.arrange import Item
from ifclint.report.sheet import Pixel

TALLEST = 1350.0  # px that a sheet of Letter holds at a width that can be read
OVERLAP = 40.0  # px
SYMBOLS = {
    "trap": "Trap",
    "cleanout": "Cleanout",
    "vent terminal": "Vent terminal",
    "outlet": "Outlet",
    "fixture": "Fixture",
    "appliance": "Appliance",
    "valve": "Valve",
    "device": "Meter or regulator",
}
SERVICES = {
    "drain": "Drain",
    "vent": "Vent",
    "cleanout": "To a cleanout",
    "unreached": "Not reached from any cleanout",
    "stub": "Stub",
    "cold": "Cold water",
    "hot": "Hot water",
    "hot return": "Hot water circulation",
    "critical path": "Way to the critical fixture",
    "gas": "Fuel gas",
    "indirect waste": "Indirect waste",
    "pumped discharge": "Pumped discharge",
}


@dataclass(frozen=True, slots=True)
class DrawnRun:
    points: str
    service: str
    weight: float
    tooltip: str


@dataclass(frozen=True, slots=True)
class Word:
    """Lettering, its middle at x, y; `leader` is a line to it from what it names, if not close.

    `turned` lettering is read from below upward.
    """

    x: float
    y: float
    lines: tuple[str, ...]
    style: str  # "label" or "level"
    leader: tuple[Pixel, Pixel] | None = None
    turned: bool = False

    @property
    def text(self) -> str:
        return " ".join(self.lines)


@dataclass(frozen=True, slots=True)
class Symbol:
    name: str  # a key of SYMBOLS
    x: float
    y: float
    tooltip: str


@dataclass(frozen=True, slots=True)
class Flag:
    """A finding's number on the drawing."""

    x: float
    y: float
    item: Item
    anchor: str
    leader: tuple[Pixel, Pixel] | None = None


@dataclass(frozen=True, slots=True)
class FloorLine:
    """Where an upright run passes a storey's level."""

    x: float
    y: float
    storey: str


@dataclass(frozen=True, slots=True)
class BandLine:
    """A storey's level across a diagram, with its name."""

    y: float
    text: str


@dataclass(frozen=True, slots=True)
class GridLine:
    """An axis of the building's grid, with its tag in a circle at the first end."""

    course: tuple[Pixel, ...]
    tag: str
    at: Pixel  # the middle of the circle


@dataclass
class Paper:
    """A sheet with pipe, words and numbers on it."""

    title: str
    anchor: str
    width: float
    height: float
    runs: list[DrawnRun] = field(default_factory=list)
    words: list[Word] = field(default_factory=list)
    flags: list[Flag] = field(default_factory=list)
    changed: list[str] = field(default_factory=list)  # courses of pipe whose size or slope changes
    left_off: int = 0  # labels for which there was no room

    @property
    def across(self) -> bool:
        """Whether a sheet of paper has to be turned for it."""
        return self.width > 1.25 * self.height

    @property
    def services(self) -> list[str]:
        used = {run.service for run in self.runs}
        return [service for service in SERVICES if service in used]


@dataclass
class PlanDrawing(Paper):
    """A storey seen from above, up the page what the model has as y.

    The `points` of a run are path data: all pipe of a look.
    """

    walls: str = ""  # SVG path data, as are rooms, doors, windows and fixtures
    doors: str = ""
    windows: str = ""
    swings: str = ""  # of doors that say how they swing
    grid: list[GridLine] = field(default_factory=list)
    north: float | None = None  # degrees that true north is turned from up, clockwise
    rooms: str = ""
    fixtures: str = ""
    bar: float = 0.0  # px, length of the scale bar
    bar_text: str = ""


@dataclass
class Drawing(Paper):
    """A riser: an isometric, or where `is_diagram` a diagram that is not to scale."""

    symbols: list[Symbol] = field(default_factory=list)
    floor_lines: list[FloorLine] = field(default_factory=list)
    axes: list[tuple[str, float, float]] = field(default_factory=list)  # name, direction on page
    axes_at: Pixel = (0.0, 0.0)
    is_diagram: bool = False
    bands: list[BandLine] = field(default_factory=list)  # storeys
    usual_sizes: dict[str, str] = field(default_factory=dict)  # of pipe that has none beside it

    @property
    def slices(self) -> list[tuple[float, float]]:
        """Top and height of what one sheet of paper holds, of a drawing too tall for one to be
        read: cut at a storey where one is near, each with a little of its neighbours."""
        if self.across or self.height <= TALLEST:
            return []
        count = math.ceil(self.height / (TALLEST - 2 * OVERLAP))
        step = self.height / count
        cuts = [0.0]
        for n in range(1, count):
            near = min((b.y for b in self.bands), key=lambda y: abs(y - n * step), default=0.0)
            cuts.append(near if abs(near - n * step) <= step / 8 else n * step)
        tops = [not_below_zero(cut - OVERLAP) for cut in cuts]
        ends = [min(cut + OVERLAP, self.height) for cut in (*cuts[1:], self.height)]
        return [(round(t, 1), round(e - t, 1)) for t, e in zip(tops, ends, strict=True)]

    @property
    def symbol_names(self) -> list[str]:
        used = {symbol.name for symbol in self.symbols}
        return [name for name in SYMBOLS if name in used]


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
