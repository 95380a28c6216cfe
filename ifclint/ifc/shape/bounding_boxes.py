"""The corners around an item of a shape, from its text, so that a box can be put around it."""

from __future__ import annotations

import itertools

from ifclint.ifc.elements import Point
from ifclint.ifc.shape.items import ItemReader
from ifclint.ifc.shape.placement import (
    IDENTITY,
    Frame,
    Placements,
    box_around,
    compose,
    rotate,
    to_world,
)
from ifclint.ifc.shape.profiles import ProfileReader
from ifclint.ifc.step.spf import number
from ifclint.ifc.step.text_index import Ref

DEEPEST = 10


class BoundingBoxReader:
    """Corners of the items of one file, in the coordinates of the element's placement."""

    def __init__(
        self,
        items: ItemReader,
        placements: Placements,
        profiles: ProfileReader,
        metres_per_unit: float,
    ) -> None:
        self._items = items
        self._placements = placements
        self._profiles = profiles
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
        if name == b"IFCMAPPEDITEM":
            mapped = self._items.mapped(written)
            shared = self._of_shared(mapped.source, mapped.items, depth)
            return [to_world(frame, mapped.place(corner)) for corner in shared]
        return [to_world(frame, corner) for corner in self._items.vertices(item)]

    def _of_shared(self, source: Ref, items: list[Ref], depth: int) -> list[Point]:
        """The corners of the box of a shared shape, in its own coordinates; found once."""
        if source not in self._mapped:
            found = [c for item in items for c in self.corners(item, IDENTITY, depth + 1)]
            low_and_high = zip(*box_around(found), strict=True) if found else ()
            self._mapped[source] = [
                (x, y, z) for x, y, z in itertools.product(*low_and_high) if found
            ]
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
