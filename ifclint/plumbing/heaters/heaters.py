"""Water heaters with what hangs on them, and boilers that heat rooms: relief, cold side, vent."""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from ifclint.engineering.joined import NONE
from ifclint.ifc.elements import Element, Role, System
from ifclint.network import Network
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.heaters.condensate import CondensateSource, condensate_of, condenses
from ifclint.plumbing.heaters.discharge import DischargeLine, follow, neighbours
from ifclint.plumbing.heaters.fuel_vents import (
    FuelAppliance,
    FuelVent,
    VentConnector,
    burns_fuel,
    find_appliances,
)
from ifclint.plumbing.heaters.hot_tanks import HotTank, find_hot_tanks
from ifclint.plumbing.heaters.pans import OVER_PAN, Pan, middle, pan_of
from ifclint.plumbing.supply.water_supply import CIRCUITS, Supply
from ifclint.plumbing.words import says

COMBI = (  # boilers that heat the water of the taps as it passes
    "combi", "combi boiler", "combination boiler", "instantaneous", "kombitherme", "kombikessel",
    "combiketel", "chaudiere mixte", "caldera mixta", "caldera instantanea",
)  # fmt: skip
STORES = ("storage", "tank", "cylinder", "speicher*", "boilervat")
FILLS = frozenset({"backflow-preventer", "check", "pressure-reducing"})  # of a boiler's fill line
NEAR_VALVE = 6  # elements between a heater and its relief valve, at most;
FAR_VALVE = 24  # or in piping before any valve, of a heater that stores no water. Ours, no source


@dataclass(eq=False)
class ReliefLine(OfElement):
    """A relief valve of a heater, boiler or hot tank, and the line it discharges through."""

    service = System.RELIEF

    valve: Element
    heater: Heater | Boiler | HotTank
    line: DischargeLine
    before: tuple[Element, ...] = ()  # what stands between that and the valve

    @property
    def element(self) -> Element:
        return self.valve

    @property
    def is_direct(self) -> bool:
        """Whether it stands at the heater itself, and not in its cold or hot water piping."""
        piping = [e for e in self.before if e.role is not Role.VALVE]
        return all(e.system in (System.RELIEF, System.OTHER, None) for e in piping)

    @property
    def outlet_in(self) -> float | None:
        """The size of the valve's outlet, which is made no smaller than its inlet."""
        sizes = [size for end in self.valve.ends if (size := end.own_size_in) is not None]
        return max(sizes, default=self.valve.size_in)

    @property
    def set_pressure_pa(self) -> float | None:
        """At what pressure the valve opens; None where it does not state it."""
        return self.valve.properties.number("relief_pressure_pa")

    @property
    def capacity_w(self) -> float | None:
        """How much heat the valve is rated to carry off; None where it does not state it."""
        return self.valve.properties.positive("relief_capacity_w")

    @property
    def is_drawn(self) -> bool:
        return bool(self.line.elements)

    def lacking(self, fact: str) -> tuple[str, ...]:
        """The element that a missing fact is of: the valve, as it states its outlet and setting."""
        return (self.valve.guid,)

    @property
    def label(self) -> str:
        return f'the discharge line of "{self.valve.label}"'

    @property
    def element_ids(self) -> tuple[str, ...]:
        return self.line.element_ids


@dataclass(eq=False)
class Heater(OfElement):
    """A water heater."""

    service = System.HOT_WATER

    element: Element
    index: int
    arrangement: str  # "alone", "in series", "in parallel"; "" where no water is drawn to it
    cold_path: tuple[Element, ...]  # from the source to it, without it; () where not fed
    own_cold: tuple[Element, ...]  # the end of that path, past the last branch that serves others
    cold_pipe: Element | None = None  # the cold water piping joined to it
    relief: list[ReliefLine] = field(default_factory=list)
    pan: Pan | None = None
    connector: VentConnector | None = None

    @property
    def burns_fuel(self) -> bool | None:
        """Whether it burns fuel; None where nothing tells."""
        return burns_fuel(self.element)

    @property
    def kind(self) -> str:
        return self.element.kind

    @property
    def is_tankless(self) -> bool:
        """Whether it heats water as it passes: a boiler that does so beside the rooms too."""
        element = self.element
        stores = says(element, STORES) or element.properties.number("storage_volume_m3")
        is_combi = self.kind == "boiler" and says(element, COMBI) and not stores
        return self.kind == "tankless" or is_combi

    @property
    def room(self) -> str | None:
        """The space it stands in; None where it is in none."""
        return self.element.space or None

    @property
    def cold_feed(self) -> tuple[Element, ...] | None:
        """Its cold path; None where no cold water reaches it."""
        return self.cold_path or None


@dataclass(eq=False)
class Boiler(OfElement):
    """A boiler that heats rooms and gives no water to the taps."""

    service = System.HEATING

    element: Element
    index: int
    has_circuit: bool  # whether both flow and return of its heating circuit are joined to it
    relief: list[ReliefLine] = field(default_factory=list)

    @property
    def room(self) -> str | None:
        """The space it stands in; None where it is in none."""
        return self.element.space or None


