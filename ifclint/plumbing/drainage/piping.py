"""The drainage as its places join it: what is wet, what is dry, and where elements meet.

Lists are indexed by element, as in the network.
"""

from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise, takewhile
from math import dist

from ifclint.engineering.directions import Direction, angle_deg, direction, rise_deg
from ifclint.engineering.joined import NONE, onward
from ifclint.engineering.tolerance import at_least
from ifclint.ifc.elements import Element, Point, Role
from ifclint.network import Network
from ifclint.plumbing.drainage.gravity import Drainage
from ifclint.plumbing.drainage.orientation import STRAIGHT_DEG, counts_as_vertical
from ifclint.plumbing.drainage.services import Service
from ifclint.plumbing.floors import Floors

SHORTEST_M = 0.005  # what joins two ends that hardly miss each other has no direction. Ours


@dataclass(frozen=True)
class Piping:
    """Flow, service and meeting places of every drainage element."""

    network: Network
    drainage: Drainage
    service: list[Service]
    wet_above: list[list[int]]  # the wet elements that flow into each
    at_place: list[list[int]]  # the elements that end at each place
    floors: Floors
    _rise_deg: dict[int, float | None] = field(default_factory=dict, init=False, repr=False)

    @cached_property
    def elements(self) -> list[Element]:
        return self.network.elements

    def is_wet(self, index: int) -> bool:
        return self.service[index] is Service.DRAIN

    def is_pipe(self, index: int) -> bool:
        return self.elements[index].role is Role.PIPE

    def middle(self, index: int) -> Point | None:
        """Where the axes of an element meet."""
        return self.drainage.middles[index]

    def exit(self, index: int) -> Point | None:
        """The point through which water leaves an element."""
        place = self.drainage.exit_place[index]
        return self.drainage.places[place] if place != NONE else None

    def ends(self, index: int) -> list[Point]:
        points = (self.drainage.places[p] for p in self.drainage.ends_at[index])
        return [p for p in points if p is not None]

    def rise_deg(self, index: int) -> float | None:
        """The angle of a pipe above the horizontal; None where its ends are not known."""
        if index not in self._rise_deg:
            self._rise_deg[index] = self._measured_rise_deg(index)
        return self._rise_deg[index]

    def _measured_rise_deg(self, index: int) -> float | None:
        ends = sorted(self.ends(index), key=lambda p: p[2])
        way = direction(ends[0], ends[-1]) if ends else None
        return None if way is None else rise_deg(way)

    def is_vertical(self, index: int) -> bool:
        """Whether a pipe counts as vertical; an element without a orientation does not."""
        angle = self.rise_deg(index) if self.is_pipe(index) else None
        return angle is not None and counts_as_vertical(angle)

    def is_horizontal(self, index: int) -> bool:
        angle = self.rise_deg(index) if self.is_pipe(index) else None
        return angle is not None and not counts_as_vertical(angle)

    def path(self, indexes: tuple[int, ...], start: Point | None) -> list[Point | None]:
        """The points water passes through elements in order, from `start` to the middle of the
        last, or to where it enters the last if that is a pipe."""
        points = [start]
        for index in indexes[:-1]:
            if not self.is_pipe(index):
                points.append(self.middle(index))
            points.append(self.exit(index))
        if indexes and not self.is_pipe(indexes[-1]):
            points.append(self.middle(indexes[-1]))
        return points

    def next_pipe(self, index: int) -> int:
        """An element where it is pipe, else the next pipe down the drain; `NONE` for none."""
        return next(filter(self.is_pipe, onward(index, self.drainage.down)), NONE)

    def developed_m(self, start: int, stop: int) -> float | None:
        """Developed length down the drain along its centrelines, each way from the centre of a
        fitting or the upper end of a pipe; None where it is not known, or does not lead there."""
        path = [*takewhile(lambda i: i != stop, onward(start, self.drainage.down))]
        if (self.drainage.down[path[-1]] if path else start) != stop:
            return None
        first = self.upper_end(start) if self.is_pipe(start) else self.middle(start)
        return length_of(
            [first, *self.path((*path[1:], stop), self.exit(start))] if path else [first]
        )

    def upper_end(self, index: int) -> Point | None:
        """The end of a pipe farthest from where water leaves it."""
        leaving = self.exit(index)
        if leaving is None:
            return None
        return max(self.ends(index), key=lambda p: dist(p, leaving), default=None)


def length_of(points: list[Point | None]) -> float | None:
    """Developed length along points; None where one is not known."""
    known = [p for p in points if p is not None]
    if len(known) < len(points) or not known:
        return None
    return sum(dist(a, b) for a, b in pairwise(known))


def level_turns_deg(points: list[Point | None]) -> list[float]:
    """The changes of horizontal direction along points; vertical stretches start anew."""
    turns: list[float] = []
    before: Direction | None = None
    for a, b in pairwise(p for p in points if p is not None):
        way, level = direction(a, b), direction(a, (b[0], b[1], a[2]))
        if way is None or dist(a, b) < SHORTEST_M:
            continue
        if level is None or counts_as_vertical(abs(rise_deg(way))):
            before = None
            continue
        if before is not None and at_least(angle_deg(before, level), STRAIGHT_DEG, "deg"):
            turns.append(angle_deg(before, level))
        before = level
    return turns


def build_piping(
    network: Network, drainage: Drainage, service: list[Service], floors: Floors
) -> Piping:
    """The piping of a network whose services are known."""
    wet_above: list[list[int]] = [[] for _ in network.elements]
    at_place: list[list[int]] = [[] for _ in drainage.places]
    for index in sorted(drainage.members):
        below = drainage.down[index]
        if below != NONE and service[index] is Service.DRAIN:
            wet_above[below].append(index)
        for place in dict.fromkeys(drainage.ends_at[index]):
            at_place[place].append(index)
    return Piping(network, drainage, service, wet_above, at_place, floors)
