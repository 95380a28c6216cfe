"""Which system an element is in: groups, ports, names, then what it is connected to."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ifclint.ifc.elements import DRAINAGE, Element, Joint, Note, Role, System
from ifclint.ifc.entities import instance
from ifclint.ifc.notes import LABEL
from ifclint.ifc.text import clean
from ifclint.ifc.text_index import Ref
from ifclint.ifc.vocabulary import Vocabulary

WATER_KINDS = frozenset({System.COLD_WATER, System.HOT_WATER, System.HOT_WATER_RETURN})
ENDS_SPREAD = frozenset(
    {Role.FIXTURE, Role.HEATER, Role.TRAP, Role.APPLIANCE, Role.TANK, Role.PUMP, Role.METER}
)
NOT_SPREAD_TO = frozenset({Role.FIXTURE, Role.OTHER})
Group = tuple[System | None, str, str]  # what a group says: system, its name, the basis
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

    def groups(self, groups: list[Ref]) -> tuple[Group, ...]:
        """System, name and basis of each group that is an IfcSystem or IfcDistributionSystem."""
        return tuple([g for g in map(self._group, groups) if g is not None])

    def _group(self, number: Ref) -> Group | None:
        if number not in self._groups:
            group = instance(self._ifc, number)
            is_system = group is not None and group.is_a("IfcSystem")
            self._groups[number] = self._read_group(group) if is_system else None
        return self._groups[number]

    def _read_group(self, group: Any) -> Group:
        name = clean(group[2])
        long_name = clean(group[5]) if len(group) > 5 else ""
        texts = [name, long_name, clean(group[4]), clean(group[3])]
        literal = str(group[6] or "") if len(group) > 6 else ""
        enumerated = self.enumerated(literal)
        worded = next((s for t in texts if (s := self.words(t))), None)
        system = refine(enumerated, worded) if enumerated else worded
        return system, name, f'{group.is_a()} "{name}"'

    def enumerated(self, literal: str | None) -> System | None:
        return self._vocabulary.enumerated_systems.get((literal or "").upper())

    def literal(self, field: bytes) -> System | None:
        """The system of an enumeration literal as it is written: b".VENT."."""
        if field not in self._literals:
            self._literals[field] = self.enumerated(field.strip(b".").decode("ascii", "replace"))
        return self._literals[field]

    def words(self, text: str) -> System | None:
        return self._vocabulary.systems.find(text) if text else None


def refine(general: System, particular: System | None) -> System:
    """The particular system where it is a kind of the general one, else the general one."""
    if particular is None:
        return general
    if general is System.WATER and particular in WATER_KINDS:
        return particular
    if general is System.SANITARY and particular in (System.VENT, System.STORM, System.CONDENSATE):
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
    reader: SystemReader,
    notes: list[Note],
) -> None:
    """Set an element's system from its groups, its ports and its own words, in this order."""
    known = [g for g in groups if g[0] is not None]
    worded = next(((s, what) for t, what in texts if (s := reader.words(t))), None)
    element.system_name = known[0][1] if known else next((g[1] for g in groups), "")
    if element.role in NAMED_BY_ITSELF:
        _note_conflict(known, notes)
    own = worded[0] if worded and element.role in NAMED_BY_ITSELF else None
    if known:
        group = _preferred(known, element)
        system = refine(refine(group[0], _single(ports)), own)  # type: ignore[arg-type]
        element.system, element.system_name, basis = system, group[1], group[2]
        if system is not group[0]:
            basis += ", refined by its port or name"
        element.basis["system"] = basis
    elif (port := _single(ports)) is not None:
        element.system = refine(port, own)
        element.basis["system"] = "SystemType of its ports"
    elif own is not None and worded is not None:
        element.system = own
        element.basis["system"] = f"words of the {worded[1]}"


def _single(systems: Sequence[System]) -> System | None:
    """The one system of a set of ports; sanitary and vent together are sanitary."""
    different = set(systems)
    if len(different) == 1:
        return systems[0]
    return System.SANITARY if different and different <= DRAINAGE else None


def _preferred(known: list[Group], element: Element) -> Group:
    if element.role not in NAMED_BY_ITSELF:
        return next((g for g in known if g[0] is System.SANITARY), known[0])
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


def spread(elements: list[Element], joints: list[Joint]) -> None:
    """Pass known systems along joints to elements that have none, nearest first.

    Never across a fixture, heater, trap, appliance, tank, pump or meter, never onto an element
    that is known already, and no further where different systems meet.
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
    while front:
        claims: dict[int, set[System]] = {}
        for i, system in front.items():
            if elements[i].role not in ENDS_SPREAD:
                for other in neighbours[i]:
                    if other not in settled and elements[other].role not in NOT_SPREAD_TO:
                        claims.setdefault(other, set()).add(system)
        settled |= claims.keys()
        front = {i: s for i, found in claims.items() if (s := _single(list(found))) is not None}
        for i, system in front.items():
            elements[i].system = system
            elements[i].basis["system"] = "spread along connections"
