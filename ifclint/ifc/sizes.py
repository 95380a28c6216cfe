"""Nominal pipe sizes: designations, diameters and words turned into trade sizes in inches.

`pipe_sizes.csv` holds the series. Whatever fits two different sizes is left unknown (None, with
`Doubt.AMBIGUOUS`); whatever fits none is `Doubt.NO_SIZE`. Nothing is rounded to the nearest.
"""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from importlib.resources import files

MM_PER_IN = 25.4
NOMINAL_TOLERANCE_MM = 0.35  # a designation written as a length: 50.8, 51, 50
OUTSIDE_TOLERANCE = 0.006  # of an outside diameter, and at least 0.3 mm


class Doubt(StrEnum):
    NONE = ""
    AMBIGUOUS = "fits more than one pipe size"
    NO_SIZE = "is no pipe size"


@dataclass(frozen=True, slots=True)
class PipeSize:
    series: str
    materials: frozenset[str]
    nominal_in: float
    dn_mm: float
    outside_mm: float | None
    inside_mm: float | None


@dataclass(frozen=True, slots=True)
class SizeFound:
    size_in: float | None
    doubt: Doubt = Doubt.NONE


@lru_cache(maxsize=1)
def pipe_sizes() -> tuple[PipeSize, ...]:
    """The rows of `pipe_sizes.csv`."""
    text = files("ifclint.ifc").joinpath("pipe_sizes.csv").read_text("utf-8")
    return tuple(_row(r) for r in csv.DictReader(text.splitlines()))


def _row(cells: dict[str, str]) -> PipeSize:
    def number(key: str) -> float | None:
        return float(cells[key]) if cells[key] else None

    return PipeSize(
        cells["series"],
        frozenset(m for m in cells["materials"].split(";") if m),
        float(cells["nominal_in"]),
        float(cells["dn_mm"]),
        number("outside_mm"),
        number("inside_mm"),
    )


@lru_cache(maxsize=1)
def trade_sizes() -> frozenset[float]:
    return frozenset(s.nominal_in for s in pipe_sizes())


@lru_cache(maxsize=4096)
def from_nominal(metres: float, material: str = "", *, strict: bool = False) -> SizeFound:
    """A nominal diameter written as a length: 50.8 mm and 50 mm are both a 2 in pipe.

    Where it is neither inches nor a DN, it is taken for the outside diameter it may be, unless
    `strict`.
    """
    mm = metres * 1000.0
    tolerance = max(NOMINAL_TOLERANCE_MM, 0.003 * mm)
    inch = {s.nominal_in for s in pipe_sizes() if abs(s.nominal_in * MM_PER_IN - mm) <= tolerance}
    dn = {s.nominal_in for s in pipe_sizes() if abs(s.dn_mm - mm) <= NOMINAL_TOLERANCE_MM}
    found = inch | dn
    if not found and not strict:
        return from_outside(metres, material)
    return _one(found)


@lru_cache(maxsize=4096)
def from_outside(metres: float, material: str = "") -> SizeFound:
    """The size of a pipe of this outside diameter, in the series its material is made in."""
    mm = metres * 1000.0
    tolerance = max(0.3, OUTSIDE_TOLERANCE * mm)
    known = [s for s in pipe_sizes() if s.outside_mm is not None]
    series = [s for s in known if material in s.materials] or known
    near = [s for s in series if abs((s.outside_mm or 0.0) - mm) <= tolerance]
    if not near:
        return SizeFound(None, Doubt.NO_SIZE)
    closest = min(abs((s.outside_mm or 0.0) - mm) for s in near)
    return _one({s.nominal_in for s in near if abs((s.outside_mm or 0.0) - mm) <= closest + 0.1})


@lru_cache(maxsize=4096)
def from_drawn_diameter(metres: float, material: str = "") -> SizeFound:
    """The size of a pipe drawn with this diameter: true outside diameter, or nominal size."""
    outside = from_outside(metres, material)
    mm = metres * 1000.0
    nominal = {s.nominal_in for s in pipe_sizes() if _is_designation(s, mm)}
    found = nominal | ({outside.size_in} if outside.size_in is not None else set())
    if not found:
        return outside
    return _one(found)


