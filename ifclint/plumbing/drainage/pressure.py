"""What pumps press up: from each pump in the drainage to the drain that takes what it lifts.

Such pipe runs full, uphill and level; nothing that is asked of a drain is asked of it.
"""

from collections.abc import Collection, Iterable, Iterator, Sequence
from itertools import pairwise
from math import dist

from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.extents import apart_m, covers
from ifclint.engineering.joined import NONE, by_length, by_steps
from ifclint.engineering.tolerance import at_most, lies_above
from ifclint.ifc.elements import Element, Point, Role, System
from ifclint.network import Network
from ifclint.plumbing.drainage.gravity import Discharge, Drainage, direct
from ifclint.plumbing.drainage.outlets import GRAVITY_CLIMB_M, is_sump
from ifclint.plumbing.floors import Floors
from ifclint.plumbing.words import says

AT_SUMP_M = 1.0  # a pump so near a sump's place is the sump's. Ours, no source
STUB_M = 1.0  # a shorter branch (a cleanout, a gauge, a drain cock) makes no drain. Ours, no source
NO_LENGTH_M = 0.01  # the length of what has none
CARRIES = frozenset({Role.PIPE, Role.FITTING, Role.VALVE, Role.CLEANOUT})
GIVES = frozenset({Role.FIXTURE, Role.APPLIANCE, Role.HEATER, Role.TRAP})
TAKES = frozenset({Role.FIXTURE, Role.TRAP, Role.APPLIANCE, Role.CHAMBER, Role.INTERCEPTOR})
MACERATING = ("macerat*", "upflush", "up flush", "sanibroyeur", "broyeur", "hebeanlage")


def direct_with_pumps(
    network: Network,
    job_outlets: Sequence[str] = (),
    floors: Floors | None = None,
    members: Sequence[int] | None = None,
    giving: Sequence[int] | None = None,
) -> Drainage:
    """The drainage directed to its outlets (see `direct`), by gravity but for what pumps press."""
    drainage = direct(network, job_outlets, floors, members, giving)
    found = find_discharges(drainage)
    if not found:
        return drainage
    return direct(network, job_outlets, floors, members, giving, found)


def find_discharges(drainage: Drainage) -> list[Discharge]:
    """The discharge of every pump, of a sump whose pumps are not drawn, and of a fixture that
    macerates and pumps its waste."""
    pumps, sumps, lifting = lifting_in(drainage)
    if not pumps and not sumps and not lifting:
        return []
    search = _Search(drainage, {*pumps, *sumps})
    found = [search.discharge(i, search.sump_of(i, sumps), floods=True) for i in pumps]
    emptied = {d.sump for d in found if d is not None}
    found += [search.discharge(i, i, floods=False) for i in sumps if i not in emptied]
    found += [search.discharge(i, NONE, floods=False) for i in lifting]
    return [d for d in found if d is not None]


def lifting_in(drainage: Drainage) -> tuple[list[int], list[int], list[int]]:
    """The pumps, the sumps, and the fixtures that macerate and pump their waste."""
    network, members = drainage.network, set(drainage.members)
    pumps = [i for i in network.of_roles(Role.PUMP) if i in members]
    chambers = (i for i in network.of_roles(Role.CHAMBER) if i in members)
    sumps = [i for i in chambers if is_sump(drainage.elements[i])]
    return pumps, sumps, [i for i in drainage.sources if says(drainage.elements[i], MACERATING)]


def stands_in(pump: Element, sump: Element) -> bool:
    """Whether something stands in the box of a sump or, where it has none, near its place."""
    if pump.position is None:
        return False
    if sump.box is not None:
        return covers(*sump.box, pump.position)
    return sump.position is not None and at_most(dist(pump.position, sump.position), AT_SUMP_M, "m")


