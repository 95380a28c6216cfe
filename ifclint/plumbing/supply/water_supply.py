"""The water supply as a plumber sees it: where it comes from, its lines, its heaters, its taps.

Cold water segments from the main or meter, hot water from the heaters. Between cold and hot piping
water passes through a heater alone; a mixing valve is fed from its hot side.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from ifclint.engineering.joined import NONE
from ifclint.ifc.elements import Element, Role, System
from ifclint.network import Network
from ifclint.plumbing.flow.distribution import Distribution
from ifclint.plumbing.flow.pressure import PressurePiping, directed_from
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.supply.members import supply_members, tank_drains
from ifclint.plumbing.supply.primers import ends_of_lines
from ifclint.plumbing.supply.segments import COLD, HOT, WaterSegment, make_water_segments, mixes
from ifclint.plumbing.supply.sides import HOT_SIDE, Parting, mixed_in, own_side
from ifclint.plumbing.supply.sources import GUESSED, Sources, find_sources
from ifclint.plumbing.supply.water_fixtures import (
    SERVICE_OF,
    Tap,
    WaterFixture,
    find_water_fixtures,
    uses_water,
)

CIRCUITS = frozenset({System.HEATING, System.NON_POTABLE})  # that a boiler heats
HYDRONIC = ("hydronic", "heating boiler", "steam boiler", "dampfkessel", "heizkessel", "chaudiere")


@dataclass(eq=False, repr=False)
class WaterService(OfElement):
    """The supply of the building from one source, judged as a whole."""

    supply: Supply
    head: int

    @property
    def element(self) -> Element:
        return self.supply.elements[self.head]

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

    @cached_property
    def own_mixers(self) -> frozenset[int]:
        """The mixing valves with both inlets that serve one fixture alone."""
        found = set()
        for index in self.cold_inlets:
            lines = [self.segment_of[index]]
            for line in lines:
                lines += line.below
            if len({line.connection.element for line in lines if line.connection}) == 1:
                found.add(index)
        return frozenset(found)

    def own_mixer_before(self, segment: WaterSegment) -> int | None:
        """The mixing valve of its fixture's own that a line lies behind; None where none."""
        line: WaterSegment | None = segment
        while self.own_mixers and line is not None:
            if line.indexes[0] in self.own_mixers:
                return line.indexes[0]
            line = line.above
        return None

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

    @cached_property
    def irrigates(self) -> list[float]:
        """Element -> how many of what it serves water a garden."""
        made = self.distribution
        heads = (c.up for c in made.connections if self.elements[c.element].kind == "irrigation")
        return made.how_many({*heads})

    def _draws(self, index: int) -> bool:
        return self.elements[index].kind != "drain"

    @cached_property
    def _open_ends(self) -> list[int]:
        """Where piping ends and nothing is joined that closes it: a cap, a relief valve before or
        behind its end."""
        down = self.distribution.down()
        return [
            i
            for i in self.distribution.order
            if not down[i]
            and self.elements[i].role in (Role.PIPE, Role.FITTING)
            and self.elements[i].kind != "cap"
            and "relief" not in self.segment_of[i].passed
            and all(self.elements[n].kind != "relief" for n in self.network.neighbours(i))
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
        return self.parting.met(one, other)

    @cached_property
    def ends_of_primer_lines(self) -> frozenset[int]:
        """Where the lines of trap primers end, or branch."""
        return ends_of_lines(self.network)

    @cached_property
    def parting(self) -> Parting:
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
    drained = tank_drains(network)
    members = supply_members(network, drained)
    mixed = mixed_in(network, members)

    def side_of(element: Element) -> int:
        return HOT_SIDE if element.key in mixed else own_side(element)

    piping = PressurePiping(network, members, uses_water, side_of)
    sources = find_sources(piping, members, source, uses_water)
    distribution = directed_from(piping, sources.heads)
    segments = make_water_segments(distribution)
    for number, segment in enumerate(segments):
        segment.number = number
        _serve(elements, segment)
    segment_of = {i: segment for segment in segments for i in segment.indexes}
    fixtures = find_water_fixtures(elements, distribution, segment_of, drained)
    return Supply(network, distribution, segments, fixtures, segment_of, sources, returns)


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
