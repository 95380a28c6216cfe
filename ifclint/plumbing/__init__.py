"""What a plumber sees in the network: fixtures and traps, runs, stacks, outlets. Derived once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from ifclint.errors import InputError
from ifclint.ifc.elements import Element, System
from ifclint.network import Network
from ifclint.plumbing.cleanouts.cleanouts import Cleanout, find_cleanouts
from ifclint.plumbing.cleanouts.drain_lines import DrainLine, find_lines
from ifclint.plumbing.drainage.building_drains import (
    BuildingDrain,
    find_bare_sewers,
    find_building_drains,
)
from ifclint.plumbing.drainage.changes_of_direction import (
    ChangeOfDirection,
    Inflow,
    find_changes_of_direction,
)
from ifclint.plumbing.drainage.drain_loops import DrainLoop, find_loops, find_unknown_inflows
from ifclint.plumbing.drainage.fixtures import Fixture, Trap, find_fixtures
from ifclint.plumbing.drainage.gravity import Drainage
from ifclint.plumbing.drainage.hoses import hung
from ifclint.plumbing.drainage.outlets import Outlet
from ifclint.plumbing.drainage.pressure import direct_with_pumps
from ifclint.plumbing.drainage.pumped import lifts_from_sump
from ifclint.plumbing.drainage.segments import DrainSegment, Part, Pipe, make_segments
from ifclint.plumbing.drainage.services import Service, services
from ifclint.plumbing.drainage.sources import bare_heads, bare_traps
from ifclint.plumbing.drainage.stacks import BranchInterval, Stack, assign_parts, find_stacks
from ifclint.plumbing.floors import Ground
from ifclint.plumbing.gas.gas_piping import GasAppliance, GasPiping, GasRegulator, GasSegment
from ifclint.plumbing.gas.gas_tracing import find_gas
from ifclint.plumbing.graphs import flow_graph
from ifclint.plumbing.heaters.condensate import CondensateSource
from ifclint.plumbing.heaters.fuel_vents import FuelAppliance, FuelVent, VentConnector, find_vents
from ifclint.plumbing.heaters.heaters import Boiler, Heater, Heaters, find_heaters
from ifclint.plumbing.heaters.hot_tanks import HotTank
from ifclint.plumbing.heaters.pans import Pan
from ifclint.plumbing.heaters.relief import ReliefLine
from ifclint.plumbing.pieces import Piece, find_pieces
from ifclint.plumbing.storm.storm import Inlet, Storm, StormDrain, StormOutlet, find_storm
from ifclint.plumbing.supply.returns import circulated
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.plumbing.supply.water_fixtures import WaterFixture
from ifclint.plumbing.supply.water_supply import Supply, WaterService, find_supply
from ifclint.plumbing.surroundings.obstacles import Surroundings
from ifclint.plumbing.venting.trap_arms import Method, TrapArm
from ifclint.plumbing.venting.vent_groups import VentGroup
from ifclint.plumbing.venting.vent_segments import VentSegment
from ifclint.plumbing.venting.vent_terminals import VentTerminal
from ifclint.plumbing.venting.venting import Venting, find_venting
from ifclint.plumbing.venting.vents import VentJoint, VentTree
from ifclint.plumbing.words import Names

if TYPE_CHECKING:
    import networkx as nx

__all__ = [
    "Boiler", "BranchInterval", "BuildingDrain", "ChangeOfDirection", "Cleanout",
    "CondensateSource", "DrainLine", "DrainLoop", "DrainSegment", "Fixture", "FuelAppliance",
    "FuelVent", "GasAppliance", "GasPiping", "GasRegulator", "GasSegment", "Ground", "Heater",
    "HotTank", "Inflow", "Inlet", "Method", "Outlet", "Pan", "Part", "Piece", "Pipe", "Plumbing",
    "ReliefLine", "Service", "Stack", "Storm", "StormDrain", "StormOutlet", "Supply", "Trap",
    "TrapArm", "VentConnector", "VentGroup", "VentJoint", "VentSegment", "VentTerminal",
    "VentTree", "Venting", "WaterFixture", "WaterSegment", "WaterService", "build",
]  # fmt: skip


@dataclass
class Plumbing:
    """The plumbing of a building. Rules read it; nobody changes it once it is made."""

    network: Network
    drainage: Drainage
    fixtures: list[Fixture]
    segments: list[DrainSegment]  # drains, vents, cleanout stubs; downstream first
    stacks: list[Stack]
    changes_of_direction: list[ChangeOfDirection]
    loops: list[DrainLoop]
    unknown_inflows: list[int]  # elements where a load enters that the model does not show
    pieces: list[Piece]
    services: list[Service]  # what every element is to the drainage
    surroundings: Surroundings  # walls, slabs, roofs, openings and equipment
    gas_sources: Sequence[str] = ()  # where gas piping begins, as the job file names it
    water_source: str | None = None  # GlobalId of where the water supply begins, likewise
    gas_loads: Sequence[str] = ()  # GlobalIds of what the job file gives a gas load
    discharging: Sequence[int] = ()  # elements that the job file says discharge continuously

    _graphs: dict[System, nx.DiGraph] = field(default_factory=dict, init=False, repr=False)

    @cached_property
    def supply(self) -> Supply:
        """The water supply."""
        return find_supply(self.network, self.water_source)

    @cached_property
    def venting(self) -> Venting:
        """Traps, trap arms and vents."""
        return find_venting(
            self.network, self.drainage, self.fixtures, self.segments, self.stacks, self.services,
            self.surroundings,
        )  # fmt: skip

    @cached_property
    def lines(self) -> list[DrainLine]:
        """The horizontal drains as one rods them."""
        seen = self.venting
        return find_lines(seen.piping, self.segments, self.stacks, seen.arms, self.fixtures)

    @cached_property
    def cleanouts(self) -> list[Cleanout]:
        return find_cleanouts(self.venting.piping, self.lines)

    @cached_property
    def building_drains(self) -> list[BuildingDrain]:
        return find_building_drains(self.venting.piping, self.fixtures)

    @cached_property
    def bare_sewers(self) -> list[BuildingDrain]:
        """The drains to outlets by gravity that nothing drawn drains to."""
        return find_bare_sewers(self.venting.piping, self.building_drains)

    @cached_property
    def storm(self) -> Storm | None:
        """The storm drainage of the building, None where there is none."""
        return find_storm(self.network, self.surroundings.floors)

    @cached_property
    def gas(self) -> GasPiping | None:
        """The fuel gas, None where there is none."""
        return find_gas(self.network, self.gas_sources, self.gas_loads)

    @cached_property
    def heaters(self) -> Heaters:
        """Water heaters, boilers, pans, and the vents of what burns fuel."""
        return find_heaters(self.network, self.supply, find_vents(self.network))

    @cached_property
    def drains(self) -> list[DrainSegment]:
        return [segment for segment in self.segments if segment.service is Service.DRAIN]

    @cached_property
    def _names(self) -> Names:
        return Names(self.network.elements)

    def saying(self, words: tuple[str, ...]) -> list[Element]:
        """The elements of which name, type or object type says one of the words."""
        return self._names.saying(words)

    def numbers_saying(self, words: tuple[str, ...]) -> list[int]:
        """The same by their numbers in the network."""
        return self._names.numbers(words)

    def graph(self, service: System) -> nx.DiGraph:
        """The piping of a service as a networkx graph in the direction of flow (see `graphs`)."""
        if service not in self._graphs:
            self._graphs[service] = flow_graph(self, service)
        return self._graphs[service]

    def load(self, values: dict[Fixture, float]) -> dict[DrainSegment, float]:
        """What each drain carries when each fixture gives its value, at its downstream end."""
        flow = self.drainage.accumulate({f.index: value for f, value in values.items()})
        return dict(zip(self.drains, [flow[i] for i in self._ends_of_drains], strict=True))

    @cached_property
    def _ends_of_drains(self) -> list[int]:
        """The last element of each drain."""
        return [segment.indexes[-1] for segment in self.drains]


def build(
    network: Network,
    outlets: Sequence[str] = (),
    discharges: Sequence[str] = (),
    gas_sources: Sequence[str] = (),
    water_source: str | None = None,
    surroundings: Surroundings | None = None,
    gas_loads: Sequence[str] = (),
) -> Plumbing:
    """The plumbing of a network.

    `outlets` and `discharges` are GlobalIds from the job file: where drainage leaves the model,
    and elements that discharge continuously; `gas_sources` and `water_source` where gas piping and
    the water supply begin; `gas_loads` what gas is given to. `surroundings` are given where they
    are known already. Raises InputError for an outlet or discharge that is not drainage.
    """
    network = circulated(hung(network))
    surroundings = surroundings or Surroundings(network.model)
    drainage = direct_with_pumps(network, outlets, surroundings.floors)
    by_guid = {network.elements[i].guid: i for i in drainage.members}
    for key, guids in (("outlets", outlets), ("continuous_flow.element", discharges)):
        for guid in guids:
            if guid not in by_guid:
                raise InputError(
                    f'Job file, drainage.{key}: no drainage element has the GlobalId "{guid}".'
                )
    discharging = [by_guid[guid] for guid in discharges]
    return plumbing_of(
        network, drainage, surroundings, gas_sources, water_source, gas_loads, discharging
    )


def plumbing_of(
    network: Network,
    drainage: Drainage,
    surroundings: Surroundings,
    gas_sources: Sequence[str],
    water_source: str | None,
    gas_loads: Sequence[str],
    discharging: Sequence[int],
) -> Plumbing:
    """The plumbing of a network whose drainage is directed."""
    stated = [index for index in discharging if not lifts_from_sump(drainage, index)]
    wet = drainage.passed_by([*drainage.sources, *stated])
    sources = sorted([*drainage.sources, *bare_traps(network, wet, drainage.down)])
    giving = {*sources, *stated}
    fed = {drainage.outlet[i] for i in giving}
    heads = bare_heads(network, drainage.outlet, drainage.beyond, fed)
    unknown_inflows = find_unknown_inflows(network, drainage, giving)
    service = services(network, drainage, giving, surroundings.is_above_roof)
    segments = make_segments(network, drainage, service, unknown_inflows)
    fixtures = find_fixtures(network, drainage, segments, sources, unknown_inflows)
    stacks = find_stacks(segments, fixtures, surroundings.floors, drainage)
    assign_parts(segments, stacks)
    return Plumbing(
        network, drainage, fixtures, segments, stacks,
        find_changes_of_direction(network, drainage, segments, {*giving, *heads}),
        find_loops(network, drainage, giving), unknown_inflows,
        find_pieces(network, drainage), service, surroundings,
        gas_sources, water_source, gas_loads, discharging,
    )  # fmt: skip
