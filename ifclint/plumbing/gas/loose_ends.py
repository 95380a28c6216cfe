"""Gas piping that ends open, at what is not understood, or is fed by no source."""

from __future__ import annotations

from itertools import pairwise

from ifclint.ifc.elements import Element, Role
from ifclint.plumbing.gas.gas_piping import is_regulator
from ifclint.plumbing.gas.gas_tree import CAPS, GasTree

CLOSED_BY_HAND = frozenset({Role.PIPE, Role.FITTING, Role.VALVE})  # their ends must be joined
STRANGERS = frozenset({Role.OTHER, Role.FIXTURE})  # what takes gas at an end, and is not understood


def open_ends(tree: GasTree, piping: list[int]) -> list[Element]:
    """What is fed and has an end that is joined to nothing; a cap closes its pipe."""
    taken = tree.made.network.taken_ends
    return [
        tree.elements[i]
        for i in piping
        if tree.elements[i].role in CLOSED_BY_HAND
        and tree.elements[i].kind not in CAPS
        and not is_regulator(tree.elements[i])  # its vent is open
        and i not in tree.begin
        and tree.made.reached(i)
        and any((i, end) not in taken for end in range(len(tree.elements[i].ends)))
        and not is_service_or_vent(tree, i)
    ]


def unknown_takers(tree: GasTree, piping: list[int], opened: list[Element]) -> list[Element]:
    """What is fed and ends at what is neither gas piping nor known to burn gas."""
    network = tree.made.network
    elsewhere = [e for e in opened if e.guid in network.model.leads_elsewhere]
    last = [
        tree.elements[i]
        for i in piping
        if i not in tree.begin
        and tree.made.reached(i)
        and tree.elements[i].role not in STRANGERS
        and all(tree.elements[n].role in STRANGERS for n in tree.down[i])
        and any(tree.elements[n].role in STRANGERS for n in network.neighbours(i))
        and not is_service_or_vent(tree, i)
    ]
    return elsewhere + [e for e in last if e not in opened]


def ends_alone(tree: GasTree, index: int) -> bool:
    """Whether a line ends at what has one end only, and is no cap: its other is not drawn."""
    element, network = tree.elements[index], tree.made.network
    return (
        element.role in CLOSED_BY_HAND
        and element.kind not in CAPS
        and len(element.ends) == 1
        and index not in tree.begin
        and tree.made.reached(index)
        and len(network.neighbours(index)) == 1
        and not is_regulator(element)
        and not is_service_or_vent(tree, index)
    )


def is_service_or_vent(tree: GasTree, index: int) -> bool:
    """Whether an element lies before its source, or on the vent of a regulator.

    Both are sides that feed no appliance, where another side does.
    """
    path = tree.made.path(index)
    return any(
        not tree.feeds[side]
        and any(tree.feeds[other] for other in tree.down[start])
        and (start == path[0] or is_regulator(tree.elements[start]))
        for start, side in pairwise(path)
    )


def is_stray(tree: GasTree, index: int) -> bool:
    """Pipe that no source feeds, and that is not the service before one."""
    if not tree.begin or tree.elements[index].role is not Role.PIPE:
        return False
    return not tree.made.reached(index) and index not in tree.beside
