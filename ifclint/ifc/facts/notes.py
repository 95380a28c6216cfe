"""Notes that name the element they are about; one wording serves all elements alike."""

from dataclasses import replace

from ifclint.ifc.elements import Element, Note

LABEL = "{label}"


def about(note: Note, element: Element) -> Note:
    """The note with the element's own label and GlobalId; of one cause with those that say the same
    of others of its type, where it tells no wider cause."""
    what = note.what.replace(LABEL, element.label)
    if note.cause:
        return replace(note, what=what, guid=element.guid)
    cause = f"{element.type_name or element.role}: {note.what}" if LABEL in note.what else ""
    return replace(note, what=what, guid=element.guid, cause=cause)
