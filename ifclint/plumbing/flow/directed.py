"""Piping in the direction of flow: a forest whose roots are the outlets, or the sources.

One shape for all services. Drainage is gathered toward its outlets, water and gas are led away from
their sources; in both an element has one neighbour nearer to the root, and what passes it is what
is given to (or taken by) all that lies beyond it.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import compress

from ifclint.engineering.joined import NONE, onward
from ifclint.ifc.elements import Element, Point
from ifclint.network import Network


@dataclass(repr=False)
class Directed:
    """The elements of a service and, for each, the next one nearer to the root.

    Lists are indexed by element, as in the network; `NONE` stands for none.
    """

    network: Network
    members: list[int]
    toward: list[int]  # the next element nearer to the root
    through: list[int]  # the place between the two
    order: list[int]  # the members that are directed, the root first
    places: list[Point | None]
    ends_at: list[list[int]]  # element -> the place of each of its ends

    @cached_property
    def elements(self) -> list[Element]:
        return self.network.elements

    @cached_property
    def beyond(self) -> list[list[int]]:
        """The elements whose next one nearer to the root an element is, in their order."""
        found: list[list[int]] = [[] for _ in self.toward]
        for index in sorted(self.order):
            if self.toward[index] != NONE:
                found[self.toward[index]].append(index)
        return found

    @cached_property
    def roots(self) -> list[int]:
        """The root that each element leads to; of one that is not directed, itself."""
        found = list(range(len(self.toward)))
        for index in self.order:
            if self.toward[index] != NONE:
                found[index] = found[self.toward[index]]
        return found

    def redirected(self) -> None:
        """To be called where `toward` or `order` was changed."""
        self.__dict__.pop("beyond", None)
        self.__dict__.pop("roots", None)

    def path(self, index: int) -> list[int]:
        """The elements from the root to an element, both with it."""
        return [*onward(index, self.toward)][::-1]

    def shares(self) -> Mapping[int, Sequence[tuple[int, float]]]:
        """What several elements lead to: the elements that do, and the share of each."""
        return {}

    def passed_by(self, starts: Iterable[int]) -> list[bool]:
        """Whether what any of some elements gives (or takes) passes each element; its own too."""
        passed = [False] * len(self.toward)
        toward, shares = self.toward, self.shares()
        waiting = [index for index in starts if index >= 0]
        while waiting:
            index = waiting.pop()
            while index >= 0 and not passed[index]:
                passed[index] = True
                if index in shares:
                    waiting += [feed for feed, _ in shares[index]]
                    break
                index = toward[index]
        return passed

    def how_many(self, givers: Iterable[int]) -> list[float]:
        """How many of some elements each takes, or gives to; one named twice counts twice."""
        return self.accumulate(Counter(givers))

    def accumulate(self, values: Mapping[int, float]) -> list[float]:
        """What passes each element when each element of `values` gives (or takes) its value."""
        flow = [0.0] * len(self.toward)
        if not values:
            return flow
        for index, value in values.items():
            if index != NONE:
                flow[index] += value
        toward, shares, outer_first = self.toward, self.shares(), self.order[::-1]
        for index in compress(outer_first, map(flow.__getitem__, outer_first)):  # what has a flow
            amount, following = flow[index], toward[index]
            if following == NONE:
                continue
            if index not in shares:
                flow[following] += amount
                continue
            for feed, share in shares[index]:
                flow[feed] += amount * share
        return flow
