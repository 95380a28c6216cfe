"""The items a shape is made of, read from the text of its representations."""

from __future__ import annotations

import re
from collections.abc import Callable
from itertools import islice
from typing import Any

import numpy as np

from ifclint.ifc.step.columns import lists, texts
from ifclint.ifc.step.entities import instance, ref
from ifclint.ifc.step.library import Library
from ifclint.ifc.step.spf import numbers
from ifclint.ifc.step.text_index import Ref, TextIndex

Shown = tuple[str | None, list[Ref]]  # the identifier of a representation, and its items
_DEFINITION = re.compile(rb"IFCPRODUCTDEFINITIONSHAPE\([^()]*")
_REPRESENTATION = re.compile(rb"IFCSHAPEREPRESENTATION\([#$]\d*,(?:'([^'\\]*)'|\$),[^()]*")


class RepresentationReader:
    """Representations of one file. Their texts differ in little but their items, so what stands
    before the items is understood once; the library reads what is written in an unusual way."""

    def __init__(self, library: Library, text: TextIndex) -> None:
        self._library = library
        self._text = text
        self._starts: dict[bytes, str | None] = {}
        self._unusual: set[bytes] = set()
        self._shown: dict[Ref, list[Shown]] = {}

    def read(self, definitions: list[Ref]) -> None:
        """Read many definitions at once; the unusual ones are left to `of`."""
        new = [d for d in definitions if d not in self._shown]
        wanted = np.unique(np.array(new, dtype=np.int64))
        text = self._text
        rows = text.rows_of(wanted, b"IFCPRODUCTDEFINITIONSHAPE")
        shapes = lists(text, text.ends[rows[rows >= 0]] - 2)
        owners = wanted[rows >= 0].repeat(shapes.counts).tolist()
        rows = text.rows_of(shapes.members, b"IFCSHAPEREPRESENTATION")
        held = lists(text, text.ends[rows] - 2)  # those that are none (row -1) are unusual
        codes, examples = texts(text, text.opens[rows] + 1, held.before + 1)
        usual = self._identifiers(rows[examples])
        members = iter(held.members.tolist())
        well = (held.well & (rows >= 0)).tolist()
        unusual = set()
        for owner, count, code, plain in zip(
            owners, held.counts.tolist(), codes.tolist(), well, strict=True
        ):
            items = list(islice(members, count))
            if plain and (identifier := usual[code]):
                self._shown.setdefault(owner, []).append((identifier[0], items))
            else:
                unusual.add(owner)
        for owner in unusual:
            self._shown.pop(owner, None)

    def _identifiers(self, rows: Any) -> list[tuple[str | None] | None]:
        """The identifiers of representations, each in a tuple; None for an unusual one."""
        found: list[tuple[str | None] | None] = []
        for line in self._text.arguments(rows):
            start = b"IFCSHAPEREPRESENTATION(" + line.rpartition(b",(")[0]
            found.append((self._starts[start],) if self._usual(start, _REPRESENTATION) else None)
        return found

    def items(self, definition: Ref, wanted: Callable[[str | None], bool]) -> list[Ref]:
        """The items of a definition read at once, of representations with wanted identifiers."""
        shown = self._shown.get(definition, ())
        if len(shown) == 1:
            return shown[0][1] if wanted(shown[0][0]) else []
        return [item for name, items in shown if wanted(name) for item in items]

    def of(self, definition: Ref) -> list[Shown]:
        """The representations of an IfcProductDefinitionShape."""
        if definition in self._shown:
            return self._shown[definition]
        start, _, items = (self._text.get(definition) or b"").rpartition(b",(")
        if self._usual(start, _DEFINITION):
            return [self.representation(r) for r in numbers(items[:-2])]
        entity = instance(self._library.whole, definition) if definition else None
        return [_of_entity(r) for r in entity[2] or ()] if entity is not None else []

    def representation(self, number: Ref) -> Shown:
        """An IfcRepresentation; one without items where there is none of that number."""
        start, _, items = (self._text.get(number) or b"").rpartition(b",(")
        if self._usual(start, _REPRESENTATION):
            return self._starts[start], numbers(items[:-2])
        entity = instance(self._library.whole, number)
        return _of_entity(entity) if entity is not None else (None, [])

    def _usual(self, start: bytes, pattern: re.Pattern[bytes]) -> bool:
        """Whether an instance is written in the usual way, as far as its list of items."""
        if start in self._starts:
            return True
        match = pattern.fullmatch(start) if start not in self._unusual else None
        if match is None:
            self._unusual.add(start)
            return False
        name = match.group(1) if pattern.groups else None
        self._starts[start] = name.decode("latin-1") if name is not None else None
        return True


def _of_entity(entity: Any) -> Shown:
    return entity[1], [ref(item) for item in entity[3] or ()]
