"""What follows from an element's class, type, words, properties and systems.

Thousands of elements of a model differ in nothing but their place and number. What is known of
one without looking at its place is worked out once, as a prototype, and copied.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from ifclint.ifc.elements import PASSED_DEVICE, Basis, Confidence, Element, Note, Role, System
from ifclint.ifc.facts.bare_powers import settle_bare_powers
from ifclint.ifc.facts.classify import NOTHING_SAID, Classification, ClassRow, classify
from ifclint.ifc.facts.details import set_properties
from ifclint.ifc.facts.flue_outlets import set_flue_outlet
from ifclint.ifc.facts.notes import LABEL
from ifclint.ifc.facts.phases import set_status
from ifclint.ifc.facts.pipework import ducts_in_pipe, members_not_read, pipework
from ifclint.ifc.facts.properties import StatedFact, StatedFacts
from ifclint.ifc.facts.service.system_reader import Group, SystemReader
from ifclint.ifc.facts.service.systems import NAMED_BY_ITSELF, set_system
from ifclint.ifc.facts.size.diameters import METER_IN, small_meter
from ifclint.ifc.facts.size.readings import DrawnDiameters
from ifclint.ifc.facts.size.sizing import set_size
from ifclint.ifc.facts.size.unit_doubt import UnitDoubt
from ifclint.ifc.facts.vocabulary import Vocabulary
from ifclint.ifc.step.arrays import Ints
from ifclint.ifc.step.library import ref
from ifclint.ifc.step.relations import Refs
from ifclint.ifc.step.text import clean
from ifclint.ifc.step.text_index import Ref, TextIndex

DUCTS = frozenset(  # of which only flues are read
    {"IfcDuctSegment", "IfcDuctFitting", "IfcDamper", "IfcAirTerminal"}
)
DESCRIBED = frozenset({Role.FIXTURE, Role.TRAP})  # of which a rule asks for the description
CARRIES_AIR = DUCTS - {"IfcAirTerminal"}
A_FLUE = Basis("a duct that vents an appliance, by its words, system or joints", Confidence.WORDS)
Texts = list[tuple[str, str]]  # (text, what it is), in the order they are believed


Words = tuple[str, str, str]  # object type, name and description


class TypeWords:
    """A type entity (or None) and what it says: class, PredefinedType as written, name, element
    type and description; `all` of it, since programs write one type many times."""

    def __init__(self, entity: Any) -> None:
        self.entity = entity
        self.ref: Ref = ref(entity)
        self.ifc_class = self.literal = self.name = self.element_type = self.description = ""
        if entity is not None:
            self.ifc_class = entity.is_a()
            self.name, self.description = clean(entity[2]), clean(entity[3])
            self.element_type = clean(entity[8]) if len(entity) > 8 else ""
            self.literal = str(entity[9] or "").upper() if len(entity) > 9 else ""
        self.all = (
            self.ifc_class, self.literal, self.name, self.element_type, self.description
        )  # fmt: skip


@dataclass(slots=True, eq=False)
class CommonAttributes:
    """What elements have in common that have one class, type and, but for numbers, one name."""

    ifc_class: str
    literal: str
    kind: TypeWords
    folded: Words  # without serial numbers
    classification: Classification


@dataclass(slots=True)
class Occurrence:
    """An element of the file that is plumbing, as far as its own attributes tell."""

    ref: Ref
    guid: str
    words: Words
    tag: str
    placement: Ref
    shape: Ref
    common: CommonAttributes

    @property
    def name(self) -> str:
        return self.words[1]

    @property
    def role(self) -> Role:
        return self.common.classification.role

    @property
    def texts(self) -> Texts:
        return texts_of(self.words, self.common.kind)


def texts_of(own: Words, kind: TypeWords) -> Texts:
    """The words an author left, in the order they are believed."""
    return [
        (own[0], "object type"),
        (own[1], "name"),
        (own[2], "description or classification"),
        (kind.name, "type name"),
        (kind.element_type, "type"),
        (kind.description, "type description"),
    ]


@dataclass(slots=True)
class Prototype:
    element: Element
    end_sizes: tuple[float | None, ...] = ()  # that ports state for themselves
    inherited: StatedFacts = field(default_factory=dict)  # what the type says
    notes: list[Note] = field(default_factory=list)


@dataclass(frozen=True, slots=True, eq=False)
class PortFacts:
    """What the ports of an element say: systems, groups that only they are in, and sizes."""

    systems: tuple[System, ...]
    groups: Refs
    sizes: tuple[StatedFact | None, ...]

    @property
    def size(self) -> StatedFact | None:
        """The size all ports agree on that state one."""
        stated = [size for size in self.sizes if size is not None]
        if len({size.value for size in stated}) != 1:
            return None
        return stated[0].of("its ports")


@dataclass(frozen=True, slots=True)
class RelatedFacts:
    """What relations tell of an element beside its own attributes."""

    facts: StatedFacts
    materials: Texts
    drawn: tuple[DrawnDiameters, ...]
    groups: tuple[Group, ...]
    port_systems: tuple[System, ...]


class Describer:
    def __init__(
        self, vocabulary: Vocabulary, systems: SystemReader, metres_per_unit: float
    ) -> None:
        self._vocabulary = vocabulary
        self.fold = vocabulary.fold
        self._systems = systems
        self._metres_per_unit = metres_per_unit
        self.unit_doubt = UnitDoubt(metres_per_unit)

    def classify(
        self,
        ifc_class: str,
        literal: str,
        basis: Basis,
        texts: Texts,
        widened: ClassRow | None = None,
    ) -> Classification | None:
        return classify(ifc_class, literal, basis, texts, self._vocabulary, widened)

    def pipework(self, text: TextIndex, wanted: Ints) -> dict[Ref, Role | None]:
        """Which of some elements are pipework by their systems, ports or property sets."""
        return pipework(text, wanted, self._systems, self._vocabulary.properties)

    def in_pipe(self, text: TextIndex, ducts: list[Ref]) -> frozenset[Ref]:
        """Which of some ducts are drawn in systems of pipe."""
        return ducts_in_pipe(text, ducts, self._systems)

    def members_not_read(self, text: TextIndex, rare: Any, read: set[Ref]) -> Iterator[Note]:
        """What systems of pipe hold that no class of plumbing was read of."""
        return members_not_read(text, rare, read, self._systems)

    def prototype(self, of: Occurrence, related: RelatedFacts) -> Prototype:
        """Everything but name, place, ends and length of an element of this description."""
        element = self._classified(of.common)
        texts = of.texts
        element.object_type = of.words[0] or of.common.kind.element_type
        made = Prototype(element)
        self._contradictions(of.common, made.notes)
        self._set_kind(element, related.facts)
        self._set_material(element, texts, related)
        words = [texts[i] for i in (1, 3, 0, 4, 2)]
        fact = related.facts.get("system_words")
        stated = None if fact is None else (str(fact.value), fact.basis.words)
        is_flue = of.common.ifc_class in DUCTS
        notes = [] if is_flue else made.notes
        set_system(
            element, related.groups, related.port_systems, words, stated, self._systems, notes
        )
        if is_flue:
            element.system, element.basis["system"] = System.FLUE, A_FLUE
        size = related.facts.get("size")
        is_water_meter = element.role is Role.METER and element.kind == "water"
        if is_water_meter and (told := small_meter(size, words)) is not None:
            element.size_in, element.basis["size"] = METER_IN, told
            sizes_in: tuple[float, ...] = (METER_IN,)
        else:
            sizes_in = set_size(
                element,
                size,
                related.facts.get("outside_diameter"),
                words,
                related.drawn,
                self._metres_per_unit,
                made.notes,
                related.facts.get("inside_diameter"),
            )
        self.unit_doubt.add(element, (text for text, _ in words), size, related.drawn)
        if len(sizes_in) > 1:
            element.properties["sizes_in"] = " x ".join(f"{s:g}" for s in sizes_in)
        set_properties(element, related.facts, [t for t, _ in texts if t])
        set_flue_outlet(element, related.facts, [t for t, _ in texts if t], self._metres_per_unit)
        made.notes += settle_bare_powers(element, related.facts, self._metres_per_unit)
        if element.role in DESCRIBED and (described := f"{texts[2][0]} {texts[5][0]}".strip()):
            element.properties["described"] = described
        set_status(element, related.facts, texts)
        return made

    def _classified(self, of: CommonAttributes) -> Element:
        what = of.classification
        element = Element(
            "",
            ifc_class=of.ifc_class,
            predefined_type="" if of.literal in NOTHING_SAID else of.literal,
            type_name=of.kind.name,
            role=what.role,
            kind=what.kind,
        )
        element.basis["role"] = what.role_basis
        if what.kind_basis is not None:
            element.basis["kind"] = what.kind_basis
        return element

    def _contradictions(self, of: CommonAttributes, notes: list[Note]) -> None:
        if says := of.classification.contradiction:
            what = f"{LABEL} is {of.literal} by class but its name says {says}"
            notes.append(
                Note(f"{what}; the class was believed.", "Make the two agree.", "", "role")
            )
        if of.classification.kind == PASSED_DEVICE:
            what = f"{LABEL} is not understood; what flows is taken to pass it"
            remedy = "Name it in trade words, or tell its words in the job file."
            notes.append(Note(f"{what}, and its loss is not known.", remedy, "", "role"))
        if of.classification.kind == "accessory":
            what = f"{LABEL} is classed as a sanitary terminal but is an accessory"
            notes.append(
                Note(f"{what}; it counts as no fixture.", "Class it otherwise.", "", "role")
            )

    def _set_kind(self, element: Element, facts: StatedFacts) -> None:
        """Let a property say what neither enumeration nor name does: P_TRAP, DRINKINGWATER."""
        fact = facts.get("kind_words")
        told = element.basis.get("kind")
        if fact is None or (told is not None and told.confidence is not Confidence.STATED):
            return
        role = element.role
        found = self._vocabulary.elements.find(str(fact.value), lambda m: m.role is role)
        if found is not None:
            element.kind, element.basis["kind"] = found.kind, fact.basis

    def _set_material(self, element: Element, texts: Texts, related: RelatedFacts) -> None:
        stated = [(text, Basis(what)) for text, what in related.materials]
        fact = related.facts.get("material")
        if fact is not None:
            stated.append((str(fact.value), fact.basis))
        own = [texts[i] for i in (3, 1, 0, 5)] if element.role in NAMED_BY_ITSELF else []
        words = [(text, Basis(what, Confidence.WORDS)) for text, what in own]
        for text, what in stated + words:
            found = self._vocabulary.material(text) if text else None
            if found is not None:
                element.material, element.basis["material"] = found, what
                if element.role is Role.PIPE and text.casefold() != found:
                    element.properties["material_words"] = text
                return
        if stated:
            element.material, element.basis["material"] = stated[0]
