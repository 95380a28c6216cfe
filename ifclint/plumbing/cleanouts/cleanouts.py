"""Cleanouts: what each opens, where its cable enters the drain, and in what direction."""

from dataclasses import dataclass
from itertools import pairwise, takewhile
from math import dist

from ifclint.engineering.directions import angle_deg, direction
from ifclint.engineering.joined import NONE, onward
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.ifc.elements import Element, Point, Role
from ifclint.plumbing.cleanouts.drain_lines import DrainLine, has_cover
from ifclint.plumbing.drainage.orientation import STOREY_HEIGHT_M
from ifclint.plumbing.drainage.piping import Piping
from ifclint.plumbing.drainage.services import Service
from ifclint.plumbing.flow.subject import OfElement

TWO_WAY = "two-way"
ACROSS_DEG = 60.0  # from this angle to the flow a cable can be led either path


@dataclass(eq=False)
class Cleanout(OfElement):
    """A cleanout opening. `entry` is the first wet element its cable comes to, `path` the dry
    elements on the path there, the opening first."""

    piping: Piping
    index: int
    entry: int
    path: tuple[int, ...]
    two_way: bool
    on_vent: bool  # its cable goes through a vent, and not straight down it into the drain
    to_entry_m: float = 0.0
    line: DrainLine | None = None  # the line it enters, or that its cable comes to first
    at_m: float | None = None  # how far below the upper end of that line

    @property
    def element(self) -> Element:
        return self.piping.elements[self.index]

    @property
    def system(self) -> str:
        return self.element.system.value if self.element.system else "sanitary drainage"

    @property
    def looked_at(self) -> Point | None:
        return self.point

    @property
    def point(self) -> Point | None:
        """The opening: the end of the path that is farthest from the drain."""
        if not self.path:  # an inline fitting with its opening in itself
            return self.piping.middle(self.index)
        ends = self.piping.ends(self.index)
        inner = self._next_point()
        if inner is None or not ends:
            return ends[0] if ends else self.element.position
        return max(ends, key=lambda p: dist(p, inner))

    @property
    def beside_m(self) -> float:
        """How far level its opening stands from where its cable enters the drain."""
        enters = self.enters_at
        if self.point is None or enters is None:
            return 0.0
        return dist(self.point[:2], enters[:2])

    @property
    def opening(self) -> Point | None:
        """The opening; None for an inline fitting, which does not tell where in it it opens."""
        return None if self._is_inline else self.point

    @property
    def _is_inline(self) -> bool:
        return not self.path or len(self.piping.network.neighbours(self.index)) > 1

    def _next_point(self) -> Point | None:
        following = self.path[1] if len(self.path) > 1 else self.entry
        return self.piping.middle(following)

    @property
    def inward(self) -> Point | None:
        """The direction from the opening into the pipe; None where it is not known."""
        if self._is_inline:
            return None
        return direction(self.point, self._next_point())

    @property
    def size_in(self) -> float | None:
        ends = [e.size_in for e in self.element.ends if e.size_in is not None]
        return self.element.size_in or min(ends, default=None)

    @property
    def pipe_in(self) -> float | None:
        """The size of the pipe it opens: the drain it rods, or the vent it stands on."""
        if self.on_vent:
            sizes = [self.piping.elements[i].size_in for i in self.path if self.piping.is_pipe(i)]
            return next((s for s in sizes if s is not None), None)
        index = self.piping.next_pipe(self.entry)
        return self.piping.elements[index].size_in if index != NONE else None

    @property
    def plug_size_in(self) -> float | None:
        return self.size_in

    @property
    def angle_to_flow_deg(self) -> float | None:
        """The angle between its cable, on entering the drain, and the flow; 0 is with it. Where
        no fitting is drawn the cable enters as the last pipe before the drain runs."""
        piping, middle = self.piping, self.piping.middle(self.entry)
        if not self.path:
            return None
        entering = direction(self.enters_at, middle)
        if piping.is_pipe(self.entry):
            entering = direction(piping.middle(self.path[-1]), self.enters_at) or entering
        leaving = direction(middle, piping.exit(self.entry))
        if entering is None or leaving is None:
            return None
        return angle_deg(entering, leaving)

    @property
    def enters_at(self) -> Point | None:
        """Where its cable comes into the drain; None for one that is in the drain itself."""
        return self.piping.exit(self.path[-1]) if self.path else None

    @property
    def leads_up(self) -> bool:
        """Whether its cable can be led against the flow."""
        angle = self.angle_to_flow_deg
        return (
            self.two_way
            or not self.path
            or (angle is not None and at_least(angle, ACROSS_DEG, "deg"))
        )


