"""Fittings that water passes: what turns into what, so that a fitting can be judged as it lies."""

from collections.abc import Collection
from dataclasses import dataclass

from ifclint.engineering.directions import Direction, angle_deg, direction, rise_deg
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.wording import of_size
from ifclint.ifc.elements import Element, Point, Role
from ifclint.network import Network
from ifclint.plumbing.drainage.gravity import Drainage
from ifclint.plumbing.drainage.hoses import hoses
from ifclint.plumbing.drainage.orientation import STRAIGHT_DEG, counts_as_vertical
from ifclint.plumbing.drainage.segments import DrainSegment, Pipe
from ifclint.plumbing.flow.subject import OfElement

NO_TURN = frozenset({"cap", "air-gap"})


@dataclass(frozen=True)
class Inflow:
    """Water that enters a fitting: what change of direction it makes on its path out."""

    change: str  # "horizontal-to-vertical", ... ; "" where it goes straight on
    angle_deg: float
    segment: DrainSegment | None  # the segment it comes from
    size_in: float | None


@dataclass(eq=False)
class ChangeOfDirection(OfElement):
    """A drainage fitting and the water that passes it."""

    element: Element
    inflows: tuple[Inflow, ...]
    size_in: float | None  # of the pipe it flows into
    drawn: bool = True  # False where pipes meet at an angle with no fitting between

    @property
    def fitting(self) -> str | None:
        """The kind of fitting, None where the model does not show."""
        return self.element.kind or None

    @property
    def label(self) -> str:
        if not self.drawn:
            return f'the turn into {of_size(self.size_in)}pipe "{self.element.label}"'
        return f'{of_size(self.size_in)}fitting "{self.element.label}"'

    @property
    def system(self) -> str:
        return self.element.system.value if self.element.system else "sanitary drainage"


def find_changes_of_direction(
    network: Network, drainage: Drainage, segments: list[DrainSegment], sources: Collection[int]
) -> list[ChangeOfDirection]:
    """Every wet fitting whose inflow and outflow have a direction; what is pumped may turn."""
    pipes = {
        index: (pipe, segment)
        for segment in segments
        for index, pipe in zip(segment.indexes, segment.pipes, strict=True)
    }
    above, wet = drainage.beyond, drainage.passed_by(sources)
    seen = _WetNetwork(network, drainage, pipes, [[i for i in a if wet[i]] for a in above])
    turns, pumped = [], hoses(network) | drainage.pressed
    for index in drainage.members:
        element = network.elements[index]
        if index in pumped:
            continue
        if element.role is Role.FITTING and wet[index] and element.kind not in NO_TURN:
            turn = seen.turn(index)
            if turn is not None:
                turns.append(turn)
        elif index in pipes and wet[index]:
            turn = seen.corner(index)
            if turn is not None:
                turns.append(turn)
    return turns


@dataclass(frozen=True)
class _WetNetwork:
    """The wet network as fittings see it."""

    network: Network
    drainage: Drainage
    pipes: dict[int, tuple[Pipe, DrainSegment]]
    wet_above: list[list[int]]

    def turn(self, index: int) -> ChangeOfDirection | None:
        leaving, after = self._leaving(index)
        if leaving is None:
            return None
        inflows = []
        for child in self.wet_above[index]:
            entering = self._entering(child, index)
            if entering is not None:
                segment = self.pipes[child][1] if child in self.pipes else None
                size = segment.size_in if segment else self.network.elements[child].size_in
                inflows.append(_inflow(entering, leaving, segment, size))
        element = self.network.elements[index]
        size = after.size_in if after is not None else element.size_in
        return ChangeOfDirection(element, tuple(inflows), size) if inflows else None

    def corner(self, index: int) -> ChangeOfDirection | None:
        """A pipe that others run into at an angle with no fitting between."""
        pipe, segment = self.pipes[index]
        leaving = direction(pipe.up, pipe.down)
        if leaving is None:
            return None
        inflows = []
        for child in self.wet_above[index]:
            if child in self.pipes:
                above, from_run = self.pipes[child]
                entering = direction(above.up, above.down)
                if entering is not None:
                    inflows.append(_inflow(entering, leaving, from_run, from_run.size_in))
        turning = tuple(inflow for inflow in inflows if inflow.change)
        return (
            ChangeOfDirection(pipe.element, turning, segment.size_in, drawn=False)
            if turning
            else None
        )

    def _leaving(self, index: int) -> tuple[Direction | None, DrainSegment | None]:
        """The direction in which a fitting is left: that of the pipe it flows into."""
        below = self.drainage.down[index]
        if below in self.pipes:
            pipe, segment = self.pipes[below]
            return direction(pipe.up, pipe.down), segment
        return direction(self._middle(index), self._exit(index)), None

    def _entering(self, child: int, index: int) -> Direction | None:
        """The direction in which a fitting is entered: that of the pipe that flows into it."""
        if child in self.pipes:
            pipe, _ = self.pipes[child]
            return direction(pipe.up, pipe.down)
        if self.network.elements[child].role is not Role.FITTING:
            return None  # a fixture, trap or chamber: how its water comes is not drawn
        return direction(self._exit(child), self._middle(index))

    def _middle(self, index: int) -> Point | None:
        return self.drainage.middles[index]

    def _exit(self, index: int) -> Point | None:
        place = self.drainage.exit_place[index]
        return self.drainage.places[place] if place != NONE else None


def _inflow(
    entering: Direction, leaving: Direction, segment: DrainSegment | None, size_in: float | None
) -> Inflow:
    angle = angle_deg(entering, leaving)
    is_turn = at_least(angle, STRAIGHT_DEG, "deg")
    change = f"{_course(entering)}-to-{_course(leaving)}" if is_turn else ""
    return Inflow("" if change == "vertical-to-vertical" else change, angle, segment, size_in)


def _course(way: Direction) -> str:
    return "vertical" if counts_as_vertical(abs(rise_deg(way))) else "horizontal"
