"""Where the piping that a rule follows is lost: what it lacks may stand where the drawing does not
tell, so nothing is found wrong there."""

from __future__ import annotations

from collections.abc import Iterable

from ifclint.findings import Answer, Outcome
from ifclint.ifc.elements import Element, Role, System
from ifclint.known import not_known
from ifclint.network import Near
from ifclint.plumbing.context import Context, derived
from ifclint.plumbing.facts import JOIN_ENDS, Fact, fact

IN_LINE = 2  # joints of what does not branch
RUNS = Fact("{} Where {}{} run is not known: it may go on there.", fact("orientation").remedy)
GAP = Fact(
    "{} {} ends open {} from {}, which it points to: a joint may be missing.",
    JOIN_ENDS,
)


def where_lost(
    answer: Answer, element_ids: Iterable[str], services: frozenset[System], context: Context
) -> Answer:
    """What a rule that follows these services found wrong, as a question where pipe of them is
    drawn that nobody knows the place of, or where an element it is about ends at a gap."""
    if answer.outcome is not Outcome.VIOLATION or not services:
        return answer
    if unread := _unplaced(context, services):
        more = f" and {len(unread) - 1} more" if len(unread) > 1 else ""
        ids = (*(answer.elements or element_ids), *(pipe.guid for pipe in unread))
        return not_known(RUNS, answer.message, unread[0].label, more, elements=ids,
                         about=answer.about, steps=answer.steps)  # fmt: skip
    named = {*element_ids, *answer.elements}
    gap = _gap_at(context, frozenset(named), services)
    if gap is None:
        return answer
    elements = context.plumbing.network.elements
    one, other = elements[gap.a[0]], elements[gap.b[0]]
    ids = (one.guid, other.guid, *(answer.elements or element_ids))
    return not_known(GAP, answer.message, one.label, gap.apart, other.label, elements=ids,
                     about=answer.about, steps=answer.steps)  # fmt: skip


def _is_of(element: Element, services: frozenset[System]) -> bool:
    return element.system is None or element.system in services


@derived
def _unplaced(context: Context, services: frozenset[System]) -> list[Element]:
    """Pipes of which neither shape nor ports tell where they run, nor what they are joined to."""
    network = context.plumbing.network
    return [
        e
        for i, e in enumerate(network.elements)
        if e.role is Role.PIPE
        and _is_of(e, services)
        and not network.joined[i]
        and not any(end.position is not None for end in e.ends)
    ]


@derived
def _gap_at(context: Context, named: frozenset[str], services: frozenset[System]) -> Near | None:
    """The first gap at some elements, or along a line from them that does not branch before it,
    seen from there."""
    network = context.plumbing.network
    if not network.near_ends:
        return None
    around = {i for guid in named for i in network.of_guid.get(guid, ())}
    waiting = sorted(around)
    while waiting:
        for other in network.neighbours(waiting.pop()):
            if other not in around and _is_of(network.elements[other], services):
                around.add(other)
                waiting += [other] if len(network.joined[other]) <= IN_LINE else []
    for near in network.near_ends:
        for gap in (near, Near(near.b, near.a, near.apart_m)):
            ends = (network.elements[i] for i, _ in (gap.a, gap.b))
            if gap.a[0] in around and all(_is_of(e, services) for e in ends):
                return gap
    return None
