"""Drain, vent and cleanout runs: pipe between junctions, of one size and one orientation; and the
least slope of drains.

A run does not change when its pipe is drawn in more or fewer pieces.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property
from math import dist, hypot

from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.directions import direction, rise_deg
from ifclint.engineering.joined import NONE
from ifclint.ifc.elements import Element, Point, Role, System
from ifclint.network import Network
from ifclint.plumbing.drainage.gravity import Drainage
from ifclint.plumbing.drainage.orientation import counts_as_vertical
from ifclint.plumbing.drainage.run_ends import Topology, is_level, topology_of
from ifclint.plumbing.drainage.services import Service
from ifclint.plumbing.flow.segment import Segment


class Part(StrEnum):
    """What a drain is to the building."""

    STACK = "stack"
    OFFSET = "horizontal offset of a stack"
    HORIZONTAL_BRANCH = "horizontal branch"
    BUILDING_DRAIN = "building drain"
    BUILDING_DRAIN_BRANCH = "branch of the building drain"
    TAILPIECE = "tailpiece"  # between a fixture and its trap
    TRAP_ARM = "trap arm"  # from the trap to the first junction or vertical pipe
    UNKNOWN = "drain"


@dataclass(frozen=True, slots=True)
class Pipe:
    """One pipe of a segment, upstream end first. Metres; `slope` is fall over horizontal length."""

    element: Element
    up: Point | None
    down: Point | None
    length_m: float | None
    fall_m: float | None
    slope: float | None
    vertical: bool | None

    @property
    def falls_as_stated(self) -> bool:
        """Whether it is drawn level, and is said to fall."""
        drawn = self.up is not None and self.down is not None and self.up != self.down
        return drawn and self.fall_m is None and bool(self.slope)


@dataclass(eq=False)
class DrainSegment(Segment):
    """Upstream first. `next` is the segment it flows into (for a vent: drains back into)."""

    pipes: list[Pipe]
    indexes: list[int]  # its pipes, as elements of the network
    service: Service
    between: list[int] = field(default_factory=list)  # fittings between its pipes
    tail: tuple[int, ...] = ()  # fittings from its last pipe to the next segment, or to the outlet
    next: DrainSegment | None = None
    part: Part = Part.UNKNOWN
    is_vented_arm: bool = False  # a trap arm that ends at a vent
    above: list[DrainSegment] = field(default_factory=list)

    @property
    def is_drain(self) -> bool:
        """Whether it is drain proper: wet, and past the trap arm."""
        return self.service is Service.DRAIN and self.part not in (Part.TAILPIECE, Part.TRAP_ARM)

    @property
    def is_drain_or_arm(self) -> bool:
        return self.service is Service.DRAIN and self.part is not Part.TAILPIECE

    @property
    def meets(self) -> int:
        """The element in which it meets the others that flow to the same segment; alone, the last
        before that segment. -1 where it flows to none."""
        if self.next is None:
            return NONE
        others = {i for s in self.next.above if s is not self for i in s.tail}
        shared = (i for i in self.tail if i in others)
        return next(shared, (*self.next.indexes[:1], *self.tail)[-1])

    @property
    def pipe_elements(self) -> list[Element]:
        return [pipe.element for pipe in self.pipes]

    @property
    def first(self) -> Element:
        return self.pipes[0].element

    @property
    def vertical(self) -> bool | None:
        return self.pipes[0].vertical

    @property
    def orientation(self) -> str | None:
        """ "vertical" or "horizontal", None where the model has no positions."""
        return None if self.vertical is None else ("vertical" if self.vertical else "horizontal")

    @cached_property
    def length_m(self) -> float | None:
        lengths = [p.length_m for p in self.pipes]
        return None if None in lengths else sum(x for x in lengths if x is not None)

    @property
    def flattest(self) -> Pipe | None:
        """The pipe with the least slope; None where a pipe's slope is not known."""
        if any(p.slope is None for p in self.pipes):
            return None
        return min(self.pipes, key=lambda p: or_zero(p.slope))

    @cached_property
    def slope(self) -> float | None:
        flattest = self.flattest
        return None if flattest is None else flattest.slope

    @property
    def words(self) -> str:
        if self.service is not Service.DRAIN:
            return self.service.value
        upright = self.vertical and self.part in (
            Part.HORIZONTAL_BRANCH,
            Part.BUILDING_DRAIN_BRANCH,
        )
        return "vertical drain" if upright else self.part.value

    @property
    def system(self) -> str:
        return (self.first.system or System.SANITARY).value

    @property
    def point(self) -> Point | None:
        return midpoint(self.pipes[0])

    def lacking(self, fact: str) -> tuple[str, ...]:
        """The elements whose missing fact makes the segment's fact unknown."""
        attribute = {"orientation": "vertical"}.get(fact, fact)
        lacking = [
            pipe.element.guid
            for pipe in self.pipes
            if getattr(pipe.element if fact == "size_in" else pipe, attribute, 0) is None
        ]
        return tuple(lacking) or self.element_ids


