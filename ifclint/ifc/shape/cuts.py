"""What is left of the centre line of a pipe from which a half space or another body is cut."""

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from ifclint.ifc.elements import Point
from ifclint.ifc.shape.curves import CurveReader
from ifclint.ifc.shape.items import ItemReader
from ifclint.ifc.shape.placement import Frame, Placements, dot, inverse, origin, to_world
from ifclint.ifc.shape.profiles import ProfileReader
from ifclint.ifc.step.spf import number
from ifclint.ifc.step.text_index import Ref

HALF_SPACES = (b"IFCHALFSPACESOLID", b"IFCBOXEDHALFSPACE", b"IFCPOLYGONALBOUNDEDHALFSPACE")
EXTRUDED = (b"IFCEXTRUDEDAREASOLID", b"IFCEXTRUDEDAREASOLIDTAPERED")
DIFFERENCE = b".DIFFERENCE."
NEAR_M = 1e-6  # of a plane: rounding of what is drawn at it
Line = tuple[Point, ...]


class HalfSpace(NamedTuple):
    """All on one side of a plane: `out` points away from it. One that is bounded is no farther from
    the z axis of its `position` than its `edge`."""

    at: Point
    out: Point
    position: Frame | None
    edge: list[Point]

    def beyond_m(self, p: Point) -> float:
        """How far a point lies from the plane, on the side that is left of what it is cut from."""
        return dot(_from(self.at, p), self.out)

    def reaches(self, p: Point) -> bool:
        """Whether a point lies within its bounds, beside the plane or on it."""
        return self.position is None or _encloses(self.edge, to_world(inverse(self.position), p))


class CutReader:
    """What cuts the items of one file, in the coordinates of the element's placement."""

    def __init__(
        self,
        items: ItemReader,
        placements: Placements,
        curves: CurveReader,
        profiles: ProfileReader,
        metres_per_unit: float,
    ) -> None:
        self._items = items
        self._placements = placements
        self._curves = curves
        self._profiles = profiles
        self._scale = metres_per_unit

    def half_space(self, item: Ref) -> HalfSpace | None:
        """A half space; None where it is of another surface than a plane."""
        _, written = self._items.written(item)
        surface, plane = self._items.written(number(written[0]))
        frame = self._placements.axis_placement(number(plane[0])) if plane else None
        if surface != b"IFCPLANE" or frame is None:
            return None
        sign = 1.0 if written[1] == b".T." else -1.0
        out = (sign * frame[6], sign * frame[7], sign * frame[8])
        if len(written) < 4:
            return HalfSpace(origin(frame), out, None, [])
        position = self._placements.axis_placement(number(written[2]))
        edge = self._curves.points(number(written[3]))
        return HalfSpace(origin(frame), out, position, edge) if position and edge else None

    def corners(self, item: Ref) -> list[Point]:
        """Corners that enclose a body; none where they cannot be known."""
        name, written = self._items.written(item)
        if name not in EXTRUDED:
            return self._items.vertices(item)
        frame = self._placements.axis_placement(number(written[1]))
        up = self._placements.direction(number(written[2])) or (0.0, 0.0, 1.0)
        base = self._profiles.outline(number(written[0]))
        depth = float(written[3]) * self._scale
        if frame is None:
            return []
        top = [(x + up[0] * depth, y + up[1] * depth, z + up[2] * depth) for x, y, z in base]
        return [to_world(frame, p) for p in (*base, *top)]


def cut_by(line: Line, space: HalfSpace, taken: bool) -> Line:
    """What is left of a line of which all in a half space is taken, or all but that; nothing where
    that is not known: more than one piece is left, or an edge of the half space cuts it."""
    side = 1.0 if taken else -1.0
    far = [side * space.beyond_m(p) for p in line]
    gone = [p for p, m in zip(line, far, strict=True) if m < -NEAR_M]
    if not gone:
        return line
    reached = {space.reaches(p) for p in gone}
    if reached == {False}:
        return line if taken else ()
    return _kept(line, far) if reached == {True} else ()


def _kept(line: Line, far: list[float]) -> Line:
    """The one piece of a line whose points lie beyond a plane, so far each."""
    pieces: list[list[Point]] = []
    inside = False
    for (a, b), (p, q) in zip(pairwise(line), pairwise(far), strict=True):
        if p >= -NEAR_M and not inside:
            pieces.append([a])
            inside = True
        if (p < -NEAR_M) != (q < -NEAR_M):
            at = _between(a, b, p / (p - q))
            if inside:
                pieces[-1].append(at)
            else:
                pieces.append([at, b])
            inside = not inside
        elif inside:
            pieces[-1].append(b)
    found = [tuple(piece) for piece in pieces if math.dist(piece[0], piece[-1]) > NEAR_M]
    return found[0] if len(found) == 1 else ()


def left_beside(line: Line, corners: Sequence[Point]) -> Line:
    """A straight line whose ends another body does not reach; nothing where it may reach one."""
    if len(line) != 2 or not corners:
        return ()
    length = math.dist(*line)
    along = [_share(line, p) * length for p in corners]
    clear = min(along) > NEAR_M and max(along) < length - NEAR_M
    return line if clear or max(along) <= NEAR_M or min(along) >= length - NEAR_M else ()


def left_of_round(line: Line, outside_m: float, other: Line, other_outside_m: float) -> Line | None:
    """What is left of the line of a pipe from which a round body is taken: all where that is
    thinner, as its bore; of straight ones along one another one piece or nothing. None where they
    lie otherwise."""
    if other_outside_m < outside_m:
        return line
    if len(line) != 2 or len(other) != 2 or math.dist(*line) <= NEAR_M:
        return None
    shares = sorted(_share(line, p) for p in other)
    feet = [_between(*line, _share(line, p)) for p in other]
    if any(math.dist(p, foot) > outside_m / 4 for p, foot in zip(other, feet, strict=True)):
        return None
    low, high = max(0.0, shares[0]), min(1.0, shares[1])
    if low >= high:
        return line
    slack = NEAR_M / math.dist(*line)
    if low > slack and high < 1.0 - slack:
        return ()
    ends = (high, 1.0) if low <= slack else (0.0, low)
    return (_between(*line, ends[0]), _between(*line, ends[1])) if ends[1] - ends[0] > slack else ()


def _share(line: Line, p: Point) -> float:
    """How far along a straight line a point lies, as a share of its length."""
    run = _from(line[0], line[1])
    return dot(_from(line[0], p), run) / (dot(run, run) or 1.0)


def _between(a: Point, b: Point, share: float) -> Point:
    x, y, z = (p + share * (q - p) for p, q in zip(a, b, strict=True))
    return x, y, z


def _from(a: Point, b: Point) -> Point:
    return b[0] - a[0], b[1] - a[1], b[2] - a[2]


def _encloses(edge: list[Point], p: Point) -> bool:
    """Whether a point lies within a closed line, seen along z."""
    inside = False
    for (ax, ay, _), (bx, by, _) in pairwise([*edge, edge[0]]):
        if (ay > p[1]) != (by > p[1]) and p[0] < ax + (p[1] - ay) / (by - ay) * (bx - ax):
            inside = not inside
    return inside
