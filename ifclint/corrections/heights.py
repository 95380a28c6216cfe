"""Where parts come to lie when pipes get another fall.

What is joined moves as one, up to the uprights, which grow longer or shorter; nothing beyond them
moves. The lower end of what gets a fall stays and its upper end is lifted, as far as the uprights
above have length to give and nothing lifted stands fixed; else its lower end goes down, with the
outlet. What can be moved neither up nor down keeps its place, and is told.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import dist
from typing import NamedTuple

import numpy as np

from ifclint.engineering.joined import after_all, labels, pieces
from ifclint.ifc.elements import Element, Point, Role
from ifclint.network import Network

STANDING = frozenset(
    {Role.FIXTURE, Role.APPLIANCE, Role.HEATER, Role.METER, Role.VENT_TERMINAL}
)  # what keeps its place, whatever is done to the piping
STEEP = 1.75  # rise over run, 60 deg: pipe as steep is an upright, and is cut. Ours, no source
LEAST_UPRIGHT_M = 0.05  # what is left of an upright that is cut. Ours, no source
SAME_M = 1e-6  # heights no farther apart are one


class DrainRun(NamedTuple):
    """How a pipe of the drainage is used: its upper end as water runs, the service, and what part
    of the drainage it is."""

    up: Point | None
    service: str
    part: str = ""


class Resettled(NamedTuple):
    """The elements where they come to lie, how far the highest is lifted and the lowest goes down
    (m), and the GlobalIds of pipes that cannot get their fall."""

    elements: list[Element]
    lifted_m: float
    deeper_m: float
    stuck: frozenset[str]


@dataclass(frozen=True, eq=False)
class _Loose:
    """A pipe of which each end moves with what is joined to it: the numbers of its ends, the body
    at each, and by how much more the upper one is to rise (m); 0 of an upright."""

    element: Element
    low: int
    up: int
    low_body: int
    up_body: int
    rise_m: float

    @property
    def bodies(self) -> tuple[int, int]:
        return self.low_body, self.up_body

    @property
    def height_m(self) -> float:
        return _at(self.element, self.up)[2] - _at(self.element, self.low)[2]

    @property
    def spare_m(self) -> float:
        """What can be cut from an upright."""
        return max(self.height_m - LEAST_UPRIGHT_M, 0.0)


def settled(
    network: Network,
    elements: Sequence[Element],
    slopes: Mapping[str, float],
    runs: Mapping[str, DrainRun],
) -> Resettled:
    """The elements of a network where some of its pipes (by GlobalId) have slopes (rise over run),
    by where their ends come to lie; where these have no places, as a stated slope.

    `elements` are those of the network, maybe of other sizes; `runs` goes by the key of a pipe.
    """
    made = list(elements)
    bodies, loose = _taken_apart(network, made, slopes, runs)
    standing = {body for body, e in zip(bodies, made, strict=True) if e.role in STANDING}
    moved_m, stuck = _moved(loose.values(), standing)
    for index, element in enumerate(made):
        if element.guid in slopes and len(_placed(element)) != 2:
            made[index] = element = replace(element, slope=slopes[element.guid])
        by_m = [moved_m.get(bodies[index], 0.0)] * len(element.ends)
        if pipe := loose.get(index):
            by_m[pipe.up] = moved_m.get(pipe.up_body, 0.0)
        if any(by_m):
            made[index] = _lifted(element, by_m)
    far_m = moved_m.values()
    return Resettled(made, max(far_m, default=0.0), -min(far_m, default=0.0), stuck)


def _taken_apart(
    network: Network,
    elements: Sequence[Element],
    slopes: Mapping[str, float],
    runs: Mapping[str, DrainRun],
) -> tuple[list[int], dict[int, _Loose]]:
    """What moves as one: the body of each element, and by element the pipes between two bodies,
    whose own is that at the lower end."""
    ends, upper = dict[int, tuple[int, int, float]](), dict[tuple[int, int], int]()
    for index, element in enumerate(elements):
        if (apart := _ends_apart(element, slopes, runs)) is not None:
            ends[index] = apart
            upper[index, apart[1]] = len(elements) + len(upper)
    a, a_end, b, b_end = network.joined_ends.tolist()
    body = labels(
        len(elements) + len(upper),
        np.array([upper.get(at, at[0]) for at in zip(a, a_end, strict=True)], dtype=np.int64),
        np.array([upper.get(at, at[0]) for at in zip(b, b_end, strict=True)], dtype=np.int64),
    ).tolist()
    loose = {
        index: _Loose(elements[index], low, up, body[index], body[upper[index, up]], rise_m)
        for index, (low, up, rise_m) in ends.items()
    }
    return body[: len(elements)], loose


def _ends_apart(
    element: Element, slopes: Mapping[str, float], runs: Mapping[str, DrainRun]
) -> tuple[int, int, float] | None:
    """The lower and the upper end of a pipe that is to get a fall, and by how much more this one is
    to rise (m), 0 of an upright; None of all else."""
    placed = _placed(element)
    if element.role is not Role.PIPE or len(placed) != 2:
        return None
    low, up = sorted(placed, key=lambda end: _at(element, end)[2])
    below, above = _at(element, low), _at(element, up)
    along_m, run = dist(below[:2], above[:2]), runs.get(element.key)
    if above[2] - below[2] >= STEEP * along_m:
        return low, up, 0.0
    if element.guid not in slopes:
        return None
    if run is not None and run.up is not None and dist(below, run.up) < dist(above, run.up):
        low, up, below, above = up, low, above, below
    rise_m = below[2] + slopes[element.guid] * along_m - above[2]
    return (low, up, rise_m) if rise_m > SAME_M else None


def _moved(loose: Iterable[_Loose], standing: set[int]) -> tuple[dict[int, float], frozenset[str]]:
    """By how much bodies move (m), and the GlobalIds of the pipes that cannot get their fall."""
    given = defaultdict[int, list[_Loose]](list)
    uprights = defaultdict[int, list[_Loose]](list)
    for pipe in loose:
        for body in set(pipe.bodies):
            (given if pipe.rise_m else uprights)[body].append(pipe)
    moved_m, stuck = dict[int, float](), set[str]()
    for piece in pieces(given, lambda body: (b for p in given[body] for b in p.bodies)):
        pipes = [p for body in sorted(piece) for p in given[body] if p.low_body == body]
        cut = [p for body in sorted(piece) for p in uprights[body]]
        heights = _heights(pipes, cut, standing)
        moved_m |= heights or {}
        stuck |= set() if heights else {pipe.element.guid for pipe in pipes}
    return moved_m, frozenset(stuck)


def _heights(
    pipes: Sequence[_Loose], uprights: Sequence[_Loose], standing: set[int]
) -> dict[int, float] | None:
    """By how much the bodies that pipes hang together move (m); None where they cannot.

    All of them go down by what they would be lifted too far.
    """
    lifted = _above_one_another(pipes, set(), 0.0)
    if lifted is None:
        return None
    too_far = [m for body, m in lifted.items() if body in standing]
    too_far += [
        lifted[p.low_body] - lifted.get(p.up_body, 0.0) - p.spare_m
        for p in uprights
        if p.low_body in lifted
    ]
    heights = _above_one_another(pipes, standing, max([0.0, *too_far])) or {}
    fall = all(heights[p.up_body] - heights[p.low_body] > p.rise_m - SAME_M for p in pipes)
    left = (
        p.height_m + heights.get(p.up_body, 0.0) - heights.get(p.low_body, 0.0)
        - min(p.height_m, LEAST_UPRIGHT_M)
        for p in uprights
    )  # fmt: skip
    return heights if fall and min(left, default=0.0) > -SAME_M else None


def _above_one_another(
    pipes: Sequence[_Loose], standing: set[int], deeper_m: float
) -> dict[int, float] | None:
    """By how much bodies are lifted (m), each from those below it by what the pipes between are to
    rise more; the lowest go down. None where one would have to lie above itself."""
    leads, below = dict[int, list[int]](), defaultdict[int, list[_Loose]](list)
    for pipe in pipes:
        leads.setdefault(pipe.low_body, []).append(pipe.up_body)
        leads.setdefault(pipe.up_body, [])
        below[pipe.up_body].append(pipe)
    heights = dict[int, float]()
    for body in (order := after_all(leads)) or ():
        wanted = (heights[pipe.low_body] + pipe.rise_m for pipe in below[body])
        heights[body] = 0.0 if body in standing else max(wanted, default=-deeper_m)
    return None if order is None else heights


def _lifted(element: Element, by_m: Sequence[float]) -> Element:
    """An element with each of its ends lifted by so much, and what lies between by as much."""
    ends = [
        end if end.position is None else replace(end, position=_up(end.position, m))
        for end, m in zip(element.ends, by_m, strict=True)
    ]
    mean_m, length_m = sum(by_m) / len(by_m), element.length_m
    placed = _placed(element)
    if length_m is not None and len(placed) == 2:
        a, b = placed
        drawn_m = dist(_at(element, a), _at(element, b))
        length_m += dist(ends[a].position or (), ends[b].position or ()) - drawn_m
    return replace(
        element,
        ends=ends,
        length_m=length_m,
        position=element.position and _up(element.position, mean_m),
        box=element.box and (_up(element.box[0], mean_m), _up(element.box[1], mean_m)),
        course=_bent(element, by_m),
    )


def _bent(element: Element, by_m: Sequence[float]) -> tuple[Point, ...]:
    """The axis of a pipe that is not straight, lifted from end to end."""
    course = element.course
    if not course:
        return ()
    begins = min(_placed(element), key=lambda end: dist(_at(element, end), course[0]), default=0)
    first_m, last_m = by_m[begins], by_m[1 - begins if len(by_m) == 2 else begins]
    share = [n / (len(course) - 1 or 1) for n in range(len(course))]
    return tuple(
        _up(p, first_m + s * (last_m - first_m)) for p, s in zip(course, share, strict=True)
    )


def _up(point: Point, by_m: float) -> Point:
    return (*point[:2], point[2] + by_m)


def _placed(element: Element) -> list[int]:
    return [n for n, end in enumerate(element.ends) if end.position is not None]


def _at(element: Element, end: int) -> Point:
    position = element.ends[end].position
    assert position is not None
    return position
