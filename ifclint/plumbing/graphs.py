"""The plumbing as directed graphs of networkx, for rules that ask what no subject tells.

    import networkx as nx
    from ifclint.ifc.elements import Role, System

    graph = context.plumbing.graph(System.SANITARY)
    below = nx.descendants(graph, fixture.element.guid)  # all that its water passes
    traps = [i for i in below if graph.nodes[i]["element"].role is Role.TRAP]

Nodes are GlobalIds with their `element`; an edge leads from an element to the next in the direction
of flow and tells the `point` where they meet and the developed `length_m` between their middles
(None where not known).
"""

from __future__ import annotations

from collections.abc import Iterable
from math import dist
from typing import TYPE_CHECKING

from ifclint.engineering.joined import NONE
from ifclint.ifc.elements import Point, System

if TYPE_CHECKING:
    import networkx as nx

    from ifclint.plumbing import Plumbing
    from ifclint.plumbing.flow.distribution import Distribution

Edge = tuple[int, int, "Point | None", "float | None"]


def flow_graph(plumbing: Plumbing, service: System) -> nx.DiGraph:
    """The piping of a service in the direction of flow. ValueError for one that is not followed.

    Drainage segments to its outlet, a vent to the open air, water and gas from their source.
    """
    import networkx as nx

    graph = nx.DiGraph(service=service.value)
    elements = plumbing.network.elements
    members, edges = _followed(plumbing, service)
    graph.add_nodes_from((elements[i].guid, {"element": elements[i]}) for i in members)
    for a, b, point, length_m in edges:
        graph.add_edge(elements[a].guid, elements[b].guid, point=point, length_m=length_m)
    return graph


def _followed(plumbing: Plumbing, service: System) -> tuple[Iterable[int], Iterable[Edge]]:
    if service is System.SANITARY:
        return plumbing.drainage.members, _drains(plumbing)
    if service is System.VENT:
        trees = plumbing.venting.trees
        return [i for tree in trees for i in tree.members], _vents(plumbing)
    if service in (System.COLD_WATER, System.HOT_WATER):
        word = service.value.split()[0]
        carrying = [s for s in plumbing.supply.segments if s.service == word]
        members = [i for segment in carrying for i in segment.indexes]
        return members, _led(plumbing.supply.distribution, set(members))
    if service is System.GAS:
        if plumbing.gas is None:
            return [], []
        made = plumbing.gas.distribution
        members = [i for i in made.members if i not in made.users]
        return members, _led(made, set(members))
    raise ValueError(f"{service.value} is not followed in the direction of flow")


def _drains(plumbing: Plumbing) -> Iterable[Edge]:
    drainage, middles = plumbing.drainage, plumbing.drainage.middles
    for index in drainage.members:
        below, place = drainage.down[index], drainage.exit_place[index]
        if below != NONE:
            point = drainage.places[place] if place != NONE else None
            yield index, below, point, _length(middles[index], point, middles[below])


def _vents(plumbing: Plumbing) -> Iterable[Edge]:
    for tree in plumbing.venting.trees:
        for index, following in tree.toward.items():
            length = tree.to_air_m[index] - tree.to_air_m[following]
            yield index, following, None, length


def _led(made: Distribution, members: set[int]) -> Iterable[Edge]:
    for index in made.order:
        for feed in made.feeds(index):
            if index in members and feed in members:
                place = made.entry[index] if feed == made.up[index] else NONE
                point = made.places[place] if place != NONE else None
                yield feed, index, point, made.length_m[index] - made.length_m[feed]


def _length(a: Point | None, point: Point | None, b: Point | None) -> float | None:
    if a is None or point is None or b is None:
        return None
    return dist(a, point) + dist(point, b)
