"""The gas piping directed from its sources, and what of it feeds appliances."""

from __future__ import annotations

from functools import cached_property

from ifclint.ifc.elements import Element
from ifclint.plumbing.flow.distribution import Distribution
from ifclint.plumbing.gas.connectors import is_connector

CAPS = frozenset({"cap", "sediment-trap"})  # what a nipple that catches dirt ends in


class GasTree:
    """The distribution, where it begins, and of every element whether it feeds an appliance or,
    once these are found, a capped outlet."""

    def __init__(self, made: Distribution, begin: list[int]) -> None:
        self.made, self.begin, self.elements = made, begin, made.elements
        self.outlets: list[int] = []
        self.feeds = made.passed_by(c.up for c in made.connections)
        self.down = made.down()

    def lead_to(self, outlets: list[int]) -> None:
        """What leads to an outlet feeds it."""
        self.outlets = outlets
        self.feeds = self.made.passed_by([*(c.up for c in self.made.connections), *outlets])

    @cached_property
    def beside(self) -> set[int]:
        """All members joined to the sources, whichever way gas flows."""
        pieces = self.made.network.pieces(self.made.members)
        return set().union(*(p for p in pieces if not p.isdisjoint(self.begin)))


def alike(pipe: Element) -> tuple[object, ...]:
    """What is the same for all pipe of a segment; corrugated tube also has a flow designation."""
    return pipe.size_in, pipe.material, pipe.properties.number("ehd"), is_connector(pipe)
