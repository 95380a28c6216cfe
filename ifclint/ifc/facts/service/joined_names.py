"""Systems that are named for several services: "Hot and cold water", "CW/HW", "Gas and water"."""

from __future__ import annotations

import re
from collections.abc import Callable

from ifclint.ifc.elements import System
from ifclint.ifc.step.text import words

_BETWEEN = re.compile(r"\s*[&+/,;]\s*|\s+(?:and|und|et|y|e|og|och|en|i|и)\s+", re.IGNORECASE)
WATER = frozenset({"water", "wasser", "eau", "agua", "acqua", "vann", "vatten", "vand", "вода"})
OF_WATER = frozenset({System.WATER, System.COLD_WATER, System.HOT_WATER, System.HOT_WATER_RETURN})
CIRCULATED = frozenset({System.HOT_WATER, System.HOT_WATER_RETURN})
VENTED = frozenset({System.SANITARY, System.VENT})
TOLD_APART = OF_WATER | VENTED | {System.STORM, System.GAS}


def of_several(
    name: str, whole: System | None, tell: Callable[[str], System | None]
) -> System | None:
    """The service that all that a name joins are of: water of no told side of cold and hot, drains
    of these and their vents. None where they have no such, and what `whole` says where it names
    one service, or others than these."""
    parts = [part for part in _BETWEEN.split(name) if part]
    if len(parts) < 2:
        return whole
    last = (words(parts[-1]) or [""])[-1]
    told = {s for part in parts if (s := _told(part, last, tell)) is not None}
    if len(told) < 2 or told == CIRCULATED or not told <= TOLD_APART:
        return whole
    if told <= OF_WATER:
        return System.WATER
    return System.SANITARY if told <= VENTED else None


def _told(part: str, last: str, tell: Callable[[str], System | None]) -> System | None:
    """What a part of a name says by itself, or with the last word of the name: "hot" and "cold
    water"."""
    if WATER.issuperset(words(part)):
        return System.WATER
    return tell(part) or tell(f"{part} {last}")
