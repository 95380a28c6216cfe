"""Drainage directed by gravity: from every element to the place its water leaves the model.

The ends of the drainage elements, merged where they are joined, are places; water moves from
place to place through the elements. A way costs its length and, far more, its climb, so that the
cheapest way from a fixture is the one water takes: down the drain, not up and over the vents.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from math import dist

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components, dijkstra

from ifclint.ifc.elements import DRAINAGE, Element, Point, Role, System
from ifclint.network import Network

CLIMB_COST = 1000.0  # metres of pipe that water would rather travel than climb one metre
GRAVITY_CLIMB_M = 0.30  # a way that climbs more in all is a vent, not a drain
LEVEL_M = 0.002  # a smaller difference in height is none
LEAVING = frozenset({"sewer-connection", "septic-tank"})
PASSED_THROUGH = frozenset({"manhole", "inspection-chamber"})
PUMPED = frozenset({"sump"})
_DRAINAGE_ROLES = frozenset(
    {Role.TRAP, Role.CLEANOUT, Role.VENT_TERMINAL, Role.INTERCEPTOR, Role.CHAMBER}
)
INDIRECT = frozenset({"pan-drain"})  # drains in an emergency, into the open
NO_DRAIN = frozenset({"hose-bibb", "ice-maker", "roof-drain"}) | INDIRECT


@dataclass(frozen=True, slots=True)
class Outlet:
    """Where drainage ends. `accepted` is False where it merely stops in the model."""

    element: int
    position: Point | None
    kind: str  # "sewer-connection", "manhole", "named in the job file", "pumped", "open end", ...
    basis: str
    accepted: bool


@dataclass
class Drainage:
    """The drainage elements and their flow, as a forest toward the outlets.

    Lists are indexed by element (as in the network); -1 stands for none. `order` holds the
    drainage elements upstream first, so that one pass over it can add up loads.
    """

    members: list[int]
    down: list[int]  # the next element downstream
    exit_place: list[int]  # the place through which the element is left
    outlet: list[int]  # index into `outlets`
    order: list[int]
    outlets: list[Outlet]
    places: list[Point | None]
    ends_at: list[list[int]]  # element -> the place of each of its ends
    joined: list[int]  # element -> how many of its ends are joined to drainage
    cross_joints: list[int] = field(default_factory=list)  # joints no water uses: loops

    def accumulate(self, values: dict[int, float]) -> list[float]:
        """What passes each element when each source element gives its value."""
        flow = [0.0] * len(self.down)
        for element, value in values.items():
            flow[element] += value
        for element in self.order:
            below = self.down[element]
            if below >= 0:
                flow[below] += flow[element]
        return flow

    def upstream(self) -> list[list[int]]:
        """The elements that flow directly into each element."""
        above: list[list[int]] = [[] for _ in self.down]
        for element in self.members:
            if self.down[element] >= 0:
                above[self.down[element]].append(element)
        return above


def direct(network: Network, job_outlets: Sequence[str] = ()) -> Drainage:
    """Direct the drainage of a network to its outlets."""
    members = _members(network)
    places, ends_at, joined, used = _places(network, members)
    graph = _Graph(network.elements, members, places, ends_at)
    flow = _Flow(graph.size)
    outlets = _outlets(network, graph, job_outlets)
    graph.spread(flow, outlets, np.ones(graph.size, dtype=bool))
    stranded = ~(flow.climb <= GRAVITY_CLIMB_M)
    if stranded.any():
        flow.forget(stranded)
        more = _stops(network, graph, stranded)
        graph.spread(flow, more, stranded, first=len(outlets))
        outlets = outlets + more
    return _forest(network, graph, flow, outlets, joined, used)


def _members(network: Network) -> list[int]:
    """The drainage elements: by system, by what they are, or joined to a trap with no system."""
    elements = network.elements
    inside = [
        element.system in DRAINAGE
        or is_drain_source(element)
        or element.kind in INDIRECT
        or (element.role in _DRAINAGE_ROLES and element.system is None)
        for element in elements
    ]
    frontier = [
        i
        for i, element in enumerate(elements)
        if inside[i] and element.role not in (Role.FIXTURE, Role.APPLIANCE)
    ]
    while frontier:
        for neighbour in network.graph.adj[frontier.pop()]:
            element = elements[neighbour]
            unclaimed = element.system is None and element.role in (Role.PIPE, Role.FITTING)
            if not inside[neighbour] and unclaimed:
                inside[neighbour] = True
                frontier.append(neighbour)
    return [i for i, is_member in enumerate(inside) if is_member]


def _places(
    network: Network, members: list[int]
) -> tuple[list[Point | None], list[list[int]], list[int], list[int]]:
    """Merge joined ends into places. Also the joints used, and how many ends of each are joined."""
    elements = network.elements
    first: dict[int, int] = {}
    count = 0
    for index in members:
        first[index] = count
        count += max(len(elements[index].ends), 1)
    parent = list(range(count))

    def root(end: int) -> int:
        while parent[end] != end:
            parent[end] = parent[parent[end]]
            end = parent[end]
        return end

    joined = [0] * len(elements)
    used = []
    for number, joint in enumerate(network.joints):
        if joint.a not in first or joint.b not in first or joint.a == joint.b:
            continue
        a, b = root(first[joint.a] + joint.a_end), root(first[joint.b] + joint.b_end)
        used.append(number)
        joined[joint.a] += 1
        joined[joint.b] += 1
        if a != b:
            parent[b] = a
    number_of: dict[int, int] = {}
    places: list[Point | None] = []
    ends_at: list[list[int]] = [[] for _ in elements]
    for index in members:
        element = elements[index]
        positions = [end.position for end in element.ends] or [element.position]
        for k, position in enumerate(positions):
            end = root(first[index] + k)
            if end not in number_of:
                number_of[end] = len(places)
                places.append(position)
            elif places[number_of[end]] is None:
                places[number_of[end]] = position
            ends_at[index].append(number_of[end])
    return places, ends_at, joined, used


class _Graph:
    """Nodes are the members (0 .. m-1) and then the places; edges element to place."""

    def __init__(
        self,
        elements: list[Element],
        members: list[int],
        places: list[Point | None],
        ends_at: list[list[int]],
    ) -> None:
        self.members, self.places, self.ends_at = members, places, ends_at
        self.node_of = {index: node for node, index in enumerate(members)}
        self.size = len(members) + len(places)
        centres = [centre(elements[i], [places[p] for p in ends_at[i]]) for i in members]
        self.points = centres + places
        self.z = np.array([np.nan if p is None else p[2] for p in self.points])
        vents = [elements[i].system is System.VENT for i in members]
        self.in_vent = np.array(vents + [False] * len(places))
        pairs = [
            (node, len(members) + place)
            for node, index in enumerate(members)
            for place in ends_at[index]
        ]
        a, b = np.array(pairs, dtype=np.int64).reshape(-1, 2).T
        where = np.array([(np.nan,) * 3 if p is None else p for p in self.points]).reshape(-1, 3)
        length = np.nan_to_num(np.linalg.norm(where[a] - where[b], axis=1)) + 1e-6
        self.ends_of_place = np.bincount(b, minlength=self.size)
        # weights run against the water: from the outlet up; entry [to, from] is the way from -> to
        climb_ab = np.nan_to_num(np.maximum(self.z[b] - self.z[a], 0.0))
        climb_ba = np.nan_to_num(np.maximum(self.z[a] - self.z[b], 0.0))
        cost = np.concatenate([length + CLIMB_COST * climb_ab, length + CLIMB_COST * climb_ba])
        rows, columns = np.concatenate([b, a]), np.concatenate([a, b])
        # a place joined twice by one element would add up its costs: keep the least
        order = np.lexsort((cost, columns, rows))
        rows, columns, cost = rows[order], columns[order], cost[order]
        keep = np.ones(len(rows), dtype=bool)
        keep[1:] = (rows[1:] != rows[:-1]) | (columns[1:] != columns[:-1])
        self.matrix = csr_matrix(
            (cost[keep], (rows[keep], columns[keep])), shape=(self.size, self.size)
        )

    def component(self, mask: NDArray[np.bool_] | None = None) -> NDArray[np.int_]:
        matrix = self.matrix
        if mask is not None:
            keep = csr_matrix(
                (mask.astype(float), (np.arange(self.size), np.arange(self.size))),
                shape=matrix.shape,
            )
            matrix = keep @ matrix @ keep
        labels: NDArray[np.int_] = connected_components(matrix, directed=False)[1]
        return labels

    def spread(
        self, flow: _Flow, outlets: list[Outlet], mask: NDArray[np.bool_], first: int = 0
    ) -> None:
        """Walk up from the outlets through the nodes of the mask, filling `flow`."""
        sinks = [self._sink(outlet) for outlet in outlets]
        if not sinks:
            return
        matrix = self.matrix
        if not mask.all():
            keep = csr_matrix(
                (mask.astype(float), (np.arange(self.size), np.arange(self.size))),
                shape=matrix.shape,
            )
            matrix = (keep @ matrix @ keep).tocsr()
        distance, before, source = dijkstra(
            matrix, indices=sinks, min_only=True, return_predecessors=True
        )
        number_of = {sink: first + i for i, sink in reversed(list(enumerate(sinks)))}
        reached = np.flatnonzero(np.isfinite(distance) & mask)
        for node in reached[np.argsort(distance[reached], kind="stable")].tolist():
            below = int(before[node])
            flow.below[node] = below if below >= 0 else -1
            flow.outlet[node] = number_of[int(source[node])]
            flow.rank[node] = distance[node]
            flow.climb[node] = flow.climb[below] + self._climb(node, below) if below >= 0 else 0.0

    def _climb(self, node: int, below: int) -> float:
        """How far water rises from a node to the next. Up a vent it does not go at all."""
        step = float(self.z[below] - self.z[node])
        if step > LEVEL_M and (self.in_vent[node] or self.in_vent[below]):
            return step + GRAVITY_CLIMB_M
        return step if step > 0 else 0.0

    def _sink(self, outlet: Outlet) -> int:
        node = self.node_of[outlet.element]
        if outlet.position is None or outlet.kind != "open end":
            return node
        ends = self.ends_at[outlet.element]
        return len(self.members) + min(ends, key=lambda p: _apart(self.places[p], outlet.position))


class _Flow:
    """What the walk finds for each node."""

    def __init__(self, size: int) -> None:
        self.below = np.full(size, -1, dtype=np.int64)
        self.outlet = np.full(size, -1, dtype=np.int64)
        self.rank = np.full(size, np.inf)
        self.climb = np.full(size, np.inf)

    def forget(self, mask: NDArray[np.bool_]) -> None:
        self.below[mask] = -1
        self.outlet[mask] = -1
        self.rank[mask] = np.inf
        self.climb[mask] = np.inf


def centre(element: Element, ends: Sequence[Point | None]) -> Point | None:
    """Where the axes of an element meet: its own origin when that lies among its ends.

    Water starts at the top of a fixture, whatever else (supplies, overflows) is joined to it.
    """
    known = [p for p in ends if p is not None]
    if not known:
        return element.position
    mean = tuple(sum(p[k] for p in known) / len(known) for k in range(3))
    if is_drain_source(element):
        return (mean[0], mean[1], max(p[2] for p in known))
    origin = element.position
    if element.role is not Role.PIPE and origin is not None and len(known) > 1:
        reach = max(dist(p, mean) for p in known)
        if dist(origin, mean) <= reach + 1e-6:
            return origin
    return (mean[0], mean[1], mean[2])


def _apart(a: Point | None, b: Point | None) -> float:
    return dist(a, b) if a is not None and b is not None else float("inf")


def _open_ends(network: Network, graph: _Graph) -> Iterable[tuple[int, int]]:
    """(element, place) of the ends of pipes and fittings that nothing is joined to."""
    shift = len(graph.members)
    for index in graph.members:
        element = network.elements[index]
        if element.role in (Role.PIPE, Role.FITTING) and element.kind != "cap":
            for place in graph.ends_at[index]:
                if graph.ends_of_place[shift + place] == 1 and graph.places[place] is not None:
                    yield index, place


def _outlets(network: Network, graph: _Graph, job_outlets: Sequence[str]) -> list[Outlet]:
    """The outlets the job file or the model names; where there is none, open ends that lead out."""
    elements = network.elements
    label = graph.component()
    named = set(job_outlets)
    found: list[Outlet] = []
    chambers: dict[int, int] = {}  # component -> its lowest chamber
    for node, index in enumerate(graph.members):
        element = elements[index]
        if element.guid in named:
            found.append(Outlet(index, element.position, "named", "job file", True))
        elif element.role is Role.CHAMBER and element.kind in LEAVING:
            found.append(Outlet(index, element.position, element.kind, "model", True))
        elif element.role is Role.CHAMBER and element.kind in PUMPED:
            found.append(Outlet(index, element.position, "pumped", "model", True))
        elif element.role is Role.CHAMBER and element.kind in PASSED_THROUGH:
            lowest = chambers.get(label[node])
            if lowest is None or _height(graph, index) < _height(graph, lowest):
                chambers[label[node]] = index
    served = {int(label[graph.node_of[o.element]]) for o in found if o.kind != "pumped"}
    for component, index in chambers.items():
        if component not in served:
            served.add(int(component))
            element = elements[index]
            basis = "the lowest chamber of its piping"
            found.append(Outlet(index, element.position, element.kind, basis, True))
    return found if served else found + _leaving_open_ends(network, graph, label)


def _leaving_open_ends(network: Network, graph: _Graph, label: NDArray[np.int_]) -> list[Outlet]:
    """Where the model names no outlet at all: the lowest open end of each part, if it lies below
    the lowest floor or takes at least half of the fixtures."""
    lowest_floor = min((s.elevation_m for s in network.model.storeys), default=-float("inf"))
    sources = [i for i in graph.members if is_drain_source(network.elements[i])]
    fixtures = Counter(int(label[graph.node_of[i]]) for i in sources)
    found = []
    for index, place in _lowest_open_ends(network, graph, label):
        component = int(label[graph.node_of[index]])
        if _place_z(graph, place) < lowest_floor:
            basis = "the lowest open end of its piping, below the lowest floor"
        elif 2 * fixtures[component] >= len(sources) > 0:
            basis = "the lowest open end of the piping that takes most fixtures"
        else:
            continue
        found.append(Outlet(index, graph.places[place], "open end", basis, True))
    return found


def _lowest_open_ends(
    network: Network, graph: _Graph, label: NDArray[np.int_]
) -> list[tuple[int, int]]:
    """The lowest open end of each component."""
    lowest: dict[int, tuple[int, int]] = {}
    for index, place in _open_ends(network, graph):
        component = int(label[graph.node_of[index]])
        best = lowest.get(component)
        if best is None or _place_z(graph, place) < _place_z(graph, best[1]):
            lowest[component] = (index, place)
    return list(lowest.values())


def _place_z(graph: _Graph, place: int) -> float:
    position = graph.places[place]
    return position[2] if position is not None else float("inf")


def _height(graph: _Graph, index: int) -> float:
    return min((_place_z(graph, p) for p in graph.ends_at[index]), default=float("inf"))


def _stops(network: Network, graph: _Graph, stranded: NDArray[np.bool_]) -> list[Outlet]:
    """Where the water of stranded piping ends up: its lowest open end, else its lowest point."""
    label = graph.component(stranded)
    stops: dict[int, Outlet] = {}
    for index in graph.members:
        node = graph.node_of[index]
        element = network.elements[index]
        if stranded[node] and element.role is Role.PUMP:
            component = int(label[node])
            stops[component] = Outlet(index, element.position, "pumped", "model", True)
    open_ends: dict[int, tuple[int, int]] = {}
    for index, place in _open_ends(network, graph):
        if not stranded[graph.node_of[index]] or not stranded[len(graph.members) + place]:
            continue
        component = int(label[graph.node_of[index]])
        best = open_ends.get(component)
        if best is None or _place_z(graph, place) < _place_z(graph, best[1]):
            open_ends[component] = (index, place)
    for component, (index, place) in open_ends.items():
        stop = Outlet(index, graph.places[place], "open end", "nothing is joined to it", False)
        stops.setdefault(component, stop)
    lowest: dict[int, int] = {}
    for index in graph.members:
        component = int(label[graph.node_of[index]])
        if stranded[graph.node_of[index]] and component not in stops:
            best_index = lowest.get(component)
            if best_index is None or _height(graph, index) < _height(graph, best_index):
                lowest[component] = index
    for component, index in lowest.items():
        position = network.elements[index].position
        stops[component] = Outlet(index, position, "low point", "its lowest element", False)
    return list(stops.values())


def _forest(
    network: Network,
    graph: _Graph,
    flow: _Flow,
    outlets: list[Outlet],
    joined: list[int],
    used: list[int],
) -> Drainage:
    shift = len(graph.members)
    total = len(network.elements)
    down, exit_place, outlet = [-1] * total, [-1] * total, [-1] * total
    for node, index in enumerate(graph.members):
        place = int(flow.below[node])
        outlet[index] = int(flow.outlet[node])
        if place < 0:
            continue
        exit_place[index] = place - shift
        below = int(flow.below[place])
        down[index] = graph.members[below] if below >= 0 else -1
    ranked = sorted(range(shift), key=lambda n: -flow.rank[n] if flow.rank[n] < np.inf else 0.0)
    order = [graph.members[n] for n in ranked]
    cross = [
        number for number in used if _crosses(network, number, down, exit_place, graph.ends_at)
    ]
    return Drainage(
        graph.members, down, exit_place, outlet, order, outlets, graph.places, graph.ends_at,
        joined, cross,
    )  # fmt: skip


def _crosses(
    network: Network,
    number: int,
    down: list[int],
    exit_place: list[int],
    ends_at: list[list[int]],
) -> bool:
    """True where neither element of the joint flows out through the place they share."""
    joint = network.joints[number]
    place = ends_at[joint.a][joint.a_end]
    return exit_place[joint.a] != place and exit_place[joint.b] != place


def is_drain_source(element: Element) -> bool:
    """Fixtures, and appliances that drain by a pipe of their own, give water to the drainage."""
    return (element.role is Role.FIXTURE and element.kind not in NO_DRAIN) or (
        element.role is Role.APPLIANCE and element.kind == "dishwasher-appliance"
    )
