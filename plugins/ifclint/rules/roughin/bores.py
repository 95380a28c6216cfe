"""Where pipes pass studs and joists: how deep, how wide, how near to an edge."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.extents import thin_axis
from ifclint.ifc.elements import Element, Location, Point, Surface
from ifclint.packs import Context, derived
from ifclint.plumbing.flow.subject import OfElement, place_of
from ifclint.rules.roughin.pipes import Straight, straights

CELL_M = 2.0
SKIN_M = 0.006  # a pipe drawn no deeper in an edge than this lies at it, not in it; no source


@dataclass(eq=False)
class Bore(OfElement):
    """Where a pipe passes through a stud or joist: `depth_m` is the depth of the member, `low_m`
    and `high_m` the wood left on both sides of the pipe, below 0 where it cuts an edge."""

    element: Element
    pipe: Straight
    member: Surface
    point: Point
    depth_m: float
    hole_m: float | None
    low_m: float
    high_m: float
    service = None

    @property
    def key(self) -> str:
        return f"{self.element.key} {self.member.guid}"

    @property
    def element_ids(self) -> tuple[str, ...]:
        return (self.element.guid, self.member.guid)

    @property
    def location(self) -> Location:
        return place_of(self.element, self.point)

    @property
    def left_m(self) -> float:
        """Wood left at the nearer edge, below 0 where that is cut."""
        return min(self.low_m, self.high_m)

    @property
    def is_notch(self) -> bool:
        return self.left_m < 0

    @property
    def cut_m(self) -> float:
        """How deep a notch is cut, from the edge of the member."""
        return self.depth_m - max(self.low_m, self.high_m)

    @property
    def where(self) -> str:
        return f'{self.member.kind} "{self.member.name}"'


@derived
def bores(context: Context) -> list[Bore]:
    """Every place where a pipe passes through the web of a stud or joist, along its thickness."""
    members = context.plumbing.surroundings.of_kind("stud", "joist")
    grid: dict[tuple[int, int, int], list[Surface]] = {}
    for member in members:
        for cell in _cells(member.low, member.high):
            grid.setdefault(cell, []).append(member)
    found = []
    for pipe in straights(context) if grid else ():
        radius = or_zero(pipe.outside_m) / 2  # it reaches into members beside its axis
        low = tuple(min(p, q) - radius for p, q in zip(pipe.a, pipe.b, strict=True))
        high = tuple(max(p, q) + radius for p, q in zip(pipe.a, pipe.b, strict=True))
        near = {m.guid: m for cell in _cells(low, high) for m in grid.get(cell, ())}
        for member in near.values():
            bore = _bore(pipe, member)
            if bore is not None:
                found.append(bore)
    return found


def _cells(low: tuple[float, ...], high: tuple[float, ...]) -> Iterator[tuple[int, int, int]]:
    spans = ((a // CELL_M, b // CELL_M) for a, b in zip(low, high, strict=True))
    yield from product(*(range(int(first), int(last) + 1) for first, last in spans))


def _bore(pipe: Straight, member: Surface) -> Bore | None:
    """The hole of a pipe that passes all through the thickness of a member."""
    thin = thin_axis(member.low, member.high)
    along, depth = (2, 1 - thin) if member.kind == "stud" else (1 - thin, 2)
    if pipe.axis != thin:
        return None
    first, last = sorted((pipe.a[thin], pipe.b[thin]))
    if first > member.low[thin] or last < member.high[thin]:
        return None
    point = pipe.at(thin, (member.low[thin] + member.high[thin]) / 2)
    radius = or_zero(pipe.outside_m) / 2
    low_m = point[depth] - radius - member.low[depth]
    high_m = member.high[depth] - point[depth] - radius
    passes = member.low[along] < point[along] < member.high[along]
    if not passes or min(low_m, high_m) <= SKIN_M - 2 * radius:
        return None
    deep = member.high[depth] - member.low[depth]
    return Bore(pipe.element, pipe, member, point, deep, pipe.outside_m, low_m, high_m)
