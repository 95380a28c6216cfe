"""Gas piping that ends at a fitting, valve or meter without being joined to it, or in something
that is not understood."""

import math
from collections.abc import Iterable

from ifclint.checks import Fact
from ifclint.engineering.joined import by_steps
from ifclint.ifc.elements import Element, Point, Role, System
from ifclint.packs import Context, derived

TOUCHES_M = 0.1  # from an open end to what it was meant for: no longer than a fitting
MEANT_FOR = frozenset({Role.FITTING, Role.METER, Role.REGULATOR, Role.VALVE})
ENDS_AT = Fact(
    "{} An end of {} lies at {}, to which it is not joined.",
    "Join the two by their ports, or draw the end up to it, nearer than the joining tolerance.",
)

ENDS_IN = Fact(
    '{} An end of {} lies in "{}", which is not understood.',
    "Give that its IFC class, or name it or its type in trade words.",
)


def near_miss(of: Iterable[str], context: Context) -> tuple[Element, Element] | None:
    """An element of the piping joined to some elements (by GlobalId) that has an open end, and the
    part of other gas piping at which that lies; None where there is none."""
    network = context.plumbing.network
    piece = _piece(of, context)
    opened = [
        (index, end.position)
        for index in sorted(piece)
        for number, end in enumerate(network.elements[index].ends)
        if end.position is not None and (index, number) not in network.taken_ends
    ]
    for other in _meant_for(context) if opened else ():
        for index, place in opened if other not in piece else ():
            if _away_m(network.elements[other], place) <= TOUCHES_M:
                return network.elements[index], network.elements[other]
    return None


def stranger(of: Iterable[str], context: Context) -> tuple[Element, str] | None:
    """An element of the piping joined to some elements (by GlobalId) that ends in something that is
    not understood, and the name of that; None where none does."""
    network = context.plumbing.network
    elements = (network.elements[index] for index in sorted(_piece(of, context)))
    names = network.model.leads_elsewhere
    return next(((e, names[e.guid]) for e in elements if e.guid in names), None)


def _piece(of: Iterable[str], context: Context) -> frozenset[int]:
    network = context.plumbing.network
    starts = {i for guid in of for i in network.of_guid.get(guid, ())}
    return frozenset(by_steps(starts, lambda i: _beside(i, context)))


@derived
def _meant_for(context: Context) -> list[int]:
    """The parts that an end of gas piping may be drawn for."""
    return [i for i, element in enumerate(context.plumbing.network.elements) if _is_meant(element)]


def _beside(index: int, context: Context) -> list[int]:
    """What is joined to a piece of gas piping, and is gas piping itself."""
    network = context.plumbing.network
    return [i for i in network.neighbours(index) if network.elements[i].system is System.GAS]


def _is_meant(element: Element) -> bool:
    return element.role in MEANT_FOR and element.system in (System.GAS, None)


def _away_m(element: Element, place: Point) -> float:
    """How far an element lies from a place, as far as its box or its ends tell."""
    if element.box is not None:
        spans = zip(place, *element.box, strict=True)
        return math.dist(place, [min(max(c, low), high) for c, low, high in spans])
    places = [element.position, *(end.position for end in element.ends)]
    return min((math.dist(place, p) for p in places if p is not None), default=math.inf)
