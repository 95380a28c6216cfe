"""What a plumber sees in the network: fixtures and traps, runs, stacks, outlets. Derived once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from ifclint.errors import InputError
from ifclint.network import Network
from ifclint.plumbing.fixtures import Fixture, Trap, find_fixtures
from ifclint.plumbing.gravity import Drainage, Outlet, direct, is_drain_source
from ifclint.plumbing.pieces import Piece, find_pieces
from ifclint.plumbing.runs import Part, Pipe, Run, Service, make_runs
from ifclint.plumbing.stacks import BranchInterval, Stack, assign_parts, find_stacks
from ifclint.plumbing.trouble import DrainLoop, find_loops
from ifclint.plumbing.turns import Inflow, Turn, find_turns

__all__ = [
    "BranchInterval", "DrainLoop", "Fixture", "Inflow", "Outlet", "Part", "Piece", "Pipe",
    "Plumbing", "Run", "Service", "Stack", "Trap", "Turn", "see",
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
    pieces: list[Piece]

    @property
    def drains(self) -> list[Run]:
        return [run for run in self.runs if run.service is Service.DRAIN]

    def subjects(self, kind: type) -> list[Any]:
        """All subjects of a kind, in a stable order. Raises KeyError for an unknown kind."""
        by_kind: dict[type, list[Any]] = {
            Fixture: self.fixtures,
            Run: self.drains,
            Stack: self.stacks,
            BranchInterval: [i for stack in self.stacks for i in stack.intervals],
            Turn: self.turns,
            DrainLoop: self.loops,
            Piece: self.pieces,
        }
        return by_kind[kind]

    def load(self, values: dict[Fixture, float]) -> dict[Run, float]:
        """What each drain carries when each fixture gives its value, at its downstream end."""
        flow = self.drainage.accumulate({f.index: value for f, value in values.items()})
        return {run: flow[run.indexes[-1]] for run in self.drains}


def see(network: Network, outlets: Sequence[str] = (), discharges: Sequence[str] = ()) -> Plumbing:
    """The plumbing of a network.

    `outlets` and `discharges` are GlobalIds from the job file: where drainage leaves the model,
    and elements that discharge continuously. Raises InputError for one that is not drainage.
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
    fixtures = find_fixtures(network, drainage, runs, sources)
    stacks = find_stacks(runs, fixtures)
    assign_parts(runs, stacks)
    return Plumbing(
        network, drainage, fixtures, runs, stacks,
        find_turns(network, drainage, runs, giving),
        find_loops(network, drainage, giving), find_pieces(network, drainage),
    )  # fmt: skip
