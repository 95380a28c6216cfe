"""Which system an element is in: groups, ports, names, then what it is connected to."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from ifclint.ifc.elements import (
    BY_PATTERN,
    DRAINAGE,
    SPREAD,
    Basis,
    Confidence,
    Element,
    Joint,
    Note,
    Role,
    System,
)
from ifclint.ifc.facts.joined_names import of_several
from ifclint.ifc.facts.notes import LABEL
from ifclint.ifc.facts.vocabulary import Vocabulary
from ifclint.ifc.step.entities import instance
from ifclint.ifc.step.text import clean, words
from ifclint.ifc.step.text_index import Ref

WATER_KINDS = frozenset({System.COLD_WATER, System.HOT_WATER, System.HOT_WATER_RETURN})
FED = frozenset({System.COLD_WATER, System.HOT_WATER})
NOT_POTABLE = frozenset({System.HEATING, System.FIRE, System.NON_POTABLE, System.OTHER})
RAIN_TOO = frozenset({System.WATER, System.COLD_WATER})
_HAS_OTHERS = {  # what a literal stands for too where it is all that there is: system -> services
    System.COLD_WATER: NOT_POTABLE,
    System.HOT_WATER: frozenset({System.NON_POTABLE, System.OTHER}),
    System.STORM: frozenset({System.NON_POTABLE}),
    System.GAS: frozenset({System.OTHER}),
    System.HEATING: frozenset({System.NON_POTABLE}),
    System.FIRE: frozenset({System.NON_POTABLE}),
}
ENDS_SPREAD = frozenset(
    {Role.FIXTURE, Role.HEATER, Role.TRAP, Role.APPLIANCE, Role.TANK, Role.PUMP, Role.METER}
)
PIPED = frozenset({Role.PIPE, Role.FITTING})
HOLD_WATER = frozenset({Role.TRAP, Role.INTERCEPTOR, Role.CHAMBER})
NOT_SPREAD_TO = frozenset({Role.FIXTURE, Role.OTHER})
OF_ONE_SERVICE = frozenset({Role.PIPE, Role.FITTING, Role.CLEANOUT})
UNSTATED = ("NOTDEFINED", "USERDEFINED")
MIXING = "mixing"
MIXES = frozenset({MIXING, "faucet"})  # valves that are of the hot and of the cold water
PARTS = frozenset({"backflow-preventer", "vacuum-breaker"})  # of the system before and behind
FAMILIES = (  # services that a name can be told apart by
    frozenset({System.SANITARY, System.VENT, System.STORM, System.CONDENSATE, System.RELIEF}),
    frozenset({*WATER_KINDS, System.WATER, System.RELIEF}),
    frozenset({System.GAS}),
)
KINDS_OF_DRAIN = frozenset({System.VENT, System.STORM, System.CONDENSATE, System.RELIEF})
BY_ITSELF = Basis("what it is", Confidence.INFERRED)
ONE_SYSTEM_TYPE = "Give all its ports one SystemType."
EXIT_OF_VENT = Basis("an exit (EXIT) of vent piping")
CLOSED_NAMES = frozenset(
    {"plug", "test", "end", "blind", "blank", "stopfen", "endkappe", "bouchon"}
)
BY_PORTS = Basis("SystemType of its ports")
EXHAUST = ("exhaust",)  # of flue gas, or of the air of a room: no word against a plumbing vent
_CODED = re.compile(r"[A-Z0-9&]{1,4}(?:[-_. ][A-Z0-9&]{1,4})*")  # P-DOMW-CPIP-1, as layers are
Group = tuple[System | None, str, Basis]  # what a group says: system, its name, the basis
NAMED_BY_ITSELF = frozenset(
    {
        Role.PIPE,
        Role.FITTING,
        Role.VALVE,
        Role.CLEANOUT,
        Role.VENT_TERMINAL,
        Role.TRAP,
        Role.CHAMBER,
    }
)


class SystemReader:
    """Systems of one file; each group is understood once."""

    def __init__(self, ifc: Any, vocabulary: Vocabulary) -> None:
        self._ifc = ifc
        self._vocabulary = vocabulary
        self._groups: dict[Ref, Group | None] = {}
        self._literals: dict[bytes, System | None] = {}
        self._joined: set[Ref] = set()

    def is_of_several(self, group: Ref) -> bool:
        """Whether a group is a system that is named for several services, and so of none."""
        return self._group(group) is None and group in self._joined

    def leave_out(self, group: Ref) -> None:
        """Take a group as no system from now on."""
        self._groups[group] = None

    def groups(self, groups: Sequence[Ref]) -> tuple[Group, ...]:
        """System, name and basis of each group that is an IfcSystem or IfcDistributionSystem."""
        return tuple([g for g in map(self._group, groups) if g is not None])

    def _group(self, number: Ref) -> Group | None:
        if number not in self._groups:
            group = instance(self._ifc, number)
            is_system = group is not None and group.is_a("IfcSystem")
            self._groups[number] = self._read_group(group) if is_system else None
        return self._groups[number]

    def _read_group(self, group: Any) -> Group | None:
        name = clean(group[2])
        long_name = clean(group[5]) if len(group) > 5 else ""
        texts = [name, long_name, clean(group[4]), clean(group[3])]
        literal = str(group[6] or "") if len(group) > 6 else ""
        enumerated = self.enumerated(literal)
        said = next((t for t in texts if self.words(t)), "")
        worded = self.words(said)
        worded = worded or self.mark(name)
        if worded is None and _CODED.fullmatch(name):
            worded = self._of_layer(name)
        joined = self.of_several(said or name, worded)
        if worded is not joined is None and enumerated is None:
            self._joined.add(group.id())
            return None
        worded = joined
        system = refine(enumerated, worded) if enumerated else worded
        of_any = literal in ("", "DRAINAGE", *UNSTATED) and (
            worded is None or self.is_any_drain(said)
        )
        return system, name, Basis(f'{group.is_a()} "{name}"', of_any_drain=of_any)

    def add_layer(self, number: Ref, name: str, basis: Basis) -> bool:
        """Take a layer as a group, where its name tells a service; whether it does."""
        system = self.mark(name) or self._of_layer(name) or self.words(name)
        return self._add(number, system, name, basis)

    def add_classification(self, number: Ref, name: str, basis: Basis) -> bool:
        """The same of a classification."""
        return self._add(number, self.words(name) or self.mark(name), name, basis)

    def of_several(self, name: str, whole: System | None) -> System | None:
        """The service of what is named for several, else what the `whole` name tells."""
        return of_several(name, whole, lambda part: self.words(part) or self.mark(part))

    def _add(self, number: Ref, told: System | None, name: str, basis: Basis) -> bool:
        system = self.of_several(name, told)
        if system is not None:
            self._groups[number] = (system, name, basis)
        return system is not None

    def enumerated(self, literal: str | None) -> System | None:
        return self._vocabulary.enumerated_systems.get((literal or "").upper())

    def literal(self, field: bytes) -> System | None:
        """The system of an enumeration literal as it is written: b".VENT."."""
        if field not in self._literals:
            self._literals[field] = self.enumerated(field.strip(b".").decode("ascii", "replace"))
        return self._literals[field]

    def words(self, text: str, role: Role | None = None) -> System | None:
        """What the words of a name tell of the system, without those that name the pattern where
        it is a fitting's."""
        if not text:
            return None
        if role is Role.FITTING:
            text = self._vocabulary.without_pattern(text)
        return self._or_flue(self._vocabulary.systems.find(text), text)

    def _of_layer(self, name: str) -> System | None:
        """What an abbreviation that layers are named with tells."""
        return self._or_flue(self._vocabulary.layers.find(name), name)

    def _or_flue(self, found: System | None, text: str) -> System | None:
        return System.FLUE if found is System.VENT and self._of_flue_gas(text) else found

    def _of_flue_gas(self, text: str) -> bool:
        """Whether a vent is called a flue, gas vent, Type B or chimney besides."""
        given = words(text)
        told, where = self._vocabulary.systems.located(given, lambda s: s is System.FLUE)
        return told is not None and given[where] != EXHAUST

    def mark(self, text: str, role: Role | None = None) -> System | None:
        """What a text tells of the service that is no more than a mark; a fitting's may be that of
        its pattern."""
        return self._vocabulary.mark(text) if role in (None, Role.PIPE) else None

    def is_any_drain(self, text: str) -> bool:
        return self._vocabulary.is_any_drain(text)

    def hint(self, text: str, role: Role | None) -> System | None:
        """What a series of pipe, or the pattern of a fitting, alone suggests."""
        found = self._vocabulary.hints.find(text) if text else None
        return found or (self.words(text) if role is Role.FITTING else None)


