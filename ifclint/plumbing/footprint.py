"""The ground that a building stands on, seen from above: what its outer walls enclose.

The walls, windows and doors of all storeys are laid over each other. What cannot be reached from
outside without passing one of them is the building, as are the walls themselves; an L-shaped house
has a yard in its corner, not a room. Buildings that stand far apart have an outline each.
"""

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import ceil, dist

import numpy as np
from numpy.typing import NDArray

from ifclint.engineering.distinct import distinct
from ifclint.engineering.extents import box_around, covers, overlap_in_plan, sides_m
from ifclint.engineering.joined import labels
from ifclint.ifc.elements import Box, Point, Space, Surface

Bools = NDArray[np.bool_]
Lines = NDArray[np.float64]

# Our own bounds, no source.
GAP_M = 0.1  # walls that meet but for this leave no way between them
LEAST_SHARE = 0.4  # of the box around it that a building covers; walls that enclose less are open
SAME_M = 0.002  # edges no farther apart are one
LINES_AT_MOST = 3000  # each way, of the edges that cells lie between
SLIGHTLY_M = 0.01
STEP_M = 0.25  # in which a line is followed
STEPS_AT_MOST = 2000
ROOM_M = 2.0  # walls no farther apart either way are one wall
APART_M = 1.0  # a strip so wide without a wall parts two buildings
FAR_M = 15.0  # walls of a building that is drawn in part lie no farther apart
BEYOND_M = 0.3  # of the face of a window or door is outdoors, or a room


class Outline:
    """What the walls of one building enclose, or the box around them where they enclose none."""

    def __init__(self, upright: Sequence[Box], around: Sequence[Box]):
        self.box = box_around(corner for box in around for corner in box)
        lines = _lines(upright, 0), _lines(upright, 1)
        self._x, self._y = lines[0].tolist(), lines[1].tolist()
        self._wall = _covered(upright, lines, 0.0)
        closed = _covered(upright, lines, GAP_M / 2)
        reached = _joined_to_first(~closed)
        self.has_rooms = not (reached | closed)[1:-1, 1:-1].all()
        self._open = reached if self.has_rooms and _is_large_enough(reached, lines) else None

    @property
    def is_enclosed(self) -> bool:
        return self._open is not None

    def holds(self, x: float, y: float) -> bool:
        """Whether a place lies in the building or in one of its walls."""
        if not _is_over(self.box, x, y):
            return False
        if self._open is None or self._touches(self._wall, x, y, (-SAME_M, SAME_M)):
            return True
        beside = GAP_M / 2 + SLIGHTLY_M  # the cells beside a wall count as a wall
        return not self._touches(self._open, x, y, (-beside, 0.0, beside))

    def _touches(self, cells: Bools, x: float, y: float, steps: Sequence[float]) -> bool:
        """Whether one of the cells lies these steps from a place, each way."""
        across = {bisect_left(self._x, x + step) for step in steps}
        along = {bisect_left(self._y, y + step) for step in steps}
        return any(cells[i, j] for i in across for j in along)


