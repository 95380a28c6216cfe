"""Property sets and quantities: the facts `properties.toml` asks for, in SI."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace

from ifclint.ifc.elements import Basis
from ifclint.ifc.facts.gradients import bare_slope
from ifclint.ifc.facts.property_columns import PROPERTIES, SETS, Line, property_lines
from ifclint.ifc.facts.property_names import (
    IN_POWER,
    IN_SHARES,
    IN_UNIT,
    PropertyNames,
    WantedFact,
    plain_name,
)
from ifclint.ifc.facts.written_values import (
    GALLON_M3,
    LENGTH,
    LITRE_M3,
    UNITS,
    Value,
    decimal,
    from_text,
)
from ifclint.ifc.step.spf import class_and_arguments, fields, number, numbers, string
from ifclint.ifc.step.text_index import Ref, TextIndex
from ifclint.ifc.step.units import MEASURE_UNIT, Units

FLOWS = frozenset({"IFCVOLUMETRICFLOWRATEMEASURE", "IFCMASSFLOWRATEMEASURE"})
NOTHING = 1e-9  # programs write it where 0 is not allowed
ONE_VALUE = frozenset({"size", "length", "ratio", "angle"})  # of which a range tells none
LONGEST_M = 100.0  # no pipe is made or drawn longer in one piece; ours, no source


@dataclass(frozen=True, slots=True)
class StatedFact:
    """A value, where it was read, and how good that place is (0 is best)."""

    value: Value
    basis: Basis
    rank: int
    is_length: bool = False  # the value was a length in project units, now metres
    rival: StatedFact | None = None  # another place that tells another value, of a size

    def of(self, owner: str) -> StatedFact:
        """The same, stated by another: "its ports", "the type"."""
        return replace(self, basis=Basis(f"{self.basis} of {owner}", self.basis.confidence))


StatedFacts = dict[str, StatedFact]
NO_FACTS: StatedFacts = {}
LENGTHS = frozenset({"IFCLENGTHMEASURE", "IFCPOSITIVELENGTHMEASURE", "IFCNONNEGATIVELENGTHMEASURE"})


@dataclass
class PropertyReader:
    """Reads property sets of one file; each set once, however many elements share it."""

    text: TextIndex
    units: Units
    names: PropertyNames = field(default_factory=PropertyNames)
    _merged: dict[tuple[Ref, ...], StatedFacts] = field(default_factory=dict)
    _read: dict[Ref, StatedFacts] = field(default_factory=dict)
    _by_line: dict[tuple[Basis, bytes], StatedFact | None] = field(default_factory=dict)

    def facts(self, definitions: tuple[Ref, ...] | None) -> StatedFacts:
        """The best value of each fact over several property sets."""
        if not definitions:
            return NO_FACTS
        known = self._merged.get(definitions)
        if known is None:
            known = self._merged[definitions] = self._merge(definitions)
        return known

    def read(self, definitions: Iterable[Ref]) -> None:
        """Read many property sets at once; the unusual ones are left to `facts`."""
        new = [ref for ref in set(definitions) if ref not in self._read]
        for ref, lines in property_lines(self.text, new, self.names).items():
            self._read[ref] = self._best(lines)

    def _best(self, lines: Iterable[Line]) -> StatedFacts:
        """The best value of each fact in one property set."""
        found: StatedFacts = {}
        for line, want in lines:
            fact = self._fact(line, want)
            if fact is not None:
                found[want.fact] = _better(want.fact, found.get(want.fact), fact)
        return found or NO_FACTS

    def of_type(self, kind: Ref) -> StatedFacts:
        """The facts of the property sets a type holds itself."""
        written = fields(self.text.get(kind) or b"()")
        return self.facts(tuple(numbers(written[5][1:-1]))) if len(written) > 5 else NO_FACTS

    def _merge(self, definitions: tuple[Ref, ...]) -> StatedFacts:
        found = [f for f in map(self._set_facts, definitions) if f]
        if len(found) < 2:
            return found[0] if found else NO_FACTS
        merged: StatedFacts = {}
        for facts in found:
            for name, fact in facts.items():
                merged[name] = _better(name, merged.get(name), fact)
        return merged

    def _set_facts(self, definition: Ref) -> StatedFacts:
        known = self._read.get(definition)
        if known is None:
            known = self._read[definition] = self._best(self._lines(definition))
        return known

    def _lines(self, definition: Ref) -> Iterator[Line]:
        """The wanted properties of one set, as `property_lines` finds them in many."""
        kind, written = class_and_arguments(self.text.get(definition))
        if kind not in SETS or len(written) < 3:
            return
        for line in map(self.text.get, numbers(written[-1][1:-1])):
            property_class, parts = class_and_arguments(line)
            if line is not None and property_class in PROPERTIES:
                want = self.names.wanted(written[2][1:-1], parts[0][1:-1])
                if want is not None:
                    yield line, want

    def _fact(self, line: bytes, want: WantedFact) -> StatedFact | None:
        """What a property tells; models repeat the same property, word by word."""
        key = (want.basis, line)
        if key not in self._by_line:
            read = self._value(line, want.reads)
            usable = read is not None and (want.zero or not _is_zero(read[0]))
            fact = StatedFact(read[0], want.basis, want.rank, read[1]) if read and usable else None
            self._by_line[key] = fact
        return self._by_line[key]

    def _value(self, line: bytes, reads: str) -> tuple[Value, bool] | None:
        """A property's value in SI, and whether it was a length in project units."""
        parts = fields(line)
        name = string(parts[0])
        if line.startswith(b"IFCQUANTITYLENGTH"):
            if reads not in ("length", "size"):
                return None
            return self._number(parts[3], "IFCLENGTHMEASURE", parts[2], reads, name)
        if reads in ONE_VALUE and _is_range(line, parts):
            return None
        values, unit = _plain_values(line, parts)
        read = [self._one_value(v, unit, reads, name) for v in values]
        if reads == "size" and len(read) > 1:
            return _sizes(read)
        return read[0] if read else None

    def _one_value(
        self, value: bytes, unit: bytes, reads: str, name: str
    ) -> tuple[Value, bool] | None:
        measure, parenthesis, raw = value.partition(b"(")
        if not parenthesis:
            return None
        raw = raw[:-1].strip()
        if raw[:1] == b"'":
            text = string(raw)
            read = from_text(text, reads)
            if read is None and reads == "ratio" and IN_SHARES.search(plain_name(name)):
                read = bare_slope(decimal(text), "", 1.0, name, is_length=False)
            if read is None and reads == "power" and (bare := decimal(text)) is not None:
                return _bare_power(bare, "", name)
            return (read, False) if read is not None else None
        if raw[:1] == b".":
            usable = reads in ("flag", "text") and raw.upper() in (b".T.", b".F.")
            return (raw.upper() == b".T.", False) if usable else None
        return self._number(raw, measure.decode("ascii").upper(), unit, reads, name)

    def _number(
        self, raw: bytes, measure: str, unit: bytes, reads: str, name: str
    ) -> tuple[Value, bool] | None:
        try:
            value = float(raw)
        except ValueError:
            return None
        if not abs(value) < 1e15:  # also turns away what is not a number
            return None
        if reads == "text":
            return f"{value:g}", False
        if reads == "flag":
            return bool(value), False
        own = self.units.of_unit(number(unit), measure) if unit[:1] == b"#" else None
        if own is None and unit[:1] == b"#" and measure in MEASURE_UNIT:
            return None
        is_length = measure in LENGTHS
        if reads == "area" and own is None and measure != "IFCAREAMEASURE":
            return None  # square metres or square feet: nothing tells
        if reads == "power" and own is None and measure != "IFCPOWERMEASURE":
            return _bare_power(value, measure, name)
        if reads == "volume" and measure != "IFCVOLUMEMEASURE":
            return (_bare_volume(value, name) if own is None else value * own), False
        if own is None:
            bare_length = reads == "length" and not is_length
            own = self.units.length if bare_length else self.units.of_measure(measure)
            if own is None:
                return None
            if reads in ("length", "size") and (named := IN_UNIT.search(name)):
                own, is_length = self._as_named(value, own, is_length, named.group(1)), True
        if reads == "ratio":
            slope = bare_slope(value, measure, own, name, is_length=is_length)
            return (slope, False) if slope is not None else None
        return value * own, is_length or (reads == "size" and unit[:1] == b"#")

    def _as_named(self, value: float, own: float, is_length: bool, unit: str) -> float:
        """The factor of a number whose property is named with a unit, as "Length (mm)". A length
        measure is in project units, but for one that would be longer than any pipe."""
        if is_length and value * own < LONGEST_M:
            return own
        return LENGTH[unit.casefold()]


