"""Ports as ends, and the joints the model states between them."""

from __future__ import annotations

import math
from typing import Any

from ifclint.ifc.columns import GUID, after_guid, references
from ifclint.ifc.elements import Element, End, Joint, Model, Point, System
from ifclint.ifc.placement import Placements, dot
from ifclint.ifc.properties import Fact, PropertyReader
from ifclint.ifc.relations import Relations
from ifclint.ifc.shapes import Axis
from ifclint.ifc.sizes import from_nominal
from ifclint.ifc.spf import arguments, number, string
from ifclint.ifc.systems import SystemReader
from ifclint.ifc.text import clean
from ifclint.ifc.text_index import Ref, TextIndex

FLOW = {b".SOURCE.": "out", b".SINK.": "in", b".SOURCEANDSINK.": "both"}
NOT_PIPE = frozenset({b".CABLE.", b".CABLECARRIER.", b".DUCT.", b".WIRELESS."})
ELEMENT_RELATIONS = (
    b"IFCRELCONNECTSELEMENTS",
    b"IFCRELCONNECTSWITHREALIZINGELEMENTS",
    b"IFCRELCONNECTSPATHELEMENTS",
)
SAME_PLACE_M = 0.02  # a port this near the end of an axis is that end
SAME_POINT_M = 1e-6
Told = tuple[str, System | None, str]  # flow, system and name of a port
Place = tuple[int, int]  # element and end, by their indexes
PortSets = tuple[tuple[Ref, ...] | None, ...]  # the property sets of each port of an element


class PortReader:
    """Ports of one file; `places` tells which end of which element each became."""

    def __init__(
        self,
        text: TextIndex,
        relations: Relations,
        placements: Placements,
        systems: SystemReader,
        properties: PropertyReader,
    ) -> None:
        self._relations = relations
        self._systems = systems
        self._properties = properties
        self._said: dict[tuple[bytes, bytes], Told | None] = {}
        self._agreed: dict[PortSets, Fact | None] = {}
        self._sizes: dict[tuple[tuple[Ref, ...], str], float | None] = {}
        self._ends = self._read_ends(text, placements)
        self.places: dict[Ref, Place] = {}

    def _read_ends(self, text: TextIndex, placements: Placements) -> dict[Ref, End]:
        """The end that each port of an element stands for; no end for ducts and cables."""
        owned = self._relations.port_owner
        ports: list[Ref] = []
        told: list[Told] = []
        placed: list[Ref] = []
        numbers, lines = text.of_class(b"IFCDISTRIBUTIONPORT")
        for port, line in zip(numbers.tolist(), lines, strict=True):
            if port in owned:
                placement, said = self._read(line)
                if said is not None:
                    ports.append(port)
                    told.append(said)
                    placed.append(placement)
        positions = placements.positions(placed)
        damaged = placements.damaged
        self._damaged = {p for p, at in zip(ports, placed, strict=True) if at in damaged}
        return {
            port: End(position, None, flow, system, name)
            for port, position, (flow, system, name) in zip(ports, positions, told, strict=True)
        }

    def _read(self, line: bytes) -> tuple[Ref, Told | None]:
        """Placement of a port, and what it says; ports say few different things."""
        start, _, rest = line.rpartition(b",#")
        placement, _, end = rest.partition(b",")
        key = (start[GUID:], end)
        if key in self._said and placement.isdigit():
            return int(placement), self._said[key]
        parts = [*arguments(line), b"$", b"$"]
        name, placed, shape, flow, kind, system = (parts[i] for i in (2, 5, 6, 7, 8, 9))
        literal = self._systems.literal(system)
        said = (FLOW.get(flow, ""), literal, clean(string(name))) if kind not in NOT_PIPE else None
        if placed[:1] == b"#" and shape == b"$" and start[GUID - 1 : GUID] == b",":
            self._said[key] = said
        return number(placed), said

    def ends(self, element: Ref, index: int) -> list[End]:
        """An element's ports as ends, in the order the file relates them.

        Raises ValueError where the place of one cannot be read.
        """
        ends: list[End] = []
        owned = self._relations.ports.get(element, ())
        if self._damaged and not self._damaged.isdisjoint(owned):
            raise ValueError("a port is placed at no point")
        for port in owned:
            end = self._ends.get(port)
            if end is not None:
                self.places[port] = (index, len(ends))
                ends.append(end)
        if len(ends) > 1 and _all_in_one_place(ends):
            for end in ends:
                end.position = None  # ports nobody placed
        return ends

    def forget(self, element: Ref) -> None:
        """Undo `ends` for an element that could not be read."""
        for port in self._relations.ports.get(element, ()):
            self.places.pop(port, None)

    def sets(self, element: Ref) -> PortSets:
        """The property sets of each of an element's ports."""
        sets = self._relations.property_sets
        return tuple([sets.get(p) for p in self._relations.ports.get(element, ())])

    def set_end_sizes(self, element_ref: Ref, sets: PortSets, element: Element) -> None:
        """Sizes that ports state for themselves."""
        if not any(sets):
            return
        for port, own in zip(self._relations.ports.get(element_ref, ()), sets, strict=True):
            at = self.places.get(port) if own else None
            if own and at is not None and (size := self._end_size(own, element.material)):
                element.ends[at[1]].size_in = size

    def _end_size(self, sets: tuple[Ref, ...], material: str) -> float | None:
        key = (sets, material)
        if key not in self._sizes:
            fact = self._size(sets)
            known = fact is not None and isinstance(fact.value, float)
            size = from_nominal(round(fact.value, 6), material).size_in if known else None  # type: ignore[union-attr,arg-type]
            self._sizes[key] = size
        return self._sizes[key]

    def size_fact(self, sets: PortSets) -> Fact | None:
        """The size all ports of an element agree on."""
        if sets not in self._agreed:
            stated = [f for own in sets if (f := self._size(own)) is not None]
            agreed = stated[0] if len({f.value for f in stated}) == 1 else None
            self._agreed[sets] = agreed and agreed.with_basis(agreed.basis + " of its ports")
        return self._agreed[sets]

    def _size(self, sets: tuple[Ref, ...] | None) -> Fact | None:
        return self._properties.facts(sets).get("size") if sets else None

    def groups(self, element: Ref) -> list[Ref]:
        """Systems that only the ports are assigned to."""
        groups = self._relations.groups
        ports = self._relations.ports.get(element, ())
        return [g for p in ports for g in groups.get(p, ())]