def _is_designation(size: PipeSize, mm: float) -> bool:
    return abs(size.nominal_in * MM_PER_IN - mm) <= 0.2 or abs(size.dn_mm - mm) <= 0.1


def _one(found: set[float]) -> SizeFound:
    if len(found) == 1:
        return SizeFound(found.pop())
    return SizeFound(None, Doubt.AMBIGUOUS if found else Doubt.NO_SIZE)


_INCHES = r'(?:"|”|″|\'\'|in\b|inch(?:es)?\b|-in\b|-inch\b|ips\b|pulg\w*|zoll\b|duim\b)'
_FRACTION = r"(?:(\d+)\s*[- ]\s*)?(\d+)\s*[/\u2044]\s*(\d+)"
_GLYPHS = {"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅜": " 3/8", "⅛": " 1/8"}
_ALONE = r"(?<![\w./])(?<!\w-)"  # not the tail of "L-2" or "1.5"
_IN_FRACTION = re.compile(rf"{_ALONE}{_FRACTION}\s*-?\s*{_INCHES}", re.I)
_IN_NUMBER = re.compile(rf"{_ALONE}(\d+(?:\.\d+)?)\s*-?\s*{_INCHES}", re.I)
_NUMBER = r"\d+(?:[- ]\d+/\d+|/\d+|\.\d+)?"
_TIMES = re.compile(r'(?<=["”″\d])\s*[x×]\s*(?=\d)', re.I)
_SERIES = re.compile(
    rf"(?<![\w./])({_NUMBER})\s*[x×]\s*(?=(?:{_NUMBER}\s*[x×]\s*)*{_NUMBER}\s*-?\s*{_INCHES})", re.I
)
_DN = re.compile(r"\bDN\s*-?\s*(\d+(?:[.,]\d+)?)(?![\d.])", re.I)
_MM = re.compile(r"(?<![\d.,x×/])(\d+(?:[.,]\d+)?)\s*mm\b(?!\s*[x×]|\s*p\b)", re.I)
_ROUND = re.compile(r"[øØ∅⌀]\s*(\d+(?:[.,]\d+)?)(?:\s*mm)?", re.I)
_PLAIN_FRACTION = re.compile(rf"^\s*{_FRACTION}\s*$")


@lru_cache(maxsize=16384)
def from_words(text: str, material: str = "", *, size_property: bool = False) -> tuple[float, ...]:
    """The trade sizes a text names, in order, each once: 'PVC 4"x3"' -> (4, 3); 'DN50' -> (2,).

    In a property that is a size anyway, a bare fraction is inches as well.
    """
    for glyph, fraction in _GLYPHS.items():
        text = text.replace(glyph, fraction)
    text = _TIMES.sub(" x ", text)
    text = _SERIES.sub(r"\1 in ", text)  # "4 x 3 in" names two sizes
    found: list[tuple[int, float]] = []
    for m in _IN_FRACTION.finditer(text):
        found.append((m.start(), _mixed(m.group(1), m.group(2), m.group(3))))
    taken = [m.span() for m in _IN_FRACTION.finditer(text)]
    for m in _IN_NUMBER.finditer(text):
        if not any(a <= m.start() < b for a, b in taken):
            found.append((m.start(), float(m.group(1))))
    if size_property and not found and (plain := _PLAIN_FRACTION.match(text)):
        found.append((0, _mixed(plain.group(1), plain.group(2), plain.group(3))))
    found = [(at, n) for at, n in found if n in trade_sizes()]
    if not found:
        found = _metric(text, material)
    return tuple(dict.fromkeys(n for _, n in sorted(found)))


def _metric(text: str, material: str) -> list[tuple[int, float]]:
    found: list[tuple[int, float]] = []
    for pattern in (_DN, _ROUND, _MM):
        for m in pattern.finditer(text):
            size = from_nominal(float(m.group(1).replace(",", ".")) / 1000.0, material).size_in
            if size is not None:
                found.append((m.start(), size))
        if found:
            break
    return found


def _mixed(whole: str | None, top: str, bottom: str) -> float:
    return (float(whole) if whole else 0.0) + (float(top) / float(bottom) if float(bottom) else 0.0)
