"""Ports as ends, and the ends of shapes where there are no ports."""

import math
import re
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ifclint.engineering.directions import foot
from ifclint.ifc.elements import Element, End, Point, System
from ifclint.ifc.facts.describing import PortFacts
from ifclint.ifc.facts.properties import PropertyReader, StatedFact
from ifclint.ifc.facts.service.system_reader import SystemReader
from ifclint.ifc.shape.placement import Placements, points
from ifclint.ifc.shape.solids import Axis
from ifclint.ifc.step.arrays import Bools, Floats, Ints
from ifclint.ifc.step.columns import COMMA, last_of, references, rows_of, texts
from ifclint.ifc.step.relations import Refs, Relations
from ifclint.ifc.step.spf import arguments, number, string
from ifclint.ifc.step.text import LONGEST, clean
from ifclint.ifc.step.text_index import Ref, TextIndex

FLOW = {b".SOURCE.": "out", b".SINK.": "in", b".SOURCEANDSINK.": "both"}
NOT_PIPE = frozenset({b".CABLE.", b".CABLECARRIER.", b".DUCT.", b".WIRELESS."})
SAME_PLACE_M = 0.02  # a port this near the end of an axis is that end
SAME_POINT_M = 1e-6
PortAttributes = tuple[str, System | None]  # flow and system
NO_ATTRIBUTES: PortAttributes = "", None
BEFORE_ENUMERATIONS = 7  # attributes of a port, from the GlobalId to the representation
_ENUMERATIONS = re.compile(rb"(?:\.\w+\.|[$*])(?:,(?:\.\w+\.|[$*]))*")
_TEXT = r"(?:'[^'\\\n]*'|\$)"
_OWNER_TO_OBJECT_TYPE = re.compile(rf"^(?:#\d+|[$*]),(?:'([^'\\\n]*)'|\$),{_TEXT},{_TEXT}$", re.M)
GUID = 22  # characters of a GlobalId


