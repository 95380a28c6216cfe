"""Riser diagrams as a drafter lays them out: stacks side by side, storeys as bands of one height.

What stands on one plumb line is a column. From the outlet the columns form a tree: upstream is to
the left, and each branch keeps the height of its storey, so that branches of different storeys
share the room beside a stack. Pipes are drawn level and plumb; how far they run is not to scale.
"""

from __future__ import annotations

import heapq
import itertools
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from math import dist, floor, hypot, inf

from ifclint.drawings import Riser, RiserLine, RiserMark
from ifclint.engineering.arithmetic import largest, not_below_zero
from ifclint.engineering.directions import foot
from ifclint.engineering.near import NearPlaces
from ifclint.ifc.elements import Point
from ifclint.report.cutting import clipped, cuts, leading_on
from ifclint.report.layout import Band, Layout
from ifclint.report.sheet import Pixel

ZOOMS = (1.0, 1.35, 1.8)  # of the room between columns, where the lettering has too little
UNITS = (70.0, 66.0, 62.0)  # px between columns: the widest that takes the fewest sheets
BAND = 250.0  # px of one storey
MARGIN, LEFT = 50.0, 190.0  # px, for words at the edges, and for the storeys' names
SHEET_WIDTH = 1036.0  # px, the width of the page's column
SAME_M = 0.02  # points this near are one
FITTING_M = 0.25  # between the ends of pipes that a fitting joins
COLUMN_M = 0.2  # a run this short is drawn as plumb
STOREY_M = 3.0  # of a storey of which the next is not known
HEADROOM = 0.15  # bands above the highest pipe
ROW = 0.1  # of a band: as near as this two level pipes would touch
LEAST_SHARE = 0.01  # of a pipe; a shorter part of it is not drawn
REACH_M = 1.5  # a mark belongs to the nearest point of a pipe within this
COST = {"drain": 1.0, "cleanout": 5.0, "unreached": 5.0, "stub": 20.0}  # vents come last
VENT_COST = 100.0
LAID_OVER = "unreached"  # the service of what is a part of pipe that is drawn already


def is_drawn_so(riser: Riser) -> bool:
    """Drains with their vents."""
    return any(line.service == "vent" for line in riser.lines)


def lay_out(riser: Riser, lines: Sequence[RiserLine], zoom: float = 1.0) -> list[Layout]:
    """The sheets of a riser: one, or as many as it takes, cut between stacks, with so many times
    the usual room between columns."""
    shown = {e for line in lines if line.service != LAID_OVER for e in line.element_ids}
    over = [line for line in lines if _is_over(line, shown)]
    own = [line for line in lines if not _is_over(line, shown)]
    tree = _Tree(riser, own)
    tree.place()
    return _sheets(tree, riser, own, over, zoom)


def _is_over(line: RiserLine, shown: set[str]) -> bool:
    return line.service == LAID_OVER and shown.issuperset(line.element_ids)


@dataclass
class _Shape:
    """What a column and all left of it take: for each row the leftmost and rightmost unit."""

    left: dict[int, float] = field(default_factory=dict)
    right: dict[int, float] = field(default_factory=dict)

    def take(self, row: int, low: float, high: float) -> None:
        self.left[row] = min(low, self.left.get(row, inf))
        self.right[row] = max(high, self.right.get(row, -inf))


class _Tree:
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
        loose = {path[k] for path in self.paths for k in (0, -1) if ends[path[k]] == 1}
        places = NearPlaces(self.points)
        same: dict[int, int] = {}
        for n in sorted(loose):
            own = next(path for path in self.paths if n in (path[0], path[-1]))
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
        away, n = min(((dist(point, self.points[n]), n) for n in self.used), default=(inf, -1))
        return n if away <= REACH_M else None

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


def _sheets(
    tree: _Tree,
    riser: Riser,
    lines: Sequence[RiserLine],
    over: Sequence[RiserLine],
    zoom: float,
) -> list[Layout]:
    paths = [tree.path(number) for number in range(len(lines))]
    laid = list(_laid_over(over, lines, paths))
    corners = [corner for path in paths for corner in path]
    if not corners:
        return []
    ends = min(x for x, _ in corners), max(x for x, _ in corners)
    units = [unit * zoom for unit in UNITS]
    rooms = ((unit, (SHEET_WIDTH - LEFT - MARGIN) / unit) for unit in units)
    bounds, unit = min(
        ((cuts(paths, *ends, room), unit) for unit, room in rooms), key=lambda made: len(made[0])
    )
    marks = _placed_marks(tree, riser)
    return [
        _sheet(tree, [*zip(lines, paths, strict=True), *laid], marks, bounds, number, unit)
        for number in range(len(bounds) - 1)
    ]


