"""Values that authors write as text, in whatever unit: '1:200', '2,5 %', '40,000 Btu/h'."""

import math
import re
from fractions import Fraction

from ifclint.ifc.step.text import clean

Value = float | str | bool
GALLON_M3 = 0.003785411784
LITRE_M3 = 0.001
YES = frozenset({"true", "yes", "1", "ja", "oui", "si", "sí", "да"})

LENGTH = {"mm": 0.001, "cm": 0.01, "dm": 0.1, "m": 1.0, "in": 0.0254, "inch": 0.0254,
          "inche": 0.0254, '"': 0.0254, "''": 0.0254, "zoll": 0.0254, "duim": 0.0254,
          "ft": 0.3048, "feet": 0.3048, "foot": 0.3048, "'": 0.3048}  # fmt: skip
INCH_OF_WATER = 249.08891  # Pa, conventional; NIST SP 811, appendix B.8
WATER_COLUMN = {f"{inch}{water}": INCH_OF_WATER
                for inch in ("in", "in.", "inch", "inches", '"')
                for water in ("wc", "w.c", "h2o", "water", "ofwater", "ofwc", "ofw.c")}  # fmt: skip
UNITS: dict[str, dict[str, float]] = {
    "length": LENGTH,
    "power": {"btu/h": 0.29307107, "btu/hr": 0.29307107, "btuh": 0.29307107, "btu": 0.29307107,
              "mbh": 293.07107, "kbtuh": 293.07107, "kbtu/h": 293.07107, "kbtu/hr": 293.07107,
              "kw": 1000.0, "w": 1.0},
    "volume": {"gal": GALLON_M3, "gallon": GALLON_M3, "gpf": GALLON_M3, "lpf": LITRE_M3,
               "l": LITRE_M3, "ltr": LITRE_M3, "litre": LITRE_M3, "liter": LITRE_M3, "m3": 1.0},
    "area": {"m2": 1.0, "sqm": 1.0, "ft2": 0.09290304, "sqft": 0.09290304, "sf": 0.09290304},
    "pressure": {"pa": 1.0, "kpa": 1000.0, "mpa": 1e6, "bar": 1e5, "mbar": 100.0,
                 "psi": 6894.757293, "psig": 6894.757293, "mws": 9806.65, "mwc": 9806.65,
                 "iwc": INCH_OF_WATER, **WATER_COLUMN},
    "flow": {"m3/s": 1.0, "l/s": 0.001, "l/min": 0.001 / 60, "lpm": 0.001 / 60, "m3/h": 1 / 3600,
             "gpm": GALLON_M3 / 60, "gal/min": GALLON_M3 / 60},
    "angle": {"°": math.pi / 180, "deg": math.pi / 180, "degree": math.pi / 180,
              "grad": math.pi / 180, "graden": math.pi / 180, "rad": 1.0},
}  # fmt: skip

_DECIMAL = r"[-+]?\d+(?:[.,]\d+)*"
_WITH_UNIT = re.compile(rf"^\s*({_DECIMAL})\s*([^\d\s].*?)\s*$")
_FRACTION_WITH_UNIT = re.compile(r"^\s*(?:(\d+)[\s-]+)?(\d+)\s*/\s*(\d+)\s*([^\d\s/].*?)\s*$")
_RATIO = re.compile(rf"^\s*1\s*(?:[:/]|in|auf|op|sur|en)\s*({_DECIMAL})\s*$", re.I)
_PER_LENGTH = re.compile(
    rf"(?:(\d+)\s*/\s*(\d+)|({_DECIMAL}))\s*"
    r"(\"|″|''|in(?:ch(?:es)?)?\.?|mm|cm)?\s*(?:per|pro|par|por|/|:)\s*"
    r"(ft|foot|feet|'|m|meter|metre|metro|lfm)\b",
    re.I,
)
_A_FOOT = re.compile(  # of run, after the rise: 12", 1'-0"
    r"(?<=[/:\s])(?:12\s*(?:\"|″|''|in(?:ch(?:es)?)?\.?)|"
    r"1\s*(?:'|′|ft\.?|foot)\s*(?:-?\s*0\s*(?:\"|″|'')?)?)\s*$",
    re.I,
)
_SHARE = re.compile(rf"({_DECIMAL})\s*(%|‰|percent|prozent|per\s?mille?|promille)", re.I)
_DEGREES = re.compile(rf"^\s*({_DECIMAL})\s*(?:°|deg\w*|grad\w*)\s*$", re.I)
_SHARES = {"%": 0.01, "percent": 0.01, "prozent": 0.01}


