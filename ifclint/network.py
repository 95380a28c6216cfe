"""The connected network: elements as nodes, joints as edges. Knows no code and no trade rule."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import networkx as nx

from ifclint.ifc.elements import Element, Joint, Model, Role


@dataclass(frozen=True)
class Network:
    """A model and its graph.

    `graph` has the indexes of `model.elements` as nodes; an edge's `joints` holds the indexes of
    the joints between the two elements. An element joined to itself is a self-loop.
    """

    model: Model
    graph: nx.Graph

    @property
    def elements(self) -> list[Element]:
        return self.model.elements

    @property
    def joints(self) -> list[Joint]:
        return self.model.joints

    def islands(self) -> list[set[int]]:
        """Sets of connected elements, the largest first; a lone element is an island too."""
        return sorted(nx.connected_components(self.graph), key=len, reverse=True)

    def self_joined(self) -> list[int]:
        """Elements whose own ends are joined to each other."""
        return sorted(nx.nodes_with_selfloops(self.graph))

    def connected_share(self) -> float:
        """Pipes with every end joined, of all pipes; 0 where there is no pipe."""
        pipes = [i for i, element in enumerate(self.elements) if element.role is Role.PIPE]
        degree = Counter[int]()
        for joint in self.joints:
            degree[joint.a] += 1
            degree[joint.b] += 1
        return sum(degree[i] >= 2 for i in pipes) / len(pipes) if pipes else 0.0


def connect(model: Model) -> Network:
    """The network of a model as read."""
    graph = nx.Graph()
    graph.add_nodes_from(range(len(model.elements)))
    for number, joint in enumerate(model.joints):
        if graph.has_edge(joint.a, joint.b):
            graph[joint.a][joint.b]["joints"].append(number)
        else:
            graph.add_edge(joint.a, joint.b, joints=[number])
    return Network(model, graph)
