"""The joints a model states: between ports, through a pipe, or between whole elements; and of links
of pipe to pipe past the fitting that is drawn between them, the ends at its openings instead."""

import math
from itertools import pairwise, permutations, starmap

import numpy as np

from ifclint.engineering.near import NearPlaces
from ifclint.ifc.elements import End, Joint, Model, Note, Point, Role
from ifclint.ifc.joints.free_ends import free_ends, positions_of
from ifclint.ifc.joints.ports import PortReader
from ifclint.ifc.step.arrays import Ints
from ifclint.ifc.step.relations import linked_ports, owners_of
from ifclint.ifc.step.spf import arguments, class_and_arguments, members, number, string
from ifclint.ifc.step.text import clean
from ifclint.ifc.step.text_index import Ref, TextIndex

ELEMENT_RELATIONS = (
    b"IFCRELCONNECTSELEMENTS",
    b"IFCRELCONNECTSWITHREALIZINGELEMENTS",
    b"IFCRELCONNECTSPATHELEMENTS",
)
ElementEnd = tuple[int, int]  # element and end, by their indexes
Joints = dict[tuple[int, int, int, int], Joint]
REMEDY = "Give the fitting ports, and link each pipe to its own."


def stated_joints(
    text: TextIndex, ports: PortReader, refs: list[Ref], first: int, model: Model
) -> list[Joint]:
    """Joints from IfcRelConnectsPorts and IfcRelConnectsElements, each pair once; what is joined to
    something that is not read is kept in `Model.leads_elsewhere`.

    The elements of the file have these references and stand in the model from `first` on.
    """
    links = linked_ports(text)
    (a, a_end), (b, b_end) = ports.places(links[:, 0]), ports.places(links[:, 1])
    for known, strange in ((a, 1), (b, 0)):
        rows = np.flatnonzero((known >= 0) & ((a < 0) | (b < 0)))
        called = _called(text, links[rows, strange])
        guids = (model.elements[i].guid for i in (known[rows] + first).tolist())
        model.leads_elsewhere.update(zip(guids, called, strict=True))
    there = (a >= 0) & (b >= 0) & (a != b)
    realising = _rows_of(links[:, 2], refs)
    realised = there & (realising >= 0) & (realising != a) & (realising != b)
    places = np.stack([a + first, a_end, b + first, b_end], axis=1)
    turn = a > b
    places[turn] = places[turn][:, [2, 3, 0, 1]]
    found = _each_once(places[there & ~realised])
    if not realised.any() and not any(map(text.count, ELEMENT_RELATIONS)):
        return found
    joints: Joints = {joint[:4]: joint for joint in found}
    for (one, one_end, other, other_end), part in zip(
        places[realised].tolist(), (realising[realised] + first).tolist(), strict=True
    ):
        _join_through(part, (one, one_end), (other, other_end), model, joints)
    index = {ref: first + row for row, ref in enumerate(refs)}
    _join_elements(text, index, model, joints)
    return sorted(joints.values())


def _rows_of(realising: Ints, refs: list[Ref]) -> Ints:
    """The rows of the elements that realise joints; -1: none, or one that is not read."""
    if not realising.any():
        return np.full(len(realising), -1)
    index = {ref: row for row, ref in enumerate(refs)}
    return np.array([index.get(ref, -1) for ref in realising.tolist()], dtype=np.int64)


def _called(text: TextIndex, ports: Ints) -> list[str]:
    """What the elements of some ports are called: name, and object type where that says more."""
    owners = owners_of(text, ports) if len(ports) else {}
    written = (class_and_arguments(text.get(owners.get(port, 0)))[1] for port in ports.tolist())
    names = ([clean(string(said)) for said in words[2:5:2]] for words in written)
    return [said[0] if said and said[-1] in said[0] else " ".join(said).strip() for said in names]


def _each_once(places: Ints) -> list[Joint]:
    """Joints between places, each once, in the order of their elements, not of the lines."""
    if not len(places):
        return []
    ends = int(places[:, [1, 3]].max()) + 1
    a, b = places[:, 0] * ends + places[:, 1], places[:, 2] * ends + places[:, 3]
    _, first = np.unique(a * (int(b.max()) + 1) + b, return_index=True)
    columns = places[first].T.tolist()
    return list(starmap(Joint, zip(*columns, strict=True)))


