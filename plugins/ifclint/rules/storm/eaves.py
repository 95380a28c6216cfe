"""Gutters along eaves: those that run into one another, and what leads their water down."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

from ifclint.engineering.extents import holds, thickness_m
from ifclint.engineering.joined import pieces
from ifclint.ifc.elements import Role
from ifclint.packs import Context, derived
from ifclint.plumbing import Inlet

INTO_M = 0.1  # what begins so near the body of a gutter leads its water down. Ours, no source
BROAD_M = 0.5  # a broader box is that of a gutter which runs aslant, and tells no place. Ours


@dataclass(frozen=True)
class Eaves:
    """Gutters that run into one another, by their GlobalIds, and the inlets below them."""

    gutters: tuple[str, ...]
    inlets: tuple[Inlet, ...]

    def most_m2(self, told: dict[str, float]) -> float:
        """What they are told to take together; without bound where that of one is not told."""
        return sum(told.get(guid, inf) for guid in self.gutters)


@derived
def eaves(context: Context) -> list[Eaves]:
    """The gutters that something leads down from, in the order of the model."""
    storm, network = context.plumbing.storm, context.plumbing.network
    tops = [i for i in storm.inlets if i.is_open_top] if storm else []
    drawn = [i for i in network.of_kinds("gutter") if network.elements[i].role is Role.OTHER]
    beside = {g: [i for i in network.neighbours(g) if i in drawn] for g in drawn}
    under = {top: _over(top, drawn, context) for top in tops}
    for over in under.values():
        for gutter in over:
            beside[gutter] += over
    found = []
    for piece in pieces(drawn, lambda i: beside[i]):
        inlets = tuple(top for top, over in under.items() if piece.intersection(over))
        guids = tuple(dict.fromkeys(network.elements[i].guid for i in sorted(piece)))
        found.append(Eaves(guids, inlets))
    return [each for each in found if each.inlets]


def _over(top: Inlet, gutters: Sequence[int], context: Context) -> list[int]:
    """The gutters that an open top is joined to, or begins in where it is joined to none."""
    network, element = context.plumbing.network, top.element
    joined = [i for i in network.neighbours(top.index) if i in gutters]
    places = element.places
    boxes = ((i, network.elements[i].box) for i in gutters)
    narrow = [(i, box) for i, box in boxes if box is not None and thickness_m(*box) <= BROAD_M]
    return joined or [i for i, box in narrow if any(holds(*box, p, INTO_M) for p in places)]
