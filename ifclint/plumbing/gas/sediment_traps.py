"""The sediment trap before an appliance: a nipple that hangs from a tee, with its cap."""

from __future__ import annotations

from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_most, lies_above
from ifclint.ifc.elements import Element, Point, Role
from ifclint.plumbing.gas.gas_piping import CAPS, GasTree, middle_of

PLUMB_M = 0.02  # a nipple leans less than this


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
