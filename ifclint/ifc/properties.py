"""Property sets and quantities: the facts `properties.toml` asks for, in SI."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import lru_cache
from importlib.resources import files

from ifclint.ifc.spf import fields, number, numbers, string
from ifclint.ifc.text import clean, words
from ifclint.ifc.text_index import Ref, TextIndex
from ifclint.ifc.units import Units

Value = float | str | bool
GALLON_M3 = 0.003785411784
LITRE_M3 = 0.001


@dataclass(frozen=True, slots=True)
class Fact:
    """A value, where it was read, and how good that place is (0 is best)."""

    value: Value
    basis: str
    rank: int
    is_length: bool = False  # the value was a length in project units, now metres

    def with_basis(self, basis: str) -> Fact:
        return replace(self, basis=basis)


Facts = dict[str, Fact]
NO_FACTS: Facts = {}
LENGTHS = frozenset({"IFCLENGTHMEASURE", "IFCPOSITIVELENGTHMEASURE", "IFCNONNEGATIVELENGTHMEASURE"})
SETS = (b"IFCPROPERTYSET(", b"IFCELEMENTQUANTITY(")
PROPERTIES = (
    b"IFCPROPERTYSINGLEVALUE(", b"IFCPROPERTYLISTVALUE(", b"IFCPROPERTYENUMERATEDVALUE(",
    b"IFCPROPERTYBOUNDEDVALUE(", b"IFCQUANTITYLENGTH(",
)  # fmt: skip
_SET_NAME = re.compile(rb"\w+\(\s*'[^']*'\s*,[^,]*,\s*'((?:[^']|'')*)'")
_PROPERTY_NAME = re.compile(rb"\w+\(\s*'((?:[^']|'')*)'")


@dataclass(frozen=True, slots=True)
class Wanted:
    fact: str
    reads: str
    rank: int
    basis: str = ""


@lru_cache(maxsize=1)
def _wanted() -> tuple[dict[tuple[str, str], Wanted], dict[str, Wanted]]:
    """What is looked for, by (set, property) and by property alone."""
    text = files("ifclint.ifc").joinpath("properties.toml").read_text("utf-8")
    in_set: dict[tuple[str, str], Wanted] = {}
    anywhere: dict[str, Wanted] = {}
    for fact, entry in tomllib.loads(text).items():
        for rank, name in enumerate(entry["from"]):
            wanted = Wanted(fact, entry["reads"], rank)
            owner, _, prop = name.rpartition(".")
            if owner:
                in_set[(owner.casefold(), _plain(prop))] = wanted
            else:
                anywhere.setdefault(_plain(prop), wanted)
    return in_set, anywhere


@lru_cache(maxsize=65536)
def _plain(name: str) -> str:
    return "".join(words(name.replace("_", " ")))


@lru_cache(maxsize=65536)
def wanted(set_name: str, name: str) -> Wanted | None:
    """Which fact a property of a set tells, if any."""
    in_set, anywhere = _wanted()
    plain = _plain(name)
    return in_set.get((set_name.casefold(), plain)) or anywhere.get(plain)


@dataclass
class PropertyReader:
    """Reads property sets of one file; each set once, however many elements share it."""

    text: TextIndex
    units: Units
    factor_of: Callable[[Ref], float | None]  # SI factor of a unit entity
    _merged: dict[tuple[Ref, ...], Facts] = field(default_factory=dict)
    _read: dict[Ref, Facts] = field(default_factory=dict)
    _members: dict[tuple[bytes, bytes], tuple[str, Fact] | None] = field(default_factory=dict)

    def facts(self, definitions: tuple[Ref, ...] | None) -> Facts:
        """The best value of each fact over several property sets."""
        if not definitions:
            return NO_FACTS
        known = self._merged.get(definitions)
        if known is None:
            known = self._merged[definitions] = self._merge(definitions)
        return known

    def of_type(self, kind: Ref) -> Facts:
        """The facts of the property sets a type holds itself."""
        written = fields(self.text.get(kind) or b"()")
        return self.facts(tuple(numbers(written[5][1:-1]))) if len(written) > 5 else NO_FACTS

    def _merge(self, definitions: tuple[Ref, ...]) -> Facts:
        found = [f for f in map(self._set_facts, definitions) if f]
        if len(found) < 2:
            return found[0] if found else NO_FACTS
        merged: Facts = {}
        for facts in found:
            for name, fact in facts.items():
                held = merged.get(name)
                if held is None or fact.rank < held.rank:
                    merged[name] = fact
        return merged

    def _set_facts(self, definition: Ref) -> Facts:
        known = self._read.get(definition)
        if known is None:
            text = self.text.get(definition)
            usable = text is not None and text.startswith(SETS)
            known = self._read_set(text) if usable and text is not None else NO_FACTS
            self._read[definition] = known
        return known

    def _read_set(self, text: bytes) -> Facts:
        match = _SET_NAME.match(text)
        set_name = match.group(1) if match else b""
        found: Facts = {}
        for member in numbers(text[text.rindex(b"(") + 1 : text.rindex(b")")].rstrip(b")")):
            line = self.text.get(member)
            if line is None or not line.startswith(PROPERTIES):
                continue
            key = (set_name, line)  # models repeat the same property, word by word
            if key not in self._members:
                self._members[key] = self._member(set_name, line)
            told = self._members[key]
            if told is not None and (told[0] not in found or told[1].rank < found[told[0]].rank):
                found[told[0]] = told[1]
        return found or NO_FACTS

    def _member(self, set_name: bytes, line: bytes) -> tuple[str, Fact] | None:
        """The fact a property tells, by the fact's name."""
        name = _PROPERTY_NAME.match(line)
        want = _wanted_raw(set_name, name.group(1)) if name else None
        read = self._value(line, want.reads) if want is not None else None
        if want is None or read is None:
            return None
        return want.fact, Fact(read[0], want.basis, want.rank, read[1])

    def _value(self, line: bytes, reads: str) -> tuple[Value, bool] | None:
        parts = fields(line)
        if line.startswith(b"IFCQUANTITYLENGTH"):
            if reads not in ("length", "size"):
                return None
            return self._number(parts[3], "IFCLENGTHMEASURE", parts[2], reads, "")
        value, unit = _plain_value(line, parts)
        measure, parenthesis, raw = value.partition(b"(")
        if not parenthesis:
            return None
        raw = raw[:-1].strip()
        if raw[:1] == b"'":
            return _from_text(string(raw), reads)
        if raw[:1] == b".":
            told = reads in ("flag", "text") and raw.upper() in (b".T.", b".F.")
            return (raw.upper() == b".T.", False) if told else None
        name = _plain(string(parts[0]))
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
        if reads == "volume" and measure != "IFCVOLUMEMEASURE":
            return _bare_volume(value, name), False
        is_length = measure in LENGTHS
        own = self.factor_of(number(unit)) if unit[:1] == b"#" else None
        if own is None:
            bare_length = reads == "length" and not is_length
            own = self.units.length if bare_length else self.units.of_measure(measure)
        return value * own, is_length


