"""Trap primers and their lines, and the marks of floor drains that they are named for."""

import re

from ifclint.ifc.elements import Element, Role
from ifclint.network import Network
from ifclint.plumbing.words import says

PRIMERS = ("trap primer*", "trap seal primer*", "primer*")
LINE = frozenset({Role.PIPE, Role.FITTING})
SIZES = frozenset({"DN", "NW", "NPS", "SCH", "PN"})  # what a number follows that is no mark
_MARK = re.compile(r"(?<![^\W_])([A-Z]{1,4})[-. ]?(\d{1,4}[A-Z]?)(?![^\W_])")  # such as FD-1


def is_primer(element: Element) -> bool:
    """A trap primer or its line: not the drain or the trap that is named with a connection."""
    return element.role not in (Role.FIXTURE, Role.TRAP) and says(element, PRIMERS)


def marks(element: Element) -> set[tuple[str, str]]:
    """The marks in a name, as a primer bears that of its drain: "trap primer line FD-1"."""
    return {mark for mark in _MARK.findall(element.name) if mark[0] not in SIZES}


def ends_of_lines(network: Network) -> frozenset[int]:
    """Where the lines of trap primers end, or branch: the first beyond pipe and fittings that two
    ends are joined of, either way from a primer."""
    found = set[int]()
    for primer, element in enumerate(network.elements):
        if not is_primer(element) or element.role in LINE:
            continue
        for first in network.neighbours(primer):
            before, at = primer, first
            seen = {primer}
            while at not in seen and network.elements[at].role in LINE:
                seen.add(at)
                onward = [i for i in network.neighbours(at) if i != before]
                if len(onward) != 1:
                    break
                before, at = at, onward[0]
            found.add(at)
    return frozenset(found)
