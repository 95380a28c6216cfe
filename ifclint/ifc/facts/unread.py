"""What of a file could not be read as a whole, so that nothing is missing in silence."""

from __future__ import annotations

from collections.abc import Iterator

from ifclint.ifc.elements import Note
from ifclint.ifc.facts.classify import classes_read
from ifclint.ifc.facts.occurrences import in_schema
from ifclint.ifc.step.opening import EXPORT_AGAIN, OpenedFile
from ifclint.ifc.step.text import clean

CLASSES_SHOWN = 5


def unread_notes(file: OpenedFile) -> Iterator[Note]:
    """Text that belongs to no instance, instances whose texts are broken, numbers given twice, and
    classes that the file's schema lacks."""
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
    if lacking := _classes_lacking(file):
        shown = ", ".join(f"{count} {ifc_class}" for ifc_class, count in lacking[:CLASSES_SHOWN])
        rest = sum(count for _, count in lacking[CLASSES_SHOWN:])
        what = f"{shown}{f' and {rest} other instances' if rest else ''} of {name} were not read: "
        yield Note(
            f"{what}{file.info.schema}, the schema the file names, has no such class.",
            f"Mend the schema in the header, or {EXPORT_AGAIN}.",
            topic="damage",
        )


def _classes_lacking(file: OpenedFile) -> list[tuple[str, int]]:
    """Classes that the file's schema lacks, plumbing first, with how many instances each has."""
    plumbing = {ifc_class.upper(): ifc_class for ifc_class in classes_read()}
    lacking = [
        (plumbing.get(written, clean(written)), count)
        for written, count in file.text.classes()
        if not in_schema(file.library.rare, written)
    ]
    return sorted(lacking, key=lambda found: found[0].isupper())