@lru_cache(maxsize=65536)
def _wanted_raw(set_name: bytes, name: bytes) -> Wanted | None:
    set_text = string(b"'" + set_name + b"'")
    name_text = string(b"'" + name + b"'")
    want = wanted(set_text, name_text)
    return want and replace(want, basis=f"{clean(set_text)}.{clean(name_text)}")


def _plain_value(line: bytes, parts: list[bytes]) -> tuple[bytes, bytes]:
    """The value of a simple property (the first of a list) and its own unit."""
    if line.startswith(b"IFCPROPERTYSINGLEVALUE"):
        return parts[2], parts[3]
    if line.startswith(b"IFCPROPERTYBOUNDEDVALUE"):
        given = [parts[5] if len(parts) > 5 else b"$", parts[2], parts[3]]
        return next((v for v in given if v != b"$"), b""), parts[4]
    several = fields(parts[2]) if parts[2][:1] == b"(" else [b""]
    unit = parts[3] if line.startswith(b"IFCPROPERTYLISTVALUE") else b"$"
    return several[0], unit


_NUMBER = re.compile(r"[-+]?\d[\d,]*(?:\.\d+)?")
_RATIO = re.compile(r"^\s*1\s*[:/]\s*(\d+(?:[.,]\d+)?)\s*$")
_PER_FOOT = re.compile(
    r'(?:(\d+)\s*/\s*(\d+)|(\d*\.?\d+))\s*(?:"|in\w*)?\s*(?:per|/)\s*(?:ft|foot|\')', re.I
)
_LENGTH = {"mm": 0.001, "cm": 0.01, "m": 1.0, "in": 0.0254, '"': 0.0254, "ft": 0.3048, "'": 0.3048}
_POWER = {"btu/h": 0.29307107, "btu/hr": 0.29307107, "btuh": 0.29307107, "btu": 0.29307107,
          "mbh": 293.07107, "kw": 1000.0, "w": 1.0, "kbtu/h": 293.07107}  # fmt: skip
_VOLUME = {"gal": GALLON_M3, "gpf": GALLON_M3, "lpf": LITRE_M3, "l": LITRE_M3, "litre": LITRE_M3,
           "liter": LITRE_M3, "m3": 1.0, "m³": 1.0, "gallon": GALLON_M3}  # fmt: skip
_UNIT_TEXT = re.compile(r"^\s*([-+]?\d[\d,]*(?:\.\d+)?)\s*([^\d\s].*?)\s*$")


def _from_text(raw: str, reads: str) -> tuple[Value, bool] | None:
    """A value written as text: '1:200', '40,000 Btu/h', '1.6 gpf', '2 in'."""
    if reads in ("text", "size"):
        text = clean(raw)
        return (text, False) if text else None
    if reads == "flag":
        return raw.strip().casefold() in ("true", "yes", "1", "ja", "oui", "si"), False
    if reads == "ratio":
        return _ratio(raw)
    table = {"length": _LENGTH, "power": _POWER, "volume": _VOLUME}.get(reads)
    match = _UNIT_TEXT.match(raw)
    if table and match:
        factor = table.get(match.group(2).casefold().rstrip("s.")) or table.get(match.group(2))
        number = float(match.group(1).replace(",", ""))
        return (number * factor, False) if factor else None
    if reads == "number" and (plain := _NUMBER.fullmatch(raw.strip())):
        return float(plain.group().replace(",", "")), False
    return None


def _ratio(raw: str) -> tuple[Value, bool] | None:
    if match := _RATIO.match(raw):
        run = float(match.group(1).replace(",", "."))
        return (1.0 / run, False) if run else None
    if match := _PER_FOOT.search(raw):
        top, bottom, plain = match.groups()
        inches = float(top) / float(bottom) if top and float(bottom) else float(plain or 0)
        return inches / 12.0, False
    number = _NUMBER.search(raw)
    if number and "%" in raw:
        return float(number.group()) / 100.0, False
    return None


def _bare_volume(number: float, name: str) -> float:
    """A flush volume or capacity given as a plain number: litres or gallons, as its name says."""
    plain = _plain(name)
    litres = "lpf" in plain or "liter" in plain or "litre" in plain
    return number * (LITRE_M3 if litres else GALLON_M3)
