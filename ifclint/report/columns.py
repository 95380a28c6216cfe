"""The columns of a riser diagram: what stands on one plumb line, the tree they form from the outlet
upstream, and where each is placed."""

import heapq
import itertools
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from math import dist, floor, hypot, inf

from ifclint.drawings import Riser, RiserLine
from ifclint.engineering.arithmetic import largest
from ifclint.engineering.near import NearPlaces
from ifclint.ifc.elements import Point
from ifclint.report.sheet import Pixel

SAME_M = 0.02  # points this near are one
FITTING_M = 0.25  # between the ends of pipes that a fitting joins
COLUMN_M = 0.2  # a run this short is drawn as plumb
STOREY_M = 3.0  # of a storey of which the next is not known
ROW = 0.1  # of a band: as near as this two level pipes would touch
REACH_M = 1.5  # a mark belongs to the nearest point of a pipe within this
COST = {"drain": 1.0, "cleanout": 5.0, "unreached": 5.0, "stub": 20.0}  # vents come last
VENT_COST = 100.0


@dataclass
class _Shape:
    """What a column and all left of it take: for each row the leftmost and rightmost unit."""

    left: dict[int, float] = field(default_factory=dict)
    right: dict[int, float] = field(default_factory=dict)

    def take(self, row: int, low: float, high: float) -> None:
        self.left[row] = min(low, self.left.get(row, inf))
        self.right[row] = max(high, self.right.get(row, -inf))


