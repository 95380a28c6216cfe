"""Project units: factors that turn the numbers of a file into SI, and what is doubtful of them."""

import math
from collections.abc import Iterator
from typing import Any

from ifclint.ifc.step.spf import class_and_arguments
from ifclint.ifc.step.text_index import Ref, TextIndex

PREFIX = {
    "EXA": 1e18, "PETA": 1e15, "TERA": 1e12, "GIGA": 1e9, "MEGA": 1e6, "KILO": 1e3, "HECTO": 1e2,
    "DECA": 1e1, "DECI": 1e-1, "CENTI": 1e-2, "MILLI": 1e-3, "MICRO": 1e-6, "NANO": 1e-9,
    "PICO": 1e-12, "FEMTO": 1e-15, "ATTO": 1e-18,
}  # fmt: skip
POWER_OF_PREFIX = {"SQUARE_METRE": 2, "CUBIC_METRE": 3}
Dimension = tuple[int, ...]  # powers of metre, kilogram and second
OF_NAME: dict[str, Dimension] = {
    "METRE": (1, 0, 0), "SQUARE_METRE": (2, 0, 0), "CUBIC_METRE": (3, 0, 0), "RADIAN": (0, 0, 0),
    "GRAM": (0, 1, 0), "SECOND": (0, 0, 1), "HERTZ": (0, 0, -1), "NEWTON": (1, 1, -2),
    "PASCAL": (-1, 1, -2), "JOULE": (2, 1, -2), "WATT": (2, 1, -3),
}  # fmt: skip
OF_KIND: dict[str, Dimension] = {
    "LENGTHUNIT": (1, 0, 0), "AREAUNIT": (2, 0, 0), "VOLUMEUNIT": (3, 0, 0),
    "PLANEANGLEUNIT": (0, 0, 0), "VOLUMETRICFLOWRATEUNIT": (3, 0, -1), "POWERUNIT": (2, 1, -3),
    "PRESSUREUNIT": (-1, 1, -2),
}  # fmt: skip
IN_WORDS = {
    "LENGTHUNIT": "length", "AREAUNIT": "area", "VOLUMEUNIT": "volume",
    "PLANEANGLEUNIT": "plane angle", "VOLUMETRICFLOWRATEUNIT": "volumetric flow rate",
    "POWERUNIT": "power", "PRESSUREUNIT": "pressure",
}  # fmt: skip
KNOWN_BY_NAME = {  # metres or radians in one, where a conversion is named so
    "INCH": 0.0254, "FOOT": 0.3048, "YARD": 0.9144, "MILE": 1609.344, "DEGREE": math.pi / 180,
}  # fmt: skip
AS_NAMED = 1e-3  # how far a factor may be from its name's, as a part of it: what rounding costs
SAME = 1e-5  # a survey foot is a foot
DEEPEST = 8  # units that rest on units: in more, one rests on itself
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
LENGTH = "LENGTHUNIT"
OF_SHAPES = (LENGTH, "PLANEANGLEUNIT")  # asked for by every shape


