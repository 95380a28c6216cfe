"""The axis of a pipe from its representation: swept solids directly, meshes by a fitted cylinder.

No geometry kernel. Everything is in metres, in the coordinates of the element's placement.
"""

from __future__ import annotations

import itertools
import math
from typing import Any, NamedTuple

from ifclint.ifc.curves import ARC_STEP, CurveReader, developed_length
from ifclint.ifc.cylinders import fit_cylinder
from ifclint.ifc.damage import DAMAGE
from ifclint.ifc.elements import Point
from ifclint.ifc.entities import EntityPlacements, instance, ref
from ifclint.ifc.extrusions import EXTRUSION, boxes, read_extrusions, straight_axes
from ifclint.ifc.library import Library
from ifclint.ifc.meeting import Box, box_around
from ifclint.ifc.placement import IDENTITY, Frame, Placements, compose, rotate, to_world, turned
from ifclint.ifc.profiles import ProfileReader, Round
from ifclint.ifc.representations import RepresentationReader, Shown
from ifclint.ifc.spf import number
from ifclint.ifc.text_index import Ref, TextIndex
from ifclint.ifc.units import Units

DEEPEST = 10
EXTRUDED = "extruded solid"
BODIES = ("Body", "Facetation", "Body-FallBack", None, "")
LARGEST_BOX_M = 2_000.0  # nothing in or of a building is longer; our own bound, no source
BODILESS = ("Axis", "FootPrint", "Box", "CoG", "Clearance", "Annotation")  # around no body


class Axis(NamedTuple):
    """The centre line of a pipe, and its diameters where the shape tells them."""

    points: tuple[Point, ...]
    outside_m: float | None
    inside_m: float | None
    basis: str
    drawn: bool = True  # the shape was drawn by its author, not fitted by us

    @property
    def length_m(self) -> float:
        if len(self.points) == 2:
            return math.dist(*self.points)
        return developed_length(list(self.points))

    def moved(self, frame: Frame, scale: float = 1.0) -> Axis:
        points = tuple(
            to_world(frame, (x * scale, y * scale, z * scale)) for x, y, z in self.points
        )
        outside = self.outside_m * scale if self.outside_m else None
        inside = self.inside_m * scale if self.inside_m else None
        return Axis(points, outside, inside, self.basis, self.drawn)


