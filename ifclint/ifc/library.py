"""The file as ifcopenshell reads it, as little of it as need be.

Nine tenths of a plumbing model are instances of a few classes that are read from their own text.
The library is given the rest, `rare`: types, units, systems, materials, spatial structure. What
is written in an unusual way is asked of `whole`, which is only then opened.

An attribute of a rare entity that refers to a class left out is None: such references are to be
taken from the text.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from functools import cached_property
from pathlib import Path
from typing import Any

from ifclint.errors import InputError
from ifclint.ifc.classify import classes_read
from ifclint.ifc.text_index import TextIndex

BUILDING = {
    b"IFCWALL": "wall", b"IFCWALLSTANDARDCASE": "wall", b"IFCWALLELEMENTEDCASE": "wall",
    b"IFCSLAB": "slab", b"IFCSLABSTANDARDCASE": "slab", b"IFCSLABELEMENTEDCASE": "slab",
    b"IFCROOF": "roof",
    b"IFCWINDOW": "window", b"IFCWINDOWSTANDARDCASE": "window",
    b"IFCDOOR": "door", b"IFCDOORSTANDARDCASE": "door",
}  # fmt: skip
READ_AS_TEXT = frozenset(
    {b"IFCCARTESIANPOINT", b"IFCDIRECTION", b"IFCAXIS2PLACEMENT3D", b"IFCLOCALPLACEMENT",
     b"IFCDISTRIBUTIONPORT", b"IFCRELNESTS", b"IFCRELCONNECTSPORTS",
     b"IFCRELCONNECTSPORTTOELEMENT", b"IFCPRODUCTDEFINITIONSHAPE", b"IFCSHAPEREPRESENTATION",
     b"IFCEXTRUDEDAREASOLID", b"IFCPROPERTYSET", b"IFCPROPERTYSINGLEVALUE",
     b"IFCELEMENTQUANTITY", b"IFCQUANTITYLENGTH", b"IFCRELDEFINESBYPROPERTIES",
     b"IFCRELDEFINESBYTYPE", b"IFCRELAGGREGATES", b"IFCRELCONTAINEDINSPATIALSTRUCTURE",
     b"IFCBUILDINGSTOREY", b"IFCSPACE", b"IFCPOLYLINE", b"IFCINDEXEDPOLYCURVE",
     b"IFCCARTESIANPOINTLIST2D", b"IFCCARTESIANPOINTLIST3D"}
    | BUILDING.keys()
    | {name.upper().encode() for name in classes_read()}
)  # fmt: skip
MOST_OTHERS = 60  # instances per plumbing element; with more, the whole file is opened at once


class Library:
    """`parse` opens a file of this path, or raises InputError."""

    def __init__(self, text: TextIndex, plain: Path, parse: Callable[[Path], Any]) -> None:
        self._text = text
        self._plain = plain
        self._parse = parse

    @cached_property
    def whole(self) -> Any:
        """All instances."""
        return self._parse(self._plain)

    @cached_property
    def rare(self) -> Any:
        """Instances of the classes that are not read from their text."""
        text = self._text
        plumbing = sum(text.count(name.upper().encode()) for name in classes_read())
        much_else = len(text) > MOST_OTHERS * plumbing
        if much_else or not text.sound:
            return self.whole
        try:
            with tempfile.TemporaryDirectory(prefix="ifclint-") as folder:
                path = Path(folder) / "rare.ifc"
                path.write_bytes(text.without(READ_AS_TEXT))
                return self._parse(path)
        except InputError:
            return self.whole  # which tells the place of the damage
