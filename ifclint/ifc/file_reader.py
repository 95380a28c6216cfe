"""One opened file into the Model: elements with their facts, ends and stated joints."""

from __future__ import annotations

from typing import Any

from ifclint.ifc.curves import developed_length
from ifclint.ifc.describing import Describer, Known, Occurrence, Prototype, Texts, TypeWords
from ifclint.ifc.elements import Element, End, Model, Note, Point, Role
from ifclint.ifc.entities import instance
from ifclint.ifc.library import MOST_OTHERS
from ifclint.ifc.materials import material_texts, profile
from ifclint.ifc.meeting import DRAWN, WITHOUT_PORTS, Box
from ifclint.ifc.notes import LABEL, about
from ifclint.ifc.occurrences import OccurrenceFinder
from ifclint.ifc.opening import OpenedFile
from ifclint.ifc.placement import Frame, Placements, to_world
from ifclint.ifc.ports import PortReader, PortSets, axis_ends, leg_ends, stated_joints
from ifclint.ifc.properties import NO_FACTS, Facts, PropertyReader
from ifclint.ifc.relations import relations, types_by_occurrence
from ifclint.ifc.shapes import Axis, ShapeReader
from ifclint.ifc.sizing import Drawn
from ifclint.ifc.spatial import SpatialReader
from ifclint.ifc.spf import fields, numbers
from ifclint.ifc.systems import SystemReader
from ifclint.ifc.text_index import Ref
from ifclint.ifc.units import factor, project_units
from ifclint.ifc.vocabulary import Vocabulary

