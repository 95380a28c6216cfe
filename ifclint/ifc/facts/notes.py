"""Notes that name the element they are about; one wording serves all elements alike."""

from __future__ import annotations

from dataclasses import replace

from ifclint.ifc.elements import Element, Note

LABEL = "{label}"


def about(note: Note, element: Element) -> Note:
    """The note with the element's own label and GlobalId."""
    return replace(note, what=note.what.replace(LABEL, element.label), guid=element.guid)