class ShapeReader:
    """Reads the representations of one file; shared (mapped) ones once."""

    def __init__(
        self, library: Library, text: TextIndex, units: Units, placements: Placements
    ) -> None:
        self._library = library
        self._text = text
        self._scale = units.length
        self._shown = RepresentationReader(library, text)
        self._placements = placements
        self._place = EntityPlacements(placements)
        self._angle = units.factors.get("PLANEANGLEUNIT", 1.0)
        self._curves = CurveReader(library, text, placements, units.length, self._angle)
        self._boxes: dict[int, list[Point]] = {}
        self._mapped: dict[int, list[Axis]] = {}
        self._straight: dict[Ref, list[Axis]] = {}  # by the item
        self._single: dict[Ref, Axis] = {}  # by the definition
        self._profiles = ProfileReader(library, text, placements, self._curves, units.length)

    def read(self, definitions: list[Ref]) -> None:
        """Read the shapes of many elements at once, where they are plain."""
        self._shown.read(definitions)
        held = [self._shown.items(d, BODIES.__contains__) for d in definitions]
        solids = read_extrusions(self._text, self._scale, _flat(held))
        self._straight = {
            item: [Axis((a, b), outside, inside, EXTRUDED)]
            for item, (a, b, outside, inside) in straight_axes(solids, self._round).items()
        }
        for definition, items in zip(definitions, held, strict=True):
            if len(items) == 1 and items[0] in self._straight:
                self._single[definition] = self._straight[items[0]][0]

    def boxes(self, definitions: list[Ref], placements: list[Ref]) -> list[Box | None]:
        """The boxes of many elements at once, None where only `box` can tell."""
        axes, origins, known = self._placements.frames(placements)
        definitions = [d if there else 0 for d, there in zip(definitions, known, strict=True)]
        self._shown.read(definitions)
        held = [self._shown.items(d, lambda name: name not in BODILESS) for d in definitions]
        items, counts = _flat(held), _flat([[len(items)] for items in held])
        solids = read_extrusions(self._text, self._scale, items)
        found = boxes(solids, items, counts, axes, origins, self._outline)
        return [box and _if_real(box) for box in found]

    def _outline(self, profile: Ref) -> list[Point]:
        try:
            return self._profiles.outline(profile)
        except DAMAGE:
            return []  # told when the element is read

    def _round(self, profile: Ref) -> Round | None:
        try:
            return self._profiles.round(profile)
        except DAMAGE:
            return None  # told when the element is read

    def axis(self, definition: Ref) -> Axis | None:
        """The longest axis among the items of an IfcProductDefinitionShape."""
        single = self._single.get(definition)
        if single is not None:
            return single
        shown = self._shown.of(definition)
        axes = self._axes(shown)
        body = axes[0] if len(axes) == 1 else max(axes, key=lambda a: a.length_m, default=None)
        if body is not None and body.drawn:
            return body
        line = self._axis_curve(shown)
        return line if line is not None and line.length_m > 0 else body

    def axes(self, definition: Ref) -> list[Axis]:
        """The axes of all round items of the body, as they are drawn."""
        return self._axes(self._shown.of(definition))

    def _axes(self, shown: list[Shown]) -> list[Axis]:
        return [
            axis
            for identifier, items in shown
            if identifier in BODIES
            for item in items
            for axis in self._axes_of(item)
        ]

    def _axis_curve(self, shown: list[Shown]) -> Axis | None:
        for identifier, items in shown:
            if identifier == "Axis":
                for item in items:
                    points = self._curves.points(instance(self._library.whole, item))
                    if len(points) > 1:
                        return Axis(tuple(points), None, None, "axis representation")
        return None

    def _axes_of(self, item: Ref) -> list[Axis]:
        """The axes of an item: of an extrusion from its text, of others from the library."""
        if item in self._straight:
            return self._straight[item]
        text = self._text.get(item)
        if text is None or not text.startswith(EXTRUSION + b"("):
            return self._item(instance(self._library.whole, item))
        profile, position, way, depth = text[len(EXTRUSION) + 1 : -1].split(b",")
        axis = self._extruded(number(profile), number(position), number(way), float(depth))
        return [axis] if axis is not None else []

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
        return self._extruded(ref(solid[0]), ref(solid[1]), ref(solid[2]), solid[3])

    def _extruded(self, outline: Ref, position: Ref, direction: Ref, depth: float) -> Axis | None:
        profile = self._profiles.round(outline)
        frame = self._placements.axis_placement(position)
        way = self._placements.direction(direction) or (0.0, 0.0, 1.0)
        depth *= self._scale
        if profile is None or frame is None or not 0.0 < depth < 1e6:
            return None
        centre, outside, inside = profile
        far = (centre[0] + way[0] * depth, centre[1] + way[1] * depth, centre[2] + way[2] * depth)
        ends = (to_world(frame, centre), to_world(frame, far))
        return Axis(ends, outside, inside, EXTRUDED)

    def round_profile(self, profile: Ref) -> Round | None:
        """Centre, outside and inside diameter of a round profile; None where it is not round."""
        return self._profiles.round(profile)

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
        profile = self._profiles.round(ref(solid[0]))
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
            parts = self._library.whole.traverse(item)
            rows = [p[0] for p in parts if p.is_a() == "IfcCartesianPoint"]
        else:
            return []
        return list({(r[0] * scale, r[1] * scale, r[2] * scale) for r in rows if len(r) == 3})

    def box(self, definition: Ref, frame: Frame) -> Box | None:
        """The axis-aligned world box of a representation, where it is cheap to know and as large
        as something real."""
        corners: list[Point] = []
        for identifier, items in self._shown.of(definition):
            for item in items if identifier not in BODILESS else ():
                corners += self._corners_of(item, frame)
        if not corners:
            return None
        return _if_real(box_around(corners))

    def _corners_of(self, item: Ref, frame: Frame) -> list[Point]:
        text = self._text.get(item)
        if text is None or not text.startswith(EXTRUSION + b"("):
            return self._corners(self._library.whole.by_id(item), frame, 0)
        profile, position, way, depth = text[len(EXTRUSION) + 1 : -1].split(b",")
        outline = self._profiles.outline(number(profile))
        return self._raised(outline, number(position), number(way), float(depth), frame)

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
        outline = self._profiles.outline(ref(solid[0]))
        return self._raised(outline, ref(solid[1]), ref(solid[2]), solid[3], frame)

    def _raised(
        self, outline: list[Point], position: Ref, direction: Ref, depth: float, frame: Frame
    ) -> list[Point]:
        """World corners of an outline and of its image at the other end of an extrusion."""
        own = self._placements.axis_placement(position)
        way = self._placements.direction(direction) or (0.0, 0.0, 1.0)
        if own is None or not outline:
            return []
        world = compose(frame, own)
        up = rotate(world, way)
        depth *= self._scale
        base = [to_world(world, p) for p in outline]
        top = [(p[0] + up[0] * depth, p[1] + up[1] * depth, p[2] + up[2] * depth) for p in base]
        return base + top


def _if_real(box: Box) -> Box | None:
    """The box, unless it is larger than anything real."""
    low, high = box
    return box if all(b - a < LARGEST_BOX_M for a, b in zip(low, high, strict=True)) else None


def _flat(lists: list[list[int]]) -> Any:
    import numpy as np

    return np.array([number for part in lists for number in part], dtype=np.int64)


def inverse(f: Frame) -> Frame:
    """The frame that undoes a frame of unit axes."""
    turned: Frame = (f[0], f[3], f[6], f[1], f[4], f[7], f[2], f[5], f[8], 0.0, 0.0, 0.0)
    back = rotate(turned, (f[9], f[10], f[11]))
    return (*turned[:9], -back[0], -back[1], -back[2])
