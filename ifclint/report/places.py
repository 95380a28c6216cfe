"""Places a person can walk to: distances to grid lines, named walls or the sides of a room, and
the height above the floor, in feet and inches, with north as the model states it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from math import atan2, cos, degrees, dist, isfinite, nan, radians, sin
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ifclint.drawings import Plan, PlanBox
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import feet_text
from ifclint.ifc.elements import GridAxis, Location, Place
from ifclint.report.arrange import NAME_LIMIT, plain

COMPASS = (
    "east", "northeast", "north", "northwest", "west", "southwest", "south", "southeast",
)  # fmt: skip
REACH_M = 15.0  # what is farther off is no help to find a place
BESIDE_M = 1.0  # a line may end this far before the place and still be measured from
THICKEST_M = 0.75  # what is thicker is no wall to measure from
ACROSS = cos(radians(30.0))  # two lines that cross at less than this angle tell one direction
NEAREST_IN = 1.0  # distances are told to the inch
SIDE = "side of the room"
AT_M = 0.0127  # a place this near to a line is on it
FAR = 1e8


class PlacesInWords:
    """The places of a review's storeys, in words."""

    def __init__(self, plans: Iterable[Plan]) -> None:
        self._storeys = {plan.storey: _Storey(plan) for plan in plans}

    def text(self, place: Location) -> str:
        """ "4 ft 3 in east of grid B, under East wall, 1 ft 8 in below the floor"; empty where no
        plan has the place."""
        storey = self._storeys.get(place.storey)
        if storey is None or place.x is None or place.y is None:
            return ""
        if not (abs(place.x) < FAR and abs(place.y) < FAR):
            return ""
        above_m = nan if place.z is None else place.z - storey.elevation_m
        said = storey.lines_by((place.x, place.y), place.space, above_m < -AT_M)
        if said and isfinite(above_m):
            said.append(_height(above_m))
        return ", ".join(said)


class _Storey:
    def __init__(self, plan: Plan) -> None:
        self.elevation_m = plan.elevation_m
        self._north = plan.north if plan.north is not None and isfinite(plan.north) else 0.0
        self._rooms = plan.rooms
        named = Counter(wall.label for wall in plan.walls)
        walls = [w for w in plan.walls if w.label and named[w.label] == 1]
        straight, bent = [a for a in plan.grid if not a.via], [a for a in plan.grid if a.via]
        grid = (_Line(_tagged(axis), axis.a, axis.b) for axis in straight)
        self._lines = [
            _Lines(grid, [_Bent(_tagged(axis), axis.course) for axis in bent if _is_near(axis)]),
            _Lines(filter(None, map(_middle, walls))),
        ]

    def lines_by(self, at: Place, room: str, is_below: bool) -> list[str]:
        """Up to two distances, across each other, from the best lines there are; of a place below
        the floor, on which walls stand, or above it."""
        found: list[_Distance] = []
        for lines in (*self._lines, _Lines(self._sides(at, room))):
            for distance in lines.by(at):
                if len(found) < 2 and all(distance.crosses(other) for other in found):
                    found.append(distance)
        return [distance.text(self._north, is_below) for distance in found]

    def _sides(self, at: Place, room: str) -> Iterator[_Line]:
        """The sides of the room that a place is in."""
        for box in self._rooms:
            (x1, y1), (x2, y2) = box.low, box.high
            if box.label == room and x1 <= at[0] <= x2 and y1 <= at[1] <= y2:
                for a, b, out in (
                    ((x1, y1), (x1, y2), (-1.0, 0.0)),
                    ((x2, y1), (x2, y2), (1.0, 0.0)),
                    ((x1, y1), (x2, y1), (0.0, -1.0)),
                    ((x1, y2), (x2, y2), (0.0, 1.0)),
                ):
                    side = _compass(out, self._north)
                    yield _Line(f"the {side} {SIDE}", a, b)
                return


def _tagged(axis: GridAxis) -> str:
    return f"grid {plain(axis.tag, 20)}"


def _is_near(axis: GridAxis) -> bool:
    return all(abs(value) < FAR for place in axis.course for value in place)


class _Line(NamedTuple):
    """What is measured from, seen from above: a line, `half_m` thick to each side."""

    name: str
    a: Place
    b: Place
    half_m: float = 0.0


def _middle(wall: PlanBox) -> _Line | None:
    """The line along the middle of a wall; None of what is no straight wall."""
    a, b, c, d = wall.corners
    if dist(a, b) < dist(b, c):
        a, b, c, d = b, c, d, a
    long_m, thick_m = dist(a, b), dist(b, c)
    if not (long_m < FAR and thick_m <= THICKEST_M and long_m >= 2 * thick_m):
        return None
    start, end = ((a[0] + d[0]) / 2, (a[1] + d[1]) / 2), ((b[0] + c[0]) / 2, (b[1] + c[1]) / 2)
    return _Line(plain(wall.label, NAME_LIMIT), start, end, thick_m / 2)


