"""The element of an occurrence: its prototype copied, and what is its own: place, ends, length."""

from collections.abc import Sequence, Set
from math import dist

from ifclint.engineering.tolerance import LENGTH_M
from ifclint.ifc.building.far_away import FAR_M, far_shape
from ifclint.ifc.elements import (
    Basis,
    Box,
    Element,
    End,
    Model,
    Note,
    Point,
    Properties,
    Role,
    System,
)
from ifclint.ifc.facts.describing import Occurrence, PortFacts
from ifclint.ifc.facts.notes import LABEL, about
from ifclint.ifc.facts.properties import NO_FACTS, PropertyReader, StatedFacts
from ifclint.ifc.facts.prototypes import PrototypeMaker
from ifclint.ifc.facts.service.kinds_of_service import refine
from ifclint.ifc.facts.service.system_conflicts import OF_ONE_SERVICE
from ifclint.ifc.joints.free_ends import DRAWN, TOLD_BY_LEGS, WITHOUT_PORTS
from ifclint.ifc.joints.ports import axis_ends, leg_ends
from ifclint.ifc.shape.curves import developed_length
from ifclint.ifc.shape.placement import Frame, Placements, place_of, to_world, turned_deg
from ifclint.ifc.shape.shapes import ShapeReader
from ifclint.ifc.shape.solids import Axis
from ifclint.ifc.step.relations import Relations
from ifclint.ifc.step.text_index import Ref

BY_PORTS = Basis("port placement")
LENGTH_TOLERANCE = 0.02  # of the length, and at least
LENGTH_TOLERANCE_M = 0.005
STANDING = frozenset(  # with a box
    {Role.FIXTURE, Role.APPLIANCE, Role.HEATER, Role.TANK, Role.INTERCEPTOR, Role.CHAMBER}
)
BOXED = frozenset(
    {"gutter", "scupper", "duct", "tracer-wire"}
)  # kinds of other elements with a box
PASSED = frozenset({Role.VALVE, Role.METER, Role.REGULATOR, Role.TRAP, Role.FITTING})
ONE_OPENING = frozenset({"cap", "closet-flange", "exit", "hammer-arrester"})
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