class Footprint:
    """What lies within the outline of the building, or of each of several, and what outdoors."""

    def __init__(self, walls: Sequence[Surface], slabs: Sequence[Surface], rooms: Sequence[Space]):
        """Walls with the windows and doors in them. Where walls enclose no building, the box around
        walls and slabs counts as one; there must be one of either."""
        upright = [(w.low, w.high) for w in walls]
        around = upright + [(s.low, s.high) for s in slabs]
        self._around = box_around(corner for box in around for corner in box)
        self._outlines = _outlines(upright, around, [(r.low, r.high) for r in rooms])
        self._held: dict[tuple[float, float], bool] = {}
        self._rooms = [(r.low, r.high) for r in rooms if self._is_unenclosed(r)]

    def holds(self, point: Point) -> bool:
        """Whether a point lies in a building or in one of its walls, seen from above."""
        place = point[:2]
        if place not in self._held:  # what is stacked storey upon storey is asked for once
            self._held[place] = _is_over(self._around, *place) and self._holds(point)
        return self._held[place]

    def _holds(self, point: Point) -> bool:
        rooms = any(covers(low, high, point) for low, high in self._rooms)
        return rooms or any(outline.holds(*point[:2]) for outline in self._outlines)

    def share_inside(
        self, inside: Point, outside: Point, within_m: float = SLIGHTLY_M / 10
    ) -> float:
        """What share of the straight line from a point inside to one outside lies inside, where it
        leaves the building once; told to `within_m`."""
        low, high = 0.0, 1.0
        while (high - low) * dist(inside, outside) > within_m:
            middle = (low + high) / 2
            low, high = (
                (middle, high) if self.holds(between(inside, outside, middle)) else (low, middle)
            )
        return low

    def outside_parts(self, a: Point, b: Point) -> Iterator[tuple[Point, Point]]:
        """The parts of a straight line that lie outside, along it."""
        steps = min(max(1, ceil(dist(a, b) / STEP_M)), STEPS_AT_MOST)
        points = [between(a, b, n / steps) for n in range(steps + 1)]
        begun: Point | None = None if self.holds(a) else a
        for p, q in pairwise(points):
            if begun is None and not self.holds(q):
                begun = between(p, q, self.share_inside(p, q)) if self.holds(p) else p
            elif begun is not None and self.holds(q):
                yield begun, between(q, p, self.share_inside(q, p))
                begun = None
        if begun is not None:
            yield begun, b

    def places_inside(self, a: Point, b: Point) -> list[Point]:
        """Places of a straight line that lie inside, a step apart."""
        steps = min(max(1, ceil(dist(a, b) / STEP_M)), STEPS_AT_MOST)
        points = (between(a, b, n / steps) for n in range(1, steps))
        return [p for p in points if self.holds(p)]

    def has_outer_face(self, low: Point, high: Point) -> bool:
        """Whether one side of what stands upright in a box is outdoors."""
        return not all(map(self.holds, beyond_faces(low, high)))

    def _is_unenclosed(self, room: Space) -> bool:
        """Whether a room lies beyond the walls that are drawn: behind glazing, or a gate."""
        x, y = ((room.low[k] + room.high[k]) / 2 for k in (0, 1))
        enclosed = any(outline.is_enclosed for outline in self._outlines)
        return enclosed and not any(outline.holds(x, y) for outline in self._outlines)


def _outlines(upright: Sequence[Box], around: Sequence[Box], rooms: Sequence[Box]) -> list[Outline]:
    """Of walls one of all; where that encloses no building, one of each that stands by itself and
    does, and the box around each that encloses none but has a floor or a room, or is as wide and
    deep as one. Other walls are none of a building there, unless they stand about one: then it is
    drawn in part."""
    if not upright:  # slabs alone
        return [Outline((), group) for group in _apart(around)]
    whole = Outline(upright, around)
    groups = _apart(upright) if whole.has_rooms and not whole.is_enclosed else []
    if len(groups) < 2:
        return [whole]
    outlines = [Outline(group, group) for group in groups]
    built = [outline for outline in outlines if outline.is_enclosed]
    open_groups = (g for g, o in zip(groups, outlines, strict=True) if not o.is_enclosed)
    left = [box for group in open_groups for box in group]
    rest = [Outline(left, left)] if left else []
    in_part = any(overlap_in_plan(outline.box, other.box) for outline in built for other in rest)
    if in_part or not built:
        return [whole]
    floors = [
        floor
        for floor in (*around[len(upright) :], *rooms)
        if not any(overlap_in_plan(floor, outline.box) for outline in built)
    ]
    parts = (_drawn_in_part(part, floors) for part in (_apart(left, FAR_M) if left else ()))
    return built + [outline for outline in parts if outline is not None]


def _drawn_in_part(walls: Sequence[Box], floors: Sequence[Box]) -> Outline | None:
    """The box around walls and the floors and rooms among them; None of a wall by itself."""
    own = box_around(corner for box in walls for corner in box)
    among = [floor for floor in floors if overlap_in_plan(floor, own)]
    is_wide = min(sides_m(*own)[:2]) >= ROOM_M
    return Outline((), [*walls, *among]) if among or is_wide else None


