"""What the shape of an element tells: the axis of a pipe, the box of a fixture."""

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from ifclint.engineering.extents import box_around
from ifclint.ifc.elements import Basis, Box, Confidence, Point
from ifclint.ifc.shape.bent_tubes import outlines, read_swept_disks
from ifclint.ifc.shape.bounding_boxes import BoundingBoxReader
from ifclint.ifc.shape.chains import chained, separate
from ifclint.ifc.shape.curves import CurveReader
from ifclint.ifc.shape.extrusions import CORNERS, bodies, read_extrusions, rectangles, straight_axes
from ifclint.ifc.shape.items import ItemReader
from ifclint.ifc.shape.placement import Frame, Placements
from ifclint.ifc.shape.profiles import ProfileReader, RoundProfile
from ifclint.ifc.shape.representations import Representation, RepresentationReader
from ifclint.ifc.shape.solids import EXTRUDED, SWEPT, Axis, SolidReader
from ifclint.ifc.step.arrays import Floats, Ints
from ifclint.ifc.step.columns import rows_of
from ifclint.ifc.step.damage import DAMAGE
from ifclint.ifc.step.text_index import Ref, TextIndex
from ifclint.ifc.step.units import Units

BY_AXIS = Basis("axis representation", Confidence.SHAPE)
BODIES = ("Body", "Facetation", "Body-FallBack", None, "")
LARGEST_BOX_M = 2_000.0  # nothing in or of a building is longer
BOX = "Box"  # a box around a body, in the coordinates of its placement
BODILESS = ("Axis", "FootPrint", BOX, "CoG", "Clearance", "Annotation")  # around no body


