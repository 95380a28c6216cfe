"""The size of the flue outlet or draft hood of what burns fuel, as a property or words tell it."""

import re

from ifclint.ifc.elements import Basis, Confidence, Element, Role
from ifclint.ifc.facts.properties import StatedFact, StatedFacts

BURNS_FUEL = frozenset({Role.HEATER, Role.APPLIANCE})
IN_WORDS = Basis("words of its name or type", Confidence.WORDS)
MADE_IN = (*map(float, range(2, 25)),)  # flue outlets; 7 in is one, though no size of pipe
NEAR_IN = 0.2  # to a size that they are made in: 80 mm is 3 in. Ours, no source
_OUTLET = (
    r"(?:(?:draft|draught)[\s-]*(?:hood|diverter)|(?:flue|vent|chimney)[\s-]*(?:outlet|collar)"
    r"|flue(?!\s*gas)|b[\s-]vent)"
)
_SIZE = r"(?<![\d./,-])(\d+(?:\.\d+)?)\s*-?\s*(in\b\.?|inch\w*|\"|”|″|mm\b)"
_NO_OUTLET = r"(?!\s*(?:high|height|long|length|tall|above|below|rise|w\.?c|deep|wide))"
_SIZED = re.compile(_SIZE, re.I)
_BEFORE = re.compile(rf"{_SIZE}[\s-]*(?:(?:round|dia\w*)\.?[\s-]*)?{_OUTLET}{_NO_OUTLET}", re.I)
_BEHIND = re.compile(
    rf"{_OUTLET}(?:\s+(?:size|dia\w*|connection|outlet|of))*\.?\s*[:=(@-]?\s*{_SIZE}{_NO_OUTLET}",
    re.I,
)


def set_flue_outlet(
    element: Element, facts: StatedFacts, texts: list[str], metres_per_unit: float
) -> None:
    """Keep the size as `flue_outlet_in`: of the property, else of the first words that tell it."""
    if element.role not in BURNS_FUEL:
        return
    fact = facts.get("flue_outlet")
    told = [(_stated_in(fact, metres_per_unit), fact.basis)] if fact is not None else []
    for size, basis in (*told, *((_worded_in(text), IN_WORDS) for text in texts)):
        if size is not None:
            element.properties["flue_outlet_in"] = size
            element.basis["flue_outlet_in"] = basis
            return


def _stated_in(fact: StatedFact, metres_per_unit: float) -> float | None:
    if isinstance(fact.value, str):
        return _size_in(_SIZED.search(fact.value))
    metres = float(fact.value) * (1.0 if fact.is_length else metres_per_unit)
    return _made_in(metres / 0.0254)


def _worded_in(text: str) -> float | None:
    """What stands before or behind the words for the outlet: '6 in draft hood', 'flue: 4"'."""
    return _size_in(_BEFORE.search(text) or _BEHIND.search(text))


def _size_in(match: re.Match[str] | None) -> float | None:
    if match is None:
        return None
    number = float(match[1])
    return _made_in(number / 25.4 if match[2].casefold() == "mm" else number)


def _made_in(inches: float) -> float | None:
    nearest = min(MADE_IN, key=lambda made: abs(made - inches))
    return nearest if abs(nearest - inches) <= NEAR_IN else None
