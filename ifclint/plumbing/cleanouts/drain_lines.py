"""Horizontal drains as one rods them: from an upper end down to where the line ends."""

from dataclasses import dataclass, field
from itertools import islice, takewhile
from math import dist, inf

from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.joined import NONE, onward
from ifclint.engineering.wording import of_size
from ifclint.ifc.elements import Element, Location, Point, Role
from ifclint.plumbing.drainage.fixtures import Fixture
from ifclint.plumbing.drainage.piping import Piping, level_turns_deg
from ifclint.plumbing.drainage.run_ends import goes_straight, last_branches
from ifclint.plumbing.drainage.segments import DrainSegment, Part, midpoint
from ifclint.plumbing.drainage.services import Service
from ifclint.plumbing.drainage.stacks import Stack
from ifclint.plumbing.flow.places import HOLDING
from ifclint.plumbing.flow.subject import place_of
from ifclint.plumbing.venting.trap_arms import TrapArm

SEWER = "sewer-connection"


def has_cover(element: Element) -> bool:
    """Whether it is an interceptor, manhole or the like, which one opens to rod from."""
    return element.role in HOLDING and element.kind != SEWER


@dataclass(eq=False)
class DrainLine:
    """A horizontal drain from its upper end, past its branches, to a vertical pipe, a larger
    drain, an interceptor or manhole, or the outlet. Upstream first; trap arms are no part of it.

    `indexes` are its elements, `at_m` the distance of each from the upper end (centre of a
    fitting, upper end of a pipe).
    """

    piping: Piping
    segments: list[DrainSegment]
    head: int  # the element above its first pipe, -1 where it begins in the open
    indexes: list[int] = field(default_factory=list)
    points: list[Point | None] = field(default_factory=list)
    at_m: dict[int, float] = field(default_factory=dict)
    length_m: float | None = None
    fixtures: list[Fixture] = field(default_factory=list)  # whose first line this is
    takes_stack: bool = False  # a stack turns into it at its upper end

    @property
    def first(self) -> Element:
        return self.segments[0].first

    @property
    def key(self) -> str:
        return self.first.guid

    @property
    def label(self) -> str:
        return f'{of_size(self.size_in)}horizontal drain "{self.first.label}"'

    @property
    def system(self) -> str:
        return self.segments[0].system

    @property
    def element_ids(self) -> tuple[str, ...]:
        return tuple(guid for segment in self.segments for guid in segment.element_ids)

    @property
    def location(self) -> Location:
        return place_of(self.first, midpoint(self.segments[0].pipes[0]))

    @property
    def size_in(self) -> float | None:
        """The size at its upper end."""
        return self.segments[0].size_in

    @property
    def height_m(self) -> float | None:
        """How high its upper end lies."""
        point = self.segments[0].pipes[0].up
        return None if point is None else point[2]

    @property
    def begins_at_a_cover(self) -> bool:
        """Whether it leads on from an interceptor, manhole or the like, which one opens."""
        return self.head != NONE and has_cover(self.piping.elements[self.head])

    @property
    def parts(self) -> set[Part]:
        return {segment.part for segment in self.segments}

    @property
    def steepness_deg(self) -> float | None:
        """How steep its flattest pipe lies, as far as is known."""
        pipes = (index for segment in self.segments for index in segment.indexes)
        known = (self.piping.rise_deg(index) for index in pipes)
        return min((angle for angle in known if angle is not None), default=None)

    @property
    def joined_m(self) -> list[float]:
        """How far from the upper end it joins, from the side, a drain no smaller that goes straight
        on: a fixture's own, which is no line. What follows is that drain."""
        joins = (self.indexes[n] for n in range(1, len(self.indexes) - 1) if self._joins(n))
        return [self.at_m[index] for index in joins if index in self.at_m]

    def _joins(self, n: int) -> bool:
        """Whether a drain no smaller goes straight through an element that this enters aside."""
        piping, index, came = self.piping, self.indexes[n], self.indexes[n - 1]
        if goes_straight(piping.drainage, came, index):
            return False
        mine = or_zero(piping.elements[came].size_in)
        return any(
            goes_straight(piping.drainage, i, index) and or_zero(piping.elements[i].size_in) >= mine
            for i in piping.wet_above[index]
            if i != came
        )

    @property
    def turns(self) -> list[tuple[int, float, float]]:
        """Changes of horizontal direction, in a fitting or where pipes meet without one: element,
        degrees, distance from the upper end. Where it joins a drain that goes straight on is none.
        """
        found = []
        for n in range(1, len(self.indexes) - 1):
            index = self.indexes[n]
            if index == self.head or self._joins(n):
                continue
            angles = level_turns_deg(self._way_through(n))
            if angles and index in self.at_m:
                found.append((index, sum(angles), self.at_m[index]))
        return found

    def size_into_in(self, index: int) -> float | None:
        """The size of the pipe that comes to an element of it."""
        n = self.indexes.index(index)
        sizes = (self.piping.elements[i].size_in for i in reversed(self.indexes[: n + 1]))
        pipes = (self.piping.is_pipe(i) for i in reversed(self.indexes[: n + 1]))
        return next((size for size, pipe in zip(sizes, pipes, strict=True) if pipe), self.size_in)

    def _way_through(self, n: int) -> list[Point | None]:
        """Points along the line where it may turn; none in a pipe behind a fitting or the head."""
        piping, index, before = self.piping, self.indexes[n], self.indexes[n - 1]
        here = piping.middle(index)
        if not piping.is_pipe(index):
            return [self._point_before(n), here, piping.exit(index)]
        if not piping.is_pipe(before) or before == self.head:
            return []
        return [piping.middle(before), self._point_before(n), here]

    def _point_before(self, n: int) -> Point | None:
        return self.piping.exit(self.indexes[n - 1])


