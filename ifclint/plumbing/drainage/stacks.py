"""Stacks with their branch intervals, and what each drain is to the building."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_least, lies_above, lies_below
from ifclint.engineering.wording import of_size
from ifclint.ifc.elements import Location
from ifclint.plumbing.crawl_spaces import HEADROOM_M
from ifclint.plumbing.drainage.fixtures import Fixture
from ifclint.plumbing.drainage.gravity import Drainage
from ifclint.plumbing.drainage.orientation import STOREY_HEIGHT_M
from ifclint.plumbing.drainage.segments import DrainSegment, Part, midpoint
from ifclint.plumbing.drainage.services import Service
from ifclint.plumbing.floors import Floors
from ifclint.plumbing.flow.subject import place_of

FRAMING_M = 0.5  # a drain that begins so little below a floor hangs in it. Ours, no source


@dataclass(eq=False)
class BranchInterval:
    """What joins a stack within one storey height, highest first: branches, and fixtures that
    stand on the stack itself."""

    stack: Stack
    top_m: float
    branches: list[DrainSegment] = field(default_factory=list)
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

    segments: list[DrainSegment]
    intervals: list[BranchInterval] = field(default_factory=list)
    upper: list[Stack] = field(default_factory=list)  # stacks that flow into it by an offset

    @property
    def interval_count(self) -> int:
        """Branch intervals of the whole stack, counted through its offsets."""
        return len(self.intervals) + max((s.interval_count for s in self.upper), default=0)

    @property
    def base(self) -> DrainSegment:
        return self.segments[-1]

    @property
    def foot(self) -> int:
        """The fitting in which it turns, the pipe below where none is drawn, -1 where it ends."""
        below = self.base.next.indexes[:1] if self.base.next is not None else ()
        return next(iter((*self.base.tail, *below)), NONE)

    @property
    def key(self) -> str:
        return self.base.key

    @property
    def label(self) -> str:
        return f'{of_size(self.size_in)}stack "{self.base.first.label}"'

    @property
    def system(self) -> str:
        return self.base.system

    @property
    def element_ids(self) -> tuple[str, ...]:
        return tuple(guid for segment in reversed(self.segments) for guid in segment.element_ids)

    @property
    def location(self) -> Location:
        return place_of(self.base.first, midpoint(self.base.pipes[0]))

    @property
    def size_in(self) -> float | None:
        """The size at its base."""
        return self.base.size_in

    @property
    def height_m(self) -> float:
        return _top(self.segments[0]) - _bottom(self.base)


def find_stacks(
    segments: list[DrainSegment], fixtures: list[Fixture], floors: Floors, drainage: Drainage
) -> list[Stack]:
    """Chains of vertical drain at least a storey high, or that pass one that is lower; runs come
    downstream first.

    A drop that begins below the lowest floor is a part of the building drain and no stack.
    """
    chain_of: dict[DrainSegment, list[DrainSegment]] = {}
    chains: list[list[DrainSegment]] = []
    for segment in segments:
        if segment.service is not Service.DRAIN or not segment.vertical:
            continue
        below = segment.next
        chain = chain_of.get(below) if below is not None else None
        if chain is not None and chain[-1] is below and _is_main(segment, below):
            chain.append(segment)
        else:
            chain = [segment]
            chains.append(chain)
        chain_of[segment] = chain
    stacks = [Stack(chain[::-1]) for chain in chains]
    tall = [
        stack
        for stack in stacks
        if (at_least(stack.height_m, STOREY_HEIGHT_M, "m") or _passes_storey(stack, floors))
        and not floors.is_below_lowest(_top(stack.segments[0]))
    ]
    standing: dict[DrainSegment, list[Fixture]] = {}
    for fixture in fixtures:
        if fixture.drain is not None:
            standing.setdefault(fixture.drain, []).append(fixture)
    of_run = {segment: stack for stack in tall for segment in stack.segments}
    feeding = _feeding(segments, of_run)
    for stack in tall:
        _divide(stack, standing, feeding, drainage)
    return tall


def _passes_storey(stack: Stack, floors: Floors) -> bool:
    """Whether it comes from a floor's framing, or higher, to the next floor below or deeper."""
    levels = [floor.level_m for floor in floors.likely]
    top, bottom = _top(stack.segments[0]) + FRAMING_M, _bottom(stack.base)
    return any(
        at_least(upper - lower, HEADROOM_M, "m")
        and not lies_above(bottom, lower)
        and not lies_below(top, upper)
        for lower, upper in pairwise(levels)
    )