def refine(general: System, particular: System | None) -> System:
    """The particular system where it is a kind of the general one, else the general one."""
    if particular is None:
        return general
    if general is System.WATER and particular in WATER_KINDS | NOT_POTABLE:
        return particular
    if general in _HAS_OTHERS and particular in _HAS_OTHERS[general]:
        return particular
    if general in RAIN_TOO and particular is System.STORM:  # water of rain that is led to fixtures
        return System.NON_POTABLE
    if general is System.SANITARY and particular in KINDS_OF_DRAIN:
        return particular
    if general is System.STORM and particular is System.CONDENSATE:
        return particular
    if general is System.OTHER:
        return particular
    if general in (System.COLD_WATER, System.HOT_WATER) and particular is System.RELIEF:
        return particular
    if general is System.HOT_WATER and particular is System.HOT_WATER_RETURN:
        return particular
    return general


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
    if element.role in NAMED_BY_ITSELF:
        if element.kind not in MIXES | PARTS:
            _note_conflict(known, notes)
        _note_ports(element, ports, known, notes)
        if worded is not None and reader.words(_without_tags(worded[2]), role) is own:
            _note_words(known, ports, worded[0], worded[1], notes)
    if known:
        group = _preferred(known, element)
        system = refine(refine(group[0], _single(ports)), own)  # type: ignore[arg-type]
        system = group[0] if group[0] is System.OTHER else system
        element.system, element.system_name, basis = system, group[1], group[2]
        if system is not group[0]:
            basis = Basis(f"{basis}, refined by its port or name", Confidence.WORDS)
        element.basis["system"] = basis
    elif (port := _single(ports)) is not None:
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


