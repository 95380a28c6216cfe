"""What hangs together: the connected pieces of things that are joined in pairs, and the way from
one to another.

For large graphs as arrays, for small ones by what lies beside each.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from heapq import heapify, heappop, heappush
from math import inf

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]

NONE = -1  # instead of a number, where there is no such element, place or outlet


def onward(index: int, following: Sequence[int] | Mapping[int, int]) -> Iterator[int]:
    """A thing and all after it, the next of each at its place in `following`; none of `NONE`."""
    while index != NONE:
        yield index
        index = following[index]


def labels(size: int, a: Ints, b: Ints) -> Ints:
    """The piece of each of `size` things, of which each of `a` is joined to the one of `b`.

    Pieces are numbered from 0 in the order of their first things.
    """
    first = np.arange(size, dtype=np.int64)  # of all that is known to hang together, the first
    while len(a):
        one, other = first[a], first[b]
        apart = one != other
        a, b, one, other = a[apart], b[apart], one[apart], other[apart]
        np.minimum.at(first, np.maximum(one, other), np.minimum(one, other))
        while not np.array_equal(nearer := first[first], first):
            first = nearer
    return np.unique(first, return_inverse=True)[1].astype(np.int64)


def pieces(nodes: Iterable[int], beside: Callable[[int], Iterable[int]]) -> Iterator[set[int]]:
    """The connected pieces of some nodes, in their order. What lies beside counts where it is one
    of them."""
    left = dict.fromkeys(nodes)
    while left:
        start = next(iter(left))
        del left[start]
        piece, waiting = {start}, [start]
        while waiting:
            for other in beside(waiting.pop()):
                if other in left:
                    del left[other]
                    piece.add(other)
                    waiting.append(other)
        yield piece


def by_steps(starts: Iterable[int], beside: Callable[[int], Iterable[int]]) -> dict[int, int]:
    """All that is reached from the starts, the fewest steps first, with what each is reached from;
    `NONE` for a start."""
    came = dict.fromkeys(starts, NONE)
    waiting = list(came)
    for node in waiting:  # grows meanwhile
        for other in beside(node):
            if other not in came:
                came[other] = node
                waiting.append(other)
    return came


def after_all(leads: Mapping[int, Iterable[int]]) -> list[int] | None:
    """All after everything that leads to it, else in the order given; None where that cannot be
    because of a ring."""
    nodes = list(leads)
    rank = {node: n for n, node in enumerate(nodes)}
    left = Counter(to for node in nodes for to in set(leads[node]))
    waiting = [rank[node] for node in nodes if not left[node]]
    heapify(waiting)
    order = []
    while waiting:
        order.append(nodes[heappop(waiting)])
        for to in set(leads[order[-1]]):
            left[to] -= 1
            if not left[to]:
                heappush(waiting, rank[to])
    return order if len(order) == len(nodes) else None


def by_length(
    starts: Iterable[tuple[float, int]], beside: Callable[[int], Iterable[tuple[int, float]]]
) -> Iterator[tuple[float, int, int]]:
    """All that is reached from the starts, the nearest first: how far it is, it, and what it is
    reached from; `NONE` for a start. A start has a way before it."""
    waiting = [(far, node, NONE) for far, node in starts]
    heapify(waiting)
    done, best = set[int](), dict[int, float]()
    while waiting:
        far, node, came = heappop(waiting)
        if node in done:
            continue
        done.add(node)
        yield far, node, came
        for other, length in beside(node):
            if other not in done and far + length < best.get(other, inf):
                best[other] = far + length
                heappush(waiting, (far + length, other, node))
