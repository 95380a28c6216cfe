"""Which entities of a file are plumbing, and what their own attributes say."""

import re
from collections import Counter
from operator import attrgetter
from typing import Any

import numpy as np

from ifclint.engineering.wording import how_many
from ifclint.ifc.elements import PASSED_DEVICE, Basis, Note, Role
from ifclint.ifc.facts import classify
from ifclint.ifc.facts.describing import (
    DUCTS,
    CommonAttributes,
    Describer,
    Occurrence,
    TypeWords,
    Words,
    texts_of,
)
from ifclint.ifc.facts.linked_in_pipe import linked_in_pipe
from ifclint.ifc.facts.pipework import READ_AS
from ifclint.ifc.facts.service.containers import titles_of_classifications
from ifclint.ifc.facts.size.words import from_words
from ifclint.ifc.step.library import instance
from ifclint.ifc.step.relations import ports_of
from ifclint.ifc.step.spf import arguments, number, string
from ifclint.ifc.step.text import LONGEST, clean
from ifclint.ifc.step.text_index import Ref, TextIndex

GENERIC = frozenset(
    {"IfcFlowSegment", "IfcFlowFitting", "IfcFlowTerminal", "IfcFlowController",
     "IfcEnergyConversionDevice", "IfcFlowStorageDevice", "IfcFlowMovingDevice",
     "IfcFlowTreatmentDevice", "IfcDistributionFlowElement", "IfcDistributionElement",
     "IfcDistributionChamberElement", "IfcDistributionControlElement"}
)  # fmt: skip

TYPE_OF_ANYTHING = frozenset(
    {"IfcTypeObject", "IfcTypeProduct", "IfcElementType", "IfcDistributionElementType"}
)
_TEXT = r"(?:'([^'\\]*)'|\$)"
_REF = r"(?:#(\d+)|\$)"
_USUAL = re.compile(  # GlobalId, name, description, object type, placement, shape, tag, literal
    rf"^'([^'\\]*)',[#$]\d*,{_TEXT},{_TEXT},{_TEXT},{_REF},{_REF},{_TEXT}"
    r"(?:,(?:\.(\w+)\.|[$*]))?$",
    re.M,
)
TOGETHER = 500  # lines that are read at once; an unusual one sends as many to be read singly
WrittenAttributes = tuple[Any, ...]
# The class and the PredefinedType that count, and what it is.
_Classified = tuple[str, str, classify.Classification]
NOT_PIPED = {"IfcDistributionChamberElement", "IfcDistributionControlElement", "IfcSensor"}
LOOSE = (GENERIC | {classify.PROXY}) - NOT_PIPED  # whose words are believed as those of a proxy are
PASSED = frozenset({"IfcFlowTreatmentDevice", "IfcFilter"})  # of whatever name
WITH_TWO_PORTS = "two ports"
IN_LINE = classify.Classification(
    Role.FITTING, PASSED_DEVICE, Basis("its class and two ports"), Basis("its class and two ports")
)
BY_SETS = {
    role: classify.Classification(role, "", Basis(f"property set of {role}s"), None)
    for role in (Role.PIPE, Role.FITTING, Role.VALVE)
}
PIPEWORK = frozenset({Role.PIPE, Role.FITTING, Role.VALVE, Role.TRAP})
NAMES_SHOWN = 3
BETWEEN = ";|"  # names; a serial number ends before it as it does at the end of a name


