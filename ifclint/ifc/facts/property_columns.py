"""Many property sets at once: of all their properties, the ones that are wanted.

Sets that are written in an unusual way, or hold a property that is, are left out.
"""

import re
from collections.abc import Callable, Sequence

import numpy as np

from ifclint.ifc.facts.property_names import PropertyNames, WantedFact
from ifclint.ifc.step.arrays import Ints
from ifclint.ifc.step.columns import COMMA, QUOTE, first_of, lists, texts
from ifclint.ifc.step.text_index import Ref, TextIndex

SETS = (b"IFCPROPERTYSET", b"IFCELEMENTQUANTITY")
PROPERTIES = (
    b"IFCPROPERTYSINGLEVALUE", b"IFCPROPERTYLISTVALUE", b"IFCPROPERTYENUMERATEDVALUE",
    b"IFCPROPERTYBOUNDEDVALUE", b"IFCQUANTITYLENGTH",
)  # fmt: skip
GUID = 25  # characters of a GlobalId with its quotes, and the comma after it
_OWNER_AND_NAME = re.compile(rb"(?:#\d+|[$*]),(?:'((?:[^']|'')*)'|\$)(?:,.*)?", re.S)
Line = tuple[bytes, WantedFact]


def property_lines(
    text: TextIndex, definitions: Sequence[Ref], names: PropertyNames
) -> dict[Ref, list[Line]]:
    """The wanted properties of each set, as they are written, with what they are wanted for."""
    refs = np.array(definitions, dtype=np.int64)
    rows = _rows(text, refs, SETS)
    refs, rows = refs[rows >= 0], rows[rows >= 0]
    if not len(refs):
        return {}
    begins = text.opens[rows] + 1 + GUID
    held = lists(text, text.ends[rows] - 2)
    well = held.well & (text.signs[begins - 1] == COMMA) & (held.before > begins)
    set_of, examples = texts(text, begins, np.where(well, held.before + 1, begins))
    heads = text.between(begins[examples], held.before[examples] + 1)
    titles = [m and (m[1] or b"") for m in map(_OWNER_AND_NAME.fullmatch, heads)]
    well &= np.array([title is not None for title in titles])[set_of]

    owner = np.arange(len(refs)).repeat(held.counts)
    members = _rows(text, held.members, PROPERTIES)
    owner, members = owner[members >= 0], members[members >= 0]
    first, end = text.opens[members] + 1, text.ends[members] - 1
    quote = first_of(text, QUOTE, first + 1, end)
    plain = (text.signs[first] == QUOTE) & (text.signs[quote + 1] == COMMA)
    well[owner[~plain]] = False
    name_of, examples = texts(text, first + 1, quote)
    called = text.between(first[examples] + 1, quote[examples])

    def want(set_and_name: int) -> WantedFact | None:
        title = titles[set_and_name // len(called)]
        return names.wanted(title or b"", called[set_and_name % len(called)])

    wanted, want_of = _each(set_of[owner] * len(called) + name_of, want)
    taken = well[owner] & np.array([w is not None for w in wanted], dtype=bool)[want_of]
    found: dict[Ref, list[Line]] = {ref: [] for ref in refs[well].tolist()}
    lines = text.between(text.starts[members[taken]], text.ends[members[taken]])
    kept = zip(refs[owner[taken]].tolist(), lines, want_of[taken].tolist(), strict=True)
    for ref, line, number in kept:
        one = wanted[number]
        if one is not None:
            found[ref].append((line, one))
    return found


def _rows(text: TextIndex, refs: Ints, classes: Sequence[bytes]) -> Ints:
    """The row of each reference that is an instance of one of the classes, else -1."""
    found = np.full(len(refs), -1)
    for name in classes:
        found = np.maximum(found, text.rows_of(refs, name))
    return found


def _each(
    codes: Ints, make: Callable[[int], WantedFact | None]
) -> tuple[list[WantedFact | None], Ints]:
    """What is made of each different code, and the place of each code's in it."""
    different, place = np.unique(codes, return_inverse=True)
    return [make(code) for code in different.tolist()], place