def decimal(text: str) -> float | None:
    """A number with a decimal point or comma, its thousands set apart or not; None for others.

    >>> decimal("2,5"), decimal("40,000"), decimal("1.234,5"), decimal("1,234.5")
    (2.5, 40000.0, 1234.5, 1234.5)
    """
    text = text.strip()
    last = max(text.rfind("."), text.rfind(","))
    if text.count(".") and text.count(","):
        other = "," if text[last] == "." else "."
        text = text.replace(other, "")
    elif text.count(",") > 1 or re.fullmatch(r"[-+]?[1-9]\d{0,2},\d{3}", text):
        text = text.replace(",", "")
    try:
        return float(text.replace(",", "."))
    except ValueError:
        return None


def from_text(raw: str, reads: str) -> Value | None:
    """A value of a property that is text, in SI, as `reads` asks; None where it tells none."""
    if reads in ("text", "size"):
        return clean(raw) or None
    if reads == "flag":
        return raw.strip().casefold() in YES
    if reads == "ratio":
        return ratio(raw)
    if reads == "number":
        return decimal(raw)
    return _with_unit(raw, UNITS.get(reads, {}))


def _with_unit(raw: str, units: dict[str, float]) -> float | None:
    if match := _FRACTION_WITH_UNIT.match(raw):
        whole, top, bottom, unit = match.groups()
        factor = _factor(unit, units)
        if factor is not None and int(bottom):
            return float(int(whole or 0) + Fraction(int(top), int(bottom))) * factor
    match = _WITH_UNIT.match(raw)
    number = decimal(match.group(1)) if match else None
    factor = _factor(match.group(2), units) if match else None
    return number * factor if number is not None and factor is not None else None


def _factor(unit: str, units: dict[str, float]) -> float | None:
    plain = (
        unit.casefold()
        .replace("³", "3")
        .replace("²", "2")
        .replace(" ", "")
        .replace("″", '"')
        .rstrip(".")
    )
    return units.get(plain, units.get(plain.rstrip("s")))


def ratio(raw: str) -> float | None:
    """A slope as rise over run: '1:200', '1 in 80', '1/4 in per ft', '1/4" / 12"', '2 cm/m',
    '2,5 %', '5 ‰', '1.2°'. A bare number is none: it may be percent as well as a ratio.

    >>> ratio("1:200"), ratio("1/4 in per ft"), ratio("2,5 %"), ratio("150 %"), ratio("5 ‰")
    (0.005, 0.020833333333333332, 0.025, 1.5, 0.005)
    """
    if match := _RATIO.match(raw):
        run = decimal(match.group(1))
        return 1.0 / run if run else None
    if match := _PER_LENGTH.search(_A_FOOT.sub("ft", raw)):
        return _per_length(*match.groups())
    if match := _SHARE.search(raw):
        number = decimal(match.group(1))
        return None if number is None else number * _SHARES.get(match.group(2).casefold(), 0.001)
    if match := _DEGREES.match(raw):
        degrees = decimal(match.group(1))
        return None if degrees is None else slope_of_angle(math.radians(degrees))
    return None


def _per_length(
    top: str | None, bottom: str | None, plain: str | None, unit: str | None, per: str
) -> float | None:
    per = per.casefold()
    foot = per in ("ft", "foot", "feet", "'")
    number = (
        float(top) / float(bottom) if top and bottom and float(bottom) else decimal(plain or "")
    )
    if number is None or (unit is None and not foot):
        return None
    metres = _factor(unit, LENGTH) if unit is not None else LENGTH["in"]
    return None if metres is None else number * metres / (LENGTH["ft"] if foot else 1.0)


def slope_of_angle(radians: float) -> float | None:
    """Rise over run of an angle; None where it is steeper than any slope is told for."""
    return math.tan(radians) if abs(radians) < math.radians(80) else None