def _add(joints: Joints, a: ElementEnd, b: ElementEnd) -> None:
    one, other = sorted((a, b))
    key = one + other
    if key not in joints:
        joints[key] = Joint(*key)


def _join_through(part: int, a: ElementEnd, b: ElementEnd, model: Model, joints: Joints) -> None:
    """Two ports joined by a third part, a pipe or fitting: its nearest ends meet them."""
    ends = model.elements[part].ends
    while len(ends) < 2:
        ends.append(End(None))
    p, q = (model.elements[i].ends[e].position for i, e in (a, b))
    first, second = min(
        permutations(range(len(ends)), 2),
        key=lambda pair: _gap(ends[pair[0]].position, p) + _gap(ends[pair[1]].position, q),
    )
    _add(joints, a, (part, first))
    _add(joints, b, (part, second))


def _gap(a: Point | None, b: Point | None) -> float:
    return math.dist(a, b) if a is not None and b is not None else 0.0


def _join_elements(text: TextIndex, index: dict[Ref, int], model: Model, joints: Joints) -> None:
    """Elements joined without saying by which ports: the nearest free ends are meant."""
    pairs = {frozenset((j.a, j.b)) for j in joints.values()}
    used = {end for j in joints.values() for end in ((j.a, j.a_end), (j.b, j.b_end))}
    for relation in (line for name in ELEMENT_RELATIONS for line in text.of_class(name)[1]):
        chain = _one_after_another(relation, index)
        for a, b in pairwise(chain):
            if a == b or frozenset((a, b)) in pairs:
                continue
            i, j = _nearest_free_ends(model, a, b, used)
            _add(joints, (a, i), (b, j))
            pairs.add(frozenset((a, b)))
            used |= {(a, i), (b, j)}


def _one_after_another(relation: bytes, index: dict[Ref, int]) -> list[int]:
    """The two elements that a relation joins, and between them the one part that realises it; none
    where either is not read."""
    said = arguments(relation)
    a, b = (index.get(number(r)) for r in (said[5:7] if len(said) > 6 else (b"", b"")))
    if a is None or b is None:
        return []
    realising = map(number, members(said[7])) if len(said) > 7 else ()
    between = {index[r] for r in realising if r in index} - {a, b}
    return [a, *between, b] if len(between) == 1 else [a, b]


def _nearest_free_ends(model: Model, a: int, b: int, used: set[ElementEnd]) -> tuple[int, int]:
    free = [[i for i in range(len(model.elements[n].ends)) if (n, i) not in used] for n in (a, b)]
    for n, ends in zip((a, b), free, strict=True):
        if not ends:
            model.elements[n].ends.append(End(None))
            ends.append(len(model.elements[n].ends) - 1)
    one, other = model.elements[a].ends, model.elements[b].ends
    return min(
        ((i, j) for i in free[0] for j in free[1]),
        key=lambda pair: _gap(one[pair[0]].position, other[pair[1]].position),
    )


def unlink_past_parts(model: Model) -> None:
    """Drop the stated joints of two pipes that end apart, each at an opening of one third part."""
    apart = [joint for joint in model.joints if _is_apart(model, joint)]
    openings = [at for at in free_ends(model) if model.elements[at[0]].role is not Role.PIPE]
    if not apart or not openings:
        return
    at_openings = NearPlaces(positions_of(model, openings))
    firsts, seconds = (
        at_openings.around(positions_of(model, ends), model.joining_tolerance_m)
        for ends in ([(j.a, j.a_end) for j in apart], [(j.b, j.b_end) for j in apart])
    )
    passed = {
        joint
        for joint, one, other in zip(apart, firsts, seconds, strict=True)
        if {openings[k][0] for k in one} & {openings[k][0] for k in other}
    }
    if passed:
        model.joints = [joint for joint in model.joints if joint not in passed]
        count = "1 pair" if len(passed) == 1 else f"{len(passed)} pairs"
        what = f"The file links {count} of pipes past the fitting drawn between them"
        model.notes.append(Note(f"{what}; each was joined to the fitting.", REMEDY, "", "joint"))


def _is_apart(model: Model, joint: Joint) -> bool:
    a, b = model.elements[joint.a], model.elements[joint.b]
    if a.role is not Role.PIPE or b.role is not Role.PIPE:
        return False
    p, q = a.ends[joint.a_end].position, b.ends[joint.b_end].position
    return p is not None and q is not None and math.dist(p, q) > model.joining_tolerance_m
