"""Project units: factors that turn the numbers of a file into SI."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

PREFIX = {
    "EXA": 1e18, "PETA": 1e15, "TERA": 1e12, "GIGA": 1e9, "MEGA": 1e6, "KILO": 1e3, "HECTO": 1e2,
    "DECA": 1e1, "DECI": 1e-1, "CENTI": 1e-2, "MILLI": 1e-3, "MICRO": 1e-6, "NANO": 1e-9,
    "PICO": 1e-12, "FEMTO": 1e-15, "ATTO": 1e-18,
}  # fmt: skip
POWER_OF_PREFIX = {"SQUARE_METRE": 2, "CUBIC_METRE": 3}
SI_NAME = {"LENGTHUNIT": "METRE", "AREAUNIT": "SQUARE_METRE", "VOLUMEUNIT": "CUBIC_METRE",
           "PLANEANGLEUNIT": "RADIAN", "POWERUNIT": "WATT", "PRESSUREUNIT": "PASCAL"}  # fmt: skip
MEASURE_UNIT = {
    "IFCLENGTHMEASURE": "LENGTHUNIT",
    "IFCPOSITIVELENGTHMEASURE": "LENGTHUNIT",
    "IFCNONNEGATIVELENGTHMEASURE": "LENGTHUNIT",
    "IFCPLANEANGLEMEASURE": "PLANEANGLEUNIT",
    "IFCPOSITIVEPLANEANGLEMEASURE": "PLANEANGLEUNIT",
    "IFCAREAMEASURE": "AREAUNIT",
    "IFCVOLUMEMEASURE": "VOLUMEUNIT",
    "IFCVOLUMETRICFLOWRATEMEASURE": "VOLUMETRICFLOWRATEUNIT",
    "IFCPOWERMEASURE": "POWERUNIT",
    "IFCPRESSUREMEASURE": "PRESSUREUNIT",
}


@dataclass
class Units:
    """SI factor of each unit type the project names; 1.0 for those it does not."""

    factors: dict[str, float] = field(default_factory=dict)
    length_known: bool = False

    @property
    def length(self) -> float:
        """Metres in one unit of length."""
        return self.factors.get("LENGTHUNIT", 1.0)

    def of_measure(self, measure: str) -> float:
        """SI units in one unit of a measure type such as IFCLENGTHMEASURE."""
        return self.factors.get(MEASURE_UNIT.get(measure, ""), 1.0)


def project_units(ifc: Any) -> Units:
    """The units assigned to the project of an opened file."""
    units = Units()
    for assignment in ifc.by_type("IfcUnitAssignment")[:1]:
        for unit in assignment[0] or ():
            if unit.is_a() == "IfcMonetaryUnit":
                continue
            found = factor(unit)
            if found is not None:
                units.factors.setdefault(str(unit[1]), found)
    units.length_known = "LENGTHUNIT" in units.factors
    return units


def factor(unit: Any, depth: int = 0) -> float | None:
    """SI units in one of this unit, or None where that cannot be told."""
    if depth > 8:
        return None
    kind = unit.is_a()
    if kind == "IfcSIUnit":
        if unit[3] != SI_NAME.get(unit[1], unit[3]):  # a length in seconds is none
            return None
        return _si_factor(unit[2], unit[3])
    if kind in ("IfcConversionBasedUnit", "IfcConversionBasedUnitWithOffset"):
        return _conversion_factor(unit[3], depth)
    if kind == "IfcDerivedUnit":
        return _derived_factor(unit[0] or (), depth)
    return None


def _si_factor(prefix: str | None, name: str) -> float:
    base = 1e-3 if name == "GRAM" else 1.0
    return base * PREFIX.get(prefix or "", 1.0) ** POWER_OF_PREFIX.get(name, 1)


def _conversion_factor(measure: Any, depth: int) -> float | None:
    if measure is None or measure[0] is None or measure[1] is None:
        return None
    base = factor(measure[1], depth + 1)
    value = measure[0][0]
    usable = isinstance(value, int | float) and math.isfinite(value) and value > 0
    return base * value if base is not None and usable else None


def _derived_factor(elements: Any, depth: int) -> float | None:
    product = 1.0
    for element in elements:
        base = factor(element[0], depth + 1)
        if base is None:
            return None
        product *= base ** element[1]
    return product
