"""One opened file into the Model: elements with their facts, ends and stated joints."""

from collections.abc import Iterator, Sequence
from math import atan2, hypot, remainder
from typing import Any

import numpy as np

from ifclint.engineering.wording import how_many
from ifclint.ifc.building.architecture import ArchitectureReader, flag_reader
from ifclint.ifc.building.far_away import set_far_aside
from ifclint.ifc.building.georeference import true_north
from ifclint.ifc.building.grids import grid_axes
from ifclint.ifc.building.main_direction import (
    MOST_ASKED,
    QUARTER,
    STILL_RAD,
    common_direction,
    turned_back,
)
from ifclint.ifc.building.spatial import SpatialReader
from ifclint.ifc.element_builder import STANDING, ElementBuilder, has_one_port
from ifclint.ifc.elements import SCALE, Basis, Box, Element, Model, Note, Role
from ifclint.ifc.facts.describing import CARRIES_AIR, DUCTS, Describer, Occurrence
from ifclint.ifc.facts.layers import layers_of, statuses_of
from ifclint.ifc.facts.occurrences import OccurrenceFinder
from ifclint.ifc.facts.phases import STATUS, tell
from ifclint.ifc.facts.properties import PropertyReader
from ifclint.ifc.facts.prototypes import PrototypeMaker
from ifclint.ifc.facts.service.containers import classifications_of, leave_out_containers
from ifclint.ifc.facts.service.system_conflicts import OF_ONE_SERVICE
from ifclint.ifc.facts.service.system_reader import SystemReader
from ifclint.ifc.facts.service.systems import NAMED_BY_ITSELF
from ifclint.ifc.facts.vocabulary import Vocabulary
from ifclint.ifc.joints.flue_ducts import find_flue_ducts
from ifclint.ifc.joints.pieces import part_pipes
from ifclint.ifc.joints.ports import PortReader
from ifclint.ifc.joints.stated import stated_joints
from ifclint.ifc.joints.unplaced import tell_ends
from ifclint.ifc.shape.placement import Placements, points, shared_places, to_world
from ifclint.ifc.shape.shapes import LARGEST_BOX_M, ShapeReader
from ifclint.ifc.steady_order import steadily
from ifclint.ifc.step.arrays import Ints
from ifclint.ifc.step.damage import DAMAGE
from ifclint.ifc.step.opening import OpenedFile
from ifclint.ifc.step.relations import Refs, relations
from ifclint.ifc.step.text_index import Ref
from ifclint.ifc.step.units import Units

TOGETHER = 20_000  # elements whose shapes are read at once: all would fill the memory
ONE_UNIT = "Assign one unit of each kind to the project, of a prefix or factor that is one."
ONE_LENGTH = "Export the model again with its unit of length, one that is known."
NOT_UNDERSTOOD = "in systems of pipe, and not understood"
CONTAINED = Basis("spatial containment")


