"""Directing piping under pressure: the shortest paths from its sources."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cached_property

import numpy as np

from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.joined import NONE, by_length
from ifclint.ifc.elements import Element, Role, System
from ifclint.network import Network
from ifclint.plumbing.flow.distribution import INFINITE, Connection, Distribution
from ifclint.plumbing.flow.loops import keep_loops
from ifclint.plumbing.flow.paths import Arcs, Paths, Reached, reached
from ifclint.plumbing.flow.places import Floats, Places, distances

NO_LENGTH_M = 1e-6  # the length of a path whose ends are not known

Uses = Callable[[Element], bool]
SideOf = Callable[[Element], int]


class PressurePiping:
    """The piping before it is directed: nodes are the elements it can pass, then the places."""

    def __init__(
        self, network: Network, members: Iterable[int], uses: Uses, side_of: SideOf | None
    ) -> None:
        self.network = network
        self.places = Places(network, list(members), side_of)
        elements = network.elements
        self.users = {i for i in self.places.members if uses(elements[i])}
        self.passable = [i for i in self.places.members if i not in self.users]
        self.node_of = {index: node for node, index in enumerate(self.passable)}
        self._heaters = [i for i in self.passable if elements[i].role is Role.HEATER]
        self.shift = len(self.passable)
        passed = np.array([i not in self.users for i in self.places.members], dtype=bool)
        self._passed, counts = passed, self.places.counts
        self._kept = np.repeat(passed, counts)
        self.element = np.repeat(np.arange(self.shift), counts[passed])
        self.place = self.places.place_of_end[self._kept]
        self.length_m = self._lengths()

    def _lengths(self) -> Floats:
        """From the middle of an element to each of its ends: half of a pipe, else as drawn."""
        elements = [self.network.elements[i] for i in self.passable]
        stated = np.array(
            [(e.length_m or np.nan) if e.role is Role.PIPE else np.nan for e in elements]
        )
        middles = self.places.middles[self._passed]
        drawn = np.nan_to_num(distances(self.places.end_points[self._kept], middles[self.element]))
        halves = stated[self.element] / 2
        return np.asarray(np.where(np.isnan(halves), drawn, halves) + NO_LENGTH_M)

    def search(self, sources: set[int]) -> Reached | None:
        """The shortest paths from the sources; None where there is none."""
        starts = sorted(self.node_of[index] for index in sources if index in self.node_of)
        if not starts:
            return None
        return reached(self.shift + len(self.places.points), self.found_from(starts))

    def found_from(self, starts: Iterable[int]) -> Iterator[tuple[float, int, int]]:
        """The nodes that sources lead to, the nearest first: how far, which, and from which."""
        given = {start: self._given(start) for start in starts}
        return by_length(
            [(0.0, start) for start in given],
            lambda node: given[node] if node in given else self.arcs(node),
        )

    def _given(self, source: int) -> list[tuple[int, float]]:
        """Where a source leads: not out of an end that is told to lead in."""
        index = self.passable[source]
        ends = self.network.elements[index].ends
        at = list(zip(self.places.ends_at[index], ends, strict=False))
        out = {place + self.shift for place, end in at if end.flow != "in"}
        return [arc for arc in self.arcs(source) if arc[0] in out or not ends]

    @cached_property
    def arcs(self) -> Arcs:
        """Where each node leads to: both ways, but through a heater as its ports say. One without
        a cold port that takes hot water in heats it further."""
        inward, outward = self.length_m.copy(), self.length_m.copy()
        for index in self._heaters:
            first = int(np.searchsorted(self.element, self.node_of[index]))
            ends = self.network.elements[index].ends
            boosts = all(end.system is not System.COLD_WATER for end in ends)
            for k, end in enumerate(ends, first):
                is_fed_hot = boosts and end.flow == "in"
                if end.flow == "out" or (end.system is System.HOT_WATER and not is_fed_hot):
                    inward[k] = np.inf
                if end.flow == "in" or end.system is System.COLD_WATER:
                    outward[k] = np.inf
        size, place = self.shift + len(self.places.points), self.place + self.shift
        return Paths(size, self.element, place, outward, inward).arcs()

    @cached_property
    def used_at(self) -> frozenset[int]:
        """The nodes of the places at which something uses."""
        of_users = ~self._passed.repeat(self.places.counts)
        return frozenset((self.places.place_of_end[of_users] + self.shift).tolist())


def distribute(
    network: Network,
    members: Iterable[int],
    sources: Sequence[int],
    uses: Uses,
    side_of: SideOf | None = None,
) -> Distribution:
    """Direct the members from the sources.

    Nothing passes through an element that `uses` (a fixture, an appliance): each joined end of it
    becomes a `Connection`. Between elements of different sides, as `side_of` tells them (0 is
    either), nothing passes; such joints stand in `refused`. An element whose ends say "in" and
    "out" is passed in that direction only if it is a source or a heater.
    """
    return directed_from(PressurePiping(network, members, uses, side_of), sources)


def directed_from(piping: PressurePiping, sources: Sequence[int]) -> Distribution:
    """The same for piping that is seen from several sources in turn."""
    return _directed(piping, sources, piping.search(set(sources)))


def _directed(
    piping: PressurePiping, sources: Sequence[int], reached: Reached | None
) -> Distribution:
    if reached is None:
        size = piping.shift + len(piping.places.points)
        nothing = np.full(size, NONE, dtype=np.int64)
        reached = Reached(np.full(size, np.inf), nothing, nothing)
    made = _forest(piping, reached, sources)
    keep_loops(made, _closings(piping, reached))
    return made


def _forest(piping: PressurePiping, reached: Reached, sources: Sequence[int]) -> Distribution:
    total, shift, passable = len(piping.network.elements), piping.shift, piping.passable
    up, entry, length = [NONE] * total, [NONE] * total, [INFINITE] * total
    before = reached.before.tolist()
    nodes = np.argsort(reached.far[:shift], kind="stable")
    order = []
    for node, distance in zip(nodes.tolist(), reached.far[nodes].tolist(), strict=True):
        if distance == INFINITE:
            break
        index, place = passable[node], before[node]
        order.append(index)
        length[index] = distance
        if place != NONE:
            entry[index] = place - shift
            up[index] = passable[before[place]]
    places = piping.places
    return Distribution(
        piping.network, places.members, up, entry, order, places.points, places.ends_at,
        list(sources), length, list(_connections(piping, reached)), piping.users, places.refused,
        reached.far[shift:].tolist(),
    )  # fmt: skip


def _connections(piping: PressurePiping, reached: Reached) -> Iterator[Connection]:
    """Every end of a user that piping is joined to."""
    piped = set(piping.place.tolist())
    far, before = reached.far.tolist(), reached.before.tolist()
    for index in piping.places.members:
        if index not in piping.users:
            continue
        for end, place in enumerate(piping.places.ends_at[index]):
            if place not in piped:
                continue
            node = before[place + piping.shift]
            if node != NONE:
                at = place + piping.shift
                yield Connection(index, end, place, piping.passable[node], far[at])
            else:
                yield Connection(index, end, place, NONE, None)


def _closings(piping: PressurePiping, reached: Reached) -> Iterator[tuple[int, int, int]]:
    """Pairs of reached elements, and the place where they meet, neither feeding the other."""
    places, before = piping.place + piping.shift, reached.before
    both = np.isfinite(reached.far[piping.element]) & np.isfinite(reached.far[places])
    free = both & (before[places] != piping.element) & (before[piping.element] != places)
    for k in np.flatnonzero(free).tolist():
        feeder = piping.passable[int(before[places[k]])]
        yield piping.passable[int(piping.element[k])], feeder, int(piping.place[k])


def head_of(piping: PressurePiping, meter: int) -> int:
    """Where piping begins: the far end of what lies before a meter, else the meter itself.

    What lies before it is the one side of it that leads to nothing that uses; where neither of two
    does, as on the drawing of a site, not the one that leads to the house: that with the more
    valves, or else the longer.
    """
    network = piping.network
    if len(network.joined[meter]) < 2:
        return meter
    if meter not in piping.node_of or _is_used_on_all_sides(piping, piping.node_of[meter]):
        return meter
    whole = directed_from(piping, [meter])
    used = whole.passed_by(c.up for c in whole.connections)
    below = whole.beyond
    sides = [side for side in below[meter] if not used[side]]
    inlets = {i for i, end in enumerate(network.elements[meter].ends) if end.flow == "in"}
    stated = [s for s in sides if whole.ends_at[meter].index(whole.through[s]) in inlets]
    if len(sides) == len(below[meter]) == 2 and not stated:
        sides = _away_from_the_house(whole, sides)
    elif len(sides) == len(below[meter]):
        return meter
    if len(sides) != 1 and len(stated) != 1:
        return meter
    index = (stated or sides)[0]
    while len(below[index]) == 1:
        index = below[index][0]
    return index if not below[index] else meter


def _away_from_the_house(whole: Distribution, sides: list[int]) -> list[int]:
    """Of two sides of a meter on which nothing uses, the one with fewer valves or, where these are
    as many, the shorter; both where nothing tells them apart."""
    elements = whole.elements
    valves = whole.how_many(i for i in whole.order if elements[i].role is Role.VALVE)
    pipe_m = whole.accumulate({i: or_zero(elements[i].length_m) for i in whole.order})
    one, other = sorted(sides, key=lambda i: (valves[i], pipe_m[i]))
    apart = (valves[one], pipe_m[one]) < (valves[other], pipe_m[other])
    return [one] if apart else [one, other]


def _is_used_on_all_sides(piping: PressurePiping, meter: int) -> bool:
    """Whether something uses what goes out at every side of a meter.

    It is looked no farther than that takes: where there are many meters, all else lies beyond each.
    """
    beside = {node for place, _ in piping.arcs(meter) for node, _ in piping.arcs(place)}
    side, unused = dict[int, int](), set[int]()
    for _, node, came in piping.found_from([meter]):
        if came in side:
            side[node] = side[came]
        elif came != NONE and node < piping.shift:  # across a place of the meter
            side[node] = node
            unused.add(node)
        if node in piping.used_at:
            unused.discard(side.get(node, NONE))
        beside.discard(node)
        if not beside and not unused:
            return True
    return not unused
