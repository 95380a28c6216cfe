"""Nominal pipe sizes: designations and diameters turned into trade sizes in inches.

`pipe_dimensions.csv` of the formulas holds the series. Whatever fits two different sizes is left
unknown (None, with `Doubt.AMBIGUOUS`); whatever fits none is `Doubt.NO_SIZE`. Nothing is rounded to
the nearest.
"""

import re
from collections import Counter
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from importlib.resources import files

from ifclint.engineering.data import CsvRow, read_csv
from ifclint.engineering.wording import trade_size
from ifclint.ifc.elements import Basis, Confidence
from ifclint.ifc.facts.properties import StatedFact

MM_PER_IN = 25.4
NOMINAL_TOLERANCE_MM = 0.35  # a designation written as a length: 50.8, 51, 50; 15.9, 16
INCH_EXACT_MM = 0.05  # nearer than this it was inches: 101.6
OUTSIDE_TOLERANCE = 0.006  # of an outside diameter, and at least 0.3 mm
HARD_METRIC_MM = {75.0: 3.0}  # 3 in where codes round to it (National Plumbing Code of Canada)
# The usual water meter of a dwelling is of a size that no pipe has, 5/8 in (from memory: AWWA C700,
# which lists none of 1/2 in). Its diameter is the outside one of 1/2 in copper, so that it is told
# before the sizes of pipe are looked through.
METER_IN, METER_MM = 0.625, 15.875
_IN_WORDS = re.compile(r"(?<![\d/.])(?<!\d[ -])5\s*[/\u2044]\s*8(?!\d)|⅝")


class Doubt(StrEnum):
    NONE = ""
    AMBIGUOUS = "fits more than one pipe size"
    NO_SIZE = "is no pipe size"


@dataclass(frozen=True, slots=True)
class PipeSize:
    """One row of the table: a size of a series, diameters in millimetres."""

    series: str
    materials: frozenset[str]
    use: str  # "drainage", "supply" or "" for both
    by_dn: bool  # the series is named by DN, not in inches
    nominal_in: float
    dn_mm: float
    outside_mm: float | None
    inside_mm: float | None  # with the thinnest wall listed
    inside_least_mm: float | None  # with the thickest wall listed

    @property
    def named(self) -> str:
        return f"DN {self.dn_mm:g}" if self.by_dn else trade_size(self.nominal_in)

    def bore_misfit_mm(self, mm: float) -> float:
        """How far a diameter is from the bores this size is made with."""
        most = self.inside_mm or 0.0
        return max(0.0, mm - most, (self.inside_least_mm or most) - mm)


@dataclass(frozen=True, slots=True)
class SizeFound:
    size_in: float | None
    doubt: Doubt = Doubt.NONE
    by_dn: bool = False  # it was told, or is made, as a DN
    nearest: str = ""  # where it is no pipe size, the sizes on both sides of it
    either: tuple[float, ...] = ()  # where it is ambiguous, the sizes it fits


@lru_cache(maxsize=1)
def pipe_sizes() -> tuple[PipeSize, ...]:
    """The rows of `pipe_dimensions.csv` that are of a series."""
    table = read_csv(files("ifclint.engineering").joinpath("pipe_dimensions.csv"))
    return tuple(_size(row) for row in table.rows if row.text("series"))


def _size(row: CsvRow) -> PipeSize:
    return PipeSize(
        row.text("series"),
        frozenset(m for m in row.text("materials").split(";") if m),
        row.text("use"),
        row.text("named") == "DN",
        row.number("size_in"),
        row.number("dn_mm"),
        row.number_or_none("outside_mm"),
        row.number_or_none("inside_mm"),
        row.number_or_none("inside_least_mm"),
    )


@lru_cache(maxsize=1)
def trade_sizes() -> frozenset[float]:
    return frozenset(s.nominal_in for s in pipe_sizes())


@lru_cache(maxsize=1)
def _dn_of() -> dict[float, float]:
    return {s.dn_mm: s.nominal_in for s in reversed(pipe_sizes())}


@lru_cache(maxsize=256)
def dns_of(size_in: float) -> frozenset[float]:
    """The DNs a trade size goes by: 1/2 in is DN 15, and DN 12 in copper."""
    return frozenset(dn for dn, size in _dn_of().items() if size == size_in)


@lru_cache(maxsize=256)
def dn_text(size_in: float) -> str:
    """A trade size as the DN it stands for, as most series name it: 4 -> "DN 100"."""
    made = Counter(s.dn_mm for s in pipe_sizes() if s.nominal_in == size_in)
    return f"DN {max(made, key=lambda dn: (made[dn], -dn)):g}"


def _series(material: str, use: str) -> tuple[PipeSize, ...]:
    """The sizes a pipe of this material and use can have; all, where the material is not stated."""
    made = [s for s in pipe_sizes() if material in s.materials] or list(pipe_sizes())
    return tuple([s for s in made if not use or s.use in ("", use)] or made)


@lru_cache(maxsize=4096)
def from_nominal(
    metres: float, material: str = "", *, use: str = "", strict: bool = False
) -> SizeFound:
    """A nominal diameter written as a length: 50.8 mm and 50 mm are both a 2 in pipe.

    Where it is neither inches nor a DN, it is taken for the outside diameter it may be, unless
    `strict`; where it is a size that some codes round to it as well, it is ambiguous.
    """
    mm = metres * 1000.0
    tolerance = max(NOMINAL_TOLERANCE_MM, 0.003 * mm)
    inch = {
        s
        for s in trade_sizes()
        if abs(s * MM_PER_IN - mm) <= tolerance or int(s * MM_PER_IN + 0.5) == mm
    }
    dn = {size for dn, size in _dn_of().items() if abs(dn - mm) <= NOMINAL_TOLERANCE_MM}
    if not inch | dn and not strict:
        outside = from_outside(metres, material, use)
        rounded = HARD_METRIC_MM.get(mm)
        if rounded is None or all(s.by_dn for s in _series(material, use)):
            return outside
        return _one({rounded, outside.size_in or rounded})
    exact = any(abs(s * MM_PER_IN - mm) <= INCH_EXACT_MM for s in inch)
    return _one(inch | dn, by_dn=bool(dn) and not exact)