def _better(name: str, held: StatedFact | None, fact: StatedFact) -> StatedFact:
    """The fact from the better place; a size also keeps the other, where that says otherwise."""
    if held is None:
        return fact
    first, second = (fact, held) if fact.rank < held.rank else (held, fact)
    if name != "size" or first.rival is not None or first.value == second.value:
        return first
    return replace(first, rival=second)


def _is_zero(value: Value) -> bool:
    return isinstance(value, float) and abs(value) < NOTHING


def _sizes(read: list[tuple[Value, bool] | None]) -> tuple[Value, bool] | None:
    """A list of sizes: one where all are the same, else all of them in words."""
    known = [t for t in read if t is not None and not _is_zero(t[0])]
    if len({t[0] for t in known}) < 2:
        return known[0] if known else None
    return ", ".join(f"{v * 1000:g} mm" if is_length else str(v) for v, is_length in known), False


def _plain_values(line: bytes, parts: list[bytes]) -> tuple[list[bytes], bytes]:
    """The values of a simple property and their own unit; of bounds, the one that counts."""
    if line.startswith(b"IFCPROPERTYSINGLEVALUE"):
        return [parts[2]], parts[3]
    if line.startswith(b"IFCPROPERTYBOUNDEDVALUE"):
        given = [parts[5] if len(parts) > 5 else b"$", parts[2], parts[3]]
        return [v for v in given if v != b"$"][:1], parts[4]
    several = fields(parts[2]) if parts[2][:1] == b"(" else []
    return several, parts[3] if line.startswith(b"IFCPROPERTYLISTVALUE") else b"$"


