"""Systems that hold pieces of several others besides, of a discipline or house and of no service;
and classifications that are named for a service."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from itertools import combinations

from ifclint.engineering.wording import how_many
from ifclint.ifc.elements import Basis, Confidence, Note, System
from ifclint.ifc.facts.service.kinds_of_service import refine, same_family
from ifclint.ifc.facts.service.system_reader import SystemReader
from ifclint.ifc.step.relations import Refs, classified
from ifclint.ifc.step.spf import class_and_arguments, number, string
from ifclint.ifc.step.text import clean
from ifclint.ifc.step.text_index import Ref, TextIndex

REFERENCE = b"IFCCLASSIFICATIONREFERENCE"
NAME, SOURCE = 2, 3  # its arguments
MOST_LEVELS = 8  # of a classification
REMEDY = "Name it for what it is (plumbing, house 1), or keep each piece in the system it serves."


def leave_out_containers(of_pieces: Iterable[Refs], systems: SystemReader) -> list[Note]:
    """Leave out every system of which most pieces are in others too, and these of services that
    are no kinds of one; `of_pieces` are the groups of each piece of pipework that is in any."""
    pieces = Counter(of_pieces)
    notes = []
    while found := _largest(pieces, systems):
        container, count = found
        notes.append(_note(systems.groups((container,))[0][1], count))
        systems.leave_out(container)
    return notes


def _largest(pieces: Counter[Refs], systems: SystemReader) -> tuple[Ref, int] | None:
    """The container of most pieces, and how many of them are in other systems."""
    held: Counter[Ref] = Counter()
    shared: Counter[Ref] = Counter()
    beside: defaultdict[Ref, set[System]] = defaultdict(set)
    for refs, count in pieces.items():
        told = {r: s for r in refs for s, _, _ in systems.groups((r,)) if s is not None}
        for ref, system in told.items():
            held[ref] += count
            others = {s for s in told.values() if refine(system, s) is not s}
            shared[ref] += count if len(told) > 1 else 0
            beside[ref] |= others
    found = [
        (n, -ref)
        for ref, n in shared.items()
        if 2 * n > held[ref] and _of_several_services(beside[ref])
    ]
    if not found:
        return None
    count, ref = max(found)
    return -ref, count


def _of_several_services(systems: set[System]) -> bool:
    return any(not same_family(a, b) for a, b in combinations(systems, 2))


def _note(name: str, count: int) -> Note:
    what = (
        f'The system "{name}" holds {how_many(count, "piece of pipework")} of systems of several '
        "services besides: it was taken as a container of these, and not as a service."
    )
    return Note(what, REMEDY, "", "system")


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


def titles_of_classifications(text: TextIndex) -> dict[Ref, str]:
    """What each element is classified as, in words: "Water closets"."""
    found: dict[Ref, str] = {}
    for reference, members in classified(text):
        name, written = class_and_arguments(text.get(reference))
        if name == REFERENCE and len(written) > NAME and (title := clean(string(written[NAME]))):
            found.update({element: title for element in members if element not in found})
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
