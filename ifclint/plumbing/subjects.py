"""What rules judge in the plumbing, and where each kind of it is found."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from ifclint.plumbing import (
    Boiler,
    BranchInterval,
    BuildingDrain,
    ChangeOfDirection,
    Cleanout,
    CondensateSource,
    DrainLine,
    DrainLoop,
    DrainSegment,
    Fixture,
    FuelAppliance,
    FuelVent,
    GasAppliance,
    GasPiping,
    GasRegulator,
    GasSegment,
    Heater,
    HotTank,
    Inlet,
    Pan,
    Piece,
    Plumbing,
    ReliefLine,
    Stack,
    StormDrain,
    StormOutlet,
    TrapArm,
    VentConnector,
    VentGroup,
    VentSegment,
    VentTerminal,
    VentTree,
    WaterFixture,
    WaterSegment,
    WaterService,
)
from ifclint.plumbing.context import Context

_FOUND: Mapping[type, Callable[[Plumbing], Iterable[Any]]] = {
    Piece: lambda p: p.pieces,
    Fixture: lambda p: p.fixtures,
    DrainSegment: lambda p: p.drains,
    Stack: lambda p: p.stacks,
    BranchInterval: lambda p: [i for stack in p.stacks for i in stack.intervals],
    ChangeOfDirection: lambda p: p.changes_of_direction,
    DrainLoop: lambda p: p.loops,
    BuildingDrain: lambda p: [*p.building_drains, *p.bare_sewers],
    TrapArm: lambda p: p.venting.arms,
    VentGroup: lambda p: p.venting.groups,
    VentSegment: lambda p: p.venting.segments,
    VentTree: lambda p: p.venting.trees,
    VentTerminal: lambda p: p.venting.terminals,
    DrainLine: lambda p: p.lines,
    Cleanout: lambda p: p.cleanouts,
    WaterSegment: lambda p: p.supply.segments,
    WaterFixture: lambda p: p.supply.fixtures,
    WaterService: lambda p: p.supply.services,
    StormDrain: lambda p: p.storm.segments if p.storm else [],
    Inlet: lambda p: p.storm.inlets if p.storm else [],
    StormOutlet: lambda p: p.storm.outlets if p.storm else [],
    GasPiping: lambda p: [p.gas] if p.gas and p.gas.is_drawn else [],
    GasSegment: lambda p: p.gas.all_segments if p.gas else [],
    GasAppliance: lambda p: p.gas.appliances if p.gas else [],
    GasRegulator: lambda p: p.gas.regulators if p.gas else [],
    Heater: lambda p: p.heaters.heaters,
    Boiler: lambda p: p.heaters.boilers,
    HotTank: lambda p: p.heaters.tanks,
    ReliefLine: lambda p: p.heaters.relief_lines,
    Pan: lambda p: p.heaters.pans,
    CondensateSource: lambda p: p.heaters.condensing,
    FuelAppliance: lambda p: p.heaters.appliances,
    FuelVent: lambda p: p.heaters.vents,
    VentConnector: lambda p: p.heaters.connectors,
}

OF_DRAINAGE = frozenset(
    {
        Fixture, DrainSegment, Stack, BranchInterval, ChangeOfDirection, DrainLoop, BuildingDrain,
        TrapArm, VentGroup, VentSegment, VentTree, VentTerminal, DrainLine, Cleanout,
    }
)  # fmt: skip
OF_WATER = frozenset({WaterSegment, WaterFixture, WaterService})
OF_GAS = frozenset({GasPiping, GasSegment, GasAppliance, GasRegulator})
OF_HEATERS = frozenset({Boiler, Heater, HotTank, ReliefLine})
OF_FLUES = frozenset({FuelAppliance, FuelVent, VentConnector})


def finders(*kinds: type) -> dict[type, Callable[[Context], Iterable[Any]]]:
    """How each kind of subject, or every kind, is found, in a stable order.

    KeyError for a kind that the plumbing does not have.
    """
    return {kind: _finder(_FOUND[kind]) for kind in kinds or _FOUND}


def _finder(found: Callable[[Plumbing], Iterable[Any]]) -> Callable[[Context], Iterable[Any]]:
    return lambda context: found(context.plumbing)
