"""Where drainage ends: the outlets a model or a job file names, and where stranded drains stop."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from ifclint.ifc.elements import Role
from ifclint.network import Network
from ifclint.plumbing.flow.gravity_graph import Graph, Outlet, is_drain_source

LEAVING = frozenset({"sewer-connection", "septic-tank"})
PASSED_THROUGH = frozenset({"manhole", "inspection-chamber"})
PUMPED = frozenset({"sump"})


def _open_ends(network: Network, graph: Graph) -> Iterable[tuple[int, int]]:
    """(element, place) of the ends of pipes and fittings that nothing is joined to."""
    shift = len(graph.members)
    for index in graph.members:
        element = network.elements[index]
        if element.role in (Role.PIPE, Role.FITTING) and element.kind != "cap":
            for place in graph.ends_at[index]:
                if graph.ends_of_place[shift + place] == 1 and graph.places[place] is not None:
                    yield index, place


def named_outlets(network: Network, graph: Graph, job_outlets: Sequence[str]) -> list[Outlet]:
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
            certain = _height(graph, index) < _lowest_floor(network, float("inf"))
            found.append(Outlet(index, element.position, element.kind, basis, True, certain))
    return found if served else found + _leaving_open_ends(network, graph, label)


def _leaving_open_ends(network: Network, graph: Graph, label: NDArray[np.int_]) -> list[Outlet]:
    """Where the model names no outlet at all: the lowest open end of each part, if it lies below
    the lowest floor or, less certainly, takes at least half of the fixtures."""
    lowest_floor = _lowest_floor(network, -float("inf"))
    sources = [i for i in graph.members if is_drain_source(network.elements[i])]
    fixtures = Counter(int(label[graph.node_of[i]]) for i in sources)
    found = []
    for index, place in _lowest_open_ends(network, graph, label):
        component = int(label[graph.node_of[index]])
        certain = _place_z(graph, place) < lowest_floor
        if certain:
            basis = "the lowest open end of its piping, below the lowest floor"
        elif 2 * fixtures[component] >= len(sources) > 0:
            basis = "the lowest open end of the piping that takes most fixtures"
        else:
            continue
        found.append(Outlet(index, graph.places[place], "open end", basis, True, certain))
    return found


def _lowest_floor(network: Network, unknown: float) -> float:
    return min((s.elevation_m for s in network.model.storeys), default=unknown)


def _lowest_open_ends(
    network: Network, graph: Graph, label: NDArray[np.int_]
) -> list[tuple[int, int]]:
    """The lowest open end of each component."""
    lowest: dict[int, tuple[int, int]] = {}
    for index, place in _open_ends(network, graph):
        component = int(label[graph.node_of[index]])
        best = lowest.get(component)
        if best is None or _place_z(graph, place) < _place_z(graph, best[1]):
            lowest[component] = (index, place)
    return list(lowest.values())


def _place_z(graph: Graph, place: int) -> float:
    position = graph.places[place]
    return position[2] if position is not None else float("inf")


def _height(graph: Graph, index: int) -> float:
    return min((_place_z(graph, p) for p in graph.ends_at[index]), default=float("inf"))


def stops(network: Network, graph: Graph, stranded: NDArray[np.bool_]) -> list[Outlet]:
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
