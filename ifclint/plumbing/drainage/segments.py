"""Drain, vent and cleanout runs: pipe between junctions, of one size and one orientation.

A run does not change when its pipe is drawn in more or fewer pieces.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property
from math import dist, hypot, isclose

from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.directions import direction, rise_deg
from ifclint.engineering.joined import NONE, onward
from ifclint.engineering.tolerance import at_least
from ifclint.ifc.elements import Element, Point, Role, System
from ifclint.network import Network
from ifclint.plumbing.drainage.gravity import Drainage
from ifclint.plumbing.drainage.receptors import RECEPTOR
from ifclint.plumbing.drainage.run_ends import last_branches
from ifclint.plumbing.drainage.sources import INDIRECT
from ifclint.plumbing.flow.places import HOLDING
from ifclint.plumbing.flow.segment import Segment

FALLS = 1e-4  # of its length: pipe that falls less was drawn level. Ours, no source
LEVEL_SHARE = 0.9  # of the lying drains, by length: where as much is level, no fall was drawn. Ours
STRAIGHT_DEG = 10.0  # what turns less goes straight on. Ours, no source
VERTICAL_FROM_DEG = 45.0  # from here a drain is vertical, in either family of codes
STOREY_HEIGHT_M = 8 * 0.3048  # a branch interval is never less; a vertical this tall is a stack


def counts_as_vertical(rise_deg: float) -> bool:
    """Whether pipe so steep is vertical by the codes: drawn at 45 degrees, or steeper."""
    return at_least(rise_deg, VERTICAL_FROM_DEG, "deg")


class Service(StrEnum):
    DRAIN = "drain"
    VENT = "vent"
    CLEANOUT = "cleanout"
    STUB = "stub"  # dry, and leads to nothing
    INDIRECT = "indirect waste"  # ends in the open over a receptor
    PRESSURE = "pumped discharge"  # runs full, from a pump to the drain that takes it


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


@dataclass
class _Topology:
    """The forest seen from its junctions."""

    network: Network
    drainage: Drainage
    service: list[Service]
    junction: list[bool]
    drawn_level: bool = False


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
    topology = _topology_of(network, drainage, service_of)
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


def services(network: Network, drainage: Drainage, sources: Collection[int]) -> list[Service]:
    """What every element is to the drainage: wet, dry vent, path to a cleanout, or a stub."""
    elements = network.elements
    members, passed_by = drainage.members, drainage.passed_by
    wet = passed_by([*sources, *drainage.entries])
    terminals = passed_by(i for i in members if elements[i].role is Role.VENT_TERMINAL)
    vents = passed_by(i for i in members if elements[i].system is System.VENT)
    cleanouts = passed_by(i for i in members if elements[i].role is Role.CLEANOUT)

    indirect = [i for i in members if elements[i].kind in INDIRECT]
    fed = {drainage.outlet[index] for index in (*sources, *indirect, *drainage.entries)}

    low, high = _open_ends(network, drainage, wet)
    dangling, rising = passed_by(low), passed_by(high)
    upper_ends = (i for i in members if not drainage.beyond[i] and elements[i].role is Role.PIPE)
    drained = passed_by(upper_ends)

    over = [outlet.kind == RECEPTOR for outlet in drainage.outlets]

    pressed = drainage.pressed

    def service(index: int) -> Service:
        if index in pressed:
            return Service.PRESSURE
        if drainage.outlet[index] != NONE and over[drainage.outlet[index]]:
            return Service.INDIRECT
        if wet[index] or (dangling[index] and not terminals[index]):
            return Service.DRAIN
        is_fed = drainage.outlet[index] in fed
        if elements[index].system is System.VENT or terminals[index] or (vents[index] and is_fed):
            return Service.VENT
        if not is_fed and (drained[index] or not cleanouts[index]):
            return Service.DRAIN  # the model holds no fixture of this drainage
        return Service.CLEANOUT if cleanouts[index] and not rising[index] else Service.STUB

    found = [service(i) for i in range(len(elements))]
    for index in _below_vents(network, drainage, found, wet):
        found[index] = Service.VENT
    return found


def _below_vents(
    network: Network, drainage: Drainage, service: list[Service], wet: list[bool]
) -> list[int]:
    """The upright pipe of cleanouts that a vent joins above: air passes it on from the drain."""
    found = []
    for vent in sorted(_vents(network, drainage, service, wet)):
        for index in onward(drainage.down[vent], drainage.down):
            if service[index] is not Service.CLEANOUT or _lies_level(network.elements[index]):
                break
            found.append(index)
    return found


def _lies_level(element: Element) -> bool:
    ends = [end.position for end in element.ends]
    way = direction(ends[0], ends[-1]) if element.role is Role.PIPE and len(ends) > 1 else None
    return way is not None and not counts_as_vertical(abs(rise_deg(way)))


def dangling_ends(network: Network, drainage: Drainage, wet: list[bool]) -> list[int]:
    """Dry sanitary pipes that end open no higher than the fixtures: what they take is not drawn."""
    return _open_ends(network, drainage, wet)[0]


def _open_ends(
    network: Network, drainage: Drainage, wet: list[bool]
) -> tuple[list[int], list[int]]:
    """Dry sanitary pipes that end open no higher than the fixtures, and those that end above.

    An open end above every fixture is that of a vent.
    """
    elements = network.elements
    rims = [e.position[2] for i, e in enumerate(elements) if wet[i] and e.position is not None]
    highest = max(rims, default=-float("inf"))
    uses = Counter(place for index in drainage.members for place in drainage.ends_at[index])
    low, high = [], []
    for index in drainage.members:
        element = elements[index]
        if wet[index] or element.role is not Role.PIPE or element.system is not System.SANITARY:
            continue
        points = [
            drainage.places[place]
            for place in drainage.ends_at[index]
            if uses[place] == 1 and place != drainage.exit_place[index]
        ]
        known = [point[2] for point in points if point is not None]
        if any(height <= highest for height in known):
            low.append(index)
        elif known:
            high.append(index)
    return low, high


def _topology_of(network: Network, drainage: Drainage, service: list[Service]) -> _Topology:
    elements = network.elements
    inflows = [0] * len(elements)
    at_place: dict[int, int] = {}
    wet = [s is Service.DRAIN for s in service]
    vents = _vents(network, drainage, service, wet)
    for index in drainage.members:
        below = drainage.down[index]
        if below != NONE and (service[index] is Service.DRAIN or index in vents):
            inflows[below] += 1
            place = drainage.exit_place[index]
            at_place[place] = at_place.get(place, 0) + 1
    junction = [count > 1 for count in inflows]
    for index in drainage.members:
        if at_place.get(drainage.exit_place[index], 0) > 1 and drainage.down[index] != NONE:
            junction[drainage.down[index]] = True
    held = (index for index in drainage.members if elements[index].role in HOLDING)
    ended = last_branches(network, drainage, wet)
    for index in (*_where_vents_meet(drainage, service), *ended, *held):
        junction[index] = True
    topology = _Topology(network, drainage, service, junction)
    topology.drawn_level = _drawn_level(topology)
    return topology


def _vents(
    network: Network, drainage: Drainage, service: list[Service], wet: list[bool]
) -> set[int]:
    """The dry piping that is joined to a vent or ends open above all fixtures, called so or not."""
    rising = set(_open_ends(network, drainage, wet)[1])
    dry = [i for i in drainage.members if service[i] in (Service.VENT, Service.STUB)]
    found: set[int] = set()
    for piece in network.pieces(dry):
        if any(service[i] is Service.VENT or i in rising for i in piece):
            found |= piece
    return found


def _where_vents_meet(drainage: Drainage, service: list[Service]) -> list[int]:
    """Dry vents that more than two others join. Water flows apart there, air together."""
    at: dict[int, list[int]] = {}
    vents = [i for i in drainage.members if service[i] is Service.VENT]
    for index in vents:
        for place in dict.fromkeys(drainage.ends_at[index]):
            at.setdefault(place, []).append(index)
    joined = {i: {o for p in drainage.ends_at[i] for o in at[p]} - {i} for i in vents}
    return [index for index, others in joined.items() if len(others) > 2]


def _drawn_level(topology: _Topology) -> bool:
    """True where hardly any near-horizontal drain of the whole model falls: no fall was drawn."""
    level_m = whole_m = 0.0
    for index in topology.drainage.members:
        element = topology.network.elements[index]
        if element.role is Role.PIPE and len(element.ends) > 1:
            a, b = element.ends[0].position, element.ends[1].position
            way = direction(a, b)
            if a is None or b is None or way is None or counts_as_vertical(abs(rise_deg(way))):
                continue
            whole_m += dist(a, b)
            level_m += dist(a, b) if _is_level(way) else 0.0
    return level_m > 0 and level_m >= LEVEL_SHARE * whole_m


def _is_level(way: Point) -> bool:
    return isclose(way[2], 0.0, abs_tol=FALLS)


def _ahead(
    topology: _Topology, ahead: dict[int, tuple[int, tuple[int, ...], bool]], index: int
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


def _pipe(topology: _Topology, index: int) -> Pipe:
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
    level = way is not None and _is_level(way)
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