def find_cleanouts(piping: Piping, lines: list[DrainLine]) -> list[Cleanout]:
    """Every cleanout opening, in the order of the model.

    A fitting that has a cleanout plug of its own is counted by its plug alone.
    """
    found = []
    opened: set[int] = set()
    inline = []
    for index in piping.drainage.members:
        if piping.elements[index].role is not Role.CLEANOUT:
            continue
        if piping.is_wet(index):
            inline.append(index)
        else:
            cleanout = _opening(piping, index)
            if cleanout is not None:
                found.append(cleanout)
                opened.update((*cleanout.path[1:], cleanout.entry))
    found = [c for c in found if c.index not in opened]
    for index in inline:
        if index not in opened:
            two_way = piping.elements[index].kind == TWO_WAY
            found.append(Cleanout(piping, index, index, (), two_way, False))
    line_of = _line_of(lines)
    for cleanout in found:
        _place_on_line(cleanout, line_of)
    return sorted(found, key=lambda c: c.index)


def covers(piping: Piping) -> list[Cleanout]:
    """The interceptors, manholes and the like that water passes: one opens them to rod from."""
    held = (i for i in piping.drainage.members if has_cover(piping.elements[i]))
    return [Cleanout(piping, i, i, (), True, False) for i in held if piping.is_wet(i)]


def _opening(piping: Piping, index: int) -> Cleanout | None:
    path = [*takewhile(lambda i: not piping.is_wet(i), onward(index, piping.drainage.down))]
    at = piping.drainage.down[path[-1]] if path else index
    if at == NONE:
        return None
    kinds = {piping.elements[i].kind for i in (*path, at)}
    cleanout = Cleanout(piping, index, at, tuple(path), TWO_WAY in kinds, False)
    points = [cleanout.point, *piping.path((*path, at), cleanout.point)]
    known = [p for p in points if p is not None]
    cleanout.to_entry_m = sum(dist(a, b) for a, b in pairwise(known))
    cleanout.on_vent = not _is_straight_down(cleanout)
    return cleanout


def _is_straight_down(cleanout: Cleanout) -> bool:
    """Whether its cable meets no vent, or only pipe that a vent shares with it: vertical, within a
    storey of the drain, or the drain carried on level past its last branch.

    The nipple or extension from the opening to the first branching is its own, by any name.
    """
    piping, path = cleanout.piping, cleanout.path
    branching = next((n for n, i in enumerate(path) if len(piping.network.neighbours(i)) > 2), None)
    vent = path[branching:] if branching is not None else ()
    if not any(piping.service[i] is Service.VENT for i in vent):
        return True
    pipes = [i for i in vent if piping.is_pipe(i)]
    near = at_most(cleanout.to_entry_m, STOREY_HEIGHT_M, "m")
    carried_on = bool(pipes) and all(map(piping.is_horizontal, pipes))
    return carried_on or (near and all(map(piping.is_vertical, pipes)))


def _place_on_line(cleanout: Cleanout, line_of: dict[int, DrainLine]) -> None:
    """The line it enters; where it enters vertical pipe, the line below."""
    below = onward(cleanout.entry, cleanout.piping.drainage.down)
    index = next((i for i in below if i in line_of), None)
    if index is not None:
        cleanout.line = line_of[index]
        cleanout.at_m = cleanout.line.at_m.get(index)


def _line_of(lines: list[DrainLine]) -> dict[int, DrainLine]:
    """Elements to lines; of a fitting where lines meet, the line that goes on in it."""
    found: dict[int, DrainLine] = {}
    for line in lines:
        inner = line.indexes if line.head == NONE else line.indexes[1:]
        found.update(dict.fromkeys(inner[:-1], line))
    for line in lines:
        if line.head != NONE:
            found.setdefault(line.head, line)
    return found
