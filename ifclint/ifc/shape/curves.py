"""Curves of an IFC representation as points along them, in metres."""

import itertools
import math
from collections.abc import Iterable

from ifclint.ifc.elements import Point
from ifclint.ifc.shape.frames import FARTHEST
from ifclint.ifc.shape.placement import Frame, Placements, cross, dot, to_world, unit
from ifclint.ifc.step.spf import class_and_arguments, members, number, numbers
from ifclint.ifc.step.text_index import Ref, TextIndex

ARC_STEP = math.radians(4.0)  # chords this short keep a developed length within 0.02 %
DEEPEST = 12
SPLINES = (b"IFCBSPLINECURVE", b"IFCRATIONALBSPLINECURVE")
PARAMETER = b"IFCPARAMETERVALUE("


class CurveReader:
    """Curves of one file."""

    def __init__(
        self,
        text: TextIndex,
        placements: Placements,
        metres_per_unit: float,
        radians_per_unit: float,
    ) -> None:
        self._text = text
        self._place = placements
        self._length = metres_per_unit
        self._angle = radians_per_unit

    def written(self, ref: Ref) -> tuple[bytes, list[bytes]]:
        """Class and arguments of an instance; no class where there is none."""
        return class_and_arguments(self._text.get(ref))

    def points(self, curve: Ref, depth: int = 0) -> list[Point]:
        """Points from one end of the curve to the other; empty where it cannot be followed."""
        kind, written = self.written(curve)
        if depth > DEEPEST:
            return []
        if kind == b"IFCPOLYLINE":
            return _all_or_none(map(self._place.point, _references(written[0])))
        if kind == b"IFCINDEXEDPOLYCURVE":
            return self._indexed(written)
        if kind == b"IFCTRIMMEDCURVE":
            return self._trimmed(written)
        if kind == b"IFCCOMPOSITECURVE":
            return self._composite(written, depth)
        if kind.startswith(SPLINES):
            return self._spline_poles(written)
        return []

    def directrix(self, curve: Ref, between: list[bytes]) -> list[Point]:
        """Points of what a solid is swept along: of a line, which has no ends, from one to another
        of its parameters."""
        kind, written = self.written(curve)
        if kind != b"IFCLINE":
            return self.points(curve)
        first, last = ([b"IFCPARAMETERVALUE(" + one + b")"] for one in between)
        return [] if b"$" in between else self._line(written, first, last)

    def circle(self, curve: Ref) -> list[Point]:
        """Points round a whole circle; empty where the curve is none."""
        kind, written = self.written(curve)
        frame = self._place.axis_placement(number(written[0])) if kind == b"IFCCIRCLE" else None
        if frame is None:
            return []
        return _arc(frame, float(written[1]) * self._length, 0.0, 0.0, forward=True)

    def _composite(self, written: list[bytes], depth: int) -> list[Point]:
        path: list[Point] = []
        for ref in _references(written[0]):
            kind, segment = self.written(ref)
            if not kind.endswith(b"COMPOSITECURVESEGMENT"):
                return []
            piece = self.points(number(segment[2]), depth + 1)
            if segment[1] != b".T.":
                piece.reverse()
            path.extend(piece[1:] if path and piece and _near(path[-1], piece[0]) else piece)
        return path

    def _indexed(self, written: list[bytes]) -> list[Point]:
        _, point_list = self.written(number(written[0]))
        rows = [members(row) for row in members(point_list[0])]
        given = [(*(float(c) * self._length for c in row), 0.0)[:3] for row in rows]
        segments = [_segment(field) for field in members(written[1])]
        return _along(segments, _all_or_none((x, y, z) for x, y, z in given))

    def _trimmed(self, written: list[bytes]) -> list[Point]:
        basis, trim1, trim2, sense = number(written[0]), *written[1:4]
        kind, curve = self.written(basis)
        if kind == b"IFCLINE":
            return self._line(curve, members(trim1), members(trim2))
        if kind == b"IFCCIRCLE":
            return self._circle_arc(curve, members(trim1), members(trim2), sense == b".T.")
        return self.points(basis, 1)

    def along_edge(self, start: Point, end: Point, curve: Ref, forward: bool) -> list[Point]:
        """Points of a curve between the ends of an edge: of an arc or a spline those on it."""
        kind, written = self.written(curve)
        if kind == b"IFCCIRCLE":
            frame = self._place.axis_placement(number(written[0]))
            if frame is None:
                return [start, end]
            radius = float(written[1]) * self._length
            return _arc(frame, radius, _angle(start, frame), _angle(end, frame), forward)
        if kind.startswith(SPLINES):
            return [start, *self._on_spline(written), end]
        return [start, *(self.points(curve) if kind != b"IFCLINE" else ()), end]

    def _on_spline(self, written: list[bytes]) -> list[Point]:
        """Points on a B-spline; none where its knots are not stated."""
        if len(written) < 8:
            return []
        from scipy.interpolate import BSpline

        degree, poles = int(written[0]), self._spline_poles(written)
        weights = (
            [float(w) for w in members(written[8])] if len(written) > 8 else [1.0] * len(poles)
        )
        counts, values = (members(field) for field in written[5:7])
        knots = [float(v) for v, n in zip(values, counts, strict=True) for _ in range(int(n))]
        if not poles or len(knots) != len(poles) + degree + 1:
            return []
        raised = [(x * w, y * w, z * w, w) for (x, y, z), w in zip(poles, weights, strict=True)]
        spline = BSpline(knots, raised, degree)
        first, last = knots[degree], knots[-degree - 1]
        steps = 4 * len(poles)
        rows = spline([first + (last - first) * i / steps for i in range(steps + 1)]).tolist()
        return [(x / w, y / w, z / w) for x, y, z, w in rows]

    def _spline_poles(self, written: list[bytes]) -> list[Point]:
        return _all_or_none(map(self._place.point, _references(written[1])))

    def _line(self, line: list[bytes], trim1: list[bytes], trim2: list[bytes]) -> list[Point]:
        start = self._place.point(number(line[0]))
        _, vector = self.written(number(line[1]))
        direction = self._place.direction(number(vector[0]))
        if start is None or direction is None:
            return []
        step = float(vector[1]) * self._length
        ends = []
        for trim in (trim1, trim2):
            at = self._trim_point(trim)
            if at is None:
                t = (_trim_parameter(trim) or 0.0) * step
                x, y, z = direction
                at = (start[0] + x * t, start[1] + y * t, start[2] + z * t)
            ends.append(at)
        return ends

    def _circle_arc(
        self, circle: list[bytes], trim1: list[bytes], trim2: list[bytes], forward: bool
    ) -> list[Point]:
        frame = self._place.axis_placement(number(circle[0]))
        if frame is None:
            return []
        radius = float(circle[1]) * self._length
        first, last = (self._angle_of(t, frame) for t in (trim1, trim2))
        if first is None or last is None:
            return []
        return _arc(frame, radius, first, last, forward)

    def _angle_of(self, trim: list[bytes], frame: Frame) -> float | None:
        parameter = _trim_parameter(trim)
        if parameter is not None:
            return parameter * self._angle
        at = self._trim_point(trim)
        return None if at is None else _angle(at, frame)

    def _trim_point(self, trim: list[bytes]) -> Point | None:
        point = next((number(t) for t in trim if t[:1] == b"#"), 0)
        return self._place.point(point) if point else None


