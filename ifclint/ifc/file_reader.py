"""One opened file into the Model: elements with their facts, ends and stated joints."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ifclint.ifc.building.architecture import ArchitectureReader, exterior_reader
from ifclint.ifc.building.spatial import SpatialReader
from ifclint.ifc.elements import Box, Element, End, Model, Note, Point, Role
from ifclint.ifc.facts.describing import Describer, Occurrence, Said
from ifclint.ifc.facts.notes import LABEL, about
from ifclint.ifc.facts.occurrences import OccurrenceFinder
from ifclint.ifc.facts.properties import NO_FACTS, Facts, PropertyReader
from ifclint.ifc.facts.prototypes import PrototypeMaker
from ifclint.ifc.facts.systems import SystemReader
from ifclint.ifc.facts.vocabulary import Vocabulary
from ifclint.ifc.joints.meeting import DRAWN, WITHOUT_PORTS
from ifclint.ifc.joints.ports import PortReader, axis_ends, leg_ends
from ifclint.ifc.joints.stated import stated_joints
from ifclint.ifc.shape.curves import developed_length
from ifclint.ifc.shape.placement import Frame, Placements, points, to_world
from ifclint.ifc.shape.shapes import ShapeReader
from ifclint.ifc.shape.solids import Axis
from ifclint.ifc.step.damage import DAMAGE
from ifclint.ifc.step.opening import OpenedFile
from ifclint.ifc.step.relations import relations
from ifclint.ifc.step.text_index import Ref
from ifclint.ifc.step.units import factor, project_units

LENGTH_TOLERANCE = 0.02  # of the length, and at least
LENGTH_TOLERANCE_M = 0.005
STANDING = frozenset({Role.FIXTURE, Role.APPLIANCE, Role.HEATER, Role.TANK})  # with a box
UNPLACED = Note(
    f"The placement of {LABEL} cannot be read; where it is, is not known.",
    "Place it by a local placement (IfcLocalPlacement) that leads to the origin of the model.",
    topic="placement",
)
WITHOUT_BOX = Note(
    f"How much room {LABEL} takes cannot be read from its shape; nothing is measured to it.",
    "Export its shape as a solid or as faces, in its true size.",
    topic="shape",
)


class FileReader:
    """Reads one file; `read` appends to the model it was given."""

    def __init__(
        self,
        file: OpenedFile,
        number: int,
        vocabulary: Vocabulary,
        model: Model,
        boxes: dict[int, Box],
    ) -> None:
        library, text = file.library, file.text
        self._ifc = library.rare
        self._text = text
        self._number = number
        self._model = model
        self._boxes = boxes
        self._units = project_units(self._ifc)
        scale = self._units.length
        systems = SystemReader(self._ifc, vocabulary)
        describer = Describer(vocabulary, systems, scale)
        types = library.types
        finder = OccurrenceFinder(library, text, types, describer)
        self._occurrences = finder.find()
        self._notes = finder.notes
        self._refs = [o.ref for o in self._occurrences]
        refs, placed = _array(self._refs), _array([o.placement for o in self._occurrences])
        self._architecture = ArchitectureReader(text)
        self._relations = relations(text, refs, self._architecture.surface_refs)
        self._properties = PropertyReader(
            text, self._units, self._unit_factor, vocabulary.properties
        )
        self._ports = PortReader(text, self._relations, refs, systems, self._properties)
        self._placements = Placements(
            text, scale, _joined(placed, self._ports.placed, _array(self._architecture.placed))
        )
        self._ports.place(self._placements)
        self._shapes = ShapeReader(library, text, self._units, self._placements)
        self._spatial = SpatialReader(text, self._relations, self._placements, scale)
        self._exterior = exterior_reader(self._properties, self._relations.property_sets, types)
        self._positions = points(self._placements.positions(placed))
        self._standing: dict[int, Box | None] = {}
        self._tips: dict[tuple[tuple[Point, ...], ...], list[Point]] = {(): []}
        self._prototypes = PrototypeMaker(
            self._ifc, text, self._relations, self._properties, systems, describer,
            self._shapes.round_profile,
        )  # fmt: skip

    def read(self) -> None:
        """Elements, joints, storeys and surfaces of the file."""
        if not self._units.length_known:
            what = "The model names no unit of length; metres were taken."
            self._model.notes.append(Note(what, "Assign a unit of length.", "", "unit"))
        self._model.notes += self._notes
        model, first = self._model, len(self._model.elements)
        self._read_shapes()
        self._read_elements()
        model.joints += stated_joints(self._text, self._ports, self._refs, first, model)
        self._model.storeys += self._spatial.storeys()
        around = self._shapes, self._placements
        self._model.surfaces += self._architecture.surfaces(*around, self._exterior)
        self._model.spaces += self._architecture.spaces(*around, self._spatial.storey_of)
        self._model.notes += self._spatial.notes + self._architecture.notes()

    def _read_shapes(self) -> None:
        """The shapes of pipes, and of all that can only be met at their shape."""
        wanted = [
            of.shape
            for row, of in enumerate(self._occurrences)
            if of.shape and (of.alike.what.role is Role.PIPE or not self._ports.ends[row])
        ]
        self._shapes.read(wanted)
        standing = [
            (row, of.shape, of.placement)
            for row, of in enumerate(self._occurrences)
            if of.shape and of.alike.what.role in STANDING
        ]
        if standing:
            rows, shapes, placements = zip(*standing, strict=True)
            boxes = self._shapes.boxes(list(shapes), list(placements))
            self._standing = dict(zip(rows, boxes, strict=True))

    def _read_elements(self) -> None:
        """The element of each occurrence; of what is damaged little is left, and noted."""
        ports, places = self._ports, self._spatial.places(self._refs)
        columns = zip(
            self._occurrences, self._positions, ports.ends, ports.said, ports.placed_ends, places,
            strict=True,
        )  # fmt: skip
        for row, (of, position, ends, said, placed, place) in enumerate(columns):
            try:
                if of.placement in self._placements.damaged or row in ports.damaged:
                    raise ValueError("it is placed at no point")
                element = self._element(row, of, position, ends, said, placed)
                element.storey, element.space = place
                if element.storey:
                    element.basis["storey"] = "spatial containment"
            except DAMAGE:
                element = self._bare(row, of)
            self._model.elements.append(element)

    def _bare(self, row: int, of: Occurrence) -> Element:
        """What is left of a damaged occurrence."""
        alike = of.alike
        bare = Element(of.guid, of.name, alike.ifc_class)
        bare.role, bare.kind, bare.model = alike.what.role, alike.what.kind, self._number
        bare.basis["role"] = alike.what.role_basis
        self._ports.forget(row)
        what = f"{LABEL} is damaged in the file; little could be read of it."
        self._model.notes.append(about(Note(what, "Export the model again.", "", "damage"), bare))
        return bare

    def _element(
        self,
        row: int,
        of: Occurrence,
        position: Point | None,
        ends: list[End],
        said: Said,
        placed: int,
    ) -> Element:
        sets = self._relations.property_sets.get(of.ref)
        own = self._properties.facts(sets) if sets else NO_FACTS
        is_pipe = of.alike.what.role is Role.PIPE
        axis = self._shapes.axis(of.shape) if is_pipe and position is not None else None
        made = self._prototypes.of(of, own, said, axis)
        p = made.element
        element = Element(
            of.guid, of.words[1], p.ifc_class, p.predefined_type, p.type_name, of.tag,
            self._number, p.role, p.kind, p.system, p.system_name, p.size_in, p.material,
            None, None, ends, position, None, "", "", p.properties.copy(), p.basis.copy(),
        )  # fmt: skip
        if placed:
            element.basis["ends"] = "port placement"
        if made.end_sizes:
            for end, size in zip(ends, made.end_sizes, strict=True):
                end.size_in = size
        if made.notes:
            self._model.notes += [about(note, element) for note in made.notes]
        if position is None and of.placement:
            self._model.notes.append(about(UNPLACED, element))
        if p.role in STANDING and of.shape:
            element.box = self._standing.get(row) or self._box(of, element)
        if placed < 2 if axis is not None else not ends:
            self._set_ends(of, element, axis)
        if is_pipe:
            self._set_length(element, axis, own, made.inherited)
        return element

    def _box(self, of: Occurrence, element: Element) -> Box | None:
        frame = self._placements.frame(of.placement)
        box = self._shapes.box(of.shape, frame) if frame is not None else None
        if box is None and frame is not None:
            self._model.notes.append(about(WITHOUT_BOX, element))
        return box

    def _set_ends(self, of: Occurrence, element: Element, axis: Axis | None) -> None:
        """Ends that ports do not tell, from the shape."""
        frame = self._placements.frame(of.placement)
        if frame is None:
            return
        if axis is not None:
            axis_ends(element, axis.moved(frame))
        elif not element.ends:
            self._set_drawn_ends(of, element, frame)

    def _unit_factor(self, unit: Ref) -> float | None:
        return factor(self._ifc.by_id(unit))

    # -- what is the element's own ------------------------------------------------------------

    def _set_drawn_ends(self, of: Occurrence, element: Element, frame: Frame) -> None:
        """Where an element without ports can be met: the ends of its legs, else its whole box."""
        shape = of.shape
        if not shape or element.role not in WITHOUT_PORTS:
            return
        axes = self._shapes.axes(shape)
        lines = tuple([a.points for a in axes])
        tips = self._tips.get(lines)
        if tips is None:
            tips = self._tips[lines] = leg_ends(axes)
        element.ends = [End(to_world(frame, p), name=DRAWN) for p in tips]
        if element.ends:
            element.basis["ends"] = axes[0].basis
        else:
            box = element.box or self._shapes.box(shape, frame)
            if box is not None:
                self._boxes[len(self._model.elements)] = box

    def _set_length(
        self, element: Element, axis: Axis | None, own: Facts, inherited: Facts
    ) -> None:
        if axis is not None and not own and not inherited:
            element.length_m, element.basis["length"] = axis.length_m, axis.basis
            return
        slope = own.get("slope") or inherited.get("slope")
        if slope is not None and isinstance(slope.value, float) and abs(slope.value) < 1:
            element.slope, element.basis["slope"] = slope.value, slope.basis
        fact = own.get("length") or inherited.get("length")
        stated = fact.value if fact and isinstance(fact.value, float) and fact.value > 0 else None
        drawn = axis.length_m if axis is not None else 0.0
        if axis is not None and drawn > 0:
            element.length_m, element.basis["length"] = drawn, axis.basis
        elif len(positions := _positions(element)) == 2 and positions[0] != positions[1]:
            element.length_m = developed_length(positions)
            element.basis["length"] = "port placement"
        elif stated and fact:
            element.length_m, element.basis["length"] = stated, fact.basis
        if stated and fact and "length" in own and element.length_m:
            self._compare_length(element, stated, fact.basis)

    def _compare_length(self, element: Element, stated: float, basis: str) -> None:
        measured = element.length_m or 0.0
        if abs(stated - measured) > max(LENGTH_TOLERANCE * measured, LENGTH_TOLERANCE_M):
            what = f"{basis} of {LABEL} is {stated:.3f} m but its shape {measured:.3f} m"
            note = Note(f"{what}; the shape was taken.", "Update the quantity.", "", "length")
            self._model.notes.append(about(note, element))


def _array(refs: Sequence[Ref]) -> Any:
    import numpy as np

    return np.array(refs, dtype=np.int64)


def _joined(*arrays: Any) -> Any:
    import numpy as np

    return np.concatenate(arrays)


def _positions(element: Element) -> list[Point]:
    return [e.position for e in element.ends if e.position is not None]
