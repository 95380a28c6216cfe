"""The items a shape is made of, read from the text of its representations."""

from __future__ import annotations

import re
from itertools import islice
from typing import Any

from ifclint.ifc.columns import lists
from ifclint.ifc.entities import instance, ref
from ifclint.ifc.library import Library
from ifclint.ifc.spf import numbers
from ifclint.ifc.text_index import Ref, TextIndex

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

    def read(self, definitions: list[Ref]) -> list[list[Ref]]:
        """The items of each of many definitions, read at once; none where unusual."""
        import numpy as np

        new = np.unique(np.array([d for d in definitions if d not in self._shown], dtype=np.int64))
        self._read(new)
        return [
            [item for _, items in self._shown.get(d, ()) for item in items] for d in definitions
        ]

    def _read(self, definitions: Any) -> None:
        text = self._text
        rows = text.rows_of(definitions, b"IFCPRODUCTDEFINITIONSHAPE")
        shapes = lists(text, rows[rows >= 0])
        owners = definitions[rows >= 0].repeat(shapes.counts).tolist()
        rows = text.rows_of(shapes.members, b"IFCSHAPEREPRESENTATION")
        held = lists(text, rows)  # those that are none (row -1) are told by their text below
        members = iter(held.members.tolist())
        unusual = set()
        for owner, shown, count, well in zip(
            owners, shapes.members.tolist(), held.counts.tolist(), held.well.tolist(), strict=True
        ):
            items = list(islice(members, count))
            start = (text.get(shown) or b"").rpartition(b",(")[0]
            if well and self._usual(start, _REPRESENTATION):
                self._shown.setdefault(owner, []).append((self._starts[start], items))
            else:
                unusual.add(owner)
        for owner in unusual:
            self._shown.pop(owner, None)

    def of(self, definition: Ref) -> list[Shown]:
        """The representations of an IfcProductDefinitionShape."""
        if definition in self._shown:
            return self._shown[definition]
        start, _, items = (self._text.get(definition) or b"").rpartition(b",(")
        if self._usual(start, _DEFINITION):
            return [self._representation(r) for r in numbers(items[:-2])]
        entity = instance(self._library.whole, definition) if definition else None
        return [_of_entity(r) for r in entity[2] or ()] if entity is not None else []

    def _representation(self, number: Ref) -> Shown:
        start, _, items = (self._text.get(number) or b"").rpartition(b",(")
        if self._usual(start, _REPRESENTATION):
            return self._starts[start], numbers(items[:-2])
        return _of_entity(self._library.whole.by_id(number))

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