class ElementBuilder:
    """Makes the elements of one file. What the user should know of them is noted in the model;
    the boxes of elements of which nothing else is known are kept by their index in it."""

    def __init__(
        self,
        number: int,
        model: Model,
        boxes: dict[int, Box],
        relations: Relations,
        properties: PropertyReader,
        placements: Placements,
        shapes: ShapeReader,
        prototypes: PrototypeMaker,
        shared: Set[Point],
    ) -> None:
        self._number = number
        self._model = model
        self._boxes = boxes
        self._relations = relations
        self._properties = properties
        self._placements = placements
        self._shapes = shapes
        self._prototypes = prototypes
        self._shared = shared  # where many are placed
        self._tips: dict[tuple[tuple[Point, ...], ...], list[Point]] = {(): []}
        self.bodies: dict[int, Box] = {}  # of what has ports, but none with a place
        self._placeless: dict[int, Occurrence] = {}  # what has such a body
        self.several: dict[int, list[Axis]] = {}  # pipes in one element, by its index
        self.drawn: list[int] = []  # pipes of which the shape alone tells where their two ports are

    def element(
        self,
        of: Occurrence,
        position: Point | None,
        ends: list[End],
        port_facts: PortFacts,
        placed: int,
        box: Box | None,
    ) -> Element:
        """The next element of the model, with its ports as `ends`, `placed` of them with a place,
        and its `box` where that is known."""
        sets = self._relations.property_sets.get(of.ref)
        own = self._properties.facts(sets) if sets else NO_FACTS
        is_pipe = of.role is Role.PIPE
        axis = self._shapes.axis(of.shape) if is_pipe and position is not None else None
        if axis is not None and not ends:
            self._hold_several(of)
        made = self._prototypes.of(of, own, port_facts, axis)
        p = made.element
        element = Element(
            of.guid, of.words[1], p.ifc_class, p.predefined_type, p.type_name, of.tag,
            self._number, p.role, p.kind, p.system, p.system_name, p.size_in, p.material,
            None, None, ends, position, None, "", "", Properties(p.properties), p.basis.copy(),
            object_type=p.object_type,
        )  # fmt: skip
        if placed:
            element.basis["ends"] = BY_PORTS
        if made.end_sizes:
            for end, size in zip(ends, made.end_sizes, strict=True):
                end.size_in = size
        if p.system is not None and p.role in OF_ONE_SERVICE:
            _particular(ends, p.system)
        if made.notes:
            self._model.notes += [about(note, element) for note in made.notes]
        if position is None and of.placement:
            self._model.notes.append(about(UNPLACED, element))
        is_boxed = p.role is Role.OTHER and p.kind in BOXED
        if (p.role in STANDING or is_boxed) and of.shape:
            element.box = box or self._box(of, element)
            element.turned_deg = turned_deg(self._placements.frame(of.placement))
        if placed < 2 or len(axis.points) > 2 if axis is not None else not ends:
            self._set_ends(of, element, axis)
        elif has_one_port(of, ends):
            self._add_other_end(of, element)
        index = len(self._model.elements)
        if not placed and ends:
            self._set_body(of, element, index)
        body = self._boxes.get(index) or self.bodies.get(index)
        element.position = place_of(element, body, position in self._shared)
        if axis is not None and placed and _reach(axis) > FAR_M:
            self._note_far_shape(of, element, axis)
        if is_pipe:
            self._set_length(element, axis, own, made.inherited)
        elif is_boxed:
            if p.kind == "gutter":
                self._set_drawn_slope(of, element)
            _set_slope(element, own, made.inherited)
        return element

    def bare(self, of: Occurrence) -> Element:
        """What is left of a damaged occurrence."""
        classified = of.common.classification
        bare = Element(of.guid, of.name, of.common.ifc_class)
        bare.role, bare.kind, bare.model = classified.role, classified.kind, self._number
        bare.basis["role"] = classified.role_basis
        what = f"{LABEL} is damaged in the file; little could be read of it."
        self._model.notes.append(about(Note(what, "Export the model again.", "", "damage"), bare))
        return bare

    def _hold_several(self, of: Occurrence) -> None:
        """Remember the pipes that one element without ports holds, where these are several."""
        frame, axes = self._placements.frame(of.placement), self._shapes.several(of.shape)
        if frame is not None and axes:
            self.several[len(self._model.elements)] = [axis.moved(frame) for axis in axes]

    def _note_far_shape(self, of: Occurrence, element: Element, axis: Axis) -> None:
        frame = self._placements.frame(of.placement)
        if frame is not None:
            self._model.notes += far_shape(element, axis.moved(frame).points)

    def _box(self, of: Occurrence, element: Element) -> Box | None:
        frame = self._placements.frame(of.placement)
        box = self._shapes.box(of.shape, frame) if frame is not None else None
        if box is None and frame is not None:
            self._model.notes.append(about(WITHOUT_BOX, element))
        return box

    def _set_body(self, of: Occurrence, element: Element, index: int) -> None:
        """What tells where an element is whose ports have no place."""
        frame = self._placements.frame(of.placement)
        if element.role is Role.PIPE and len(element.ends) == 2:
            self.drawn.append(index)
        elif element.role in WITHOUT_PORTS and of.shape and frame is not None:
            body = element.box or self._shapes.box(of.shape, frame)
            if body is not None:
                self.bodies[index] = body
                self._placeless[index] = of

    def draw_unlinked(self) -> None:
        """Give what has ports without a place, which nothing links, also the ends of its shape."""
        linked = {i for joint in self._model.joints for i in (joint.a, joint.b)}
        for index, of in self._placeless.items():
            frame = self._placements.frame(of.placement)
            if index not in linked and frame is not None:
                element = self._model.elements[index]
                element.ends += self._drawn_ends(of.shape, element, frame, index)
        self._placeless.clear()

    def _set_ends(self, of: Occurrence, element: Element, axis: Axis | None) -> None:
        """Ends that ports do not tell, from the shape."""
        frame = self._placements.frame(of.placement)
        if frame is None:
            return
        if axis is not None:
            axis_ends(element, axis.moved(frame))
        elif not element.ends:
            self._set_drawn_ends(of, element, frame)

    def _set_drawn_ends(self, of: Occurrence, element: Element, frame: Frame) -> None:
        """Where an element without ports can be met: the ends of its legs, else its whole box."""
        if of.shape and element.role in WITHOUT_PORTS:
            index = len(self._model.elements)
            element.ends = self._drawn_ends(of.shape, element, frame, index)

    def _drawn_ends(self, shape: Ref, element: Element, frame: Frame, index: int) -> list[End]:
        """The ends of the legs of an element; where it is not told by these, its box is kept."""
        axes = self._shapes.axes(shape)
        lines = tuple([a.points for a in axes])
        tips = self._tips.get(lines)
        if tips is None:
            tips = self._tips[lines] = leg_ends(axes)
        if tips:
            element.basis["ends"] = axes[0].basis
        if not tips or element.role not in TOLD_BY_LEGS:
            box = element.box or self._shapes.box(shape, frame)
            if box is not None:
                self._boxes[index] = box
        return [End(to_world(frame, p), name=DRAWN) for p in tips]

    def _add_other_end(self, of: Occurrence, element: Element) -> None:
        """The end without a port of what has one of its two alone, as some programs write what they
        join to nothing: the far tip of its shape, where the near one is at the port."""
        frame, port = self._placements.frame(of.placement), element.ends[0].position
        tips = [] if frame is None else leg_ends(self._shapes.axes(of.shape))
        if frame is None or port is None or len(tips) != 2:
            return
        near, far = sorted((to_world(frame, tip) for tip in tips), key=lambda p: dist(p, port))
        if dist(near, port) < dist(near, far) / 2:
            element.ends.append(End(far, name=DRAWN))

    def _set_length(
        self, element: Element, axis: Axis | None, own: StatedFacts, inherited: StatedFacts
    ) -> None:
        drawn = axis.length_m if axis is not None else 0.0
        if axis is not None and drawn > 0:
            element.length_m, element.basis["length"] = drawn, axis.basis
            if not own and not inherited:
                return
        _set_slope(element, own, inherited)
        fact = own.get("length") or inherited.get("length")
        stated = fact.value if fact and isinstance(fact.value, float) and fact.value > 0 else None
        positions = element.places if not element.length_m else []
        if len(positions) == 2 and positions[0] != positions[1]:
            element.length_m = developed_length(positions)
            element.basis["length"] = BY_PORTS
        elif not element.length_m and stated and fact:
            element.length_m, element.basis["length"] = stated, fact.basis
        if stated and fact and "length" in own and element.length_m:
            self._compare_length(element, stated, fact.basis)

    def _set_drawn_slope(self, of: Occurrence, element: Element) -> None:
        """The fall of a gutter as it is drawn, if it is drawn to fall: one drawn level may be hung
        with a fall that nobody drew."""
        frame = self._placements.frame(of.placement)
        axis = self._shapes.axis(of.shape) if frame is not None and of.shape else None
        points, basis = element.places, BY_PORTS
        if frame is not None and axis is not None:
            points, basis = list(axis.moved(frame).points), axis.basis
        if len(points) > 1:
            level_m, fall_m = dist(points[0][:2], points[-1][:2]), abs(points[0][2] - points[-1][2])
            if LENGTH_M < fall_m < level_m:
                element.slope, element.basis["slope"] = fall_m / level_m, basis

    def _compare_length(self, element: Element, stated: float, basis: Basis) -> None:
        measured = element.length_m or 0.0
        if abs(stated - measured) > max(LENGTH_TOLERANCE * measured, LENGTH_TOLERANCE_M):
            what = f"{basis} of {LABEL} is {stated:.3f} m but its shape {measured:.3f} m"
            note = Note(f"{what}; the shape was taken.", "Update the quantity.", "", "length")
            self._model.notes.append(about(note, element))


def has_one_port(of: Occurrence, ends: Sequence[End]) -> bool:
    """Whether it has a port at one of two openings, and a shape that may tell the other."""
    passes = of.role in PASSED and of.common.classification.kind not in ONE_OPENING
    return passes and len(ends) == 1 and bool(of.shape)


def _particular(ends: list[End], system: System) -> None:
    """Make ends whose ports tell only what the service of their element is a kind of tell that."""
    for end in ends:
        if end.system is not None and end.system is not system:
            end.system = refine(end.system, system)


def _set_slope(element: Element, own: StatedFacts, inherited: StatedFacts) -> None:
    slope = own.get("slope") or inherited.get("slope")
    if slope is not None and isinstance(slope.value, float) and abs(slope.value) < 1:
        element.slope, element.basis["slope"] = slope.value, slope.basis


def _reach(axis: Axis) -> float:
    """How far from its own origin a pipe is drawn, at the most along one direction."""
    return max(max(max(p), -min(p)) for p in axis.points)
