"""Lines of clear water, which end in the open (condensate, relief, pans), where they are joined to
a drain or a vent."""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from itertools import takewhile

from ifclint.engineering.joined import NONE, by_steps, onward
from ifclint.ifc.elements import DRAINAGE, Element, Role, System
from ifclint.plumbing.context import Context, derived
from ifclint.plumbing.drainage.fixtures import Trap
from ifclint.plumbing.drainage.receptors import RECEPTOR
from ifclint.plumbing.flow.subject import OfElement

BACKFLOW = "backflow-preventer"
OPEN = frozenset({"open end", "low point", "exit fitting"})  # kinds of outlets in the air
STRAIGHT_ON = 2  # neighbours of what a line passes without a branch
RUNNING = "running-trap"  # the building's


class ClearWater(StrEnum):
    """What a line brings."""

    CONDENSATE = "condensate"
    RELIEF = "discharge"
    PAN = "water"


_OF_SYSTEM = {System.CONDENSATE: ClearWater.CONDENSATE, System.RELIEF: ClearWater.RELIEF}
_ENTERED = frozenset({Role.PIPE, Role.FITTING, Role.TRAP, Role.CLEANOUT, Role.INTERCEPTOR})
_PIPING = frozenset({Role.PIPE, Role.FITTING})


@dataclass(eq=False)
class JoinedLine(OfElement):
    """A line of clear water that is joined to the drainage, by what gives the water: where that is
    not drawn, by the element of the line that is joined."""

    element: Element
    brings: ClearWater
    entry: Element  # the first of the drainage
    own: tuple[int, ...]  # of the drainage, what nothing else drains through
    into: Element  # what it shares with others, or the vent it enters
    trap: Trap | None  # the trap it comes to before it meets what has passed one
    begins_at: str = ""  # the name of what it begins at and that is not understood

    @property
    def label(self) -> str:
        return f'"{self.begins_at}"' if self.begins_at else self.element.label

    @property
    def may_be_joined(self) -> bool:
        """Whether it enters before the trap of a fixture: condensate may, into its tailpiece. A
        trap through which nothing drawn drains stands for one that is not drawn."""
        others = (
            [f for f in self.trap.fixtures if f.element is not self.element] if self.trap else []
        )
        return self.brings is ClearWater.CONDENSATE and bool(others)


@derived
def joined_lines(context: Context) -> list[JoinedLine]:
    """Each by the place where it enters the drainage: what several give in one line is one."""
    network, entries = context.plumbing.network, dict[int, tuple[int, ClearWater]]()
    for index, element in enumerate(network.elements):
        brings = _brings(element, context)
        if brings is None:
            continue
        for other in network.neighbours(index):
            if _is_entered(other, context):
                entries.setdefault(other, (index, brings))
    made = (_joined(entry, last, of, context) for entry, (last, of) in sorted(entries.items()))
    return _one_each(line for line in made if line is not None)


@derived
def tied_sources(context: Context) -> frozenset[str]:
    """What gives clear water to the drainage by a line that is to end elsewhere, by GlobalId."""
    wrong = (line for line in joined_lines(context) if not line.may_be_joined)
    return frozenset(line.element.guid for line in wrong)


@derived
def tied_drains(context: Context) -> frozenset[int]:
    """What of the drainage nothing but such a line drains through."""
    wrong = (line for line in joined_lines(context) if not line.may_be_joined)
    return frozenset(index for line in wrong for index in line.own)


def _brings(element: Element, context: Context) -> ClearWater | None:
    """What comes out of an element, where that is clear water."""
    if element.role is Role.FIXTURE:
        return ClearWater.PAN if element.kind == "pan-drain" else None
    if element.role is Role.VALVE and element.kind == "relief":
        return ClearWater.RELIEF
    if element.role in (Role.APPLIANCE, Role.HEATER):
        return ClearWater.CONDENSATE if element.guid in _condensing(context) else None
    return _OF_SYSTEM.get(element.system) if element.system is not None else None