@dataclass(eq=False)
class Heaters:
    """The water heaters, boilers and pans of a building, and the vents of all that burns fuel."""

    heaters: list[Heater]
    boilers: list[Boiler]
    tanks: list[HotTank]  # that hold hot water
    pans: list[Pan]
    vents: list[FuelVent]
    condensing: list[CondensateSource]
    appliances: list[FuelAppliance]

    @property
    def relief_lines(self) -> list[ReliefLine]:
        owners: list[Heater | HotTank] = [*self.heaters, *self.tanks]
        return [line for owner in owners for line in owner.relief]

    @property
    def lines(self) -> list[DischargeLine]:
        """The lines of relief valves, pans and condensate."""
        relieving = [of.line for of in self.relief_lines]
        relieving += [of.line for boiler in self.boilers for of in boiler.relief]
        draining = [pan.line for pan in self.pans]
        return relieving + draining + [of.line for of in self.condensing]

    @property
    def connectors(self) -> list[VentConnector]:
        return [c for vent in self.vents for c in vent.connectors]


def find_heaters(network: Network, supply: Supply, vents: list[FuelVent]) -> Heaters:
    """All of them, in the order of the model."""
    elements = network.elements
    heaters = [
        _heater(supply, index)
        for index in network.of_roles(Role.HEATER)
        if not supply.heats_rooms(index)
    ]
    boilers = [
        Boiler(
            elements[index],
            index,
            sum(elements[i].system in CIRCUITS for i in network.neighbours(index)) > 1,
        )
        for index in network.of_roles(Role.HEATER)
        if supply.heats_rooms(index)
    ]
    tanks = find_hot_tanks(supply)
    _relieve(network, [*heaters, *tanks])
    _relieve(network, boilers, FILLS)
    over_pans = (
        elements[i] for i in sorted({*network.of_roles(Role.HEATER), *network.of_kinds(*OVER_PAN)})
    )
    standing = [(e, place) for e in over_pans if (place := middle(e)) is not None]
    pans = [
        pan_of(network, index, standing)
        for index in network.of_kinds("pan-drain")
        if elements[index].role is Role.FIXTURE
    ]
    by_guid = {heater.key: heater for heater in heaters}
    for pan in pans:
        if pan.serves is not None and pan.serves.guid in by_guid:
            by_guid[pan.serves.guid].pan = pan
    connectors = {c.appliance.guid: c for vent in vents for c in vent.connectors}
    for heater in heaters:
        heater.connector = connectors.get(heater.key)
    condensing = [
        condensate_of(network, i) for i, e in enumerate(elements) if condenses(network, i, e)
    ]
    appliances = find_appliances(network, vents, [boiler.index for boiler in boilers])
    return Heaters(heaters, boilers, tanks, pans, vents, condensing, appliances)


def _heater(supply: Supply, index: int) -> Heater:
    """A heater with the cold water it is fed by."""
    element, made = supply.elements[index], supply.distribution
    path = made.path(index)[:-1] if made.reached(index) and made.up[index] != NONE else []
    down, own = made.down(), list(path)
    for number, (passed, after) in enumerate(pairwise([*path, index])):
        others = [i for i in down[passed] if i != after]
        if passed in supply.taken or any(supply.serves[i] for i in others):
            own = path[number + 1 :]
    return Heater(
        element, index, supply.heater_groups.get(index, ""),
        tuple(supply.elements[i] for i in path), tuple(supply.elements[i] for i in own),
        supply.elements[path[-1]] if path else _cold_pipe(supply.network, index),
    )  # fmt: skip


def _cold_pipe(network: Network, index: int) -> Element | None:
    """The cold water piping that is joined to a heater, whether or not water reaches it."""
    beside = (network.elements[i] for i in network.neighbours(index))
    return next((e for e in beside if e.system is System.COLD_WATER), None)


def _relieve(
    network: Network,
    owners: Sequence[Heater | Boiler | HotTank],
    behind: frozenset[str] = frozenset(),
) -> None:
    """Give heaters, tanks or boilers their relief valves, none from behind valves of some kinds."""
    elements, by_index = network.elements, {owner.index: owner for owner in owners}
    far = {i for i, owner in by_index.items() if isinstance(owner, Heater) and owner.is_tankless}
    for valve, (owner, *passed) in _relief_valves(network, list(by_index), behind, far).items():
        outlets = [n for n in neighbours(network, valve) if n[0] != (passed or [owner])[-1]]
        line = follow(network, valve, outlets)
        before = tuple(elements[i] for i in passed)
        by_index[owner].relief.append(ReliefLine(elements[valve], by_index[owner], line, before))


def _relief_valves(
    network: Network, heaters: list[int], behind: frozenset[str], far: Collection[int]
) -> dict[int, tuple[int, ...]]:
    """Each relief valve with the path to it from the heater nearest by elements, heater first."""
    elements = network.elements
    found: dict[int, tuple[int, ...]] = {}
    seen = set(heaters)
    waiting: deque[tuple[int, ...]] = deque((index,) for index in heaters)
    while waiting:
        path = waiting.popleft()
        for other in sorted(network.neighbours(path[-1])):
            element = network.elements[other]
            if other in seen or (element.role is Role.VALVE and element.kind in behind):
                continue
            seen.add(other)
            if element.role is Role.VALVE and element.kind == "relief":
                found[other] = path
            elif element.role in (Role.PIPE, Role.FITTING, Role.VALVE):
                on_way = [elements[i] for i in (*path[1:], other)]
                open_way = path[0] in far and all(e.role is not Role.VALVE for e in on_way)
                if len(path) <= (FAR_VALVE if open_way else NEAR_VALVE):
                    waiting.append((*path, other))
    return found
