"""Elements of a class that tells nothing, of which the file says otherwise that they are pipework.

Members of a plumbing system, what is classified as one, lies on a layer or has a property named for
one, and what has ports of pipe or a property set of pipes, fittings, valves and the like: their
words count as those of pipework do, in whatever class they were exported.
"""

import re
from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Any

import numpy as np

from ifclint.ifc.elements import Note, Role, System
from ifclint.ifc.facts.classify import classes_read
from ifclint.ifc.facts.layers import layers_of
from ifclint.ifc.facts.property_names import PropertyNames
from ifclint.ifc.facts.service.containers import classifications_of
from ifclint.ifc.facts.service.system_reader import SystemReader
from ifclint.ifc.step.arrays import Ints
from ifclint.ifc.step.relations import (
    GROUPINGS,
    PROPERTY_RELATIONS,
    Refs,
    add_sets,
    members_of,
    ports_of,
)
from ifclint.ifc.step.spf import arguments, class_and_arguments, number, string
from ifclint.ifc.step.text import clean
from ifclint.ifc.step.text_index import Ref, TextIndex

NO_PLUMBING = frozenset({None, System.HEATING, System.FIRE, System.OTHER})
AIR_TOO = frozenset({System.VENT, System.RELIEF})  # which ducts of air are in as well, by name
READ_AS = {  # what a class of air stands for that is drawn in a system of pipe
    "IfcDuctSegment": "IfcPipeSegment",
    "IfcDuctFitting": "IfcPipeFitting",
    "IfcAirTerminal": "IfcStackTerminal",
}
PIPES = (b"IFCPIPESEGMENT", b"IFCPIPEFITTING")
ABOUT_PIPE = (
    "IfcFeatureElement", "IfcCovering", "IfcDistributionControlElement", "IfcVirtualElement",
)  # fmt: skip
SETS = {  # beginnings of the names of property sets, and what they are of
    b"Pset_PipeSegment": Role.PIPE,
    b"Pset_FlowSegmentPipeSegment": Role.PIPE,
    b"Pset_PipeFitting": Role.FITTING,
    b"Pset_Valve": Role.VALVE,
    b"Pset_FlowMeter": None,
    b"Pset_Pump": None,
    b"Pset_Tank": None,
    b"Pset_WasteTerminal": None,
    b"Pset_StackTerminal": None,
}
SHAPE = 6  # which argument of an element
SERVICE = "system_words"  # the fact that a property tells of the service
_REFERENCE = re.compile(rb"#\d+")
_OF_PIPE = re.compile(rb"'(" + b"|".join(SETS) + rb")\w*'")


def pipework(
    text: TextIndex, wanted: Ints, systems: SystemReader, names: PropertyNames
) -> dict[Ref, Role | None]:
    """Which of some elements (an array of ascending numbers) are pipework, and what their property
    sets are of, None where they have no such set."""
    asked = set(wanted.tolist())
    found: dict[Ref, Role | None] = {}
    for name in GROUPINGS:
        for group, members in members_of(text, name):
            here = asked.intersection(members)
            if here and _is_plumbing((group,), systems):
                found |= dict.fromkeys(here)
    named = layers_of(text, _shapes(text, asked), systems)
    named |= classifications_of(text, asked, systems)
    found |= {ref: None for ref, groups in named.items() if _is_plumbing(groups, systems)}
    for element, port in ports_of(text, wanted).tolist():
        if element not in found and b".PIPE." in (text.get(port) or b""):
            found[element] = None
    told = dict.fromkeys(_sets_of_service(text, systems, names))
    return found | _by_sets(text, asked, told)


def _is_plumbing(groups: Refs, systems: SystemReader) -> bool:
    told = any(s not in NO_PLUMBING for s, _, _ in systems.groups(groups))
    return told or any(map(systems.is_of_several, groups))


def _shapes(text: TextIndex, elements: Iterable[Ref]) -> Iterator[tuple[Ref, Ref]]:
    """The elements that have a shape, each with it."""
    for ref in elements:
        _, written = class_and_arguments(text.get(ref))
        if len(written) > SHAPE and (shape := number(written[SHAPE])):
            yield ref, shape