class ShapeReader:
    """Reads the representations of one file."""

    def __init__(self, text: TextIndex, units: Units, placements: Placements) -> None:
        self._text = text
        self._scale = units.length
        self._placements = placements
        angle = units.angle
        self._shown = RepresentationReader(text)
        self._curves = CurveReader(text, placements, units.length, angle)
        self._profiles = ProfileReader(placements, self._curves, units.length)
        items = ItemReader(text, placements, self._shown, units.length)
        self._corners = BoundingBoxReader(
            items, placements, self._profiles, self._curves, units.length
        )
        self._solids = SolidReader(
            items, placements, self._curves, self._profiles, units.length, angle
        )
        self._plain: dict[Ref, Axis] = {}  # by the item
        self._whole: dict[Ref, list[Axis]] = {}  # by the definition of which all items are plain

    def read(self, definitions: list[Ref]) -> None:
        """Have the shapes of many elements at hand, where they are plain, and no others."""
        self._shown.forget()
        self._shown.read(definitions)
        held = [self._shown.items(d, BODIES.__contains__) for d in definitions]
        everything = _flat(held)
        solids = read_extrusions(self._text, self._scale, everything)
        plain = {
            item: Axis(ends, outside, inside, EXTRUDED)
            for item, ends, outside, inside in straight_axes(solids, self._round)
        }
        for item, disk in read_swept_disks(self._text, self._scale, everything).items():
            plain[item] = Axis(*disk, SWEPT)
        self._plain = plain
        self._whole = {
            definition: [plain[item] for item in items]
            for definition, items in zip(definitions, held, strict=True)
            if items and all(map(plain.__contains__, items))
        }

    def boxes(self, definitions: list[Ref], placements: list[Ref]) -> list[Box | None]:
        """The boxes of many elements at once, None where only `box` can tell."""
        return self.bodies(definitions, placements, lambda element: False)[0]

    def bodies(
        self, definitions: list[Ref], placements: list[Ref], with_corners: Callable[[int], bool]
    ) -> tuple[list[Box | None], dict[int, tuple[Point, ...]]]:
        """The boxes of many elements at once, None where only `box` can tell; and all corners of
        those whose number in the list is wanted."""
        axes, origins, known = self._placements.frames(placements)
        definitions = [d if there else 0 for d, there in zip(definitions, known, strict=True)]
        self._shown.read(definitions)
        held = [self._bodily(d) for d in definitions]
        items, counts = _flat(held), _flat([[len(items)] for items in held])
        solids = read_extrusions(self._text, self._scale, items)
        found = bodies(solids, items, counts, axes, origins, self._outlines)
        boxes: list[Box | None] = [None] * len(definitions)
        for element, box in found.boxes():
            boxes[element] = _if_real(box)
        return boxes, dict(found.corners_of(with_corners))

    def _bodily(self, definition: Ref) -> list[Ref]:
        """The items of the body; of whatever else may enclose it where there is none."""
        return self._shown.items(definition, BODIES.__contains__) or self._shown.items(
            definition, lambda name: name not in BODILESS
        )

    def _outlines(self, profiles: Ints) -> tuple[Ints, Floats]:
        """How many corners enclose each profile, and all of these in turn."""
        ids, four = rectangles(self._text, self._scale, profiles)
        at = rows_of(ids, profiles)
        polygons = outlines(self._text, self._scale, profiles[at < 0])
        others = [polygons.get(p) or self._outline(p) for p in profiles[at < 0].tolist()]
        sizes = np.full(len(profiles), len(CORNERS))
        sizes[at < 0] = [len(corners) for corners in others]
        corners = np.empty((int(sizes.sum()), 3))
        is_other = (at < 0).repeat(sizes)
        corners[~is_other] = four[at[at >= 0]].reshape(-1, 3)
        corners[is_other] = np.array([p for o in others for p in o]).reshape(-1, 3)
        return sizes, corners

    def _outline(self, profile: Ref) -> Sequence[Point]:
        try:
            return self._profiles.outline(profile)
        except DAMAGE:
            return []  # told when the element is read

    def _round(self, profile: Ref) -> RoundProfile | None:
        try:
            return self._profiles.round(profile)
        except DAMAGE:
            return None  # told when the element is read

    def axis(self, definition: Ref) -> Axis | None:
        """The axis of an IfcProductDefinitionShape: of all its items, where they are pieces of one
        line; else of the longest, and of those as long the thinnest, since what is around a pipe is
        no pipe."""
        found = self._longest(definition)
        return found.straightened() if found is not None else None

    def several(self, definition: Ref) -> list[Axis]:
        """The axes of the pipes it holds, where these are several and no pieces of one line."""
        whole = self._whole.get(definition, ())
        if len(whole) == 1:
            return []
        axes = separate(whole or self._axes(self._shown.of(definition)))
        return axes if len(axes) > 1 and chained(axes) is None else []

    def _longest(self, definition: Ref) -> Axis | None:
        whole = self._whole.get(definition, ())
        if len(whole) == 1:
            return whole[0]
        shown = self._shown.of(definition)
        axes = whole or self._axes(shown)
        body = chained(axes) if len(axes) > 1 else None
        body = body or max(axes, key=_length_and_thinness, default=None)
        if body is not None and body.drawn:
            return body
        line = next(self._axis_curves(shown), None)
        line = line if line is not None and line.length_m > 0 else body
        return line if line is not None else self._axis_of_box(shown)

    def axes(self, definition: Ref) -> list[Axis]:
        """The axes of all round items of the body, as they are drawn; where there is none, the
        curves of the axis representation."""
        if whole := self._whole.get(definition):
            return whole
        shown = self._shown.of(definition)
        return self._axes(shown) or list(self._axis_curves(shown))

    def _axes(self, shown: list[Representation]) -> list[Axis]:
        return [
            axis
            for identifier, items in shown
            if identifier in BODIES
            for item in items
            for axis in ([self._plain[item]] if item in self._plain else self._solids.axes(item))
        ]

    def _axis_curves(self, shown: list[Representation]) -> Iterator[Axis]:
        for identifier, items in shown:
            if identifier == "Axis":
                for item in items:
                    points = self._curves.points(item)
                    if len(points) > 1:
                        yield Axis(tuple(points), None, None, BY_AXIS)

    def _axis_of_box(self, shown: list[Representation]) -> Axis | None:
        """The axis of what is drawn as one box and nothing else."""
        items = [item for name, of in shown if name == BOX or name in BODIES for item in of]
        return self._solids.in_box(items[0]) if len(items) == 1 else None

    def round_profile(self, profile: Ref) -> RoundProfile | None:
        """Centre, outside and inside diameter of a round profile; None where it is not round."""
        return self._profiles.round(profile)

    def box(self, definition: Ref, frame: Frame) -> Box | None:
        """The axis-aligned world box of a representation, where it is cheap to know and as large
        as something real."""
        corners = self.corners(definition, frame)
        return _if_real(box_around(corners)) if corners else None

    def corners(self, definition: Ref, frame: Frame) -> list[Point]:
        """The corners of the bodies of a representation in the world; none where that is not cheap
        to know."""
        shown = self._shown.of(definition)
        for bodily in (BODIES.__contains__, lambda name: name not in BODILESS, BOX.__eq__):
            items = [item for name, items in shown if bodily(name) for item in items]
            corners = [p for item in items for p in self._corners.corners(item, frame)]
            if corners:
                return corners
        return []


def _length_and_thinness(axis: Axis) -> tuple[float, float]:
    return round(axis.length_m, 3), -(axis.outside_m or 0.0)


def _if_real(box: Box) -> Box | None:
    """The box, unless it is larger than anything real."""
    low, high = box
    return box if all(b - a < LARGEST_BOX_M for a, b in zip(low, high, strict=True)) else None


def _flat(lists: list[list[int]]) -> Ints:
    return np.array([number for part in lists for number in part], dtype=np.int64)