DAMAGE = (RuntimeError, TypeError, ValueError, IndexError, AttributeError, OverflowError, KeyError)
LENGTH_TOLERANCE = 0.02  # of the length, and at least
LENGTH_TOLERANCE_M = 0.005
STANDING = frozenset({Role.FIXTURE, Role.APPLIANCE, Role.HEATER, Role.TANK})  # with a box
OF_ONE_ELEMENT = frozenset({"length", "slope"})  # facts that are no part of a description


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
        self._systems = SystemReader(self._ifc, vocabulary)
        self._describer = Describer(vocabulary, self._systems, scale)
        finder = OccurrenceFinder(library, text, types_by_occurrence(text), self._describer)
        self._occurrences = finder.find()
        self._notes = finder.notes
        all_at_once = len(text) <= MOST_OTHERS * len(self._occurrences)
        self._placements = Placements(text, scale, all_at_once)
        self._shapes = ShapeReader(library, text, self._units, self._placements)
        self._properties = PropertyReader(
            text, self._units, self._unit_factor, vocabulary.properties
        )
        self._relations = relations(text, {o.ref for o in self._occurrences})
        self._ports = PortReader(
            text, self._relations, self._placements, self._systems, self._properties
        )
        self._spatial = SpatialReader(library, text, self._relations, self._placements, scale)
        self._positions = self._placements.positions([o.placement for o in self._occurrences])
        self._tips: dict[tuple[tuple[Point, ...], ...], list[Point]] = {(): []}
        self._type_facts: dict[Ref, Facts] = {0: NO_FACTS}
        self._materials: dict[Ref, tuple[Texts, list[Drawn]]] = {}
        self._prototypes: dict[tuple[Any, ...], Prototype] = {}

    def read(self) -> None:
        """Elements, joints, storeys and surfaces of the file."""
        if not self._units.length_known:
            what = "The model names no unit of length; metres were taken."
            self._model.notes.append(Note(what, "Assign a unit of length.", "", "unit"))
        self._model.notes += self._notes
        elements = self._model.elements
        index: dict[Ref, int] = {}
        for of, position in zip(self._occurrences, self._positions, strict=True):
            index[of.ref] = len(elements)
            elements.append(self._element(of, position))
        self._model.joints += stated_joints(self._text, self._ports, index, self._model)
        self._model.storeys += self._spatial.storeys()
        self._model.surfaces += self._spatial.surfaces(self._shapes)

    def _element(self, of: Occurrence, position: Point | None) -> Element:
        """The element of an occurrence; what is damaged is left out and noted."""
        try:
            return self._read_element(of, position)
        except DAMAGE:
            alike = of.alike
            bare = Element(of.guid, of.name, alike.ifc_class)
            bare.role, bare.kind, bare.model = alike.what.role, alike.what.kind, self._number
            bare.basis["role"] = alike.what.role_basis
            self._ports.forget(of.ref)
            what = f"{LABEL} is damaged in the file; little could be read of it."
            note = Note(what, "Export the model again.", "", "damage")
            self._model.notes.append(about(note, bare))
            return bare

    def _read_element(self, of: Occurrence, position: Point | None) -> Element:
        if of.placement in self._placements.damaged:
            raise ValueError("it is placed at no point")
        own = self._properties.facts(self._relations.property_sets.get(of.ref))
        kind = of.alike.kind
        inherited = self._facts_of_type(kind)
        ends = self._ports.ends(of.ref, len(self._model.elements))
        port_sets = self._ports.sets(of.ref)
        is_pipe = of.alike.what.role is Role.PIPE
        axis = self._shapes.axis(of.shape) if is_pipe and position is not None else None
        made = self._prototype(of, own, inherited, ends, port_sets, axis)
        element = self._copy(of, made, ends)
        element.position = position
        if axis is not None or not ends:
            self._set_ends(of, element, axis)
        if len(made.sizes_in) > 1:
            element.properties["sizes_in"] = " x ".join(f"{s:g}" for s in made.sizes_in)
        self._ports.set_end_sizes(of.ref, port_sets, element)
        if element.role in STANDING and of.shape:
            frame = self._placements.frame(of.placement)
            element.box = self._shapes.box(of.shape, frame) if frame is not None else None
        element.storey, element.space = self._spatial.place(of.ref)
        if element.storey:
            element.basis["storey"] = "spatial containment"
        if element.role is Role.PIPE:
            self._set_length(element, axis, own, inherited)
        return element

    def _set_ends(self, of: Occurrence, element: Element, axis: Axis | None) -> None:
        """Ends that ports do not tell, from the shape."""
        if axis is not None and len(_positions(element)) >= 2:
            return
        frame = self._placements.frame(of.placement)
        if frame is None:
            return
        if axis is not None:
            axis_ends(element, axis.moved(frame))
        elif not element.ends:
            self._set_drawn_ends(of, element, frame)

    def _copy(self, of: Occurrence, made: Prototype, ends: list[End]) -> Element:
        p = made.element
        element = Element(
            of.guid, of.name, p.ifc_class, p.predefined_type, p.type_name, of.tag, self._number,
            p.role, p.kind, p.system, p.system_name, p.size_in, p.material, ends=ends,
            properties=p.properties.copy(), basis=p.basis.copy(),
        )  # fmt: skip
        if any(e.position is not None for e in ends):
            element.basis["ends"] = "port placement"
        for note in made.notes:
            self._model.notes.append(about(note, element))
        return element

    # -- what is described alike --------------------------------------------------------------

    def _prototype(
        self,
        of: Occurrence,
        own: Facts,
        inherited: Facts,
        ends: list[End],
        port_sets: PortSets,
        axis: Axis | None,
    ) -> Prototype:
        systems = tuple([e.system for e in ends if e.system is not None])
        groups = self._relations.groups.get(of.ref, ())
        material = self._relations.material.get(of.ref, 0)
        port_size = self._ports.size_fact(port_sets) if "size" not in own else None
        particular = (
            tuple([(n, f.value, f.rival) for n, f in own.items() if n not in OF_ONE_ELEMENT])
            if own
            else ()
        )
        signature = (
            of.alike, systems, groups, material, particular, port_size and port_size.value,
            axis and (axis.outside_m, axis.inside_m),
        )  # fmt: skip
        made = self._prototypes.get(signature)
        if made is None:
            facts = _merged(own, inherited)
            if port_size is not None:
                facts.setdefault("size", port_size)
            texts, drawn = self._material(material)
            of_type = self._relations.material.get(of.alike.kind.ref, 0)
            type_texts, type_drawn = self._material(of_type)
            shape = (
                [Drawn(axis.outside_m, axis.inside_m, axis.basis)]
                if axis and axis.outside_m
                else []
            )
            known = Known(
                facts,
                [(t, "material") for t, _ in texts]
                + [(t, "material of the type") for t, _ in type_texts],
                tuple(drawn + type_drawn + shape),
                self._systems.groups([*groups, *self._ports.groups(of.ref)]),
                systems,
            )
            made = self._prototypes[signature] = self._describer.prototype(of, known)
            _set_drawn_diameters(made.element, axis)
        return made

    def _facts_of_type(self, kind: TypeWords) -> Facts:
        if kind.ref not in self._type_facts:
            written = fields(self._text.get(kind.ref) or b"()")
            sets = numbers(written[5][1:-1]) if len(written) > 5 else []
            facts = self._properties.facts(tuple(sets))
            named = {n: f.with_basis(f.basis + " of the type") for n, f in facts.items()}
            self._type_facts[kind.ref] = named
        return self._type_facts[kind.ref]

    def _material(self, key: Ref) -> tuple[Texts, list[Drawn]]:
        """Names of a material definition, and the diameters of its profile."""
        if key not in self._materials:
            material = instance(self._ifc, key)
            outline = self._shapes.round_profile(profile(material))
            drawn = [Drawn(outline[1], outline[2], "material profile")] if outline else []
            self._materials[key] = ([(t, "") for t in material_texts(material)], drawn)
        return self._materials[key]

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
            box = self._shapes.box(shape, frame)
            if box is not None:
                self._boxes[len(self._model.elements)] = box

    def _set_length(
        self, element: Element, axis: Axis | None, own: Facts, inherited: Facts
    ) -> None:
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


def _positions(element: Element) -> list[Point]:
    return [e.position for e in element.ends if e.position is not None]


def _merged(own: Facts, inherited: Facts) -> Facts:
    """Facts of an occurrence and its type: the better place, else the occurrence's own."""
    merged = dict(inherited)
    for name, fact in own.items():
        if name not in merged or fact.rank <= merged[name].rank:
            merged[name] = fact
    return merged


def _set_drawn_diameters(element: Element, axis: Axis | None) -> None:
    if axis is None:
        return
    for key, value in (
        ("outside_diameter_m", axis.outside_m),
        ("inside_diameter_m", axis.inside_m),
    ):
        if value and key not in element.properties:
            element.properties["drawn_" + key] = round(value, 6)