class ColumnTree:
    """Points, columns and where they are placed: x in units, y in bands."""

    def __init__(self, riser: Riser, lines: Sequence[RiserLine]) -> None:
        self.levels = sorted(riser.levels, key=lambda level: level[1])
        self.points: list[Point] = []
        self._at: dict[tuple[int, ...], int] = {}
        self.paths = [[self._point(p) for p in line.points] for line in lines]
        self._close_gaps()
        self.used = sorted({n for path in self.paths for n in path})
        self.column = list(range(len(self.points)))
        links: list[tuple[int, int, float]] = []
        for line, path in zip(lines, self.paths, strict=True):
            cost = COST.get(line.service, VENT_COST)
            for a, b in itertools.pairwise(path):
                run, rise = self._run_and_rise(a, b)
                if run <= COLUMN_M or rise > run:
                    self._join(a, b)
                else:
                    links.append((a, b, cost))
        self.column = [self._root(n) for n in range(len(self.points))]
        self.y = [self._height(p[2]) for p in self.points]
        self.x: dict[int, float] = {}  # by column
        self.parent: dict[int, tuple[int, int]] = {}  # column -> its point, the parent's point
        self.order: list[int] = []  # columns, from the outlets upstream
        self._span(links, self._outlets(riser))

    def _point(self, point: Point) -> int:
        key = tuple(round(c / SAME_M) for c in point)
        if key not in self._at:
            self._at[key] = len(self.points)
            self.points.append(point)
        return self._at[key]

    def _close_gaps(self) -> None:
        """Ends that stand apart by a fitting are one point with what they face."""
        if len(self.points) < 2:
            return
        ends = Counter(n for path in self.paths for n in path)
        loose = {path[k]: path for path in self.paths for k in (0, -1) if ends[path[k]] == 1}
        places = NearPlaces(self.points)
        same: dict[int, int] = {}
        for n, own in sorted(loose.items()):
            for m in places.around(self.points[n], FITTING_M)[0]:
                if m not in own and same.get(m, m) != n:
                    same[n] = same.get(m, m)
                    break
        self.paths = [[same.get(n, n) for n in path] for path in self.paths]

    def _run_and_rise(self, a: int, b: int) -> tuple[float, float]:
        (x1, y1, z1), (x2, y2, z2) = self.points[a], self.points[b]
        return hypot(x1 - x2, y1 - y2), abs(z1 - z2)

    def _root(self, n: int) -> int:
        while self.column[n] != n:
            self.column[n] = self.column[self.column[n]]
            n = self.column[n]
        return n

    def _join(self, a: int, b: int) -> None:
        self.column[self._root(a)] = self._root(b)

    def _height(self, z: float) -> float:
        """In bands above the lowest storey's level: every storey takes one."""
        levels = [elevation for _, elevation in self.levels] or [0.0]
        if z < levels[0]:
            return max((z - levels[0]) / STOREY_M * 1.4, -0.8)
        for number, low in enumerate(levels):
            high = levels[number + 1] if number + 1 < len(levels) else low + STOREY_M
            if z < high or number + 1 == len(levels):
                return number + min((z - low) / max(high - low, 0.5), 1.3)
        return 0.0

    def nearest(self, point: Point) -> int | None:
        """The point of a pipe that a mark belongs to."""
        near = self._places.around(point, REACH_M)[0]
        return min(
            (self.used[k] for k in near), key=lambda n: dist(point, self.points[n]), default=None
        )

    @cached_property
    def _places(self) -> NearPlaces:
        return NearPlaces([self.points[n] for n in self.used])

    def _outlets(self, riser: Riser) -> list[int]:
        marks = (
            self.nearest(mark.point) for mark in riser.marks if mark.kind in ("outlet", "stop")
        )
        return [n for n in marks if n is not None]

    def _span(self, links: Iterable[tuple[int, int, float]], outlets: Sequence[int]) -> None:
        """The cheapest way from every column to an outlet, else to the lowest point it reaches."""
        beside: dict[int, list[tuple[int, int, int, float]]] = defaultdict(list)
        for a, b, cost in links:
            one, other = self.column[a], self.column[b]
            if one != other:
                beside[one].append((other, b, a, cost))
                beside[other].append((one, a, b, cost))
        lowest = sorted(self.used, key=lambda n: (self.points[n][2], n))
        for start in (*outlets, *lowest):
            root = self.column[start]
            if root in self.x:
                continue
            waiting: list[tuple[float, int, int, int]] = [(0.0, root, -1, -1)]
            while waiting:
                far, column, own, to = heapq.heappop(waiting)
                if column in self.x:
                    continue
                self.x[column] = 0.0
                self.order.append(column)
                if own >= 0:
                    self.parent[column] = own, to
                for other, own_end, to_end, cost in beside[column]:
                    if other not in self.x:
                        heapq.heappush(waiting, (far + cost, other, own_end, to_end))

    def place(self) -> None:
        """Give every column its x, and branches that would touch their own height."""
        members: dict[int, list[int]] = defaultdict(list)
        for n in self.used:
            members[self.column[n]].append(n)
        children: dict[int, list[int]] = defaultdict(list)
        for column in self.order:
            if column in self.parent:
                children[self.column[self.parent[column][1]]].append(column)
        shapes: dict[int, _Shape] = {}
        offset: dict[int, tuple[float, float]] = {}  # of a child from its parent: x, y
        for column in reversed(self.order):
            shapes[column] = self._shape(column, members[column], children[column], shapes, offset)
        beside = 0.0
        shift: dict[int, float] = {}
        for column in self.order:
            if column in self.parent:
                x, lane = offset[column]
                above = self.column[self.parent[column][1]]
                self.x[column] = self.x[above] + x
                shift[column] = shift[above] + lane
            else:
                shape = shapes[column]
                self.x[column] = beside - min(shape.left.values(), default=0.0)
                beside = self.x[column] + largest(shape.right.values()) + 1.5
                shift[column] = 0.0
            for n in members[column]:
                self.y[n] += shift[column]

    def _shape(
        self,
        column: int,
        members: Sequence[int],
        children: Sequence[int],
        shapes: dict[int, _Shape],
        offset: dict[int, tuple[float, float]],
    ) -> _Shape:
        """A column with its children placed to its left, the largest last; their shapes are used
        up."""
        made = _Shape()
        heights = [self.y[n] for n in members]
        for row in range(_row(min(heights)), _row(max(heights)) + 1):
            made.take(row, 0.0, 0.0)
        smallest_first = sorted(children, key=lambda c: (len(shapes[c].left), self._attached(c), c))
        lanes = self._lanes(reversed(smallest_first))
        for child in smallest_first:
            shape, lane, at = shapes.pop(child), lanes[child], _row(self._attached(child))
            x = min(
                (made.left[row + lane] - right for row, right in shape.right.items()
                 if row + lane in made.left),
                default=0.0,
            ) - 1.0  # fmt: skip
            x = min(x, -1.0)
            offset[child] = x, lane * ROW
            for row, left in shape.left.items():
                made.take(row + lane, x + left, x + shape.right[row])
            for row in (at + lane, at + lane + 1):  # the pipe to it, and its label
                made.take(row, x, 0.0)
        return made

    def _lanes(self, children: Iterable[int]) -> dict[int, int]:
        """How many rows each is lifted, so that none runs where an earlier one does."""
        used: set[int] = set()
        lanes = {}
        for child in children:
            row = _row(self._attached(child))
            lanes[child] = next(k for k in range(len(used) + 1) if row + k not in used)
            used.add(row + lanes[child])
        return lanes

    def _attached(self, child: int) -> float:
        """The height at which a column is joined to its parent."""
        return self.y[self.parent[child][0]]

    def path(self, number: int) -> list[Pixel]:
        """A line's path in units and bands: plumb within a column, level between columns."""
        drawn: list[Pixel] = []
        points = self.paths[number]
        for a, b in itertools.pairwise(points):
            for corner in self._corners(a, b):
                if not drawn or drawn[-1] != corner:
                    drawn.append(corner)
        return drawn

    def _corners(self, a: int, b: int) -> list[Pixel]:
        one, other = self.at(a), self.at(b)
        if self.column[a] == self.column[b]:
            return [one, other]
        level = max(one[1], other[1])  # a vent that leads across: at its higher end
        if self.parent.get(self.column[a]) == (a, b):
            level = one[1]
        elif self.parent.get(self.column[b]) == (b, a):
            level = other[1]
        return [one, (one[0], level), (other[0], level), other]

    def at(self, n: int) -> Pixel:
        return self.x[self.column[n]], self.y[n]


def _row(height: float) -> int:
    return floor(height / ROW)
