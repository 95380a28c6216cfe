"""The water supply as a plumber sees it: where it comes from, its lines, its heaters, its taps.

Cold water segments from the main or meter, hot water from the heaters. Between cold and hot piping
water passes through a heater alone; a mixing valve is fed from its hot side.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from ifclint.engineering.joined import NONE
from ifclint.ifc.elements import DRAINAGE, WATER_SUPPLY, Element, Location, Role, System
from ifclint.network import Network
from ifclint.plumbing.flow.distribution import Distribution
from ifclint.plumbing.flow.pressure import PressurePiping, directed_from
from ifclint.plumbing.flow.subject import place_of
from ifclint.plumbing.supply.parting import Parting
from ifclint.plumbing.supply.segments import COLD, HOT, WaterSegment, make_water_segments, mixes
from ifclint.plumbing.supply.sources import GUESSED, Sources, find_sources
from ifclint.plumbing.supply.water_fixtures import (
    SERVICE_OF,
    USERS,
    Tap,
    WaterFixture,
    find_water_fixtures,
    uses_water,
)

PASSED_IN = DRAINAGE | {System.RELIEF, System.HEATING}  # of tanks that water passes
WATER_DEVICES = frozenset({Role.METER, Role.HEATER, Role.TANK, Role.PUMP})
CIRCUITS = frozenset({System.HEATING, System.NON_POTABLE})  # that a boiler heats
HYDRONIC = ("hydronic", "heating boiler", "heizkessel", "chaudiere")
COLD_SIDE, HOT_SIDE = 1, 2
_SIDE_NUMBERS = {
    System.COLD_WATER: COLD_SIDE,
    System.HOT_WATER: HOT_SIDE,
    System.HOT_WATER_RETURN: HOT_SIDE,
}


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
        return f'water supply from "{self._named_by.label}"'

    @property
    def _named_by(self) -> Element:
        """Its meter, where all water passes one; else the element it begins with."""
        at, down = self.head, self.supply.distribution.down()
        while self.supply.elements[at].role is not Role.METER and len(down[at]) == 1:
            (at,) = down[at]
        element = self.supply.elements[at]
        return element if element.role is Role.METER else self.element

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
        return root == self.head or (self.head == heads[0] and root not in heads)

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
    segment_of: dict[int, WaterSegment]  # element -> the line it lies in
    sources: Sources
    returns: list[int]  # hot water circulation piping

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
    def heaters(self) -> list[int]:
        return [i for i in self.distribution.order if self.elements[i].role is Role.HEATER]

    def heats_rooms(self, index: int) -> bool:
        """Whether a heater is a boiler that takes water for its heating circuit, and gives none to
        the taps: by the piping of heating, cooling or a pool joined to it, by its ends or its name,
        by its own system where nothing is joined to it, or because a boiler has no connection for
        hot water."""
        element = self.elements[index]
        joined = [self.elements[i].system for i in self.network.neighbours(index)]
        if System.HOT_WATER in joined or self.distribution.down()[index]:
            return False
        has_hot = any(end.system is System.HOT_WATER for end in element.ends)
        only_takes = element.kind == "boiler" and bool(joined) and not has_hot
        named = any(word in element.label.lower() for word in HYDRONIC)
        ends = {end.system for end in element.ends}
        ends |= {element.system} if element.kind == "boiler" and not joined else set()
        told = not CIRCUITS.isdisjoint(joined) or (not has_hot and not CIRCUITS.isdisjoint(ends))
        return told or only_takes or named

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
            if before != NONE:
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
        taken = {c.up for c in self.distribution.connections if self._draws(c.element)}
        return self.distribution.how_many({*taken, *self.heaters, *self._open_ends})

    @cached_property
    def puts_out_fires(self) -> list[float]:
        """Element -> how many of what it serves are sprinklers or lead into a fire system."""
        elements, made = self.elements, self.distribution
        taken = {c.up for c in made.connections if elements[c.element].kind == "fire-sprinklers"}
        into = (
            i
            for i in self._open_ends
            if any(elements[n].system is System.FIRE for n in self.network.neighbours(i))
        )
        return made.how_many({*taken, *into})

    def _draws(self, index: int) -> bool:
        return self.elements[index].kind != "drain"

    @cached_property
    def _open_ends(self) -> list[int]:
        down = self.distribution.down()
        return [
            i
            for i in self.distribution.order
            if not down[i]
            and self.elements[i].role in (Role.PIPE, Role.FITTING)
            and self.elements[i].kind != "cap"
        ]

    def serving(self, segment: WaterSegment) -> list[WaterSegment]:
        """The lines that a line feeds, but for those that serve nothing."""
        return [line for line in segment.below if self.serves[line.indexes[0]]]

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
        return self._parting.met(one, other)

    @cached_property
    def _parting(self) -> Parting:
        return Parting(self.segments)


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
    mixed = _mixed(network, members)

    def side_of(element: Element) -> int:
        return HOT_SIDE if element.key in mixed else _side(element)

    piping = PressurePiping(network, members, uses_water, side_of)
    sources = find_sources(piping, members, source, uses_water)
    distribution = directed_from(piping, sources.heads)
    segments = make_water_segments(distribution)
    for number, segment in enumerate(segments):
        segment.number = number
        _serve(elements, segment)
    segment_of = {i: segment for segment in segments for i in segment.indexes}
    fixtures = find_water_fixtures(elements, distribution, segment_of)
    return Supply(network, distribution, segments, fixtures, segment_of, sources, returns)


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
    tanks = (i for i, e in enumerate(elements) if e.role is Role.TANK)
    found.update(i for i in tanks if _is_in_line(network, i))
    for mixer in [i for i in found if mixes(elements[i])]:  # what it fills
        found.update(i for i in network.neighbours(mixer) if elements[i].role in USERS)
    return sorted(i for i in found if not _is_past_a_bibb(network, i))


def _is_in_line(network: Network, index: int) -> bool:
    """Whether water passes a tank: piping of the supply is joined to it twice, whatever system of
    its other lines it is assigned to."""
    beside = [network.elements[i] for i in network.neighbours(index)]
    supply = [e for e in beside if e.system in WATER_SUPPLY - {System.HOT_WATER_RETURN}]
    return network.elements[index].system in PASSED_IN and len(supply) > 1


def _is_past_a_bibb(network: Network, index: int) -> bool:
    """Whether it is a vacuum breaker screwed on the outlet of a hose bibb, which is fed besides."""
    element, beside = network.elements[index], network.neighbours(index)
    bibbs = [i for i in beside if network.elements[i].kind == "hose-bibb"]
    return (
        element.role is Role.VALVE
        and element.kind in ("vacuum-breaker", "backflow-preventer")
        and len(bibbs) == len(beside) == 1
        and len(network.neighbours(bibbs[0])) > 1
    )


def _belongs(element: Element) -> bool:
    """Whether an element joined to supply piping is of the supply: a user, or a device."""
    is_device = element.role in WATER_DEVICES or element.role is Role.VALVE
    return element.role in USERS or (element.system is None and is_device)


def _mixed(network: Network, members: list[int]) -> set[str]:
    """The piping of the cold system, by its keys, that takes what a mixing valve gives: joined to
    the valve, and neither to a meter nor to a heater, where an end of the valve or a meter on its
    other cold side tells which is the outlet."""
    elements = network.elements
    mixers = [i for i in members if mixes(elements[i])]
    cold = [i for i in members if _side(elements[i]) < HOT_SIDE and not uses_water(elements[i])]
    found: set[str] = set()
    pieces = list(network.pieces(cold)) if mixers else []
    fed = [any(elements[i].role in (Role.METER, Role.HEATER) for i in piece) for piece in pieces]
    for mixer in mixers:
        at = list(_ways(network, mixer))
        beside = [k for k, piece in enumerate(pieces) if any(n in piece for n, _ in at)]
        for k in beside:
            leaves = any(n in pieces[k] and flow == "out" for n, flow in at)
            if not fed[k] and (leaves or any(fed[other] for other in beside)):
                found |= {elements[i].key for i in pieces[k] if _side(elements[i]) == COLD_SIDE}
    return found


def _ways(network: Network, index: int) -> Iterator[tuple[int, str]]:
    """What is joined to an element, with the flow of the end at which it is."""
    for other, number in network.joined[index]:
        joint = network.joints[number]
        end = joint.a_end if joint.a == index else joint.b_end
        yield other, network.elements[index].ends[end].flow


def _side(element: Element) -> int:
    """1 for cold and 2 for hot piping, between which nothing passes; 0 for what joins either.

    What mixes is hot: it is fed from its hot side, whatever system it is named by.
    """
    if element.role is Role.HEATER or uses_water(element):
        return 0
    if mixes(element):
        return HOT_SIDE
    if element.role is Role.METER:
        return COLD_SIDE
    return _SIDE_NUMBERS.get(element.system, 0) if element.system is not None else 0


def _serve(elements: list[Element], segment: WaterSegment) -> None:
    """Hot downstream of a heater; what no heater feeds is what the line above it is."""
    above = segment.above
    if above is None:
        segment.service = SERVICE_OF.get(segment.first.system or System.OTHER, COLD)
        return
    last = above.indexes[-1]
    if elements[last].role is Role.HEATER:
        segment.service, segment.heater = HOT, last
    else:
        segment.service, segment.heater = above.service, above.heater
        if segment.first.system is System.HOT_WATER:
            segment.service = HOT
