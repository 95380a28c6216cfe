"""Fixtures as a plumber sees them: the fixture, its trap, its trap arm and where its water goes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass, field
from functools import cached_property

from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.joined import NONE, onward
from ifclint.engineering.tolerance import at_least
from ifclint.ifc.elements import Confidence, Element, Role
from ifclint.network import Network
from ifclint.plumbing.drainage.gravity import Drainage
from ifclint.plumbing.drainage.hoses import hoses
from ifclint.plumbing.drainage.orientation import STOREY_HEIGHT_M
from ifclint.plumbing.drainage.outlets import Outlet
from ifclint.plumbing.drainage.receptors import RECEPTOR
from ifclint.plumbing.drainage.segments import DrainSegment, Part
from ifclint.plumbing.drainage.services import Service
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.words import CONDENSES, says

INTEGRAL_TRAP = frozenset({"water-closet", "urinal", "clinical-sink"})
TRAP_MAY_BE_OUTSIDE = frozenset({"urinal"})  # a trap drawn at it is its one trap

CONDENSING = frozenset({"air-conditioner", "furnace", "boiler"})  # appliances, beside heaters

STRAIGHT = frozenset({"", "coupling", "reducer", "union"})  # fittings that turn nothing
MEETINGS_IN_A_ROW = 2  # after the first: four outlets on one trap; no code lets more share one


@dataclass(eq=False)
class Trap:
    """A trap and the fixtures that drain through it. `element` is None for an integral trap."""

    element: Element | None
    size_in: float | None
    integral: bool
    fixtures: list[Fixture] = field(default_factory=list)


@dataclass(eq=False)
class Fixture(OfElement):
    """A fixture (or appliance) that drains. `index` is its element in the network.

    Where the model shows a trap and nothing that drains through it, the trap stands for the fixture
    that is not drawn.
    """

    element: Element
    index: int
    connected: bool  # something of the drainage is joined to it
    path: tuple[int, ...] = ()  # elements downstream of it, to the first junction
    trap: Trap | None = None
    drain: DrainSegment | None = None  # the first segment of pipe its water enters
    outlet: Outlet | None = None
    into_pump: Element | None = (
        None  # the pump that its tailpiece leads into, without trap or basin
    )

    @property
    def is_drawn(self) -> bool:
        return self.element.role is not Role.TRAP

    @property
    def label(self) -> str:
        return self.element.label if self.is_drawn else f"what drains into {self.element.label}"

    @cached_property
    def kind(self) -> str:
        return self.element.kind.removesuffix("-appliance") if self.is_drawn else ""

    @property
    def is_indirect(self) -> bool:
        """Whether it drains into a receptor through the air, not into the drainage."""
        return self.outlet is not None and self.outlet.kind == RECEPTOR

    @property
    def gives_condensate(self) -> bool:
        """Whether it is no fixture but something that condenses: its water goes through the air."""
        return self.element.role is Role.HEATER or self.element.kind in CONDENSING

    @property
    def trap_size_in(self) -> float | None:
        return self.trap.size_in if self.trap else None

    @property
    def drain_size_in(self) -> float | None:
        return self.drain.size_in if self.drain else None

    @property
    def known_kind(self) -> str | None:
        return self.kind or None

    @property
    def drain_segment(self) -> DrainSegment | None:
        return self.drain

    def lacking(self, fact: str) -> tuple[str, ...]:
        """The elements whose missing fact makes the fixture's fact unknown."""
        if fact == "drain_size_in" and self.drain is not None:
            return (*self.drain.element_ids, *self.element_ids)
        if fact == "trap_size_in" and self.trap is not None and self.trap.element is not None:
            return (self.trap.element.guid, *self.element_ids)
        return self.element_ids


