"""Fuel gas as a plumber sees it: from the meter through segments and regulators to the appliances.

A run is pipe of one size and material between junctions, so that nothing changes when pipe is
drawn in more pieces. It reaches from the middle of the fitting before it to the middle of the
fitting after it, so that the segments on the path to an appliance add up to its developed length.
A zone is the piping of one pressure: from the source, or from a line regulator, to the next.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from ifclint.engineering.extents import mean
from ifclint.ifc.elements import Element, Location, Point, Role, System
from ifclint.plumbing.flow.distribution import Distribution
from ifclint.plumbing.flow.segment import Segment
from ifclint.plumbing.flow.subject import OfElement, place_of
from ifclint.plumbing.gas.connectors import is_connector

CAPS = frozenset({"cap", "sediment-trap"})  # what a nipple that catches dirt ends in
SHUTOFFS = frozenset({"gas-shutoff", "isolating"})
LABORATORY = frozenset({"laboratory-outlet", "laboratory-burner"})  # a burner there hangs on a hose


@dataclass(eq=False)
class GasZone:
    """Piping of one pressure. `start` is the source, or the line regulator it begins behind."""

    start: Element
    start_m: float
    is_first: bool
    above: GasZone | None = None
    regulators: list[GasRegulator] = field(default_factory=list)  # where it ends
    appliances: list[GasAppliance] = field(default_factory=list)


@dataclass(eq=False)
class GasSegment(Segment):
    """Pipe between junctions of one size and material."""

    pipes: list[Element]
    fittings: list[Element]  # between and behind its pipes, with the junction it leads to
    zone: GasZone
    up: GasSegment | None
    start_m: float  # developed length from the source
    end_m: float
    appliances: list[GasAppliance] = field(default_factory=list)  # all it feeds
    outlets: list[GasOutlet] = field(default_factory=list)  # the capped ones that it leads to
    path: list[Element] = field(default_factory=list)  # its pipes and fittings in order
    is_before_source: bool = False  # it leads to the source, from a tank or meter: not to be sized

    system = System.GAS.value
    words = "gas pipe"

    @property
    def from_source(self) -> tuple[GasSegment, ...]:
        """The segments from the source to this one, with it."""
        segments, segment = [], self
        while True:
            segments.append(segment)
            if segment.up is None:
                return tuple(reversed(segments))
            segment = segment.up

    @property
    def pipe_elements(self) -> list[Element]:
        return self.pipes

    @property
    def is_connector(self) -> bool:
        """Whether it is the connector of an appliance, which its listing sizes, and no code."""
        return is_connector(self.first)

    @property
    def length_m(self) -> float:
        """From the middle of the fitting before it to the middle of the fitting after it."""
        return self.end_m - self.start_m

    @property
    def point(self) -> Point | None:
        return middle_of(self.first)

    @property
    def placed(self) -> list[tuple[Element, Point]] | None:
        """The ends of its pipes, each with its pipe; None where none is placed."""
        ends = ((pipe, end.position) for pipe in self.pipes for end in pipe.ends)
        return [(pipe, point) for pipe, point in ends if point is not None] or None


@dataclass(eq=False)
class GasAppliance(OfElement):
    """Something that burns gas. `own` holds the elements before it, past the last junction."""

    service = System.GAS

    element: Element
    index: int
    own: tuple[Element, ...] = ()
    at_m: tuple[float, ...] = ()  # developed length from the source to each element of `own`
    length_m: float | None = None  # developed length from the source; None where not reached
    segment: GasSegment | None = None  # the last on the path to it
    sediment_trap: Element | None = None
    nipple_m: float | None = None  # length of the nipple below that tee
    joined: bool = True  # gas piping is drawn to it
    is_stated: bool = (
        True  # that it burns gas: by its energy, system or pipe; else it may be electric
    )

    @property
    def kind(self) -> str:
        return self.element.kind.removesuffix("-appliance")

    @property
    def kind_known(self) -> str | None:
        return self.kind or None

    @property
    def segments(self) -> tuple[GasSegment, ...]:
        """All segments on the path to it, from the source on."""
        return self.segment.from_source if self.segment is not None else ()

    @property
    def shutoff(self) -> Element | None:
        """The last shutoff on its own branch."""
        return next((e for e in reversed(self.own) if e.kind in SHUTOFFS), None)

    @property
    def shutoff_distance_m(self) -> float | None:
        """Developed length from that shutoff to the appliance."""
        shutoff = self.shutoff
        if shutoff is None or self.length_m is None:
            return None
        return self.length_m - self.at_m[self.own.index(shutoff)]


@dataclass(eq=False)
class GasOutlet(OfElement):
    """A capped outlet, for an appliance that is not drawn. Its element is the cap."""

    service = System.GAS

    element: Element
    index: int
    length_m: float  # developed length from the source
    segment: GasSegment | None  # the last on the path to it

    @property
    def segments(self) -> tuple[GasSegment, ...]:
        """All segments on the path to it, from the source on."""
        return self.segment.from_source if self.segment is not None else ()


@dataclass(eq=False)
class GasRegulator(OfElement):
    """A line regulator with appliances or outlets behind it: it ends `zone` and begins `behind`."""

    service = System.GAS

    element: Element
    index: int
    at_m: float
    zone: GasZone
    behind: GasZone
    segment: GasSegment | None  # the last on the path to it


@dataclass(eq=False)
class GasPiping:
    """The fuel gas of a building."""

    source_elements: list[Element]
    members: list[Element]
    segments: list[GasSegment]  # those that feed an appliance or capped outlet, sources first
    before: list[GasSegment]  # the owner's piping before the source, outward from it
    appliances: list[GasAppliance]
    outlets: list[GasOutlet]
    zones: list[GasZone]
    regulators: list[GasRegulator]
    loops: list[Element]  # where two paths meet
    stray: list[Element]  # pipes that no source feeds
    open_ends: list[Element]  # fed, with an end that is joined to nothing
    unknown_takers: list[Element]  # fed, and joined to something that is not understood
    ends_alone: list[Element]  # fed, the last of their line, of which the model shows one end alone
    zone_of: dict[str, GasZone]  # by the GlobalId of what is fed behind a source
    distribution: Distribution

    @property
    def is_drawn(self) -> bool:
        """Whether there is more of it than what burns the gas."""
        return any(e.role not in (Role.APPLIANCE, Role.HEATER) for e in self.members)

    @property
    def all_segments(self) -> list[GasSegment]:
        """All piping that lies somewhere and is made of something, sized from the source or not."""
        return self.segments + self.before

    @property
    def key(self) -> str:
        return "+".join(e.guid for e in self.source_elements) or "gas"

    @property
    def label(self) -> str:
        return "the gas piping"

    @property
    def system(self) -> str:
        return System.GAS.value

    @property
    def element_ids(self) -> tuple[str, ...]:
        shown = self.source_elements or self.members[:1] or [a.element for a in self.appliances[:1]]
        return tuple(e.guid for e in shown)

    @property
    def location(self) -> Location:
        shown = self.source_elements or self.members or [a.element for a in self.appliances]
        return place_of(shown[0], shown[0].position)


def middle_of(element: Element) -> Point | None:
    """The middle of an element's ends."""
    return mean(element.places) if element.places else element.position


def is_regulator(element: Element) -> bool:
    return element.role is Role.REGULATOR or element.kind == "pressure-reducing"


class GasTree:
    """The distribution, where it begins, and of every element whether it feeds an appliance or,
    once these are found, a capped outlet."""

    def __init__(self, made: Distribution, begin: list[int]) -> None:
        self.made, self.begin, self.elements = made, begin, made.elements
        self.outlets: list[int] = []
        self.feeds = made.passed_by(c.up for c in made.connections)
        self.down = made.down()

    def lead_to(self, outlets: list[int]) -> None:
        """What leads to an outlet feeds it."""
        self.outlets = outlets
        self.feeds = self.made.passed_by([*(c.up for c in self.made.connections), *outlets])

    @cached_property
    def beside(self) -> set[int]:
        """All members joined to the sources, whichever way gas flows."""
        pieces = self.made.network.pieces(self.made.members)
        return set().union(*(p for p in pieces if not p.isdisjoint(self.begin)))


def alike(pipe: Element) -> tuple[object, ...]:
    """What is the same for all pipe of a segment; corrugated tube also has a flow designation."""
    return pipe.size_in, pipe.material, pipe.properties.number("ehd"), is_connector(pipe)
