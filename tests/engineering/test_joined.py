"""What hangs together, held equal to a graph library."""

from __future__ import annotations

import networkx as nx
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ifclint.engineering.joined import NONE, after_all, by_length, by_steps, labels, onward, pieces

SIZE = 12
EDGES = st.lists(st.tuples(st.integers(0, SIZE - 1), st.integers(0, SIZE - 1)), max_size=20)
LENGTHS = st.lists(st.integers(0, 9), min_size=20, max_size=20)
Edges = list[tuple[int, int]]


def _graph(edges: Edges) -> nx.Graph:
    graph = nx.Graph()
    graph.add_nodes_from(range(SIZE))
    graph.add_edges_from(edges)
    return graph


@given(EDGES)
def test_pieces_and_their_labels(edges: Edges) -> None:
    graph = _graph(edges)
    expected = sorted(map(sorted, nx.connected_components(graph)))
    found = list(pieces(range(SIZE), graph.neighbors))
    assert [min(piece) for piece in found] == sorted(map(min, found)), "in their order"
    assert sorted(map(sorted, found)) == expected
    ends = np.array(edges, dtype=np.int64).reshape(-1, 2)
    numbers = labels(SIZE, ends[:, 0], ends[:, 1])
    assert [np.flatnonzero(numbers == n).tolist() for n in range(len(expected))] == expected


def test_what_is_not_asked_about_joins_nothing() -> None:
    assert list(pieces([0, 2], _graph([(0, 1), (1, 2)]).neighbors)) == [{0}, {2}]


@given(EDGES, st.sets(st.integers(0, SIZE - 1), min_size=1))
def test_the_fewest_steps_from_the_nearest_start(edges: Edges, starts: set[int]) -> None:
    graph = _graph(edges)
    steps = nx.multi_source_dijkstra_path_length(graph, starts)
    came = by_steps(sorted(starts), graph.neighbors)
    assert came.keys() == steps.keys()
    assert {node for node, before in came.items() if before == NONE} == starts
    assert all(steps[node] == steps[b] + 1 for node, b in came.items() if b != NONE)
    assert [steps[node] for node in came] == sorted(steps[node] for node in came)


@given(EDGES, LENGTHS, st.sets(st.integers(0, SIZE - 1), min_size=1), LENGTHS)
def test_the_nearest_first(
    edges: Edges, lengths: list[int], starts: set[int], before: list[int]
) -> None:
    graph = nx.Graph()
    graph.add_nodes_from(range(SIZE))
    for (a, b), length in zip(edges, lengths, strict=False):
        graph.add_edge(a, b, weight=length)
    begun = [(float(before[start]), start) for start in sorted(starts)]
    graph.add_weighted_edges_from((SIZE, start, far) for far, start in begun)
    away = nx.single_source_dijkstra_path_length(graph, SIZE)
    graph.remove_node(SIZE)

    def beside(node: int) -> list[tuple[int, float]]:
        return [(other, graph.edges[node, other]["weight"]) for other in graph.neighbors(node)]

    found = list(by_length(begun, beside))
    assert {node: far for far, node, _ in found} == {n: away[n] for n in away if n != SIZE}
    assert len(found) == len({node for _, node, _ in found})
    assert [far for far, _, _ in found] == sorted(far for far, _, _ in found)
    for far, node, came in found:
        if came == NONE:
            assert (far, node) in begun
        else:
            assert far == away[came] + graph.edges[node, came]["weight"]


@given(EDGES)
def test_after_all_that_leads_to_it(edges: Edges) -> None:
    graph = nx.DiGraph()
    graph.add_nodes_from(range(SIZE))
    graph.add_edges_from(edges)
    leads = {node: list(graph.successors(node)) for node in range(SIZE)}
    order = after_all(leads)
    if nx.is_directed_acyclic_graph(graph):
        assert order == list(nx.lexicographical_topological_sort(graph))
    else:
        assert order is None


@pytest.mark.parametrize(("start", "expected"), [(0, [0, 2, 3]), (1, [1]), (3, [3]), (NONE, [])])
def test_onward_up_to_the_last(start: int, expected: list[int]) -> None:
    assert list(onward(start, [2, NONE, 3, NONE])) == expected
