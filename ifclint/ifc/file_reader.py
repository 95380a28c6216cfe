"""One opened file into the Model: elements with their facts, ends and stated joints."""

from __future__ import annotations

from typing import Any

from ifclint.ifc.curves import developed_length
from ifclint.ifc.describing import Describer, Known, Occurrence, Prototype, Texts
from ifclint.ifc.elements import Element, End, Model, Note, Role
from ifclint.ifc.entities import EntityPlacements, ref
from ifclint.ifc.materials import material_texts, profile
from ifclint.ifc.meeting import DRAWN, WITHOUT_PORTS, Box
from ifclint.ifc.notes import LABEL, about
from ifclint.ifc.occurrences import OccurrenceFinder
from ifclint.ifc.opening import OpenedFile
from ifclint.ifc.placement import Frame, Placements, origin
from ifclint.ifc.ports import PortReader, axis_ends, leg_ends, stated_joints
from ifclint.ifc.properties import NO_FACTS, Facts, PropertyReader
from ifclint.ifc.relations import relations, types_by_occurrence
from ifclint.ifc.shapes import Axis, ShapeReader
from ifclint.ifc.sizing import Drawn
from ifclint.ifc.spatial import SpatialReader, surfaces
from ifclint.ifc.spf import Ref, plumbing_text
from ifclint.ifc.systems import SystemReader
from ifclint.ifc.text import clean
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
        self._file = file
        self._ifc = file.ifc
        self._number = number
        self._model = model
        self._boxes = boxes
        self._units = project_units(file.ifc)
        scale = self._units.length
        self._systems = SystemReader(vocabulary)
        self._describer = Describer(vocabulary, self._systems, scale)
        types = types_by_occurrence(file.ifc)
        finder = OccurrenceFinder(file.ifc, types, self._describer)
        self._occurrences = finder.find()
        self._notes = finder.notes
        self._text = plumbing_text(file.ifc, file.plain, len(self._occurrences))
        self._placements = Placements(self._text["placement"], self._text["geometry"], scale)
        self._place = EntityPlacements(self._placements)
        self._shapes = ShapeReader(file.ifc, self._units, self._place)
        sets, properties = self._text["property set"], self._text["property"]
        self._properties = PropertyReader(sets, properties, self._units, self._unit_factor)
        wanted = {o.ref for o in self._occurrences}
        self._relations = relations(file.ifc, self._text, wanted)
        self._ports = PortReader(
            self._text["port"], self._relations, self._placements, self._systems, self._properties
        )
        self._spatial = SpatialReader(self._relations, self._place, scale)
        self._type_facts: dict[Ref, Facts] = {b"$": NO_FACTS}
        self._materials: dict[Ref, tuple[Texts, list[Drawn]]] = {}
        self._prototypes: dict[tuple[Any, ...], Prototype] = {}

    def read(self) -> None:
        """Elements, joints, storeys and surfaces of the file."""
        if not self._units.length_known:
            what = "The model names no unit of length; metres were taken."
            self._model.notes.append(Note(what, "Assign a unit of length.", "", "unit"))
        self._model.notes += self._notes
        index: dict[Ref, int] = {}
        for occurrence in self._occurrences:
            index[occurrence.ref] = len(self._model.elements)
            self._model.elements.append(self._element(occurrence))
        links = self._text["port joint"]
        self._model.joints += stated_joints(self._ifc, links, self._ports, index, self._model)
        self._model.storeys += self._spatial.storeys(self._ifc)
        self._model.surfaces += surfaces(self._ifc, self._shapes, self._place)

    def _element(self, of: Occurrence) -> Element:
        """The element of an occurrence; what is damaged is left out and noted."""
        try:
            return self._read_element(of)
        except DAMAGE:
            bare = Element(clean(of.entity[0]), clean(of.entity[2]), of.ifc_class)
            bare.role, bare.kind, bare.model = of.what.role, of.what.kind, self._number
            bare.basis["role"] = of.what.role_basis
            self._ports.forget(of.ref)
            what = f"{LABEL} is damaged in the file; little could be read of it."
            note = Note(what, "Export the model again.", "", "damage")
            self._model.notes.append(about(note, bare))
            return bare

    def _read_element(self, of: Occurrence) -> Element:
        own = self._properties.facts(self._relations.property_sets.get(of.ref))
        type_ref = ref(of.kind)
        inherited = self._facts_of_type(type_ref, of.kind)
        ends = self._ports.ends(of.ref)
        frame = self._placements.frame(of.placement)
        axis = None
        if of.what.role is Role.PIPE and frame is not None:
            axis = self._shapes.axis(of.entity.get_argument(6))
        made = self._prototype(of, own, inherited, ends, axis)
        element = self._copy(of, made, ends)
        if frame is not None:
            element.position = origin(frame)
        if axis is not None and frame is not None:
            if sum(e.position is not None for e in ends) < 2:
                axis_ends(element, axis.moved(frame))
        elif not ends and frame is not None:
            self._set_drawn_ends(of, element, frame)
        self._set_end_sizes(of, made, element)
        if element.role in STANDING and frame is not None:
            element.box = self._shapes.box(of.entity.get_argument(6), frame)
        element.storey, element.space = self._spatial.place(of.ref)
        if element.storey:
            element.basis["storey"] = "spatial containment"
        if element.role is Role.PIPE:
            self._set_length(element, axis, own, inherited)
        return element

    def _copy(self, of: Occurrence, made: Prototype, ends: list[End]) -> Element:
        p = made.element
        element = Element(
            clean(of.entity.get_argument(0)), of.texts[1][0], p.ifc_class, p.predefined_type,
            p.type_name, clean(of.entity.get_argument(7)), self._number, p.role, p.kind, p.system,
            p.system_name, p.size_in, p.material, ends=ends, properties=dict(p.properties),
            basis=dict(p.basis),
        )  # fmt: skip
        if any(e.position is not None for e in ends):
            element.basis["ends"] = "port placement"
        for note in made.notes:
            self._model.notes.append(about(note, element))
        return element

    # -- what is described alike --------------------------------------------------------------

    def _prototype(
        self, of: Occurrence, own: Facts, inherited: Facts, ends: list[End], axis: Axis | None
    ) -> Prototype:
        type_ref = ref(of.kind)
        systems = tuple(e.system for e in ends if e.system is not None)
        groups = self._relations.groups.get(of.ref, ())
        material = self._relations.material.get(of.ref)
        port_size = self._ports.size_fact(of.ref) if "size" not in own else None
        particular = tuple((n, f.value) for n, f in own.items() if n not in OF_ONE_ELEMENT)
        signature = (
            of.ifc_class, of.literal, type_ref, of.folded, systems,
            tuple(g.id() for g in groups), ref(material), particular,
            port_size and port_size.value, axis and (axis.outside_m, axis.inside_m),
        )  # fmt: skip
        made = self._prototypes.get(signature)
        if made is None:
            facts = _merged(own, inherited)
            if port_size is not None:
                facts.setdefault("size", port_size)
            texts, drawn = self._material(ref(material), material)
            of_type = self._relations.material.get(type_ref)
            type_texts, type_drawn = self._material(ref(of_type), of_type)
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
                tuple(self._systems.group(g) for g in groups) + tuple(self._ports.groups(of.ref)),
                systems,
            )
            made = self._prototypes[signature] = self._describer.prototype(of, known)
            _set_drawn_diameters(made.element, axis)
        return made

    def _facts_of_type(self, type_ref: Ref, kind: Any) -> Facts:
        if type_ref not in self._type_facts:
            facts = self._properties.facts([ref(s) for s in kind[5] or ()])
            named = {n: f.with_basis(f.basis + " of the type") for n, f in facts.items()}
            self._type_facts[type_ref] = named
        return self._type_facts[type_ref]

    def _material(self, key: Ref, material: Any) -> tuple[Texts, list[Drawn]]:
        """Names of a material definition, and the diameters of its profile."""
        if key not in self._materials:
            outline = self._shapes.round_profile(profile(material))
            drawn = [Drawn(outline[1], outline[2], "material profile")] if outline else []
            self._materials[key] = ([(t, "") for t in material_texts(material)], drawn)
        return self._materials[key]

    def _unit_factor(self, unit: Ref) -> float | None:
        return factor(self._ifc.by_id(int(unit[1:])))

    # -- what is the element's own ------------------------------------------------------------

    def _set_end_sizes(self, of: Occurrence, made: Prototype, element: Element) -> None:
        if len(made.sizes_in) > 1:
            element.properties["sizes_in"] = " x ".join(f"{s:g}" for s in made.sizes_in)
        self._ports.set_end_sizes(of.ref, element)

    def _set_drawn_ends(self, of: Occurrence, element: Element, frame: Frame) -> None:
        """Where an element without ports can be met: the ends of its legs, else its whole box."""
        shape = of.entity.get_argument(6)
        if shape is None or element.role not in WITHOUT_PORTS:
            return
        axes = self._shapes.axes(shape)
        element.ends = [End(p, name=DRAWN) for p in leg_ends([a.moved(frame) for a in axes])]
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
        positions = [e.position for e in element.ends if e.position is not None]
        if axis is not None and axis.length_m > 0:
            element.length_m, element.basis["length"] = axis.length_m, axis.basis
        elif len(positions) == 2 and positions[0] != positions[1]:
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