class _Distance(NamedTuple):
    """How far a place is from a line, square to it."""

    line: _Line
    along: Place  # the line's direction
    away: Place  # the direction from the line to the place
    metres: float

    def crosses(self, other: _Distance) -> bool:
        (x, y), (other_x, other_y) = self.along, other.along
        return abs(x * other_x + y * other_y) < ACROSS

    def text(self, north: float, is_below: bool) -> str:
        name = self.line.name
        if self.metres <= AT_M:
            within = "under" if is_below else "in"
            return f"{within} {name}" if self.line.half_m else f"on {name}"
        feet = feet_text(self.metres / M_PER_FT, NEAREST_IN)
        if name.endswith(SIDE):
            return f"{feet} from {name}"
        return f"{feet} {_compass(self.away, north)} of {name}"


class _Lines:
    """Lines of one kind, measured from together."""

    def __init__(self, lines: Iterable[_Line], bent: Sequence[_Bent] = ()) -> None:
        self._bent = bent
        self._lines = [line for line in lines if 0 < dist(line.a, line.b) < FAR]
        start = np.array([line.a for line in self._lines]).reshape(-1, 2)
        run = np.array([line.b for line in self._lines]).reshape(-1, 2) - start
        self._start = start
        self._long: NDArray[np.float64] = np.hypot(run[:, 0], run[:, 1])
        self._along = run / self._long[:, None]
        self._half = np.array([line.half_m for line in self._lines])

    def by(self, at: Place) -> Iterator[_Distance]:
        """The distances within reach, the nearest first."""
        away = (found for axis in self._bent if (found := axis.by(at)))
        yield from sorted((*self._straight(at), *away), key=lambda distance: distance.metres)

    def _straight(self, at: Place) -> Iterator[_Distance]:
        if not self._lines:
            return
        to = np.array(at) - self._start
        along = (to * self._along).sum(axis=1)
        beside = to[:, 1] * self._along[:, 0] - to[:, 0] * self._along[:, 1]
        away = np.maximum(np.abs(beside) - self._half, 0.0)
        level = (along >= -BESIDE_M) & (along <= self._long + BESIDE_M) & (away <= REACH_M)
        for i in sorted(np.flatnonzero(level).tolist(), key=lambda i: (away[i], i)):
            x, y = self._along[i].tolist()
            side = 1.0 if beside[i] >= 0 else -1.0
            yield _Distance(self._lines[i], (x, y), (-y * side, x * side), float(away[i]))


class _Bent:
    """A line that is not straight, measured from where it is nearest."""

    def __init__(self, name: str, course: Sequence[Place]) -> None:
        points = np.array(course)
        is_long = np.hypot(*np.diff(points, axis=0).T) > 0
        self._name = name
        self._start = points[:-1][is_long]
        self._run = np.diff(points, axis=0)[is_long]

    def by(self, at: Place) -> _Distance | None:
        """None where it is out of reach, or the line ends well before the place."""
        if not len(self._run):
            return None
        to = np.array(at) - self._start
        long = np.hypot(*self._run.T)
        share = (to * self._run).sum(axis=1) / long**2
        low, high = np.zeros_like(long), np.ones_like(long)  # shares of each piece
        low[0], high[-1] = -BESIDE_M / long[0], 1.0 + BESIDE_M / long[-1]
        foot = self._start + self._run * np.clip(share, low, high)[:, None]
        metres = np.hypot(*(np.array(at) - foot).T)
        i = int(metres.argmin())
        ends = (i == 0 and share[0] < low[0]) or (i == len(long) - 1 and share[i] > high[i])
        if metres[i] > REACH_M or ends:
            return None
        x, y = (self._run[i] / long[i]).tolist()
        if metres[i] > AT_M:
            across, up = ((np.array(at) - foot[i]) / metres[i]).tolist()
            x, y = up, -across
        line = _Line(self._name, at, at)
        return _Distance(line, (x, y), (-y, x), float(metres[i]))


def _compass(way: Place, north: float) -> str:
    """One of eight winds for a way in the model's coordinates."""
    east = way[0] * cos(north) + way[1] * sin(north)
    to_north = way[1] * cos(north) - way[0] * sin(north)
    return COMPASS[round(degrees(atan2(to_north, east)) / 45.0) % 8]


def _height(metres: float) -> str:
    if abs(metres) <= AT_M:
        return "at the floor"
    feet = feet_text(abs(metres) / M_PER_FT, NEAREST_IN)
    return f"{feet} {'above' if metres > 0 else 'below'} the floor"
