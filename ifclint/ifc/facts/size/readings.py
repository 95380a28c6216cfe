"""What each place of a model says of the size of a pipe or fitting: a property, words, a shape."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from operator import itemgetter

from ifclint.ifc.elements import Basis, Confidence, System, without_number
from ifclint.ifc.facts.properties import StatedFact
from ifclint.ifc.facts.size import diameters
from ifclint.ifc.facts.size.words import either_in_words, from_words, stated_in_inches, written_dn

BLANK = 1e-4  # programs write 0, or 1e-9 where 0 is not allowed
NAMED_BY_BORE = frozenset({"concrete", "vitrified clay"})  # sewer pipe named by its bore
DRAINED = frozenset({System.SANITARY, System.VENT, System.STORM, System.CONDENSATE})
THINNEST_M = 0.005  # no pipe is named by less, nor by more than the next: what is, is told in
WIDEST_M = 5.0  # another unit. Ours
WIDEST_IN = 12.0  # no wider is a number in inches where it is one in millimetres. Ours, no source
OTHER_UNITS = {"inches": 0.0254, "millimetres": 0.001, "metres": 1.0}  # sets are written in
ReadDiameter = Callable[[float, str, str], diameters.SizeFound]


@dataclass(frozen=True, slots=True)
class DrawnDiameters:
    """Diameters a shape or profile was drawn with, metres."""

    outside_m: float
    inside_m: float | None
    of: str  # what was drawn, or the profile
    confidence: Confidence = Confidence.SHAPE

    def basis(self, which: str) -> Basis:
        return Basis(f"{which} of the {self.of}", self.confidence)


@dataclass(frozen=True, slots=True)
class SizeReading:
    """What one place of the model says of a size: the sizes, or why they are not stated."""

    sizes: tuple[float, ...]
    basis: Basis
    shown: str  # the value as it is written or measured
    doubt: diameters.Doubt = diameters.Doubt.NONE
    nearest: str = ""
    by_dn: bool = False
    drawn_m: float | None = None  # a diameter of the shape, which may be drawn at any
    either: tuple[float, ...] = ()  # where more than one size fits, these
    unit: str = ""  # the unit a length was told in, where that is not the one it is given in

    def settled(self, drawn: Sequence[DrawnDiameters]) -> SizeReading:
        """The one size of several that pipe as drawn may have; else as it is."""
        fitting = tuple(
            s for s in self.either if all(diameters.may_be(d.outside_m, s) for d in drawn)
        )
        return replace(self, sizes=fitting) if drawn and len(fitting) == 1 else self

    @property
    def why(self) -> str:
        """Why it tells no size, in words."""
        near = f" (it lies {self.nearest})" if self.nearest else ""
        return f"{self.basis} is {self.shown}, which {self.doubt}{near}"

    def refuses(self, stated: StatedFact) -> bool:
        """Whether this is a stated nominal size that is no pipe size; a number without a unit may
        be of any, one that no pipe comes near is a slip, and what is drawn tells better."""
        is_bare = isinstance(stated.value, float) and not stated.is_length
        return (
            self.doubt is diameters.Doubt.NO_SIZE
            and self.basis == stated.basis
            and not is_bare
            and not (isinstance(stated.value, float) and is_out_of_reach(stated.value))
        )

    def of_a_pipe(self) -> SizeReading:
        """A pipe has one size: where several are told, it is not known which is meant."""
        if len(self.sizes) < 2:
            return self
        return replace(self, sizes=(), doubt=diameters.Doubt.AMBIGUOUS)

    def dn(self, size: float) -> str:
        """A size as the DN that was written, "DN 15"; where none was, the one it stands for."""
        written = written_dn(self.shown)
        return f"DN {written:g}" if written in diameters.dns_of(size) else diameters.dn_text(size)

    def contradicts(self, size: float) -> bool:
        """Whether it cannot be said of a pipe of this size."""
        if self.drawn_m is not None:
            return bool(self.sizes) and not diameters.may_be(self.drawn_m, size)
        return bool(self.sizes) and size not in self.sizes


def is_out_of_reach(metres: float) -> bool:
    """Whether no pipe is nearly as thin or as wide."""
    return not THINNEST_M <= metres <= WIDEST_M


def use_of(system: System | None) -> str:
    """What a pipe is used for, as far as its system tells: series differ by it."""
    if system is None:
        return ""
    return "drainage" if system in DRAINED else "supply"


@dataclass(frozen=True, slots=True)
class SizeReader:
    """Reads what each kind of place says of the size of one pipe or fitting."""

    material: str
    use: str
    metres_per_unit: float
    bodies: tuple[DrawnDiameters, ...]
    named: frozenset[float] = frozenset()  # the sizes that words tell

    def stated(self, fact: StatedFact) -> Iterator[SizeReading]:
        if isinstance(fact.value, float) and abs(fact.value) < BLANK:
            return  # zero and next to zero stand for "not filled in"
        text = fact.value if isinstance(fact.value, str) else ""
        sizes = from_words(text, self.material, use=self.use, size_property=True) if text else ()
        if sizes:
            by_dn = not stated_in_inches(text, size_property=True)
            yield SizeReading(sizes, fact.basis, f'"{text}"', by_dn=by_dn)
        elif not isinstance(fact.value, str) and fact.is_length:
            metres = round(float(fact.value), 6)
            found = diameters.from_nominal(metres, self.material, use=self.use)
            shown = f"{metres * 1000:g} mm"
            if told := self._in_another_unit(metres / self.metres_per_unit, metres, found):
                yield replace(_reading(told[1], fact.basis, shown), unit=told[0])
            else:
                yield _reading(found, fact.basis, shown)
        else:
            yield _reading(self._bare_number(fact), fact.basis, f'"{fact.value}"')

    def _bare_number(self, fact: StatedFact) -> diameters.SizeFound:
        """A size without a unit: millimetres in a DN property, else project units; inches where
        only they are the size of what is drawn, or of any pipe."""
        try:
            number = float(fact.value)
        except ValueError:
            return diameters.SizeFound(None, diameters.Doubt.NO_SIZE)
        name = fact.basis.words.rpartition(".")[2].casefold()
        is_dn = name.startswith(("dn", "nenn"))
        metres = round(number * (0.001 if is_dn else self.metres_per_unit), 6)
        found = diameters.from_nominal(metres, self.material, use=self.use)
        told = None if is_dn else self._in_another_unit(number, metres, found)
        return told[1] if told else found

    def _in_another_unit(
        self, number: float, metres: float, found: diameters.SizeFound
    ) -> tuple[str, diameters.SizeFound] | None:
        """The unit in which a number is the size that is drawn, and that size, where it is not in
        project units; where nothing is drawn, in which it is one, where no pipe is nearly that
        size: 40 is then far sooner millimetres than inches. No other than words tell."""
        if self._is_drawn(found.size_in) if self.bodies else not is_out_of_reach(metres):
            return None
        units = list(OTHER_UNITS.items())
        if not self.bodies and number > WIDEST_IN:
            units.sort(key=itemgetter(1))
        for unit, per_unit in units:
            told = diameters.from_nominal(round(number * per_unit, 6), strict=True)
            is_named = not self.named or told.size_in in self.named
            if told.size_in is not None and is_named and self._is_drawn(told.size_in):
                return unit, told
        return None

    def _is_drawn(self, size_in: float | None) -> bool:
        """Whether all that is drawn of it may be of this size."""
        return size_in is not None and all(
            diameters.may_be(d.outside_m, size_in) for d in self.bodies
        )

    def words(self, text: str, what: str) -> Iterator[SizeReading]:
        sizes = from_words(text, self.material, use=self.use)
        if sizes:
            basis = Basis(what, Confidence.WORDS)
            shown = f'"{without_number(text)}"'  # of all that are named alike
            yield SizeReading(sizes, basis, shown, by_dn=not stated_in_inches(text))
        elif either := either_in_words(text, self.material, self.use):
            basis, doubt = Basis(what, Confidence.WORDS), diameters.Doubt.AMBIGUOUS
            yield SizeReading((), basis, f'"{text}"', doubt, either=either)

    def measured(
        self, outside: StatedFact | None, inside: StatedFact | None
    ) -> Iterator[SizeReading]:
        """Sizes from diameters that properties state."""
        read_inside = from_bore if self.material in NAMED_BY_BORE else diameters.from_inside
        told: list[tuple[StatedFact | None, ReadDiameter]] = [
            (outside, diameters.from_outside),
            (inside, read_inside),
        ]
        if self.material in NAMED_BY_BORE:
            told.reverse()
        for fact, read in told:
            if fact is not None and isinstance(fact.value, float) and fact.value > BLANK:
                found = read(round(fact.value, 6), self.material, self.use)
                yield _reading(found, fact.basis, f"{fact.value * 1000:.1f} mm")

    def drawn(self, d: DrawnDiameters) -> Iterator[SizeReading]:
        if self.material in NAMED_BY_BORE and d.inside_m:
            found = from_bore(round(d.inside_m, 6), self.material, self.use)
            shown = f"{d.inside_m * 1000:.1f} mm"
            yield _reading(found, d.basis("inside diameter"), shown, drawn_m=d.inside_m)
        else:
            found = diameters.from_drawn_diameter(round(d.outside_m, 6), self.material, self.use)
            shown = f"{d.outside_m * 1000:.1f} mm"
            yield _reading(found, d.basis("diameter"), shown, drawn_m=d.outside_m)


def from_bore(metres: float, material: str, use: str) -> diameters.SizeFound:
    """The size of a pipe that is named by its bore, in inches or DN."""
    found = diameters.from_nominal(metres, strict=True)
    return found if found.size_in is not None else diameters.from_inside(metres, material, use)


def _reading(
    found: diameters.SizeFound, basis: Basis, shown: str, *, drawn_m: float | None = None
) -> SizeReading:
    sizes = () if found.size_in is None else (found.size_in,)
    nearest, either = found.nearest, found.either
    return SizeReading(sizes, basis, shown, found.doubt, nearest, found.by_dn, drawn_m, either)
