"""What a person would look for to find a place: the nearest fixture or appliance with a name."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from math import dist

from ifclint.ifc.elements import Element, Location, Point, Role

PLACED = frozenset({Role.FIXTURE, Role.HEATER, Role.APPLIANCE, Role.METER})
REACH_M = 8.0  # what is farther off is no help to find a place


class Landmarks:
    """The fixtures, appliances and meters of a building that have a name and a place."""

    def __init__(self, elements: Sequence[Element]) -> None:
        self._placed = defaultdict[str, list[tuple[Point, str]]](list)  # by storey
        for e in elements:
            if e.role in PLACED and e.name and e.position is not None:
                self._placed[e.storey].append((e.position, e.label))

    def near(self, place: Location) -> str:
        """The nearest on the same storey; "" where none is within reach."""
        if place.x is None or place.y is None or place.z is None:
            return ""
        at = place.x, place.y, place.z
        away = ((dist(at, position), label) for position, label in self._placed[place.storey])
        metres, label = min(away, default=(REACH_M + 1, ""))
        return label if metres <= REACH_M else ""
