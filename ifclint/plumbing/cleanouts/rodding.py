"""How far a cleaning cable gets from every cleanout, and what no cleanout reaches."""

from dataclasses import dataclass, field
from itertools import pairwise
from math import dist
from typing import NamedTuple

from ifclint.engineering.arithmetic import not_below_zero
from ifclint.engineering.directions import angle_deg, direction
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.ifc.elements import Point, Role
from ifclint.plumbing.cleanouts.cleanouts import Cleanout
from ifclint.plumbing.drainage.orientation import STRAIGHT_DEG
from ifclint.plumbing.drainage.piping import Piping

LARGE_IN = 3.0  # from here a cable is pushed its whole length
WHOLE_M = 0.02  # a remainder shorter than this is none


@dataclass(frozen=True)
class Cable:
    """What a plumber's machine can do."""

    length_m: float  # in pipe of 3 in and larger
    small_length_m: float  # in smaller pipe
    smallest_pipe_in: float
    turns_deg: float  # all turns together, of one push

    def reach_m(self, size_in: float | None) -> float:
        small = size_in is not None and size_in < LARGE_IN
        return self.small_length_m if small else self.length_m


@dataclass(frozen=True)
class Rodded:
    """What one cleanout rods, in metres of drain, and the pipes it rods."""

    downstream_m: float
    upstream_m: float
    stopped_by: str  # what ends the push downstream; "" where the outlet is reached
    pipes: tuple[int, ...]


class _Run(NamedTuple):
    """Where water comes into an element and where it leaves, and how long it is between."""

    up: Point | None
    down: Point | None
    length_m: float


@dataclass
class Reach:
    """How much of every drain pipe some cleanout reaches: from its upper and its lower end, m."""

    piping: Piping
    by_cleanout: dict[Cleanout, Rodded] = field(default_factory=dict)
    from_above_m: dict[int, float] = field(default_factory=dict)
    from_below_m: dict[int, float] = field(default_factory=dict)
    _runs: dict[int, _Run] = field(default_factory=dict, init=False, repr=False)

    def run(self, index: int) -> _Run:
        """How an element leads on, measured when a cable first passes it."""
        if index not in self._runs:
            up, down = _ends(self.piping, index)
            self._runs[index] = _Run(up, down, _length_m(self.piping, index, up, down))
        return self._runs[index]

    def unreached_m(self, index: int) -> float:
        """The length of a pipe that no cleanout reaches."""
        left = (
            self.run(index).length_m
            - self.from_above_m.get(index, 0.0)
            - self.from_below_m.get(index, 0.0)
        )
        return 0.0 if at_most(left, WHOLE_M, "m") else left

    def unreached_part(self, index: int) -> tuple[Point, Point] | None:
        """The ends of the part of a pipe that no cleanout reaches, upstream end first."""
        up, down, length = self.run(index)
        if up is None or down is None or not self.unreached_m(index):
            return None
        start = self.from_above_m.get(index, 0.0) / length
        stop = 1.0 - self.from_below_m.get(index, 0.0) / length
        return _along(up, down, start), _along(up, down, stop)


def rod(piping: Piping, cleanouts: list[Cleanout], cable: Cable) -> Reach:
    """Push the cable from every cleanout, with the flow and, where it can be led so, against it."""
    reach = Reach(piping)
    for cleanout in cleanouts:
        push = _Push(reach, cleanout, cable)
        down = push.downstream()
        up = push.upstream() if cleanout.leads_up else 0.0
        reach.by_cleanout[cleanout] = Rodded(down, up, push.stopped_by, tuple(push.pipes))
    return reach


