"""The graph in which water moves: drainage elements and the places where their ends meet.

The ends of the drainage elements, merged where they are joined, are places; water moves from place
to place through the elements. A way costs its length and, far more, its climb, so that the cheapest
way from a fixture is the one water takes: down the drain, not up and over the vents.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
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
    certain: bool = True  # False where an outlet was taken for want of a better one


def is_drain_source(element: Element) -> bool:
    """Fixtures, and appliances that drain by a pipe of their own, give water to the drainage."""
    return (element.role is Role.FIXTURE and element.kind not in NO_DRAIN) or (
        element.role is Role.APPLIANCE and element.kind == "dishwasher-appliance"
    )


def drainage_members(network: Network) -> list[int]:
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
        for neighbour in network.neighbours(frontier.pop()):
            element = elements[neighbour]
            unclaimed = element.system is None and element.role in (Role.PIPE, Role.FITTING)
            if not inside[neighbour] and unclaimed:
                inside[neighbour] = True
                frontier.append(neighbour)
    return [i for i, is_member in enumerate(inside) if is_member]


def merge_ends(
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


class Graph:
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
        self, flow: Flow, outlets: list[Outlet], mask: NDArray[np.bool_], first: int = 0
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


class Flow:
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
        if dist(origin, mean) <= 1.1 * reach + 1e-6:
            return origin
    return (mean[0], mean[1], mean[2])


def _apart(a: Point | None, b: Point | None) -> float:
    return dist(a, b) if a is not None and b is not None else float("inf")