@lru_cache(maxsize=4096)
def from_outside(metres: float, material: str = "", use: str = "") -> SizeFound:
    """The size of a pipe of this outside diameter, in the series its material is made in: for its
    use, or where none of them is so wide, for another, as pipe of a water supply laid as a drain.
    """
    mm = metres * 1000.0
    tolerance = max(0.3, OUTSIDE_TOLERANCE * mm)
    listed = [(abs(s.outside_mm - mm), s) for s in _series(material, use) if s.outside_mm]
    listed = listed or [(abs(s.outside_mm - mm), s) for s in pipe_sizes() if s.outside_mm]
    found = _closest(listed, tolerance)
    if found is None and use and any(material in s.materials for s in pipe_sizes()):
        of_any_use = from_outside(metres, material)
        found = of_any_use if of_any_use.size_in is not None else None
    return found or SizeFound(
        None, Doubt.NO_SIZE, nearest=_between(mm, [(s.outside_mm or 0.0, s) for _, s in listed])
    )


@lru_cache(maxsize=4096)
def from_inside(metres: float, material: str = "", use: str = "") -> SizeFound:
    """The size of a pipe of this bore, in the walls its material is made with."""
    mm = metres * 1000.0
    tolerance = max(0.3, OUTSIDE_TOLERANCE * mm)
    listed = [(s.bore_misfit_mm(mm), s) for s in _series(material, use) if s.inside_mm]
    return _closest(listed, tolerance) or SizeFound(
        None, Doubt.NO_SIZE, nearest=_between(mm, [(s.inside_mm or 0.0, s) for _, s in listed])
    )


def _closest(listed: list[tuple[float, PipeSize]], tolerance: float) -> SizeFound | None:
    """The one size among those nearest to a diameter; None where none is near."""
    near = [(misfit, s) for misfit, s in listed if misfit <= tolerance]
    if not near:
        return None
    least = min(misfit for misfit, _ in near)
    best = [s for misfit, s in near if misfit <= least + 0.1]
    return _one({s.nominal_in for s in best}, by_dn=all(s.by_dn for s in best))


def _between(mm: float, made: list[tuple[float, PipeSize]]) -> str:
    """The sizes a diameter lies between: "between DN 250 (250.0 mm) and DN 300 (300.0 mm)"."""
    below = max((m for m in made if m[0] < mm), key=lambda m: m[0], default=None)
    above = min((m for m in made if m[0] > mm), key=lambda m: m[0], default=None)
    listed = [f"{s.named} ({size:.1f} mm)" for size, s in (m for m in (below, above) if m)]
    if len(listed) == 2:
        return f"between {listed[0]} and {listed[1]}"
    return f"beyond {listed[0]}" if listed else ""


@lru_cache(maxsize=4096)
def from_drawn_diameter(metres: float, material: str = "", use: str = "") -> SizeFound:
    """The size of a pipe drawn with this diameter: true outside diameter, or nominal size."""
    outside = from_outside(metres, material, use)
    if outside.doubt is Doubt.AMBIGUOUS:
        return outside
    mm = metres * 1000.0
    inch = {s for s in trade_sizes() if abs(s * MM_PER_IN - mm) <= 0.2}
    dn = {size for dn, size in _dn_of().items() if abs(dn - mm) <= 0.1}
    found = inch | dn | ({outside.size_in} if outside.size_in is not None else set())
    if not found:
        return outside
    return _one(found, by_dn=outside.by_dn or (bool(dn) and not inch))


def may_be(metres: float, size_in: float) -> bool:
    """Whether a pipe of this size can measure so: outside, inside or as it is named, any series."""
    mm = metres * 1000.0
    near = max(0.6, 2 * OUTSIDE_TOLERANCE * mm)
    return any(
        abs((s.outside_mm or 0.0) - mm) <= near
        or (s.inside_mm is not None and s.bore_misfit_mm(mm) <= near)
        or abs(s.dn_mm - mm) <= near
        or abs(s.nominal_in * MM_PER_IN - mm) <= near
        for s in pipe_sizes()
        if s.nominal_in == size_in
    )


def _one(found: set[float], by_dn: bool = False) -> SizeFound:
    if len(found) == 1:
        return SizeFound(found.pop(), by_dn=by_dn)
    if not found:
        return SizeFound(None, Doubt.NO_SIZE)
    return SizeFound(None, Doubt.AMBIGUOUS, either=tuple(sorted(found)))


def small_meter(stated: StatedFact | None, texts: list[tuple[str, str]]) -> Basis | None:
    """Where a water meter is told to be of this size; None where it is of another or of none."""
    if stated is not None:
        return stated.basis if _is_small(stated) else None
    what = next((what for text, what in texts if _IN_WORDS.search(text)), None)
    return None if what is None else Basis(what, Confidence.WORDS)


def _is_small(stated: StatedFact) -> bool:
    if isinstance(stated.value, str):
        return bool(_IN_WORDS.search(stated.value))
    value = float(stated.value)
    return value == METER_IN or (stated.is_length and is_of_meter(value))


def is_of_meter(metres: float) -> bool:
    return abs(metres * 1000.0 - METER_MM) <= NOMINAL_TOLERANCE_MM