class _Push:
    """One cleanout's cable."""

    def __init__(self, reach: Reach, cleanout: Cleanout, cable: Cable) -> None:
        self._reach, self._cleanout, self._cable = reach, cleanout, cable
        self._piping = reach.piping
        self._limit_m = cable.reach_m(cleanout.size_in) - cleanout.to_entry_m
        self.stopped_by = ""
        self.pipes: list[int] = []

    def downstream(self) -> float:
        piping, index = self._piping, self._cleanout.entry
        gone = 0.0
        heading, turned = self._entering()
        while index != NONE:
            if self._too_small(index):
                self.stopped_by = "pipe too small for the cable"
                break
            up, down, length = self._reach.run(index)
            if index == self._cleanout.entry and self._cleanout.path and not piping.is_pipe(index):
                up = piping.middle(index)  # the cable has come so far from the side
                length = _length_m(piping, index, up, down)
            heading, turned = _turn(heading, turned, up, down)
            if turned > self._cable.turns_deg:
                self.stopped_by = "too many turns"
                break
            here = min(length, self._limit_m - gone)
            gone += not_below_zero(here)
            self._mark(self._reach.from_above_m, index, here)
            if here < length:
                self.stopped_by = "end of the cable"
                break
            index = piping.drainage.down[index]
        return gone

    def upstream(self) -> float:
        piping = self._piping
        index, gone = self._straight_above(self._cleanout.entry), 0.0
        heading, turned = self._entering()
        while index != NONE and not self._too_small(index):
            if piping.elements[index].role in (Role.TRAP, Role.FIXTURE, Role.APPLIANCE):
                break
            up, down, length = self._reach.run(index)
            heading, turned = _turn(heading, turned, down, up)
            if turned > self._cable.turns_deg:
                break
            here = min(length, self._limit_m - gone)
            gone += not_below_zero(here)
            self._mark(self._reach.from_below_m, index, here)
            if here < length:
                break
            index = self._straight_above(index)
        return gone

    def _entering(self) -> tuple[Point | None, float]:
        """The heading with which the cable enters the drain, and the turns made till then."""
        cleanout, heading, turned = self._cleanout, None, 0.0
        if not cleanout.path:
            return heading, turned
        points = self._piping.path((*cleanout.path, cleanout.entry), cleanout.point)
        known = [p for p in points if p is not None]
        for start, end in pairwise(known):
            heading, turned = _turn(heading, turned, start, end)
        return heading, turned

    def _straight_above(self, index: int) -> int:
        """The drain a cable takes against the flow: the straightest."""
        above = self._piping.wet_above[index]
        if len(above) < 2:
            return above[0] if above else NONE
        down = self._reach.run(index).down
        middle = self._piping.middle(index)

        def bend(child: int) -> tuple[float, int]:
            _, turned = _turn(direction(down, middle), 0.0, middle, self._reach.run(child).up)
            return turned, child

        return min(above, key=bend)

    def _too_small(self, index: int) -> bool:
        size = self._piping.elements[index].size_in if self._piping.is_pipe(index) else None
        return size is not None and size < self._cable.smallest_pipe_in

    def _mark(self, marks: dict[int, float], index: int, metres: float) -> None:
        if metres > 0 and self._piping.is_pipe(index):
            marks[index] = max(marks.get(index, 0.0), metres)
            self.pipes.append(index)


def _length_m(piping: Piping, index: int, up: Point | None, down: Point | None) -> float:
    """The developed length of a pipe, or of the path through a fitting, between its ends."""
    if not piping.is_pipe(index):
        middle = piping.middle(index)
        return _far(up, middle) + _far(middle, down)
    return _far(up, down)


def _ends(piping: Piping, index: int) -> tuple[Point | None, Point | None]:
    """Where water comes in (the farthest end) and where it leaves."""
    down = piping.exit(index)
    ends = piping.ends(index)
    if down is None:
        down = min(ends, key=lambda p: p[2], default=None)
    above = piping.wet_above[index]
    up = piping.exit(above[0]) if len(above) == 1 else None
    if up is None and piping.is_pipe(index):
        up = max(ends, key=lambda p: _far(p, down), default=None)
    return up, down


def _turn(
    heading: Point | None, turned: float, start: Point | None, end: Point | None
) -> tuple[Point | None, float]:
    """The new heading, and all turns so far with this one."""
    path = direction(start, end)
    if path is None:
        return heading, turned
    if heading is None:
        return path, turned
    angle = angle_deg(heading, path)
    return path, turned + (angle if at_least(angle, STRAIGHT_DEG, "deg") else 0.0)


def _far(a: Point | None, b: Point | None) -> float:
    return dist(a, b) if a is not None and b is not None else 0.0


def _along(a: Point, b: Point, share: float) -> Point:
    x, y, z = (p + (q - p) * share for p, q in zip(a, b, strict=True))
    return (x, y, z)
