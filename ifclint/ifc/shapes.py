"""The axis of a pipe from its representation: swept solids directly, meshes by a fitted cylinder.

No geometry kernel. Everything is in metres, in the coordinates of the element's placement.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from typing import Any

from ifclint.ifc.curves import ARC_STEP, CurveReader, developed_length
from ifclint.ifc.cylinders import fit_cylinder
from ifclint.ifc.elements import Point
from ifclint.ifc.entities import EntityPlacements
from ifclint.ifc.placement import IDENTITY, Frame, compose, rotate, to_world, turned
from ifclint.ifc.units import Units

DEEPEST = 10
BODIES = ("Body", "Facetation", "Body-FallBack", None, "")
ROUNDNESS = 0.08  # a section this much out of round is no pipe


@dataclass(frozen=True, slots=True)
class Axis:
    """The centre line of a pipe, and its diameters where the shape tells them."""

    points: tuple[Point, ...]
    outside_m: float | None
    inside_m: float | None
    basis: str
    drawn: bool = True  # the shape was drawn by its author, not fitted by us

    @property
    def length_m(self) -> float:
        return developed_length(list(self.points))

    def moved(self, frame: Frame, scale: float = 1.0) -> Axis:
        points = tuple(
            to_world(frame, (x * scale, y * scale, z * scale)) for x, y, z in self.points
        )
        outside = self.outside_m * scale if self.outside_m else None
        inside = self.inside_m * scale if self.inside_m else None
        return replace(self, points=points, outside_m=outside, inside_m=inside)


class ShapeReader:
    """Reads the representations of one file; shared (mapped) ones once."""

    def __init__(self, ifc: Any, units: Units, place: EntityPlacements) -> None:
        self._ifc = ifc
        self._scale = units.length
        self._place = place
        self._angle = units.factors.get("PLANEANGLEUNIT", 1.0)
        self._curves = CurveReader(place, units.length, self._angle)
        self._boxes: dict[int, list[Point]] = {}
        self._mapped: dict[int, list[Axis]] = {}
        self._profiles: dict[int, tuple[Point, float, float | None] | None] = {}

    def axis(self, definition: Any) -> Axis | None:
        """The longest axis among the items of an IfcProductDefinitionShape."""
        body = max(self.axes(definition), key=lambda a: a.length_m, default=None)
        if body is not None and body.drawn:
            return body
        line = self._axis_curve(definition)
        return line if line is not None and line.length_m > 0 else body

    def axes(self, definition: Any) -> list[Axis]:
        """The axes of all round items of the body, as they are drawn."""
        if definition is None:
            return []
        return [
            axis
            for representation in definition[2] or ()
            if representation[1] in BODIES
            for item in representation[3] or ()
            for axis in self._item(item)
        ]

    def _axis_curve(self, definition: Any) -> Axis | None:
        for representation in (definition[2] or ()) if definition is not None else ():
            if representation[1] == "Axis":
                for item in representation[3] or ():
                    points = self._curves.points(item)
                    if len(points) > 1:
                        return Axis(tuple(points), None, None, "axis representation")
        return None

    def _item(self, item: Any, depth: int = 0) -> list[Axis]:
        if item is None or depth > DEEPEST:
            return []
        kind = item.is_a()
        if kind == "IfcMappedItem":
            return self._mapped_item(item, depth)
        if kind in ("IfcBooleanResult", "IfcBooleanClippingResult"):
            return self._item(item[1], depth + 1)
        if kind == "IfcCsgSolid":
            return self._item(item[0], depth + 1)
        if kind in ("IfcExtrudedAreaSolid", "IfcExtrudedAreaSolidTapered"):
            axis = self._extrusion(item)
        elif kind in ("IfcSweptDiskSolid", "IfcSweptDiskSolidPolygonal"):
            axis = self._swept_disk(item)
        elif kind == "IfcRevolvedAreaSolid":
            axis = self._revolution(item)
        else:
            axis = self._mesh(item, kind)
        return [axis] if axis is not None else []

    def _extrusion(self, solid: Any) -> Axis | None:
        profile = self.round_profile(solid[0])
        frame = self._place.axis_placement(solid[1])
        way = self._place.direction(solid[2]) or (0.0, 0.0, 1.0)
        depth = solid[3] * self._scale
        if profile is None or frame is None or not 0.0 < depth < 1e6:
            return None
        centre, outside, inside = profile
        far = (centre[0] + way[0] * depth, centre[1] + way[1] * depth, centre[2] + way[2] * depth)
        ends = (to_world(frame, centre), to_world(frame, far))
        return Axis(ends, outside, inside, "extruded solid")

    def round_profile(self, profile: Any) -> tuple[Point, float, float | None] | None:
        """Centre, outside and inside diameter of a round profile; None where it is not round."""
        if profile is None:
            return None
        key = profile.id()
        if key not in self._profiles:
            self._profiles[key] = self._round_profile(profile)
        return self._profiles[key]

    def _round_profile(self, profile: Any) -> tuple[Point, float, float | None] | None:
        kind = profile.is_a()
        if kind in ("IfcCircleProfileDef", "IfcCircleHollowProfileDef"):
            frame = self._place.axis_placement(profile[2])
            radius = profile[3] * self._scale
            if frame is None or not 0.0 < radius < 50.0:
                return None
            wall = profile[4] * self._scale if kind == "IfcCircleHollowProfileDef" else None
            inside = 2 * (radius - wall) if wall is not None and 0 < wall < radius else None
            return (frame[9], frame[10], frame[11]), 2 * radius, inside
        if kind in ("IfcArbitraryClosedProfileDef", "IfcArbitraryProfileDefWithVoids"):
            return self._arbitrary_profile(profile, kind)
        return None

    def _arbitrary_profile(
        self, profile: Any, kind: str
    ) -> tuple[Point, float, float | None] | None:
        outer = self._circle_of(profile[2])
        if outer is None:
            return None
        voids: Any = profile[3] if kind.endswith("WithVoids") else None
        inner = self._circle_of(voids[0]) if voids and len(voids) == 1 else None
        return outer[0], outer[1], inner[1] if inner else None

    def _circle_of(self, curve: Any) -> tuple[Point, float] | None:
        """Centre and diameter of a closed curve that is a circle, or close to one."""
        if curve.is_a() == "IfcCircle":
            frame = self._place.axis_placement(curve[0])
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

    def _swept_disk(self, solid: Any) -> Axis | None:
        points = self._curves.points(solid[0])
        radius = solid[1] * self._scale
        if len(points) < 2 or not 0.0 < radius < 50.0:
            return None
        inside = 2 * solid[2] * self._scale if solid[2] else None
        return Axis(tuple(points), 2 * radius, inside, "swept disk solid")

    def _mapped_item(self, item: Any, depth: int) -> list[Axis]:
        source, target = item[0], item[1]
        key = source.id()
        if key not in self._mapped:
            items = (source[1][3] or ()) if source[1] is not None else ()
            origin = inverse(self._place.axis_placement(source[0]) or IDENTITY)
            axes = [a.moved(origin) for i in items for a in self._item(i, depth + 1)]
            self._mapped[key] = axes
        frame, scale = self._operator(target)
        return [axis.moved(frame, scale) for axis in self._mapped[key]]

    def _revolution(self, solid: Any) -> Axis | None:
        """A round profile turned about an axis: an elbow."""
        profile = self.round_profile(solid[0])
        frame = self._place.axis_placement(solid[1])
        if profile is None or frame is None or solid[2] is None:
            return None
        pivot = self._place.point(solid[2][0])
        about = self._place.direction(solid[2][1]) or (0.0, 0.0, 1.0)
        sweep = solid[3] * self._angle
        if pivot is None or not 0.0 < sweep <= 2 * math.pi:
            return None
        steps = max(2, math.ceil(sweep / ARC_STEP))
        turns = (turned(profile[0], pivot, about, sweep * i / steps) for i in range(steps + 1))
        points = tuple(to_world(frame, p) for p in turns)
        return Axis(points, profile[1], profile[2], "revolved solid")

    def _operator(self, target: Any) -> tuple[Frame, float]:
        """An IfcCartesianTransformationOperator3D as a frame and a scale."""
        if target is None or not target.is_a("IfcCartesianTransformationOperator3D"):
            return IDENTITY, 1.0
        origin = self._place.point(target[2]) or (0.0, 0.0, 0.0)
        x = self._place.direction(target[0]) or (1.0, 0.0, 0.0)
        y = self._place.direction(target[1]) or (0.0, 1.0, 0.0)
        z = self._place.direction(target[4]) or (
            x[1] * y[2] - x[2] * y[1], x[2] * y[0] - x[0] * y[2], x[0] * y[1] - x[1] * y[0],
        )  # fmt: skip
        return x + y + z + origin, float(target[3] or 1.0)

    def _mesh(self, item: Any, kind: str) -> Axis | None:
        vertices = self.vertices(item, kind)
        fitted = fit_cylinder(vertices) if len(vertices) >= 12 else None
        if fitted is None:
            return None
        return Axis(fitted.ends, fitted.outside_m, fitted.inside_m, "mesh", drawn=False)

    def vertices(self, item: Any, kind: str) -> list[Point]:
        """The corners of a faceted item, each once, metres."""
        scale = self._scale
        if kind in (
            "IfcTriangulatedFaceSet",
            "IfcPolygonalFaceSet",
            "IfcTriangulatedIrregularNetwork",
        ):
            rows = item[0][0]
        elif kind in ("IfcFacetedBrep", "IfcFacetedBrepWithVoids", "IfcShellBasedSurfaceModel",
                      "IfcFaceBasedSurfaceModel", "IfcAdvancedBrep"):  # fmt: skip
            parts = self._ifc.traverse(item)
            rows = [p[0] for p in parts if p.is_a() == "IfcCartesianPoint"]
        else:
            return []
        return list({(r[0] * scale, r[1] * scale, r[2] * scale) for r in rows if len(r) == 3})

    def box(self, definition: Any, frame: Frame) -> tuple[Point, Point] | None:
        """The axis-aligned world box of a representation, where it is cheap to know."""
        corners: list[Point] = []
        for representation in (definition[2] or ()) if definition is not None else ():
            for item in representation[3] or ():
                corners += self._corners(item, frame, 0)
        if not corners:
            return None
        low = tuple(min(p[i] for p in corners) for i in range(3))
        high = tuple(max(p[i] for p in corners) for i in range(3))
        return (low[0], low[1], low[2]), (high[0], high[1], high[2])

    def _corners(self, item: Any, frame: Frame, depth: int) -> list[Point]:
        kind = item.is_a()
        if depth > DEEPEST:
            return []
        if kind == "IfcExtrudedAreaSolid":
            return self._extrusion_corners(item, frame)
        if kind in ("IfcBooleanResult", "IfcBooleanClippingResult"):
            return self._corners(item[1], frame, depth + 1)
        if kind == "IfcMappedItem":
            moved, _ = self._operator(item[1])
            inner = compose(frame, moved)
            return [to_world(inner, c) for c in self._mapped_corners(item[0], depth)]
        return [to_world(frame, p) for p in self.vertices(item, kind)]

    def _mapped_corners(self, source: Any, depth: int) -> list[Point]:
        """The corners of the box of a shared shape, in its own coordinates; found once."""
        key = source.id()
        if key not in self._boxes:
            found = [c for i in source[1][3] or () for c in self._corners(i, IDENTITY, depth + 1)]
            spans = [(min(axis), max(axis)) for axis in zip(*found, strict=True)]
            self._boxes[key] = [(c[0], c[1], c[2]) for c in itertools.product(*spans) if found]
        return self._boxes[key]

    def _extrusion_corners(self, solid: Any, frame: Frame) -> list[Point]:
        own = self._place.axis_placement(solid[1])
        outline = self._outline(solid[0])
        way = self._place.direction(solid[2]) or (0.0, 0.0, 1.0)
        if own is None or not outline:
            return []
        world = compose(frame, own)
        up = rotate(world, way)
        depth = solid[3] * self._scale
        base = [to_world(world, p) for p in outline]
        top = [(p[0] + up[0] * depth, p[1] + up[1] * depth, p[2] + up[2] * depth) for p in base]
        return base + top

    def _outline(self, profile: Any) -> list[Point]:
        """Corners that enclose a profile, in its plane."""
        kind = profile.is_a()
        if (kind.startswith("IfcArbitrary") and "Closed" in kind) or kind.endswith("WithVoids"):
            return self._curves.points(profile[2])
        round_profile = self.round_profile(profile)
        if round_profile is not None:
            (x, y, _), size, _ = round_profile
            return [(x + i * size / 2, y + j * size / 2, 0.0) for i in (-1, 1) for j in (-1, 1)]
        if kind.startswith(("IfcRectangle", "IfcRounded")):
            frame = self._place.axis_placement(profile[2]) or IDENTITY
            w, h = profile[3] * self._scale / 2, profile[4] * self._scale / 2
            return [to_world(frame, (i * w, j * h, 0.0)) for i in (-1, 1) for j in (-1, 1)]
        return []


def inverse(f: Frame) -> Frame:
    """The frame that undoes a frame of unit axes."""
    turned: Frame = (f[0], f[3], f[6], f[1], f[4], f[7], f[2], f[5], f[8], 0.0, 0.0, 0.0)
    back = rotate(turned, (f[9], f[10], f[11]))
    return (*turned[:9], -back[0], -back[1], -back[2])
