"""Water heaters with what hangs on them, and boilers that heat rooms: relief, cold side, vent."""

from dataclasses import dataclass
from itertools import pairwise

from ifclint.engineering.joined import NONE
from ifclint.ifc.elements import Element, Role, System
from ifclint.network import Network
from ifclint.plumbing.heaters.condensate import CondensateSource, condensate_of, condenses
from ifclint.plumbing.heaters.discharge import DischargeLine
from ifclint.plumbing.heaters.fuel_vents import (
    FuelAppliance,
    FuelVent,
    VentConnector,
    burns_fuel,
    find_appliances,
)
from ifclint.plumbing.heaters.hot_tanks import HotTank, find_hot_tanks
from ifclint.plumbing.heaters.pans import OVER_PAN, Pan, middle, pan_of
from ifclint.plumbing.heaters.relief import ReliefLine, Relieved, relieve
from ifclint.plumbing.supply.water_supply import CIRCUITS, Supply
from ifclint.plumbing.words import says

COMBI = (  # boilers that heat the water of the taps as it passes
    "combi", "combi boiler", "combination boiler", "instantaneous", "kombitherme", "kombikessel",
    "combiketel", "chaudiere mixte", "caldera mixta", "caldera instantanea",
)  # fmt: skip
STORES = ("storage", "tank", "cylinder", "speicher*", "boilervat")
FILLS = frozenset({"backflow-preventer", "check", "pressure-reducing"})  # of a boiler's fill line


@dataclass(eq=False)
class Heater(Relieved):
    """A water heater."""

    service = System.HOT_WATER

    arrangement: str  # "alone", "in series", "in parallel"; "" where no water is drawn to it
    cold_path: tuple[Element, ...]  # from the source to it, without it; () where not fed
    own_cold: tuple[Element, ...]  # the end of that path, past the last branch that serves others
    cold_pipe: Element | None = None  # the cold water piping joined to it
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
    def cold_feed(self) -> tuple[Element, ...] | None:
        """Its cold path; None where no cold water reaches it."""
        return self.cold_path or None


@dataclass(eq=False)
class Boiler(Relieved):
    """A boiler that heats rooms and gives no water to the taps."""

    service = System.HEATING

    has_circuit: bool  # whether both flow and return of its heating circuit are joined to it


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
        owners: list[Relieved] = [*self.heaters, *self.tanks]
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
    relieve(network, [*heaters, *tanks], storing_none=[h.index for h in heaters if h.is_tankless])
    relieve(network, boilers, FILLS)
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
