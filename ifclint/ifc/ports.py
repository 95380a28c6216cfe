"""Ports as ends, and the ends of shapes where there are no ports."""

from __future__ import annotations

import math
from typing import Any

from ifclint.ifc.columns import rows_of
from ifclint.ifc.elements import Element, End, Point, System
from ifclint.ifc.placement import Placements, dot, points
from ifclint.ifc.properties import Fact, PropertyReader
from ifclint.ifc.relations import Refs, Relations
from ifclint.ifc.shapes import Axis
from ifclint.ifc.sizes import from_nominal
from ifclint.ifc.spf import arguments, number, string
from ifclint.ifc.systems import SystemReader
from ifclint.ifc.text import clean
from ifclint.ifc.text_index import Ref, TextIndex

FLOW = {b".SOURCE.": "out", b".SINK.": "in", b".SOURCEANDSINK.": "both"}
NOT_PIPE = frozenset({b".CABLE.", b".CABLECARRIER.", b".DUCT.", b".WIRELESS."})
SAME_PLACE_M = 0.02  # a port this near the end of an axis is that end
SAME_POINT_M = 1e-6
Told = tuple[str, System | None, str]  # flow, system and name of a port
PortSets = tuple[Refs | None, ...]  # the property sets of each port of an element
GUID = 25  # characters of a GlobalId with its quotes, and the comma after it


class PortReader:
    """Ports of one file, in the order of the elements they belong to.

    Elements are named by their row among the file's. Ports of ducts and cables are left out.
    """

    def __init__(
        self,
        text: TextIndex,
        relations: Relations,
        elements: Any,
        systems: SystemReader,
        properties: PropertyReader,
    ) -> None:
        self._relations = relations
        self._systems = systems
        self._properties = properties
        self._said: dict[tuple[bytes, bytes], Told | None] = {}
        self._agreed: dict[PortSets, Fact | None] = {}
        self._sizes: dict[tuple[Refs, str], float | None] = {}
        self._read(text, elements)

    def _read(self, text: TextIndex, elements: Any) -> None:
        """What each port says and where it is placed."""
        import numpy as np

        pairs = self._relations.ports
        lines = text.arguments(text.rows_of(pairs[:, 1], b"IFCDISTRIBUTIONPORT"))
        read = [self._read_line(line) for line in lines]
        owners = rows_of(elements, pairs[:, 0])
        order = np.argsort(owners, kind="stable")
        order = order[np.array([told is not None for _, told in read], dtype=bool)[order]]
        self._owners, self._refs = owners[order], pairs[order, 1]
        self._told: list[Told] = [read[i][1] for i in order.tolist()]  # type: ignore[misc]
        self.placed = np.array([read[i][0] for i in order.tolist()], dtype=np.int64)
        bounds = np.searchsorted(self._owners, np.arange(len(elements) + 1))
        self._first = bounds.tolist()
        self._number = np.arange(len(order)) - bounds[self._owners]
        self._with_sets = self._that_are_in(self._relations.property_sets)
        self._with_groups = self._that_are_in(self._relations.groups)

    def _that_are_in(self, related: dict[Ref, Refs]) -> frozenset[int]:
        """The elements whose ports are among what is related to something."""
        if not related:
            return frozenset()
        ports = zip(self._owners.tolist(), self._refs.tolist(), strict=True)
        return frozenset([owner for owner, port in ports if port in related])

    def _read_line(self, line: bytes) -> tuple[Ref, Told | None]:
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

    def place(self, placements: Placements) -> None:
        """Make the ends that the ports stand for."""
        import numpy as np

        positions = placements.positions(self.placed)
        positions[self._in_one_place(positions)] = np.nan  # ports nobody placed
        told = zip(points(positions), self._told, strict=True)
        self._ends = [End(at, None, flow, system, name) for at, (flow, system, name) in told]
        bad = np.isin(self.placed, list(placements.damaged)) if placements.damaged else []
        self._damaged = set(self._owners[bad].tolist()) if len(bad) else set()

    def _in_one_place(self, positions: Any) -> Any:
        """Ports of elements that have several, all in one place."""
        import numpy as np

        owners = self._owners
        if not len(owners):
            return np.zeros(0, dtype=bool)
        firsts = np.flatnonzero(np.diff(owners, prepend=-1))
        counts = np.diff(firsts, append=len(owners))
        low, high = (f.reduceat(positions, firsts, axis=0) for f in (np.fmin, np.fmax))
        together = (counts > 1) & ((high - low) < SAME_POINT_M).all(axis=1)
        return together.repeat(counts)

    def ends(self, element: int) -> list[End]:
        """An element's ports as ends, in the order the file relates them.

        Raises ValueError where the place of one cannot be read.
        """
        if element in self._damaged:
            raise ValueError("a port is placed at no point")
        return self._ends[self._first[element] : self._first[element + 1]]

    def forget(self, element: int) -> None:
        """Leave an element that could not be read without ports."""
        self._number[self._first[element] : self._first[element + 1]] = -1

    def places(self, ports: Any) -> tuple[Any, Any]:
        """For an array of ports the row of the element and the end each stands for; -1: none."""
        import numpy as np

        order = np.argsort(self._refs)
        at = rows_of(self._refs[order], ports)
        if not len(order):
            return at, at
        row = order[at]
        known = (at >= 0) & (self._number[row] >= 0)
        return np.where(known, self._owners[row], -1), np.where(known, self._number[row], -1)

    def any_of(self, element: int) -> bool:
        """Whether an element has ports."""
        return bool(self._first[element] < self._first[element + 1])

    def _sets(self, element: int) -> PortSets:
        """The property sets of each of an element's ports."""
        if element not in self._with_sets:
            return ()
        sets = self._relations.property_sets
        return tuple([sets.get(p) for p in self._of(element)])

    def _of(self, element: int) -> list[Ref]:
        found: list[Ref] = self._refs[self._first[element] : self._first[element + 1]].tolist()
        return found

    def set_end_sizes(self, row: int, element: Element) -> None:
        """Sizes that the ports of the element of this row state for themselves."""
        for end, own in zip(element.ends, self._sets(row), strict=False):
            if own and (size := self._end_size(own, element.material)):
                end.size_in = size

    def _end_size(self, sets: tuple[Ref, ...], material: str) -> float | None:
        key = (sets, material)
        if key not in self._sizes:
            fact = self._size(sets)
            known = fact is not None and isinstance(fact.value, float)
            size = from_nominal(round(fact.value, 6), material).size_in if known else None  # type: ignore[union-attr,arg-type]
            self._sizes[key] = size
        return self._sizes[key]

    def size_fact(self, element: int) -> Fact | None:
        """The size all ports of an element agree on."""
        sets = self._sets(element)
        if sets not in self._agreed:
            stated = [f for own in sets if (f := self._size(own)) is not None]
            agreed = stated[0] if len({f.value for f in stated}) == 1 else None
            self._agreed[sets] = agreed and agreed.with_basis(agreed.basis + " of its ports")
        return self._agreed[sets]

    def _size(self, sets: tuple[Ref, ...] | None) -> Fact | None:
        return self._properties.facts(sets).get("size") if sets else None

    def groups(self, element: int) -> tuple[Ref, ...]:
        """Systems that only the ports are assigned to."""
        if element not in self._with_groups:
            return ()
        groups = self._relations.groups
        return tuple([g for p in self._of(element) for g in groups.get(p, ())])


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
