"""The gas piping of a network traced from its sources: segments, zones, appliances, regulators."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import takewhile

from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.joined import NONE, onward
from ifclint.ifc.elements import Element, Role, System
from ifclint.network import Network
from ifclint.plumbing.flow.distribution import Connection
from ifclint.plumbing.flow.pressure import distribute
from ifclint.plumbing.gas.gas_piping import (
    GasAppliance,
    GasOutlet,
    GasPiping,
    GasRegulator,
    GasSegment,
    GasTree,
    GasZone,
    alike,
    is_regulator,
)
from ifclint.plumbing.gas.gas_sources import USERS, before_source, gas_sources
from ifclint.plumbing.gas.loose_ends import (
    ends_alone,
    find_outlets,
    is_stray,
    open_ends,
    sediment_trap,
    unknown_takers,
)
from ifclint.plumbing.words import is_indirect

ELECTRIC = "IfcElectricAppliance"
BURNERS = frozenset({"furnace", "range", "dryer", "fireplace"})  # may burn gas, or be electric


def find_gas(
    network: Network, sources: Sequence[str] = (), loaded: Sequence[str] = ()
) -> GasPiping | None:
    """The gas piping of a network; None where it has neither gas piping nor a gas appliance.

    `sources` are the GlobalIds of the job file; else the gas meters that no other feeds, else the
    first regulators from the tanks (of two-stage propane the first stage; the tank where there is
    none), else the only regulator. `loaded` are those of what the job file gives a load.
    """
    elements = network.elements
    joined = {
        i
        for i in network.of_roles(*USERS)
        if any(elements[other].system is System.GAS for other in network.beside(i))
    }
    piping = [i for i, e in enumerate(elements) if e.system is System.GAS and e.role not in USERS]
    users = [
        i
        for i in network.of_roles(*USERS)
        if i in joined or _burns_gas(elements[i]) or (piping and _may_burn_gas(elements[i]))
    ]
    if not piping and not users:
        return None
    begin = gas_sources(network, [*piping, *sorted(joined)], sources)
    made = distribute(network, [*piping, *sorted(joined)], begin, lambda e: e.role in USERS)
    tree = GasTree(made, begin)
    find_outlets(tree, loaded)
    return _GasBuilder(tree, users, joined).piping(piping)


def _burns_gas(element: Element) -> bool:
    return element.system is System.GAS or element.properties.text("energy") == "gas"


def _may_burn_gas(element: Element) -> bool:
    """Whether nothing tells that something of a kind that often burns gas is electric, or heated
    by a circuit. The class of an appliance tells that; water heaters of any kind are drawn as it.
    """
    if element.role is Role.HEATER:
        usual = not is_indirect(element)
    else:
        usual = element.kind in BURNERS and element.ifc_class != ELECTRIC
    return usual and not element.properties.text("energy")


@dataclass
class _Passed:
    """What is known where piping leaves an element."""

    segment: GasSegment | None
    zone: GasZone
    broken_m: float | None  # where the segment ended, at a junction or regulator behind it


class _GasBuilder:
    """Runs, zones, appliances and capped outlets, from the source outward."""

    def __init__(self, tree: GasTree, users: list[int], joined: set[int]) -> None:
        self.tree = tree
        self.made, self.begin, self.users, self.joined = tree.made, tree.begin, users, joined
        self.elements = tree.elements
        self.fed: dict[int, list[Connection]] = {}  # by the element that feeds it
        self.paths: dict[int, list[Connection]] = {}  # by the appliance
        for connection in tree.made.connections:
            if connection.up != NONE:
                self.fed.setdefault(connection.up, []).append(connection)
                self.paths.setdefault(connection.element, []).append(connection)
        self.feeds, self.down = tree.feeds, tree.down
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
        outlets = [self._outlet(i) for i in self.tree.outlets]
        for outlet in outlets:
            for segment in outlet.segments:
                segment.outlets.append(outlet)
        opened = open_ends(self.tree, piping)
        return GasPiping(
            source_elements=[self.elements[i] for i in self.begin],
            members=[self.elements[i] for i in piping],
            segments=self.segments,
            before=[s for index in self.begin for s in before_source(self.tree, index)],
            appliances=appliances,
            outlets=outlets,
            zones=self.zones,
            regulators=self.regulators,
            loops=[self.elements[loop.meets] for loop in self.made.loops],
            stray=[self.elements[i] for i in piping if is_stray(self.tree, i)],
            open_ends=opened,
            unknown_takers=unknown_takers(self.tree, piping, opened),
            ends_alone=[self.elements[i] for i in piping if ends_alone(self.tree, i)],
            zone_of=self._zone_of(),
            distribution=self.made,
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
            zone = self._behind(index, before.zone, before.segment)
            broken = self.made.length_m[index]
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
        if (
            segment is not None
            and alike(segment.first) == alike(pipe)
            and before.broken_m is None
            and not branches
        ):
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
        appliance.sediment_trap, nipple_m = sediment_trap(self.tree, own)
        appliance.nipple_m = nipple_m if nipple_m != 0.0 else None  # of one piece with its cap
        if last.segment is not None and last.broken_m is None and connection.length_m is not None:
            last.segment.end_m = connection.length_m
        return appliance

    def _outlet(self, index: int) -> GasOutlet:
        segment = self.passed[index].segment
        return GasOutlet(self.elements[index], index, self.made.length_m[index], segment)

    def _own(self, index: int) -> list[int]:
        """The elements up to one, past the last junction before it."""
        own = takewhile(lambda i: not self._is_junction(i), onward(index, self.made.up))
        return [*own][::-1]
