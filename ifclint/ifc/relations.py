"""The relationships of a file, each class walked once and kept only for what is asked about."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import Any

from ifclint.ifc.entities import ref
from ifclint.ifc.spf import Instances, Ref, fields


@dataclass
class Relations:
    """What is related to the elements asked about, by the element's reference."""

    property_sets: dict[Ref, list[Ref]] = field(default_factory=lambda: defaultdict(list))
    ports: dict[Ref, list[Ref]] = field(default_factory=lambda: defaultdict(list))
    port_owner: dict[Ref, Ref] = field(default_factory=dict)
    material: dict[Ref, Any] = field(default_factory=dict)
    groups: dict[Ref, list[Any]] = field(default_factory=lambda: defaultdict(list))
    container: dict[Ref, Any] = field(default_factory=dict)
    whole: dict[Ref, Any] = field(default_factory=dict)


def types_by_occurrence(ifc: Any) -> dict[int, Any]:
    """The type of every occurrence that has one, by instance id."""
    found: dict[int, Any] = {}
    for relation in ifc.by_type("IfcRelDefinesByType"):
        kind = relation[5]
        if kind is not None:
            for occurrence in relation[4] or ():
                found[occurrence.id()] = kind
    return found


def relations(ifc: Any, text: dict[str, Instances], wanted: set[Ref]) -> Relations:
    """Everything related to the elements whose references are wanted, and to their ports."""
    found = Relations()
    _wholes(ifc, text["port"], wanted, found)
    _ports(text, wanted, found)
    of_interest = wanted | found.port_owner.keys()
    _property_sets(text["property relation"], of_interest, found)
    _materials(ifc, wanted, found)
    _groups(ifc, of_interest, found)
    for name in ("IfcRelContainedInSpatialStructure", "IfcRelReferencedInSpatialStructure"):
        for relation in ifc.by_type(name):
            for related in relation[4] or ():
                found.container.setdefault(ref(related), relation[5])
    return found


def list_and_rest(text: bytes) -> tuple[list[Ref], bytes]:
    """The references of the last list among an instance's arguments, and what follows it."""
    start = text.rindex(b"(")
    end = text.index(b")", start)
    return [r.strip() for r in text[start + 1 : end].split(b",")], text[end + 1 : -1].strip(
        b" \r\n\t,)"
    )


def _property_sets(lines: Instances, of_interest: set[Ref], found: Relations) -> None:
    for text in lines.values():
        related, definition = list_and_rest(text)
        if definition[:1] != b"#":  # a set of definitions: IFCPROPERTYSETDEFINITIONSET((#1,#2))
            *_, related_list, definition_list = fields(text)
            related = fields(related_list)
            definitions = list_and_rest(definition_list)[0]
        else:
            definitions = [definition.partition(b",")[0]]
        for r in related:
            if r in of_interest:
                found.property_sets[r] += definitions


def _ports(text: dict[str, Instances], wanted: set[Ref], found: Relations) -> None:
    ports = text["port"]
    for line in text["port owner"].values():
        port, element = last_fields(line, 2)
        if element in wanted and port in ports:
            _own(port, element, found)
    for line in text["nesting"].values():
        start = line.rindex(b"(")
        element = line[:start].rstrip(b" ,\r\n\t").rpartition(b",")[2].strip()
        if element in wanted:
            for part in list_and_rest(line)[0]:
                if part in ports:
                    _own(part, element, found)


def last_fields(text: bytes, count: int) -> list[bytes]:
    """The last arguments of an instance, where none of them is a string or a list."""
    return [f.strip() for f in text[: text.rindex(b")")].rsplit(b",", count)[1:]]


def _own(port: Ref, element: Ref, found: Relations) -> None:
    if port not in found.port_owner:
        found.port_owner[port] = element
        found.ports[element].append(port)


def _wholes(ifc: Any, ports: Instances, wanted: set[Ref], found: Relations) -> None:
    for relation in ifc.by_type("IfcRelAggregates"):
        whole = relation[4]
        for part in relation[5] or ():
            key = ref(part)
            found.whole.setdefault(key, whole)
            if key in ports and ref(whole) in wanted:
                _own(key, ref(whole), found)


def _materials(ifc: Any, wanted: set[Ref], found: Relations) -> None:
    for relation in ifc.by_type("IfcRelAssociatesMaterial"):
        for related in relation[4] or ():
            key = ref(related)
            if key in wanted or related.is_a("IfcTypeObject"):
                found.material.setdefault(key, relation[5])


def _groups(ifc: Any, of_interest: set[Ref], found: Relations) -> None:
    for relation in ifc.by_type("IfcRelAssignsToGroup"):
        group = relation[6]
        if group is not None and group.is_a("IfcSystem"):
            for related in relation[4] or ():
                key = ref(related)
                if key in of_interest:
                    found.groups[key].append(group)
