"""The items shapes are made of, as their text tells them: classes, mapped shapes, corners."""

import re
from typing import NamedTuple

from ifclint.ifc.elements import Point
from ifclint.ifc.shape import placement
from ifclint.ifc.shape.representations import RepresentationReader
from ifclint.ifc.step.spf import class_and_arguments, number
from ifclint.ifc.step.text_index import Ref, TextIndex

LISTED = frozenset(
    {b"IFCTRIANGULATEDFACESET", b"IFCPOLYGONALFACESET", b"IFCTRIANGULATEDIRREGULARNETWORK"}
)
FACETED = frozenset(
    {b"IFCFACETEDBREP", b"IFCFACETEDBREPWITHVOIDS", b"IFCSHELLBASEDSURFACEMODEL",
     b"IFCFACEBASEDSURFACEMODEL"}
)  # fmt: skip
TRIANGLES, POLYGONS = b"IFCTRIANGULATEDFACESET", b"IFCPOLYGONALFACESET"
LOOP = b"IFCPOLYLOOP("
POINT = b"IFCCARTESIANPOINT("
EDGE = b"IFCEDGECURVE("
BOX = b"IFCBOUNDINGBOX"
OPERATOR = b"IFCCARTESIANTRANSFORMATIONOPERATOR3D"
_INDICES = re.compile(rb"\(([\d,\s]+)\)")  # of one face
_NUMBER = re.compile(rb"\d+")
_REFERENCE = re.compile(rb"#(\d+)")


class Mapped(NamedTuple):
    """A shared shape at a place: its items are put into the frame, whose axes are as long as they
    are scaled. `scale` is None where they are stretched more in one direction than another."""

    source: Ref
    items: list[Ref]
    frame: placement.Frame
    scale: float | None

    def place(self, p: Point) -> Point:
        return placement.to_world(self.frame, p)


class ItemReader:
    """Items of one file; lengths in metres."""

    def __init__(
        self,
        text: TextIndex,
        placements: placement.Placements,
        shown: RepresentationReader,
        metres_per_unit: float,
    ) -> None:
        self._text = text
        self._placements = placements
        self._shown = shown
        self._scale = metres_per_unit

    def written(self, item: Ref) -> tuple[bytes, list[bytes]]:
        """Class and arguments of an item; no class where there is no such instance."""
        return class_and_arguments(self._text.get(item))

    def mapped(self, written: list[bytes]) -> Mapped:
        """An IfcMappedItem with these arguments."""
        source = number(written[0])
        _, (origin, shape) = self.written(source)
        start = self._placements.axis_placement(number(origin)) or placement.IDENTITY
        frame, scale = self._operator(number(written[1]))
        items = self._shown.representation(number(shape))[1]
        return Mapped(source, items, placement.compose(frame, placement.inverse(start)), scale)

    def _operator(self, target: Ref) -> tuple[placement.Frame, float | None]:
        """An IfcCartesianTransformationOperator3D as a frame with scaled axes, and the scale."""
        name, written = self.written(target)
        if not name.startswith(OPERATOR):
            return placement.IDENTITY, 1.0
        one, two, at, scale, three, *more = written
        direction = self._placements.direction
        f = placement.right_handed(
            direction(number(three)) or (0.0, 0.0, 1.0), direction(number(one))
        )
        second = direction(number(two))
        flip = -1.0 if second is not None and placement.dot(second, (f[3], f[4], f[5])) < 0 else 1.0
        origin = self._placements.point(number(at)) or (0.0, 0.0, 0.0)
        first = 1.0 if scale == b"$" else float(scale)
        a, b, c = (first, *(first if s == b"$" else float(s) for s in more or (b"$", b"$")))
        axes = [f[i] * s for i, s in enumerate((a,) * 3 + (b * flip,) * 3 + (c,) * 3)]
        return (*axes, *origin), first if a == b == c else None

    def vertices(self, item: Ref) -> list[Point]:
        """The corners of a faceted item, each once."""
        name, written = self.written(item)
        if name in LISTED:
            return list(dict.fromkeys(self._listed(number(written[0]))))
        return list(dict.fromkeys(self._below(item))) if name in FACETED else []

    def faces(self, item: Ref) -> tuple[list[Point], list[tuple[int, ...]]]:
        """The corners of a faceted item, each place once, and its faces by the numbers of theirs;
        none where it is faceted in another way."""
        name, written = self.written(item)
        loops: list[list[Point]] = []
        if name in (TRIANGLES, POLYGONS):
            listed = self._listed(number(written[0]))
            texts = written[3:4] if name == TRIANGLES else map(self._text.get, _refs(written[2]))
            numbers = [_INDICES.findall(text or b"") for text in texts]
            loops = [[listed[int(i) - 1] for i in _NUMBER.findall(one)]
                     for found in numbers for one in found]  # fmt: skip
        elif name in FACETED:
            loops = [
                [
                    p
                    for ref in _refs(self._text.get(loop) or b"")
                    if (p := self._placements.point(ref))
                ]
                for loop in self.referred(item, LOOP)
            ]
        places: dict[Point, int] = {}
        found = [tuple([places.setdefault(p, len(places)) for p in loop]) for loop in loops]
        return list(places), [face for face in found if len(face) > 2]

    def _listed(self, points: Ref) -> list[Point]:
        """The points of an IfcCartesianPointList3D."""
        text = self._text.get(points) or b""
        inner = text[text.find(b"((") : text.rfind(b"))")].translate(None, b"()")
        given = [float(c) * self._scale for c in inner.split(b",")] if inner else []
        return list(zip(given[::3], given[1::3], given[2::3], strict=True))

    def edges(self, item: Ref) -> list[tuple[Point, Point, Ref, bool]]:
        """The edges of an advanced brep: both ends, the curve, and whether it runs from the first
        end to the second."""
        found = []
        for ref in self.referred(item, EDGE):
            _, (start, end, curve, sense) = self.written(ref)
            ends = [self._vertex(number(v)) for v in (start, end)]
            if ends[0] is not None and ends[1] is not None:
                found.append((ends[0], ends[1], number(curve), sense == b".T."))
        return found

    def bounding_box(self, item: Ref) -> tuple[Point, Point] | None:
        """The lowest corner of an IfcBoundingBox, and its sides; None where the item is none."""
        name, written = self.written(item)
        low = self._placements.point(number(written[0])) if name == BOX else None
        if low is None:
            return None
        x, y, z = (float(side) * self._scale for side in written[1:4])
        return low, (x, y, z)

    def _vertex(self, vertex: Ref) -> Point | None:
        _, written = self.written(vertex)
        return self._placements.point(number(written[0])) if written else None

    def referred(self, item: Ref, wanted: bytes) -> list[Ref]:
        """The instances of one class an item refers to, however far down; none below another."""
        found: list[Ref] = []
        seen, waiting = {item}, [item]
        while waiting:
            at = waiting.pop()
            text = self._text.get(at) or b""
            if text.startswith(wanted):
                found.append(at)
                continue
            new = set(_refs(text)) - seen
            seen |= new
            waiting += sorted(new, reverse=True)
        return found

    def _below(self, item: Ref) -> list[Point]:
        """The three-dimensional points an item refers to, however far down."""
        found: list[Point] = []
        for ref in self.referred(item, POINT):
            text = self._text.get(ref) or b""
            x, *more = (float(c) * self._scale for c in text[len(POINT) + 1 : -2].split(b","))
            if len(more) == 2:
                found.append((x, more[0], more[1]))
        return found


def _refs(text: bytes) -> list[Ref]:
    return [int(ref) for ref in _REFERENCE.findall(text)]
