"""The gas piping of a network traced from its sources: segments, zones, appliances, regulators."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise, takewhile

from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.joined import NONE, onward
from ifclint.engineering.tolerance import at_most, lies_above
from ifclint.ifc.elements import Element, Point, Role, System
from ifclint.network import Network
from ifclint.plumbing.flow.distribution import Connection, Distribution
from ifclint.plumbing.flow.meters import street_meters
from ifclint.plumbing.flow.pressure import distribute
from ifclint.plumbing.gas.connectors import is_connector
from ifclint.plumbing.gas.gas_piping import (
    GasAppliance,
    GasPiping,
    GasRegulator,
    GasSegment,
    GasZone,
    is_regulator,
    middle_of,
)

USERS = frozenset({Role.APPLIANCE, Role.HEATER})
BURNERS = frozenset({"furnace", "range", "dryer", "fireplace"})  # may burn gas, or be electric
CLOSED_BY_HAND = frozenset({Role.PIPE, Role.FITTING, Role.VALVE})  # their ends must be joined
GIVING = frozenset({Role.METER, Role.TANK})  # where the owner's piping begins
STRANGERS = frozenset({Role.OTHER, Role.FIXTURE})  # what takes gas at an end, and is not understood
CAPS = frozenset({"cap", "sediment-trap"})  # what a nipple that catches dirt ends in
PLUMB_M = 0.02  # a nipple leans less than this


def find_gas(network: Network, sources: Sequence[str] = ()) -> GasPiping | None:
    """The gas piping of a network; None where it has neither gas piping nor a gas appliance.

    `sources` are the GlobalIds of the job file; else the gas meters that no other feeds, else the
    first regulators from the tanks (of two-stage propane the first stage; the tank where there is
    none), else the only regulator.
    """
    elements = network.elements
    joined = {
        i
        for joint in network.joints
        for i, other in ((joint.a, joint.b), (joint.b, joint.a))
        if elements[i].role in USERS and elements[other].system is System.GAS
    }
    piping = [i for i, e in enumerate(elements) if e.system is System.GAS and e.role not in USERS]
    users = [
        i
        for i, e in enumerate(elements)
        if e.role in USERS and (i in joined or _burns_gas(e) or (piping and _may_burn_gas(e)))
    ]
    if not piping and not users:
        return None
    begin = _sources(network, [*piping, *sorted(joined)], sources)
    made = distribute(network, [*piping, *sorted(joined)], begin, lambda e: e.role in USERS)
    return _GasBuilder(made, begin, users, joined).piping(piping)


def _burns_gas(element: Element) -> bool:
    return element.system is System.GAS or element.properties.text("energy") == "gas"


def _may_burn_gas(element: Element) -> bool:
    """Whether nothing tells that something of a kind that often burns gas is electric."""
    usual = element.role is Role.HEATER or element.kind in BURNERS
    return usual and not element.properties.text("energy")


def _sources(network: Network, piping: list[int], named: Sequence[str]) -> list[int]:
    elements = network.elements
    if named:
        return [i for i in piping if elements[i].guid in named]
    meters = [i for i in piping if elements[i].role is Role.METER]
    regulators = [i for i in piping if is_regulator(elements[i])]
    if len(meters) > 1:
        return street_meters(network, piping, meters, lambda e: e.role in USERS)
    if meters or len(regulators) == 1:
        return meters or regulators
    tanks = [i for i in piping if elements[i].role is Role.TANK]
    return sorted({i for tank in tanks for i in _first_behind(network, tank, set(piping))})


def _first_behind(network: Network, tank: int, piping: set[int]) -> set[int]:
    """The first regulators on every way from a tank; the tank where it is joined to none."""
    found, seen, waiting = set[int](), {tank}, [tank]
    while waiting:
        for near in network.neighbours(waiting.pop()):
            if near in piping and near not in seen:
                seen.add(near)
                if is_regulator(network.elements[near]):
                    found.add(near)
                else:
                    waiting.append(near)
    is_joined = len(seen) > 1
    return found or ({tank} if is_joined else set())


def _joined_to(made: Distribution, begin: list[int]) -> set[int]:
    """All members joined to the sources, whichever way gas flows."""
    return set().union(*(p for p in made.network.pieces(made.members) if not p.isdisjoint(begin)))


def _make(pipe: Element) -> tuple[object, ...]:
    """What is the same for all pipe of a segment; corrugated tube also has a flow designation."""
    return pipe.size_in, pipe.material, pipe.properties.number("ehd"), is_connector(pipe)


@dataclass
class _Passed:
    """What is known where piping leaves an element."""

    segment: GasSegment | None
    zone: GasZone
    broken_m: float | None  # where the segment ended, at a junction or regulator behind it


class _GasBuilder:
    """Runs, zones and appliances, from the source outward."""

    def __init__(
        self, made: Distribution, begin: list[int], users: list[int], joined: set[int]
    ) -> None:
        self.made, self.begin, self.users, self.joined = made, begin, users, joined
        self.elements = made.elements
        self.fed: dict[int, list[Connection]] = {}  # by the element that feeds it
        self.paths: dict[int, list[Connection]] = {}  # by the appliance
        for connection in made.connections:
            if connection.up != NONE:
                self.fed.setdefault(connection.up, []).append(connection)
                self.paths.setdefault(connection.element, []).append(connection)
        self.feeds = made.passed_by(c.up for c in made.connections)
        self.beside = _joined_to(made, begin)
        self.down = made.down()
        self.passed: dict[int, _Passed] = {}
        self.segments: list[GasSegment] = []
        self.zones: list[GasZone] = []
        self.regulators: list[GasRegulator] = []

    def piping(self, piping: list[int]) -> GasPiping:
        for index in self.made.order:
            if self.feeds[index]:
                self._pass(index)
        appliances = [self._appliance(i) for i in self.users]
        for appliance in appliances:
            for segment in appliance.segments:
                segment.appliances.append(appliance)
            if appliance.segment is not None:
                appliance.segment.zone.appliances.append(appliance)
        opened = self._open_ends(piping)
        return GasPiping(
            [self.elements[i] for i in self.begin],
            [self.elements[i] for i in piping],
            self.segments,
            [segment for index in self.begin for segment in self._before(index)],
            appliances,
            self.zones,
            self.regulators,
            [self.elements[loop.meets] for loop in self.made.loops],
            [self.elements[i] for i in piping if self._is_stray(i)],
            opened,
            self._unknown_takers(piping, opened),
            [self.elements[i] for i in piping if self._ends_alone(i)],
            self._zone_of(),
            self.made,
        )

    def _zone_of(self) -> dict[str, GasZone]:
        """The zone of everything fed, dead ends too."""
        zones: dict[int, GasZone] = {}
        for index in self.made.order:
            feed = self.made.up[index]
            passed = self.passed.get(index)
            zone = passed.zone if passed is not None else zones.get(feed)
            if zone is not None:
                zones[index] = zone
        return {self.elements[i].guid: zone for i, zone in zones.items()}

    def _open_ends(self, piping: list[int]) -> list[Element]:
        """What is fed and has an end that is joined to nothing; a cap closes its pipe."""
        taken = self.made.network.taken_ends
        return [
            self.elements[i]
            for i in piping
            if self.elements[i].role in CLOSED_BY_HAND
            and self.elements[i].kind not in CAPS
            and not is_regulator(self.elements[i])  # its vent is open
            and i not in self.begin
            and self.made.reached(i)
            and any((i, end) not in taken for end in range(len(self.elements[i].ends)))
            and not self._is_service_or_vent(i)
        ]

    def _unknown_takers(self, piping: list[int], opened: list[Element]) -> list[Element]:
        """What is fed and ends at what is neither gas piping nor known to burn gas."""
        network = self.made.network
        elsewhere = [e for e in opened if e.guid in network.model.leads_elsewhere]
        last = [
            self.elements[i]
            for i in piping
            if i not in self.begin
            and self.made.reached(i)
            and self.elements[i].role not in STRANGERS
            and all(self.elements[n].role in STRANGERS for n in self.down[i])
            and any(self.elements[n].role in STRANGERS for n in network.neighbours(i))
            and not self._is_service_or_vent(i)
        ]
        return elsewhere + [e for e in last if e not in opened]

    def _ends_alone(self, index: int) -> bool:
        """Whether a line ends at what has one end only, and is no cap: its other is not drawn."""
        element, network = self.elements[index], self.made.network
        return (
            element.role in CLOSED_BY_HAND
            and element.kind not in CAPS
            and len(element.ends) == 1
            and index not in self.begin
            and self.made.reached(index)
            and len(network.neighbours(index)) == 1
            and not is_regulator(element)
            and not self._is_service_or_vent(index)
        )

    def _is_service_or_vent(self, index: int) -> bool:
        """Whether an element lies before its source, or on the vent of a regulator.

        Both are sides that feed no appliance, where another side does.
        """
        path = self.made.path(index)
        return any(
            not self.feeds[side]
            and any(self.feeds[other] for other in self.down[start])
            and (start == path[0] or is_regulator(self.elements[start]))
            for start, side in pairwise(path)
        )

    def _before(self, start: int) -> list[GasSegment]:
        """The piping from a source back to the tank, regulator or meter that feeds it.

        What lies before a meter is the supplier's, and so is what lies before a source of which
        nothing tells where its gas comes from.
        """
        found: list[GasSegment] = []
        if self.elements[start].role is Role.METER or not self.feeds[start]:
            return found
        zone = GasZone(self.elements[start], 0.0, False)
        for side in sorted(self.made.network.neighbours(start)):
            tree = self._backward(start, side)
            elements = [self.elements[i] for i, _ in tree]
            if any(e.role in GIVING or is_regulator(e) for e in elements):  # it is no vent
                found += self._segments_before(tree, zone)
        return found

    def _backward(self, start: int, side: int) -> list[tuple[int, int]]:
        """The elements of a side through which no gas comes to an appliance, each with that it is
        met from, as far as the tanks and meters there."""
        members, tree = set(self.made.members), list[tuple[int, int]]()
        seen, waiting = {start}, [(side, start)]
        while waiting:
            index, met_from = waiting.pop()
            if index in seen or index not in members or self.feeds[index]:
                continue
            seen.add(index)
            tree.append((index, met_from))
            if self.elements[index].role not in GIVING:
                waiting += [(i, index) for i in sorted(self.made.network.neighbours(index))]
        return tree

    def _segments_before(self, tree: list[tuple[int, int]], zone: GasZone) -> list[GasSegment]:
        segment_of, found = dict[int, GasSegment | None](), list[GasSegment]()
        for index, met_from in tree:
            element, segment = self.elements[index], segment_of.get(met_from)
            if element.role is not Role.PIPE:
                if segment is not None and element.role not in GIVING:
                    segment.fittings.append(element)
                    segment.path.append(element)
            elif segment is not None and _make(segment.first) == _make(element):
                segment.pipes.append(element)
                segment.path.append(element)
            else:
                segment = GasSegment(
                    [element], [], zone, segment, 0.0, 0.0, path=[element], is_before_source=True
                )
                found.append(segment)
            segment_of[index] = segment
        return found

    def _is_stray(self, index: int) -> bool:
        """Pipe that no source feeds, and that is not the service before one."""
        if not self.begin or self.elements[index].role is not Role.PIPE:
            return False
        return not self.made.reached(index) and index not in self.beside

    def _pass(self, index: int) -> None:
        element, feed = self.elements[index], self.made.up[index]
        before = self.passed.get(feed) or self._first_zone(index)
        if element.role is Role.PIPE:
            self.passed[index] = _Passed(self._segment(index, feed, before), before.zone, None)
            return
        if before.segment is not None and before.broken_m is None:
            before.segment.fittings.append(element)
            before.segment.path.append(element)
        zone, broken = before.zone, before.broken_m
        if self._is_junction(index) and broken is None:
            broken = self.made.length_m[index]
        if is_regulator(element) and index not in self.begin:
            zone, broken = (
                self._behind(index, before.zone, before.segment),
                self.made.length_m[index],
            )
        if broken is not None and before.segment is not None and before.broken_m is None:
            before.segment.end_m = broken
        self.passed[index] = _Passed(before.segment, zone, broken)

    def _first_zone(self, index: int) -> _Passed:
        zone = GasZone(self.elements[index], 0.0, True)
        self.zones.append(zone)
        return _Passed(None, zone, 0.0)

    def _behind(self, index: int, zone: GasZone, segment: GasSegment | None) -> GasZone:
        at_m = self.made.length_m[index]
        behind = GasZone(self.elements[index], at_m, False, zone)
        regulator = GasRegulator(self.elements[index], index, at_m, zone, behind, segment)
        zone.regulators.append(regulator)
        self.zones.append(behind)
        self.regulators.append(regulator)
        return behind

    def _is_junction(self, index: int) -> bool:
        loaded = sum(self.feeds[i] for i in self.down[index])
        return loaded + len(self.fed.get(index, ())) > 1

    def _segment(self, index: int, feed: int, before: _Passed) -> GasSegment:
        pipe, segment = self.elements[index], before.segment
        half = or_zero(pipe.length_m) / 2
        end_m = self.made.length_m[index] + half
        branches = (
            feed != NONE and self.elements[feed].role is Role.PIPE and self._is_junction(feed)
        )
        alike = segment is not None and (_make(segment.first) == _make(pipe))
        if segment is not None and alike and before.broken_m is None and not branches:
            segment.pipes.append(pipe)
            segment.path.append(pipe)
            segment.end_m = end_m
            return segment
        start_m = before.broken_m
        if start_m is None:
            start_m = (
                self.made.length_m[index] - half if branches or feed == NONE else self._after(feed)
            )
            if segment is not None:
                segment.end_m = start_m
        made = GasSegment([pipe], [], before.zone, segment, start_m, end_m, path=[pipe])
        self.segments.append(made)
        return made

    def _after(self, feed: int) -> float:
        """Where a segment begins behind an element: its middle, or the end of a pipe."""
        element = self.elements[feed]
        half = or_zero(element.length_m) / 2 if element.role is Role.PIPE else 0.0
        return self.made.length_m[feed] + half

    def _appliance(self, index: int) -> GasAppliance:
        element = self.elements[index]
        joined = index in self.joined
        is_stated = joined or _burns_gas(element)
        appliance = GasAppliance(element, index, joined=joined, is_stated=is_stated)
        paths = self.paths.get(index)
        if not paths:
            return appliance
        connection = min(paths, key=lambda c: or_zero(c.length_m))
        own = self._own(connection.up)
        last = self.passed[connection.up]
        appliance.own = tuple(self.elements[i] for i in own)
        appliance.at_m = tuple(self.made.length_m[i] for i in own)
        appliance.length_m = connection.length_m
        appliance.segment = last.segment
        appliance.sediment_trap, nipple_m = self._sediment_trap(own)
        appliance.nipple_m = nipple_m if nipple_m != 0.0 else None  # of one piece with its cap
        if last.segment is not None and last.broken_m is None and connection.length_m is not None:
            last.segment.end_m = connection.length_m
        return appliance

    def _own(self, index: int) -> list[int]:
        """The elements up to one, past the last junction before it."""
        own = takewhile(lambda i: not self._is_junction(i), onward(index, self.made.up))
        return [*own][::-1]

    def _sediment_trap(self, own: list[int]) -> tuple[Element, float] | tuple[None, None]:
        """The last tee from which a nipple hangs down to a cap, and the nipple's length."""
        for index in reversed(own):
            for side in self.down[index]:
                nipple_m = None if self.feeds[side] else self._nipple_m(index, side)
                if nipple_m is not None:
                    return self.elements[index], nipple_m
        return None, None

    def _nipple_m(self, tee: int, side: int) -> float | None:
        """The length of pipe plumb down from a tee to a cap, or to what is called a sediment trap;
        None where there is no such."""
        index, length = side, 0.0
        while self.elements[index].kind not in CAPS:
            element, down = self.elements[index], self.down[index]
            if len(down) != 1 or element.kind not in ("", "coupling"):
                return None
            length += or_zero(element.length_m) if element.role is Role.PIPE else 0.0
            index = down[0]
        bottom, top = middle_of(self.elements[index]), self._outlet(tee, side)
        if bottom is None or top is None or lies_above(bottom[2], top[2]):
            return None
        leans = max(abs(bottom[0] - top[0]), abs(bottom[1] - top[1]))
        return length if at_most(leans, PLUMB_M, "m") else None

    def _outlet(self, tee: int, side: int) -> Point | None:
        """Where an element leaves a tee."""
        place = self.made.entry[side]
        return self.made.places[place] if place != NONE else middle_of(self.elements[tee])