def _sets_of_service(text: TextIndex, systems: SystemReader, names: PropertyNames) -> Iterator[Ref]:
    """The property sets that name a service of plumbing: "System Type: Sanitary"."""

    def is_plumbing(line: bytes) -> bool:
        _, written = arguments(line)[2].split(b"(", 1)
        said = clean(string(written.rstrip(b")")))
        return (systems.words(said) or systems.mark(said)) not in NO_PLUMBING

    def is_of_service(name: bytes) -> bool:
        wanted = names.wanted(b"", name)
        return wanted is not None and wanted.fact == SERVICE

    numbers, lines = text.of_class(b"IFCPROPERTYSINGLEVALUE")
    called = [line[1 : line.find(b"'", 1)] for line in lines]
    of_service = set(filter(is_of_service, set(called)))
    asked = [row for row, name in enumerate(called) if name in of_service]
    named = {b"#%d" % numbers[row] for row in asked if is_plumbing(lines[row])}
    if named:
        numbers, lines = text.of_class(b"IFCPROPERTYSET")
        for ref, line in zip(numbers.tolist(), lines, strict=True):
            if not named.isdisjoint(_REFERENCE.findall(line)):
                yield ref


def _by_sets(
    text: TextIndex, asked: set[Ref], told: dict[Ref, Role | None]
) -> dict[Ref, Role | None]:
    """What elements are by the names of their property sets, or sets already told."""
    if any(text.says(name) for name in SETS):
        numbers, lines = text.of_class(b"IFCPROPERTYSET")
        told = told | {
            ref: SETS[match[1]]
            for ref, line in zip(np.asarray(numbers).tolist(), lines, strict=True)
            if (match := _OF_PIPE.search(line))
        }
    if not told:
        return {}
    held: dict[Ref, Refs] = {}
    for name in PROPERTY_RELATIONS:
        add_sets(text, name, asked, held)
    roles = ((ref, [told[s] for s in sets if s in told]) for ref, sets in held.items())
    return {ref: of[0] for ref, of in roles if of}


def _systems_of_pipe(text: TextIndex, systems: SystemReader) -> Iterator[tuple[System, list[Ref]]]:
    """The service and the members of each system of plumbing."""
    for name in GROUPINGS:
        for group, members in members_of(text, name):
            for service, _, _ in systems.groups((group,)):
                if service is not None and service not in NO_PLUMBING:
                    yield service, members


def ducts_in_pipe(text: TextIndex, ducts: list[Ref], systems: SystemReader) -> frozenset[Ref]:
    """Which of some ducts are in a system of plumbing: in one of vents, where that holds pipe, or
    drains and water are drawn as ducts too. A flue may be made of either."""
    asked, found, in_vents = set(ducts), set[Ref](), set[Ref]()
    for service, members in _systems_of_pipe(text, systems):
        here = asked.intersection(members)
        if here and service in AIR_TOO and not _holds_pipe(text, members):
            in_vents |= here
        elif service is not System.FLUE:
            found |= here
    return frozenset(found | in_vents if found else found)


def _holds_pipe(text: TextIndex, members: list[Ref]) -> bool:
    refs = np.array(members, dtype=np.int64)
    return any((text.rows_of(refs, name) >= 0).any() for name in PIPES)


def members_not_read(
    text: TextIndex, rare: Any, read: set[Ref], systems: SystemReader
) -> Iterator[Note]:
    """Elements of classes that are never read, in systems that hold plumbing, counted by class."""
    known = {name.upper().encode() for name in classes_read()}
    others: dict[Ref, bytes] = {}
    for _, members in _systems_of_pipe(text, systems):
        if not read.isdisjoint(members):
            for ref in set(members) - read:
                others[ref] = (text.get(ref) or b"").partition(b"(")[0].strip()
    counts = Counter(c for c in others.values() if c not in known)
    for ifc_class, count in sorted(counts.items()):
        if name := _name_of_element(rare, ifc_class.decode("latin-1")):
            what = f"{count} of class {name} are in systems of pipe"
            remedy = "Give them a class of plumbing, or take them out of the system."
            yield Note(f"{what}; they were not read.", remedy, "", "role")


def _name_of_element(rare: Any, written: str) -> str:
    """The name of a class of elements as the schema spells it; "" of what is none, or is about
    pipe only."""
    import ifcopenshell.ifcopenshell_wrapper as wrapper

    try:
        declared = wrapper.schema_by_name(rare.schema_identifier).declaration_by_name(written)
    except RuntimeError:
        return ""
    if not declared._is("IfcElement") or any(map(declared._is, ABOUT_PIPE)):
        return ""
    return str(declared.name())
