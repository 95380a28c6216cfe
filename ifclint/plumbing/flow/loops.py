"""Loops of piping under pressure: kept where cut, or shared where paths run in parallel."""

from bisect import insort
from collections.abc import Iterable
from dataclasses import replace
from itertools import takewhile

from ifclint.engineering.joined import NONE, after_all
from ifclint.plumbing.flow.distribution import Distribution, Loop


def keep_loops(made: Distribution, closings: Iterable[tuple[int, int, int]]) -> None:
    """Keep every loop; share what passes between the paths where they lead to one point.

    That point is an element of the loop, or the place at which its two paths meet.
    """
    met = list(closings)
    if not met:
        return
    feeding = made.passed_by(c.up for c in made.connections)
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
    """The last element common to the paths to `a` and `b`, and the rest of both."""
    ways: tuple[dict[int, None], dict[int, None]] = ({a: None}, {b: None})  # upward, side by side
    at, start = [a, b], NONE
    while start == NONE and at != [NONE, NONE]:
        for way, other, n in ((ways[0], ways[1], 0), (ways[1], ways[0], 1)):
            at[n] = made.toward[at[n]] if at[n] != NONE else NONE
            if at[n] in other:
                start = at[n]
                break
            if at[n] != NONE:
                way[at[n]] = None
    one, other_way = ([*takewhile(lambda i: i != start, way)][::-1] for way in ways)
    return start, tuple(one), tuple(other_way)


def _taken_off(
    made: Distribution, feeding: list[bool], taken: set[int], index: int, loop: set[int]
) -> bool:
    """Whether something leaves the loop at an element of it."""
    return index in taken or any(feeding[i] for i in made.beyond[index] if i not in loop)


def _share(
    made: Distribution,
    meets: int,
    one: tuple[int, ...],
    other: tuple[int, ...],
    place: int,
    is_used: bool,
) -> None:
    """Lead both paths of a loop, cut at `place`, to the element at which they meet; or, where they
    meet at its far end, to what goes on from there."""
    path, against = (one, other) if meets in one else (other, one)
    beyond = path[path.index(meets) + 1 :]  # directed away from the meeting: turn it round
    if beyond:
        place = made.through[beyond[0]]
    onward = [i for i in made.beyond[meets] if i not in beyond]
    feed = against[-1]
    for index in reversed(beyond):
        made.beyond[made.toward[index]].remove(index)
        insort(made.beyond[feed], index)
        made.toward[index] = feed
        made.through[index] = _between(made, feed, index)
        feed = index
    at_far_end = not is_used and all(made.through[i] == place for i in onward)
    for index in onward if at_far_end else [meets]:
        made.also_fed_by[index] = (*made.also_fed_by.get(index, ()), feed)


def _between(made: Distribution, a: int, b: int) -> int:
    """A place at which two elements meet."""
    return next(place for place in made.ends_at[a] if place in made.ends_at[b])


def _sort_again(made: Distribution) -> None:
    """Everything after all that feed it; where that cannot be, the further paths are given up."""
    leads: dict[int, list[int]] = {index: [] for index in made.order}
    for index in made.order:
        for feed in made.feeds(index):
            leads[feed].append(index)
    if (order := after_all(leads)) is not None:
        made.order = order
    else:
        made.also_fed_by.clear()
        made.loops = [replace(loop, shared=False) for loop in made.loops]
    made.redirected()
