"""Joints between services that have nothing to do with each other."""

from itertools import combinations, islice

from ifclint.engineering.joined import pieces
from ifclint.ifc.elements import Element, Model, Note, Role, System, ends_joined
from ifclint.ifc.facts.service.kinds_of_service import same_family
from ifclint.ifc.facts.service.system_conflicts import OF_ONE_SERVICE
from ifclint.ifc.facts.service.systems import MIXES
from ifclint.ifc.joints.free_ends import system_of

CARRIES_ONE = OF_ONE_SERVICE | {Role.VALVE, Role.METER, Role.REGULATOR, Role.PUMP, Role.TRAP}


def note_crossings(model: Model) -> None:
    """Note each joint of two pipes or fittings that carry, say, water and gas."""
    elements = model.elements
    for joint in model.joints:
        one, other = elements[joint.a], elements[joint.b]
        if one.system is other.system or one.system is None or other.system is None:
            continue
        if {one.role, other.role} <= OF_ONE_SERVICE and not same_family(one.system, other.system):
            what = (
                f"{one.label} is {one.system.value} but joined to {other.label}, which is "
                f"{other.system.value}."
            )
            remedy = "Take the joint away, or correct the system of one of the two."
            model.notes.append(Note(what, remedy, one.guid, "joint"))


def note_services_in_touch(model: Model) -> None:
    """Note where ends that only lie near each other join two services through parts whose own
    service nothing tells. To be asked before services are spread along joints."""
    unknown = [i for i, e in enumerate(model.elements) if _tells_nothing(e)]
    joined = ends_joined(model.joints, unknown)
    near = {i for j in model.joints if j.inferred for i in (j.a, j.b)} if unknown else set()
    for piece in pieces(unknown, lambda i: [other for _, (other, _) in joined[i]]):
        met: dict[System, int] = {}
        for i in sorted(piece) if not near.isdisjoint(piece) else ():
            for _, at in joined[i]:
                if (service := system_of(model, at)) is not None:
                    met.setdefault(service, i)
        apart = (pair for pair in combinations(met, 2) if not same_family(*pair))
        for one, other in islice(apart, 1):
            _note_touch(model, model.elements[met[other]], one, other)


def _tells_nothing(element: Element) -> bool:
    """Whether a part carries one service and does not say which."""
    if element.role not in CARRIES_ONE or element.kind in MIXES:
        return False
    return element.system is None and all(end.system is None for end in element.ends)


def _note_touch(model: Model, part: Element, one: System, other: System) -> None:
    what = (
        f"{part.label}, whose service nothing tells, joins {one.value} to {other.value}, as their "
        "ends lie near each other."
    )
    remedy = "Give it its system, or draw the two apart."
    model.notes.append(Note(what, remedy, part.guid, "joint"))
