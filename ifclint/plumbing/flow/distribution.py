"""Piping under pressure, directed from its sources: water from the meter, gas from the regulator.

Water or gas moves from the sources along the shortest path, so that every element is fed by one
other. A loop is cut where the two paths around it meet, kept in `loops`, and, where it is nothing
but several paths to one point (heaters in parallel), shared between them.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from ifclint.engineering.joined import NONE
from ifclint.plumbing.flow.directed import Directed

INFINITE = float("inf")


@dataclass(frozen=True, slots=True)
class Connection:
    """Where piping ends in something that uses it: a fixture, an appliance."""

    element: int
    end: int  # of the element's ends
    place: int
    up: int  # the last element of the piping; -1 where nothing feeds the place
    length_m: float | None  # developed length from the source; None where nothing feeds it


@dataclass(frozen=True, slots=True)
class Loop:
    """Two paths around from one element to the point where they meet again.

    `shared` where both lead to one point and nothing is taken off between, so that they share what
    passes; else the loop was cut where the paths meet, and what passes there is not known.
    """

    start: int
    one_path: tuple[int, ...]
    other_path: tuple[int, ...]
    meets: int  # the element at which they meet
    shared: bool


@dataclass(repr=False)
class Distribution(Directed):
    """The elements of one or more services as a forest from their sources."""

    sources: list[int]
    length_m: list[float]  # developed length from the source to its middle; inf: not reached
    connections: list[Connection]
    users: set[int]  # the fixtures and appliances among the members
    refused: list[int]  # joints between services: nothing passes
    place_m: list[float]  # place -> developed length to it
    loops: list[Loop] = field(default_factory=list)
    also_fed_by: dict[int, tuple[int, ...]] = field(default_factory=dict)  # the further paths in

    @cached_property
    def looped(self) -> set[int]:
        """The elements of the paths of all loops, and those that share what passes."""
        paths = [path for loop in self.loops for path in (loop.one_path, loop.other_path)]
        return {index for path in (*paths, *self.also_fed_by.values()) for index in path}

    @property
    def up(self) -> list[int]:
        """The element that feeds each."""
        return self.toward

    @property
    def entry(self) -> list[int]:
        """The place through which each is fed."""
        return self.through

    def down(self) -> list[list[int]]:
        """The elements that each element feeds."""
        return self.beyond

    @cached_property
    def serving(self) -> set[int]:
        """The elements through which users are fed."""
        passed = self.passed_by(connection.up for connection in self.connections)
        return {index for index in self.order if passed[index]}

    def reached(self, index: int) -> bool:
        return self.length_m[index] < INFINITE

    def not_reached(self) -> list[int]:
        """The members that nothing feeds, users left out."""
        return [i for i in self.members if not self.reached(i) and i not in self.users]

    def feeds(self, index: int) -> tuple[int, ...]:
        """The elements that feed an element: one, or several that share."""
        if self.toward[index] == NONE:
            return ()
        return (self.toward[index], *self.also_fed_by.get(index, ()))

    def paths(self) -> dict[int, int]:
        """Over how many parallel paths each element with several is fed, and all they lead to."""
        paths: dict[int, int] = {}
        for index in self.order if self.also_fed_by else ():
            if index in self.also_fed_by:
                paths[index] = sum(paths.get(f, 1) for f in self.feeds(index))
        return paths

    def shares(self) -> Mapping[int, Sequence[tuple[int, float]]]:
        paths = self.paths()
        return {
            index: [(feed, paths.get(feed, 1) / paths[index]) for feed in self.feeds(index)]
            for index in self.also_fed_by
        }
