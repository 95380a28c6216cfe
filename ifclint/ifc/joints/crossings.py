"""Joints between services that have nothing to do with each other."""

from __future__ import annotations

from collections import defaultdict
from itertools import combinations

from ifclint.ifc.elements import Element, Model, Note, Role, System
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
    unknown = {i for i, e in enumerate(model.elements) if _tells_nothing(e)}
    group = {i: i for i in unknown}
    near: set[int] = set()
    meets: dict[int, dict[System, int]] = defaultdict(dict)
    for joint in model.joints if unknown else ():
        if joint.a in unknown and joint.b in unknown:
            group[_root(group, joint.a)] = _root(group, joint.b)
    for joint in model.joints if unknown else ():
        a, b = (joint.a, joint.a_end), (joint.b, joint.b_end)
        for own, met in ((a, b), (b, a)):
            if own[0] in unknown:
                root, service = _root(group, own[0]), system_of(model, met)
                if joint.inferred:
                    near.add(root)
                if service is not None:
                    meets[root].setdefault(service, own[0])
    for root in sorted(near & meets.keys(), key=lambda r: min(meets[r].values())):
        for one, other in combinations(meets[root], 2):
            if not same_family(one, other):
                _note_touch(model, model.elements[meets[root][other]], one, other)
                break


def _tells_nothing(element: Element) -> bool:
    """Whether a part carries one service and does not say which."""
    if element.role not in CARRIES_ONE or element.kind in MIXES:
        return False
    return element.system is None and all(end.system is None for end in element.ends)


def _root(group: dict[int, int], i: int) -> int:
    while group[i] != i:
        group[i] = i = group[group[i]]
    return i


def _note_touch(model: Model, part: Element, one: System, other: System) -> None:
    what = (
        f"{part.label}, whose service nothing tells, joins {one.value} to {other.value}, as their "
        "ends lie near each other."
    )
    remedy = "Give it its system, or draw the two apart."
    model.notes.append(Note(what, remedy, part.guid, "joint"))
