"""What is drawn of a building, in model coordinates: risers and plans. Plain data, no format."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import islice

from ifclint.ifc.elements import GridAxis, Leaf, Place, Point

LINES_DRAWN = 3000  # runs and symbols that a page holds, over all its drawings


@dataclass(frozen=True, slots=True)
class RiserLine:
    """One run on a riser drawing: its path in model coordinates and what is written beside it."""

    element_ids: tuple[str, ...]
    points: tuple[Point, ...]
    service: str  # "drain", "vent", "cleanout", "unreached", "stub"
    label: str = ""  # "3 in · 14 DFU"
    detail: str = ""  # a sentence for the tooltip
    size_in: float | None = None  # drawn as line weight


@dataclass(frozen=True, slots=True)
class RiserMark:
    """One symbol on a riser drawing: a fixture, trap, cleanout, vent terminal or outlet."""

    element_id: str
    kind: str
    point: Point
    label: str = ""


@dataclass(frozen=True, slots=True)
class Riser:
    key: str
    title: str
    lines: tuple[RiserLine, ...]
    marks: tuple[RiserMark, ...]
    levels: tuple[tuple[str, float], ...] = ()  # storey name, elevation m

    @classmethod
    def of(
        cls,
        key: str,
        title: str,
        lines: Iterable[RiserLine],
        marks: Iterable[RiserMark],
        levels: tuple[tuple[str, float], ...] = (),
    ) -> Riser:
        """A drawing; of one that no page holds only so much is made as shows that."""
        shown = tuple(islice(lines, LINES_DRAWN + 1))
        return cls(key, title, shown, tuple(islice(marks, LINES_DRAWN + 1 - len(shown))), levels)


@dataclass(frozen=True, slots=True)
class PlanPipe:
    """Pipe of a storey, in model coordinates."""

    guid: str
    a: Point
    b: Point
    service: str  # as on a riser drawing
    size_in: float | None


@dataclass(frozen=True, slots=True)
class PlanBox:
    """A wall, opening, room or fixture on a plan: its box seen from above, or its corners where it
    stands aslant."""

    low: Place
    high: Place
    label: str = ""
    outline: tuple[Place, ...] = ()
    leaves: tuple[Leaf, ...] = ()  # of a door that swings

    @property
    def corners(self) -> tuple[Place, ...]:
        """One after the other around it."""
        (x1, y1), (x2, y2) = self.low, self.high
        return self.outline or ((x1, y1), (x2, y1), (x2, y2), (x1, y2))


@dataclass(frozen=True, slots=True)
class Plan:
    """What is on one storey, in model metres; boxes as they are seen from above."""

    storey: str
    walls: tuple[PlanBox, ...]
    rooms: tuple[PlanBox, ...]
    fixtures: tuple[PlanBox, ...]
    pipes: tuple[PlanPipe, ...]
    openings: tuple[PlanBox, ...] = ()  # labelled "door" or "window", as thick as their wall
    grid: tuple[GridAxis, ...] = ()
    elevation_m: float = 0.0
    north: float | None = None  # as in the model
    fittings: tuple[PlanPipe, ...] = ()  # the ways through them, between the ends of pipes
