"""What is to be torn out, stands for a while only, or is there already, as a model states it.

What is to be demolished or temporary is no part of the building that is built: it is set aside,
counted and named, and judged by nothing.
"""

import re
from functools import lru_cache

from ifclint.engineering.wording import how_many
from ifclint.ifc.elements import Basis, Box, Confidence, Element, Model, Note
from ifclint.ifc.facts.properties import StatedFacts
from ifclint.ifc.facts.taken_out import counted, take_out
from ifclint.ifc.step.text import words

STATUS = "status"  # the property of an element that holds it
DEMOLISHED = "to be demolished"
TEMPORARY = "temporary"
EXISTING = "existing"
NOT_BUILT = (DEMOLISHED, TEMPORARY)
# Phrases as `words` tells them. Common use of the trade; there is no other source.
_ANYWHERE = {  # in the value of a property that states it, and in the name of a layer
    DEMOLISHED: (
        "demolish", "demolished", "demolition", "demo", "demol", "remove", "removed", "abandoned",
        "abbruch", "abriss", "ruckbau", "abzubrechen", "demoli", "demolir", "demoler", "depose",
        "deposer", "demolicion", "derribo", "slopen", "sloop", "gesloopt", "demolire",
        "demolizione", "rivning", "riva",
    ),
    TEMPORARY: (
        "temporary", "temporaire", "provisorisch", "provisoire", "provisional", "tijdelijk",
    ),
    EXISTING: (
        "existing", "exist", "exst", "bestand", "bestehend", "existant", "existente", "bestaand",
        "esistente", "befintlig",
    ),
}  # fmt: skip
_CLOSING = {  # at either end of a part of a name: "Existing pipe - to be removed"
    DEMOLISHED: (
        "demolished", "demolish", "to be demolished", "to be removed", "to be torn out",
        "abandoned", "abandoned in place", "abzubrechen", "zu entfernen", "wird abgebrochen",
        "abbruch", "ruckbau", "a demolir", "a deposer", "a demoler", "por demoler", "a retirar",
        "te slopen", "te verwijderen", "da demolire", "da rimuovere",
    ),
    TEMPORARY: (),
    EXISTING: (),
}  # fmt: skip
_OPENING = {  # at its beginning only, or all of it
    DEMOLISHED: ("demo",),
    TEMPORARY: _ANYWHERE[TEMPORARY],
    EXISTING: (),
}
_BEGINS = {s: tuple(f"{p} " for p in (*_CLOSING[s], *_OPENING[s])) for s in NOT_BUILT}
_ENDS = {s: tuple(f" {p}" for p in _CLOSING[s]) for s in NOT_BUILT}
_ALONE = {DEMOLISHED: ("removed", "remove"), TEMPORARY: (), EXISTING: ()}
_STANDS = (  # at the beginning of a name or of a part of it: "Existing 4 in sewer"
    "existing", "exist", "exst", "bestehend", "bestehende", "bestehender", "bestehendes",
    "bestand", "existant", "existante", "existente", "bestaand", "bestaande", "to remain", "etr",
)  # fmt: skip
_STANDS_HERE = re.compile(r"\(\s*(?:E|EX|EXIST|EXST|ETR)\.?\s*\)")  # as plans mark it
_SIZE = re.compile(r"^(?:\d+ )+(?:in |mm |inch )?")  # before what is sized: 4" existing sewer
_IS_WORK = frozenset(  # what is done at existing work is new
    {"new", "relocate", "relocated", "reloc", "replace", "replaced", "replacement", "connect",
     "connection", "connected", "tie", "poc", "neu", "nuevo", "nouveau"}
)  # fmt: skip
_PARTS = re.compile(r"\s[-–—]+\s|[()\[\]:;,|/]")
_DENIED = frozenset({"not", "nicht", "non", "niet"})
_NO_PHASE = frozenset(
    {"", "none", "keine", "aucune", "aucun", "ninguno", "ninguna", "geen", "no", "0"}
)


def set_status(element: Element, facts: StatedFacts, texts: list[tuple[str, str]]) -> None:
    """What a property states, then its phases, then words; of what is new nothing is kept."""
    if fact := facts.get("status"):
        if found := by_phrases(str(fact.value)):
            tell(element, found, fact.basis)
        return
    created, demolished = facts.get("phase_created"), facts.get("phase_demolished")
    if demolished is not None and _is_phase(str(demolished.value)):
        once = created is not None and created.value == demolished.value
        tell(element, TEMPORARY if once else DEMOLISHED, demolished.basis)
        return
    for text, which in texts:
        if found := _by_name(text):
            tell(element, found, Basis(f"words of the {which}", Confidence.WORDS))
            return
    if created is not None and by_phrases(str(created.value)) == EXISTING:
        tell(element, EXISTING, created.basis)


def tell(element: Element, status: str, basis: Basis) -> None:
    element.properties[STATUS], element.basis[STATUS] = status, basis


def set_aside(model: Model, boxes: dict[int, Box]) -> None:
    """Take what is to be demolished or temporary out of a model; it is counted and named."""
    for status in NOT_BUILT:
        rows = [i for i, e in enumerate(model.elements) if e.properties.get(STATUS) == status]
        if not rows:
            continue
        found = [model.elements[row] for row in rows]
        how = ", ".join(sorted({element.basis[STATUS].words for element in found}))
        number = how_many(len(found), "element")
        what = f"Set aside as {status} ({how}): {number}, {counted(found)}."
        take_out(model, boxes, dict.fromkeys(rows), status)
        remedy = "What is to stay and be judged must not be stated so."
        model.notes.append(Note(what, remedy, "", "status"))


def by_phrases(text: str) -> str:
    """What a text, as the name of a layer, says of the phase; "" where it says nothing."""
    spoken = words(text)
    if _DENIED & set(spoken):
        return ""
    said = f" {' '.join(spoken)} "
    return next((s for s, p in _ANYWHERE.items() if any(f" {one} " in said for one in p)), "")


def _is_phase(text: str) -> bool:
    return " ".join(words(text)) not in _NO_PHASE


@lru_cache(maxsize=100_000)  # names of types, and of kinds of elements, are those of many
def _by_name(text: str) -> str:
    """What a name says of its thing: not "Cap at demolished branch", which stays."""
    for part in _PARTS.split(text) if text else ():
        spoken = words(part)
        if not spoken or _DENIED & set(spoken):
            continue
        said = " ".join(spoken)
        for status in NOT_BUILT:
            is_said = f"{said} ".startswith(_BEGINS[status]) or said.endswith(_ENDS[status])
            if is_said or said in _ALONE[status]:
                return status
    return EXISTING if _stands(text) else ""


def _stands(name: str) -> bool:
    """Whether a name says that its thing is there already: not "Tie-in to existing stack"."""
    if not _IS_WORK.isdisjoint(words(name)) or not _DENIED.isdisjoint(words(name)):
        return False
    parts = (_SIZE.sub("", f"{' '.join(words(part))} ") for part in _PARTS.split(name))
    begins = tuple(f"{phrase} " for phrase in _STANDS)
    return _STANDS_HERE.search(name) is not None or any(p.startswith(begins) for p in parts)