def _single(systems: Sequence[System]) -> System | None:
    """The one system of a set of ports; sanitary and vent together are sanitary, water of no told
    side is of the side that another tells, and a return is of the water that it leaves or joins."""
    different = set(systems)
    if len(different) == 2 and System.WATER in different and different & WATER_KINDS:
        different.discard(System.WATER)
    if len(different) == 2 and System.HOT_WATER_RETURN in different and different & FED:
        different.discard(System.HOT_WATER_RETURN)
    if len(different) == 1:
        return next(iter(different))
    return System.SANITARY if different and different <= DRAINAGE else None


def _preferred(known: list[Group], element: Element) -> Group:
    if element.role not in NAMED_BY_ITSELF:
        return next((g for g in known if g[0] is System.SANITARY), known[0])
    if known[0][0] is System.WATER:  # of which another may tell the side
        return next((g for g in known if g[0] in WATER_KINDS), known[0])
    return known[0]


def _note_conflict(known: list[Group], notes: list[Note]) -> None:
    """Note an element that is in systems of different services."""
    services = {g[0] for g in known}
    if services & WATER_KINDS:
        services.discard(System.WATER)
    if len(services) > 1 and not services <= DRAINAGE:
        names = ", ".join(sorted(f'"{g[1]}"' for g in known))
        what = f"{LABEL} is in systems of different services ({names}); the first was taken."
        notes.append(Note(what, "Keep it in one system.", "", "system"))


def _note_ports(
    element: Element, ports: Sequence[System], known: list[Group], notes: list[Note]
) -> None:
    """Note ports that tell another service than each other, or than the system they are in."""
    stated = list(dict.fromkeys(ports))
    if not WATER_KINDS.isdisjoint(stated):
        stated = [s for s in stated if s is not System.WATER]  # of which the others are kinds
    if len(stated) > 1 and element.role in OF_ONE_SERVICE and not set(stated) <= DRAINAGE:
        names = " and ".join(s.value for s in stated)
        what = f"The ports of {LABEL} are of different services ({names} by SystemType)."
        notes.append(Note(what, ONE_SYSTEM_TYPE, "", "system"))
    elif len(stated) == 1 and known and not _agree(known[0][0], stated[0]):
        what = (
            f"{LABEL} is in {known[0][2]}, which is {_named(known[0][0])}, but the SystemType of "
            f"its ports says {stated[0].value}; the first was taken."
        )
        notes.append(Note(what, "Make system and ports agree.", "", "system"))


