"""Quantities of the job file: a number and its unit as text, read into SI floats.

"65 psi", "40,000 Btu/hour", "1000 Btu/ft**3", "5 1/2 in": a number (a decimal, or a fraction as a
rule shows it) and a unit; lengths also in feet and inches, "3 ft 6 in" or 3'-6". Nothing is
calculated: a text that asks for it is refused, as is one that could be read in two ways, like
"0,5 psi".
"""

import math
import re
import unicodedata
from collections.abc import Callable
from functools import cache
from typing import Annotated, Any

from pydantic import BeforeValidator

from ifclint.engineering.units import (
    M3_PER_FT3,
    M3_PER_S_PER_GPM,
    M3_PER_US_GAL,
    M_PER_FT,
    M_PER_IN,
    PA_PER_IN_WC,
    PA_PER_PSI,
    SECONDS_PER_HOUR,
)

MAX_LENGTH = 64  # characters of a quantity; "1000 Btu/ft**3" has 14

_FRACTION = r"(?:(?P<whole>[0-9]+)[ -])?(?P<over>[0-9]+)/(?P<under>[0-9]+)"
_DECIMAL = r"(?:(?:[0-9]{1,3}(?:,[0-9]{3})+|[0-9]+)(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][-+]?[0-9]{1,3})?"
_NAME = r"[A-Za-zµμ°][A-Za-z0-9_]*(?:\s?(?:\*\*|\^)\s?-?[1-4]|[²³])?"  # "ft**3", "inH2O"
_QUANTITY = re.compile(
    rf"(?P<sign>[-+]?)(?:{_FRACTION}|(?P<decimal>{_DECIMAL}))\s*"
    rf"(?P<unit>{_NAME}(?:(?:\s?[*/·]\s?|\s){_NAME})*)"
)

_FEET_AND_INCHES = re.compile(
    r"(?P<feet>[-+]?[0-9,]+\s*(?:ft|feet|foot))[\s-]+(?P<inches>[0-9][0-9./ -]*(?:in|inch|inches))"
)
_SPELT = {"⁄": "/", "″": '"', "”": '"', "’": "'", "′": "'"}
BTU_J = 1055.056  # as pint has it (ISO 31-4)
USUAL: dict[str, dict[str, float]] = {  # in SI; any other unit is asked of pint, slow to start
    "pascal": {"psi": PA_PER_PSI, "inH2O": PA_PER_IN_WC, "kPa": 1000.0, "bar": 100_000.0},
    "meter": {"ft": M_PER_FT, "in": M_PER_IN, "m": 1.0, "mm": 0.001},
    "meter**2": {"ft**2": M_PER_FT**2, "in**2": M_PER_IN**2, "m**2": 1.0},
    "meter**3": {"gal": M3_PER_US_GAL, "ft**3": M3_PER_FT3, "m**3": 1.0},
    "meter**3/second": {"gpm": M3_PER_S_PER_GPM, "L/s": 0.001},
    "meter/second": {"in/hour": M_PER_IN / SECONDS_PER_HOUR, "mm/hour": 0.001 / SECONDS_PER_HOUR},
    "watt": {"Btu/hour": BTU_J / SECONDS_PER_HOUR, "kW": 1000.0},
    "joule/meter**3": {"Btu/ft**3": BTU_J / M3_PER_FT3},
}


def quantity(si_unit: str, example: str) -> Callable[[object], float]:
    """A validator that turns "65 psi" into a float in `si_unit`.

    A type of quantity is `Annotated[float, BeforeValidator(quantity("meter**2", "12 ft**2"))]`.
    """

    def parse(value: object) -> float:
        if not isinstance(value, str):
            raise ValueError(f'write it as text with a unit, for example "{example}"')
        if len(value) > MAX_LENGTH:
            raise ValueError(
                f'a quantity has at most {MAX_LENGTH} characters; write for example "{example}"'
            )
        number = _in_unit(value, si_unit)
        if number is None:
            raise ValueError(f'"{value}" is not such a quantity; write for example "{example}"')
        if not math.isfinite(number):
            raise ValueError(f'"{value}" is not a finite number')
        return number

    return parse


