"""Where the piping that a rule follows is lost: what it lacks may stand where the drawing does not
tell, so nothing is found wrong there."""

from collections.abc import Iterable
from math import dist

from ifclint.engineering.joined import by_steps
from ifclint.findings import Answer, Outcome
from ifclint.ifc.elements import Element, Point, Role, System
from ifclint.known import not_known
from ifclint.network import Near
from ifclint.plumbing.context import Context, derived
from ifclint.plumbing.facts import JOIN_ENDS, Fact, fact

PARTS = frozenset({Role.FITTING, Role.TRAP, Role.VALVE, Role.CLEANOUT, Role.METER})
BESIDE_M = 0.30  # from an open end to the middle of a part that may belong there. Ours, no source
IN_LINE = 2  # joints of what does not branch
RUNS = Fact("{} Where {}{} run is not known: it may go on there.", fact("orientation").remedy)
GAP = Fact("{} {} ends open {} from {}, which it points to: a joint may be missing.", JOIN_ENDS)
PART = Fact(
    "{} {} ends open beside {}, of which no joint to it is drawn.",
    "Join the part to its pipes (ports, or ends that meet it).",
)

IN_PIECES = Fact(
    "{} The drawing is in pieces: {} ends of pipe are joined to nothing, and {} are joined. What "
    "leads on may be in another file.",
    "Review together with the file that has the fittings, or join the ends (ports, ends that meet, "
    "or reading.joining_tolerance in the job file).",
    asked_once=True,
)
FEWEST_ENDS = 10  # joined to nothing, by which a drawing is in pieces. Ours, no source


def where_lost(
    answer: Answer, element_ids: Iterable[str], services: frozenset[System], context: Context
) -> Answer:
    """What a rule that follows these services found wrong, as a question where pipe of them is
    drawn that nobody knows the place of, or where an element it is about ends at a gap."""
    if answer.outcome is not Outcome.VIOLATION or not services:
        return answer
    named = frozenset({*element_ids, *answer.elements})
    if counted := _in_pieces(context, services):
        open_ends = {i for i, _ in _open_ends(context, services)}
        if not open_ends.isdisjoint(_along(context, named, services)):
            ids = answer.elements or tuple(element_ids)
            return not_known(IN_PIECES, answer.message, *map(str, counted), elements=ids,
                             about=answer.about, steps=answer.steps)  # fmt: skip
    if unread := _unplaced(context, services):
        more = f" and {len(unread) - 1} more" if len(unread) > 1 else ""
        ids = (*(answer.elements or element_ids), *(pipe.guid for pipe in unread))
        return not_known(RUNS, answer.message, unread[0].label, more, elements=ids,
                         about=answer.about, steps=answer.steps)  # fmt: skip
    gap = _gap_at(context, named, services)
    if gap is None:
        return _by_a_part(answer, element_ids, named, services, context)
    elements = context.plumbing.network.elements
    one, other = elements[gap.a[0]], elements[gap.b[0]]
    ids = (one.guid, other.guid, *(answer.elements or element_ids))
    return not_known(GAP, answer.message, one.label, gap.apart, other.label, elements=ids,
                     about=answer.about, steps=answer.steps)  # fmt: skip


def _by_a_part(
    answer: Answer,
    element_ids: Iterable[str],
    named: frozenset[str],
    services: frozenset[System],
    context: Context,
) -> Answer:
    """As a question where a line followed ends open beside a part that is joined to nothing."""
    network = context.plumbing.network
    parts = _half_joined(context, services)
    around = _along(context, named, services) if parts else ()
    opened = _open_ends(context, services) if parts else ()
    for i, place in opened:
        for k in parts:
            part = network.elements[k]
            if (i in around) == (k in around) or part.position is None:
                continue  # neither is followed, or both are joined already
            if dist(place, part.position) <= BESIDE_M:
                one = network.elements[i]
                ids = (one.guid, part.guid, *(answer.elements or element_ids))
                return not_known(PART, answer.message, one.label, part.label, elements=ids,
                                 about=answer.about, steps=answer.steps)  # fmt: skip
    return answer


@derived
def _open_ends(context: Context, services: frozenset[System]) -> list[tuple[int, Point]]:
    """The open ends of pipes of some services, by element and place."""
    network = context.plumbing.network
    return [
        (i, end.position)
        for i, e in enumerate(network.elements)
        if e.role is Role.PIPE and _is_of(e, services)
        for end in network.open_ends(i)
        if end.position is not None
    ]


@derived
def _in_pieces(context: Context, services: frozenset[System]) -> tuple[int, int] | None:
    """How many ends of the pipes of some services are joined to nothing, and how many are joined;
    None where these are as many, or those few."""
    network = context.plumbing.network
    pipes = [
        i
        for i, e in enumerate(network.elements)
        if e.role is Role.PIPE and _is_of(e, services) and e.ends
    ]
    drawn = sum(len(network.elements[i].ends) for i in pipes)
    unmet = sum(len(network.open_ends(i)) for i in pipes)
    return (unmet, drawn - unmet) if unmet >= FEWEST_ENDS and 2 * unmet > drawn else None


@derived
def _half_joined(context: Context, services: frozenset[System]) -> list[int]:
    """The fittings, traps, valves ... of some services that are joined to nothing, and the traps
    that only one side is joined of."""
    network = context.plumbing.network
    return [
        i
        for i, e in enumerate(network.elements)
        if e.role in PARTS
        and _is_of(e, services)
        and len(network.joined[i]) < (IN_LINE if e.role is Role.TRAP else 1)
    ]


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
    """The first gap at some elements, or along a line from them, seen from there."""
    network = context.plumbing.network
    if not network.near_ends:
        return None
    around = _along(context, named, services)
    for near in network.near_ends:
        for gap in (near, Near(near.b, near.a, near.apart_m)):
            ends = (network.elements[i] for i, _ in (gap.a, gap.b))
            if gap.a[0] in around and all(_is_of(e, services) for e in ends):
                return gap
    return None


@derived
def _along(context: Context, named: frozenset[str], services: frozenset[System]) -> frozenset[int]:
    """Some elements, and what a line from each leads past until it branches."""
    network = context.plumbing.network
    starts = {i for guid in named for i in network.of_guid.get(guid, ())}

    def onward(index: int) -> list[int]:
        if index not in starts and len(network.joined[index]) > IN_LINE:
            return []
        return [i for i in network.neighbours(index) if _is_of(network.elements[i], services)]

    return frozenset(by_steps(sorted(starts), onward))