def _angle(at: Point, frame: Frame) -> float:
    """The angle of a point about the third axis of a frame, from the first."""
    r = (at[0] - frame[9], at[1] - frame[10], at[2] - frame[11])
    return math.atan2(
        dot(r, (frame[3], frame[4], frame[5])), dot(r, (frame[0], frame[1], frame[2]))
    )


def _arc(frame: Frame, radius: float, first: float, last: float, forward: bool) -> list[Point]:
    """Points of the arc between two angles; of the whole circle where they are one."""
    sweep = (last - first) if forward else (first - last)
    sweep = sweep % (2 * math.pi) or 2 * math.pi
    steps = max(2, math.ceil(sweep / ARC_STEP))
    turn = sweep / steps if forward else -sweep / steps
    angles = (first + turn * i for i in range(steps + 1))
    return [to_world(frame, (radius * math.cos(a), radius * math.sin(a), 0.0)) for a in angles]


def _trim_parameter(trim: list[bytes]) -> float | None:
    value = next((t for t in trim if t.startswith(PARAMETER)), None)
    return float(value[len(PARAMETER) : -1]) if value is not None else None


def _references(field: bytes) -> list[Ref]:
    return numbers(field[1:-1])


def _segment(field: bytes) -> tuple[bool, list[int]]:
    """IFCLINEINDEX((1,2)) or IFCARCINDEX((1,2,3)): whether it is an arc, and its points from 1."""
    kind, places = class_and_arguments(field)
    return kind == b"IFCARCINDEX", [int(n) for n in members(places[0])]