def _feeding(segments: list[DrainSegment], of_run: dict[DrainSegment, Stack]) -> set[DrainSegment]:
    """The segments that a stack flows through; each stack is stated the ones above it."""
    feeding: set[DrainSegment] = set()
    for segment in reversed(segments):  # upstream first
        below = segment.next
        if below is None or (segment not in of_run and segment not in feeding):
            continue
        if below not in of_run:
            feeding.add(below)
    for segment in segments:
        stack = of_run.get(segment)
        if stack is None or segment is not stack.base:
            continue
        below = segment.next
        while below is not None and below not in of_run:
            below = below.next
        if below is not None and of_run[below] is not stack:
            of_run[below].upper.append(stack)
    return feeding


def _is_main(segment: DrainSegment, below: DrainSegment | None) -> bool:
    """Of several verticals that join one, the stack goes on in the tallest."""
    rivals = [
        r for r in (below.above if below else []) if r.vertical and r.service is segment.service
    ]
    return segment is max(rivals, key=_top)


def _top(segment: DrainSegment) -> float:
    up = segment.pipes[0].up
    return up[2] if up else 0.0


def _bottom(segment: DrainSegment) -> float:
    down = segment.pipes[-1].down
    return down[2] if down else 0.0


def _joins_at(branch: DrainSegment, drainage: Drainage) -> float:
    """The height of the centre of the fitting in which a branch joins; where pipes join without
    one, of the end of the branch."""
    centre = drainage.middles[branch.meets] if branch.meets in branch.tail else None
    return _bottom(branch) if centre is None else centre[2]


def _divide(
    stack: Stack,
    standing: dict[DrainSegment, list[Fixture]],
    feeding: set[DrainSegment],
    drainage: Drainage,
) -> None:
    """Group what joins a stack, from the top, into intervals of a storey height.

    What another stack flows through is an offset or a drain, and no branch of this one.
    """
    inside = set(stack.segments)
    joining: list[tuple[float, str, DrainSegment | Fixture]] = []
    for segment in stack.segments:
        joining += [(_top(segment), f.key, f) for f in standing.get(segment, [])]
        joining += [
            (_joins_at(branch, drainage), branch.key, branch)
            for branch in segment.above
            if branch not in inside and branch not in feeding and branch.is_drain_or_arm
        ]
    current: BranchInterval | None = None
    for height, _, what in sorted(joining, key=lambda j: (-j[0], j[1])):
        if current is None or at_least(current.top_m - height, STOREY_HEIGHT_M, "m"):
            current = BranchInterval(stack, height, number=len(stack.intervals) + 1)
            stack.intervals.append(current)
        if isinstance(what, DrainSegment):
            current.branches.append(what)
        else:
            current.fixtures.append(what)


def assign_parts(segments: list[DrainSegment], stacks: list[Stack]) -> None:
    """Name every drain: stack, offset, branch, building drain. Runs come downstream first."""
    in_stack = {segment for stack in stacks for segment in stack.segments}
    takes_stack = {segment: segment in in_stack for segment in segments}
    for segment in reversed(segments):  # upstream first
        if takes_stack[segment] and segment.next is not None:
            takes_stack[segment.next] = True
    onto_stack: dict[DrainSegment, bool] = {}
    for segment in segments:
        below = segment.next
        onto_stack[segment] = below is not None and (below in in_stack or onto_stack[below])
        if segment.is_drain:
            segment.part = _part(segment, in_stack, takes_stack[segment], onto_stack[segment])


def _part(
    segment: DrainSegment, in_stack: set[DrainSegment], takes_stack: bool, onto_stack: bool
) -> Part:
    if segment in in_stack:
        return Part.STACK
    if takes_stack:
        return Part.OFFSET if onto_stack else Part.BUILDING_DRAIN
    if onto_stack:
        return Part.HORIZONTAL_BRANCH
    return Part.BUILDING_DRAIN if segment.next is None else Part.BUILDING_DRAIN_BRANCH
