"""Piping under pressure, directed from its sources: water from the meter, gas from the regulator.

Water or gas moves from the sources along the shortest way through elements and the places where
they are joined (`ways.py`), so that every element is fed by one other. A ring is cut where the
two ways around it meet, kept in `rings`, and, where it is nothing but several ways to one point
(heaters in parallel), shared between them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from ifclint.ifc.elements import Element, Point
from ifclint.network import Network
from ifclint.plumbing.flow.paths import Paths


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
    """Two ways around from one element to the point where they meet again.

    `shared` where both lead to one point and nothing is taken off between, so that they share what
    passes; else the ring was cut where the ways meet, and what passes there is not known.
    """

    start: int
    one_path: tuple[int, ...]
    other_path: tuple[int, ...]
    meets: int  # the element at which they meet
    shared: bool


@dataclass(repr=False)
class Distribution:
    """The elements of one or more services as a forest from their sources.

    Lists are indexed by element, as in the network; -1 stands for none. `order` holds what is
    reached, sources first, everything after what feeds it.
    """

    network: Network
    members: list[int]
    sources: list[int]
    up: list[int]  # the element that feeds it
    entry: list[int]  # the place through which it is fed
    length_m: list[float]  # developed length from the source to its middle; inf: not reached
    order: list[int]
    connections: list[Connection]
    loops: list[Loop]
    also_fed_by: dict[int, tuple[int, ...]]  # the further ways in, where several ways share
    places: list[Point | None]
    ends_at: list[list[int]]  # element -> the place of each of its ends
    place_m: list[float] = field(default_factory=list)  # place -> developed length to it
    users: set[int] = field(default_factory=set)  # the fixtures and appliances among the members
    refused: list[int] = field(default_factory=list)  # joints between services: nothing passes
    _down: list[list[int]] | None = field(default=None, repr=False)

    @cached_property
    def elements(self) -> list[Element]:
        return self.network.elements

    def reached(self, index: int) -> bool:
        return self.length_m[index] < float("inf")

    def not_reached(self) -> list[int]:
        """The members that nothing feeds, users left out."""
        return [i for i in self.members if not self.reached(i) and i not in self.users]

    def down(self) -> list[list[int]]:
        """The elements that each element feeds."""
        if self._down is None:
            self._down = [[] for _ in self.up]
            for index in self.order:
                if self.up[index] >= 0:
                    self._down[self.up[index]].append(index)
        return self._down

    def path(self, index: int) -> list[int]:
        """The elements from the source to an element, both with it."""
        path = []
        while index >= 0:
            path.append(index)
            index = self.up[index]
        return path[::-1]

    def feeds(self, index: int) -> tuple[int, ...]:
        """The elements that feed an element: one, or several that share."""
        if self.up[index] < 0:
            return ()
        return (self.up[index], *self.also_fed_by.get(index, ()))

    def paths(self) -> dict[int, int]:
        """Over how many parallel ways each element with several is fed, and all they lead to."""
        paths: dict[int, int] = {}
        for index in self.order if self.also_fed_by else ():
            if index in self.also_fed_by:
                paths[index] = sum(paths.get(f, 1) for f in self.feeds(index))
        return paths

    def accumulate(self, values: dict[int, float]) -> list[float]:
        """What passes each element when each element given takes its value; ways that share carry
        their part."""
        flow = [0.0] * len(self.up)
        for index, value in values.items():
            if index >= 0:
                flow[index] += value
        paths = self.paths()
        for index in reversed(self.order):
            amount = flow[index]
            if not amount or self.up[index] < 0:
                continue
            if index not in self.also_fed_by:
                flow[self.up[index]] += amount
                continue
            for feed in self.feeds(index):
                flow[feed] += amount * paths.get(feed, 1) / paths[index]
        return flow


def distribute(
    network: Network,
    members: Iterable[int],
    sources: Sequence[int],
    uses: Callable[[Element], bool],
    side_of: Callable[[Element], int] | None = None,
) -> Distribution:
    """Direct the members from the sources.

    Nothing passes through an element that `uses` (a fixture, an appliance): each joined end of it
    becomes a `Connection`. Between elements of different sides, as `side_of` tells them (0 is
    either), nothing passes; such joints are told in `refused`. An element whose ends say "in" and
    "out" is passed in that direction only if it is a source or a heater.
    """
    paths = Paths(network, list(members), uses, side_of)
    up, entry, length, order = paths.direct(sources)
    connections = [Connection(*found) for found in paths.used_ends()]
    made = Distribution(
        network, list(paths.members), list(sources), up, entry, length, order, connections, [], {},
        paths.points, paths.ends_at, paths.place_m(), paths.users, paths.refused,
    )  # fmt: skip
    _keep_loops(made, paths.closings())
    return made


def head_of(
    network: Network,
    members: Iterable[int],
    meter: int,
    uses: Callable[[Element], bool],
    side_of: Callable[[Element], int] | None = None,
) -> int:
    """Where piping begins: the far end of what lies before a meter, else the meter itself.

    What lies before it is the one side of it that leads to nothing that uses.
    """
    if len(network.joined[meter]) < 2:
        return meter
    whole = distribute(network, members, [meter], uses, side_of)
    used = whole.accumulate({c.up: 1.0 for c in whole.connections})
    below = whole.down()
    sides = [side for side in below[meter] if not used[side]]
    inlets = {i for i, end in enumerate(network.elements[meter].ends) if end.flow == "in"}
    stated = [s for s in sides if whole.ends_at[meter].index(whole.entry[s]) in inlets]
    if (len(sides) != 1 and len(stated) != 1) or len(sides) == len(below[meter]):
        return meter
    index = (stated or sides)[0]
    while len(below[index]) == 1:
        index = below[index][0]
    return index if not below[index] else meter


def _keep_loops(made: Distribution, closings: Iterable[tuple[int, int, int]]) -> None:
    """Keep every ring; share what passes between the ways where they lead to one point.

    That point is an element of the ring, or the place at which its two ways meet.
    """
    met = list(closings)
    if not met:
        return
    feeding = made.accumulate({c.up: 1.0 for c in made.connections})
    taken = {c.up for c in made.connections}
    for a, b, place in met:
        if a == b:
            made.loops.append(Loop(a, (a,), (), a, False))
            continue
        start, one, other = _two_paths(made, a, b)
        taps = [i for i in (*one, *other) if _taken_off(made, feeding, taken, i, {*one, *other})]
        shared = len(taps) == 1 and bool(one) and bool(other)
        made.loops.append(Loop(start, one, other, taps[0] if shared else b, shared))
        if shared:
            _share(made, taps[0], one, other, place, taps[0] in taken)
    if made.also_fed_by:
        _sort_again(made)


def _two_paths(made: Distribution, a: int, b: int) -> tuple[int, tuple[int, ...], tuple[int, ...]]:
    """The last element common to the ways to `a` and `b`, and the rest of both."""
    to_a, to_b = made.path(a), made.path(b)
    common = 0
    while common < min(len(to_a), len(to_b)) and to_a[common] == to_b[common]:
        common += 1
    start = to_a[common - 1] if common else -1
    return start, tuple(to_a[common:]), tuple(to_b[common:])


def _taken_off(
    made: Distribution, feeding: list[float], taken: set[int], index: int, loop: set[int]
) -> bool:
    """Whether something leaves the ring at an element of it."""
    below = made.down()[index]
    return index in taken or any(feeding[i] for i in below if i not in loop)


def _share(
    made: Distribution,
    meets: int,
    one: tuple[int, ...],
    other: tuple[int, ...],
    place: int,
    is_used: bool,
) -> None:
    """Lead both ways of a ring, cut at `place`, to the element at which they meet; or, where they
    meet at its far end, to what goes on from there."""
    path, against = (one, other) if meets in one else (other, one)
    beyond = path[path.index(meets) + 1 :]  # directed away from the meeting: turn it round
    if beyond:
        place = made.entry[beyond[0]]
    onward = [i for i in made.down()[meets] if i not in beyond]
    feed = against[-1]
    for index in reversed(beyond):
        made.up[index] = feed
        made.entry[index] = _between(made, feed, index)
        feed = index
    at_far_end = not is_used and all(made.entry[i] == place for i in onward)
    for index in onward if at_far_end else [meets]:
        made.also_fed_by[index] = (*made.also_fed_by.get(index, ()), feed)
    made._down = None


def _between(made: Distribution, a: int, b: int) -> int:
    """A place at which two elements meet."""
    return next(place for place in made.ends_at[a] if place in made.ends_at[b])


def _sort_again(made: Distribution) -> None:
    """Everything after all that feed it; where that cannot be, the further ways are given up."""
    waiting = {i: len(set(made.feeds(i))) for i in made.order}
    below: dict[int, list[int]] = {}
    for index in made.order:
        for feed in set(made.feeds(index)):
            below.setdefault(feed, []).append(index)
    ready = [i for i in made.order if not waiting[i]]
    order: list[int] = []
    for index in ready:  # grows while it is walked
        order.append(index)
        for following in below.get(index, ()):
            waiting[following] -= 1
            if not waiting[following]:
                ready.append(following)
    if len(order) == len(made.order):
        made.order = order
    else:
        made.also_fed_by.clear()
        made.loops = [replace(loop, shared=False) for loop in made.loops]
