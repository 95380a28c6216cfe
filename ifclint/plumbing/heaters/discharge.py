"""Lines that end in the open: from a relief valve or a pan to where their water comes out."""

from dataclasses import dataclass

from ifclint.ifc.elements import Element, Location, Point, Role, System
from ifclint.network import Network
from ifclint.plumbing.flow.subject import place_of


@dataclass(eq=False)
class DischargeLine:
    """The elements of a line in order, without what it starts from."""

    start: Element
    elements: tuple[Element, ...]
    points: tuple[Point, ...]  # where it passes from one to the next, and its open end
    branches: tuple[Element, ...]  # fittings from which something else leads off
    runs_into: Element | None  # a drain, fixture or valve it is joined to at its end

    @property
    def pipes(self) -> list[Element]:
        return [e for e in self.elements if e.role is Role.PIPE]

    @property
    def end(self) -> Point | None:
        """Where its water comes out; None where that is not known, or it runs into something."""
        return self.points[-1] if self.points and self.runs_into is None else None

    @property
    def entered(self) -> Element | None:
        """Where it is joined to the drainage it runs into: the first fitting of a drain."""
        if self.runs_into is None:
            return None
        return next((e for e in self.branches if e.system is System.SANITARY), None)

    def is_alone_at(self, element: Element) -> bool:
        """Whether nothing else leads off or comes in at an element of it."""
        return element not in self.branches

    @property
    def last(self) -> Element:
        return self.elements[-1] if self.elements else self.start

    @property
    def element_ids(self) -> tuple[str, ...]:
        return tuple(e.guid for e in self.elements) or (self.start.guid,)

    @property
    def location(self) -> Location:
        return place_of(self.last, self.end or self.start.position)


def neighbours(network: Network, index: int) -> list[tuple[int, int, int]]:
    """What is joined to an element: (other, own end, other's end), by the order of joints."""
    found = []
    for other, number in network.joined[index]:
        joint = network.joints[number]
        own, theirs = (joint.a_end, joint.b_end)
        if joint.a != index:
            own, theirs = theirs, own
        found.append((other, own, theirs))
    return found


def follow(network: Network, start: int, outlets: list[tuple[int, int, int]]) -> DischargeLine:
    """The line that leaves `start` by its outlets (see `neighbours`), by its lowest path."""
    elements = network.elements
    passed: list[Element] = []
    points: list[Point] = []
    branches: list[Element] = []
    seen = {start}
    runs_into: Element | None = None
    paths = [w for w in outlets if w[0] not in seen]
    at = start
    while paths:
        if len(paths) > 1 and at != start:
            branches.append(elements[at])
        index, own, theirs = min(paths, key=lambda w: (_height(elements[at], w[1]), w[0]))
        point = elements[at].ends[own].position or elements[index].ends[theirs].position
        if point is not None:
            points.append(point)
        if _is_end(elements[index], elements[start], passed):
            runs_into = elements[index]
            break
        passed.append(elements[index])
        seen.add(index)
        entered = theirs
        at = index
        paths = [w for w in neighbours(network, index) if w[0] not in seen and w[1] != entered]
    else:
        points += _open_end(elements[at], points) if passed else []
    return DischargeLine(elements[start], tuple(passed), tuple(points), tuple(branches), runs_into)


def _height(element: Element, end: int) -> float:
    point = element.ends[end].position
    return point[2] if point is not None else 0.0


def _is_end(element: Element, start: Element, passed: list[Element]) -> bool:
    """A drain, fixture, chamber or another relief valve: the line runs into it."""
    if element.role in (Role.FIXTURE, Role.CHAMBER, Role.HEATER, Role.TANK, Role.INTERCEPTOR):
        return True
    if element.role is Role.VALVE and element.kind == "relief":
        return True
    before = passed[-1].system if passed else None
    drains = element.system is System.SANITARY and element.role is not Role.TRAP
    return drains and before not in (None, System.SANITARY) and start.role is Role.VALVE


def _open_end(element: Element, points: list[Point]) -> list[Point]:
    """The end of the last element farthest from where it is entered."""
    ends = element.places
    if not ends or not points:
        return []
    entered = points[-1]
    far = max(ends, key=lambda p: sum((a - b) ** 2 for a, b in zip(p, entered, strict=True)))
    return [far] if far != entered else []
