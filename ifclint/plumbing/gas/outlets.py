"""Capped outlets: where gas piping ends at a cap, for an appliance that is not drawn."""

from __future__ import annotations

from collections.abc import Collection
from itertools import takewhile

from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.joined import NONE, onward
from ifclint.engineering.tolerance import at_most
from ifclint.ifc.elements import Role
from ifclint.plumbing.gas.gas_tree import GasTree
from ifclint.plumbing.gas.loose_ends import is_service_or_vent
from ifclint.plumbing.gas.sediment_traps import hanging_m

NIPPLE_M = 0.6  # a straight nipple no longer than this to its cap catches dirt. Ours, no source
OF_A_NIPPLE = frozenset({"", "coupling", "cap"})  # kinds of its parts


def find_outlets(tree: GasTree, loaded: Collection[str]) -> None:
    """The caps at the end of pipe of their own, and those that the job file gives a load.

    The cap of a nipple that catches dirt is none; but where what the nipple is joined to leads
    nowhere else, it is the end of its line: the nipple that hangs last.
    """
    caps = [i for i in tree.made.order if tree.elements[i].kind == "cap" and not tree.down[i]]
    ends = {i: _own(tree, i) for i in caps if not is_service_or_vent(tree, i)}
    piped = [i for i, own in ends.items() if any(tree.elements[j].role is Role.PIPE for j in own)]
    nipples = [i for i in piped if _is_nipple(tree, ends[i])]
    named = {i for i in caps if tree.elements[i].guid in loaded}
    tree.lead_to(sorted(named.union(piped).difference(set(nipples) - named)))
    hanging = {i for i in nipples if _hangs(tree, ends[i])}
    for some in (set(nipples) - hanging, hanging):
        more = [i for i in some if not tree.feeds[tree.made.up[ends[i][-1]]]]
        tree.lead_to(sorted({*tree.outlets, *more}))


def _own(tree: GasTree, cap: int) -> list[int]:
    """The elements from a cap back to what it branches from."""
    return [*takewhile(lambda i: len(tree.down[i]) < 2, onward(cap, tree.made.up))]


def _is_nipple(tree: GasTree, own: list[int]) -> bool:
    """Whether a cap closes a short straight nipple on something that leads on."""
    if tree.made.up[own[-1]] == NONE:
        return False
    elements = [tree.elements[i] for i in own]
    length_m = sum(or_zero(e.length_m) for e in elements if e.role is Role.PIPE)
    return all(e.kind in OF_A_NIPPLE for e in elements) and at_most(length_m, NIPPLE_M, "m")


def _hangs(tree: GasTree, own: list[int]) -> bool:
    return hanging_m(tree, tree.made.up[own[-1]], own[-1]) is not None
