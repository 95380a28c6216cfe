"""Which entities of a file are plumbing, and what their own attributes say."""

from __future__ import annotations

from typing import Any

from ifclint.ifc.classify import NOTHING_SAID, Classification, classes_read
from ifclint.ifc.describing import Describer, Occurrence, Texts, words_of_type
from ifclint.ifc.elements import Note
from ifclint.ifc.entities import ref
from ifclint.ifc.text import clean, fold

GENERIC = frozenset(
    {"IfcFlowSegment", "IfcFlowFitting", "IfcFlowTerminal", "IfcFlowController",
     "IfcEnergyConversionDevice", "IfcFlowStorageDevice", "IfcFlowMovingDevice",
     "IfcFlowTreatmentDevice", "IfcDistributionFlowElement", "IfcDistributionElement",
     "IfcDistributionChamberElement"}
)  # fmt: skip
TypeWords = tuple[str, str, str]


class OccurrenceFinder:
    """Finds the plumbing of one file; elements described alike are classified once."""

    def __init__(self, ifc: Any, types: dict[int, Any], describer: Describer) -> None:
        self._ifc = ifc
        self._types = types
        self._describer = describer
        self._classified: dict[tuple[Any, ...], Classification | None] = {}
        self._type_words: dict[int, TypeWords] = {0: ("", "", "")}
        self.notes: list[Note] = []

    def find(self) -> list[Occurrence]:
        """All plumbing occurrences in file order; what was passed over is noted."""
        found: list[tuple[int, Occurrence]] = []
        for name in sorted(classes_read()):
            untold = 0
            for entity in self._instances(name):
                key = entity.id()
                kind = self._types.get(key)
                occurrence = self._occurrence(entity, key, name, kind)
                if occurrence is not None:
                    found.append((key, occurrence))
                elif kind is None and name in GENERIC:
                    untold += 1
            if untold:
                self._note_untold(name, untold)
        found.sort(key=lambda pair: pair[0])
        return [occurrence for _, occurrence in found]

    def _instances(self, name: str) -> Any:
        try:
            return self._ifc.by_type(name, include_subtypes=False)
        except RuntimeError:  # no such class in this schema
            return ()

    def _note_untold(self, name: str, count: int) -> None:
        what = f"{count} of class {name} have neither a type nor a name that tells what they are"
        self.notes.append(Note(f"{what}; they were not read.", "Give them a type.", "", "role"))

    def _occurrence(self, entity: Any, key: int, name: str, kind: Any) -> Occurrence | None:
        ifc_class = name
        if kind is not None and name in GENERIC:
            ifc_class = kind.is_a().removesuffix("Type")
            if ifc_class not in classes_read():
                return None
        literal, basis = _literal(entity, name, kind)
        texts = self._texts(entity, kind)
        folded = (fold(texts[0][0]), fold(texts[1][0]), fold(texts[2][0]))
        signature = (ifc_class, literal, kind.id() if kind is not None else 0, folded)
        if signature not in self._classified:
            found = self._describer.classify(ifc_class, literal, basis, texts)
            self._classified[signature] = found
        what = self._classified[signature]
        if what is None:
            return None
        placement = ref(entity.get_argument(5))
        own_ref = b"#%d" % key
        return Occurrence(entity, own_ref, kind, ifc_class, literal, texts, folded, what, placement)

    def _texts(self, entity: Any, kind: Any) -> Texts:
        """The words an author left, in the order they are believed."""
        type_id = kind.id() if kind is not None else 0
        words = self._type_words.get(type_id)
        if words is None:
            words = self._type_words[type_id] = words_of_type(kind)
        get = entity.get_argument
        return [
            (clean(get(4)), "object type"),
            (clean(get(2)), "name"),
            (clean(get(3)), "description"),
            (words[0], "type name"),
            (words[1], "type"),
            (words[2], "type description"),
        ]


def _literal(entity: Any, name: str, kind: Any) -> tuple[str, str]:
    """The PredefinedType that counts, the occurrence's before the type's, and where it stood."""
    own = str(entity.get_argument(8) or "").upper() if len(entity) == 9 else ""
    if own not in NOTHING_SAID:
        return own, f"{name} {own}"
    of_type = str(kind[9] or "").upper() if kind is not None and len(kind) > 9 else ""
    if of_type not in NOTHING_SAID:
        return of_type, f"{kind.is_a()} {of_type}"
    return own or of_type, name