def _all_in_one_place(ends: list[End]) -> bool:
    positions = [e.position for e in ends if e.position is not None]
    return all(math.dist(positions[0], p) < SAME_POINT_M for p in positions)


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
    text: TextIndex, ports: PortReader, index: dict[Ref, int], model: Model
) -> list[Joint]:
    """Joints from IfcRelConnectsPorts and IfcRelConnectsElements, each pair once."""
    joints: dict[tuple[int, int, int, int], Joint] = {}
    places = ports.places
    for one, other, through in _joined_ports(text):
        a, b = places.get(one), places.get(other)
        if a is None or b is None or a == b:
            continue
        realising = index.get(through) if through else None
        if realising is not None:
            _join_through(realising, a, b, model, joints)
        else:
            _add(joints, a, b)
    _join_elements(text, index, model, joints)
    return list(joints.values())


def _joined_ports(text: TextIndex) -> Any:
    """Two ports and what realises their connection, of every IfcRelConnectsPorts."""
    lines = text.of_class(b"IFCRELCONNECTSPORTS")[1]
    columns = references(after_guid(lines), 6) if lines else None
    if columns is not None:
        return columns[:, 3:].tolist()
    return [[number(f) for f in line.rsplit(b",", 3)[1:]] for line in lines]


def _add(joints: dict[tuple[int, int, int, int], Joint], a: Place, b: Place) -> None:
    key = a + b if a <= b else b + a
    if key not in joints:
        joints[key] = Joint(*key)


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
    text: TextIndex,
    index: dict[Ref, int],
    model: Model,
    joints: dict[tuple[int, int, int, int], Joint],
) -> None:
    """Elements joined without saying by which ports: the nearest free ends are meant."""
    pairs = {frozenset((j.a, j.b)) for j in joints.values()}
    used = {end for j in joints.values() for end in ((j.a, j.a_end), (j.b, j.b_end))}
    lines = [line for name in ELEMENT_RELATIONS for line in text.of_class(name)[1]]
    for relation in map(arguments, lines):
        a, b = (index.get(number(r)) for r in (relation[5:7] if len(relation) > 6 else (b"", b"")))
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
