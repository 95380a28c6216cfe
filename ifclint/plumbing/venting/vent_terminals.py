"""Where vents end: terminals through the roof, and valves that admit air."""

from collections.abc import Callable
from dataclasses import dataclass

from ifclint.ifc.elements import Element, Point, Role, System
from ifclint.plumbing.drainage.piping import Piping
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.venting.vents import ADMITTANCE, VentTree


@dataclass(eq=False)
class VentTerminal(OfElement):
    """Where a vent ends: through the roof, or in an air admittance valve."""

    service = System.VENT

    element: Element
    index: int
    tree: VentTree | None
    pipe_in: float | None  # the size of the vent that reaches it

    @property
    def looked_at(self) -> Point | None:
        return self.point

    @property
    def point(self) -> Point | None:
        ends = self.element.places
        return max(ends, key=lambda p: p[2], default=self.element.position)

    @property
    def top(self) -> Point | None:
        """Its opening: the top of its shape where the model has one."""
        point = self.point
        if point is None or self.element.box is None:
            return point
        return (point[0], point[1], max(point[2], self.element.box[1][2]))

    @property
    def admits_only(self) -> bool:
        return self.element.kind == ADMITTANCE

    @property
    def vent_size_in(self) -> float | None:
        return self.element.size_in or self.pipe_in


def find_terminals(
    piping: Piping, trees: list[VentTree], is_above_roof: Callable[[Point], bool]
) -> list[VentTerminal]:
    """Every vent terminal of the drainage, and every pipe of a vent that ends open above the
    roof."""
    tree_of = {i: tree for tree in trees for i in tree.terminals}
    found = []
    for index in piping.drainage.members:
        element = piping.elements[index]
        if element.role is not Role.VENT_TERMINAL:
            continue
        beside = [
            other
            for place in piping.drainage.ends_at[index]
            for other in piping.at_place[place]
            if other != index
        ]
        sizes = [s for i in beside if (s := piping.elements[i].size_in) is not None]
        found.append(VentTerminal(element, index, tree_of.get(index), min(sizes, default=None)))
    open_pipes = (
        (index, tree)
        for tree in trees
        for index, point in tree.open_ends
        if tree.is_vent and piping.is_pipe(index) and is_above_roof(point)
    )
    for index, tree in open_pipes:
        pipe = piping.elements[index]
        found.append(VentTerminal(pipe, index, tree, pipe.size_in))
    return found
