"""What groups, layers, literals and names of a file tell of the system; each is understood once."""

import re
from collections.abc import Callable, Sequence
from typing import Any

from ifclint.ifc.elements import Basis, Role, System
from ifclint.ifc.facts.service.kinds_of_service import refine
from ifclint.ifc.facts.vocabulary import Vocabulary
from ifclint.ifc.step.library import instance
from ifclint.ifc.step.text import clean, words
from ifclint.ifc.step.text_index import Ref

_BETWEEN = re.compile(r"\s*[&+/,;]\s*|\s+(?:and|und|et|y|e|og|och|en|i|и)\s+", re.IGNORECASE)
WATER = frozenset({"water", "wasser", "eau", "agua", "acqua", "vann", "vatten", "vand", "вода"})
OF_WATER = frozenset({System.WATER, System.COLD_WATER, System.HOT_WATER, System.HOT_WATER_RETURN})
CIRCULATED = frozenset({System.HOT_WATER, System.HOT_WATER_RETURN})
VENTED = frozenset({System.SANITARY, System.VENT})
TOLD_APART = OF_WATER | VENTED | {System.STORM, System.GAS}
UNSTATED = ("NOTDEFINED", "USERDEFINED")
EXHAUST = ("exhaust",)  # of flue gas, or of the air of a room: no word against a plumbing vent
_CODED = re.compile(r"[A-Z0-9&]{1,4}(?:[-_. ][A-Z0-9&]{1,4})*")  # P-DOMW-CPIP-1, as layers are
Group = tuple[System | None, str, Basis]  # what a group says: system, its name, the basis


class SystemReader:
    """Systems of one file; each group is understood once."""

    def __init__(self, ifc: Any, vocabulary: Vocabulary) -> None:
        self._ifc = ifc
        self._vocabulary = vocabulary
        self._groups: dict[Ref, Group | None] = {}
        self._literals: dict[bytes, System | None] = {}
        self._joined: set[Ref] = set()

    def is_of_several(self, group: Ref) -> bool:
        """Whether a group is a system that is named for several services, and so of none."""
        return self._group(group) is None and group in self._joined

    def leave_out(self, group: Ref) -> None:
        """Take a group as no system from now on."""
        self._groups[group] = None

    def groups(self, groups: Sequence[Ref]) -> tuple[Group, ...]:
        """System, name and basis of each group that is an IfcSystem or IfcDistributionSystem."""
        return tuple([g for g in map(self._group, groups) if g is not None])

    def _group(self, number: Ref) -> Group | None:
        if number not in self._groups:
            group = instance(self._ifc, number)
            is_system = group is not None and group.is_a("IfcSystem")
            self._groups[number] = self._read_group(group) if is_system else None
        return self._groups[number]

    def _read_group(self, group: Any) -> Group | None:
        name = clean(group[2])
        long_name = clean(group[5]) if len(group) > 5 else ""
        texts = [name, long_name, clean(group[4]), clean(group[3])]
        literal = str(group[6] or "") if len(group) > 6 else ""
        enumerated = self.enumerated(literal)
        said = next((t for t in texts if self.words(t)), "")
        worded = self.words(said)
        worded = worded or self.mark(name)
        if worded is None and _CODED.fullmatch(name):
            worded = self._of_layer(name)
        joined = self.of_several(said or name, worded)
        if worded is not joined is None and enumerated is None:
            self._joined.add(group.id())
            return None
        worded = joined
        system = refine(enumerated, worded) if enumerated else worded
        of_any = literal in ("", "DRAINAGE", *UNSTATED) and (
            worded is None or self.is_any_drain(said)
        )
        return system, name, Basis(f'{group.is_a()} "{name}"', of_any_drain=of_any)

    def add_layer(self, number: Ref, name: str, basis: Basis) -> bool:
        """Take a layer as a group, where its name tells a service; whether it does."""
        system = self.mark(name) or self._of_layer(name) or self.words(name)
        return self._add(number, system, name, basis)

    def add_classification(self, number: Ref, name: str, basis: Basis) -> bool:
        """The same of a classification."""
        return self._add(number, self.words(name) or self.mark(name), name, basis)

    def of_several(self, name: str, whole: System | None) -> System | None:
        """The service of what is named for several, else what the `whole` name tells."""
        return of_several(name, whole, lambda part: self.words(part) or self.mark(part))

    def _add(self, number: Ref, told: System | None, name: str, basis: Basis) -> bool:
        system = self.of_several(name, told)
        if system is not None:
            self._groups[number] = (system, name, basis)
        return system is not None

    def enumerated(self, literal: str | None) -> System | None:
        return self._vocabulary.enumerated_systems.get((literal or "").upper())

    def literal(self, field: bytes) -> System | None:
        """The system of an enumeration literal as it is written: b".VENT."."""
        if field not in self._literals:
            self._literals[field] = self.enumerated(field.strip(b".").decode("ascii", "replace"))
        return self._literals[field]

    def words(self, text: str, role: Role | None = None) -> System | None:
        """What the words of a name tell of the system, without those that name the pattern where
        it is a fitting's."""
        if not text:
            return None
        if role is Role.FITTING:
            text = self._vocabulary.without_pattern(text)
        return self._or_flue(self._vocabulary.systems.find(text), text)

    def _of_layer(self, name: str) -> System | None:
        """What an abbreviation that layers are named with tells."""
        return self._or_flue(self._vocabulary.layers.find(name), name)

    def _or_flue(self, found: System | None, text: str) -> System | None:
        return System.FLUE if found is System.VENT and self._of_flue_gas(text) else found

    def _of_flue_gas(self, text: str) -> bool:
        """Whether a vent is called a flue, gas vent, Type B or chimney besides."""
        given = words(text)
        told, where = self._vocabulary.systems.located(given, lambda s: s is System.FLUE)
        return told is not None and given[where] != EXHAUST

    def mark(self, text: str, role: Role | None = None) -> System | None:
        """What a text tells of the service that is no more than a mark; a fitting's may be that of
        its pattern."""
        return self._vocabulary.mark(text) if role in (None, Role.PIPE) else None

    def is_any_drain(self, text: str) -> bool:
        return self._vocabulary.is_any_drain(text)

    def hint(self, text: str, role: Role | None) -> System | None:
        """What a series of pipe, or the pattern of a fitting, alone suggests."""
        found = self._vocabulary.hints.find(text) if text else None
        return found or (self.words(text) if role is Role.FITTING else None)


def of_several(
    name: str, whole: System | None, tell: Callable[[str], System | None]
) -> System | None:
    """The service that all that a name joins are of: water of no told side of cold and hot, drains
    of these and their vents. None where they have no such, and what `whole` says where it names
    one service, or others than these."""
    parts = [part for part in _BETWEEN.split(name) if part]
    if len(parts) < 2:
        return whole
    last = (words(parts[-1]) or [""])[-1]
    told = {s for part in parts if (s := _told(part, last, tell)) is not None}
    if len(told) < 2 or told == CIRCULATED or not told <= TOLD_APART:
        return whole
    if told <= OF_WATER:
        return System.WATER
    return System.SANITARY if told <= VENTED else None


def _told(part: str, last: str, tell: Callable[[str], System | None]) -> System | None:
    """What a part of a name says by itself, or with the last word of the name: "hot" and "cold
    water"."""
    if WATER.issuperset(words(part)):
        return System.WATER
    return tell(part) or tell(f"{part} {last}")
