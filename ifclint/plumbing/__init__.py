"""What a plumber sees in the network: fixtures and traps, runs, stacks, outlets. Derived once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import inf
from typing import Any

from ifclint.errors import InputError
from ifclint.network import Network
from ifclint.plumbing.building_drains import BuildingDrain, find_building_drains
from ifclint.plumbing.cleanouts import Cleanout, find_cleanouts
from ifclint.plumbing.drain_lines import DrainLine, find_lines
from ifclint.plumbing.fixtures import Fixture, Trap, find_fixtures
from ifclint.plumbing.flues import FuelAppliance, FuelVent, VentConnector, find_vents
from ifclint.plumbing.gas import GasAppliance, GasPiping, GasRegulator, GasRun, find_gas
from ifclint.plumbing.gravity import Drainage, Outlet, direct, is_drain_source
from ifclint.plumbing.heaters import (
    CondensateSource,
    Heater,
    Heaters,
    Pan,
    ReliefLine,
    find_heaters,
)
from ifclint.plumbing.pieces import Piece, find_pieces
from ifclint.plumbing.runs import Part, Pipe, Run, Service, make_runs
from ifclint.plumbing.stacks import BranchInterval, Stack, assign_parts, find_stacks
from ifclint.plumbing.supply import (
    Supply,
    WaterFixture,
    WaterLine,
    WaterService,
    find_supply,
)
from ifclint.plumbing.trap_arms import TrapArm
from ifclint.plumbing.trouble import DrainLoop, find_loops, find_unknown_inflows
from ifclint.plumbing.turns import Inflow, Turn, find_turns
from ifclint.plumbing.venting import Method, VentGroup, Venting, find_venting
from ifclint.plumbing.vents import VentJoint, VentPipe, VentTerminal, VentTree

__all__ = [
    "BranchInterval", "BuildingDrain", "Cleanout", "CondensateSource", "DrainLine", "DrainLoop",
    "Fixture", "FuelAppliance", "FuelVent", "GasAppliance", "GasPiping", "GasRegulator", "GasRun",
    "Heater", "Inflow", "Method", "Outlet", "Pan", "Part", "Piece", "Pipe", "Plumbing",
    "ReliefLine", "Run", "Service", "Stack", "Supply", "Trap", "TrapArm", "Turn", "VentConnector",
    "VentGroup", "VentJoint", "VentPipe", "VentTerminal", "VentTree", "Venting", "WaterFixture",
    "WaterLine", "WaterService", "see",
]  # fmt: skip


@dataclass
class Plumbing:
    """The plumbing of a building. Rules read it; nobody changes it once it is made."""

    network: Network
    drainage: Drainage
    fixtures: list[Fixture]
    runs: list[Run]  # drains, vents, cleanout stubs; downstream first
    stacks: list[Stack]
    turns: list[Turn]
    loops: list[DrainLoop]
    unknown_inflows: list[int]  # elements where a load enters that the model does not tell
    pieces: list[Piece]
    sources: dict[int, float]  # the elements that give water to the drainage
    gas_sources: Sequence[str] = ()  # where gas piping begins, as the job file names it
    water_source: str | None = None  # GlobalId of where the water supply begins, likewise

    @cached_property
    def supply(self) -> Supply:
        """The water supply."""
        return find_supply(self.network, self.water_source)

    @cached_property
    def venting(self) -> Venting:
        """Traps, trap arms and vents."""
        return find_venting(
            self.network, self.drainage, self.fixtures, self.runs, self.stacks, self.sources
        )

    @cached_property
    def lines(self) -> list[DrainLine]:
        """The horizontal drains as one rods them."""
        seen = self.venting
        return find_lines(seen.piping, self.runs, self.stacks, seen.arms, self.fixtures)

    @cached_property
    def cleanouts(self) -> list[Cleanout]:
        return find_cleanouts(self.venting.piping, self.lines)

    @cached_property
    def building_drains(self) -> list[BuildingDrain]:
        return find_building_drains(self.venting.piping, self.fixtures)

    @cached_property
    def gas(self) -> GasPiping | None:
        """The fuel gas, None where there is none."""
        return find_gas(self.network, self.gas_sources)

    @cached_property
    def heaters(self) -> Heaters:
        """Water heaters, pans, and the vents of what burns fuel."""
        return find_heaters(self.network, self.supply, find_vents(self.network))

    @property
    def drains(self) -> list[Run]:
        return [run for run in self.runs if run.service is Service.DRAIN]

    def subjects(self, kind: type) -> list[Any]:
        """All subjects of a kind, in a stable order. Raises KeyError for an unknown kind."""
        by_kind: dict[type, Callable[[], list[Any]]] = {
            Fixture: lambda: self.fixtures,
            Run: lambda: self.drains,
            Stack: lambda: self.stacks,
            BranchInterval: lambda: [i for stack in self.stacks for i in stack.intervals],
            Turn: lambda: self.turns,
            DrainLoop: lambda: self.loops,
            Piece: lambda: self.pieces,
            TrapArm: lambda: self.venting.arms,
            VentGroup: lambda: self.venting.groups,
            VentPipe: lambda: self.venting.pipes,
            VentTree: lambda: self.venting.trees,
            VentTerminal: lambda: self.venting.terminals,
            DrainLine: lambda: self.lines,
            Cleanout: lambda: self.cleanouts,
            BuildingDrain: lambda: self.building_drains,
            WaterLine: lambda: self.supply.lines,
            WaterFixture: lambda: self.supply.fixtures,
            WaterService: lambda: self.supply.services,
            Heater: lambda: self.heaters.heaters,
            ReliefLine: lambda: self.heaters.relief_lines,
            Pan: lambda: self.heaters.pans,
            CondensateSource: lambda: self.heaters.condensing,
            FuelAppliance: lambda: self.heaters.appliances,
            FuelVent: lambda: self.heaters.vents,
            VentConnector: lambda: self.heaters.connectors,
            GasPiping: lambda: [self.gas] if self.gas else [],
            GasRun: lambda: self.gas.runs if self.gas else [],
            GasAppliance: lambda: self.gas.appliances if self.gas else [],
            GasRegulator: lambda: self.gas.regulators if self.gas else [],
        }
        return by_kind[kind]()

    def load(self, values: dict[Fixture, float]) -> dict[Run, float]:
        """What each drain carries when each fixture gives its value, at its downstream end."""
        flow = self.drainage.accumulate({f.index: value for f, value in values.items()})
        return {run: flow[run.indexes[-1]] for run in self.drains}


def see(
    network: Network,
    outlets: Sequence[str] = (),
    discharges: Sequence[str] = (),
    gas_sources: Sequence[str] = (),
    water_source: str | None = None,
) -> Plumbing:
    """The plumbing of a network.

    `outlets` and `discharges` are GlobalIds from the job file: where drainage leaves the model,
    and elements that discharge continuously; `gas_sources` and `water_source` where gas piping and
    the water supply begin. Raises InputError for an outlet or discharge that is not drainage.
    """
    drainage = direct(network, outlets)
    by_guid = {network.elements[i].guid: i for i in drainage.members}
    for key, guids in (("outlets", outlets), ("continuous_flow.element", discharges)):
        for guid in guids:
            if guid not in by_guid:
                raise InputError(
                    f'Job file, drainage.{key}: no drainage element has the GlobalId "{guid}".'
                )
    sources = [i for i in drainage.members if is_drain_source(network.elements[i])]
    giving = dict.fromkeys([*sources, *(by_guid[g] for g in discharges)], 1.0)
    runs = make_runs(network, drainage, giving)
    unknown_inflows = find_unknown_inflows(network, drainage, giving)
    fixtures = find_fixtures(network, drainage, runs, sources, unknown_inflows)
    floors = [storey.elevation_m for storey in network.model.storeys]
    stacks = find_stacks(runs, fixtures, min(floors, default=-inf))
    assign_parts(runs, stacks)
    return Plumbing(
        network, drainage, fixtures, runs, stacks,
        find_turns(network, drainage, runs, giving),
        find_loops(network, drainage, giving), unknown_inflows,
        find_pieces(network, drainage), giving,
        gas_sources, water_source,
    )  # fmt: skip
