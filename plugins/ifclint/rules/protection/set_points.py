"""To what a mixing valve or faucet is set, where its name tells."""

from __future__ import annotations

import re

from ifclint.ifc.elements import Element

SET_F = 80.0, 160.0  # beyond is the rating of a body or of the hot side. Ours, no source
_NUMBER = r"(?<![\w.,/])(\d{2,3}(?:[.,]\d+)?)\s*-?\s*"
_UNIT = r"(?:°|º|deg(?:rees?)?\b\.?)?\s*([FC]|fahrenheit|celsius)\b"
_TOLD = re.compile(_NUMBER + _UNIT, re.I)
_RANGE = re.compile(
    rf"\d{{2,3}}\s*(?:(?:°|º|deg)?\.?\s*[FC]\b)?\s*(?:[-–]|to\b|bis\b|à\b|a\b)\s*{_NUMBER}{_UNIT}",
    re.I,
)
_OF_INLET = re.compile(r"\b(?:inlet|entering|supply|adjustable|range|up to|rated)\W*$", re.I)
_IS_INLET = re.compile(r"^\W*(?:inlet|entering|supply|hot side|rated|rating)\b", re.I)


def set_point_f(element: Element) -> float | None:
    """The temperature (°F) that a name tells as the setting; None where it tells none, a range or
    several."""
    text = _RANGE.sub(" ", element.called)
    found = set()
    for match in _TOLD.finditer(text):
        before, after = text[: match.start()], text[match.end() :]
        value = _fahrenheit(match[1], match[2])
        if SET_F[0] <= value <= SET_F[1] and not (
            _OF_INLET.search(before) or _IS_INLET.match(after)
        ):
            found.add(round(value, 1))
    return found.pop() if len(found) == 1 else None


def _fahrenheit(number: str, unit: str) -> float:
    value = float(number.replace(",", "."))
    return value * 9 / 5 + 32 if unit[0] in "cC" else value
