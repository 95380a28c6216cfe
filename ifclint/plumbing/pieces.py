"""Every element of the plumbing as a subject of its own: what is known, and what is joined."""

from collections import defaultdict
from dataclasses import dataclass

from ifclint.engineering.wording import of_size
from ifclint.ifc.elements import SPREAD, Element, Location, Note, Point, Role, System
from ifclint.network import Network
from ifclint.plumbing.drainage.gravity import Drainage
from ifclint.plumbing.flow.subject import place_of

NOT_PLUMBING = frozenset(
    {System.HEATING, System.FLUE, System.FIRE, System.NON_POTABLE, System.OTHER}
)
WET_VENT = "It is in a vent system, but fixtures drain through it; it was judged as a drain."
WET_VENT_REMEDY = "Assign it to the sanitary system, or join the fixtures to their drain."


@dataclass(eq=False)
class Piece:
    """A plumbing element. `in_drainage` where its service is known from what it is joined to."""

    element: Element
    open_ends: tuple[Point | None, ...]  # ends that nothing is joined to
    in_drainage: bool
    is_outlet: bool  # drainage leaves the model here
    notes: tuple[Note, ...]  # what reading found doubtful about it

    @property
    def key(self) -> str:
        return self.element.guid

    @property
    def label(self) -> str:
        return f'{of_size(self.element.size_in)}{self.element.role.value} "{self.element.label}"'

    @property
    def system(self) -> str:
        return self.element.system.value if self.element.system else "not known"

    @property
    def element_ids(self) -> tuple[str, ...]:
        return (self.element.guid,)

    @property
    def location(self) -> Location:
        point = next((p for p in self.open_ends if p is not None), None)
        return place_of(self.element, self.element.position or point)

    @property
    def role(self) -> Role:
        return self.element.role

    @property
    def size_in(self) -> float | None:
        return self.element.size_in

    @property
    def service(self) -> str | None:
        """The system it serves, None where nothing tells."""
        if self.element.system is not None:
            return self.element.system.value
        return "drainage" if self.in_drainage else None

    @property
    def known_kind(self) -> str | None:
        return self.element.kind or None

    @property
    def length_m(self) -> float | None:
        return self.element.length_m


def _open_ends(element: Element, joined: set[int] | None) -> tuple[Point | None, ...]:
    if joined is not None and len(joined) == len(element.ends):
        return ()
    return tuple(e.position for k, e in enumerate(element.ends) if k not in (joined or ()))


def _wet_vents(network: Network, drainage: Drainage) -> list[str]:
    """Pipes of a vent system through which fixtures drain: they are judged as drains.

    A pipe with a dry vent above it is a wet vent, and called so with reason; what was taken for a
    vent only from what it is joined to is called nothing by its author.
    """
    drained = drainage.passed_by(drainage.sources)
    vents = [i for i in drainage.members if network.elements[i].system is System.VENT]
    dry_above = drainage.passed_by(i for i in vents if not drained[i])
    wet = (network.elements[i] for i in vents if drained[i] and not dry_above[i])
    return [
        element.guid
        for element in wet
        if element.role is Role.PIPE and element.basis.get("system") != SPREAD
    ]


def find_pieces(network: Network, drainage: Drainage) -> list[Piece]:
    """All plumbing elements, in the order of the model."""
    joined: dict[int, set[int]] = defaultdict(set)
    for joint in network.joints:
        joined[joint.a].add(joint.a_end)
        joined[joint.b].add(joint.b_end)
    notes: dict[str, list[Note]] = defaultdict(list)
    for note in network.model.notes:
        if note.guid:
            notes[note.guid].append(note)
    for guid in _wet_vents(network, drainage):
        notes[guid].append(Note(WET_VENT, WET_VENT_REMEDY, guid, "system"))
    inside = set(drainage.members)
    outlets = {o.element for o in drainage.outlets if o.accepted}
    return [
        Piece(
            element,
            _open_ends(element, joined.get(index)),
            index in inside,
            index in outlets,
            tuple(notes.get(element.guid, ())),
        )
        for index, element in enumerate(network.elements)
        if element.role is not Role.OTHER and element.system not in NOT_PLUMBING
    ]
