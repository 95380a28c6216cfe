"""The corners around an item of a shape, from its text, so that a box can be put around it."""

import itertools

from ifclint.engineering.extents import box_around
from ifclint.ifc.elements import Point
from ifclint.ifc.shape.curves import CurveReader
from ifclint.ifc.shape.items import ItemReader
from ifclint.ifc.shape.placement import IDENTITY, Frame, Placements, compose, rotate, to_world
from ifclint.ifc.shape.profiles import ProfileReader
from ifclint.ifc.step.spf import number
from ifclint.ifc.step.text_index import Ref

DEEPEST = 10
ADVANCED = b"IFCADVANCEDBREP"


class BoundingBoxReader:
    """Corners of the items of one file, in the coordinates of the element's placement."""

    def __init__(
        self,
        items: ItemReader,
        placements: Placements,
        profiles: ProfileReader,
        curves: CurveReader,
        metres_per_unit: float,
    ) -> None:
        self._items = items
        self._placements = placements
        self._profiles = profiles
        self._curves = curves
        self._scale = metres_per_unit
        self._mapped: dict[Ref, list[Point]] = {}

    def corners(self, item: Ref, frame: Frame, depth: int = 0) -> list[Point]:
        """Corners that enclose an item placed in a frame; none where they are not cheap to know."""
        name, written = self._items.written(item)
        if not name or depth > DEEPEST:
            return []
        if name == b"IFCEXTRUDEDAREASOLID":
            return self._raised(written, frame)
        if name in (b"IFCBOOLEANRESULT", b"IFCBOOLEANCLIPPINGRESULT"):
            return self.corners(number(written[1]), frame, depth + 1)
        if name == b"IFCCSGSOLID":
            return self.corners(number(written[0]), frame, depth + 1)
        if name in (b"IFCBLOCK", b"IFCRIGHTCIRCULARCYLINDER"):
            return self._primitive(name, written, frame)
        if name == b"IFCMAPPEDITEM":
            mapped = self._items.mapped(written)
            shared = self._of_shared(mapped.source, mapped.items, depth)
            return [to_world(frame, mapped.place(corner)) for corner in shared]
        if name == ADVANCED:
            return [to_world(frame, corner) for corner in self._along_edges(item)]
        if (box := self._items.bounding_box(item)) is not None:
            (x, y, z), (a, b, c) = box
            return [to_world(frame, p) for p in _corners_of_box([(x, y, z), (x + a, y + b, z + c)])]
        return [to_world(frame, corner) for corner in self._items.vertices(item)]

    def _primitive(self, name: bytes, written: list[bytes], frame: Frame) -> list[Point]:
        """Corners of a block, which stands on a corner, and about a cylinder on its middle."""
        own = self._placements.axis_placement(number(written[0]))
        sides = [float(side) * self._scale for side in written[1:]]
        if own is None:
            return []
        low: Point = (0.0, 0.0, 0.0)
        if name == b"IFCBLOCK":
            x, y, z = sides
        else:
            z, x = sides
            low, y = (-x, -x, 0.0), x
        return [to_world(compose(frame, own), p) for p in _corners_of_box([low, (x, y, z)])]

    def _along_edges(self, item: Ref) -> list[Point]:
        """Points along the edges of an advanced brep. What bulges between edges is not in the box:
        control points of a surface lie outside of it, and would make the box too large."""
        if item not in self._mapped:
            edges = self._items.edges(item)
            self._mapped[item] = [p for edge in edges for p in self._curves.along_edge(*edge)]
        return self._mapped[item]

    def _of_shared(self, source: Ref, items: list[Ref], depth: int) -> list[Point]:
        """The corners of the box of a shared shape, in its own coordinates; found once."""
        if source not in self._mapped:
            found = [c for item in items for c in self.corners(item, IDENTITY, depth + 1)]
            self._mapped[source] = _corners_of_box(found) if found else []
        return self._mapped[source]

    def _raised(self, written: list[bytes], frame: Frame) -> list[Point]:
        """Corners of an outline and of its image at the other end of an extrusion."""
        outline = self._profiles.outline(number(written[0]))
        own = self._placements.axis_placement(number(written[1]))
        direction = self._placements.direction(number(written[2])) or (0.0, 0.0, 1.0)
        if own is None or not outline:
            return []
        placed = compose(frame, own)
        up, depth = rotate(placed, direction), float(written[3]) * self._scale
        base = [to_world(placed, p) for p in outline]
        top = [(p[0] + up[0] * depth, p[1] + up[1] * depth, p[2] + up[2] * depth) for p in base]
        return base + top


def _corners_of_box(points: list[Point]) -> list[Point]:
    low, high = box_around(points)
    return [(x, y, z) for x, y, z in itertools.product(*zip(low, high, strict=True))]
