"""Gas piping that ends capped for an appliance not drawn, open, or at what is not understood, what
is fed by no source, and the nipple that hangs from a tee before an appliance to catch dirt."""

from collections.abc import Collection
from itertools import pairwise, takewhile

from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.joined import NONE, onward
from ifclint.engineering.tolerance import at_most, lies_above
from ifclint.ifc.elements import Element, Point, Role
from ifclint.plumbing.gas.gas_piping import CAPS, GasTree, is_regulator, middle_of

NIPPLE_M = 0.6  # a straight nipple no longer than this to its cap catches dirt. Ours, no source
OF_A_NIPPLE = frozenset({"", "coupling", "cap"})  # kinds of its parts
CLOSED_BY_HAND = frozenset({Role.PIPE, Role.FITTING, Role.VALVE})  # their ends must be joined
STRANGERS = frozenset({Role.OTHER, Role.FIXTURE})  # what takes gas at an end, and is not understood
PLUMB_M = 0.02  # a nipple leans less than this


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


def sediment_trap(tree: GasTree, own: list[int]) -> tuple[Element, float] | tuple[None, None]:
    """The last tee from which a nipple hangs down to a cap, and the nipple's length."""
    for index in reversed(own):
        for side in tree.down[index]:
            nipple_m = None if tree.feeds[side] else hanging_m(tree, index, side)
            if nipple_m is not None:
                return tree.elements[index], nipple_m
    return None, None


def hanging_m(tree: GasTree, tee: int, side: int) -> float | None:
    """The length of pipe plumb down from a tee to a cap, or to what is called a sediment trap;
    None where there is no such."""
    index, length = side, 0.0
    while tree.elements[index].kind not in CAPS:
        element, down = tree.elements[index], tree.down[index]
        if len(down) != 1 or element.kind not in ("", "coupling"):
            return None
        length += or_zero(element.length_m) if element.role is Role.PIPE else 0.0
        index = down[0]
    bottom, top = middle_of(tree.elements[index]), _outlet(tree, tee, side)
    if bottom is None or top is None or lies_above(bottom[2], top[2]):
        return None
    leans = max(abs(bottom[0] - top[0]), abs(bottom[1] - top[1]))
    return length if at_most(leans, PLUMB_M, "m") else None


def _outlet(tree: GasTree, tee: int, side: int) -> Point | None:
    """Where an element leaves a tee."""
    place = tree.made.entry[side]
    return tree.made.places[place] if place != NONE else middle_of(tree.elements[tee])
