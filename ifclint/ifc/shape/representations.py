"""The items a shape is made of, read from the text of its representations."""

from collections.abc import Callable
from itertools import islice

import numpy as np

from ifclint.engineering.distinct import distinct
from ifclint.ifc.step.columns import lists, texts
from ifclint.ifc.step.spf import arguments, class_and_arguments, numbers, string
from ifclint.ifc.step.text_index import Ref, TextIndex

Representation = tuple[str | None, list[Ref]]  # its identifier, and its items


class RepresentationReader:
    """Representations of one file. Their texts differ in little but their items, so what stands
    before the items is understood once."""

    def __init__(self, text: TextIndex) -> None:
        self._text = text
        self._shown: dict[Ref, list[Representation]] = {}

    def forget(self) -> None:
        """Keep none of what was read at once."""
        self._shown = {}

    def read(self, definitions: list[Ref]) -> None:
        """Read many definitions at once; the unusual ones are left to `of`."""
        new = [d for d in definitions if d not in self._shown]
        wanted = distinct(np.array(new, dtype=np.int64))
        text = self._text
        rows = text.rows_of(wanted, b"IFCPRODUCTDEFINITIONSHAPE")
        shapes = lists(text, text.ends[rows[rows >= 0]] - 2)
        owners = wanted[rows >= 0].repeat(shapes.counts).tolist()
        rows = text.rows_of(shapes.members, b"IFCSHAPEREPRESENTATION")
        held = lists(text, text.ends[rows] - 2)  # those that are none (row -1) are unusual
        codes, examples = texts(text, text.opens[rows] + 1, held.before + 1)
        heads = map(arguments, text.arguments(rows[examples]))
        identifiers = [_identifier(head) for head in heads]
        members = iter(held.members.tolist())
        well = (held.well & (rows >= 0)).tolist()
        unusual = set()
        for owner, count, code, plain in zip(
            owners, held.counts.tolist(), codes.tolist(), well, strict=True
        ):
            items = list(islice(members, count))
            if plain:
                self._shown.setdefault(owner, []).append((identifiers[code], items))
            else:
                unusual.add(owner)
        for owner in unusual:
            self._shown.pop(owner, None)

    def items(self, definition: Ref, wanted: Callable[[str | None], bool]) -> list[Ref]:
        """The items of a definition read at once, of representations with wanted identifiers."""
        shown = self._shown.get(definition, ())
        if len(shown) == 1:
            return shown[0][1] if wanted(shown[0][0]) else []
        return [item for name, items in shown if wanted(name) for item in items]

    def of(self, definition: Ref) -> list[Representation]:
        """The representations of an IfcProductDefinitionShape."""
        if definition in self._shown:
            return self._shown[definition]
        _, written = class_and_arguments(self._text.get(definition))
        return [self.representation(r) for r in numbers(written[2][1:-1])] if written else []

    def representation(self, number: Ref) -> Representation:
        """An IfcRepresentation; one without items where there is none of that number."""
        _, written = class_and_arguments(self._text.get(number))
        return (_identifier(written), numbers(written[3][1:-1])) if written else (None, [])


def _identifier(written: list[bytes]) -> str | None:
    """The identifier of a representation, None where it has none."""
    return string(written[1]) if written[1][:1] == b"'" else None