class PortReader:
    """Ports of one file, but for those of ducts and cables that are not of `flues`.

    Once they are placed (`place`), there are for each element of the file, in order: its ports as
    `ends`, in the order of their names and GlobalIds; what they say (`facts`); how many have a
    place (`placed_ends`). The rows of elements with a port at a place that cannot be read are
    `damaged`.
    """

    ends: list[list[End]]
    facts: list[PortFacts]
    placed_ends: list[int]
    damaged: set[int]

    def __init__(
        self,
        text: TextIndex,
        relations: Relations,
        elements: Ints,
        systems: SystemReader,
        properties: PropertyReader,
        flues: frozenset[Ref] = frozenset(),
    ) -> None:
        self._flues = flues
        self._relations = relations
        self._systems = systems
        self._properties = properties
        self._read(text, elements)

    def _read(self, text: TextIndex, elements: Ints) -> None:
        """What each port says and where it is placed."""
        pairs = self._relations.ports
        rows = text.rows_of(pairs[:, 1], b"IFCDISTRIBUTIONPORT")
        read = _as_columns(text, rows) or _line_by_line(text, rows)
        attributes = [self._attributes(written) for written in read.tails]
        by_number = np.argsort(elements)
        owners = by_number[rows_of(elements[by_number], pairs[:, 0])]
        order = np.lexsort((read.guids, read.ranks()[read.name_of], owners))
        of_pipes = np.array([a is not None for a in attributes], dtype=bool)
        of_flues = np.isin(pairs[order, 1], list(self._flues))
        order = order[of_pipes[read.tail_of[order]] | of_flues]
        self._owners, self._refs, self.placed = owners[order], pairs[order, 1], read.placed[order]
        self._names = [read.names[k] for k in read.name_of[order].tolist()]
        self._attributes_of = [attributes[k] or NO_ATTRIBUTES for k in read.tail_of[order].tolist()]
        for row in np.flatnonzero(np.isin(self._refs, list(self._flues))).tolist():
            self._attributes_of[row] = self._attributes_of[row][0], System.FLUE
        self._bounds = np.searchsorted(self._owners, np.arange(len(elements) + 1))
        self._number = np.arange(len(order)) - self._bounds[self._owners]
        self._groups = self._held(self._relations.groups)
        sets_of = self._held(self._relations.property_sets)
        sizes = {sets: self._size(sets) for sets in set(sets_of)}
        self._sizes = [sizes[sets] for sets in sets_of]

    def _attributes(self, written: tuple[bytes, ...]) -> PortAttributes | None:
        """What the enumerations of a port say, None of a duct or cable."""
        flow, kind, system = (*written, b"$", b"$")[:3]
        return None if kind in NOT_PIPE else (FLOW.get(flow, ""), self._systems.literal(system))

    def _held(self, related: dict[Ref, Refs]) -> list[Refs | None]:
        """What is related to each port."""
        return list(map(related.get, self._refs.tolist()))

    def _size(self, sets: Refs | None) -> StatedFact | None:
        return self._properties.facts(sets).get("size") if sets else None

    def place(self, placements: Placements, elements: Floats) -> None:
        """Make the ends that the ports stand for, of `elements` at these positions."""
        positions = placements.positions(self.placed)
        positions[self._nobody_placed(positions, elements)] = np.nan
        ends = [
            End(at, None, flow, system, name)
            for at, (flow, system), name in zip(
                points(positions), self._attributes_of, self._names, strict=True
            )
        ]
        self.ends = [ends[a:b] for a, b in pairwise(self._bounds.tolist())]
        self.facts = self._facts_by_element()
        bad = np.isin(self.placed, list(placements.damaged))
        self.damaged = set(self._owners[bad].tolist())
        known = np.cumsum(np.concatenate([[0], ~np.isnan(positions[:, 0])]))
        self.placed_ends = np.diff(known[self._bounds]).tolist()
        del self._names, self._attributes_of, self._groups, self._sizes  # all are in the ends

    def _nobody_placed(self, positions: Floats, elements: Floats) -> Bools:
        """Ports of elements that have several, all in one place; and where a file has no others
        with several, single ports where their element itself is placed."""
        owners = self._owners
        if not len(owners):
            return np.zeros(0, dtype=bool)
        firsts = np.flatnonzero(np.diff(owners, prepend=-1))
        counts = np.diff(firsts, append=len(owners))
        low, high = (f.reduceat(positions, firsts, axis=0) for f in (np.fmin, np.fmax))
        several = counts > 1
        together = several & ((high - low) < SAME_POINT_M).all(axis=1)
        if several.any() and together[several].all():
            away = np.abs(positions[firsts] - elements[owners[firsts]])
            together |= ~several & (away < SAME_POINT_M).all(axis=1)
        return together.repeat(counts)

    def forget(self, element: int) -> None:
        """Leave an element that could not be read without ports."""
        self._number[self._bounds[element] : self._bounds[element + 1]] = -1

    def places(self, ports: Ints) -> tuple[Ints, Ints]:
        """For an array of ports the row of the element and the end each stands for; -1: none."""
        order = np.argsort(self._refs)
        at = rows_of(self._refs[order], ports)
        if not len(order):
            return at, at
        row = order[at]
        known = (at >= 0) & (self._number[row] >= 0)
        return np.where(known, self._owners[row], -1), np.where(known, self._number[row], -1)

    def _facts_by_element(self) -> list[PortFacts]:
        """What the ports of each element say; elements whose ports say the same share it."""
        keys: list[object] = [system for _, system in self._attributes_of]
        if any(self._sizes) or any(self._groups):
            ports = zip(keys, self._sizes, self._groups, strict=True)
            keys = [(system, size and size.value, held) for system, size, held in ports]
        known: dict[tuple[object, ...], PortFacts] = {}
        found = []
        for a, b in pairwise(self._bounds.tolist()):
            key = tuple(keys[a:b])
            port_facts = known.get(key)
            if port_facts is None:
                port_facts = known[key] = self._port_facts(a, b)
            found.append(port_facts)
        return found

    def _port_facts(self, a: int, b: int) -> PortFacts:
        """What the ports from `a` to `b` say."""
        return PortFacts(
            tuple([system for _, system in self._attributes_of[a:b] if system is not None]),
            tuple([group for held in self._groups[a:b] if held for group in held]),
            tuple(self._sizes[a:b]),
        )


class _PortColumns(NamedTuple):
    """Ports as they are written: the GlobalId and placement of each, which of the different names
    and of the different groups of enumerations (flow, kind, system) it has."""

    guids: NDArray[np.bytes_]
    placed: Ints
    name_of: Ints
    names: list[str]
    tail_of: Ints
    tails: list[tuple[bytes, ...]]

    def ranks(self) -> Ints:
        """Of each of the different names how many others stand before it."""
        _, ranks = np.unique(self.names, return_inverse=True)
        return ranks.astype(np.int64)


