"""Sizes that names and designations tell: '4"x3"', "DN 100/70", "Ø110", "22x1,0"."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

from ifclint.ifc.facts.sizes import from_nominal, from_outside, trade_sizes

_INCHES = r'(?:"|”|″|\'\'|in\b|inch(?:es)?\b|-in\b|-inch\b|ips\b|pulg\w*|zoll\b|duim\b)'
_FRACTION = r"(?:(\d+)\s*[- ]\s*)?(\d+)\s*[/\u2044]\s*(\d+)"
_GLYPHS = {"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅜": " 3/8", "⅛": " 1/8"}
_NO_LENGTH = r"(?<![HL]=)"
_ALONE = rf"(?<![\w./])(?<!\w-)(?<!\d,)(?<!\":){_NO_LENGTH}"  # not the tail of "L-2" or "1.5"
_NO_SIZE_OF_PIPE = (
    r"(?!\s*(?:long|high|wide|deep|tall|thick|above|below|aff|off|from|away|length|insul|per\b"
    r"|/\s*(?:ft|foot|lf)\b|:\s*\d))"
)
_IN_FRACTION = re.compile(rf"{_ALONE}{_FRACTION}\s*-?\s*{_INCHES}{_NO_SIZE_OF_PIPE}", re.I)
_IN_NUMBER = re.compile(rf"{_ALONE}(\d+(?:[.,]\d+)?)\s*-?\s*{_INCHES}{_NO_SIZE_OF_PIPE}", re.I)
_NUMBER = r"\d+(?:[- ]\d+/\d+|/\d+|\.\d+)?"
_TIMES = re.compile(r'(?<=["”″\d])\s*[x×]\s*(?=\d)', re.I)
_SERIES = re.compile(
    rf"(?<![\w./])({_NUMBER})\s*[x×]\s*(?=(?:{_NUMBER}\s*[x×]\s*)*{_NUMBER}\s*-?\s*{_INCHES})", re.I
)
_FEET_AND_INCHES = re.compile(
    r"\d\s*['’′]\s*-?\s*\d+(?:\.\d+|(?:[- ]\d+)?/\d+)?\s*(?:[\"”″]|''|in\b)", re.I
)
_MAY_BE_INCHES = re.compile(r"\d\s*-?\s*[\"”″'a-z/\u2044]", re.I)
_MAY_BE_METRIC = re.compile(r"\d\s*mm|dn[\s-]*\d|[øØ∅⌀]|\d\s*[x×]\s*\d", re.I)
_MM_NUMBER = r"(\d+(?:[.,]\d+)?)"
_DN = re.compile(rf"\bDN\s*-?\s*{_MM_NUMBER}(?![\d.])", re.I)
_DN_BRANCH = re.compile(
    r"(?<=[/x×])\s*(\d+)(?=\s*(?:[/x×]|$|[^\d\s°.,]))(?!\s*(?:°|deg|grad))", re.I
)
_ANGLES = frozenset({15, 30, 45, 67, 87, 88, 90})  # "DN 110/45" is a bend
_WALLED = re.compile(rf"(?<![\w.,/]){_MM_NUMBER}\s*[x×]\s*\d{{1,2}}[.,]\d+(?!\s*[x×])")
_WALLED_SIZE = re.compile(rf"^\s*{_MM_NUMBER}\s*[x×]\s*\d\s*(?:mm)?\s*$")
_MM = re.compile(
    rf"{_NO_LENGTH}(?<![\d.,x×/]){_MM_NUMBER}\s*mm\b(?!\s*[x×]|\s*p\b){_NO_SIZE_OF_PIPE}", re.I
)
_ROUND = re.compile(rf"[øØ∅⌀]\s*{_MM_NUMBER}(?:\s*mm)?", re.I)
_PLAIN_FRACTION = re.compile(rf"^\s*{_FRACTION}\s*$")


@lru_cache(maxsize=16384)
def from_words(
    text: str, material: str = "", *, use: str = "", size_property: bool = False
) -> tuple[float, ...]:
    """The trade sizes a text names, in order, each once: 'PVC 4"x3"' -> (4, 3); 'DN50' -> (2,).

    In a property that is a size anyway, a bare fraction is inches as well, and "22x1" an outside
    diameter and a wall.
    """
    found: Sequence[tuple[int, float]] = _inches(text, size_property)
    if not found and _MAY_BE_METRIC.search(text):
        found = _metric(_TIMES.sub(" x ", text), material, use, size_property)
    return tuple(dict.fromkeys(n for _, n in sorted(found)))


def stated_in_inches(text: str, *, size_property: bool = False) -> bool:
    """Whether the sizes a text names are in inches, not millimetres or DN."""
    return bool(_inches(text, size_property))


@lru_cache(maxsize=16384)
def _inches(text: str, size_property: bool) -> tuple[tuple[int, float], ...]:
    for glyph, fraction in _GLYPHS.items():
        text = text.replace(glyph, fraction)
    if not _MAY_BE_INCHES.search(text):
        return ()
    text = _TIMES.sub(" x ", _FEET_AND_INCHES.sub(" ", text))
    text = _SERIES.sub(r"\1 in ", text)  # "4 x 3 in" names two sizes
    found: list[tuple[int, float]] = []
    for m in _IN_FRACTION.finditer(text):
        found.append((m.start(), _mixed(m.group(1), m.group(2), m.group(3))))
    taken = [m.span() for m in _IN_FRACTION.finditer(text)]
    for m in _IN_NUMBER.finditer(text):
        if not any(a <= m.start() < b for a, b in taken):
            found.append((m.start(), float(m.group(1).replace(",", "."))))
    if size_property and not found and (plain := _PLAIN_FRACTION.match(text)):
        found.append((0, _mixed(plain.group(1), plain.group(2), plain.group(3))))
    return tuple([(at, n) for at, n in found if n in trade_sizes()])


def _metric(text: str, material: str, use: str, size_property: bool) -> list[tuple[int, float]]:
    walled = list(_WALLED.finditer(text))
    if size_property and not walled:
        walled = list(_WALLED_SIZE.finditer(text))
    for matches, read in (
        (_DN.finditer(text), from_nominal),
        (_ROUND.finditer(text), from_nominal),
        (walled, from_outside),
        (_MM.finditer(text), from_nominal),
    ):
        stated = [(m.start(), float(m.group(1).replace(",", ".")) / 1000.0) for m in matches]
        sizes = [(at, read(metres, material, use=use).size_in) for at, metres in stated]
        found = [(at, size) for at, size in sizes if size is not None]
        if found:
            return found + _branches(text, material, use)
    return []


def _branches(text: str, material: str, use: str) -> list[tuple[int, float]]:
    """The other sizes of "DN 100/70"; "DN 110/45" names an angle, "DN 110 x 1000" a length."""
    first = _DN.search(text)
    if first is None:
        return []
    main = float(first.group(1).replace(",", "."))
    found: list[tuple[int, float]] = []
    for m in _DN_BRANCH.finditer(text):
        mm = float(m.group(1))
        if mm in _ANGLES or (text[m.start() - 1] != "/" and mm > main):
            continue
        size = from_nominal(mm / 1000.0, material, use=use).size_in
        if size is not None:
            found.append((m.start(), size))
    return found


def _mixed(whole: str | None, top: str, bottom: str) -> float:
    return (float(whole) if whole else 0.0) + (float(top) / float(bottom) if float(bottom) else 0.0)
