"""Storm drainage directed by gravity, by the engine of the drains: from its inlets to its ends."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from math import dist

from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_most
from ifclint.ifc.elements import Element, Point, Role, System
from ifclint.network import Network
from ifclint.plumbing.drainage.gravity import Drainage
from ifclint.plumbing.drainage.outlets import Outlet
from ifclint.plumbing.drainage.pressure import direct_with_pumps
from ifclint.plumbing.drainage.segments import DrainSegment, make_segments
from ifclint.plumbing.drainage.services import services
from ifclint.plumbing.floors import Floors
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.storm.members import ROOF_DRAIN, building_storm
from ifclint.plumbing.words import GROUND_WATER, says, says_text

AT_TOP_M = 0.6  # a roof drain drawn so near the open top of a pipe stands on it. Ours, no source
SECONDARY = (
    "overflow", "secondary", "emergency", "scupper*", "notablauf", "notuberlauf", "notüberlauf",
    "notentwasserung", "notentwässerung", "trop plein", "rebosadero", "noodoverstort", "noodafvoer",
)  # fmt: skip

DUAL = ("dual outlet", "combination", "with overflow", "and overflow", "two stage")


@dataclass(eq=False)
class StormDrain(DrainSegment):
    """Storm pipe between junctions, of one size and orientation. Upstream first."""

    @property
    def words(self) -> str:
        return "leader" if self.vertical else "storm drain"

    @property
    def system(self) -> str:
        return System.STORM.value


@dataclass(eq=False)
class Inlet(OfElement):
    """Where storm water enters: a roof or area drain, or the open top of a pipe (below a gutter).

    `index` is the element at which it enters the piping, -1 where no piping is joined.
    """

    element: Element
    index: int
    is_secondary: bool
    is_dual: bool = False  # a roof drain with a secondary outlet in one body
    service = System.STORM

    @property
    def is_roof_drain(self) -> bool:
        return self.element.kind == ROOF_DRAIN

    @property
    def is_open_top(self) -> bool:
        return self.element.role is not Role.FIXTURE

    @property
    def takes_ground_water(self) -> bool:
        """Whether it is the open beginning of a foundation or subsoil drain: no roof is its."""
        said = self.element.system_name
        is_of_ground = says(self.element, GROUND_WATER) or says_text(said, GROUND_WATER)
        return self.is_open_top and is_of_ground

    @property
    def size_in(self) -> float | None:
        return self.element.size_in


@dataclass(eq=False)
class StormOutlet(OfElement):
    """Where storm water leaves, and what enters above it."""

    element: Element
    outlet: Outlet
    inlets: list[Inlet]
    service = System.STORM


@dataclass(repr=False)
class Storm:
    """The storm drainage of a building, derived once."""

    network: Network
    members: list[int]
    drainage: Drainage
    inlets: list[Inlet]
    segments: list[StormDrain]
    outlets: list[StormOutlet] = field(default_factory=list)

    @cached_property
    def above(self) -> dict[int, list[Inlet]]:
        """Element -> the inlets whose water passes it."""
        found: dict[int, list[Inlet]] = defaultdict(list)
        for inlet in self.inlets:
            for index in self.route(inlet):
                found[index].append(inlet)
        return found

    def route(self, inlet: Inlet) -> list[int]:
        """The elements that the water of an inlet passes, its own first."""
        return self.drainage.path(inlet.index)[::-1] if inlet.index != NONE else []

    def through(self, segment: StormDrain) -> list[Inlet]:
        """The inlets whose water a segment carries at its lower end."""
        return self.above.get(segment.indexes[-1], [])


def find_storm(network: Network, floors: Floors) -> Storm | None:
    """The storm drainage of a network; None where it has none that is a building's."""
    members = building_storm(network)
    if not members:
        return None
    elements = network.elements
    drains = [i for i in members if elements[i].role is Role.FIXTURE]
    piped = [i for i in drains if any(_is_piping(elements[j]) for j in network.neighbours(i))]
    drainage = direct_with_pumps(network, (), floors, members, piped)
    tops = [i for i in _tops(drainage, piped) if not _is_pumped(drainage, i)]
    inlets = [*_drains(drainage, drains, piped, tops)]
    entered = {inlet.index for inlet in inlets}
    inlets += [_inlet(drainage, i, i) for i in tops if i not in entered]
    giving = {inlet.index: 1.0 for inlet in inlets if inlet.index != NONE}
    flow = drainage.accumulate(giving)
    service = services(network, drainage, giving)
    made = make_segments(network, drainage, service, make=StormDrain)
    segments = [s for s in made if isinstance(s, StormDrain) and flow[s.indexes[-1]]]
    storm = Storm(network, members, drainage, inlets, segments)
    storm.outlets = _outlets(storm)
    return storm


def _is_piping(element: Element) -> bool:
    return element.role in (Role.PIPE, Role.FITTING, Role.TRAP)


def _tops(drainage: Drainage, sources: Sequence[int]) -> list[int]:
    """Pipes and fittings that nothing flows into: open at their top."""
    return [
        i
        for i in drainage.members
        if drainage.elements[i].role in (Role.PIPE, Role.FITTING)
        and drainage.elements[i].kind != "cap"
        and not drainage.beyond[i]
        and i not in sources
    ]


def _is_pumped(drainage: Drainage, index: int) -> bool:
    """Whether water comes to an element from a pump, so that it is no inlet."""
    if index in drainage.pressed or index in drainage.entries:
        return True
    root, *path = drainage.path(index)
    beside = {j for i in path for j in (i, *drainage.network.neighbours(i)) if j != root}
    return any(drainage.elements[j].role is Role.PUMP for j in beside)


def _drains(
    drainage: Drainage, drains: Sequence[int], piped: Sequence[int], tops: Sequence[int]
) -> list[Inlet]:
    """The drains, each at its piping; one that no piping is joined to at the open top under it, if
    there is but one."""
    found = []
    for index in drains:
        at = index if index in piped else _top_under(drainage, index, tops)
        found.append(_inlet(drainage, index, at))
    return found


def _top_under(drainage: Drainage, drain: int, tops: Sequence[int]) -> int:
    here = drainage.elements[drain].position
    near = [
        i for i in tops if here is not None and at_most(_gap_m(drainage, i, here), AT_TOP_M, "m")
    ]
    return near[0] if len(near) == 1 else NONE


def _gap_m(drainage: Drainage, index: int, here: Point) -> float:
    points = (drainage.places[place] for place in drainage.ends_at[index])
    return min((dist(p, here) for p in points if p is not None), default=float("inf"))


def _inlet(drainage: Drainage, index: int, at: int) -> Inlet:
    """An inlet, secondary where it or the pipe below it is called so."""
    element = drainage.elements[index]
    below = drainage.down[at] if at != NONE else NONE
    own = [element, *(drainage.elements[i] for i in (at, below) if i != NONE)]
    said = " ".join(f"{e.called} {e.system_name}" for e in own)
    dual = says(element, DUAL)
    return Inlet(element, at, not dual and says_text(said, SECONDARY), dual)


def _outlets(storm: Storm) -> list[StormOutlet]:
    inlets: dict[int, list[Inlet]] = defaultdict(list)
    for inlet in storm.inlets:
        if inlet.index != NONE and storm.drainage.outlet[inlet.index] != NONE:
            inlets[storm.drainage.outlet[inlet.index]].append(inlet)
    outlets, elements = storm.drainage.outlets, storm.drainage.elements
    return [
        StormOutlet(elements[outlets[number].element], outlets[number], found)
        for number, found in sorted(inlets.items())
    ]
