"""The relationships of a file, each class walked once and kept only for what is asked about."""

from __future__ import annotations

from collections.abc import Container, Iterator
from dataclasses import dataclass, field

from ifclint.ifc.columns import after_guid, lists
from ifclint.ifc.spf import arguments, number, numbers
from ifclint.ifc.text_index import Ref, TextIndex

CONTAINERS = (b"IFCRELCONTAINEDINSPATIALSTRUCTURE", b"IFCRELREFERENCEDINSPATIALSTRUCTURE")
GROUPINGS = (b"IFCRELASSIGNSTOGROUP", b"IFCRELASSIGNSTOGROUPBYFACTOR")
PROPERTY_RELATIONS = (b"IFCRELDEFINESBYPROPERTIES", b"IFCRELOVERRIDESPROPERTIES")
Refs = tuple[Ref, ...]


@dataclass
class Relations:
    """What is related to the elements asked about, by the element's reference."""

    property_sets: dict[Ref, Refs] = field(default_factory=dict)
    ports: dict[Ref, list[Ref]] = field(default_factory=dict)
    port_owner: dict[Ref, Ref] = field(default_factory=dict)
    material: dict[Ref, Ref] = field(default_factory=dict)
    groups: dict[Ref, Refs] = field(default_factory=dict)
    container: dict[Ref, Ref] = field(default_factory=dict)
    whole: dict[Ref, Ref] = field(default_factory=dict)


def types_by_occurrence(text: TextIndex) -> dict[Ref, Ref]:
    """The type of every occurrence that has one."""
    found: dict[Ref, Ref] = {}
    for related, kind in _many_to_one(text, b"IFCRELDEFINESBYTYPE"):
        if kind:
            found.update(dict.fromkeys(related, kind))
    return found


def relations(text: TextIndex, wanted: set[Ref]) -> Relations:
    """Everything related to the elements wanted, and to their ports."""
    found = Relations()
    ports = set(text.numbers_of(b"IFCDISTRIBUTIONPORT").tolist())
    _wholes(text, ports, wanted, found)
    _ports(text, ports, wanted, found)
    of_interest = wanted | found.port_owner.keys()
    _property_sets(text, of_interest, found)
    for related, material in _many_to_one(text, b"IFCRELASSOCIATESMATERIAL"):
        for r in related:
            found.material.setdefault(r, material)
    for name in GROUPINGS:
        for members, rest in _lists(text, name):
            group = number(rest[1]) if len(rest) > 1 else 0
            _add(found.groups, members, (group,) if group else (), of_interest)
    for name in CONTAINERS:
        for related, structure in _many_to_one(text, name):
            for r in related:
                found.container.setdefault(r, structure)
    return found


def _lists(text: TextIndex, name: bytes) -> Iterator[tuple[list[Ref], list[bytes]]]:
    """The list among the arguments of each instance of a class, and what follows it."""
    for line in text.of_class(name)[1]:
        yield _list_and_rest(line)


def _list_and_rest(line: bytes) -> tuple[list[Ref], list[bytes]]:
    start = line.rfind(b"(")
    end = line.find(b")", start)
    if start < 0 or end < 0:
        return [], [b""]
    return numbers(line[start + 1 : end]), line[end + 1 :].lstrip(b" ,").split(b",")


def _many_to_one(text: TextIndex, name: bytes) -> Iterator[tuple[list[Ref], Ref]]:
    for related, rest in _lists(text, name):
        yield related, number(rest[0])


def _one_to_many(text: TextIndex, name: bytes) -> Iterator[tuple[Ref, list[Ref]]]:
    for line in text.of_class(name)[1]:
        start = line.rfind(b"(")
        if start >= 0:
            one = line[:start].rstrip(b" ,").rpartition(b",")[2]
            yield number(one), numbers(line[start + 1 : -1])


def _pairs(text: TextIndex, name: bytes) -> Iterator[tuple[Ref, Ref]]:
    """One and each of its many."""
    lines = text.of_class(name)[1]
    columns = lists(after_guid(lines), 4)  # owner history, name, description, the one
    if columns is not None:
        heads, counts, members = columns
        yield from zip(heads[:, 3].repeat(counts).tolist(), members.tolist(), strict=True)
        return
    for one, many in _one_to_many(text, name):
        yield from ((one, part) for part in many)


def _add(held: dict[Ref, Refs], keys: list[Ref], more: Refs, wanted: Container[Ref]) -> None:
    """Add to what is held for each wanted key; keys alike share one tuple."""
    for key in keys:
        if key in wanted and more:
            before = held.get(key)
            held[key] = more if before is None else before + more


def _property_sets(text: TextIndex, of_interest: set[Ref], found: Relations) -> None:
    for name in PROPERTY_RELATIONS:
        for line in text.of_class(name)[1]:
            if line.endswith(b")"):  # a set of them: (#1,#2),IFCPROPERTYSETDEFINITIONSET((#3,#4))
                *_, related, definitions = arguments(line)
                sets = numbers(definitions[definitions.rindex(b"(") + 1 :].rstrip(b")"))
                _add(found.property_sets, numbers(related[1:-1]), tuple(sets), of_interest)
                continue
            related_refs, rest = _list_and_rest(line)
            if definition := number(rest[0]):
                _add(found.property_sets, related_refs, (definition,), of_interest)


def _ports(text: TextIndex, ports: set[Ref], wanted: set[Ref], found: Relations) -> None:
    for line in text.of_class(b"IFCRELCONNECTSPORTTOELEMENT")[1]:
        port, element = map(number, line.rsplit(b",", 2)[1:])
        if element in wanted and port in ports:
            _own(port, element, found)
    for element, part in _pairs(text, b"IFCRELNESTS"):
        if part in ports and element in wanted:
            _own(part, element, found)


def _own(port: Ref, element: Ref, found: Relations) -> None:
    if port not in found.port_owner:
        found.port_owner[port] = element
        found.ports.setdefault(element, []).append(port)


def _wholes(text: TextIndex, ports: set[Ref], wanted: set[Ref], found: Relations) -> None:
    for whole, parts in _one_to_many(text, b"IFCRELAGGREGATES"):
        for part in parts:
            found.whole.setdefault(part, whole)
            if part in ports and whole in wanted:
                _own(part, whole, found)