class OccurrenceFinder:
    """Finds the plumbing of one file; elements described alike are classified once."""

    def __init__(
        self, rare: Any, text: TextIndex, types: dict[Ref, Ref], describer: Describer
    ) -> None:
        self._rare = rare
        self._text = text
        self._types = types
        self._describer = describer
        self._fold = describer.fold
        self._met: dict[tuple[Any, ...], CommonAttributes | None] = {}
        self._classified: dict[tuple[Any, ...], _Classified | None] = {}
        self._kinds: dict[Ref, TypeWords] = {0: TypeWords(None)}
        self._sized: dict[str, None] = {}  # names of proxies that tell a size of pipe, not read
        self.strangers: list[tuple[str, Ref, Ref]] = []  # proxies not read: name, placement, shape
        self.notes: list[Note] = []
        self.unread = 0  # of pipework by systems, ports or property sets that is not understood
        self._pipework: dict[str, dict[Ref, Role | None]] = {}  # by class
        self._classes = titles_of_classifications(text)  # told in the place of a description
        self._two_ported = set[Ref]()  # of those that what flows may pass

    def find(self) -> list[Occurrence]:
        """All plumbing occurrences in file order; what was passed over is noted."""
        found: list[Occurrence] = []
        left: dict[str, dict[Ref, bytes]] = {}  # of classes that tell nothing, by class
        unread: dict[str, int] = {}
        for name in sorted(classify.classes_read()):
            rows = self._text.rows(name.upper().encode())
            if not len(rows) or not in_schema(self._rare, name):
                continue
            numbers, lines = self._text.numbers(rows).tolist(), self._text.arguments(rows)
            before = self.unread
            here, passed = self._read(name, numbers, lines)
            found += here
            unread[name] = self.unread - before
            if name in GENERIC:
                left[name] = passed
        found += self._linked(left, found)
        for name in unread:
            if unread[name]:
                self._note_unread(name, unread[name])
            elif name in left:
                types = (self._types.get(key, 0) for key in left[name])
                if unclassified := sum(map(self._tells_nothing, types)):
                    self._note_unclassified(name, unclassified)
        self._note_unnamed()
        read = {of.ref for of in found}
        self.notes += self._describer.members_not_read(self._text, self._rare, read)
        found.sort(key=attrgetter("ref"))
        return found

    def _read(
        self, name: str, numbers: list[Ref], lines: list[bytes]
    ) -> tuple[list[Occurrence], dict[Ref, bytes]]:
        """The occurrences of one class, and the lines of what is no plumbing."""
        found: list[Occurrence] = []
        passed: dict[Ref, bytes] = {}
        in_pipe = self._in_pipe(name, numbers)
        for at in range(0, len(lines), TOGETHER):
            keys, some = numbers[at : at + TOGETHER], lines[at : at + TOGETHER]
            for key, line, of in zip(
                keys, some, self._occurrences(keys, some, name, in_pipe), strict=True
            ):
                if of is None:
                    passed[key] = line
                else:
                    found.append(of)
        return found, passed

    def _linked(
        self, left: dict[str, dict[Ref, bytes]], found: list[Occurrence]
    ) -> list[Occurrence]:
        """Those left whose class says what they do to a flow, where the file links them to pipe."""
        asked = {name: left[name] for name in classify.ROLE_OF_SUPERTYPE if left.get(name)}
        strange = {key for lines in asked.values() for key in lines}
        if not strange:
            return []
        pipework = {
            of.ref for of in found if of.role in PIPEWORK and of.common.ifc_class not in DUCTS
        }
        linked = linked_in_pipe(self._text, strange, pipework)
        more: list[Occurrence] = []
        for name, lines in asked.items():
            here = {key: lines.pop(key) for key in linked.intersection(lines)}
            self._pipework[name] |= dict.fromkeys(here)
            again, _ = self._read(name, [*here], [*here.values()])
            more += again
        return more

    def _tells_nothing(self, type_ref: Ref) -> bool:
        """Whether an element has no type, or one whose class does not tell what it is of."""
        kind = self._kind(type_ref)
        return kind.entity is None or kind.ifc_class in TYPE_OF_ANYTHING

    def _note_unclassified(self, name: str, count: int) -> None:
        what = f"{count} of class {name} have neither a type nor a name that tells what they are"
        self.notes.append(Note(f"{what}; they were not read.", "Give them a type.", "", "role"))

    def _note_unread(self, name: str, count: int) -> None:
        held = "in systems of pipe, on its layers, or with its ports or property sets"
        remedy = (
            "Give them a class (IfcPipeSegment, IfcPipeFitting), or name them in trade words, as "
            "pipe, elbow, tee."
        )
        self.notes.append(
            Note(
                f"{count} of class {name} {held}, are not understood; they were not read.",
                remedy, "", "role",
            )
        )  # fmt: skip

    def _note_unnamed(self) -> None:
        """Proxies that may be pieces of pipework, by a size of pipe in their names."""
        if self._sized:
            first = ", ".join(f'"{name}"' for name in [*self._sized][:NAMES_SHOWN])
            names = how_many(len(self._sized), f"name of {classify.PROXY}")
            what = (
                f"A size of pipe, and no piece of pipework that is understood, is told by {names}, "
                f"the first {first}: what they name was not read"
            )
            remedy = (
                "Give them a class, or name them in the job file ([[reading.vocabulary.element]])."
            )
            self.notes.append(Note(f"{what}.", remedy, "", "role"))

    def _in_pipe(self, name: str, numbers: list[Ref]) -> frozenset[Ref]:
        """Which elements of a class of air are drawn in systems of pipe, and read as pipe."""
        if name not in READ_AS:
            return frozenset()
        found = self._describer.in_pipe(self._text, numbers)
        if found:
            what = f"{len(found)} of class {name} are in systems of pipe, and were read as of class"
            remedy = f"Give them the class {READ_AS[name]}."
            self.notes.append(Note(f"{what} {READ_AS[name]}.", remedy, "", "role"))
        return found

    def _occurrences(
        self, keys: list[Ref], lines: list[bytes], name: str, in_pipe: frozenset[Ref]
    ) -> list[Occurrence | None]:
        """An occurrence for each line of a class, None where it is no plumbing."""
        text = b"\n".join(lines)
        written = _written(text, len(lines)) or [
            (_written(line, 1) or [_written_unusually(line)])[0] for line in lines
        ]
        is_plain = self._text.plain and b"\\" not in text and max(map(len, lines)) <= LONGEST
        tidy = str.strip if is_plain else clean  # an escape can stand for any character
        names = [tidy(w[1]) for w in written]
        found: list[Occurrence | None] = []
        for key, w, title, folded_title in zip(
            keys, written, names, self._folded_names(names), strict=True
        ):
            guid, _, description, object_type, placement, shape, tag, literal = w
            described = description or self._classes.get(key, "")  # as what, not of which system
            of = READ_AS[name] if key in in_pipe else name
            said = of, literal, self._types.get(key, 0), object_type, described, folded_title
            if said not in self._met:
                words = (tidy(object_type), title, tidy(described))
                self._met[said] = self._alike(of, literal, said[2], words, folded_title)
            common = self._met[said]
            if name == classify.PROXY or (common is None and name not in NOT_PIPED):
                common = self._as_pipework(key, name, said, (object_type, title, described))
            places = int(placement or 0), int(shape or 0)
            if common is None:
                if name == classify.PROXY and all(places):
                    self.strangers.append((title or tidy(object_type) or classify.PROXY, *places))
                found.append(None)
                continue
            words = (tidy(object_type), title, tidy(description))
            found.append(Occurrence(key, tidy(guid), words, tidy(tag), *places, common))
        return found

    def _as_pipework(
        self, key: Ref, name: str, said: tuple[Any, ...], words: Words
    ) -> CommonAttributes | None:
        """What an element of a class that tells nothing is, where it is pipework or has a name as
        proxies have."""
        if name not in self._pipework:
            rows = self._text.rows(name.upper().encode())
            wanted = np.sort(self._text.numbers(rows))
            self._pipework[name] = self._describer.pipework(self._text, wanted)
            if name in PASSED:
                ports = Counter(ports_of(self._text, wanted)[:, 0].tolist())
                self._two_ported.update(ref for ref, count in ports.items() if count == 2)
        known = self._met[said]
        if key not in self._pipework[name]:
            return known
        role = self._pipework[name][key]
        again = (*said, role or (WITH_TWO_PORTS if key in self._two_ported else "pipework"))
        if again not in self._met:
            tidied = (clean(words[0]), words[1], clean(words[2]))
            self._met[again] = self._alike(name, said[1], said[2], tidied, said[5], again[-1])
        self.unread += self._met[again] is None and self._tells_nothing(said[2])
        return self._met[again]

    def _alike(
        self, name: str, literal: str, type_ref: Ref, words: Words, folded_title: str, of: str = ""
    ) -> CommonAttributes | None:
        """What an element has in common with all that differ from it in numbers alone."""
        kind = self._kind(type_ref)
        folded = (self._fold(words[0]), folded_title, self._fold(words[2]))
        signature = (name, literal, kind.all, folded, of)
        if signature not in self._classified:
            self._classified[signature] = self._classify(name, literal, kind, words, of)
        known = self._classified[signature]
        if known is None:
            return None
        ifc_class, of_class, what = known
        return CommonAttributes(ifc_class, of_class, kind, folded, what)

    def _folded_names(self, names: list[str]) -> list[str]:
        """Names without their serial numbers, all told at once."""
        joined = BETWEEN.join(names)
        if joined.isascii() and "dn" not in joined.lower():
            folded = self._fold(joined).split(BETWEEN)
            if len(folded) == len(names):
                return folded
        return [self._fold(name) for name in names]

    def _kind(self, type_ref: Ref) -> TypeWords:
        known = self._kinds.get(type_ref)
        if known is None:
            known = self._kinds[type_ref] = TypeWords(instance(self._rare, type_ref))
        return known

    def _classify(
        self, name: str, own: str, kind: TypeWords, words: Words, of: str
    ) -> _Classified | None:
        ifc_class = name
        if kind.entity is not None and name in GENERIC:
            typed = kind.ifc_class.removesuffix("Type")
            if typed in classify.classes_read():
                ifc_class = typed
            elif kind.ifc_class not in TYPE_OF_ANYTHING:
                return None
        literal, basis = _literal(own, name, kind)
        texts = texts_of(words, kind)
        loose = ifc_class in LOOSE
        wide = classify.of_pipework() if of and ifc_class == classify.PROXY else None
        what = self._describer.classify(ifc_class, literal, basis, texts, wide)
        if what is None and (loose or of):
            wide = classify.of_pipework() if of else classify.of_proxies()
            what = self._describer.classify(ifc_class, literal, basis, texts, wide)
            what = classify.by_supertype(ifc_class, texts, what, bool(of))
        if what is None and loose and of in BY_SETS:
            what = BY_SETS[Role(of)]
        if what is None and of == WITH_TWO_PORTS and ifc_class in PASSED:
            what = IN_LINE
        if what is None and name == classify.PROXY and from_words(words[1]):
            self._sized[words[1]] = None
        return (ifc_class, literal, what) if what is not None else None


