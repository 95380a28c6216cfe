"""The building drain: what leaves the building, and where it becomes the building sewer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import dist

from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.joined import NONE, onward
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.wording import of_size
from ifclint.ifc.elements import Element, Point, Role, System
from ifclint.plumbing.drainage.fixtures import Fixture
from ifclint.plumbing.drainage.outlets import Outlet
from ifclint.plumbing.drainage.piping import Piping
from ifclint.plumbing.drainage.receptors import RECEPTOR
from ifclint.plumbing.drainage.run_ends import goes_straight
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.flow.tie_ins import TIE_IN
from ifclint.plumbing.footprint import Footprint

TOLD_TO_M = 1e-5  # how well it is told where a drain leaves the building


@dataclass(eq=False)
class BuildingDrain(OfElement):
    """All drains that leave by one outlet. `path` is the main line, upstream first: from each
    element the busiest one above it."""

    piping: Piping
    outlet: Outlet
    fixtures: list[Fixture]
    path: tuple[int, ...]
    size_in: float | None  # of its last pipe

    @property
    def element(self) -> Element:
        pipes = [i for i in self.path if self.piping.is_pipe(i)]
        return self.piping.elements[pipes[-1] if pipes else self.outlet.element]

    @property
    def key(self) -> str:
        return self.piping.elements[self.outlet.element].guid

    @property
    def label(self) -> str:
        name = self.piping.elements[self.outlet.element].label
        return f'{of_size(self.size_in)}building drain to "{name}"'

    @property
    def looked_at(self) -> Point | None:
        return self.piping.middle(self.path[-1]) if self.path else None

    def crossing_m(self, footprint: Footprint) -> float | None:
        """How far above the outlet the main line leaves the building for good; None where the
        outlet is inside, or places are not known."""
        total, following = 0.0, None
        for index in reversed(self.path):
            for point in self._centreline(index):
                if following is not None:
                    total += dist(point, following)
                if footprint.holds(point):
                    if following is None or footprint.holds(following):
                        return None
                    inside = footprint.share_inside(point, following, TOLD_TO_M)
                    return total - dist(point, following) * inside
                following = point
        return None

    def lines(self, footprint: Footprint) -> list[BuildingDrain]:
        """One for each place where pipe of it, as large as it is, leaves the building, with the
        main line through there, but for what passes an interceptor outside; itself, where that is
        one place or none."""
        found, waiting = list[tuple[int, ...]](), [self.outlet.element]
        below = {self.outlet.element: NONE}
        while waiting:
            index = waiting.pop()
            if any(map(footprint.holds, self._centreline(index))):
                found.append(tuple(onward(index, below))[::-1])
                continue
            above = [i for i in self.piping.wet_above[index] if i not in below]
            below |= dict.fromkeys(above, index)
            waiting += above
        own = [path for path in found if self._is_own(path)]
        if len(found) < 2 or not own:
            return [self]
        flow = self.piping.drainage.how_many(f.index for f in self.fixtures)
        return [replace(self, path=_main_line(self.piping, path, flow)) for path in own[::-1]]

    def _is_own(self, path: Sequence[int]) -> bool:
        """Whether what is led out of the building by a path, upward from the outlet, is of the
        building drain: no waste line to an interceptor, nor a smaller branch."""
        elements = [self.piping.elements[i] for i in path]
        sizes = [e.size_in for e in elements if e.role is Role.PIPE]
        size = sizes[-1] if sizes else None  # not known, it may be the building drain
        smaller = size is not None and not at_least(size, or_zero(self.size_in), "in")
        return not smaller and all(e.role is not Role.INTERCEPTOR for e in elements)

    def above_outlet_m(self, index: int, enters: Point | None = None) -> float | None:
        """How far above the outlet the main line is entered: in a pipe at a point, in the centre of
        anything else; None where that is no element of it."""
        if index not in self.path:
            return None
        at = enters if self.piping.is_pipe(index) else self.piping.middle(index)
        leaves = self.piping.exit(index)
        total = 0.0 if at is None or leaves is None else dist(at, leaves)
        for element in self.path[self.path.index(index) + 1 :]:
            total += sum(dist(a, b) for a, b in pairwise(self._centreline(element)))
        return total

    def _centreline(self, index: int) -> list[Point]:
        """The known points that water passes in an element, downstream first."""
        middle = None if self.piping.is_pipe(index) else self.piping.middle(index)
        points = (self.piping.exit(index), middle, self._entrance(index))
        return [p for p in points if p is not None]

    def _entrance(self, index: int) -> Point | None:
        above = [i for i in self.piping.wet_above[index] if i in self._inside_way]
        if above:
            return self.piping.exit(above[0])
        down = self.piping.exit(index)
        ends = [p for p in self.piping.ends(index) if p != down]
        return max(ends, key=lambda p: p[2], default=None)

    @property
    def _inside_way(self) -> frozenset[int]:
        return frozenset(self.path)


def find_building_drains(piping: Piping, fixtures: list[Fixture]) -> list[BuildingDrain]:
    """One for every accepted outlet that fixtures drain to, receptors of indirect waste aside, and
    where new drains are joined to existing ones: they are branches of those."""
    by_outlet: dict[int, list[Fixture]] = {}
    numbers = piping.drainage.outlet
    for fixture in fixtures:
        outlet = fixture.outlet
        if outlet is None or not outlet.accepted or fixture.is_indirect:
            continue
        if outlet.kind != TIE_IN:
            by_outlet.setdefault(numbers[fixture.index], []).append(fixture)
    flow = piping.drainage.how_many([*(f.index for f in fixtures), *_pumped_in(piping, fixtures)])
    return [
        _building_drain(piping, piping.drainage.outlets[number], found, flow)
        for number, found in sorted(by_outlet.items())
    ]


def _pumped_in(piping: Piping, fixtures: list[Fixture]) -> list[int]:
    """Where what is pumped enters the drains, as often as fixtures drain to the pump."""
    entry_of = {d.sump: d.entry for d in piping.drainage.discharges if d.sump != NONE}
    lifted = (f.outlet.element for f in fixtures if f.outlet is not None)
    return [at for sump in lifted if (at := entry_of.get(sump, NONE)) != NONE]


def find_bare_sewers(piping: Piping, served: list[BuildingDrain]) -> list[BuildingDrain]:
    """One for every outlet by gravity that no fixture drawn drains to: on a drawing of the site the
    house is another sheet. The main line is the one to which most upper ends lead, then the one
    that goes straight through."""
    drainage = piping.drainage
    used = {drain.outlet.element for drain in served}
    bare = {
        number
        for number, outlet in enumerate(drainage.outlets)
        if outlet.accepted
        and outlet.certain
        and outlet.kind not in ("pumped", RECEPTOR, TIE_IN)
        and outlet.element not in used
    }
    heads = [
        i
        for i in drainage.members
        if piping.is_pipe(i) and piping.is_wet(i) and not piping.wet_above[i]
        if drainage.outlet[i] in bare and piping.elements[i].system is System.SANITARY
    ]
    flow = drainage.how_many(heads)
    found = sorted({drainage.outlet[i] for i in heads})
    return [_building_drain(piping, drainage.outlets[number], [], flow) for number in found]


def _building_drain(
    piping: Piping, outlet: Outlet, fixtures: list[Fixture], flow: list[float]
) -> BuildingDrain:
    path = _main_line(piping, (outlet.element,), flow)
    pipes = [i for i in path if piping.is_pipe(i)]
    size = piping.elements[pipes[-1]].size_in if pipes else None
    return BuildingDrain(piping, outlet, fixtures, path, size)


def _main_line(piping: Piping, lower: tuple[int, ...], flow: list[float]) -> tuple[int, ...]:
    """A line that is given from its outlet up, and on to its upper end by the busiest element
    above each; upstream first."""
    path, drainage = list(lower), piping.drainage
    while above := piping.wet_above[path[-1]]:
        here = path[-1]
        path.append(max(above, key=lambda i: (flow[i], goes_straight(drainage, i, here), -i)))
    return tuple(reversed(path))