def _laid_over(
    over: Iterable[RiserLine], lines: Sequence[RiserLine], paths: Sequence[list[Pixel]]
) -> Iterator[tuple[RiserLine, list[Pixel]]]:
    """Parts of pipe along the path that the pipe itself is drawn on, by their share of its way."""
    of_element = {e: n for n, line in enumerate(lines) for e in line.element_ids}
    for part in over:
        number = of_element[part.element_ids[0]]
        line, path = lines[number], paths[number]
        shares = sorted(_share(point, line.points) for point in (part.points[0], part.points[-1]))
        if len(path) > 1 and shares[1] - shares[0] > LEAST_SHARE:
            yield part, _between(path, *shares)


def _share(point: Point, course: Sequence[Point]) -> float:
    """How far along a course the place nearest to a point lies, of its whole length."""
    found, nearest, before = 0.0, inf, 0.0
    for a, b in itertools.pairwise(course):
        long = dist(a, b)
        at, share = foot(point, a, b)
        if dist(at, point) < nearest - SAME_M / 10:
            found, nearest = before + share * long, dist(at, point)
        before += long
    return found / before if before else 0.0


def _between(path: Sequence[Pixel], start: float, end: float) -> list[Pixel]:
    """The part of a path between two shares of its length."""
    whole = sum(dist(a, b) for a, b in itertools.pairwise(path))
    made: list[Pixel] = []
    before = 0.0
    for a, b in itertools.pairwise(path):
        long = dist(a, b)
        low, high = (min(not_below_zero((s * whole - before) / long), 1.0) for s in (start, end))
        for share in (low, high) if high > low else ():
            at = a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share
            if not made or made[-1] != at:
                made.append(at)
        before += long
    return made


def _sheet(
    tree: _Tree,
    runs: Sequence[tuple[RiserLine, list[Pixel]]],
    marks: Sequence[tuple[RiserMark, Pixel]],
    bounds: Sequence[float],
    number: int,
    unit: float,
) -> Layout:
    start, end = bounds[number], bounds[number + 1]
    pieces = [(line, piece) for line, path in runs for piece in clipped(path, start, end)]
    here = [(m, at) for m, at in marks if start <= at[0] and (at[0] < end or end == bounds[-1])]
    heights = [y for _, piece in pieces for _, y in piece] + [y for _, (_, y) in here]
    low, top = min(heights, default=0.0), largest(heights) + HEADROOM
    view = _RiserView(start, top, unit)
    width = max(SHEET_WIDTH, (end - start) * unit + LEFT + MARGIN)
    made = Layout(width, (top - low) * BAND + 2 * MARGIN)
    for line, piece in pieces:
        made.lines.append(line)
        made.paths.append([view.pixel(corner) for corner in piece])
    made.marks = [(mark, view.pixel(at)) for mark, at in here]
    for n, (name, elevation) in enumerate(tree.levels):
        y = view.pixel((start, float(n)))[1]
        if 0 <= y <= made.height:
            made.bands.append(Band(name, elevation, y))
    leading = leading_on([piece for _, piece in pieces], bounds, number)
    made.notes = [(text, view.pixel(at)) for text, at in leading]
    return made


@dataclass(frozen=True, slots=True)
class _RiserView:
    left: float  # units
    top: float  # bands
    unit: float  # px

    def pixel(self, at: Pixel) -> Pixel:
        return LEFT + (at[0] - self.left) * self.unit, MARGIN + (self.top - at[1]) * BAND


def _placed_marks(tree: _Tree, riser: Riser) -> list[tuple[RiserMark, Pixel]]:
    """Marks at the points they belong to; several at one point stand one above the other."""
    stacked: dict[Pixel, int] = defaultdict(int)
    placed = []
    for mark in riser.marks:
        n = tree.nearest(mark.point)
        if n is None:
            continue
        x, y = tree.at(n)
        cell = round(x, 2), round(y, 2)
        placed.append((mark, (x, y + 0.09 * stacked[cell])))
        stacked[cell] += 1
    return placed
