"""What rules judge in the plumbing, and where each kind of it is found."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from ifclint import plumbing
from ifclint.plumbing.context import Context

_FOUND: Mapping[type, Callable[[plumbing.Plumbing], Iterable[Any]]] = {
    plumbing.Piece: lambda p: p.pieces,
    plumbing.Fixture: lambda p: p.fixtures,
    plumbing.DrainSegment: lambda p: p.drains,
    plumbing.Stack: lambda p: p.stacks,
    plumbing.BranchInterval: lambda p: [i for stack in p.stacks for i in stack.intervals],
    plumbing.ChangeOfDirection: lambda p: p.changes_of_direction,
    plumbing.DrainLoop: lambda p: p.loops,
    plumbing.BuildingDrain: lambda p: [*p.building_drains, *p.bare_sewers],
    plumbing.TrapArm: lambda p: p.venting.arms,
    plumbing.VentGroup: lambda p: p.venting.groups,
    plumbing.VentSegment: lambda p: p.venting.segments,
    plumbing.VentTree: lambda p: p.venting.trees,
    plumbing.VentTerminal: lambda p: p.venting.terminals,
    plumbing.DrainLine: lambda p: p.lines,
    plumbing.Cleanout: lambda p: p.cleanouts,
    plumbing.WaterSegment: lambda p: p.supply.segments,
    plumbing.WaterFixture: lambda p: p.supply.fixtures,
    plumbing.WaterService: lambda p: p.supply.services,
    plumbing.StormDrain: lambda p: p.storm.segments if p.storm else [],
    plumbing.Inlet: lambda p: p.storm.inlets if p.storm else [],
    plumbing.StormOutlet: lambda p: p.storm.outlets if p.storm else [],
    plumbing.GasPiping: lambda p: [p.gas] if p.gas and p.gas.is_drawn else [],
    plumbing.GasSegment: lambda p: p.gas.all_segments if p.gas else [],
    plumbing.GasAppliance: lambda p: p.gas.appliances if p.gas else [],
    plumbing.GasRegulator: lambda p: p.gas.regulators if p.gas else [],
    plumbing.Heater: lambda p: p.heaters.heaters,
    plumbing.Boiler: lambda p: p.heaters.boilers,
    plumbing.HotTank: lambda p: p.heaters.tanks,
    plumbing.ReliefLine: lambda p: p.heaters.relief_lines,
    plumbing.Pan: lambda p: p.heaters.pans,
    plumbing.CondensateSource: lambda p: p.heaters.condensing,
    plumbing.FuelAppliance: lambda p: p.heaters.appliances,
    plumbing.FuelVent: lambda p: p.heaters.vents,
    plumbing.VentConnector: lambda p: p.heaters.connectors,
}

OF_DRAINAGE = frozenset({
    plumbing.Fixture, plumbing.DrainSegment, plumbing.Stack, plumbing.BranchInterval,
    plumbing.ChangeOfDirection, plumbing.DrainLoop, plumbing.BuildingDrain, plumbing.TrapArm,
    plumbing.VentGroup, plumbing.VentSegment, plumbing.VentTree, plumbing.VentTerminal,
    plumbing.DrainLine, plumbing.Cleanout,
})  # fmt: skip
OF_WATER = frozenset({plumbing.WaterSegment, plumbing.WaterFixture, plumbing.WaterService})
OF_GAS = frozenset(
    {plumbing.GasPiping, plumbing.GasSegment, plumbing.GasAppliance, plumbing.GasRegulator}
)
OF_HEATERS = frozenset({plumbing.Boiler, plumbing.Heater, plumbing.HotTank, plumbing.ReliefLine})
OF_FLUES = frozenset({plumbing.FuelAppliance, plumbing.FuelVent, plumbing.VentConnector})


def finders(*kinds: type) -> dict[type, Callable[[Context], Iterable[Any]]]:
    """How each kind of subject, or every kind, is found, in a stable order.

    KeyError for a kind that the plumbing does not have.
    """
    return {kind: _finder(_FOUND[kind]) for kind in kinds or _FOUND}


def _finder(
    found: Callable[[plumbing.Plumbing], Iterable[Any]],
) -> Callable[[Context], Iterable[Any]]:
    return lambda context: found(context.plumbing)
