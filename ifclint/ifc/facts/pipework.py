"""Elements of a class that tells nothing, of which the file says otherwise that they are pipework.

Members of a plumbing system, what is classified as one or lies on a layer named for one, and what
has ports of pipe or a property set of pipes or fittings: their words count as those of pipework do,
in whatever class they were exported.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

import numpy as np

from ifclint.ifc.elements import Role, System
from ifclint.ifc.facts.classifications import classifications_of
from ifclint.ifc.facts.layers import layers_of
from ifclint.ifc.facts.systems import SystemReader
from ifclint.ifc.step.arrays import Ints
from ifclint.ifc.step.relations import (
    GROUPINGS,
    PROPERTY_RELATIONS,
    Refs,
    add_sets,
    members_of,
    ports_of,
)
from ifclint.ifc.step.spf import class_and_arguments, number
from ifclint.ifc.step.text_index import Ref, TextIndex

NO_PLUMBING = frozenset({None, System.HEATING, System.FIRE, System.OTHER})
SETS = {  # beginnings of the names of property sets, and what they are of
    b"Pset_PipeSegment": Role.PIPE,
    b"Pset_FlowSegmentPipeSegment": Role.PIPE,
    b"Pset_PipeFitting": Role.FITTING,
}
SHAPE = 6  # which argument of an element
_OF_PIPE = re.compile(rb"'(" + b"|".join(SETS) + rb")\w*'")


def pipework(text: TextIndex, wanted: Ints, systems: SystemReader) -> dict[Ref, Role | None]:
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
    return found | _by_sets(text, asked)


def _is_plumbing(groups: Refs, systems: SystemReader) -> bool:
    told = any(s not in NO_PLUMBING for s, _, _ in systems.groups(groups))
    return told or any(map(systems.is_of_several, groups))


def _shapes(text: TextIndex, elements: Iterable[Ref]) -> Iterator[tuple[Ref, Ref]]:
    """The elements that have a shape, each with it."""
    for ref in elements:
        _, written = class_and_arguments(text.get(ref))
        if len(written) > SHAPE and (shape := number(written[SHAPE])):
            yield ref, shape


def _by_sets(text: TextIndex, asked: set[Ref]) -> dict[Ref, Role | None]:
    if not any(text.says(name) for name in SETS):
        return {}
    numbers, lines = text.of_class(b"IFCPROPERTYSET")
    told = {
        ref: SETS[match[1]]
        for ref, line in zip(np.asarray(numbers).tolist(), lines, strict=True)
        if (match := _OF_PIPE.search(line))
    }
    held: dict[Ref, Refs] = {}
    for name in PROPERTY_RELATIONS:
        add_sets(text, name, asked, held)
    roles = ((ref, [told[s] for s in sets if s in told]) for ref, sets in held.items())
    return {ref: of[0] for ref, of in roles if of}
