"""The file as ifcopenshell reads it, as little of it as need be.

Nearly all of a model is read from its own text, or not at all. The library is given what is `rare`
and intricate: types, units, systems, materials. The `whole` is only opened where text is damaged.

An attribute of a rare entity that refers to a class left out is None: such references are to be
taken from the text.
"""

import tempfile
from collections.abc import Callable
from functools import cached_property
from pathlib import Path
from typing import Any

from ifclint.errors import InputError
from ifclint.ifc.step.relations import types_by_occurrence
from ifclint.ifc.step.spf import escaped
from ifclint.ifc.step.text_index import Ref, TextIndex

ASKED_OF_LIBRARY = (
    b"IFCPROJECT", b"IFCAPPLICATION", b"IFCORGANIZATION",
    b"IFCUNITASSIGNMENT", b"IFCSIUNIT", b"IFCCONVERSIONBASEDUNIT",
    b"IFCCONVERSIONBASEDUNITWITHOFFSET", b"IFCCONTEXTDEPENDENTUNIT", b"IFCDERIVEDUNIT",
    b"IFCDERIVEDUNITELEMENT", b"IFCMEASUREWITHUNIT", b"IFCDIMENSIONALEXPONENTS",
    b"IFCMONETARYUNIT",
    b"IFCSYSTEM", b"IFCDISTRIBUTIONSYSTEM", b"IFCDISTRIBUTIONCIRCUIT", b"IFCBUILDINGSYSTEM",
    b"IFCBUILTSYSTEM", b"IFCELECTRICALCIRCUIT", b"IFCZONE", b"IFCGROUP",
    b"IFCMATERIAL", b"IFCMATERIALLIST", b"IFCMATERIALLAYER", b"IFCMATERIALLAYERSET",
    b"IFCMATERIALLAYERSETUSAGE", b"IFCMATERIALPROFILE", b"IFCMATERIALPROFILESET",
    b"IFCMATERIALPROFILEWITHOFFSETS", b"IFCMATERIALPROFILESETUSAGE",
    b"IFCMATERIALPROFILESETUSAGETAPERING", b"IFCMATERIALCONSTITUENT",
    b"IFCMATERIALCONSTITUENTSET",
)  # fmt: skip


class Library:
    """`parse` opens a file of this path, or raises InputError."""

    def __init__(self, text: TextIndex, plain: Path, parse: Callable[[Path], Any]) -> None:
        self._text = text
        self._plain = plain
        self._parse = parse

    @cached_property
    def whole(self) -> Any:
        """All instances; where the file is damaged, the library tells the place."""
        return self._parse(self._plain)

    @cached_property
    def types(self) -> dict[Ref, Ref]:
        """The type of every occurrence that has one."""
        return types_by_occurrence(self._text)

    @cached_property
    def rare(self) -> Any:
        """Instances of the classes that are not read from their text, and all types."""
        text = self._text
        try:
            return self._parse_text(text.only(ASKED_OF_LIBRARY, self.types.values()))
        except InputError:
            return self.whole

    def _parse_text(self, text: bytes) -> Any:
        with tempfile.TemporaryDirectory(prefix="ifclint-") as folder:
            path = Path(folder) / "rare.ifc"
            path.write_bytes(escaped(text))
            return self._parse(path)


def ref(entity: Any) -> Ref:
    """The reference of an entity, 0 for none."""
    return 0 if entity is None else int(entity.id())


def instance(ifc: Any, number: Ref) -> Any:
    """The entity of a reference, None where there is none."""
    try:
        return ifc.by_id(number) if number else None
    except RuntimeError:
        return None