def _is_over(box: Box, x: float, y: float) -> bool:
    (left, front, _), (right, back, _) = box
    return left <= x <= right and front <= y <= back


def _apart(boxes: Sequence[Box], apart_m: float = APART_M) -> list[list[Box]]:
    """Boxes in groups between which a straight strip is free, wider than that."""
    for axis in (0, 1):
        ordered = sorted(boxes, key=lambda box: box[0][axis])
        groups, reach = [[ordered[0]]] if ordered else [], ordered[0][1][axis] if ordered else 0.0
        for box in ordered[1:]:
            if box[0][axis] > reach + apart_m:
                groups.append([])
            groups[-1].append(box)
            reach = max(reach, box[1][axis])
        if len(groups) > 1:
            return [part for group in groups for part in _apart(group, apart_m)]
    return [list(boxes)]


def beyond_faces(low: Point, high: Point) -> tuple[Point, Point]:
    """The places a little beyond the two faces of what stands upright in a box, at its middle."""
    x, y, z = between(low, high, 0.5)
    if high[0] - low[0] <= high[1] - low[1]:
        return (low[0] - BEYOND_M, y, z), (high[0] + BEYOND_M, y, z)
    return (x, low[1] - BEYOND_M, z), (x, high[1] + BEYOND_M, z)


def between(a: Point, b: Point, share: float) -> Point:
    """A point of the straight line from a to b."""
    x, y, z = (p + (q - p) * share for p, q in zip(a, b, strict=True))
    return (x, y, z)


def _lines(walls: Sequence[Box], axis: int) -> Lines:
    """The ascending edges of the walls along an axis, and of the gaps about them."""
    edges = [c for low, high in walls for c in (low[axis], high[axis])]
    wide = [e + d for e in edges for d in (-GAP_M / 2, 0.0, GAP_M / 2)]
    found = distinct(np.array(wide, dtype=np.float64))
    apart = SAME_M
    while len(found) > 1:
        kept: Lines = found[np.append(True, np.diff(found) > apart)]
        if len(kept) <= LINES_AT_MOST:
            return kept
        apart *= 2
    return found


def _covered(walls: Sequence[Box], lines: tuple[Lines, Lines], about_m: float) -> Bools:
    """The cells between the lines, and around them, that walls lie in, or this far about them."""
    found = np.zeros((len(lines[0]) + 1, len(lines[1]) + 1), dtype=bool)
    low, high = np.array(walls, dtype=np.float64).reshape(-1, 2, 3).transpose(1, 0, 2)
    first, last = low - about_m + SAME_M, high + about_m - SAME_M
    i, j = (np.searchsorted(lines[n], first[:, n]) for n in (0, 1))
    k, m = (np.searchsorted(lines[n], last[:, n]) + 1 for n in (0, 1))
    for row, end, column, edge in np.stack([i, k, j, m], axis=1).tolist():
        found[row:end, column:edge] = True
    return found


def _is_large_enough(reached: Bools, lines: tuple[Lines, Lines]) -> bool:
    """Whether what cannot be reached from outside is as much as a building covers."""
    areas = np.outer(np.diff(lines[0]), np.diff(lines[1]))
    return bool(areas[~reached[1:-1, 1:-1]].sum() >= LEAST_SHARE * areas.sum())


def _joined_to_first(cells: Bools) -> Bools:
    """The cells that hang together with the first of all, which is one of them, by their sides.

    Cells in a row without a gap are a run, and runs of neighbouring rows hang together where they
    have a column in common.
    """
    begins, meets = _begins(cells), _begins(cells[1:] & cells[:-1])
    run = np.cumsum(begins).reshape(cells.shape) - 1
    piece = labels(int(begins.sum()), run[:-1][meets], run[1:][meets])
    first: Bools = cells & (piece == 0)[run]
    return first


def _begins(cells: Bools) -> Bools:
    """The first cell of each run."""
    before = np.zeros_like(cells)
    before[:, 1:] = cells[:, :-1]
    first: Bools = cells & ~before
    return first
