"""What the name of a relief valve or regulator tells of its plate: its setting, and its rating."""

import re
from collections.abc import Iterator

from ifclint.ifc.elements import Basis, Confidence, Element
from ifclint.ifc.facts.written_values import UNITS, decimal

IN_WORDS = Basis("words of its name or type", Confidence.WORDS)
SET_AT_MOST_PA = 8.6e5  # 125 psi: a regulator of a building is set no higher. Ours, no source
_DIGITS = r"(\d+/\d+|\d+(?:[.,]\d+)*)\s*-?\s*"
_NUMBER = r"(?<![\d.,/])(?<!\d[-–])" + _DIGITS  # not the end of a range: 75-150 psi
_WATER = r"(?:in(?:ch(?:es)?)?\.?|\"|″)\s*(?:of\s*)?(?:wc|w\.\s?c|h2o|water)"
_UNIT = rf"(psig?|#|kpa|mpa|m?bar|iwc|{_WATER})(?!\w)"  # 150# on drawings is 150 psi
_PRESSURE = re.compile(_NUMBER + _UNIT, re.I)
_TO = r"\.?\s*(?:down\s*)?(?:to\b|->|→|[-–/]|auf\b|bis\b|à\b|a\b|naar\b)\s*"
_FROM_TO = re.compile(rf"{_NUMBER}(?:{_UNIT})?{_TO}{_DIGITS}{_UNIT}", re.I)
_HEAT = re.compile(_NUMBER + r"(btuh|k?btu\s?/\s?hr?|btu|mbh|kw)\b", re.I)
_SET_BEFORE = re.compile(
    r"\b(?:set(?:ting|point)?|opens?|ansprechdruck|tarage|tarado)\W*(?:(?:at|to|of|pressure)\W*)*$",
    re.I,
)
_SET_AFTER = re.compile(r"^\W*(?:set\b|setting|setpoint|opening)", re.I)
_BODY_BEFORE = re.compile(r"\b(?:max\w*|up to|body|inlet|rated)\W*(?:at|for)?\W*$", re.I)
_BODY_AFTER = re.compile(r"^\W*(?:wog|cwp|wsp|swp|wp|max\w*|body|inlet|rated|working)\b", re.I)


def set_relief_plate(element: Element, texts: list[str]) -> None:
    """At what a relief valve opens, and how much heat it carries off, where words tell.

    A pressure alone in its name is the setting, unless it is said to be the body's. Of several
    ratings the least is taken: a plate has one for steam at temperature beside a larger one.
    """
    for text in (_FROM_TO.sub(" ", text) for text in texts):
        stated = [p for p, is_set in _pressures(text) if is_set is True]
        found = stated or [p for p, is_set in _pressures(text) if is_set is None]
        if len(set(found)) == 1:
            _tell(element, "relief_pressure_pa", found[0])
        ratings = [_value(match[1], match[2], "power") for match in _HEAT.finditer(text)]
        if ratings:
            _tell(element, "relief_capacity_w", min(ratings))


def set_regulator_plate(element: Element, texts: list[str]) -> None:
    """To what a pressure reducing valve is set: as a property tells that is named as its setting,
    which of other valves is that at which they open, or as words do. A pressure alone in its name
    is the setting, but one so high that it is the body's; of two, the one to which it reduces."""
    setting = element.properties.pop("relief_pressure_pa", None)
    if setting is not None and "downstream_pressure_pa" not in element.properties:
        element.properties["downstream_pressure_pa"] = setting
        element.basis["downstream_pressure_pa"] = element.basis.pop("relief_pressure_pa")
    for text in texts:
        rest = _FROM_TO.sub(" ", text)
        stated = {p for p, is_set in _pressures(rest) if is_set is True}
        reduced = {low for high, low in _pairs(text) if low < high}
        alone = {p for p, is_set in _pressures(rest) if is_set is None and p <= SET_AT_MOST_PA}
        found = stated or reduced or alone
        if len(found) == 1:
            _tell(element, "downstream_pressure_pa", found.pop())


def _pairs(text: str) -> Iterator[tuple[float, float]]:
    """What stands before and after the "to" of a text: from where to where a valve reduces, or,
    where it rises, the range of its spring."""
    for match in _FROM_TO.finditer(text):
        first, unit, second, last = match.groups()
        yield _pascals(first, unit or last), _pascals(second, last)


def _pressures(text: str) -> Iterator[tuple[float, bool | None]]:
    """The pressures in a text, and whether each is a setting; None where nothing tells."""
    for match in _PRESSURE.finditer(text):
        before, after = text[: match.start()], text[match.end() :]
        is_body = _BODY_BEFORE.search(before) or _BODY_AFTER.search(after)
        is_set = _SET_BEFORE.search(before) or _SET_AFTER.search(after)
        yield _pascals(match[1], match[2]), True if is_set else False if is_body else None


def _pascals(number: str, unit: str) -> float:
    return _value(number, "psi" if unit == "#" else unit, "pressure")


def _value(number: str, unit: str, kind: str) -> float:
    top, _, bottom = number.partition("/")
    whole = (decimal(top) or 0.0) / ((decimal(bottom) or 1.0) if bottom else 1.0)
    return whole * UNITS[kind][unit.casefold().replace(" ", "").replace("″", '"')]


def _tell(element: Element, key: str, value: float) -> None:
    """The first text that tells a fact tells it, where no property does."""
    if value and key not in element.properties:
        element.properties[key] = round(value, 4)
        element.basis[key] = IN_WORDS
