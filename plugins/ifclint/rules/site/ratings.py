"""What an interceptor holds and lets through: from the model, its name, or the job file."""

import re
from dataclasses import dataclass

from ifclint.engineering.units import M3_PER_S_PER_GPM, M3_PER_US_GAL
from ifclint.ifc.elements import Element
from ifclint.rules.site.section import InterceptorData

L_PER_M3 = 1000.0
_NUMBER = r"(\d+(?:,\d{3})*(?:\.\d+)?)\s*-?\s*"
_GPM = re.compile(_NUMBER + r"(?:gpm|gal(?:lons?)?\.?\s*(?:/|per)\s*min)", re.I)
_GAL = re.compile(_NUMBER + r"gal(?:lons?)?\b(?!\.?\s*(?:/|per)\s*min)", re.I)
_LITRES = re.compile(_NUMBER + r"(?:l|lit(?:er|re)s?)\b(?!\s*/)", re.I)
_NOMINAL = re.compile(r"\bNS\s*(\d+(?:\.\d+)?)\b")  # EN 1825: litres a second
_POUNDS = re.compile(_NUMBER + r"(?:lbs?|pounds?)\b", re.I)


@dataclass(frozen=True)
class Rating:
    """US units, as interceptors are sold; None where nothing tells."""

    volume_gal: float | None
    flow_gpm: float | None
    grease_lb: float | None


def rating_of(element: Element, told: InterceptorData | None) -> Rating:
    """The job file first, then the property sets, then what it is called."""
    said = element.called
    volume = told.volume if told and told.volume else element.properties.number("storage_volume_m3")
    flow = told.rating if told and told.rating else element.properties.number("flow_rate_m3s")
    by_volume = volume / M3_PER_US_GAL if volume else _gallons(said)
    by_flow = flow / M3_PER_S_PER_GPM if flow else _gpm(said)
    return Rating(by_volume, by_flow, _number(_POUNDS, said))


def is_rated_by_flow(element: Element, told: InterceptorData | None) -> bool:
    """Whether it is sold by a flow in gpm, or so many litres a second, and not by what it holds. A
    nominal size (NS) is that of a separator that works by gravity, and tells no such thing."""
    stated = (told and told.rating) or element.properties.number("flow_rate_m3s")
    return bool(stated) or _number(_GPM, element.called) is not None


def _gallons(said: str) -> float | None:
    litres = _number(_LITRES, said)
    by_litres = litres / L_PER_M3 / M3_PER_US_GAL if litres is not None else None
    return _number(_GAL, said) or by_litres


def _gpm(said: str) -> float | None:
    nominal = _number(_NOMINAL, said)
    by_nominal = nominal / L_PER_M3 / M3_PER_S_PER_GPM if nominal is not None else None
    return _number(_GPM, said) or by_nominal


def _number(pattern: re.Pattern[str], said: str) -> float | None:
    match = pattern.search(said)
    return float(match[1].replace(",", "")) if match else None
