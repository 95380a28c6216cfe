"""Profiles that are extruded: the circle of a pipe, the outline of a box."""

import math

from ifclint.ifc.elements import Point
from ifclint.ifc.shape.curves import CurveReader
from ifclint.ifc.shape.frames import FARTHEST
from ifclint.ifc.shape.placement import Placements, to_world
from ifclint.ifc.step.spf import number, numbers
from ifclint.ifc.step.text_index import Ref

ROUNDNESS = 0.08  # a section this much out of round is no pipe
RoundProfile = tuple[Point, float, float | None]  # centre, outside and inside diameter of a profile
CIRCLES = (b"IFCCIRCLEPROFILEDEF", b"IFCCIRCLEHOLLOWPROFILEDEF")
CLOSED = (b"IFCARBITRARYCLOSEDPROFILEDEF", b"IFCARBITRARYPROFILEDEFWITHVOIDS")
RECTANGLES = (b"IFCRECTANGLE", b"IFCROUNDED")


class ProfileReader:
    """Profiles of one file, each read once; lengths in metres."""

    def __init__(self, placements: Placements, curves: CurveReader, metres_per_unit: float) -> None:
        self._placements = placements
        self._curves = curves
        self._scale = metres_per_unit
        self._rounds: dict[Ref, RoundProfile | None] = {}
        self._outlines: dict[Ref, list[Point]] = {}

    def round(self, profile: Ref) -> RoundProfile | None:
        """Centre, outside and inside diameter of a round profile; None where it is not round.

        Raises ValueError where there is no such profile.
        """
        if profile and profile not in self._rounds:
            self._rounds[profile] = self._read_round(profile)
        return self._rounds.get(profile)

    def _read_round(self, profile: Ref) -> RoundProfile | None:
        kind, written = self._curves.written(profile)
        if not kind:
            raise ValueError(f"there is no profile #{profile}")
        if kind in CIRCLES:
            wall = float(written[4]) if len(written) > 4 else None
            return self._circle(number(written[2]), float(written[3]), wall)
        if kind not in CLOSED:
            return None
        outer = self._circle_of(number(written[2]))
        voids = numbers(written[3][1:-1]) if len(written) > 3 else []
        inner = self._circle_of(voids[0]) if outer and len(voids) == 1 else None
        return (outer[0], outer[1], inner[1] if inner else None) if outer else None

    def _circle(
        self, position: Ref, radius: float, wall: float | None = None
    ) -> RoundProfile | None:
        frame = self._placements.axis_placement(position)
        radius *= self._scale
        if frame is None or not 0.0 < radius < 50.0:
            return None
        thickness = wall * self._scale if wall is not None else 0.0
        inside = 2 * (radius - thickness) if 0 < thickness < radius else None
        return (frame[9], frame[10], frame[11]), 2 * radius, inside

    def _circle_of(self, curve: Ref) -> tuple[Point, float] | None:
        """Centre and diameter of a closed curve that is a circle, or close to one."""
        kind, written = self._curves.written(curve)
        if not kind:
            raise ValueError(f"there is no curve #{curve}")
        if kind == b"IFCCIRCLE":
            frame = self._placements.axis_placement(number(written[0]))
            radius = float(written[1]) * self._scale
            return ((frame[9], frame[10], frame[11]), 2 * radius) if frame else None
        points = self._curves.points(curve)
        if len(points) < 7:
            return None
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        centre = ((max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2, 0.0)
        radii = [math.hypot(p[0] - centre[0], p[1] - centre[1]) for p in points]
        if max(radii) <= 0 or min(radii) < (1 - ROUNDNESS) * max(radii):
            return None
        return centre, 2 * max(radii)

    def outline(self, profile: Ref) -> list[Point]:
        """Corners that enclose a profile, in its plane; none where they cannot be known."""
        if profile not in self._outlines:
            self._outlines[profile] = self._read_outline(profile)
        return self._outlines[profile]

    def _read_outline(self, profile: Ref) -> list[Point]:
        kind, written = self._curves.written(profile)
        if not kind:
            return []
        if kind.startswith(RECTANGLES):
            return self._rectangle(number(written[2]), float(written[3]), float(written[4]))
        if kind in CLOSED and (points := self._curves.points(number(written[2]))):
            return points
        return _around(self.round(profile))

    def _rectangle(self, position: Ref, width: float, height: float) -> list[Point]:
        frame = self._placements.axis_placement(position)
        w, h = width * self._scale / 2, height * self._scale / 2
        if frame is None or not (0.0 < abs(w) < FARTHEST and 0.0 < abs(h) < FARTHEST):
            return []
        return [to_world(frame, (i * w, j * h, 0.0)) for i in (-1, 1) for j in (-1, 1)]


def _around(circle: RoundProfile | None) -> list[Point]:
    if circle is None:
        return []
    (x, y, _), size, _ = circle
    return [(x + i * size / 2, y + j * size / 2, 0.0) for i in (-1, 1) for j in (-1, 1)]