class Units:
    """SI factor of each kind of unit that the project names; 1.0 for those it does not."""

    def __init__(self, ifc: Any, text: TextIndex) -> None:
        self._ifc, self._text = ifc, text
        self._asked = set(OF_SHAPES)
        self._unknown: dict[Ref, None] = {}  # of single values
        self.factors: dict[str, float] = {}
        self._named: dict[str, list[tuple[Ref, float | None]]] = {}
        for unit in _assigned(ifc):
            kind = self._kind(unit)
            if kind in OF_KIND:
                self._named.setdefault(kind, []).append((unit.id(), self._factor(unit, kind)))
        for kind, named in self._named.items():
            told = [factor for _, factor in named if factor is not None]
            self.factors |= {kind: told[0]} if told else {}

    @property
    def length(self) -> float:
        """Metres in one unit of length."""
        return self.factors.get(LENGTH, 1.0)

    @property
    def angle(self) -> float:
        """Radians in one unit of plane angle."""
        return self.factors.get("PLANEANGLEUNIT", 1.0)

    def of_measure(self, measure: str) -> float | None:
        """SI units in one unit of a measure type such as IFCLENGTHMEASURE, or None where the
        project names a unit for it that cannot be understood."""
        kind = MEASURE_UNIT.get(measure, "")
        self._asked.add(kind)
        return self.factors.get(kind, None if kind in self._named else 1.0)

    def of_unit(self, ref: Ref, measure: str = "") -> float | None:
        """SI units in one of a unit of the file, or None where that cannot be told."""
        kind = MEASURE_UNIT.get(measure, "")
        factor = self._factor(self._ifc.by_id(ref), kind)
        if factor is None and kind:
            self._unknown[ref] = None
        return factor

    def doubts_of_length(self) -> Iterator[str]:
        """What is wrong with the unit of length, on which every measure rests; a sentence."""
        if LENGTH not in self._named:
            yield "The model names no unit of length; metres were taken."
        else:
            yield from _doubts(LENGTH, self._named[LENGTH])

    def length_unknown(self) -> str:
        """What the file says of its unit of length where that cannot be told; "" where it can."""
        if LENGTH not in self._named:
            return "names no unit of length (metres were taken)"
        if LENGTH not in self.factors:
            refs = ", ".join(f"#{ref}" for ref, _ in self._named[LENGTH])
            return f"names a unit of length that cannot be understood ({refs}; metres were taken)"
        return ""

    def doubts(self) -> Iterator[str]:
        """What is wrong with the other units that were asked for, a sentence each."""
        for kind, named in self._named.items():
            if kind in self._asked and kind != LENGTH:
                yield from _doubts(kind, named)
        if self._unknown:
            where = ", ".join(f"#{ref}" for ref in list(self._unknown)[:3])
            yield f"Values whose own unit cannot be understood were not read: {where}."

    def _factor(self, unit: Any, kind: str) -> float | None:
        """SI units in one of this unit, or None where that cannot be told or it is of another
        kind."""
        found = self._told(unit)
        if found is None or (kind and (self._kind(unit), found[1]) != (kind, OF_KIND[kind])):
            return None
        return found[0]

    def _kind(self, unit: Any) -> str:
        """As the text has it: the library tells no kind that is not of the unit's class."""
        return self._word(unit, 1)

    def _word(self, unit: Any, at: int) -> str:
        written = class_and_arguments(self._text.get(unit.id()))[1]
        return written[at].decode("ascii", "replace").strip(".").upper() if written[at:] else "$"

    def _told(self, unit: Any, depth: int = 0) -> tuple[float, Dimension | None] | None:
        """The factor of a unit, and its dimension where that is one of those known."""
        if depth > DEEPEST:
            return None
        kind = unit.is_a()
        if kind == "IfcSIUnit":
            return self._si(unit)
        if kind in ("IfcConversionBasedUnit", "IfcConversionBasedUnitWithOffset"):
            return self._conversion(unit, depth)
        if kind == "IfcDerivedUnit":
            return self._derived(unit[0] or (), depth)
        return None

    def _si(self, unit: Any) -> tuple[float, Dimension | None] | None:
        """As the text has it: of a prefix that is none the library tells nothing."""
        prefix = self._word(unit, 2)
        if (prefix != "$" and prefix not in PREFIX) or unit[3] is None:
            return None
        name = str(unit[3])
        base = 1e-3 if name == "GRAM" else 1.0
        dimension = OF_NAME.get(name)
        if dimension != OF_KIND.get(unit[1], dimension):  # a length in seconds is none
            return None
        return base * PREFIX.get(prefix, 1.0) ** POWER_OF_PREFIX.get(name, 1), dimension

    def _conversion(self, unit: Any, depth: int) -> tuple[float, Dimension | None] | None:
        measure = unit[3]
        if measure is None or measure[0] is None or measure[1] is None:
            return None
        base = self._told(measure[1], depth + 1)
        value = measure[0] if isinstance(measure[0], float) else measure[0][0]
        usable = isinstance(value, int | float) and math.isfinite(value) and value > 0
        if base is None or not usable:
            return None
        factor = base[0] * value
        by_name = KNOWN_BY_NAME.get(str(unit[2] or "").strip().upper(), factor)
        if abs(factor * by_name - 1.0) <= AS_NAMED:  # 57.3 for a degree: the other way round
            factor = by_name
        return (factor, base[1]) if abs(factor - by_name) <= AS_NAMED * by_name else None

    def _derived(self, elements: Any, depth: int) -> tuple[float, Dimension | None] | None:
        factor, powers = 1.0, [0, 0, 0]
        known = True
        for element in elements:
            base = self._told(element[0], depth + 1) if element[0] is not None else None
            if base is None or not isinstance(element[1], int):
                return None
            factor *= base[0] ** element[1]
            known = known and base[1] is not None
            for at, power in enumerate(base[1] or ()):
                powers[at] += power * element[1]
        return factor, tuple(powers) if known and elements else None


def _assigned(ifc: Any) -> Iterator[Any]:
    """The units of all projects of a file; of its assignments, where no project tells its."""
    projects = [project[8] for project in ifc.by_type("IfcProject") if project[8] is not None]
    for assignment in dict.fromkeys(projects or ifc.by_type("IfcUnitAssignment")):
        yield from assignment[0] or ()


def _doubts(kind: str, named: list[tuple[Ref, float | None]]) -> Iterator[str]:
    told = [factor for _, factor in named if factor is not None]
    refs = ", ".join(f"#{ref}" for ref, _ in named)
    of = f"unit of {IN_WORDS[kind]}"
    if not told:
        taken = {"LENGTHUNIT": "metres were taken", "PLANEANGLEUNIT": "radians were taken"}
        lost = taken.get(kind, "values in it were not read")
        yield f"The {of} that the model names ({refs}) cannot be understood; {lost}."
    elif len(told) < len(named):
        yield f"Of several {of.replace('unit', 'units')} ({refs}) one cannot be understood; " + (
            f"the first that can was taken, of {told[0]:g} in SI."
        )
    elif any(abs(factor - told[0]) > SAME * told[0] for factor in told):
        values = " and ".join(f"{factor:g}" for factor in dict.fromkeys(told))
        yield (
            f"The model names several {of.replace('unit', 'units')} that differ ({refs}, of "
            f"{values} in SI); the first was taken."
        )
