"""Which system an element is in by what it says itself: groups, ports, properties, names."""

from collections.abc import Sequence

from ifclint.ifc.elements import BY_PATTERN, Basis, Confidence, Element, Note, Role, System
from ifclint.ifc.facts.service.kinds_of_service import WATER_KINDS, refine, single_of
from ifclint.ifc.facts.service.system_conflicts import (
    BY_PORTS,
    note_conflict,
    note_ports,
    note_words,
)
from ifclint.ifc.facts.service.system_reader import Group, SystemReader
from ifclint.ifc.step.text import words

PIPED = frozenset({Role.PIPE, Role.FITTING})
MIXING = "mixing"
MIXES = frozenset({MIXING, "faucet"})  # valves that are of the hot and of the cold water
PARTS = frozenset({"backflow-preventer", "vacuum-breaker"})  # of the system before and behind
BY_ITSELF = Basis("what it is", Confidence.INFERRED)
EXIT_OF_VENT = Basis("an exit (EXIT) of vent piping")
CLOSED_NAMES = frozenset(
    {"plug", "test", "end", "blind", "blank", "stopfen", "endkappe", "bouchon"}
)
NAMED_BY_ITSELF = frozenset({
    Role.PIPE, Role.FITTING, Role.VALVE, Role.CLEANOUT, Role.VENT_TERMINAL, Role.TRAP,
    Role.CHAMBER,
})  # fmt: skip


def set_system(
    element: Element,
    groups: Sequence[Group],
    ports: Sequence[System],
    texts: list[tuple[str, str]],
    stated: tuple[str, str] | None,
    reader: SystemReader,
    notes: list[Note],
) -> None:
    """Set an element's system from its groups, its ports, what a property `stated` of it, and its
    own words, in this order; each text with what it is."""
    known = [g for g in groups if g[0] is not None]
    role = element.role
    worded = _worded(texts, role, reader)
    element.system_name = known[0][1] if known else next((g[1] for g in groups), "")
    own = worded[0] if worded and element.role in NAMED_BY_ITSELF else None
    if element.role in (Role.VENT_TERMINAL, Role.VALVE) and own is System.VENT:
        own = None  # the cap of a gas vent is a vent too, and a valve may have an atmospheric vent
    if worded is not None and element.role is Role.VALVE and (known or ports):
        own = None if reader.is_any_drain(worded[2]) else own  # "isolation valve with drain"
    if element.role in NAMED_BY_ITSELF:
        if element.kind not in MIXES | PARTS:
            note_conflict(known, notes)
        note_ports(element, ports, known, notes)
        if worded is not None and reader.words(_without_tags(worded[2]), role) is own:
            note_words(known, ports, worded[0], worded[1], notes)
    if known:
        group = _preferred(known, element)
        system = refine(refine(group[0], single_of(ports)), own)  # type: ignore[arg-type]
        system = group[0] if group[0] is System.OTHER else system
        element.system, element.system_name, basis = system, group[1], group[2]
        if system is not group[0]:
            basis = Basis(f"{basis}, refined by its port or name", Confidence.WORDS)
        element.basis["system"] = basis
    elif (port := single_of(ports)) is not None:
        element.system = refine(port, own)
        element.basis["system"] = BY_PORTS
    elif role in NAMED_BY_ITSELF and (of_property := _of_property(stated, role, reader)):
        element.system = refine(of_property, own)
        text, what = stated or ("", "")
        of_any = reader.is_any_drain(text)
        element.basis["system"] = Basis(f"words of the {what}", Confidence.WORDS, of_any)
    elif own is not None and worded is not None:
        element.system = own
        of_any = reader.is_any_drain(worded[2])
        element.basis["system"] = Basis(f"words of the {worded[1]}", Confidence.WORDS, of_any)
    elif element.role in PIPED:
        named = [(g[1], "") for g in groups]
        hinted = next((s for t, _ in [*named, *texts] if (s := reader.hint(t, role))), None)
        if hinted is not None:
            element.system, element.basis["system"] = hinted, BY_PATTERN


def _of_property(stated: tuple[str, str] | None, role: Role, reader: SystemReader) -> System | None:
    """The service that the text of a property tells."""
    if stated is None or (worded := _worded([stated], role, reader)) is None:
        return None
    return reader.of_several(stated[0], worded[0])


def _worded(
    texts: list[tuple[str, str]], role: Role, reader: SystemReader
) -> tuple[System, str, str] | None:
    """The service that the words of a text tell, or else its mark; what that text is, and says."""
    for told in (reader.words, reader.mark):
        for text, what in texts:
            if (system := told(text, role)) is not None:
                return system, what, text
    return None


def _preferred(known: list[Group], element: Element) -> Group:
    if element.role not in NAMED_BY_ITSELF:
        return next((g for g in known if g[0] is System.SANITARY), known[0])
    if known[0][0] is System.WATER:  # of which another may tell the side
        return next((g for g in known if g[0] in WATER_KINDS), known[0])
    return known[0]


def _without_tags(text: str) -> str:
    """A text without its shortest words: CW-1 may be the tag of a clothes washer."""
    return " ".join(w for w in words(text) if len(w) > 2)


def _is_exit_of_vent(element: Element) -> bool:
    return (
        element.role is Role.FITTING
        and element.predefined_type == "EXIT"
        and element.kind in ("exit", "cap")
        and element.system is System.VENT
        and len(element.ends) < 2
        and not CLOSED_NAMES & set(words(element.called))
    )


def name_terminals(elements: list[Element]) -> None:
    """What ends a vent, and is joined to nothing that tells of which kind, is of the drains. An
    exit of vent piping ends it, whatever its name means elsewhere, as a hood or cap."""
    for element in elements:
        if _is_exit_of_vent(element):
            element.role, element.kind = Role.VENT_TERMINAL, "vent-through-roof"
            element.basis["role"] = element.basis["kind"] = EXIT_OF_VENT
        if element.role is Role.VENT_TERMINAL and element.system is None:
            element.system = System.VENT
            element.basis["system"] = BY_ITSELF