def _all_or_none(points: Iterable[Point | None]) -> list[Point]:
    """The points, or none where one is not known or lies beyond all reason."""
    found: list[Point] = []
    for p in points:
        if p is None or not abs(p[0]) + abs(p[1]) + abs(p[2]) < FARTHEST:
            return []
        found.append(p)
    return found


def _along(segments: list[tuple[bool, list[int]]], points: list[Point]) -> list[Point]:
    """The path through points along segments, each an arc or not, and the numbers of its points
    from 1; through all in turn where there are no segments. Empty where a number has no point."""
    path: list[Point] = []
    for is_arc, places in segments:
        if not all(0 < i <= len(points) for i in places):
            return []
        corners = [points[i - 1] for i in places]
        piece = _arc_through(*corners) if is_arc and len(corners) == 3 else corners
        path.extend(piece[1:] if path else piece)
    return path if segments else points


def developed_length(points: list[Point]) -> float:
    """The length along the points, metres."""
    return sum(math.dist(a, b) for a, b in itertools.pairwise(points))


def _near(a: Point, b: Point) -> bool:
    return math.dist(a, b) < 1e-6


def _arc_through(a: Point, b: Point, c: Point) -> list[Point]:
    """Points of the circular arc from a over b to c."""
    ab = (b[0] - a[0], b[1] - a[1], b[2] - a[2])
    ac = (c[0] - a[0], c[1] - a[1], c[2] - a[2])
    normal = cross(ab, ac)
    n2 = dot(normal, normal)
    if n2 < 1e-18:
        return [a, b, c]
    u = cross(normal, ab)
    v = cross(ac, normal)
    ka, kb = dot(ac, ac) / (2 * n2), dot(ab, ab) / (2 * n2)
    to_centre = (u[0] * ka + v[0] * kb, u[1] * ka + v[1] * kb, u[2] * ka + v[2] * kb)
    centre = (a[0] + to_centre[0], a[1] + to_centre[1], a[2] + to_centre[2])
    x = unit((a[0] - centre[0], a[1] - centre[1], a[2] - centre[2]))
    z = unit(normal)
    if x is None or z is None:
        return [a, b, c]
    y = cross(z, x)
    end = (c[0] - centre[0], c[1] - centre[1], c[2] - centre[2])
    sweep = math.atan2(dot(end, y), dot(end, x)) % (2 * math.pi)
    radius = math.dist(a, centre)
    steps = max(2, math.ceil(sweep / ARC_STEP))
    frame: Frame = x + y + z + centre
    return [
        to_world(frame, (radius * math.cos(t), radius * math.sin(t), 0.0))
        for t in (sweep * i / steps for i in range(steps + 1))
    ]