def find_fixtures(
    network: Network,
    drainage: Drainage,
    segments: list[DrainSegment],
    sources: list[int],
    other_inflows: Collection[int] = (),
) -> list[Fixture]:
    """Every draining fixture with its trap and first segment, in the order of the model.

    At `other_inflows` water enters that comes from no fixture drawn: junctions too.
    """
    segment_of = {index: segment for segment in segments for index in segment.indexes}
    above = drainage.beyond
    dry = {
        index
        for segment in segments
        if segment.service is Service.CLEANOUT
        for index in segment.indexes
    }
    fixtures = [
        Fixture(network.elements[index], index, drainage.joined[index] > 0) for index in sources
    ]
    traps: dict[int, Trap] = {}
    in_hose = hoses(network)
    other = frozenset(other_inflows)
    for fixture in fixtures:
        fixture.path = _path(network, drainage, above, dry, other, fixture.index)
        fixture.outlet = _outlet(drainage, fixture)
        fixture.trap = _trap(network, traps, fixture)
    into = Counter(fixture.outlet.element for fixture in fixtures if fixture.outlet)
    for fixture in fixtures:
        if fixture.outlet and into[fixture.outlet.element] == 1:
            fixture.into_pump = _into_pump(network, fixture, fixture.outlet.element)
    for segment in segments:  # an open tailpiece, its fixture not drawn or not joined
        above_trap = any(network.elements[i].role is Role.TRAP for i in segment.tail)
        if above_trap or in_hose.issuperset(segment.indexes):
            segment.part = Part.TAILPIECE
    vented = {i for segment in segments if segment.service is Service.VENT for i in segment.tail}
    for fixture in (f for f in fixtures if not f.is_indirect):
        _name_parts(network, segment_of, vented, fixture)
    for fixture in fixtures:
        if not fixture.is_indirect:
            fixture.drain = _first_segment(drainage, segment_of, fixture.index)
    drip = {id(f) for trap in traps.values() for f in _drip_in(trap)}
    for trap in traps.values():
        trap.fixtures = [f for f in trap.fixtures if id(f) not in drip]
    return [fixture for fixture in fixtures if id(fixture) not in drip]


def _drip_in(trap: Trap) -> list[Fixture]:
    """What condenses among the fixtures above a trap: its line ends in their tailpiece, and it is
    no fixture of that trap. Alone on a trap it is judged as one."""
    drip = [f for f in trap.fixtures if f.kind in CONDENSING or says(f.element, CONDENSES)]
    return drip if len(drip) < len(trap.fixtures) else []


def _path(
    network: Network,
    drainage: Drainage,
    above: list[list[int]],
    dry: set[int],
    other: frozenset[int],
    start: int,
) -> tuple[int, ...]:
    """The elements water passes from a fixture to the first junction, with the junction if that is
    a fitting. Pipe that others flow into is drain already.

    A meeting upstream of the trap (a disposer, a second bowl) is no junction of drains.
    """
    path: list[int] = []
    trapped = _traps_itself(network.elements[start])
    trapped = trapped or network.elements[start].role is Role.TRAP
    for index in onward(drainage.down[start], drainage.down):
        inflows = [i for i in above[index] if i not in dry and not _closes(network.elements[i])]
        meeting = len(inflows) + (index in other) > 1
        if meeting and (trapped or not _trap_follows(network, drainage, above, index)):
            if network.elements[index].role is not Role.PIPE:
                path.append(index)
            break
        path.append(index)
        trapped = trapped or network.elements[index].role is Role.TRAP
    return tuple(path)


def _first_segment(
    drainage: Drainage, segment_of: dict[int, DrainSegment], start: int
) -> DrainSegment | None:
    """The first segment past the trap."""
    below = (segment_of.get(i) for i in onward(drainage.down[start], drainage.down))
    return next((s for s in below if s is not None and s.part is not Part.TAILPIECE), None)


def _closes(element: Element) -> bool:
    return element.role is Role.CLEANOUT or element.kind == "cap"


def _trap_follows(network: Network, drainage: Drainage, above: list[list[int]], index: int) -> bool:
    """Whether a trap follows this meeting, with few others before it: of the outlets of a row of
    sinks or of one sink's compartments. A running trap is that of the building."""
    others = 0
    for following in onward(drainage.down[index], drainage.down):
        element = network.elements[following]
        if element.role is Role.TRAP:
            return element.kind != "running-trap"
        others += len(above[following]) > 1
        if others > MEETINGS_IN_A_ROW:
            return False
    return False