def find_lines(
    piping: Piping,
    segments: list[DrainSegment],
    stacks: list[Stack],
    arms: list[TrapArm],
    fixtures: list[Fixture],
) -> list[DrainLine]:
    """Every horizontal drain line, in the order of the runs (downstream first)."""
    in_arm = {i for arm in arms if arm.breathes for i in arm.path[:-1]} | _above_traps(piping, arms)
    flow = piping.drainage.how_many(f.index for f in fixtures)
    chain_of: dict[DrainSegment, list[DrainSegment]] = {}
    chains: list[list[DrainSegment]] = []
    wet = [piping.is_wet(i) for i in range(len(piping.elements))]
    held = (i for i in piping.drainage.members if has_cover(piping.elements[i]))
    ended = {*last_branches(piping.network, piping.drainage, wet), *held}
    for segment in segments:
        if not _is_line(segment, in_arm):
            continue
        below = segment.next
        chain = chain_of.get(below) if below is not None else None
        goes_on = chain is not None and chain[-1] is below and ended.isdisjoint(_joint(segment))
        if chain is not None and goes_on and _is_main(piping, segment, flow, in_arm):
            chain.append(segment)
        else:
            chain = [segment]
            chains.append(chain)
        chain_of[segment] = chain
    lines = [_line(piping, chain[::-1]) for chain in chains]
    _give_fixtures(lines, fixtures)
    feet = {stack.base.indexes[-1] for stack in stacks}
    for line in lines:
        line.takes_stack = any(i in feet for i in _just_above(piping, line))
    return lines


def _joint(segment: DrainSegment) -> list[int]:
    """The elements in which it comes to the next: fittings, or where none is drawn its first."""
    return [*segment.tail] or ([] if segment.next is None else segment.next.indexes[:1])


def _above_traps(piping: Piping, arms: list[TrapArm]) -> set[int]:
    """The elements between fixtures and their traps."""
    found: set[int] = set()
    frontier = [arm.start for arm in arms if arm.trap is not None and not arm.integral]
    while frontier:
        above = [i for i in piping.wet_above[frontier.pop()] if i not in found]
        found.update(above)
        frontier += above
    return found


def _is_line(segment: DrainSegment, in_arm: set[int]) -> bool:
    wet = segment.service is Service.DRAIN and segment.part is not Part.TAILPIECE
    return wet and segment.vertical is False and not all(i in in_arm for i in segment.indexes)


