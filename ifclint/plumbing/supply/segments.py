"""Segments of the water supply: what lies between two junctions, in one size and one material."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from ifclint.engineering.directions import angle_deg, direction
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_least
from ifclint.ifc.elements import CONNECTOR, Element, Point, Role, System
from ifclint.plumbing.flow.distribution import Connection, Distribution
from ifclint.plumbing.flow.segment import Segment
from ifclint.plumbing.words import copper_type, says

COLD, HOT = "cold", "hot"
SIDEWAYS_DEG = 45.0  # left at a flatter angle a junction is passed straight
TURNING = frozenset({Role.HEATER, Role.REGULATOR})
WARMED = ("solar*", "preheat*", "pre heat*", "buffer*", "hot water storage", "hot water tank")
SETS_PRESSURE = frozenset({"pressure-reducing"})


@dataclass(eq=False, repr=False)
class WaterSegment(Segment):
    """Pipe of one size and material between junctions, source end first, with its fittings.

    `indexes` are all its elements; the last is the junction it ends in, if it ends in one. `inlet`
    is the junction it leaves, and `branches` whether it leaves it sideways.
    """

    distribution: Distribution
    indexes: list[int]
    pipes: list[int] = field(default_factory=list)
    above: WaterSegment | None = None
    below: list[WaterSegment] = field(default_factory=list)
    inlet: int = NONE
    branches: bool = False
    connection: Connection | None = None  # the fixture or appliance it ends in
    service: str = COLD  # what it carries: hot downstream of a heater
    heater: int = NONE  # the heater it comes from
    number: int = 0  # in `Supply.segments`
    passed: frozenset[str] = frozenset()  # kinds of all on the way from the source, its own too

    @cached_property
    def elements(self) -> list[Element]:
        return [self.distribution.elements[i] for i in self.indexes]

    @property
    def pipe_elements(self) -> list[Element]:
        """Its pipes; its fittings where it has none."""
        return [self.distribution.elements[i] for i in self.pipes or self.indexes]

    @cached_property
    def first(self) -> Element:
        """The first pipe, else the first element."""
        return self.distribution.elements[(self.pipes or self.indexes)[0]]

    @cached_property
    def size_in(self) -> float | None:
        """The nominal size of its pipe; the smallest of its fittings where it has none."""
        if self.pipes:
            return self.first.size_in
        sizes = [e.size_in for e in self.elements if e.size_in is not None]
        return min(sizes, default=None)

    @cached_property
    def is_connector(self) -> bool:
        """Whether it is what connects a fixture to its stop: a hose or riser, no piping."""
        elements = self.distribution.elements
        return bool(self.pipes) and all(elements[i].kind == CONNECTOR for i in self.pipes)

    @cached_property
    def length_m(self) -> float | None:
        """Developed length of its pipe, nothing where it has none."""
        return super().length_m if self.pipes else 0.0

    @property
    def in_line(self) -> list[int]:
        """Its fittings, valves and devices, without the junction it ends in."""
        pipes = set(self.pipes)
        inner = self.indexes[:-1] if self.below else self.indexes
        return [i for i in inner if i not in pipes]

    @property
    def to_source(self) -> list[WaterSegment]:
        """The segments from the source to this one, with it."""
        path: list[WaterSegment] = []
        segment: WaterSegment | None = self
        while segment is not None:
            path.append(segment)
            segment = segment.above
        return path[::-1]

    @property
    def is_mixed(self) -> bool:
        """Whether its water comes through a faucet before it comes to a fixture."""
        return "faucet" in self.passed

    @property
    def source(self) -> int:
        """Where its water comes from: the first element on the way."""
        return self.distribution.roots[self.indexes[0]]

    @property
    def leads_elsewhere(self) -> bool:
        """Whether it ends at what the model joins to it and that is not understood."""
        return self.leads_to is not None

    @property
    def leads_to(self) -> str | None:
        """What that is called; None where it ends at nothing of the kind."""
        if self.below or self.connection is not None:
            return None
        network, last = self.distribution.network, self.indexes[-1]
        beside = (network.elements[i] for i in network.neighbours(last))
        strange = (e.called.strip() for e in beside if e.role is Role.OTHER)
        return network.model.leads_elsewhere.get(network.elements[last].guid, next(strange, None))

    @property
    def system(self) -> str:
        return f"{self.service} water"

    @property
    def words(self) -> str:
        return f"{self.system} line"

    @property
    def point(self) -> Point | None:
        return self.middle(self.indexes[0])

    def middle(self, index: int) -> Point | None:
        element = self.distribution.elements[index]
        return element.position or next(iter(element.places), None)


def make_water_segments(distribution: Distribution) -> list[WaterSegment]:
    """All segments, the source's first and each after the one that feeds it."""
    elements, up, below = distribution.elements, distribution.up, distribution.down()
    meeting = {*distribution.also_fed_by, *_where_loops_meet(distribution)}
    ends_in = {c.up: c for c in distribution.connections if c.up != NONE}
    segment_of: dict[int, WaterSegment] = {}
    segments: list[WaterSegment] = []
    for index in distribution.order:
        feed, element = up[index], elements[index]
        segment = segment_of.get(feed)
        onward = len(below[feed]) + (feed in ends_in) if feed != NONE else 0
        joins = index in distribution.also_fed_by and element.role is not Role.FITTING
        junction = onward > 1 or feed in meeting or joins
        if segment is None or junction or _ends(elements[feed]) or mixes(element):
            segment = WaterSegment(
                distribution, [], above=segment, inlet=feed if junction else NONE
            )
            segments.append(segment)
        elif element.role is Role.PIPE and segment.pipes and not _alike(segment.first, element):
            segment = _narrowed(segment, segment_of)
            segments.append(segment)
        segment.indexes.append(index)
        if element.role is Role.PIPE:
            segment.pipes.append(index)
        segment_of[index] = segment
    for segment in segments:
        segment.passed = frozenset(e.kind for e in segment.elements)
        if segment.above is not None:
            segment.above.below.append(segment)
            segment.passed |= segment.above.passed
        if segment.inlet != NONE:
            segment.branches = _turns(distribution, segment)
        if segment.indexes[-1] in ends_in:
            segment.connection = ends_in[segment.indexes[-1]]
    return segments


