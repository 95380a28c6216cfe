"""The service of piping that only the connections tell which it is joined to: a heater's of hot
water, the outlet of a closet."""

from collections import defaultdict
from collections.abc import Iterable

from ifclint.engineering.joined import pieces
from ifclint.ifc.elements import Basis, Confidence, Element, End, Joint, Role, System, joined_to
from ifclint.ifc.facts.service.kinds_of_service import FED
from ifclint.ifc.facts.service.system_conflicts import OF_ONE_SERVICE
from ifclint.ifc.facts.service.systems import MIXES

BY_CONNECTIONS = Basis("the connections that it is joined to", Confidence.INFERRED)
LEADS_ON = OF_ONE_SERVICE | {Role.VALVE, Role.METER, Role.REGULATOR}
BODIES = frozenset({Role.FIXTURE, Role.APPLIANCE, Role.HEATER})
DRAINED = frozenset({  # kinds whose outlet leads into a drain and nowhere else
    "water-closet", "urinal", "bidet", "lavatory", "kitchen-sink", "laundry-sink", "mop-sink",
    "bathtub", "shower", "clothes-washer-appliance", "dishwasher-appliance",
})  # fmt: skip
Telling = dict[int, set[System]]  # piping, and what the connections say that it is joined to


def tell_by_connections(elements: list[Element], joints: list[Joint]) -> None:
    """Give each piece of piping of no known service, or of water that is not said to be cold or
    hot, what all connections say that it is joined to, where they say one thing.

    Piping in a named system that is not understood is given none.
    """
    said = _said(elements, joints)
    if not said:
        return
    beside = joined_to(joints)
    for unsided in (None, System.WATER):
        alike = [i for i, e in enumerate(elements) if e.system is unsided]
        members = [i for i in alike if _may_be_told(elements[i])]
        for piece in pieces(members, beside.__getitem__):
            at = set[System]().union(*(said.get(i, ()) for i in piece))
            around = {elements[n].system for i in piece for n in beside[i] if _pipes(elements[n])}
            if len(at) == 1 and (at <= FED or unsided is None) and not around & (FED - at):
                _settle(elements, piece, at.pop())


def _said(elements: list[Element], joints: list[Joint]) -> Telling:
    said: Telling = defaultdict(set)
    bodies = {i for i, e in enumerate(elements) if e.role in BODIES or e.kind in MIXES}
    for a, a_end, b, b_end, *_ in joints if bodies else ():
        for piping, body, end in ((a, b, b_end), (b, a, a_end)):
            if body in bodies:
                service = _service(elements[body], elements[body].ends[end])
                if service is not None and elements[piping].role in LEADS_ON:
                    said[piping].add(service)
    return said


def _service(body: Element, end: End) -> System | None:
    """What a connection tells of what is joined there."""
    if end.system is None and end.flow == "out" and body.kind in DRAINED:
        return System.SANITARY
    return end.system


def _may_be_told(element: Element) -> bool:
    """Whether an element leads on one service, which is not known, or of water but not which."""
    return _pipes(element) and (element.system is not None or not element.system_name)


def _pipes(element: Element) -> bool:
    return element.role in LEADS_ON and element.kind not in MIXES


def _settle(elements: list[Element], piece: Iterable[int], system: System) -> None:
    for i in piece:
        elements[i].system, elements[i].basis["system"] = system, BY_CONNECTIONS
