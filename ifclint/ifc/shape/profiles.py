"""Profiles that are extruded: the circle of a pipe, the outline of a box.

Circles, rectangles and outlines of straight lines are read from their text, other profiles
through the library.
"""

from __future__ import annotations

import math
import re
from typing import Any

from ifclint.ifc.elements import Point
from ifclint.ifc.shape.curves import CurveReader
from ifclint.ifc.shape.frames import FARTHEST
from ifclint.ifc.shape.placement import Placements, to_world
from ifclint.ifc.step.entities import instance, ref
from ifclint.ifc.step.library import Library
from ifclint.ifc.step.spf import number
from ifclint.ifc.step.text_index import Ref, TextIndex

ROUNDNESS = 0.08  # a section this much out of round is no pipe
Round = tuple[Point, float, float | None]  # centre, outside and inside diameter of a profile
_KIND_AND_NAME = rb"\(\.\w+\.,(?:\$|'(?:[^']|'')*+'),"
_CIRCLE = re.compile(rb"IFCCIRCLEPROFILEDEF" + _KIND_AND_NAME + rb"(#\d+|\$),([^,()]+)\)")
_RECTANGLE = re.compile(
    rb"IFCRECTANGLEPROFILEDEF" + _KIND_AND_NAME + rb"(#\d+|\$),([^,()]+),([^,()]+)\)"
)
_CLOSED = re.compile(
    rb"IFCARBITRARY(?:CLOSEDPROFILEDEF|PROFILEDEFWITHVOIDS)" + _KIND_AND_NAME + rb"(#\d+)"
    rb"(?:,\([#\d,]+\))?\)"
)


class ProfileReader:
    """Profiles of one file, each read once; lengths in metres."""

    def __init__(
        self,
        library: Library,
        text: TextIndex,
        placements: Placements,
        curves: CurveReader,
        metres_per_unit: float,
    ) -> None:
        self._library = library
        self._text = text
        self._placements = placements
        self._curves = curves
        self._scale = metres_per_unit
        self._rounds: dict[Ref, Round | None] = {}
        self._outlines: dict[Ref, list[Point]] = {}

    def round(self, profile: Ref) -> Round | None:
        """Centre, outside and inside diameter of a round profile; None where it is not round."""
        if not profile:
            return None
        if profile not in self._rounds:
            text = self._text.get(profile)
            match = _CIRCLE.fullmatch(text) if text is not None else None
            self._rounds[profile] = (
                self._circle(number(match[1]), float(match[2]))
                if match
                else self._round_profile(self._library.whole.by_id(profile))
            )
        return self._rounds[profile]

    def _circle(self, position: Ref, radius: float, wall: float | None = None) -> Round | None:
        frame = self._placements.axis_placement(position)
        radius *= self._scale
        if frame is None or not 0.0 < radius < 50.0:
            return None
        thickness = wall * self._scale if wall is not None else 0.0
        inside = 2 * (radius - thickness) if 0 < thickness < radius else None
        return (frame[9], frame[10], frame[11]), 2 * radius, inside

    def _round_profile(self, profile: Any) -> Round | None:
        kind = profile.is_a()
        if kind in ("IfcCircleProfileDef", "IfcCircleHollowProfileDef"):
            wall = profile[4] if kind == "IfcCircleHollowProfileDef" else None
            return self._circle(ref(profile[2]), profile[3], wall)
        if kind in ("IfcArbitraryClosedProfileDef", "IfcArbitraryProfileDefWithVoids"):
            return self._arbitrary_profile(profile, kind)
        return None

    def _arbitrary_profile(self, profile: Any, kind: str) -> Round | None:
        outer = self._circle_of(profile[2])
        if outer is None:
            return None
        voids: Any = profile[3] if kind.endswith("WithVoids") else None
        inner = self._circle_of(voids[0]) if voids and len(voids) == 1 else None
        return outer[0], outer[1], inner[1] if inner else None

    def _circle_of(self, curve: Any) -> tuple[Point, float] | None:
        """Centre and diameter of a closed curve that is a circle, or close to one."""
        if curve.is_a() == "IfcCircle":
            frame = self._placements.axis_placement(ref(curve[0]))
            radius = curve[1] * self._scale
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
        """Corners that enclose a profile, in its plane; none where they cannot be told."""
        if profile not in self._outlines:
            self._outlines[profile] = self._read_outline(profile, self._text.get(profile) or b"")
        return self._outlines[profile]

    def _read_outline(self, profile: Ref, text: bytes) -> list[Point]:
        if match := _RECTANGLE.fullmatch(text):
            return self._rectangle(number(match[1]), float(match[2]), float(match[3]))
        if _CIRCLE.fullmatch(text):
            return _around(self.round(profile))
        if match := _CLOSED.fullmatch(text):
            return self._curves.points_of(number(match[1])) or _around(self.round(profile))
        return self._outline(instance(self._library.whole, profile))

    def _rectangle(self, position: Ref, width: float, height: float) -> list[Point]:
        frame = self._placements.axis_placement(position)
        w, h = width * self._scale / 2, height * self._scale / 2
        if frame is None or not (0.0 < abs(w) < FARTHEST and 0.0 < abs(h) < FARTHEST):
            return []
        return [to_world(frame, (i * w, j * h, 0.0)) for i in (-1, 1) for j in (-1, 1)]

    def _outline(self, profile: Any) -> list[Point]:
        """The same, of an entity of the library."""
        kind = profile.is_a() if profile is not None else ""
        closed = kind in ("IfcArbitraryClosedProfileDef", "IfcArbitraryProfileDefWithVoids")
        if closed and (points := self._curves.points(profile[2])):
            return points
        if kind.startswith(("IfcRectangle", "IfcRounded")):
            return self._rectangle(ref(profile[2]), profile[3], profile[4])
        return _around(self.round(ref(profile)))


def _around(circle: Round | None) -> list[Point]:
    if circle is None:
        return []
    (x, y, _), size, _ = circle
    return [(x + i * size / 2, y + j * size / 2, 0.0) for i in (-1, 1) for j in (-1, 1)]
