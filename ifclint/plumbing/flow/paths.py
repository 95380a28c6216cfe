"""The paths between the middles of elements and their places, and the cheapest from some starts.

A node is an element or, after the elements, a place; an arc leads from the middle of an element to
one of its places, at one cost outward and at another back. By gravity a path is searched from the
outlets up and costs what water going the other path would rather avoid; under pressure it is
searched from the sources and costs its length.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components, dijkstra

from ifclint.plumbing.flow.places import Flags, Floats, Ints


@dataclass(frozen=True)
class Reached:
    """What a search finds of every node: how far it is, from where it is reached (-1 for none),
    and from which start."""

    far: Floats
    before: Ints
    start: Ints


@dataclass
class Paths:
    """The arcs as arrays: element node, place node, and the costs (infinite: no path)."""

    size: int  # nodes in all
    element: Ints
    place: Ints
    outward: Floats  # from the element to the place
    inward: Floats  # from the place to the element

    def components(self, mask: Flags | None = None) -> Ints:
        """The connected component of every node, of those in the mask."""
        kept = np.ones(len(self.element), dtype=bool)
        if mask is not None:
            kept = mask[self.element] & mask[self.place]
        ends = (self.element[kept], self.place[kept])
        joined = csr_matrix((np.ones(len(ends[0])), ends), shape=(self.size, self.size))
        labels: Ints = connected_components(joined, directed=False)[1].astype(np.int64)
        return labels

    def search(self, starts: Sequence[int], mask: Flags | None = None) -> Reached:
        """The cheapest paths from the nearest of the starts, through the nodes of the mask."""
        out, back = np.isfinite(self.outward), np.isfinite(self.inward)
        if mask is not None:
            inside = mask[self.element] & mask[self.place]
            out, back = out & inside, back & inside
        rows = np.concatenate([self.element[out], self.place[back]])
        columns = np.concatenate([self.place[out], self.element[back]])
        costs = np.concatenate([self.outward[out], self.inward[back]])
        order = np.lexsort((costs, columns, rows))
        rows, columns, costs = rows[order], columns[order], costs[order]
        first = np.ones(len(rows), dtype=bool)  # of two ends at one place, the nearer
        first[1:] = (rows[1:] != rows[:-1]) | (columns[1:] != columns[:-1])
        arcs = csr_matrix(
            (costs[first], (rows[first], columns[first])), shape=(self.size, self.size)
        )
        far, before, start = dijkstra(
            arcs, indices=list(starts), min_only=True, return_predecessors=True
        )
        return Reached(far, np.where(before < 0, -1, before).astype(np.int64), start)
