"""What a person would look for to find a place: the nearest fixture or appliance with a name."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from itertools import islice
from math import dist
from typing import NamedTuple

from ifclint.corrections.heights import DrainRun
from ifclint.engineering.joined import onward
from ifclint.engineering.near import NearPlaces
from ifclint.ifc.elements import Element, Location, Point, Role, System, without_number
from ifclint.network import Network
from ifclint.plumbing.drainage.gravity import Drainage

PLACED = frozenset({Role.FIXTURE, Role.HEATER, Role.APPLIANCE, Role.METER})
REACH_M = 8.0  # what is farther off is no help to find a place
PASSED = 40  # elements on the way from piping to what it leads to; beyond, that is no help either
PIPING = frozenset({Role.PIPE, Role.FITTING, Role.VALVE, Role.TRAP, Role.CLEANOUT, Role.PUMP})
OUTLET = "toward the outlet"


class _Alike(NamedTuple):
    """What is named alike on one storey: how many have each mark, and where they stand."""

    marks: Counter[str]
    spaces: set[str]


class Landmarks:
    """The fixtures, appliances and meters of a building that are named somehow and have a place."""

    def __init__(self, elements: Sequence[Element]) -> None:
        self._placed = defaultdict[str, list[tuple[Point, Element]]](list)  # by storey
        self._alike = defaultdict[tuple[str, str], _Alike](lambda: _Alike(Counter(), set()))
        self._by_guid: dict[str, Element] = {}
        for e in elements:
            if e.role in PLACED and e.label != e.role and e.position is not None:
                self._by_guid[e.guid] = e
                self._placed[e.storey].append((e.position, e))
                alike = self._alike[e.storey, without_number(e.label)]
                alike.marks[e.mark] += 1
                alike.spaces.add(e.space)
        self._near = {
            storey: NearPlaces([at for at, _ in placed]) for storey, placed in self._placed.items()
        }

    def near(self, place: Location) -> str:
        """The nearest on the same storey; "" where none is within reach."""
        placed = self._placed.get(place.storey)
        if not placed or place.x is None or place.y is None or place.z is None:
            return ""
        at = place.x, place.y, place.z
        near = [placed[n] for n in self._near[place.storey].around([at], REACH_M)[0]]
        away = ((dist(at, there), e.label, n) for n, (there, e) in enumerate(near))
        *_, n = min(away, default=(0.0, "", -1))
        return self._told_apart(near[n][1]) if near else ""

    def own(self, network: Network, guids: Sequence[str]) -> str:
        """The first of some elements that is one, else the one that their piping alone leads to;
        "" where there is none."""
        own = next((self._by_guid[guid] for guid in guids if guid in self._by_guid), None)
        if own is not None:
            return self._told_apart(own)
        ends = [end for end in _led_to(network, set(guids)) if end.is_straight]
        nearest = min(ends, key=lambda end: end.passed, default=None)
        return self._told_apart(nearest.element) if nearest is not None else ""

    def of_drain(self, way: DrainWay) -> str:
        """Where a drain runs as its water does: "from Sink S-1 to the stack"; "" where nothing with
        a name drains into it."""
        first = next((e for e in islice(way.drained, PASSED) if e.guid in self._by_guid), None)
        if first is None:
            return way.into
        said = self._told_apart(first)
        return f"from {said} {way.into}" if way.into else f"on the line of {said}"

    def ends(self, network: Network, own: AbstractSet[str]) -> str:
        """Where piping runs, by what it leads to at its ends: "from Sink S-1 toward Sink S-2"; ""
        where it leads to nothing with a name. It runs toward what lies past a branch."""
        found = sorted(_led_to(network, own), key=lambda end: end.passed)
        led_to = [(self._told_apart(end.element), end.is_straight) for end in found]
        at = list(dict.fromkeys(name for name, is_end in led_to if is_end))
        past = list(dict.fromkeys(name for name, is_end in led_to if not is_end and name not in at))
        if len(at) > 1:
            return f"from {at[0]} to {at[1]}"
        if at and past:
            return f"from {at[0]} toward {past[0]}"
        if len(past) > 1:
            return f"between {past[0]} and {past[1]}"
        return f"at {at[0]}" if at else f"toward {past[0]}" if past else ""

    def _told_apart(self, one: Element) -> str:
        """Its name; where others of its storey are named alike, with its mark or its room, by
        whichever it is known from them."""
        marks, spaces = self._alike[one.storey, without_number(one.label)]
        if len(marks) == marks[one.mark] == 1:
            return one.label
        if one.mark not in one.label and marks[one.mark] == 1:
            return f"{one.label} {one.mark}"
        if one.space and len(spaces) > 1:
            return f"{one.label} in {one.space}"
        return one.label


class _End(NamedTuple):
    """What piping leads to past one of its ends."""

    element: Element
    is_straight: bool  # nothing branches off before it
    passed: int  # elements between


def _led_to(network: Network, own: AbstractSet[str]) -> Iterator[_End]:
    """What some piping leads to past each of its ends, the nearest alone."""
    elements = network.elements
    inside = sorted(i for guid in own for i in network.of_guid.get(guid, ()))
    systems = {elements[i].system for i in inside}
    systems |= {System.SANITARY} if System.VENT in systems else set()
    for begin in dict.fromkeys(n for i in inside for n in network.neighbours(i)):
        if elements[begin].guid not in own:
            yield from _nearest(network, begin, {*inside}, systems)


def _nearest(
    network: Network, begin: int, seen: set[int], systems: AbstractSet[System | None]
) -> Iterator[_End]:
    """The first that a search from an element meets."""
    reached, straight = [begin], True
    for index in reached:
        element = network.elements[index]
        if element.role in PLACED:
            if element.label != element.role and element.position is not None:
                yield _End(element, straight, len(seen))
            return
        if element.role not in PIPING or len(reached) > PASSED:
            return
        seen.add(index)
        onward = [i for i in network.neighbours(index) if i not in seen]
        straight = straight and len(onward) < 2
        reached += [i for i in onward if _goes_on(network.elements[i], systems)]


def _goes_on(element: Element, systems: AbstractSet[System | None]) -> bool:
    return element.role in PLACED or element.system in {*systems, None}


class DrainWay(NamedTuple):
    """A run of drain: what drains into its upper end, the nearest first, and what it leads into,
    in words ("to the stack"); "" where that is not known."""

    drained: Iterator[Element]
    into: str


class DrainWays:
    """The drains of a building: `drained` directs them, `runs` tells by key what each is."""

    def __init__(
        self, network: Network, runs: Mapping[str, DrainRun], drained: Sequence[Drainage]
    ) -> None:
        self._network, self._runs = network, runs
        self._of = {index: flow for flow in drained for index in flow.order if self._part(index)}
        self._rank = {i: n for flow in drained for n, i in enumerate(flow.order) if i in self._of}

    def _part(self, index: int) -> str:
        run = self._runs.get(self._network.elements[index].key)
        return run.part if run is not None else ""

    def upper_first(self, indexes: Sequence[int]) -> list[int]:
        """Elements as their water runs; as they are where some are no drains."""
        if not all(i in self._rank for i in indexes):
            return list(indexes)
        return sorted(indexes, key=lambda i: -self._rank[i])

    def way(self, guids: Iterable[str]) -> DrainWay | None:
        """That of some pieces, from the uppermost to the lowest; None where they are no drains, or
        do not all lead to the lowest."""
        inside = (i for guid in guids for i in self._network.of_guid.get(guid, ()))
        own = self.upper_first([i for i in inside if i in self._rank])
        if not own:
            return None
        flow = self._of[own[0]]
        if any(own[-1] not in onward(i, flow.down) for i in own):
            return None
        return DrainWay(self._drained(flow, own[0]), self._into(flow, own[-1]))

    def _drained(self, flow: Drainage, index: int) -> Iterator[Element]:
        """What drains into an element, the nearest first."""
        reached = [index]
        for i in reached:
            yield flow.elements[i]
            reached += flow.beyond[i]

    def _into(self, flow: Drainage, index: int) -> str:
        """The next part of the drainage after that of an element, else the outlet."""
        part = self._part(index)
        following = (self._part(i) for i in onward(index, flow.down))
        other = next((p for p in following if p not in ("", part)), "")
        if other:
            return f"to the {other}"
        outlet = flow.outlet_of(index)
        if outlet is None:
            return ""
        ends = flow.elements[outlet.element]
        return f"toward {ends.label}" if ends.role is Role.CHAMBER and ends.name else OUTLET
