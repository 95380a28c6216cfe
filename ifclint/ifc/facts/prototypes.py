"""One prototype for all elements of a file that are described alike, made when one is first met."""

from collections.abc import Callable
from typing import Any, TypeVar

from ifclint.ifc.elements import Confidence, Element
from ifclint.ifc.facts.describing import (
    CommonAttributes,
    Describer,
    Occurrence,
    PortFacts,
    Prototype,
    RelatedFacts,
    Texts,
    TypeWords,
)
from ifclint.ifc.facts.properties import NO_FACTS, PropertyReader, StatedFact, StatedFacts
from ifclint.ifc.facts.service.system_reader import SystemReader
from ifclint.ifc.facts.size.diameters import METER_IN, from_nominal, is_of_meter
from ifclint.ifc.facts.size.readings import DrawnDiameters
from ifclint.ifc.shape.profiles import RoundProfile
from ifclint.ifc.shape.solids import Axis
from ifclint.ifc.step.library import instance
from ifclint.ifc.step.relations import Refs, Relations
from ifclint.ifc.step.spf import fields, number
from ifclint.ifc.step.text import clean
from ifclint.ifc.step.text_index import Ref, TextIndex

T = TypeVar("T")
OF_ONE_ELEMENT = frozenset({"length", "slope"})  # facts that are no part of a description


class PrototypeMaker:
    """Prototypes of one file."""

    def __init__(
        self,
        ifc: Any,
        text: TextIndex,
        relations: Relations,
        properties: PropertyReader,
        systems: SystemReader,
        describer: Describer,
        round_profile: Callable[[Ref], RoundProfile | None],
    ) -> None:
        self._ifc = ifc
        self._text = text
        self._relations = relations
        self._properties = properties
        self._systems = systems
        self._describer = describer
        self._round_profile = round_profile
        self._type_facts: dict[Ref, StatedFacts] = {0: NO_FACTS}
        self._materials: dict[Ref, tuple[Texts, list[DrawnDiameters]]] = {}
        self._made: dict[tuple[Any, ...], Prototype] = {}  # by what is said
        self._met: dict[tuple[Any, ...], Prototype] = {}  # by what says it
        self._numbers: dict[object, int] = {}
        self._said: dict[object, int] = {}

    def of(
        self, of: Occurrence, own: StatedFacts, ports: PortFacts, axis: Axis | None
    ) -> Prototype:
        """The prototype of an occurrence with these facts, ports and drawn axis."""
        groups = self._relations.groups.get(of.ref, ())
        material = self._relations.material.get(of.ref, 0)
        particular = self._particular(own) if own else ()
        drawn = axis and (axis.outside_m, axis.inside_m)
        key = of.common, ports, groups, material, particular, drawn
        made = self._met.get(key)
        if made is None:
            signature = (
                self._alike(of.common, self._said_in_common),
                self._alike(ports, self._said_by_ports),
                self._alike(groups, self._systems.groups),
                self._alike(material, self._said_of_material),
                particular,
                drawn,
            )
            made = self._made.get(signature)
            if made is None:
                made = self._make(of, own, ports, groups, material, axis)
            self._met[key] = self._made[signature] = made
        return made

    def _make(
        self,
        of: Occurrence,
        own: StatedFacts,
        ports: PortFacts,
        groups: Refs,
        material: Ref,
        axis: Axis | None,
    ) -> Prototype:
        inherited = self._facts_of_type(of.common.kind)
        facts = _merged(own, inherited)
        size = ports.size if "size" not in own else None
        if size is not None:
            facts.setdefault("size", size)
        related = self._related(of, facts, ports, groups + ports.groups, material, axis)
        made = self._describer.prototype(of, related)
        made.inherited = inherited
        made.end_sizes = _end_sizes(ports.sizes, made.element)
        _set_drawn_diameters(made.element, axis)
        return made

    def _alike(self, what: T, says: Callable[[T], object]) -> int:
        """A number that is the same for all that say the same: programs write one type, system
        or material many times."""
        key = says.__name__, what  # and not what is bound to this maker, which would hold itself
        number = self._numbers.get(key)
        if number is None:
            number = self._said.setdefault((says.__name__, says(what)), len(self._said))
            self._numbers[key] = number
        return number

    def _said_in_common(self, common: CommonAttributes) -> object:
        is_what = common.ifc_class, common.literal, common.folded, id(common.classification)
        return is_what, self._alike(common.kind, self._said_by_type)

    def _said_by_type(self, kind: TypeWords) -> object:
        material = self._said_of_material(self._relations.material.get(kind.ref, 0))
        return kind.all, tuple(self._facts_of_type(kind).items()), material

    def _said_by_ports(self, ports: PortFacts) -> object:
        return ports.systems, self._systems.groups(ports.groups), ports.sizes

    def _said_of_material(self, material: Ref) -> object:
        texts, drawn = self._material(material)
        return tuple(texts), tuple(drawn)

    def _particular(self, facts: StatedFacts) -> tuple[Any, ...]:
        """What facts have to do with a description; words of a system without serial numbers."""
        fold = self._describer.fold
        return tuple(
            [
                (n, fold(str(f.value)) if n == "system_words" else f.value, f.rival)
                for n, f in facts.items()
                if n not in OF_ONE_ELEMENT
            ]
        )

    def _related(
        self,
        of: Occurrence,
        facts: StatedFacts,
        ports: PortFacts,
        groups: Refs,
        material: Ref,
        axis: Axis | None,
    ) -> RelatedFacts:
        texts, drawn = self._material(material)
        of_type = self._relations.material.get(of.common.kind.ref, 0)
        type_texts, type_drawn = self._material(of_type)
        shape = (
            [DrawnDiameters(axis.outside_m, axis.inside_m, axis.basis.words)]
            if axis and axis.outside_m
            else []
        )
        return RelatedFacts(
            facts,
            [(t, "material") for t, _ in texts]
            + [(t, "material of the type") for t, _ in type_texts],
            tuple(drawn + type_drawn + shape),
            self._systems.groups(groups),
            ports.systems,
        )

    def _facts_of_type(self, kind: TypeWords) -> StatedFacts:
        """What the property sets of a type say."""
        known = self._type_facts.get(kind.ref)
        if known is None:
            facts = self._properties.of_type(kind.ref)
            known = {n: f.of("the type") for n, f in facts.items()}
            self._type_facts[kind.ref] = known
        return known

    def _material(self, key: Ref) -> tuple[Texts, list[DrawnDiameters]]:
        """Names of a material definition, and the diameters of its profile."""
        if key not in self._materials:
            material = instance(self._ifc, key)
            outline = self._round_profile(profile(material, self._text))
            drawn = []
            if outline is not None:
                of = "material profile"
                drawn.append(DrawnDiameters(outline[1], outline[2], of, Confidence.STATED))
            self._materials[key] = ([(t, "") for t in material_texts(material)], drawn)
        return self._materials[key]


