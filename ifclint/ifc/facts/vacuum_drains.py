"""Drains under vacuum, told by what draws on them."""

from __future__ import annotations

from ifclint.ifc.elements import Basis, Confidence, Element, Joint, System, joined_to
from ifclint.ifc.facts.systems_by_ends import infer, is_unstated

BY_VACUUM = Basis("the vacuum it is joined to", Confidence.INFERRED)
VACUUM_PUMP = "vacuum-pump"


def tell_vacuum(elements: list[Element], joints: list[Joint]) -> None:
    """Make no drain of piping of no known service that leads from an end named vacuum or from a
    vacuum pump, up to what is no piping."""
    beside = joined_to(joints) if any(map(_draws_vacuum, elements)) else {}
    ends = (
        (a, a_end, b) for j in joints for a, a_end, b in ((j.a, j.a_end, j.b), (j.b, j.b_end, j.a))
    )
    waiting = [b for a, a_end, b in ends if beside and _is_of_vacuum(elements[a], a_end)]
    while waiting:
        i = waiting.pop()
        if is_unstated(elements[i]):
            infer(elements, {i: System.OTHER}, BY_VACUUM)
            waiting += beside[i]


def _draws_vacuum(element: Element) -> bool:
    return any(_is_of_vacuum(element, n) for n in range(len(element.ends)))


def _is_of_vacuum(element: Element, end: int) -> bool:
    return element.kind == VACUUM_PUMP or element.ends[end].name.lower() == "vacuum"
