"""Drainage directed by gravity: from every element to the place its water leaves the model."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from ifclint.ifc.elements import Point
from ifclint.network import Network
from ifclint.plumbing.drainage.outlets import named_outlets, stops
from ifclint.plumbing.flow.gravity_graph import (
    GRAVITY_CLIMB_M,
    INDIRECT,
    Flow,
    Graph,
    Outlet,
    centre,
    drainage_members,
    is_drain_source,
    merge_ends,
)

__all__ = ["INDIRECT", "Drainage", "Outlet", "centre", "direct", "is_drain_source"]


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
    members = drainage_members(network)
    places, ends_at, joined, used = merge_ends(network, members)
    graph = Graph(network.elements, members, places, ends_at)
    flow = Flow(graph.size)
    outlets: list[Outlet] = []
    named = named_outlets(network, graph, job_outlets)
    by_gravity = [outlet for outlet in named if outlet.kind != "pumped"]
    pumped = [outlet for outlet in named if outlet.kind == "pumped"]
    left = np.ones(graph.size, dtype=bool)
    for found in (by_gravity, pumped, None):  # to a pump only what reaches no outlet by itself
        more = stops(network, graph, left) if found is None else found
        graph.spread(flow, more, left, first=len(outlets))
        outlets = outlets + more
        left = ~(flow.climb <= GRAVITY_CLIMB_M)
        if not left.any():
            break
        if found is not None:
            flow.forget(left)
    return _forest(network, graph, flow, outlets, joined, used)


def _forest(
    network: Network,
    graph: Graph,
    flow: Flow,
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