def _merged(own: StatedFacts, inherited: StatedFacts) -> StatedFacts:
    """Facts of an occurrence and its type: the better place, else the occurrence's own."""
    merged = dict(inherited)
    for name, fact in own.items():
        if name not in merged or fact.rank <= merged[name].rank:
            merged[name] = fact
    return merged


def _end_sizes(sizes: tuple[StatedFact | None, ...], element: Element) -> tuple[float | None, ...]:
    """The nominal sizes that ports state for themselves; none where none does."""
    if not any(sizes):
        return ()
    return tuple(
        [
            _end_size(size.value, element)
            if size is not None and isinstance(size.value, float)
            else None
            for size in sizes
        ]
    )


def _end_size(metres: float, element: Element) -> float | None:
    if element.size_in == METER_IN and is_of_meter(metres):
        return METER_IN
    return from_nominal(round(metres, 6), element.material).size_in


def _set_drawn_diameters(element: Element, axis: Axis | None) -> None:
    if axis is None:
        return
    for key, value in (
        ("outside_diameter_m", axis.outside_m),
        ("inside_diameter_m", axis.inside_m),
    ):
        if value and key not in element.properties:
            element.properties["drawn_" + key] = round(value, 6)


def material_texts(material: Any) -> list[str]:
    """Names in a material definition, the material's own first."""
    return [t for t in (clean(n) for n in _names(material, 0)) if t]


def _names(material: Any, depth: int) -> list[Any]:
    if material is None or depth > 4:
        return []
    kind = material.is_a()
    if kind == "IfcMaterial":
        return [material[0]]
    if kind == "IfcMaterialProfileSetUsage" or kind == "IfcMaterialLayerSetUsage":
        return _names(material[0], depth + 1)
    if kind == "IfcMaterialProfileSet":
        return [n for p in material[2] or () for n in _names(p[2], depth + 1)] + [material[0]]
    if kind == "IfcMaterialLayerSet":
        return [n for layer in material[0] or () for n in _names(layer[0], depth + 1)]
    if kind == "IfcMaterialConstituentSet":
        return [n for c in material[2] or () for n in _names(c[2], depth + 1)] + [material[0]]
    if kind == "IfcMaterialList":
        return [n for m in material[0] or () for n in _names(m, depth + 1)]
    return []


def profile(material: Any, text: TextIndex) -> Ref:
    """The one profile of a material profile set, 0 for none."""
    if material is not None and material.is_a() == "IfcMaterialProfileSetUsage":
        material = material[0]
    if material is None or material.is_a() != "IfcMaterialProfileSet":
        return 0
    profiles: Any = material[2]
    if not profiles or len(profiles) != 1:
        return 0
    written = fields(text.get(profiles[0].id()) or b"()")
    return number(written[3]) if len(written) > 3 else 0
