"""Whether the lengths of a file are in the unit that it says: a file of feet that says metres, or
one of inches that says millimetres, is too large or too small throughout."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from ifclint.ifc.elements import Element, Role
from ifclint.ifc.facts.properties import StatedFact
from ifclint.ifc.facts.size.diameters import from_nominal, may_be
from ifclint.ifc.facts.size.readings import DrawnDiameters
from ifclint.ifc.facts.size.words import from_words

UNITS = {"feet": 0.3048, "inches": 0.0254, "metres": 1.0, "millimetres": 0.001, "centimetres": 0.01}
WITH_ITS_UNIT = "export it with the unit that its lengths are in"
LEAST, OF_PIPES = 4, 3  # descriptions that tell, by their names and of pipes; own choice, as are
SHARE = 0.9  # how many of them agree, and the next
THINNEST_M, WIDEST_M = 0.004, 1.5  # no building is piped with less, or with more, throughout
SHORTEST_M, LONGEST_M = 0.5, 500.0  # all piping of a building, beside such sizes
NARROWEST, WIDEST = 0.9, 2.0  # outside, by the size that a pipe is called: small pipe most


@dataclass
class UnitDoubt:
    """What the sizes of elements say of the unit of their file, one description after another."""

    metres_per_unit: float
    _named: list[tuple[float, tuple[float, ...], float | None]] = field(default_factory=list)
    _drawn: list[float] = field(default_factory=list)  # of pipes
    _stated: list[float] = field(default_factory=list)  # of pipes, by a property
    _apart: int = 0  # that state another size than they are drawn with
    _alike: int = 0

    def add(
        self,
        element: Element,
        words: Iterable[str],
        stated: StatedFact | None,
        drawn: Sequence[DrawnDiameters],
    ) -> None:
        """The words that may name a size, the one a property states and the diameters as drawn."""
        if not drawn and stated is None:
            return
        named = {size for text in words if text for size in from_words(text, element.material)}
        outside = tuple(d.outside_m for d in drawn)
        length = _length(stated)
        if element.role is Role.PIPE:
            self._drawn += outside
            self._stated += [] if length is None else [length]
        if outside and length is not None:
            fits = all(NARROWEST * length <= o <= WIDEST * length for o in outside)
            self._alike, self._apart = self._alike + fits, self._apart + (not fits)
        if len(named) == 1 and (outside or length is not None):
            self._named.append((named.pop(), outside, length))

    def sentence(self, unknown: str = "", extent_m: float = 0.0) -> str:
        """What is wrong with the unit, and what to do; "" where nothing is. Where it cannot be
        told, with what the file says of it. `extent_m` is how far its piping reaches, 0: unknown;
        sizes alone may be in a unit of their own."""
        in_words = f"units of {self.metres_per_unit:g} m"
        unit_said = next(
            (u for u, m in UNITS.items() if abs(m / self.metres_per_unit - 1) < 0.01), in_words
        )
        said = unknown or f"says that its lengths are in {unit_said}"
        for unit, metres in UNITS.items():
            if unit != unit_said and self._fits(metres / self.metres_per_unit):
                return (
                    f"{said}, but its pipes and fittings are as large as they are named only if "
                    f"its lengths are in {unit}: {WITH_ITS_UNIT}."
                )
        least, most = min(self._drawn, default=0.0), max(self._drawn, default=0.0)
        if len(self._drawn) >= OF_PIPES and (least > WIDEST_M or most < THINNEST_M):
            return (
                f"{said}, but in that unit its pipes are {least:.3g} to {most:.3g} m wide, as none "
                f"are: {WITH_ITS_UNIT}."
            )
        least, most = min(self._stated, default=0.0), max(self._stated, default=0.0)
        is_tiny = most < THINNEST_M and 0.0 < extent_m < SHORTEST_M
        is_huge = least > WIDEST_M and extent_m > LONGEST_M
        if len(self._stated) >= OF_PIPES and (is_tiny or is_huge):
            return (
                f"{said}, but in that unit its pipes are {least:.3g} to {most:.3g} m wide and all "
                f"of it is {extent_m:.3g} m long: {WITH_ITS_UNIT}."
            )
        return ""

    def _fits(self, factor: float) -> bool:
        """Whether nearly all that is named is as large as its name in a unit of another size, and
        next to nothing in the one that the file says."""
        most = len(self._named)
        if most < LEAST or sum(_is_as_named(*one) for one in self._named) > (1 - SHARE) * most:
            return False
        only_stated = not any(outside for _, outside, _ in self._named)
        if only_stated and self._apart >= self._alike:
            return False  # the sizes alone are in another unit, or nothing tells what is drawn
        agreeing = sum(_is_as_named(*one, factor) for one in self._named)
        return agreeing >= SHARE * most


def _is_as_named(
    size_in: float, outside: tuple[float, ...], length_m: float | None, factor: float = 1.0
) -> bool:
    if outside:
        return all(may_be(metres * factor, size_in) for metres in outside)
    return length_m is not None and from_nominal(round(length_m * factor, 6)).size_in == size_in


def _length(stated: StatedFact | None) -> float | None:
    is_length = stated is not None and stated.is_length and isinstance(stated.value, float)
    return float(stated.value) if stated is not None and is_length else None
