"""The open air under a building's lowest floor: crawl spaces, and what else is too low for a room.

Pipe hung there lies in no ground, and a floor above it is no slab on the ground.
"""

import re
from dataclasses import dataclass
from math import inf

from ifclint.engineering.extents import covers
from ifclint.engineering.tolerance import at_least, at_most, lies_below
from ifclint.ifc.elements import Model, Point, Space, Surface

CRAWL = re.compile(
    r"(?<![^\W_])(crawl|crawl[ _-]?spaces?|under-?floor|kriechkeller|kruipruimte"
    r"|vide[ _-]sanitaire|forjado[ _-]sanitario)(?![^\W_])",
    re.I,
)
HEADROOM_M = 2.1  # ours, no source: what is lower is a crawl space or a footing
WALL_M = 0.3  # so far beside a crawl space lies what is in its wall. Ours, no source
CLEAR_M = 0.3  # what lies no farther below a floor is a recess of it. Ours, no source


@dataclass(frozen=True)
class CrawlSpaces:
    """Where there is air under a floor: plan and lowest height of each place, up to the floor
    above it, joists and all."""

    places: tuple[tuple[Point, Point], ...]

    @property
    def low_m(self) -> float | None:
        return min((low[2] for low, _ in self.places), default=None)

    def holds(self, point: Point) -> bool:
        """Whether a point under the floor hangs in a crawl space, or lies in its wall."""
        return any(
            not lies_below(point[2], low[2]) and covers(low, high, point, WALL_M)
            for low, high in self.places
        )

    def lies_under(self, point: Point) -> bool:
        """Whether what stands at a point of a floor stands over a crawl space."""
        return any(
            at_least(point[2] - low[2], CLEAR_M, "m")
            and at_most(point[2] - low[2], HEADROOM_M, "m")
            for low, high in self.places
            if covers(low, high, point, WALL_M)
        )

    def carries(self, slab: Surface) -> bool:
        """Whether a slab lies over crawl spaces with all its corners."""
        (x, y, _), (u, v, top) = slab.low, slab.high
        return all(self.lies_under((a, b, top)) for a in (x, u) for b in (y, v))


def find_crawl_spaces(model: Model, floor_m: float | None) -> CrawlSpaces:
    """The spaces called so, and those too low for a room that begin below the lowest floor; where
    none is drawn, the level called so, under the whole building."""
    drawn = [s for s in model.spaces if CRAWL.search(s.name) or _is_low(s, floor_m)]
    if drawn:
        return CrawlSpaces(tuple((s.low, s.high) for s in drawn))
    levels = [
        s.elevation_m
        for s in model.storeys
        if CRAWL.search(s.name)
        and floor_m is not None
        and at_least(floor_m - s.elevation_m, CLEAR_M, "m")
    ]
    return CrawlSpaces(tuple(((-inf, -inf, z), (inf, inf, inf)) for z in levels))


def _is_low(space: Space, floor_m: float | None) -> bool:
    """Whether a space is too low to stand in, and no outline alone, and lies under a floor."""
    low, height_m = space.low[2], space.high[2] - space.low[2]
    return (
        floor_m is not None
        and at_least(floor_m - low, CLEAR_M, "m")
        and at_least(height_m, CLEAR_M, "m")
        and not at_least(height_m, HEADROOM_M, "m")
    )
