"""Classifications that are named for a service: systems, to who keeps them so.

What an element's systems and ports say goes before.
"""

from __future__ import annotations

from collections.abc import Iterable

from ifclint.ifc.elements import Basis, Confidence
from ifclint.ifc.facts.service.system_reader import SystemReader
from ifclint.ifc.step.relations import Refs, classified
from ifclint.ifc.step.spf import class_and_arguments, number, string
from ifclint.ifc.step.text import clean
from ifclint.ifc.step.text_index import Ref, TextIndex

REFERENCE = b"IFCCLASSIFICATIONREFERENCE"
NAME, SOURCE = 2, 3  # its arguments
MOST_LEVELS = 8  # of a classification


def classifications_of(
    text: TextIndex, elements: Iterable[Ref], systems: SystemReader
) -> dict[Ref, Refs]:
    """The first classification of each element that is named for a service, or stands below one
    that is; it is one of the element's groups from now on."""
    taken = [
        (reference, members)
        for reference, members in classified(text)
        if _take(text, reference, systems)
    ]
    found: dict[Ref, Refs] = {}
    wanted = set(elements) if taken else set()
    for reference, members in taken:
        for element in wanted.intersection(members):
            found.setdefault(element, (reference,))
    return found


def _take(text: TextIndex, reference: Ref, systems: SystemReader) -> bool:
    above = reference
    for _ in range(MOST_LEVELS):
        name, written = class_and_arguments(text.get(above))
        if name != REFERENCE or len(written) <= SOURCE:
            return False
        title = clean(string(written[NAME]))
        basis = Basis(f'classification "{title}"', Confidence.WORDS)
        if systems.add_classification(reference, title, basis):
            return True
        above = number(written[SOURCE])
    return False
