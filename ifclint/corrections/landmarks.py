"""What a person would look for to find a place: the nearest fixture or appliance with a name."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from math import dist

from ifclint.engineering.near import NearPlaces
from ifclint.ifc.elements import Element, Location, Point, Role, without_number

PLACED = frozenset({Role.FIXTURE, Role.HEATER, Role.APPLIANCE, Role.METER})
REACH_M = 8.0  # what is farther off is no help to find a place


class Landmarks:
    """The fixtures, appliances and meters of a building that have a name and a place."""

    def __init__(self, elements: Sequence[Element]) -> None:
        self._placed = defaultdict[str, list[tuple[Point, Element]]](list)  # by storey
        self._alike = defaultdict[tuple[str, str], list[Element]](list)  # by storey and name
        for e in elements:
            if e.role in PLACED and e.name and e.position is not None:
                self._placed[e.storey].append((e.position, e))
                self._alike[e.storey, without_number(e.label)].append(e)
        self._near = {
            storey: NearPlaces([at for at, _ in placed]) for storey, placed in self._placed.items()
        }

    def near(self, place: Location) -> str:
        """The nearest on the same storey; "" where none is within reach."""
        placed = self._placed.get(place.storey)
        if not placed or place.x is None or place.y is None or place.z is None:
            return ""
        at = place.x, place.y, place.z
        near = [placed[n] for n in self._near[place.storey].around([at], REACH_M)[0]]
        away = ((dist(at, there), e.label, n) for n, (there, e) in enumerate(near))
        *_, n = min(away, default=(0.0, "", -1))
        return self._told_apart(near[n][1]) if near else ""

    def _told_apart(self, one: Element) -> str:
        """Its name; where others of its storey are named alike, with its mark or its room, by
        whichever it is known from them."""
        alike = self._alike[one.storey, without_number(one.label)]
        others = [e for e in alike if e is not one]
        if not others:
            return one.label
        if one.mark not in one.label and one.mark not in {e.mark for e in others}:
            return f"{one.label} {one.mark}"
        if one.space and any(e.space != one.space for e in others):
            return f"{one.label} in {one.space}"
        return one.label