def _is_range(line: bytes, parts: list[bytes]) -> bool:
    """Whether a bounded value has two different bounds and no set point between them."""
    return (
        line.startswith(b"IFCPROPERTYBOUNDEDVALUE")
        and b"$" not in (parts[2], parts[3])
        and parts[2] != parts[3]
        and (len(parts) < 6 or parts[5] == b"$")
    )


def _bare_volume(number: float, name: str) -> float:
    """A flush volume or capacity given as a plain number: litres or gallons, as its name says."""
    name = plain_name(name)
    litres = "lpf" in name or "liter" in name or "litre" in name
    return number * (LITRE_M3 if litres else GALLON_M3)


def _bare_power(number: float, measure: str, name: str) -> tuple[Value, bool] | None:
    """A power given as a plain number: in the unit of its name, else the number as text, for who
    knows what it is of (`bare_powers.py`). What is consumed may be a volume of gas as well."""
    power = _in_named_unit(number, name)
    if power is not None:
        return power, False
    is_volume = measure in FLOWS or "gasconsumption" in plain_name(name)
    return None if is_volume or number < NOTHING else (repr(number), False)


def _in_named_unit(number: float, name: str) -> float | None:
    """A power in the unit that its property is named with, as "Gas Input (Btu/h)"."""
    named = IN_POWER.search(name)
    return number * UNITS["power"][named.group(1).casefold()] if named else None