def in_schema(ifc: Any, name: str) -> bool:
    """Whether the schema of a file has a class."""
    import ifcopenshell.ifcopenshell_wrapper as wrapper

    try:
        wrapper.schema_by_name(ifc.schema_identifier).declaration_by_name(name)
    except RuntimeError:
        return False
    return True


def _written(text: bytes, lines: int) -> list[WrittenAttributes] | None:
    """The attributes of elements, where all lines are written in the usual way, in ASCII."""
    if not text.isascii():
        return None
    found: list[WrittenAttributes] = _USUAL.findall(text.decode("ascii"))
    return found if len(found) == lines else None


def _written_unusually(line: bytes) -> WrittenAttributes:
    """The same of one element, whatever stands in its strings."""
    parts = arguments(line)
    guid, _, *texts, placement, shape, tag = [*parts, *[b"$"] * (8 - len(parts))][:8]
    literal = parts[8].strip(b".").decode("ascii", "replace") if len(parts) == 9 else ""
    return (
        string(guid), *map(string, texts), number(placement), number(shape), string(tag),
        "" if literal in ("$", "*") else literal.upper(),
    )  # fmt: skip


def _literal(own: str, name: str, kind: TypeWords) -> tuple[str, Basis]:
    """The PredefinedType that counts, the occurrence's before the type's, and where it stood."""
    own = own.upper()
    if own not in classify.NOTHING_SAID:
        return own, Basis(f"{name} {own}")
    if kind.literal not in classify.NOTHING_SAID:
        return kind.literal, Basis(f"{kind.ifc_class} {kind.literal}")
    return own or kind.literal, Basis(name)