def _in_unit(text: str, si_unit: str) -> float | None:
    """The quantity in an SI unit; None where the text is no quantity, or of another kind."""
    plain = _plain(text)
    if both := _FEET_AND_INCHES.fullmatch(plain):
        feet, inches = (_in_unit(part, si_unit) for part in both.groups())
        if feet is None or inches is None or inches >= M_PER_FT:
            return None
        return feet + math.copysign(inches, -1 if plain.startswith("-") else 1)
    match = _QUANTITY.fullmatch(plain)
    if match is None:
        return None
    try:
        number, usual = _number(match), USUAL.get(si_unit, {}).get(match["unit"])
        if usual is not None:
            return number * usual
        return float(_units().Quantity(number, match["unit"]).to(si_unit).magnitude)
    except Exception:  # pint raises many kinds, also from inside its tokenizer
        return None


def _plain(text: str) -> str:
    """The signs of feet, inches and fractions in letters and figures."""
    spaced = re.sub(r"(?<=[0-9])(?=[¼-¾⅐-⅞])", " ", text)
    spelt = "".join(_SPELT.get(sign, sign) for sign in unicodedata.normalize("NFKC", spaced))
    for sign, unit in (("''", "in"), ('"', "in"), ("'", "ft")):
        spelt = re.sub(rf"\s*{sign}", f" {unit} ", spelt)
    return spelt.strip()


def in_same_unit(limit: float, written: object) -> str:
    """A limit in SI in the unit in which a quantity is written: "1.64 ft". A plain number is its
    own unit."""
    plain = _plain(written) if isinstance(written, str) else ""
    both = _FEET_AND_INCHES.fullmatch(plain)
    match = _QUANTITY.fullmatch(both["feet"] if both else plain)
    if match is None:
        return f"{limit:g}"
    shown = f"{limit / _in_si(match['unit']):.3g}"
    return f"{float(shown):g} {match['unit']}"


def _in_si(unit: str) -> float:
    """How much a unit is in SI."""
    usual = next((units[unit] for units in USUAL.values() if unit in units), None)
    if usual is not None:
        return usual
    return float(_units().Quantity(1.0, unit).to_base_units().magnitude)


def _number(match: re.Match[str]) -> float:
    if match["decimal"]:
        number = float(match["decimal"].replace(",", ""))
    else:
        number = float(match["whole"] or 0) + float(match["over"]) / float(match["under"])
    return -number if match["sign"] == "-" else number


@cache
def _units() -> Any:
    import pint  # slow to import, and needed only where a job file has quantities

    registry = pint.UnitRegistry()
    registry.define("gpm = gallon / minute")
    return registry


PressurePa = Annotated[float, BeforeValidator(quantity("pascal", "65 psi"))]
LengthM = Annotated[float, BeforeValidator(quantity("meter", "40 ft"))]
# A height in the model, or on the drawings (see heights.py).
HeightM = Annotated[float, BeforeValidator(quantity("meter", "-2 ft")), "height"]
FlowM3s = Annotated[float, BeforeValidator(quantity("meter**3/second", "10 gpm"))]
HeatingValueJm3 = Annotated[float, BeforeValidator(quantity("joule/meter**3", "1000 Btu/ft**3"))]
PowerW = Annotated[float, BeforeValidator(quantity("watt", "40000 Btu/hour"))]
AreaM2 = Annotated[float, BeforeValidator(quantity("meter**2", "1200 ft**2"))]
VolumeM3 = Annotated[float, BeforeValidator(quantity("meter**3", "1000 gal"))]
RainfallMs = Annotated[float, BeforeValidator(quantity("meter/second", "4 in/hour"))]