def _as_columns(text: TextIndex, rows: Ints) -> _PortColumns | None:
    """Ports that are all written alike: '<GlobalId>',#1,'name',$,$,#2,$,.SINK.,.PIPE.,.DRAINAGE.;
    None where one is not."""

    if not len(rows):
        return None
    guids = text.opens[rows] + 2
    begins, ends = guids + GUID + 2, text.ends[rows] - 1
    tails_begin = ends
    for _ in range(len(arguments(text.arguments(rows[:1])[0])) - BEFORE_ENUMERATIONS):
        tails_begin = last_of(text, COMMA, tails_begin, begins)
    if (tails_begin <= begins).any() or (text.signs[begins - 1] != COMMA).any():
        return None
    found, before, well = references(text, tails_begin - 1, 2)
    if not well.all() or (text.signs[before] != COMMA).any() or (before <= begins).any():
        return None
    name_of, examples = texts(text, begins, before)
    heads = text.between(begins[examples], before[examples])
    names = _names(text, heads)
    tail_of, examples = texts(text, tails_begin + 1, ends)
    tails = text.between(tails_begin[examples] + 1, ends[examples])
    written = [tuple(tail.split(b",")) for tail in tails]
    plain = names is not None and all(map(_ENUMERATIONS.fullmatch, tails))
    if not names or not plain:
        return None
    guid_signs = np.ascontiguousarray(text.signs[guids[:, None] + np.arange(GUID)])
    written_guids = guid_signs.view(f"S{GUID}")[:, 0]
    return _PortColumns(written_guids, found[:, 0], name_of, names, tail_of, written)


def _names(text: TextIndex, heads: list[bytes]) -> list[str] | None:
    """The names among owner, name, description and object type; None where one is unusual."""
    joined = b"\n".join(heads)
    usual = _OWNER_TO_OBJECT_TYPE.findall(joined.decode("ascii")) if joined.isascii() else ()
    if len(usual) == len(heads):
        is_plain = text.plain and max(map(len, heads)) <= LONGEST
        tidy = str.strip if is_plain and not any(b"\\" in head for head in heads) else clean
        return list(map(tidy, usual))
    written = list(map(arguments, heads))
    return [clean(string(w[1])) for w in written] if all(len(w) == 4 for w in written) else None


def _line_by_line(text: TextIndex, rows: Ints) -> _PortColumns:
    lines = [[*arguments(line), b"$", b"$"] for line in text.arguments(rows)]
    each = np.arange(len(lines))
    placed = np.array([number(line[5]) for line in lines], dtype=np.int64)
    names = [clean(string(line[2])) for line in lines]
    guids = np.array([line[0].strip(b"'") for line in lines], dtype=np.bytes_)
    tails = [tuple(line[7:10]) for line in lines]
    return _PortColumns(guids, placed, each, names, each, tails)


def axis_ends(element: Element, axis: Axis) -> None:
    """Give a pipe the ends of its axis that its ports do not already stand for."""
    if len(axis.points) > 2:
        element.course = axis.points
    placed = element.places
    if len(placed) >= 2:
        return
    if not placed:
        element.basis["ends"] = axis.basis
    missing: list[Point] = [axis.points[0], axis.points[-1]]
    reach = SAME_PLACE_M + (axis.outside_m or 0.0)
    for port in placed:
        nearest = min(missing, key=lambda p: math.dist(p, port))
        if math.dist(nearest, port) <= reach:
            missing.remove(nearest)
    unplaced = [e for e in element.ends if e.position is None]
    for end, point in zip(_by_flow(unplaced) if unplaced else (), missing, strict=False):
        end.position = point
    element.ends += [End(p) for p in missing[len(unplaced) :]]


def leg_ends(axes: list[Axis]) -> list[Point]:
    """The outer ends of a fitting drawn as legs: where only one of its axes begins or ends."""
    tips = [(i, axis.points[k]) for i, axis in enumerate(axes) for k in (0, -1)]
    return [
        p
        for i, p in tips
        if not any(j != i and _passes(other, p, axes[i]) for j, other in enumerate(axes))
    ]


def _passes(axis: Axis, p: Point, own: Axis) -> bool:
    """Whether a point of its own axis lies on another, within the half of what is drawn about it;
    where both leave one middle, the tip of one lies beside the other, however near."""
    firsts = [a.points[k] for a in (axis, own) for k in (0, -1)]
    from_one = any(math.dist(a, b) < SAME_POINT_M for a in firsts[:2] for b in firsts[2:] if b != p)
    reach = SAME_PLACE_M / 20 if from_one else SAME_PLACE_M / 2
    return any(
        math.dist(p, foot(p, a, b)[0]) < reach
        for a, b in zip(axis.points, axis.points[1:], strict=False)
    )


def _by_flow(ends: list[End]) -> list[End]:
    return sorted(ends, key=lambda e: {"in": 0, "": 1, "both": 1, "out": 2}[e.flow])
