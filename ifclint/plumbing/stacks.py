"""Stacks with their branch intervals, and what each drain is to the building."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf

from ifclint.engineering.wording import trade_size
from ifclint.ifc.elements import Location
from ifclint.plumbing.fixtures import Fixture
from ifclint.plumbing.runs import Part, Run, Service, midpoint, place_of

STOREY_HEIGHT_M = 8 * 0.3048  # a branch interval is never less; a vertical this tall is a stack


@dataclass(eq=False)
class BranchInterval:
    """What joins a stack within one storey height, highest first: branches, and fixtures that
    stand on the stack itself."""

    stack: Stack
    top_m: float
    branches: list[Run] = field(default_factory=list)
    fixtures: list[Fixture] = field(default_factory=list)
    number: int = 0  # 1 is the highest

    @property
    def key(self) -> str:
        return f"{self.stack.key}#{self.number}"

    @property
    def label(self) -> str:
        return f"branch interval {self.number} from the top of {self.stack.label}"

    @property
    def system(self) -> str:
        return self.stack.system

    @property
    def element_ids(self) -> tuple[str, ...]:
        branches = tuple(branch.first.guid for branch in self.branches)
        return branches + tuple(fixture.element.guid for fixture in self.fixtures)

    @property
    def location(self) -> Location:
        if self.branches:
            return self.branches[0].location
        return self.fixtures[0].location if self.fixtures else self.stack.location

    @property
    def size_in(self) -> float | None:
        return self.stack.size_in


@dataclass(eq=False)
class Stack:
    """Vertical drainage at least one storey high: its runs, upstream first."""

    runs: list[Run]
    intervals: list[BranchInterval] = field(default_factory=list)
    upper: list[Stack] = field(default_factory=list)  # stacks that flow into it by an offset

    @property
    def interval_count(self) -> int:
        """Branch intervals of the whole stack, counted through its offsets."""
        return len(self.intervals) + max((s.interval_count for s in self.upper), default=0)

    @property
    def base(self) -> Run:
        return self.runs[-1]

    @property
    def key(self) -> str:
        return self.base.key

    @property
    def label(self) -> str:
        return f'{trade_size(self.size_in)} stack "{self.base.first.label}"'

    @property
    def system(self) -> str:
        return self.base.system

    @property
    def element_ids(self) -> tuple[str, ...]:
        return tuple(guid for run in reversed(self.runs) for guid in run.element_ids)

    @property
    def location(self) -> Location:
        return place_of(self.base.first, midpoint(self.base.pipes[0]))

    @property
    def size_in(self) -> float | None:
        """The size at its base."""
        return self.base.size_in

    @property
    def height_m(self) -> float:
        return _top(self.runs[0]) - _bottom(self.base)


def find_stacks(
    runs: list[Run], fixtures: list[Fixture], lowest_floor_m: float = -inf
) -> list[Stack]:
    """Chains of vertical drain at least a storey high; runs come downstream first.

    A drop that begins below the lowest floor is a part of the building drain and no stack.
    """
    chain_of: dict[Run, list[Run]] = {}
    chains: list[list[Run]] = []
    for run in runs:
        if run.service is not Service.DRAIN or not run.vertical:
            continue
        below = run.next
        chain = chain_of.get(below) if below is not None else None
        if chain is not None and chain[-1] is below and _is_main(run, below):
            chain.append(run)
        else:
            chain = [run]
            chains.append(chain)
        chain_of[run] = chain
    stacks = [Stack(chain[::-1]) for chain in chains]
    tall = [
        stack
        for stack in stacks
        if stack.height_m >= STOREY_HEIGHT_M and _top(stack.runs[0]) > lowest_floor_m
    ]
    standing: dict[Run, list[Fixture]] = {}
    for fixture in fixtures:
        if fixture.drain is not None:
            standing.setdefault(fixture.drain, []).append(fixture)
    of_run = {run: stack for stack in tall for run in stack.runs}
    feeding = _feeding(runs, of_run)
    for stack in tall:
        _divide(stack, standing, feeding)
    return tall


def _feeding(runs: list[Run], of_run: dict[Run, Stack]) -> set[Run]:
    """The runs that a stack flows through; each stack is told the ones above it."""
    feeding: set[Run] = set()
    for run in reversed(runs):  # upstream first
        below = run.next
        if below is None or (run not in of_run and run not in feeding):
            continue
        if below not in of_run:
            feeding.add(below)
    for run in runs:
        stack = of_run.get(run)
        if stack is None or run is not stack.base:
            continue
        below = run.next
        while below is not None and below not in of_run:
            below = below.next
        if below is not None and of_run[below] is not stack:
            of_run[below].upper.append(stack)
    return feeding


def _is_main(run: Run, below: Run | None) -> bool:
    """Of several verticals that join one, the stack goes on in the tallest."""
    rivals = [r for r in (below.above if below else []) if r.vertical and r.service is run.service]
    return run is max(rivals, key=_top)


def _top(run: Run) -> float:
    up = run.pipes[0].up
    return up[2] if up else 0.0


def _bottom(run: Run) -> float:
    down = run.pipes[-1].down
    return down[2] if down else 0.0


def _divide(stack: Stack, standing: dict[Run, list[Fixture]], feeding: set[Run]) -> None:
    """Group what joins a stack, from the top, into intervals of a storey height.

    What another stack flows through is an offset or a drain, and no branch of this one.
    """
    inside = set(stack.runs)
    joining: list[tuple[float, str, Run | Fixture]] = []
    for run in stack.runs:
        joining += [(_top(run), f.key, f) for f in standing.get(run, [])]
        joining += [
            (_bottom(branch), branch.key, branch)
            for branch in run.above
            if branch not in inside and branch not in feeding and branch.is_drain_or_arm
        ]
    current: BranchInterval | None = None
    for height, _, what in sorted(joining, key=lambda j: (-j[0], j[1])):
        if current is None or current.top_m - height >= STOREY_HEIGHT_M:
            current = BranchInterval(stack, height, number=len(stack.intervals) + 1)
            stack.intervals.append(current)
        if isinstance(what, Run):
            current.branches.append(what)
        else:
            current.fixtures.append(what)


def assign_parts(runs: list[Run], stacks: list[Stack]) -> None:
    """Name every drain: stack, offset, branch, building drain. Runs come downstream first."""
    in_stack = {run for stack in stacks for run in stack.runs}
    takes_stack = {run: run in in_stack for run in runs}
    for run in reversed(runs):  # upstream first
        if takes_stack[run] and run.next is not None:
            takes_stack[run.next] = True
    onto_stack: dict[Run, bool] = {}
    for run in runs:
        below = run.next
        onto_stack[run] = below is not None and (below in in_stack or onto_stack[below])
        if run.is_drain:
            run.part = _part(run, in_stack, takes_stack[run], onto_stack[run])


def _part(run: Run, in_stack: set[Run], takes_stack: bool, onto_stack: bool) -> Part:
    if run in in_stack:
        return Part.STACK
    if takes_stack:
        return Part.OFFSET if onto_stack else Part.BUILDING_DRAIN
    if onto_stack:
        return Part.HORIZONTAL_BRANCH
    return Part.BUILDING_DRAIN if run.next is None else Part.BUILDING_DRAIN_BRANCH
