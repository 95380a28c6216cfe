"""What a person would look for to find a place: the nearest fixture or appliance with a name."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from math import dist

from ifclint.ifc.elements import Element, Location, Role, without_number

PLACED = frozenset({Role.FIXTURE, Role.HEATER, Role.APPLIANCE, Role.METER})
REACH_M = 8.0  # what is farther off is no help to find a place


class Landmarks:
    """The fixtures, appliances and meters of a building that have a name and a place."""

    def __init__(self, elements: Sequence[Element]) -> None:
        self._placed = defaultdict[str, list[Element]](list)  # by storey
        for e in elements:
            if e.role in PLACED and e.name and e.position is not None:
                self._placed[e.storey].append(e)

    def near(self, place: Location) -> str:
        """The nearest on the same storey; "" where none is within reach."""
        if place.x is None or place.y is None or place.z is None:
            return ""
        at = place.x, place.y, place.z
        away = (
            (dist(at, e.position), e.label, n)
            for n, e in enumerate(self._placed[place.storey])
            if e.position is not None
        )
        metres, _, n = min(away, default=(REACH_M + 1, "", -1))
        return self._told_apart(self._placed[place.storey][n]) if metres <= REACH_M else ""

    def _told_apart(self, one: Element) -> str:
        """Its name; where others of its storey are named alike, with its mark or its room, by
        whichever it is known from them."""
        named = without_number(one.label)
        alike = [e for e in self._placed[one.storey] if without_number(e.label) == named]
        others = [e for e in alike if e is not one]
        if not others:
            return one.label
        if one.mark not in one.label and one.mark not in {e.mark for e in others}:
            return f"{one.label} {one.mark}"
        if one.space and any(e.space != one.space for e in others):
            return f"{one.label} in {one.space}"
        return one.label
