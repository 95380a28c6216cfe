"""Ports as ends, and the joints the model states between them."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from ifclint.ifc.elements import Element, End, Joint, Model, Point, System
from ifclint.ifc.entities import ref
from ifclint.ifc.placement import Placements, dot
from ifclint.ifc.properties import Fact, PropertyReader
from ifclint.ifc.relations import Relations, last_fields
from ifclint.ifc.shapes import Axis
from ifclint.ifc.sizes import from_nominal
from ifclint.ifc.spf import Instances, Ref, fields, string
from ifclint.ifc.systems import Group, SystemReader
from ifclint.ifc.text import clean

FLOW = {b".SOURCE.": "out", b".SINK.": "in", b".SOURCEANDSINK.": "both"}
NOT_PIPE = frozenset({b".CABLE.", b".CABLECARRIER.", b".DUCT.", b".WIRELESS."})
_PORT = re.compile(  # the usual port: no description, no object type
    rb"IFCDISTRIBUTIONPORT\('[^']*',[^,]*,('[^']*'|\$),\$,\$,([#$]\d*),[^,]*,([.\w$]+)"
    rb"(?:,([.\w$]+),([.\w$]+))?\)"
)
SAME_PLACE_M = 0.02  # a port this near the end of an axis is that end
SAME_POINT_M = 1e-6


@dataclass
class PortReader:
    """Ports of one file; `places` tells for each port which end of its element it became."""

    lines: Instances
    relations: Relations
    placements: Placements
    systems: SystemReader
    properties: PropertyReader
    places: dict[Ref, int] = field(default_factory=dict)

    def ends(self, element: Ref) -> list[End]:
        """An element's ports as ends, in the order the file relates them."""
        ends: list[End] = []
        for port in self.relations.ports.get(element, ()):
            placement, flow, kind, system, name = self._read(port)
            if kind not in NOT_PIPE:
                self.places[port] = len(ends)
                position = self.placements.position(placement)
                ends.append(End(position, None, flow, system, name))
        if len(ends) > 1 and _all_in_one_place(ends):
            for end in ends:
                end.position = None  # ports nobody placed
        return ends

    def _read(self, port: Ref) -> tuple[Ref, str, bytes, System | None, str]:
        """Placement, flow, type, system and name of a port (IFC2X3 has no type and system)."""
        text = self.lines[port]
        match = _PORT.match(text)
        if match is None:
            parts = [*fields(text), b"$", b"$"]
            name, placement, flow, kind, system = (parts[i] for i in (2, 5, 7, 8, 9))
        else:
            name, placement, flow, kind, system = match.groups(b"$")
        return placement, FLOW.get(flow, ""), kind, self.systems.literal(system), _name(name)

    def forget(self, element: Ref) -> None:
        """Undo `ends` for an element that could not be read."""
        for port in self.relations.ports.get(element, ()):
            self.places.pop(port, None)

    def set_end_sizes(self, element_ref: Ref, element: Element) -> None:
        """Sizes that ports state for themselves."""
        for port in self.relations.ports.get(element_ref, ()):
            at = self.places.get(port)
            fact = self._size(port)
            if at is not None and fact is not None and isinstance(fact.value, float):
                size = from_nominal(round(fact.value, 6), element.material).size_in
                element.ends[at].size_in = size

    def size_fact(self, element: Ref) -> Fact | None:
        """The size all ports of an element agree on."""
        found = [self._size(p) for p in self.relations.ports.get(element, ())]
        stated = [f for f in found if f is not None]
        if not stated or len({f.value for f in stated}) != 1:
            return None
        fact = stated[0]
        return Fact(fact.value, fact.basis + " of its ports", fact.rank, fact.is_length)

    def _size(self, port: Ref) -> Fact | None:
        sets = self.relations.property_sets.get(port)
        return self.properties.facts(sets).get("size") if sets else None

    def groups(self, element: Ref) -> list[Group]:
        """Systems that only the ports are assigned to."""
        groups = self.relations.groups
        ports = self.relations.ports.get(element, ())
        return [self.systems.group(g) for p in ports for g in groups.get(p, ())]


@lru_cache(maxsize=4096)
def _name(field: bytes) -> str:
    return clean(string(field))


def _all_in_one_place(ends: list[End]) -> bool:
    positions = [e.position for e in ends if e.position is not None]
    return all(math.dist(positions[0], p) < SAME_POINT_M for p in positions[1:])


