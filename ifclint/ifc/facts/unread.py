"""What of a file could not be read as a whole, so that nothing is missing in silence."""

from __future__ import annotations

from collections.abc import Iterator

from ifclint.ifc.elements import Note
from ifclint.ifc.facts.classify import classes_read
from ifclint.ifc.facts.occurrences import in_schema
from ifclint.ifc.step.opening import EXPORT_AGAIN, OpenedFile
from ifclint.ifc.step.text import clean


def unread_notes(file: OpenedFile) -> Iterator[Note]:
    """Text that belongs to no instance, instances whose texts are broken, numbers given twice, and
    plumbing of a class that the file's schema lacks."""
    name = clean(file.info.name)
    if strays := file.text.strays:
        first = clean(strays[0].decode("latin-1"))
        what = f"{len(strays)} place(s) in the text of {name} are no instance and were not read, "
        yield Note(f'{what}the first "{first}".', "Export the model again.", topic="damage")
    if broken := file.text.broken:
        first = ", ".join(f"#{number}" for number in broken[:3])
        what = (
            f"Quotes, parentheses or backslashes of {len(broken)} instance(s) of {name} are wrong"
        )
        yield Note(f"{what}, the first in {first}.", "Export the model again.", topic="damage")
    if repeated := file.text.repeated:
        first = ", ".join(f"#{number}" for number in repeated[:3])
        what = (
            f"{len(repeated)} instance number(s) of {name} stand for two instances, of which the "
        )
        yield Note(
            f"{what}last was read, the first {first}.", "Export the model again.", topic="damage"
        )
    for ifc_class in sorted(classes_read()):
        count = file.text.count(ifc_class.upper().encode())
        if count and not in_schema(file.library.rare, ifc_class):
            what = f"{count} {ifc_class} of {name} were not read: {file.info.schema}, the schema "
            remedy = f"Mend the schema in the header, or {EXPORT_AGAIN}."
            yield Note(f"{what}the file names, has no such class.", remedy, topic="damage")
