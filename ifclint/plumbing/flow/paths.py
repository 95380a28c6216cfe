"""The paths between the middles of elements and their places, and the cheapest from some starts.

A node is an element or, after the elements, a place; an arc leads from the middle of an element to
one of its places, at one cost outward and at another back. By gravity a path is searched from the
outlets up and costs what water going the other path would rather avoid; under pressure it is
searched from the sources and costs its length.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from ifclint.engineering.joined import NONE, by_length, labels
from ifclint.plumbing.flow.places import Flags, Floats, Ints

Arcs = Callable[[int], Iterable[tuple[int, float]]]  # where a node leads to, and at what cost


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
        return labels(self.size, self.element[kept], self.place[kept])

    def arcs(self, mask: Flags | None = None) -> Arcs:
        """Where each node leads to, through the nodes of the mask."""
        out, back = np.isfinite(self.outward), np.isfinite(self.inward)
        if mask is not None:
            inside = mask[self.element] & mask[self.place]
            out, back = out & inside, back & inside
        rows = np.concatenate([self.element[out], self.place[back]])
        order = np.argsort(rows, kind="stable")
        first = np.searchsorted(rows[order], np.arange(self.size + 1)).tolist()
        to = np.concatenate([self.place[out], self.element[back]])[order].tolist()
        costs = np.concatenate([self.outward[out], self.inward[back]])[order].tolist()
        arcs = list(zip(to, costs, strict=True))

        def beside(node: int) -> Iterable[tuple[int, float]]:
            return arcs[first[node] : first[node + 1]]

        return beside

    def search(self, starts: Sequence[int], mask: Flags | None = None) -> Reached:
        """The cheapest paths from the nearest of the starts, through the nodes of the mask."""
        return reached(self.size, by_length([(0.0, start) for start in starts], self.arcs(mask)))


def reached(size: int, found: Iterable[tuple[float, int, int]]) -> Reached:
    """What a search finds of each of `size` nodes."""
    far, before, start = [np.inf] * size, [NONE] * size, [NONE] * size
    for cost, node, came in found:
        far[node], before[node] = cost, came
        start[node] = start[came] if came != NONE else node
    return Reached(np.array(far), np.array(before, np.int64), np.array(start, np.int64))
