"""The rule about plumbing in elevator shafts."""

from collections.abc import Iterable

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, not_known, violation
from ifclint.engineering.joined import NONE, by_steps
from ifclint.findings import Answer
from ifclint.ifc.elements import Element, Role, Space, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import Piece
from ifclint.plumbing.surroundings.rooms import ELEVATORS, passes, rooms_called

NOT_ENTERED = ("lobby", "lobbies", "hall", "corridor", "vestibule")  # what lies before an elevator
KEPT_OUT = frozenset(
    {System.SANITARY, System.VENT, System.STORM, System.COLD_WATER, System.HOT_WATER}
)
OF_THE_PIT = frozenset({"floor-drain", "floor-sink", "sump"})
PLACE = Fact("where {} runs", "Give the pipe a shape or two placed ports.")


@rule(
    title="Plumbing kept out of elevator shafts",
    clauses={"upc": "IBC 3002.9", "ipc": "301.6", "irc": ""},
    applies=lambda piece: _is_kept_out(piece.element),
)
def elevator_shaft(piece: Piece, context: Context) -> Answer:
    """A pipe that leaks in a hoistway wets the brakes, and nobody may go in to mend it.

    Drains, vents, storm and water pipe within a space named as an elevator, its shaft or machine
    room, or through one. Excused is what is joined, within the shaft, to the drain, sump or pump of
    its pit, and what is pumped from there. A model without such a space is excused. The IBC's
    section is from memory.
    """
    shafts = _shafts(context)
    if not shafts or piece.key in _of_the_pits(context):
        return NOT_APPLICABLE
    if len(piece.element.places) < 2:
        return not_known(PLACE, piece)
    shaft = next((s for s in shafts if _is_in(s, piece.element)), None)
    if shaft is None:
        return PASS
    run = _runs(context)[piece.key]
    if run[0] != piece.key:
        return NOT_APPLICABLE  # told with the first of its run
    more = f", with {len(run) - 1} more," if len(run) > 1 else ""
    return violation(
        message=f'{piece.label}{more} runs in "{shaft.name}".',
        remedy=f'Lead the pipe around "{shaft.name}".',
        elements=run,
    )


@derived
def _runs(context: Context) -> dict[str, tuple[str, ...]]:
    """The pipes in a shaft, each with all that it is joined to within it: GlobalIds."""
    elements, found = context.plumbing.network.elements, dict[str, tuple[str, ...]]()
    for shaft in _shafts(context):
        for index, element in enumerate(elements):
            if element.guid not in found and _is_kept_out(element) and _is_in(shaft, element):
                joined = _joined_within(shaft, [index], context)
                run = [e.guid for i, e in enumerate(elements) if i in joined and _is_kept_out(e)]
                found |= dict.fromkeys(run, tuple(run))
    return found


def _is_kept_out(element: Element) -> bool:
    return element.role is Role.PIPE and element.system in KEPT_OUT


@derived
def _shafts(context: Context) -> list[Space]:
    return rooms_called(ELEVATORS, NOT_ENTERED, context)


@derived
def _of_the_pits(context: Context) -> frozenset[str]:
    """What is joined in a shaft to the drain, sump or pump of its pit, and what the pump presses
    up from there: GlobalIds."""
    elements, found = context.plumbing.network.elements, frozenset[str]()
    drains = [i for i, e in enumerate(elements) if e.kind in OF_THE_PIT or e.role is Role.PUMP]
    for shaft in _shafts(context):
        own = {i for i in drains if _is_in(shaft, elements[i]) or elements[i].space == shaft.name}
        led = (
            d for d in context.plumbing.drainage.discharges if not own.isdisjoint((d.sump, d.pump))
        )
        pressed = {i for d in led for i in (d.pump, *d.pressed) if i != NONE}
        beside = (n for i in own | pressed for n in context.plumbing.network.neighbours(i))
        joined = _joined_within(shaft, [*own, *pressed, *beside], context) | pressed
        found |= {elements[i].guid for i in joined}
    return found


def _joined_within(shaft: Space, start: Iterable[int], context: Context) -> set[int]:
    network = context.plumbing.network

    def inside(indexes: Iterable[int]) -> list[int]:
        return [i for i in indexes if _is_in(shaft, network.elements[i])]

    return set(by_steps(inside(start), lambda index: inside(network.neighbours(index))))


def _is_in(shaft: Space, element: Element) -> bool:
    """Whether an element, or some of a pipe, lies in a shaft."""
    points = element.places
    if element.role is Role.PIPE and len(points) > 1:
        return passes(points[0], points[-1], shaft)
    return element.position is not None and shaft.holds(element.position)