def _is_extension(segment: DrainSegment) -> bool:
    """Whether it leads level from a cleanout, or from where such a path takes in a fixture."""
    from_cleanout = any(above.service is Service.CLEANOUT for above in segment.above)
    return segment.vertical is False and (segment.service is Service.CLEANOUT or from_cleanout)


def _is_main(piping: Piping, segment: DrainSegment, flow: list[float], in_arm: set[int]) -> bool:
    """Of several drains that meet, the line goes on in the largest, then in the one that goes
    straight through, the busiest, the longest. None counts as larger than the drain they flow into.

    A level path to a cleanout, alone or with a trap arm that comes into it, counts where no drain
    is as large: the drain it extends begins there.
    """
    above = segment.next.above if segment.next is not None else []
    most_in = (segment.next.size_in if segment.next is not None else None) or inf
    rivals = [r for r in above if _is_line(r, in_arm) or _is_extension(r)]

    def rank(r: DrainSegment) -> tuple[float, bool, bool, float, float, str]:
        is_drain, straight = _is_line(r, in_arm), _is_straight(piping, r)
        flows, length = flow[r.indexes[-1]], or_zero(r.length_m)
        return (min(or_zero(r.size_in), most_in), is_drain, straight, flows, length, r.key)

    return segment is max(rivals, key=rank)


def _is_straight(piping: Piping, segment: DrainSegment) -> bool:
    """Whether a segment goes straight through the fitting in which it meets others."""
    came = segment.indexes[-1]
    for index in segment.tail:
        if len(piping.drainage.beyond[index]) > 1:
            return goes_straight(piping.drainage, came, index)
        came = index
    return False


def _line(piping: Piping, segments: list[DrainSegment]) -> DrainLine:
    first, last = segments[0].indexes[0], segments[-1].indexes[-1]
    above = piping.wet_above[first]
    head = above[0] if above else NONE
    line = DrainLine(piping, segments, head)
    line.indexes += takewhile(lambda i: i != last, onward(first, piping.drainage.down))
    line.indexes += [last, *islice(onward(piping.drainage.down[last], piping.drainage.down), 1)]
    if head != NONE:
        line.indexes.insert(0, head)
    _measure(piping, line, last)
    return line


def _measure(piping: Piping, line: DrainLine, last: int) -> None:
    """Points and distances along the line, from the middle of its head.

    A pipe that turns into the line, or into which it turns, without a fitting is no part of it.
    """
    at = line.segments[0].pipes[0].up
    if line.head != NONE:
        of_head = piping.exit if piping.is_pipe(line.head) else piping.middle
        at = of_head(line.head)
    total: float | None = 0.0
    line.points.append(at)
    for index in line.indexes:
        here = None if piping.is_pipe(index) else piping.middle(index)
        if index == line.head:
            here = at
        if here is not None:
            total = _plus(total, at, here)
            at = here
            line.points.append(here)
        if total is not None:
            line.at_m[index] = total
        leaving = piping.exit(index)
        if index == line.indexes[-1] and index != last:
            break
        if leaving is not None:
            total = _plus(total, at, leaving)
            at = leaving
            line.points.append(leaving)
    line.length_m = total


def _plus(total: float | None, a: Point | None, b: Point | None) -> float | None:
    return None if total is None or a is None or b is None else total + dist(a, b)


def _just_above(piping: Piping, line: DrainLine) -> list[int]:
    """The pipes next above the upper end of a line, past fittings."""
    found: list[int] = []
    frontier = [line.segments[0].indexes[0]]
    while frontier:
        frontier = [i for index in frontier for i in piping.wet_above[index]]
        found += [i for i in frontier if piping.is_pipe(i)]
        frontier = [i for i in frontier if piping.elements[i].role is not Role.PIPE]
    return found


def _give_fixtures(lines: list[DrainLine], fixtures: list[Fixture]) -> None:
    """Every fixture to the first line its water comes to."""
    line_of = {segment: line for line in lines for segment in line.segments}
    for fixture in fixtures:
        segment = fixture.drain
        while segment is not None and segment not in line_of:
            segment = segment.next
        if segment is not None:
            line_of[segment].fixtures.append(fixture)
