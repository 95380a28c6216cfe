"""Curves of an IFC representation as points along them, in metres."""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterable, Sequence
from typing import Any

from ifclint.ifc.elements import Point
from ifclint.ifc.shape.frames import FARTHEST
from ifclint.ifc.shape.placement import Frame, Placements, cross, dot, to_world, unit
from ifclint.ifc.step.entities import instance, ref
from ifclint.ifc.step.library import Library
from ifclint.ifc.step.spf import number, numbers
from ifclint.ifc.step.text_index import Ref, TextIndex

ARC_STEP = math.radians(4.0)  # chords this short keep a developed length within 0.02 %
DEEPEST = 12
_POLYLINE = re.compile(rb"IFCPOLYLINE\(\(((?:#\d+,)*#\d+)\)\)")
_INDEXED = re.compile(  # of straight segments
    rb"IFCINDEXEDPOLYCURVE\((#\d+),(?:\$|\(((?:,?IFCLINEINDEX\(\([\d,]+\)\))+)\)),[^(),]*\)"
)
_POINT_LIST = re.compile(rb"IFCCARTESIANPOINTLIST[23]D\(\(((?:,?\([^()']*\))+)\)(?:,\$)?\)")
_IN_PARENTHESES = re.compile(rb"\(([^()]+)\)")


class EntityPlacements:
    """`Placements` for whoever holds entities instead of references."""

    def __init__(self, placements: Placements) -> None:
        self._placements = placements

    def axis_placement(self, placement: Any) -> Frame | None:
        return self._placements.axis_placement(ref(placement))

    def point(self, point: Any) -> Point | None:
        return self._placements.point(ref(point))

    def direction(self, direction: Any) -> Point | None:
        return self._placements.direction(ref(direction))


