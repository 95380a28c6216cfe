"""What the name of a relief valve or regulator tells of its plate: its setting, and its rating."""

from __future__ import annotations

import re
from collections.abc import Iterator

from ifclint.ifc.elements import Basis, Confidence, Element
from ifclint.ifc.facts.written_values import UNITS, decimal

IN_WORDS = Basis("words of its name or type", Confidence.WORDS)
SET_AT_MOST_PA = 8.6e5  # 125 psi: a regulator of a building is set no higher. Ours, no source
_NUMBER = r"(?<![\d.,/])(?<!\d[-–])(\d+(?:[.,]\d+)*)\s*-?\s*"  # not the end of a range: 75-150 psi
_PRESSURE = re.compile(_NUMBER + r"(psig?|kpa|mpa|bar)\b", re.I)
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
    for text in texts:
        stated = [p for p, is_set in _pressures(text) if is_set is True]
        found = stated or [p for p, is_set in _pressures(text) if is_set is None]
        if len(set(found)) == 1:
            _tell(element, "relief_pressure_pa", found[0])
        ratings = [_value(match, "power") for match in _HEAT.finditer(text)]
        if ratings:
            _tell(element, "relief_capacity_w", min(ratings))


def set_regulator_plate(element: Element, texts: list[str]) -> None:
    """To what a pressure reducing valve is set, where words tell: a pressure alone in its name is
    the setting, but one so high that it is the body's."""
    for text in texts:
        stated = {p for p, is_set in _pressures(text) if is_set is True}
        alone = {p for p, is_set in _pressures(text) if is_set is None and p <= SET_AT_MOST_PA}
        found = stated or alone
        if len(found) == 1:
            _tell(element, "downstream_pressure_pa", found.pop())


def _pressures(text: str) -> Iterator[tuple[float, bool | None]]:
    """The pressures in a text, and whether each is a setting; None where nothing tells."""
    for match in _PRESSURE.finditer(text):
        before, after = text[: match.start()], text[match.end() :]
        is_body = _BODY_BEFORE.search(before) or _BODY_AFTER.search(after)
        is_set = _SET_BEFORE.search(before) or _SET_AFTER.search(after)
        yield _value(match, "pressure"), True if is_set else False if is_body else None


def _value(match: re.Match[str], kind: str) -> float:
    unit = match.group(2).casefold().replace(" ", "")
    return (decimal(match.group(1)) or 0.0) * UNITS[kind][unit]


def _tell(element: Element, key: str, value: float) -> None:
    """The first text that tells a fact tells it, where no property does."""
    if value and key not in element.properties:
        element.properties[key] = round(value, 4)
        element.basis[key] = IN_WORDS
