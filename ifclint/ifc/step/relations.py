"""The relationships of a file, each class walked once and kept only for what is asked about."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from ifclint.ifc.step.arrays import Ints
from ifclint.ifc.step.columns import lists, reference_before, references, rows_of
from ifclint.ifc.step.spf import arguments, number, numbers
from ifclint.ifc.step.text_index import Ref, TextIndex

CONTAINERS = (b"IFCRELCONTAINEDINSPATIALSTRUCTURE", b"IFCRELREFERENCEDINSPATIALSTRUCTURE")
GROUPINGS = (b"IFCRELASSIGNSTOGROUP", b"IFCRELASSIGNSTOGROUPBYFACTOR")
PROPERTY_RELATIONS = (b"IFCRELDEFINESBYPROPERTIES", b"IFCRELOVERRIDESPROPERTIES")
Refs = tuple[Ref, ...]


@dataclass
class Relations:
    """What is related to the elements asked about, by the element's reference.

    `ports` is an array of (element, port), each port once, in the order the file relates them.
    """

    ports: Ints
    property_sets: dict[Ref, Refs] = field(default_factory=dict)
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


def relations(text: TextIndex, wanted: Ints, described: list[Ref]) -> Relations:
    """Everything related to the elements wanted (an array of ascending numbers) and to their
    ports; of those `described` only the property sets and the like."""
    whole = dict(_parts_and_wholes(text))
    found = Relations(_ports(text, wanted, whole), whole=whole)
    of_interest = set(wanted.tolist()).union(found.ports[:, 1].tolist(), described)
    _property_sets(text, of_interest, found)
    found.material = _first_of_each(text, b"IFCRELASSOCIATESMATERIAL")
    for name in GROUPINGS:
        for group, members in members_of(text, name):
            _add(found.groups, members, (group,), of_interest)
    for name in reversed(CONTAINERS):
        found.container.update(_first_of_each(text, name))
    return found


def members_of(text: TextIndex, name: bytes) -> Iterator[tuple[Ref, list[Ref]]]:
    """Each group of a relation of groups, with its members."""
    for members, rest in _lists(text, name):
        if group := number(rest[1]) if len(rest) > 1 else 0:
            yield group, members


def classified(text: TextIndex) -> Iterator[tuple[Ref, list[Ref]]]:
    """Each classification that objects are related to, with these."""
    for related, classification in _many_to_one(text, b"IFCRELASSOCIATESCLASSIFICATION"):
        if classification:
            yield classification, related


def ports_of(text: TextIndex, wanted: Ints) -> Ints:
    """Elements and their ports (n, 2), of an array of ascending element numbers."""
    return _ports(text, wanted, dict(_parts_and_wholes(text)))


def _first_of_each(text: TextIndex, name: bytes) -> dict[Ref, Ref]:
    """What each related object was first related to."""
    found: dict[Ref, Ref] = {}
    for related, one in reversed(list(_many_to_one(text, name))):
        found.update(dict.fromkeys(related, one))
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


def _one_and_many(line: bytes) -> tuple[Ref, list[Ref]]:
    """The one, and the list of the many that an instance ends with."""
    start = line.rfind(b"(")
    one = line[: max(0, start)].rstrip(b" ,").rpartition(b",")[2]
    return number(one), numbers(line[start + 1 : -1]) if start >= 0 else []


def _add(held: dict[Ref, Refs], keys: list[Ref], more: Refs, wanted: set[Ref]) -> None:
    """Add to what is held for each wanted key; keys alike share one tuple."""
    if not more:
        return
    concerned = wanted.intersection(keys)
    before = {key: held[key] for key in concerned & held.keys()} if held else {}
    held.update(dict.fromkeys(concerned, more))
    for key, first in before.items():
        held[key] = first + more


def _property_sets(text: TextIndex, of_interest: set[Ref], found: Relations) -> None:
    """Which property sets each element of interest has."""
    for name in PROPERTY_RELATIONS:
        add_sets(text, name, of_interest, found.property_sets)


def add_sets(text: TextIndex, name: bytes, of_interest: set[Ref], held: dict[Ref, Refs]) -> None:
    """Add the property sets that relations of one class give to elements of interest."""
    interest = np.array(sorted(of_interest), dtype=np.int64)
    rows = text.rows(name)
    sets, before, plain = reference_before(text, text.ends[rows] - 2)
    related = lists(text, before - 1)
    short = related.well & plain & (sets > 0)
    members, sets = related.members, sets.repeat(related.counts)
    here = short.repeat(related.counts) & (rows_of(interest, members) >= 0)
    _gather(members[here], sets[here], held)
    for line in text.arguments(rows[~short]):
        _long_or_unusual(line, of_interest, held)


def _gather(members: Ints, sets: Ints, held: dict[Ref, Refs]) -> None:
    """Add the sets of each member; members alike share one tuple."""
    order = np.argsort(members, kind="stable")
    members, sets = members[order], sets[order].tolist()
    firsts = np.flatnonzero(np.diff(members, prepend=-1))
    bounds = pairwise([*firsts.tolist(), len(members)])
    shared: dict[Refs, Refs] = {}
    for member, (a, b) in zip(members[firsts].tolist(), bounds, strict=True):
        mine = tuple(sets[a:b])
        mine = held[member] + mine if member in held else mine
        held[member] = shared.setdefault(mine, mine)


def _long_or_unusual(line: bytes, of_interest: set[Ref], held: dict[Ref, Refs]) -> None:
    """One relation of many elements, or of a set of sets: IFCPROPERTYSETDEFINITIONSET((#3,#4))."""
    if line.endswith(b")"):
        *_, related, definitions = arguments(line)
        sets = numbers(definitions[definitions.rindex(b"(") + 1 :].rstrip(b")"))
        _add(held, numbers(related[1:-1]), tuple(sets), of_interest)
        return
    members, rest = _list_and_rest(line)
    if definition := number(rest[0]):
        _add(held, members, (definition,), of_interest)


def _parts_and_wholes(text: TextIndex) -> list[tuple[Ref, Ref]]:
    """Each part and the whole it was first aggregated to."""
    lines = text.of_class(b"IFCRELAGGREGATES")[1]
    relations = [_one_and_many(line) for line in reversed(lines)]
    return [(part, whole) for whole, parts in relations for part in parts]


def owners_of(text: TextIndex, ports: Ints) -> dict[Ref, Ref]:
    """The element of each port that has one, of an array of ports."""
    pairs = np.concatenate([_connected_ports(text), _nested(text)])
    pairs = pairs[np.isin(pairs[:, 1], ports)][::-1]  # the first that is met goes before
    return dict(zip(pairs[:, 1].tolist(), pairs[:, 0].tolist(), strict=True))


def linked_ports(text: TextIndex) -> Ints:
    """Two ports and what realises their connection (n, 3), of every IfcRelConnectsPorts."""
    rows = text.rows(b"IFCRELCONNECTSPORTS")
    found, _, well = references(text, text.ends[rows] - 2, 3)
    unusual = text.arguments(rows[~well])
    found[~well] = np.array(
        [[number(r) for r in line.rsplit(b",", 3)[1:]] for line in unusual], dtype=np.int64
    ).reshape(-1, 3)
    return found


def _ports(text: TextIndex, wanted: Ints, whole: dict[Ref, Ref]) -> Ints:
    """Elements and their ports (n, 2): aggregated, connected or nested, whichever is met first."""
    ports = text.numbers(text.rows(b"IFCDISTRIBUTIONPORT"))
    parts = set(ports.tolist()).intersection(whole) if whole else ()
    aggregated = [(whole[part], part) for part in sorted(parts)]
    pairs = np.concatenate(
        [np.array(aggregated, dtype=np.int64).reshape(-1, 2), _connected_ports(text), _nested(text)]
    )
    is_port = text.rows_of(pairs[:, 1], b"IFCDISTRIBUTIONPORT") >= 0
    pairs = pairs[is_port & (rows_of(wanted, pairs[:, 0]) >= 0)]
    _, first = np.unique(pairs[:, 1], return_index=True)
    return pairs[np.sort(first)]


def _connected_ports(text: TextIndex) -> Ints:
    """Elements and ports (n, 2) of the IfcRelConnectsPortToElements."""
    rows = text.rows(b"IFCRELCONNECTSPORTTOELEMENT")
    found, _, well = references(text, text.ends[rows] - 2, 2)
    unusual = text.arguments(rows[~well])
    found[~well] = np.array(
        [[number(r) for r in line.rsplit(b",", 2)[1:]] for line in unusual], dtype=np.int64
    ).reshape(-1, 2)
    return found[:, ::-1]


def _nested(text: TextIndex) -> Ints:
    """Wholes and parts (n, 2) of the IfcRelNests."""
    rows = text.rows(b"IFCRELNESTS")
    held = lists(text, text.ends[rows] - 2)
    wholes, _, plain = reference_before(text, held.before)
    well = held.well & plain
    plainly = np.stack([wholes.repeat(held.counts), held.members], axis=1)
    plainly = plainly[well.repeat(held.counts)]
    unusual = map(_one_and_many, text.arguments(rows[~well]))
    others = [(one, part) for one, parts in unusual for part in parts]
    return np.concatenate([plainly, np.array(others, dtype=np.int64).reshape(-1, 2)])