def _where_loops_meet(distribution: Distribution) -> set[int]:
    """The last elements of the paths of loops: what goes on from there is fed from both sides."""
    paths = [p for x in distribution.loops if not x.shared for p in (x.one_path, x.other_path)]
    return {path[-1] for path in paths if path}


def mixes(element: Element) -> bool:
    """A mixing valve, or a faucet with hot and cold inlets and an outlet: a line begins with it,
    since it carries more than each of its inlets."""
    if element.kind == "faucet":
        hot = any(end.system is System.HOT_WATER for end in element.ends)
        return len(element.ends) >= 3 or (hot and len(element.ends) == 2)
    return element.kind == "mixing"


def _ends(element: Element) -> bool:
    """Whether a line ends with an element, because what follows is at another pressure."""
    return element.role in TURNING or element.kind in SETS_PRESSURE or begins_anew(element)


def begins_anew(element: Element) -> bool:
    """Whether the pressure behind an element is not what is left of that before it: a pump or a
    tank that water passes, but no circulator or expansion tank, and nothing of the hot side, where
    pumps circulate and tanks stand under the pressure of the supply: so do those before a heater
    that the sun or waste heat warms, by name."""
    if element.system in (System.HOT_WATER, System.HOT_WATER_RETURN):
        return False
    gives_hot = any(end.system is System.HOT_WATER for end in element.ends)
    if element.role is Role.TANK and (gives_hot or says(element, WARMED)):
        return False
    passed = {Role.PUMP: "circulator", Role.TANK: "expansion"}
    return element.role in passed and element.kind != passed[element.role]


def _alike(a: Element, b: Element) -> bool:
    is_same = a.size_in == b.size_in and a.material == b.material and a.system == b.system
    return is_same and copper_type(a) == copper_type(b)


def _narrowed(segment: WaterSegment, segment_of: dict[int, WaterSegment]) -> WaterSegment:
    """A new line after a change of size, with the fittings since the last pipe of the old one."""
    last = segment.indexes.index(segment.pipes[-1])
    new = WaterSegment(segment.distribution, segment.indexes[last + 1 :], above=segment)
    del segment.indexes[last + 1 :]
    for index in new.indexes:
        segment_of[index] = new
    return new


def _turns(distribution: Distribution, segment: WaterSegment) -> bool:
    """Whether a line leaves its junction sideways; true where the model does not show."""
    junction = segment.inlet
    entering = distribution.entry[junction]
    leaving = distribution.entry[segment.indexes[0]]
    a = distribution.places[entering] if entering != NONE else None
    b = distribution.places[leaving] if leaving != NONE else None
    middle = distribution.elements[junction].position
    came, went = direction(a, middle), direction(middle, b)
    if came is None or went is None:
        return True
    return at_least(angle_deg(came, went), SIDEWAYS_DEG, "deg")