@derived
def _condensing(context: Context) -> frozenset[str]:
    return frozenset(source.element.guid for source in context.plumbing.heaters.condensing)


def _is_entered(index: int, context: Context) -> bool:
    """Whether an element is drain or vent from which water comes to an outlet, through no air."""
    element, drainage = context.plumbing.network.elements[index], context.plumbing.drainage
    if element.system not in DRAINAGE or element.role not in _ENTERED or element.kind == "cap":
        return False
    outlet = drainage.outlet_of(index) if index in _members(context) else None
    return outlet is not None and outlet.accepted and outlet.kind != RECEPTOR


@derived
def _members(context: Context) -> frozenset[int]:
    return frozenset(context.plumbing.drainage.members)


def _joined(entry: int, last: int, brings: ClearWater, context: Context) -> JoinedLine | None:
    """None where it leads by itself to an end in the open, whatever its system."""
    drainage, network = context.plumbing.drainage, context.plumbing.network
    elements = network.elements
    given, begins_at = _giver(last, context)
    path = [*onward(entry, drainage.down)]
    shared = _shared(context)
    own = [*takewhile(lambda i: not shared[i] and elements[i].system is not System.VENT, path)]
    ends_in_air = drainage.outlets[drainage.outlet[entry]].kind in OPEN and len(own) == len(path)
    if ends_in_air and all(len(network.neighbours(i)) <= STRAIGHT_ON for i in own):
        return None
    into = elements[path[min(len(own), len(path) - 1)]]
    trap = _trap_on(path, context)
    return JoinedLine(given, brings, elements[entry], tuple(own), into, trap, begins_at)


def _trap_on(path: list[int], context: Context) -> Trap | None:
    """The trap that water comes to on its way before it meets what has passed one."""
    elements, trapped = context.plumbing.network.elements, _past_traps(context)
    for index in takewhile(lambda i: not trapped[i], path):
        element = elements[index]
        if element.role is Role.TRAP and element.kind != RUNNING:
            return _traps(context).get(element.guid)
    return None


def _giver(last: int, context: Context) -> tuple[Element, str]:
    """What gives the water of a line, from its last element: the nearest thing that is no piping,
    else the name of what is not understood at its beginning."""
    network = context.plumbing.network
    elsewhere = network.model.leads_elsewhere
    for index in by_steps([last], lambda i: _of_line(i, context)):
        element = network.elements[index]
        if element.role not in _PIPING:
            return element, ""
        if name := elsewhere.get(element.guid, ""):
            return element, name
    return network.elements[last], ""


def _of_line(index: int, context: Context) -> Iterator[int]:
    """What is joined to an element of a line and of it too."""
    network = context.plumbing.network
    is_piping = network.elements[index].role in _PIPING
    for other in network.neighbours(index) if is_piping else ():
        element = network.elements[other]
        if _brings(element, context) or (element.kind == BACKFLOW and element.role is Role.VALVE):
            yield other


@derived
def _shared(context: Context) -> list[bool]:
    """Of each element, whether anything but clear water drains through it."""
    fixtures = context.plumbing.fixtures
    others = (f for f in fixtures if f.is_drawn and f.element.guid not in _condensing(context))
    return context.plumbing.drainage.passed_by(f.index for f in others)


@derived
def _past_traps(context: Context) -> list[bool]:
    """Of each element, whether what has passed a fixture's trap passes it."""
    drainage = context.plumbing.drainage
    starts = {arm.start for arm in context.plumbing.venting.arms}
    return drainage.passed_by(drainage.down[start] for start in starts if start != NONE)


@derived
def _traps(context: Context) -> dict[str, Trap]:
    traps = (f.trap for f in context.plumbing.fixtures if f.trap is not None)
    return {t.element.guid: t for t in traps if t.element is not None}


def _one_each(lines: Iterator[JoinedLine]) -> list[JoinedLine]:
    """Of the lines of one thing the first."""
    return list({line.key: line for line in reversed(list(lines))}.values())[::-1]