def _trap(network: Network, traps: dict[int, Trap], fixture: Fixture) -> Trap | None:
    """The first trap on the path, or the one inside the fixture."""
    path = fixture.path if fixture.is_drawn else (fixture.index,)
    index = next((i for i in path if network.elements[i].role is Role.TRAP), None)
    if _traps_itself(fixture.element) and not (
        index is not None and _is_its_own(fixture, network.elements[index])
    ):
        return Trap(None, fixture.element.size_in, True, [fixture])
    if index is None:
        return None
    element = network.elements[index]
    trap = traps.setdefault(index, Trap(element, element.size_in, False))
    trap.fixtures.append(fixture)
    return trap


def _into_pump(network: Network, fixture: Fixture, last: int) -> Element | None:
    """The pump without a basin, and of no kind that stands in one, to which the pipe of a fixture
    leads without a trap: the pump below a laundry tray."""
    pump = network.elements[last]
    below = fixture.path[-1:] == (last,) or not fixture.path
    is_lone = pump.role is Role.PUMP and pump.kind in ("", "pump")
    return pump if below and is_lone and fixture.trap is None else None


def _traps_itself(element: Element) -> bool:
    """Whether a fixture has its trap inside, by its kind or as the model tells."""
    return element.kind in INTEGRAL_TRAP or element.properties.flag("integral_trap") is True


def _is_its_own(fixture: Fixture, trap: Element) -> bool:
    """Whether a trap drawn below a fixture that is said to have one, or mostly has one inside, is
    that trap."""
    if trap.kind == "running-trap":
        return False
    if fixture.kind not in INTEGRAL_TRAP:
        return True  # it is sold with its trap, and the trap is drawn
    told = fixture.element.basis.get("integral_trap")
    by_words = told is not None and told.confidence is not Confidence.STATED
    inside = fixture.element.properties.flag("integral_trap") is True and not by_words
    return fixture.kind in TRAP_MAY_BE_OUTSIDE and not inside


def _outlet(drainage: Drainage, fixture: Fixture) -> Outlet | None:
    number = drainage.outlet[fixture.index]
    return drainage.outlets[number] if number != NONE and fixture.connected else None


def _name_parts(
    network: Network, segment_of: dict[int, DrainSegment], vented: set[int], fixture: Fixture
) -> None:
    """Pipe above the trap is tailpiece, and so is what falls from a fixture whose trap is not drawn
    to the first turn; horizontal pipe between the trap and the first junction or vertical pipe is
    trap arm.

    The drain of a fixture with its own trap may fall first; at the foot of a stack the arm is over.
    """
    untrapped = fixture.trap is None and fixture.into_pump is None
    past_trap = untrapped or bool(fixture.trap and fixture.trap.integral) or not fixture.is_drawn
    in_arm, fallen_m = False, 0.0
    falling, turned = list[DrainSegment](), False  # before the arm, and before any turn
    for index in fixture.path:
        if network.elements[index].role is Role.TRAP:
            past_trap = True
        elif network.elements[index].role is Role.FITTING:
            turned = turned or network.elements[index].kind not in STRAIGHT
        segment = segment_of.get(index)
        if segment is None:
            continue
        if not past_trap:
            segment.part = Part.TAILPIECE
        elif segment.part is Part.TAILPIECE:
            continue
        elif not segment.vertical:
            segment.part, in_arm = Part.TRAP_ARM, True
            segment.is_vented_arm = fixture.path[-1] in vented
        elif in_arm:
            break
        else:
            fallen_m += or_zero(network.elements[index].length_m)
            if at_least(fallen_m, STOREY_HEIGHT_M, "m"):
                break
            falling += [] if turned else [segment]
    if in_arm and untrapped and fixture.is_drawn:
        for segment in falling:
            segment.part = Part.TAILPIECE