class CurveReader:
    """Curves of one file: those of straight lines from their text, others from the library."""

    def __init__(
        self,
        library: Library,
        text: TextIndex,
        placements: Placements,
        metres_per_unit: float,
        radians_per_unit: float,
    ) -> None:
        self._library = library
        self._text = text
        self._placements = placements
        self._place = EntityPlacements(placements)
        self._length = metres_per_unit
        self._angle = radians_per_unit

    def points_of(self, curve: Ref) -> list[Point]:
        """Points from one end of the curve to the other; empty where it cannot be followed."""
        text = self._text.get(curve) or b""
        if match := _POLYLINE.fullmatch(text):
            return _all_or_none(map(self._placements.point, numbers(match[1])))
        if (match := _INDEXED.fullmatch(text)) and (points := self._listed(number(match[1]))):
            lines = [_whole_numbers(m) for m in _IN_PARENTHESES.findall(match[2] or b"")]
            return _along([(False, line) for line in lines], points)
        return self.points(instance(self._library.whole, curve))

    def _listed(self, point_list: Ref) -> list[Point]:
        """The points of a list that is written in the usual way; else none."""
        match = _POINT_LIST.fullmatch(self._text.get(point_list) or b"")
        rows = _IN_PARENTHESES.findall(match[1]) if match else []
        try:
            return self._scaled([float(c) for c in row.split(b",")] for row in rows)
        except ValueError:
            return []

    def points(self, curve: Any, depth: int = 0) -> list[Point]:
        """Points from one end of the curve to the other; empty where it cannot be followed."""
        if curve is None or depth > DEEPEST:
            return []
        kind = curve.is_a()
        if kind == "IfcPolyline":
            return _all_or_none(map(self._place.point, curve[0]))
        if kind == "IfcIndexedPolyCurve":
            return self._indexed(curve)
        if kind == "IfcTrimmedCurve":
            return self._trimmed(curve)
        if kind == "IfcCompositeCurve":
            return self._composite(curve, depth)
        if kind.startswith(("IfcBSplineCurve", "IfcRationalBSplineCurve")):
            return _all_or_none(map(self._place.point, curve[1]))
        return []

    def _composite(self, curve: Any, depth: int) -> list[Point]:
        path: list[Point] = []
        for segment in curve[0]:
            if not segment.is_a("IfcCompositeCurveSegment"):
                return []
            piece = self.points(segment[2], depth + 1)
            if not segment[1]:
                piece.reverse()
            path.extend(piece[1:] if path and piece and _near(path[-1], piece[0]) else piece)
        return path

    def _indexed(self, curve: Any) -> list[Point]:
        segments = [(s.is_a() == "IfcArcIndex", s[0]) for s in curve[1] or ()]
        return _along(segments, self._scaled(curve[0][0]))

    def _scaled(self, rows: Iterable[Iterable[float]]) -> list[Point]:
        """Points in metres of rows of two or three coordinates."""
        given = [(*(c * self._length for c in row), 0.0)[:3] for row in rows]
        return _all_or_none((x, y, z) for x, y, z in given)

    def _trimmed(self, curve: Any) -> list[Point]:
        basis, forward = curve[0], bool(curve[3])
        if basis.is_a() == "IfcLine":
            return self._line(basis, curve[1], curve[2])
        if basis.is_a() == "IfcCircle":
            return self._circle_arc(basis, curve[1], curve[2], forward)
        return self.points(basis, 1)

    def _line(self, line: Any, trim1: Any, trim2: Any) -> list[Point]:
        start = self._place.point(line[0])
        way = self._place.direction(line[1][0])
        if start is None or way is None:
            return []
        step = line[1][1] * self._length
        ends = []
        for trim in (trim1, trim2):
            at = self._trim_point(trim)
            if at is None:
                t = (_trim_parameter(trim) or 0.0) * step
                at = (start[0] + way[0] * t, start[1] + way[1] * t, start[2] + way[2] * t)
            ends.append(at)
        return ends

    def _circle_arc(self, circle: Any, trim1: Any, trim2: Any, forward: bool) -> list[Point]:
        frame = self._place.axis_placement(circle[0])
        if frame is None:
            return []
        radius = circle[1] * self._length
        first, last = (self._angle_of(t, frame) for t in (trim1, trim2))
        if first is None or last is None:
            return []
        sweep = (last - first) if forward else (first - last)
        sweep = sweep % (2 * math.pi) or 2 * math.pi
        steps = max(2, math.ceil(sweep / ARC_STEP))
        turn = sweep / steps if forward else -sweep / steps
        angles = (first + turn * i for i in range(steps + 1))
        return [to_world(frame, (radius * math.cos(a), radius * math.sin(a), 0.0)) for a in angles]

    def _angle_of(self, trim: Any, frame: Frame) -> float | None:
        parameter = _trim_parameter(trim)
        if parameter is not None:
            return parameter * self._angle
        at = self._trim_point(trim)
        if at is None:
            return None
        r = (at[0] - frame[9], at[1] - frame[10], at[2] - frame[11])
        return math.atan2(
            dot(r, (frame[3], frame[4], frame[5])), dot(r, (frame[0], frame[1], frame[2]))
        )

    def _trim_point(self, trim: Any) -> Point | None:
        for t in trim or ():
            if hasattr(t, "is_a") and t.is_a() == "IfcCartesianPoint":
                return self._place.point(t)
        return None


def _trim_parameter(trim: Any) -> float | None:
    for t in trim or ():
        if hasattr(t, "is_a") and t.is_a() == "IfcParameterValue":
            return float(t[0])
    return None


def _all_or_none(points: Iterable[Point | None]) -> list[Point]:
    """The points, or none where one is not known or lies beyond all reason."""
    found: list[Point] = []
    for p in points:
        if p is None or not abs(p[0]) + abs(p[1]) + abs(p[2]) < FARTHEST:
            return []
        found.append(p)
    return found


def _whole_numbers(text: bytes) -> list[int]:
    return [int(n) for n in text.split(b",") if n]


def _along(segments: list[tuple[bool, Sequence[int]]], points: list[Point]) -> list[Point]:
    """The way through points along segments, each an arc or not, and the numbers of its points
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
