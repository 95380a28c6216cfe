"""The axis of a pipe from an item of its shape: swept solids directly, meshes by a cylinder
or bent tube.

No geometry kernel. Everything is in metres, in the coordinates of the element's placement.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from ifclint.engineering.directions import foot
from ifclint.ifc.elements import Basis, Confidence, Point
from ifclint.ifc.shape.bent_tubes import LARGEST_RADIUS_M, fit_tube
from ifclint.ifc.shape.curves import ARC_STEP, CurveReader, developed_length
from ifclint.ifc.shape.cuts import (
    DIFFERENCE,
    HALF_SPACES,
    CutReader,
    cut_by,
    left_beside,
    left_of_round,
)
from ifclint.ifc.shape.cylinders import cylinder_of, fit_cylinder
from ifclint.ifc.shape.extrusions import DEEPEST_M
from ifclint.ifc.shape.items import ItemReader, Mapped
from ifclint.ifc.shape.placement import Frame, Placements, to_world, turned
from ifclint.ifc.shape.profiles import ProfileReader
from ifclint.ifc.step.spf import number
from ifclint.ifc.step.text_index import Ref

DEEPEST = 10
EXTRUDED = Basis("extruded solid", Confidence.SHAPE)
SWEPT = Basis("swept disk solid", Confidence.SHAPE)
REVOLVED = Basis("revolved solid", Confidence.SHAPE)
SOLID = Basis("solid cylinder", Confidence.SHAPE)
MESH = Basis("mesh", Confidence.SHAPE)
FACES = Basis("cylindrical faces", Confidence.SHAPE)
BOX = Basis("bounding box", Confidence.SHAPE)
ADVANCED = (b"IFCADVANCEDBREP", b"IFCADVANCEDBREPWITHVOIDS")
ON_LINE_M = 0.0005  # what lies this near a line is on it. Ours
SQUARE = 0.005  # sides of a box that differ less are equal: a fall makes them differ. Ours
UNION = b".UNION."


class Axis(NamedTuple):
    """The centre line of a pipe, and its diameters where the shape tells them."""

    points: tuple[Point, ...]
    outside_m: float | None
    inside_m: float | None
    basis: Basis
    drawn: bool = True  # the shape was drawn by its author, not fitted by us

    @property
    def length_m(self) -> float:
        if len(self.points) == 2:
            return math.dist(*self.points)
        return developed_length(list(self.points))

    def straightened(self) -> Axis:
        """The same of two points, where all between lie on the line from the first to the last, one
        after the other."""
        a, *between, b = self.points
        feet = [foot(p, a, b) for p in between]
        shares = [share for _, share in feet]
        is_straight = shares == sorted(shares) and all(
            math.dist(p, on_line) <= ON_LINE_M
            for p, (on_line, _) in zip(between, feet, strict=True)
        )
        return self._replace(points=(a, b)) if between and is_straight else self

    def moved(self, frame: Frame) -> Axis:
        points = tuple([to_world(frame, p) for p in self.points])
        return Axis(points, self.outside_m, self.inside_m, self.basis, self.drawn)

    def mapped(self, to: Mapped) -> Axis:
        outside = self.outside_m * to.scale if self.outside_m and to.scale else None
        inside = self.inside_m * to.scale if self.inside_m and to.scale else None
        points = tuple([to.place(p) for p in self.points])
        return Axis(points, outside, inside, self.basis, self.drawn)


class SolidReader:
    """Axes of the items of one file; shared (mapped) ones are read once."""

    def __init__(
        self,
        items: ItemReader,
        placements: Placements,
        curves: CurveReader,
        profiles: ProfileReader,
        metres_per_unit: float,
        radians_per_unit: float,
    ) -> None:
        self._items = items
        self._placements = placements
        self._curves = curves
        self._profiles = profiles
        self._scale = metres_per_unit
        self._angle = radians_per_unit
        self._cuts = CutReader(items, placements, curves, profiles, metres_per_unit)
        self._mapped: dict[Ref, list[Axis]] = {}

    def axes(self, item: Ref, depth: int = 0) -> list[Axis]:
        """The axes of an item: one, of a mapped shape as many as it has round items."""
        name, written = self._items.written(item)
        if not name or depth > DEEPEST:
            return []
        if name == b"IFCMAPPEDITEM":
            return self._of_mapped(self._items.mapped(written), depth)
        if name in (b"IFCBOOLEANRESULT", b"IFCBOOLEANCLIPPINGRESULT"):
            return self._boolean(written, depth + 1)
        if name == b"IFCCSGSOLID":
            return self.axes(number(written[0]), depth + 1)
        if name in (b"IFCEXTRUDEDAREASOLID", b"IFCEXTRUDEDAREASOLIDTAPERED"):
            axis = self._extrusion(written)
        elif name in (b"IFCSWEPTDISKSOLID", b"IFCSWEPTDISKSOLIDPOLYGONAL"):
            axis = self._swept_disk(written)
        elif name == b"IFCREVOLVEDAREASOLID":
            axis = self._revolution(written)
        elif name == b"IFCRIGHTCIRCULARCYLINDER":
            axis = self._cylinder(written)
        elif name in ADVANCED:
            axis = self._faces(item)
        else:
            axis = self._mesh(item)
        return [axis] if axis is not None else []

    def _of_mapped(self, mapped: Mapped, depth: int) -> list[Axis]:
        if mapped.source not in self._mapped:
            found = [axis for i in mapped.items for axis in self.axes(i, depth + 1)]
            self._mapped[mapped.source] = found
        return [axis.mapped(mapped) for axis in self._mapped[mapped.source]]

    def _boolean(self, written: list[bytes], depth: int) -> list[Axis]:
        """What is left of the axes of a body that another is taken from, or cuts to itself; none of
        which the ends are not known then."""
        operator, (body, other) = written[0], map(number, written[1:3])
        whole = self.axes(body, depth)
        if operator == UNION:
            return whole + self.axes(other, depth)
        found = [(axis, self._left(axis, operator == DIFFERENCE, other, depth)) for axis in whole]
        return [axis._replace(points=points) for axis, points in found if points]

    def _left(self, axis: Axis, taken: bool, other: Ref, depth: int) -> tuple[Point, ...]:
        name, _ = self._items.written(other)
        if name in HALF_SPACES:
            space = self._cuts.half_space(other)
            return cut_by(axis.points, space, taken) if space is not None else ()
        if not taken:
            return ()
        rounds = [(a.points, a.outside_m) for a in self.axes(other, depth) if a.outside_m]
        if len(rounds) == 1 and axis.outside_m:
            left = left_of_round(axis.points, axis.outside_m, *rounds[0])
            if left is not None:
                return left
        return left_beside(axis.points, self._cuts.corners(other))

    def _extrusion(self, written: list[bytes]) -> Axis | None:
        profile = self._profiles.round(number(written[0]))
        frame = self._placements.axis_placement(number(written[1]))
        x, y, z = self._placements.direction(number(written[2])) or (0.0, 0.0, 1.0)
        depth = float(written[3]) * self._scale
        if profile is None or frame is None or not 0.0 < depth < DEEPEST_M:
            return None
        centre, outside, inside = profile
        far = (centre[0] + x * depth, centre[1] + y * depth, centre[2] + z * depth)
        return Axis((to_world(frame, centre), to_world(frame, far)), outside, inside, EXTRUDED)

    def _cylinder(self, written: list[bytes]) -> Axis | None:
        frame = self._placements.axis_placement(number(written[0]))
        height, radius = (float(side) * self._scale for side in written[1:3])
        if frame is None or not 0.0 < height < DEEPEST_M or not 0.0 < radius < LARGEST_RADIUS_M:
            return None
        ends = (0.0, 0.0, 0.0), (0.0, 0.0, height)
        return Axis((to_world(frame, ends[0]), to_world(frame, ends[1])), 2 * radius, None, SOLID)

    def _swept_disk(self, written: list[bytes]) -> Axis | None:
        points = self._curves.directrix(number(written[0]), written[3:5])
        radius = float(written[1]) * self._scale
        if len(points) < 2 or not 0.0 < radius < LARGEST_RADIUS_M:
            return None
        bore = 0.0 if written[2] == b"$" else 2 * float(written[2]) * self._scale
        return Axis(tuple(points), 2 * radius, bore or None, SWEPT)

    def _revolution(self, written: list[bytes]) -> Axis | None:
        """A round profile turned about an axis: an elbow."""
        profile = self._profiles.round(number(written[0]))
        frame = self._placements.axis_placement(number(written[1]))
        _, about = self._items.written(number(written[2]))
        if profile is None or frame is None or len(about) != 2:
            return None
        pivot = self._placements.point(number(about[0]))
        direction = self._placements.direction(number(about[1])) or (0.0, 0.0, 1.0)
        sweep = float(written[3]) * self._angle
        if pivot is None or not 0.0 < sweep <= 2 * math.pi:
            return None
        steps = max(2, math.ceil(sweep / ARC_STEP))
        turns = (turned(profile[0], pivot, direction, sweep * i / steps) for i in range(steps + 1))
        points = tuple(to_world(frame, p) for p in turns)
        return Axis(points, profile[1], profile[2], REVOLVED)

    def in_box(self, item: Ref) -> Axis | None:
        """The axis of a pipe of which only a bounding box is drawn: along the longest side of one
        whose others are equal, its diameter. Any other box does not tell how the pipe lies."""
        box = self._items.bounding_box(item)
        if box is None or not 0.0 < min(box[1]) <= max(box[1]) < DEEPEST_M:
            return None
        low, sides = box
        (one, _), (other, _), (longest, k) = sorted((side, n) for n, side in enumerate(sides))
        if other - one > SQUARE * other or longest - other <= SQUARE * longest:
            return None
        x, y, z = (c + (0.0 if n == k else sides[n] / 2) for n, c in enumerate(low))
        far = [x, y, z]
        far[k] += longest
        return Axis(((x, y, z), (far[0], far[1], far[2])), other, None, BOX, drawn=False)

    def _faces(self, item: Ref) -> Axis | None:
        found = cylinder_of(self._items, self._placements, self._scale, item)
        if found is None:
            return None
        return Axis(found.ends, found.outside_m, found.inside_m, FACES)

    def _mesh(self, item: Ref) -> Axis | None:
        vertices = self._items.vertices(item)
        if len(vertices) < 12:
            return None
        if fitted := fit_cylinder(vertices):
            return Axis(fitted.ends, fitted.outside_m, fitted.inside_m, MESH, drawn=False)
        tube = fit_tube(*self._items.faces(item))
        return Axis(tube.points, tube.outside_m, None, MESH, drawn=False) if tube else None
