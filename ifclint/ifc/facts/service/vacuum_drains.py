"""Drains under vacuum, told by what draws on them."""

from __future__ import annotations

from ifclint.engineering.joined import by_steps
from ifclint.ifc.elements import Basis, Confidence, Element, Joint, System, joined_to
from ifclint.ifc.facts.service.systems_by_ends import infer, is_unstated

BY_VACUUM = Basis("the vacuum it is joined to", Confidence.INFERRED)
VACUUM_PUMP = "vacuum-pump"


def tell_vacuum(elements: list[Element], joints: list[Joint]) -> None:
    """Make no drain of piping of no known service that leads from an end named vacuum or from a
    vacuum pump, up to what is no piping."""
    if not _is_drawn(elements):
        return
    beside = joined_to(joints)
    ends = (
        (a, a_end, b) for j in joints for a, a_end, b in ((j.a, j.a_end, j.b), (j.b, j.b_end, j.a))
    )
    drawn_on = {b for a, a_end, b in ends if _is_of_vacuum(elements[a], a_end)}
    starts = (i for i in drawn_on if is_unstated(elements[i]))
    drains = by_steps(starts, lambda i: (n for n in beside[i] if is_unstated(elements[n])))
    infer(elements, dict.fromkeys(drains, System.OTHER), BY_VACUUM)


def _is_drawn(elements: list[Element]) -> bool:
    """Whether there is any vacuum."""
    names = {end.name for element in elements for end in element.ends}
    return any(map(_is_vacuum, names)) or any(e.kind == VACUUM_PUMP for e in elements)


def _is_of_vacuum(element: Element, end: int) -> bool:
    return element.kind == VACUUM_PUMP or _is_vacuum(element.ends[end].name)


def _is_vacuum(name: str) -> bool:
    return name.lower() == "vacuum"