def axis_ends(element: Element, axis: Axis) -> None:
    """Give a pipe the ends of its axis that its ports do not already stand for."""
    placed = [e.position for e in element.ends if e.position is not None]
    if len(placed) >= 2:
        return
    missing: list[Point] = [axis.points[0], axis.points[-1]]
    near = min(SAME_PLACE_M + (axis.outside_m or 0.0), axis.length_m / 2)
    missing = [p for p in missing if not any(math.dist(p, q) <= near for q in placed)]
    unplaced = [e for e in element.ends if e.position is None]
    for end, point in zip(_by_flow(unplaced), missing, strict=False):
        end.position = point
    element.ends += [End(p) for p in missing[len(unplaced) :]]
    if not placed:
        element.basis["ends"] = axis.basis


def leg_ends(axes: list[Axis]) -> list[Point]:
    """The outer ends of a fitting drawn as legs: where only one of its axes begins or ends."""
    tips = [(i, axis.points[k]) for i, axis in enumerate(axes) for k in (0, -1)]
    return [
        p for i, p in tips if not any(j != i and _passes(other, p) for j, other in enumerate(axes))
    ]


def _passes(axis: Axis, p: Point) -> bool:
    """Whether a point lies on an axis, within the half of what is drawn about it."""
    reach = SAME_PLACE_M / 2
    return any(
        _distance_to_piece(p, a, b) < reach
        for a, b in zip(axis.points, axis.points[1:], strict=False)
    )


def _distance_to_piece(p: Point, a: Point, b: Point) -> float:
    along = (b[0] - a[0], b[1] - a[1], b[2] - a[2])
    length2 = dot(along, along)
    t = dot((p[0] - a[0], p[1] - a[1], p[2] - a[2]), along) / length2 if length2 > 0 else 0.0
    t = min(1.0, max(0.0, t))
    return math.dist(p, (a[0] + t * along[0], a[1] + t * along[1], a[2] + t * along[2]))


def _by_flow(ends: list[End]) -> list[End]:
    return sorted(ends, key=lambda e: {"in": 0, "": 1, "both": 1, "out": 2}[e.flow])


def stated_joints(
    ifc: Any, lines: Instances, ports: PortReader, index: dict[Ref, int], model: Model
) -> list[Joint]:
    """Joints from IfcRelConnectsPorts and IfcRelConnectsElements, each pair once."""
    joints: dict[tuple[int, int, int, int], Joint] = {}
    for line in lines.values():
        *_, one, other, through = last_fields(line, 3)
        a, b = _end_of(one, ports, index), _end_of(other, ports, index)
        if a is None or b is None or a == b:
            continue
        if through in index:
            _join_through(index[through], a, b, model, joints)
        else:
            _add(joints, a, b)
    _join_elements(ifc, index, model, joints)
    return list(joints.values())


def _end_of(port: Ref, ports: PortReader, index: dict[Ref, int]) -> tuple[int, int] | None:
    at = ports.places.get(port)
    return (index[ports.relations.port_owner[port]], at) if at is not None else None


def _add(
    joints: dict[tuple[int, int, int, int], Joint], a: tuple[int, int], b: tuple[int, int]
) -> None:
    first, second = sorted((a, b))
    joints.setdefault(first + second, Joint(*first, *second))


def _join_through(
    pipe: int,
    a: tuple[int, int],
    b: tuple[int, int],
    model: Model,
    joints: dict[tuple[int, int, int, int], Joint],
) -> None:
    """Two ports joined by a pipe: the pipe's nearer ends meet them."""
    ends = model.elements[pipe].ends
    while len(ends) < 2:
        ends.append(End(None))
    p, q = (model.elements[i].ends[e].position for i, e in (a, b))
    straight = _gap(ends[0].position, p) + _gap(ends[1].position, q)
    crossed = _gap(ends[0].position, q) + _gap(ends[1].position, p)
    first, second = (0, 1) if straight <= crossed else (1, 0)
    _add(joints, a, (pipe, first))
    _add(joints, b, (pipe, second))


def _gap(a: Point | None, b: Point | None) -> float:
    return math.dist(a, b) if a is not None and b is not None else 0.0


def _join_elements(
    ifc: Any,
    index: dict[Ref, int],
    model: Model,
    joints: dict[tuple[int, int, int, int], Joint],
) -> None:
    """Elements joined without saying by which ports: the nearest free ends are meant."""
    pairs = {frozenset((j.a, j.b)) for j in joints.values()}
    used = {end for j in joints.values() for end in ((j.a, j.a_end), (j.b, j.b_end))}
    for relation in ifc.by_type("IfcRelConnectsElements"):
        a, b = index.get(ref(relation[5])), index.get(ref(relation[6]))
        if a is None or b is None or a == b or frozenset((a, b)) in pairs:
            continue
        i, j = _nearest_free_ends(model, a, b, used)
        _add(joints, (a, i), (b, j))
        pairs.add(frozenset((a, b)))
        used |= {(a, i), (b, j)}


def _nearest_free_ends(model: Model, a: int, b: int, used: set[tuple[int, int]]) -> tuple[int, int]:
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