class FileReader:
    """Wires what reads one file; `read` appends to the model it was given."""

    def __init__(
        self,
        file: OpenedFile,
        number: int,
        vocabulary: Vocabulary,
        model: Model,
        boxes: dict[int, Box],
    ) -> None:
        library, text = file.library, file.text
        self._text, self._boxes = text, boxes
        self._model = model
        self._units = Units(library.rare, text)
        scale = self._units.length
        systems = SystemReader(library.rare, vocabulary)
        describer = Describer(vocabulary, systems, scale)
        types = library.types
        self._unit_doubt = describer.unit_doubt
        finder = OccurrenceFinder(library.rare, text, types, describer)
        found = steadily(finder.find())
        flues = find_flue_ducts(text, library.rare, found)
        self._occurrences = [
            o for o in found if o.common.ifc_class not in DUCTS or o.ref in flues.ducts
        ]
        self._notes, self._strangers = finder.notes, finder.strangers
        self._unread = finder.unread
        self._refs = [o.ref for o in self._occurrences]
        refs, placed = _array(self._refs), _array([o.placement for o in self._occurrences])
        ducts = {o.ref: o.common.ifc_class for o in found if o.common.ifc_class in CARRIES_AIR}
        self._architecture = ArchitectureReader(text, ducts, {o.ref for o in found})
        self._relations = relations(text, np.sort(refs), self._architecture.described)
        properties = PropertyReader(text, self._units, vocabulary.properties)
        properties.read(s for sets in self._relations.property_sets.values() for s in sets)
        self._ports = PortReader(text, self._relations, refs, systems, properties, flues.ports)
        self.turned_rad = self._turned()
        self._placements = Placements(
            text,
            scale,
            _joined(
                placed,
                self._ports.placed,
                _array(self._architecture.placed),
                _array([placement for _, placement, _ in self._strangers]),
            ),
            turned_back(self.turned_rad),
        )
        positions = self._placements.positions(placed)
        self._ports.place(self._placements, positions)
        self._placements.forget(np.setdiff1d(self._ports.placed, placed))
        self._notes += leave_out_containers(self._groups_of_pieces(), systems)
        unassigned = (ref for ref, _ in self._without_system())
        self._relations.groups |= classifications_of(text, unassigned, systems)
        self._relations.groups |= layers_of(text, self._without_system(), systems)
        self._by_layer = statuses_of(text, ((o.ref, o.shape) for o in self._occurrences if o.shape))
        self._shapes = ShapeReader(text, self._units, self._placements)
        self._spatial = SpatialReader(text, self._relations, self._placements, scale)
        self._types = types
        self._said = flag_reader(properties, self._relations.property_sets, types)
        self._positions = points(positions)
        self._standing: dict[int, Box | None] = {}
        prototypes = PrototypeMaker(
            library.rare, text, self._relations, properties, systems, describer,
            self._shapes.round_profile,
        )  # fmt: skip
        self._maker = ElementBuilder(
            number, model, boxes, self._relations, properties, self._placements, self._shapes,
            prototypes, shared_places(self._positions),
        )  # fmt: skip

    def unit_doubt(self) -> str:
        """Why the lengths cannot be in the unit that the file says; "" where they can."""
        places = [place for element in self._model.elements for place in element.places]
        across = [max(along) - min(along) for along in zip(*places, strict=True)]
        return self._unit_doubt.sentence(self._units.length_unknown(), max(across, default=0.0))

    def read(self) -> None:
        """Elements, joints, storeys and surfaces of the file."""
        self._model.notes += self._notes
        if self._unread:
            aside = self._model.set_aside
            aside[NOT_UNDERSTOOD] = aside.get(NOT_UNDERSTOOD, 0) + self._unread
        self._note_unknown_places()
        model, first = self._model, len(self._model.elements)
        surfaces, spaces = len(model.surfaces), len(model.spaces)
        self._read_elements()
        model.joints += stated_joints(self._text, self._ports, self._refs, first, model)
        tell_ends(model, self._maker.drawn, self._maker.bodies)
        self._maker.draw_unlinked()
        part_pipes(model, self._maker.several)
        heights = [z for e in model.elements[first:] for _, _, z in e.places]
        self._model.storeys += self._spatial.storeys(heights)
        model.grid += grid_axes(self._text, self._placements, self._units)
        if not model.files:
            model.turned_rad = self.turned_rad
            north = true_north(self._text, self._placements)
            model.north = None if north is None else north - self.turned_rad
        around = self._shapes, self._placements
        self._model.surfaces += self._architecture.surfaces(*around, self._said, self._types)
        self._model.spaces += self._architecture.spaces(*around, self._spatial.storey_of)
        self._model.notes += self._spatial.notes + self._architecture.notes()
        set_far_aside(model, self._boxes, first, surfaces, spaces)
        units = self._units
        model.notes += [Note(what, ONE_LENGTH, "", SCALE) for what in units.doubts_of_length()]
        model.notes += [Note(what, ONE_UNIT, "", "unit") for what in units.doubts()]

    def strangers(self) -> Iterator[tuple[str, Box]]:
        """What is no plumbing as far as is understood, of no telling class: its name and box."""
        for name, placement, shape in self._strangers:
            try:
                frame = self._placements.frame(placement)
                box = self._shapes.box(shape, frame) if frame is not None else None
            except DAMAGE:
                continue
            if box is not None:
                yield name, box

    def _groups_of_pieces(self) -> Iterator[Refs]:
        """The groups of each piece of pipework that is in any."""
        for of in self._occurrences:
            if of.role in OF_ONE_SERVICE and of.ref in self._relations.groups:
                yield self._relations.groups[of.ref]

    def _without_system(self) -> Iterator[tuple[Ref, Ref]]:
        """Pieces of pipework, with their shapes, that are in no group and whose ports tell no
        system."""
        for row, of in enumerate(self._occurrences):
            ports = self._ports.facts[row]
            told = of.ref in self._relations.groups or ports.systems or ports.groups
            if of.shape and of.role in NAMED_BY_ITSELF and not told:
                yield of.ref, of.shape

    def _turned(self) -> float:
        """How far the building is turned in the file's coordinates: most of its walls, or without
        any, of its pipes, or of what stands in it."""
        text, scale = self._text, self._units.length
        walls, pipes = self._architecture.walls(), self._some_pipes()
        placed = [*walls.placed, *(of.placement for of in pipes)]
        placements = Placements(text, scale, _array(placed))
        shapes = ShapeReader(text, self._units, placements)
        sides = walls.sides(shapes, placements) or _level_runs(pipes, shapes, placements)
        if sides:
            directions, lengths = np.array(sides).T
            return self._as_before(common_direction(directions, lengths))
        standing = [of.placement for of in self._occurrences if of.role in STANDING and of.shape]
        axes, _, known = Placements(text, scale, _array(standing)).frames(standing)
        across = axes[known, 0]
        level = np.hypot(across[:, 0], across[:, 1])
        return self._as_before(common_direction(np.arctan2(across[:, 1], across[:, 0]), level))

    def _some_pipes(self) -> list[Occurrence]:
        """A part of the pipes, evenly taken."""
        pipes = [of for of in self._occurrences if of.role is Role.PIPE and of.shape]
        return pipes[:: len(pipes) // MOST_ASKED + 1]

    def _as_before(self, turned_rad: float) -> float:
        """As the first file is turned, where this one is, but for what drawing costs."""
        first = self._model.turned_rad
        return first if abs(remainder(turned_rad - first, QUARTER)) < STILL_RAD else turned_rad

    def _note_unknown_places(self) -> None:
        """Ports that are placed, but where cannot be told from the file's numbers; not where that
        is so of elements, which are noted and which ports may hang on."""
        ports = set(self._ports.placed.tolist())
        unknown = self._placements.unknown
        if unknown and unknown <= ports:
            first = ", ".join(f"#{ref}" for ref in sorted(unknown)[:3])
            what = (
                f"No place in numbers is told by {how_many(len(unknown), 'port placement')}, "
                f"the first {first}."
            )
            self._model.notes.append(Note(what, "Export the model again.", "", "damage"))

    def _read_elements(self) -> None:
        """The elements of all occurrences, which are let go as their elements are made."""
        places = self._spatial.places(self._refs)
        for first in range(0, len(self._refs), TOGETHER):
            some = self._occurrences[:TOGETHER]
            del self._occurrences[:TOGETHER]
            self._read_shapes(some, first)
            for row, of in enumerate(some, first):
                self._model.elements.append(self._element(row, of, places[row]))

    def _read_shapes(self, some: list[Occurrence], first: int) -> None:
        """The shapes of some elements, of which one is the first: of pipes, and of all that can
        only be met at their shape."""
        ports = self._ports
        shaped = [(row, of) for row, of in enumerate(some, first) if of.shape]
        self._shapes.read(
            [
                of.shape
                for row, of in shaped
                if of.role is Role.PIPE or not ports.ends[row] or has_one_port(of, ports.ends[row])
            ]
        )
        self._placements.read([of.placement for row, of in shaped if ports.placed_ends[row] < 2])
        standing = [(row, of) for row, of in shaped if of.role in STANDING]
        boxes = self._shapes.boxes(
            [of.shape for _, of in standing], [of.placement for _, of in standing]
        )
        self._standing = {row: box for (row, _), box in zip(standing, boxes, strict=True)}

    def _element(self, row: int, of: Occurrence, place: tuple[str, str]) -> Element:
        """One element, in a storey and space; of what is damaged little is left, and noted."""
        ports = self._ports
        try:
            if of.placement in self._placements.damaged or row in ports.damaged:
                raise ValueError("it is placed at no point")
            element = self._maker.element(
                of, self._positions[row], ports.ends[row], ports.facts[row],
                ports.placed_ends[row], self._standing.get(row),
            )  # fmt: skip
            element.storey, element.space = place
            if element.storey:
                element.basis["storey"] = CONTAINED
            if of.ref in self._by_layer and STATUS not in element.properties:
                tell(element, *self._by_layer[of.ref])
        except DAMAGE:
            element = self._maker.bare(of)
            ports.forget(row)
        return element


def _level_runs(
    pipes: list[Occurrence], shapes: ShapeReader, placements: Placements
) -> list[tuple[float, float]]:
    """Direction (radians) and length (m) in plan of the straight pipes that lie."""
    found = []
    for of in pipes:
        try:
            frame = placements.frame(of.placement) if of.placement else None
            axis = shapes.axis(of.shape)
        except DAMAGE:
            continue
        if axis is None or len(axis.points) != 2:
            continue
        (ax, ay, az), (bx, by, bz) = (to_world(frame or placements.world, p) for p in axis.points)
        length = hypot(bx - ax, by - ay)
        if abs(bz - az) < length < LARGEST_BOX_M:
            found.append((atan2(by - ay, bx - ax), length))
    return found


def _array(refs: Sequence[Ref]) -> Ints:
    return np.array(refs, dtype=np.int64)


def _joined(*arrays: Any) -> Ints:
    return np.concatenate(arrays)
