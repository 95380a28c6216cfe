"""What of a file could not be read as a whole, so that nothing is missing in silence."""

from collections.abc import Iterator

from ifclint.engineering.wording import how_many
from ifclint.ifc.elements import Note
from ifclint.ifc.facts.classify import classes_read
from ifclint.ifc.facts.occurrences import in_schema
from ifclint.ifc.step.opening import EXPORT_AGAIN, OpenedFile
from ifclint.ifc.step.text import clean

CLASSES_SHOWN = 5


def unread_notes(file: OpenedFile) -> Iterator[Note]:
    """Text that is no instance, instances whose texts are broken, numbers given twice or not
    at all, and classes that the file's schema lacks."""
    name = clean(file.info.name)
    if strays := file.text.strays:
        first = clean(strays[0].decode("latin-1"))
        places = how_many(len(strays), "place")
        what = f"What stands in {places} of the text of {name} is no instance and was not read"
        yield _damage(f'{what}, the first "{first}"')
    if broken := file.text.broken:
        instances = how_many(len(broken), "instance")
        what = f"Quotes, parentheses, backslashes or semicolons of {instances} of {name} are wrong"
        yield _damage(f"{what}, the first in {_first(broken)}")
    if repeated := file.text.repeated:
        numbers = how_many(len(repeated), "instance number")
        what = f"More than one instance has one of {numbers} of {name}, and the last was read"
        yield _damage(f"{what}, the first {_first(repeated)}")
    if not strays and (lost := file.text.lost()):
        numbers = how_many(len(lost), "instance number")
        what = f"Instances of {name} refer to {numbers} that no line of it has"
        yield _damage(f"{what}, the first {_first(lost)}")
    if empty := file.text.without_numbers():
        points = how_many(len(empty), "point or direction")
        what = f"No place can be told from the numbers of {points} of {name}"
        yield _damage(f"{what}, the first {_first(empty)}")
    if lacking := _classes_lacking(file):
        shown = ", ".join(f"{count} {ifc_class}" for ifc_class, count in lacking[:CLASSES_SHOWN])
        rest = sum(count for _, count in lacking[CLASSES_SHOWN:])
        what = f"{shown}{f' and {rest} other instances' if rest else ''} of {name} were not read: "
        yield Note(
            f"{what}{file.info.schema}, the schema the file names, has no such class.",
            f"Mend the schema in the header, or {EXPORT_AGAIN}.",
            topic="damage",
        )


def _damage(what: str) -> Note:
    return Note(f"{what}.", "Export the model again.", topic="damage")


def _first(numbers: list[int]) -> str:
    return ", ".join(f"#{number}" for number in numbers[:3])


def _classes_lacking(file: OpenedFile) -> list[tuple[str, int]]:
    """Classes that the file's schema lacks, plumbing first, with how many instances each has."""
    plumbing = {ifc_class.upper(): ifc_class for ifc_class in classes_read()}
    lacking = [
        (plumbing.get(written, clean(written)), count)
        for written, count in file.text.classes()
        if not in_schema(file.library.rare, written)
    ]
    return sorted(lacking, key=lambda found: found[0].isupper())
