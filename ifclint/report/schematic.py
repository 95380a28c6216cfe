"""Riser diagrams as a drafter lays them out: stacks side by side, storeys as bands of one height.

What stands on one plumb line is a column. From the outlet the columns form a tree: upstream is to
the left, and each branch keeps the height of its storey, so that branches of different storeys
share the room beside a stack. Pipes are drawn level and plumb; how far they run is not to scale.
"""

import itertools
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import dist, inf

from ifclint.drawings import Riser, RiserLine, RiserMark
from ifclint.engineering.arithmetic import largest, not_below_zero
from ifclint.engineering.directions import foot
from ifclint.ifc.elements import Point
from ifclint.report.columns import ColumnTree
from ifclint.report.cutting import clipped, cuts, leading_on
from ifclint.report.drawing import Band, Layout
from ifclint.report.sheet import Pixel

ZOOMS = (1.0, 1.35, 1.8)  # of the room between columns, where the lettering has too little
UNITS = (70.0, 66.0, 62.0)  # px between columns: the widest that takes the fewest sheets
BAND = 250.0  # px of one storey
MARGIN, LEFT = 50.0, 190.0  # px, for words at the edges, and for the storeys' names
SHEET_WIDTH = 1036.0  # px, the width of the page's column
NEARER_M = 0.002  # a place this much nearer is another
HEADROOM = 0.15  # bands above the highest pipe
LEAST_SHARE = 0.01  # of a pipe; a shorter part of it is not drawn
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
    tree = ColumnTree(riser, own)
    tree.place()
    return _sheets(tree, riser, own, over, zoom)


def _is_over(line: RiserLine, shown: set[str]) -> bool:
    return line.service == LAID_OVER and shown.issuperset(line.element_ids)


def _sheets(
    tree: ColumnTree,
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
    runs = [run for run in (*zip(lines, paths, strict=True), *laid) if run[1]]
    across = [(min(x for x, _ in path), max(x for x, _ in path)) for _, path in runs]
    return [
        _sheet(
            tree,
            [run for run, (x1, x2) in zip(runs, across, strict=True) if x1 <= end and x2 >= start],
            marks, bounds, number, unit,
        )
        for number, (start, end) in enumerate(itertools.pairwise(bounds))
    ]  # fmt: skip


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
        if dist(at, point) < nearest - NEARER_M:
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
    tree: ColumnTree,
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


def _placed_marks(tree: ColumnTree, riser: Riser) -> list[tuple[RiserMark, Pixel]]:
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
