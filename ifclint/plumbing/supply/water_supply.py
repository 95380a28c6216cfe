"""The water supply as a plumber sees it: where it comes from, its lines, its heaters, its taps.

Cold water segments from the main or meter, hot water from the heaters. Between cold and hot piping
water passes through a heater alone; a mixing valve is fed from its hot side.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property
from math import dist

from ifclint.ifc.elements import (
    DRAINAGE,
    WATER_SUPPLY,
    Element,
    End,
    Location,
    Point,
    Role,
    System,
)
from ifclint.network import Network
from ifclint.plumbing.flow.distribution import Connection, Distribution
from ifclint.plumbing.flow.pressure import PressurePiping, directed_from
from ifclint.plumbing.flow.subject import OfElement, place_of
from ifclint.plumbing.supply.segments import (
    COLD,
    HOT,
    WaterSegment,
    make_water_segments,
    mixes,
)
from ifclint.plumbing.supply.sources import GUESSED, Sources, find_sources

USERS = frozenset({Role.FIXTURE, Role.APPLIANCE})
NOT_POTABLE_KINDS = frozenset({"disposer", "roof-drain", "pan-drain"})
WATER_DEVICES = frozenset({Role.METER, Role.HEATER, Role.TANK, Role.PUMP})
HYDRONIC = ("hydronic", "heating boiler", "heizkessel", "chaudiere")
TREATMENT = frozenset({"water-softener", "water-filter"})
OUTLET_VALVES = frozenset({"faucet", "drain"})
WANTS_WATER = frozenset(
    {
        "water-closet", "urinal", "lavatory", "bidet", "bathtub", "shower", "kitchen-sink",
        "bar-sink", "laundry-sink", "mop-sink", "clinical-sink", "sink", "drinking-fountain",
        "wash-fountain", "dental-unit", "hose-bibb", "ice-maker", "emergency-fixture",
        "dishwasher-appliance", "clothes-washer-appliance",
    }
)  # fmt: skip
HOSE_M = 2.0  # a washer's hoses reach this far from its outlet box. Ours, no source
_SIDES = {System.COLD_WATER: COLD, System.HOT_WATER: HOT, System.HOT_WATER_RETURN: HOT}
_SIDE_NUMBERS = {System.COLD_WATER: 1, System.HOT_WATER: 2, System.HOT_WATER_RETURN: 2}


@dataclass(eq=False, repr=False)
class Tap:
    """One water connection of a fixture: what its end is named, and the line that feeds it."""

    connection: Connection
    named: str  # "cold", "hot" or "" as the model says
    segment: WaterSegment | None  # None where nothing feeds it
    point: Point | None

    @property
    def service(self) -> str:
        """What it gets; where nothing feeds it, what it is named, "" where nothing says."""
        return self.segment.service if self.segment is not None else self.named


@dataclass(eq=False, repr=False)
class WaterFixture(OfElement):
    """A fixture or appliance that takes water."""

    element: Element
    index: int
    taps: list[Tap]

    @property
    def system(self) -> str:
        return "water supply"

    def tap(self, service: str) -> Tap | None:
        """The connection that gets cold or hot water, or should."""
        return next((t for t in self.taps if t.service == service), None)

    @property
    def kind(self) -> str:
        return self.element.kind.removesuffix("-appliance")

    @property
    def known_kind(self) -> str | None:
        return self.kind or None

    @property
    def fed(self) -> list[Tap]:
        """The connections that a source reaches."""
        return [tap for tap in self.taps if tap.segment is not None]

    @property
    def branches(self) -> list[WaterSegment]:
        """The segments that feed its connections, each once."""
        return list(dict.fromkeys(t.segment for t in self.taps if t.segment is not None))

    @property
    def feed(self) -> bool | None:
        """None where no source reaches any of its connections."""
        return True if self.branches else None

    @property
    def named(self) -> bool | None:
        """None where none of its connections is stated to be for hot or cold water."""
        return True if any(tap.named for tap in self.taps) else None

    @property
    def joined(self) -> bool:
        """Whether water piping is joined to it at all."""
        return bool(self.taps)


@dataclass(eq=False, repr=False)
class WaterService:
    """The supply of the building from one source, judged as a whole."""

    supply: Supply
    head: int

    @property
    def element(self) -> Element:
        return self.supply.elements[self.head]

    @property
    def key(self) -> str:
        return self.element.guid

    @property
    def label(self) -> str:
        return f'water supply from "{self.element.label}"'

    @property
    def system(self) -> str:
        return "water supply"

    @property
    def element_ids(self) -> tuple[str, ...]:
        return (self.element.guid,)

    @property
    def location(self) -> Location:
        return place_of(self.element, self.element.position)

    def holds(self, index: int) -> bool:
        """Whether an element is of this service: fed from its head, or, where no source feeds it,
        of the first one, so that it is spoken of once."""
        root, heads = self.supply.distribution.roots[index], self.supply.heads
        return root == self.head or (root not in heads and self.head == heads[0])

    @property
    def is_private(self) -> bool:
        """Whether it comes from a well, cistern or tank, and from no street."""
        return self.head in self.supply.sources.private

    @property
    def source_known(self) -> bool | None:
        """None where the source was guessed."""
        return True if self.supply.sources.basis != GUESSED else None


@dataclass(eq=False, repr=False)
class Supply:
    """The water supply of a building, derived once."""

    network: Network
    distribution: Distribution
    segments: list[WaterSegment]
    fixtures: list[WaterFixture]
    sources: Sources
    returns: list[int] = field(default_factory=list)  # hot water circulation piping

    @property
    def elements(self) -> list[Element]:
        return self.network.elements

    @property
    def heads(self) -> list[int]:
        """Where it begins."""
        return self.sources.heads

    @cached_property
    def services(self) -> list[WaterService]:
        return [WaterService(self, head) for head in self.heads]

    @cached_property
    def segment_of(self) -> dict[int, WaterSegment]:
        """Element -> the line it lies in."""
        return {i: segment for segment in self.segments for i in segment.indexes}

    @cached_property
    def heaters(self) -> list[int]:
        return [i for i in self.distribution.order if self.elements[i].role is Role.HEATER]

    def heats_rooms(self, index: int) -> bool:
        """Whether a heater is a boiler that takes water for its heating circuit, and gives none to
        the taps: by the heating piping joined to it, by its name, or because a boiler has no
        connection for hot water."""
        element = self.elements[index]
        joined = [self.elements[i].system for i in self.network.neighbours(index)]
        if System.HOT_WATER in joined or self.distribution.down()[index]:
            return False
        has_hot = any(end.system is System.HOT_WATER for end in element.ends)
        only_takes = element.kind == "boiler" and bool(joined) and not has_hot
        named = any(word in element.label.lower() for word in HYDRONIC)
        return System.HEATING in joined or only_takes or named

    @cached_property
    def heater_groups(self) -> dict[int, str]:
        """How each heater stands to the others: "alone", "in series", "in parallel"."""
        found = dict.fromkeys(self.heaters, "alone")
        for loop in self.distribution.loops:
            together = [i for i in (*loop.one_path, *loop.other_path) if i in found]
            if loop.shared and len(together) > 1:
                found.update(dict.fromkeys(together, "in parallel"))
        for index in self.heaters:
            before = self.segment_of[index].heater
            if before >= 0:
                found[index] = found[before] = "in series"
        return found

    @cached_property
    def mixing_valves(self) -> list[int]:
        """The mixing valves of the model, faucets left out."""
        every = enumerate(self.elements)
        return [i for i, e in every if e.role is Role.VALVE and e.kind == "mixing"]

    @cached_property
    def cold_inlets(self) -> dict[int, int]:
        """Mixing valve on the hot water -> the cold piping that ends at it."""
        found = {}
        for index in self.distribution.order:
            if mixes(self.elements[index]) and self.segment_of[index].service == HOT:
                near = (i for i in self.network.neighbours(index) if i in self.segment_of)
                cold = [i for i in near if self.segment_of[i].service == COLD]
                found.update({index: cold[0]} if cold else {})
        return found

    def mixers(self, tap: Tap) -> list[int]:
        """The mixing valves with both inlets that the water of a connection passes, the nearest
        first."""
        if not self.cold_inlets:
            return []
        path = self.distribution.path(tap.connection.up)
        return [index for index in reversed(path) if index in self.cold_inlets]

    @property
    def is_lifted(self) -> bool:
        """Whether all of it comes from private sources, and a pump lifts it."""
        lifts = any(self.elements[i].role is Role.PUMP for i in self.distribution.order)
        return lifts and set(self.heads) == self.sources.private

    @cached_property
    def taken(self) -> set[int]:
        """The piping at which a connection of a fixture is fed."""
        return {c.up for c in self.distribution.connections}

    @cached_property
    def serves(self) -> list[float]:
        """Element -> how many connections, heaters and open ends it feeds, itself among them.

        What ends in a tank, a valve or a cap serves nothing: an expansion tank, a relief, a drain.
        """
        made, down = self.distribution, self.distribution.down()
        taken = {c.up for c in made.connections if self.elements[c.element].kind != "drain"}
        ends = [
            i
            for i in made.order
            if not down[i]
            and self.elements[i].role in (Role.PIPE, Role.FITTING)
            and self.elements[i].kind != "cap"
        ]
        return made.accumulate(dict.fromkeys([*taken, *self.heaters, *ends], 1.0))

    def serving(self, segment: WaterSegment) -> list[WaterSegment]:
        """The lines that a line feeds, but for those that serve nothing."""
        return [line for line in segment.below if self.serves[line.indexes[0]] > 0]

    def pressure_tank(self, pump: WaterSegment) -> tuple[WaterSegment, Element] | None:
        """The tank behind the pump that a line ends with, before anything takes water, and the line
        at whose end it stands; None where there is none."""
        line: WaterSegment | None = pump
        while line is not None:
            beside = [b for b in line.below if not self.serves[b.indexes[0]]]
            in_line = [] if line is pump else line.elements[-1:]
            stands = (*in_line, *(e for b in beside for e in b.elements))
            tank = next((e for e in stands if e.role is Role.TANK), None)
            if tank is not None:
                return line, tank
            onward = self.serving(line)
            line = onward[0] if len(onward) == 1 else None
        return None

    @cached_property
    def not_fed(self) -> list[int]:
        """Piping of the water supply that no source reaches, circulation left out."""
        return self.distribution.not_reached()

    def met(self, one: WaterSegment, other: WaterSegment) -> WaterSegment | None:
        """The last line that feeds both; None where they have no source in common."""
        return self._meeting.met(one, other)

    @cached_property
    def _meeting(self) -> _Meeting:
        return _Meeting(self.segments)


class _Meeting:
    """Finds where two lines part, in few steps: along the chains that carry most lines."""

    def __init__(self, segments: list[WaterSegment]) -> None:
        count = [1] * len(segments)
        heavy = [-1] * len(segments)
        self.segments = segments
        self.up = [
            segment.above.number if segment.above is not None else -1 for segment in segments
        ]
        for number in range(len(segments) - 1, -1, -1):
            above = self.up[number]
            if above >= 0:
                count[above] += count[number]
                if heavy[above] < 0 or count[number] > count[heavy[above]]:
                    heavy[above] = number
        self.depth = [0] * len(segments)
        self.top = list(range(len(segments)))
        for number, above in enumerate(self.up):
            if above >= 0:
                self.depth[number] = self.depth[above] + 1
                if heavy[above] == number:
                    self.top[number] = self.top[above]

    def met(self, one: WaterSegment, other: WaterSegment) -> WaterSegment | None:
        a, b = one.number, other.number
        while self.top[a] != self.top[b]:
            if self.depth[self.top[a]] < self.depth[self.top[b]]:
                a, b = b, a
            a = self.up[self.top[a]]
            if a < 0:
                return None
        return self.segments[min(a, b, key=lambda n: self.depth[n])]


def sum_up(supply: Supply, values: dict[int, float]) -> list[float]:
    """What passes every line, when elements of the piping take these values."""
    if not values:
        return [0.0] * len(supply.segments)
    flow = supply.distribution.accumulate(values)
    return [flow[segment.indexes[0]] for segment in supply.segments]


def find_supply(network: Network, source: str | None = None) -> Supply:
    """The water supply of a network; `source` is the GlobalId the job file names, if any.

    Raises InputError where it names no element of the water supply.
    """
    elements = network.elements
    returns = [i for i, e in enumerate(elements) if e.system is System.HOT_WATER_RETURN]
    members = _members(network)
    piping = PressurePiping(network, members, _uses, _side)
    sources = find_sources(piping, members, source, _uses)
    distribution = directed_from(piping, sources.heads)
    segments = make_water_segments(distribution)
    for number, segment in enumerate(segments):
        segment.number = number
        _serve(elements, segment)
    supply = Supply(network, distribution, segments, [], sources, returns)
    supply.fixtures = _fixtures(supply)
    return supply


def _members(network: Network) -> list[int]:
    """Piping of the water supply, what is joined to it, and its devices; circulation left out."""
    elements = network.elements
    inside = [
        (e.system in WATER_SUPPLY and e.system is not System.HOT_WATER_RETURN)
        or e.role is Role.HEATER
        or (e.role is Role.METER and e.kind in ("water", "") and e.system in (None, System.WATER))
        for e in elements
    ]
    found = {i for i, is_member in enumerate(inside) if is_member}
    for joint in network.joints:
        for member, other in ((joint.a, joint.b), (joint.b, joint.a)):
            if inside[member] and not inside[other] and _belongs(elements[other]):
                found.add(other)
    for mixer in [i for i in found if mixes(elements[i])]:  # what it fills
        found.update(i for i in network.neighbours(mixer) if elements[i].role in USERS)
    return sorted(found)


def _belongs(element: Element) -> bool:
    """Whether an element joined to supply piping is of the supply: a user, or a device."""
    is_device = element.role in WATER_DEVICES or element.role is Role.VALVE
    return element.role in USERS or (element.system is None and is_device)


def _uses(element: Element) -> bool:
    """Fixtures, appliances, and a valve that is an outlet; water passes a softener or filter."""
    if element.kind in TREATMENT and sum(end.system not in DRAINAGE for end in element.ends) > 1:
        return False
    is_outlet = element.role is Role.VALVE and element.kind in OUTLET_VALVES
    inlets = [end for end in element.ends if end.flow != "out"]
    fed_by = {end.system for end in inlets}
    takes_both = len(element.ends) == 2 and fed_by == {System.COLD_WATER, System.HOT_WATER}
    return element.role in USERS or (is_outlet and (len(element.ends) == 1 or takes_both))


def _side(element: Element) -> int:
    """1 for cold and 2 for hot piping, between which nothing passes; 0 for what joins either.

    What mixes is hot: it is fed from its hot side, whatever system it is named by.
    """
    if element.role is Role.HEATER or _uses(element):
        return 0
    if mixes(element):
        return 2
    if element.role is Role.METER:
        return 1
    return _SIDE_NUMBERS.get(element.system, 0) if element.system is not None else 0


def _serve(elements: list[Element], segment: WaterSegment) -> None:
    """Hot downstream of a heater; what no heater feeds is what the line above it is."""
    above = segment.above
    if above is None:
        segment.service = _SIDES.get(segment.first.system or System.OTHER, COLD)
        return
    last = above.indexes[-1]
    if elements[last].role is Role.HEATER:
        segment.service, segment.heater = HOT, last
    else:
        segment.service, segment.heater = above.service, above.heater
        if segment.first.system is System.HOT_WATER:
            segment.service = HOT


def _fixtures(supply: Supply) -> list[WaterFixture]:
    """Every element that takes water, with its connections, in the order of the model.

    A fixture that wants water and is joined to none, in a model that has water piping, is one with
    no connection; a washing machine that stands by its outlet box takes its water there.
    """
    found: dict[int, WaterFixture] = {}
    points = supply.distribution.places
    for connection in supply.distribution.connections:
        element = supply.elements[connection.element]
        if element.kind in NOT_POTABLE_KINDS:
            continue
        end = element.ends[connection.end]
        named = side_named(end)
        segment = supply.segment_of.get(connection.up)
        tap = Tap(connection, named, segment, points[connection.place])
        fixture = WaterFixture(element, connection.element, [])
        found.setdefault(connection.element, fixture).taps.append(tap)
    if supply.segments:
        for index, element in enumerate(supply.elements):
            wants = element.role in USERS and element.kind in WANTS_WATER
            if wants and index not in found and not _is_fed_by_a_box(element, found.values()):
                found[index] = WaterFixture(element, index, [])
    return [found[index] for index in sorted(found)]


def _is_fed_by_a_box(element: Element, fixtures: Iterable[WaterFixture]) -> bool:
    """Whether a washing machine stands by the outlet box that takes its water."""
    if element.kind != "clothes-washer-appliance" or element.position is None:
        return False
    return any(
        f.kind == "clothes-washer"
        and f.taps
        and f.element.position is not None
        and dist(f.element.position, element.position) <= HOSE_M
        for f in fixtures
    )


def side_named(end: End) -> str:
    """What an end is named for, cold or hot, by its system or its name; "" where neither says."""
    words = end.name.lower().split()
    said = COLD if COLD in words else HOT if HOT in words else ""
    return _SIDES.get(end.system or System.OTHER, said)