def midpoint(pipe: Pipe) -> Point | None:
    if pipe.up is None or pipe.down is None:
        return pipe.up or pipe.down
    a, b = pipe.up, pipe.down
    return ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2, (a[2] + b[2]) / 2)


def make_segments(
    network: Network,
    drainage: Drainage,
    service_of: list[Service],
    other_inflows: Collection[int] = (),
    make: type[DrainSegment] = DrainSegment,
) -> list[DrainSegment]:
    """All segments of the drainage, downstream first, each a `make`.

    `service_of` tells what every element is to the drainage (`services`). At `other_inflows` water
    enters that comes from no source drawn: junctions too.
    """
    topology = topology_of(network, drainage, service_of)
    for index in other_inflows:
        topology.junction[index] = True
    segment_of: dict[int, DrainSegment] = {}
    ahead: dict[
        int, tuple[int, tuple[int, ...], bool]
    ] = {}  # next pipe, fittings to it, clear path
    segments: list[DrainSegment] = []
    for index in drainage.order:
        ahead[index] = _ahead(topology, ahead, index)
        element = network.elements[index]
        if element.role is not Role.PIPE:
            continue
        pipe = _pipe(topology, index)
        next_pipe, tail, clear = ahead[index]
        below = segment_of.get(next_pipe)
        service = topology.service[index]
        if below is not None and clear and _continues(below, pipe, service):
            below.pipes.append(pipe)
            below.indexes.append(index)
            below.between.extend(reversed(tail))
            segment_of[index] = below
            continue
        segment = make([pipe], [index], service, tail=tail, next=below)
        segment_of[index] = segment
        segments.append(segment)
    for segment in segments:
        segment.pipes.reverse()
        segment.indexes.reverse()
        segment.between.reverse()
        if segment.next is not None:
            segment.next.above.append(segment)
    return segments


def _ahead(
    topology: Topology, ahead: dict[int, tuple[int, tuple[int, ...], bool]], index: int
) -> tuple[int, tuple[int, ...], bool]:
    """The next pipe downstream, the fittings on the path, and whether no junction lies between."""
    below = topology.drainage.down[index]
    if below == NONE:
        return NONE, (), False
    clear = not topology.junction[below]
    if topology.network.elements[below].role is Role.PIPE:
        return below, (), clear
    following, fittings, clear_after = ahead[below]
    return following, (below, *fittings), clear and clear_after


def _continues(segment: DrainSegment, pipe: Pipe, service: Service) -> bool:
    """Whether `pipe`, just upstream of a segment still being built, is part of it."""
    return (
        segment.service is service
        and segment.pipes[-1].element.size_in == pipe.element.size_in
        and segment.pipes[-1].vertical == pipe.vertical
    )


def _pipe(topology: Topology, index: int) -> Pipe:
    """A pipe with its ends in the direction of flow."""
    element = topology.network.elements[index]
    drainage = topology.drainage
    ends = drainage.ends_at[index]
    leaving = drainage.exit_place[index]
    if leaving == NONE:  # the pipe at an open outlet: it is left by its lower end
        leaving = min(ends, key=lambda p: _z(drainage.places[p]))
    entering = max(
        (p for p in ends if p != leaving),
        key=lambda p: _separation(drainage.places[p], drainage.places[leaving]),
        default=leaving,
    )
    up, down = (_own_end(element, ends, p) or drainage.places[p] for p in (entering, leaving))
    if up is None or down is None or up == down:
        return Pipe(element, up, down, element.length_m, None, element.slope, None)
    way, length = direction(up, down), dist(up, down)
    fall, run = up[2] - down[2], hypot(up[0] - down[0], up[1] - down[1])
    vertical = way is not None and counts_as_vertical(abs(rise_deg(way)))
    slope = fall / run if run > 1e-9 else float("inf")
    level = way is not None and is_level(way)
    if level and (element.slope or topology.drawn_level):
        stated = element.slope and abs(element.slope)  # one level pipe falls as it is said to
        return Pipe(element, up, down, element.length_m or length, None, stated, False)
    return Pipe(element, up, down, element.length_m or length, fall, slope, vertical)


def _own_end(element: Element, ends: list[int], place: int) -> Point | None:
    """Where the pipe itself ends at a place: what it is joined to may lie beside, across a gap."""
    own = [end.position for end, at in zip(element.ends, ends, strict=False) if at == place]
    return own[0] if len(own) == 1 else None


def _z(point: Point | None) -> float:
    return point[2] if point is not None else float("inf")


def _separation(a: Point | None, b: Point | None) -> float:
    return dist(a, b) if a is not None and b is not None else 0.0