class _Search:
    """The search for discharges in a drainage that was directed by gravity alone."""

    def __init__(self, drainage: Drainage, lifting: set[int]) -> None:
        self.drainage, self.network, self.elements = drainage, drainage.network, drainage.elements
        self.lifting = lifting  # pumps and sumps
        into = [i for i in drainage.sources if self._is_lifted(i)]
        self.wet = drainage.passed_by(i for i in drainage.sources if i not in into)
        self.fed = drainage.passed_by(into)
        self.inside = frozenset(drainage.members)
        sumps = (i for i in lifting if is_sump(self.elements[i]))
        self.at_sumps = {place for i in sumps for place in drainage.ends_at[i]}
        self.ends = {o.element for o in drainage.outlets if o.accepted and o.kind != "pumped"}

    def _is_lifted(self, index: int) -> bool:
        outlet = self.drainage.outlet_of(index)
        return outlet is not None and outlet.kind == "pumped"

    def sump_of(self, pump: int, sumps: Collection[int]) -> int:
        """The sump that a pump empties: what it draws from, else what it stands in or beside;
        itself, where that is none."""
        outlet = self.drainage.outlet_of(pump)
        if outlet is not None and outlet.element in sumps:
            return outlet.element
        if self.fed[pump]:
            return pump
        inside = (s for s in sumps if stands_in(self.elements[pump], self.elements[s]))
        return next(inside, self._beside(pump, sumps))

    def _beside(self, pump: int, sumps: Collection[int]) -> int:
        """The nearest sump that a pump stands beside; itself, where it stands beside none."""
        box = self.elements[pump].box
        near = [
            (gap, s)
            for s in sumps
            if box is not None and (other := self.elements[s].box) is not None
            if at_most(gap := apart_m(box, other), AT_SUMP_M, "m")
        ]
        return min(near, default=(0.0, pump))[1]

    def discharge(self, start: int, sump: int, floods: bool) -> Discharge | None:
        """The pipe from a pump, sump or fixture to the drain that takes it. Where it leads to none
        that is drawn, all that is joined to a pump."""
        route = self._route(start)
        if not route:
            path = self._all_joined(start) if floods else []
            return Discharge(start, sump, tuple(path)) if path else None
        count = self._until_drain(route)
        entry = route[count] if count < len(route) else NONE
        path = route[1:count]
        if not any(self.elements[i].role is Role.PIPE for i in path):
            return None
        stubs = self._reached(path, {start, *route}) if floods else []
        return Discharge(start, sump, tuple(path), tuple(stubs), entry)

    def _onward(self, index: int) -> Iterator[int]:
        """What a pumped discharge may lead to from an element: no vent, no fixture, no other pump,
        and nothing through which water comes to a sump."""
        for other in self.network.neighbours(index):
            element = self.elements[other]
            is_open = other in self.inside and other not in self.lifting and not self.fed[other]
            is_wet = element.system is not System.VENT and element.role not in GIVES
            begins = index in self.lifting
            if is_open and is_wet and (begins or not self._meet_in_sump(index, other)):
                yield other

    def _meet_in_sump(self, index: int, other: int) -> bool:
        """Whether two elements meet where a sump begins, and nowhere else."""
        ends = self.drainage.ends_at
        return set(ends[index]) & set(ends[other]) <= self.at_sumps

    def _leaves(self, start: int) -> Iterator[int]:
        """What is joined to the side of a pump that gives."""
        into = set()
        for other, number in self.network.joined[start]:
            joint = self.network.joints[number]
            end = joint.a_end if joint.a == start else joint.b_end
            ends = self.elements[start].ends
            if end < len(ends) and ends[end].flow == "in":
                into.add(other)
        return (i for i in self._onward(start) if i not in into)

    def _route(self, start: int) -> list[int]:
        """The shortest path from a pump to a drain that takes fixtures, or to where drainage
        ends."""

        def beside(index: int) -> Iterable[tuple[int, float]]:
            stops = index != start and (self.wet[index] or index in self.ends)
            following = () if stops else self._leaves(start) if index == start else None
            for other in self._onward(index) if following is None else following:
                yield other, or_zero(self.elements[other].length_m) + NO_LENGTH_M

        came: dict[int, int] = {}
        for _, index, before in by_length([(0.0, start)], beside):
            came[index] = before
            if index != start and (self.wet[index] or index in self.ends):
                return [*_back(index, came)][::-1]
        return []

    def _all_joined(self, start: int) -> list[int]:
        found = by_steps(self._leaves(start), self._onward)
        return [i for i in found if self.elements[i].role in CARRIES]

    def _reached(self, path: Iterable[int], stops: set[int]) -> list[int]:
        """What hangs on a discharge, itself left out."""

        def beside(index: int) -> list[int]:
            onward = self._onward(index)
            return [i for i in onward if i not in stops and not self.wet[i]]

        starts = dict.fromkeys(j for i in path for j in beside(i))
        return [*by_steps(starts, beside)]

    def _until_drain(self, route: Sequence[int]) -> int:
        """How many of a route are before the drain that takes the discharge: the first that other
        water comes to or, past the last climb, that is larger or takes another drain."""
        climbs = self._climbs_after(route)
        sizes = [self._size(i) for i in route]
        own = 0.0  # the size of the discharge, as far as it has been followed
        for at in range(1, len(route)):
            index = route[at]
            if self.wet[index] or self.elements[index].role not in CARRIES:
                return at
            if climbs[at] <= GRAVITY_CLIMB_M and own:
                following = next((s for s in sizes[at:] if s), 0.0)
                is_next = at + 1 < len(route) or self.elements[index].role is Role.PIPE
                if is_next and lies_above(following, own):
                    return at
                if self._takes_drain(route, at, own):
                    return at
            own = sizes[at] or own
        return len(route)

    def _size(self, index: int) -> float:
        """The size of a pipe; 0 of all else, and where it is not known."""
        element = self.elements[index]
        return or_zero(element.size_in) if element.role is Role.PIPE else 0.0

    def _takes_drain(self, route: Sequence[int], at: int, own: float) -> bool:
        """Whether at a place of a route a drain comes in: another discharge is none, nor a stub."""
        stops = {*route}
        branches = [i for i in self._onward(route[at]) if i not in stops]
        for branch in branches:
            piece = [branch, *self._reached([branch], {*stops, branch})]
            if any(j in self.lifting for i in piece for j in self.network.neighbours(i)):
                continue
            elements = [self.elements[i] for i in piece]
            length = sum(or_zero(e.length_m) for e in elements if e.role is Role.PIPE)
            larger = any(lies_above(self._size(i), own) for i in piece)
            if larger or length > STUB_M or any(e.role in TAKES for e in elements):
                return True
        return False

    def _climbs_after(self, route: Sequence[int]) -> list[float]:
        """How much each of a route and what follows climbs in all, from its middle on."""
        climbs, climb = [0.0] * len(route), 0.0
        for at in range(len(route) - 2, -1, -1):
            heights = self._heights(route[at], route[at + 1])
            climb += sum(max(b - a, 0.0) for a, b in pairwise(heights))
            climbs[at] = climb
        return climbs

    def _heights(self, index: int, following: int) -> list[float]:
        """How high the middle of an element, its joint with the next, and the middle of that."""
        shared = set(self.drainage.ends_at[index]) & set(self.drainage.ends_at[following])
        places: list[Point | None] = [self.drainage.places[p] for p in sorted(shared)[:1]]
        points = [self.drainage.middles[index], *places, self.drainage.middles[following]]
        return [p[2] for p in points if p is not None]


def _back(index: int, came: dict[int, int]) -> Iterator[int]:
    while index != NONE:
        yield index
        index = came[index]