def _note_words(
    known: list[Group],
    ports: Sequence[System],
    own: System,
    what_says: str,
    notes: list[Note],
) -> None:
    """Note a name that tells a service of another family than the system or the ports."""
    port = _single(ports)
    stated, where = (known[0][0], known[0][2]) if known else (port, BY_PORTS)
    if stated is None or same_family(stated, own):
        return
    if known and port is not None and same_family(port, own):
        return  # already told of the ports
    what = (
        f"{LABEL} is {stated.value} by {where} but its {what_says} says {own.value}; the first "
        "was taken."
    )
    notes.append(Note(what, "Make the name and the system agree.", "", "system"))


def _without_tags(text: str) -> str:
    """A text without its shortest words: CW-1 may be the tag of a clothes washer."""
    return " ".join(w for w in words(text) if len(w) > 2)


def _agree(general: System | None, particular: System) -> bool:
    """Whether two places can both be right of one element."""
    if general is None or general is particular:
        return True
    return refine(general, particular) is particular or refine(particular, general) is general


def same_family(one: System, other: System) -> bool:
    """Whether two services are kinds of one, as far as words tell: a "drain" may be any drain."""
    if {one, other} == {System.COLD_WATER, System.HOT_WATER}:
        return False
    families = [family for family in FAMILIES if one in family]
    stated = any(other in family for family in FAMILIES)
    return not families or not stated or any(other in family for family in families)


def _named(system: System | None) -> str:
    return system.value if system is not None else ""


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


def spread(elements: list[Element], joints: list[Joint]) -> None:
    """Pass known systems along joints to elements that have none, nearest first.

    Never across a fixture, heater, trap, appliance, tank, pump, meter, faucet or mixing valve, not
    onto an element that is known already or is in a system of another name that is not understood,
    and no further where different systems meet; what is not potable goes past no device against
    backflow, and to no meter. What is joined to a trap drains, whatever vent it meets; a trap,
    interceptor or chamber is of no vent.
    """
    unknown = {
        i for i, e in enumerate(elements) if e.system is None and e.role not in NOT_SPREAD_TO
    }
    if not unknown:
        return
    neighbours: dict[int, list[int]] = {}
    for joint in joints:
        if joint.a in unknown or joint.b in unknown:
            neighbours.setdefault(joint.a, []).append(joint.b)
            neighbours.setdefault(joint.b, []).append(joint.a)
    front = {i: s for i in neighbours if (s := elements[i].system) is not None}
    settled = set(front)
    for i, e in enumerate(elements):
        if e.role is Role.TRAP and (e.system is None or e.system is System.SANITARY):
            drains = [
                n for n in neighbours.get(i, ()) if n in unknown and elements[n].role in PIPED
            ]
            _settle(elements, dict.fromkeys(drains, System.SANITARY))
            front |= dict.fromkeys(drains, System.SANITARY)
            settled.update(drains)
    while front:
        claims: dict[int, set[System]] = {}
        for i, system in front.items():
            if elements[i].role not in ENDS_SPREAD and elements[i].kind not in MIXES:
                for other in neighbours[i]:
                    if other not in settled and _may_be_of(system, elements[i], elements[other]):
                        claims.setdefault(other, set()).add(system)
        settled |= claims.keys()
        front = {i: s for i, found in claims.items() if (s := _single(list(found))) is not None}
        _settle(elements, front)


def _may_be_of(system: System, known: Element, other: Element) -> bool:
    """Whether an element may have the service of one beside it, by what it is and the systems the
    two are in. Water that nobody drinks ends at a device against backflow and at a meter."""
    names = {known.system_name, other.system_name} - {""}
    if other.role in NOT_SPREAD_TO or len(names) > 1:
        return False
    return system not in NOT_POTABLE or (other.kind not in PARTS and other.role is not Role.METER)


def _settle(elements: list[Element], found: dict[int, System]) -> None:
    for i, system in found.items():
        holds_water = system is System.VENT and elements[i].role in HOLD_WATER
        elements[i].system = System.SANITARY if holds_water else system
        elements[i].basis["system"] = SPREAD
