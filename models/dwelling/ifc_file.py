"""The plain IFC underneath: units, placements, solids, property sets, stable GlobalIds.

Everything is created in a fixed order with a fixed date, so the same drawing gives the same
bytes. Lengths come in feet and are written in the unit of the file.
"""

from __future__ import annotations

import uuid
from pathlib import Path
from typing import TypeAlias

import ifcopenshell
import ifcopenshell.guid

from .parts import Point, between

Entity: TypeAlias = ifcopenshell.entity_instance
FOOT_M, INCH_M = 0.3048, 0.0254
DATE = 1735689600  # 2025-01-01, the date of every part in every build
UNITS: dict[str, tuple[float, int]] = {  # metres in one unit, decimals kept
    "METRE": (1.0, 6),
    "MILLIMETRE": (0.001, 3),
    "FOOT": (FOOT_M, 6),
}
NAMESPACE = uuid.UUID("6f0a5a2e-4f0d-5b7e-9b53-3c9f5f6c2d11")


def global_id(tag: str) -> str:
    """The GlobalId of the part with this tag, the same in every build and schema."""
    return str(ifcopenshell.guid.compress(uuid.uuid5(NAMESPACE, tag).hex))


class IfcFile:
    """An IFC file being written."""

    def __init__(self, schema: str, length_unit: str, name: str) -> None:
        self.file = ifcopenshell.file(schema=schema)
        self.is_2x3 = schema == "IFC2X3"
        self.metres, self.decimals = UNITS[length_unit]
        self.cache: dict[tuple[object, ...], Entity] = {}
        self._header(name)
        self.history = self._owner()
        self.units = self._units(length_unit)
        self.context = self._context()

    def make(self, ifc_class: str, *values: object) -> Entity:
        return self.file.create_entity(ifc_class, *values)

    def shared(self, ifc_class: str, *values: object) -> Entity:
        """One entity for equal values: points, directions, placements, profiles."""
        key = (
            ifc_class,
            *(v.id() if isinstance(v, ifcopenshell.entity_instance) else v for v in values),
        )
        if key not in self.cache:
            self.cache[key] = self.make(ifc_class, *values)
        return self.cache[key]

    def rooted(self, ifc_class: str, tag: str, name: str | None, **values: object) -> Entity:
        return self.file.create_entity(
            ifc_class, GlobalId=global_id(tag), OwnerHistory=self.history, Name=name, **values
        )

    def relate(self, ifc_class: str, tag: str, **values: object) -> Entity:
        return self.rooted(ifc_class, f"relation/{ifc_class}/{tag}", None, **values)

    # Lengths and places

    def length(self, feet: float) -> float:
        return round(feet * FOOT_M / self.metres, self.decimals) + 0.0

    def inches(self, size_in: float) -> float:
        return round(size_in * INCH_M / self.metres, self.decimals + 2)

    def point(self, at: Point) -> Entity:
        return self.shared("IfcCartesianPoint", tuple(self.length(c) for c in at))

    def direction(self, ratios: Point) -> Entity:
        return self.shared("IfcDirection", tuple(round(c, 9) + 0.0 for c in ratios))

    def axes(self, at: Point, axis: Point | None = None) -> Entity:
        """A placement at a point; with an axis, its z looks that way."""
        if axis is None or axis == (0.0, 0.0, 1.0):
            return self.shared("IfcAxis2Placement3D", self.point(at), None, None)
        reference = (1.0, 0.0, 0.0) if abs(axis[0]) < 0.9 else (0.0, 1.0, 0.0)
        return self.shared(
            "IfcAxis2Placement3D", self.point(at), self.direction(axis), self.direction(reference)
        )

    def placement(self, parent: Entity | None, at: Point, axis: Point | None = None) -> Entity:
        return self.make("IfcLocalPlacement", parent, self.axes(at, axis))

    # Shapes, in the coordinates of the placement

    def cylinder(self, start: Point, stop: Point, diameter_ft: float) -> Entity:
        length, direction = between(start, stop)
        profile = self.shared(
            "IfcCircleProfileDef", "AREA", None, self._flat_axes((0.0, 0.0)),
            self.length(diameter_ft / 2),
        )  # fmt: skip
        return self._extrusion(profile, self.axes(start, direction), length)

    def block(self, low: Point, size: Point) -> Entity:
        profile = self.shared(
            "IfcRectangleProfileDef", "AREA", None, self._flat_axes((size[0] / 2, size[1] / 2)),
            self.length(size[0]), self.length(size[1]),
        )  # fmt: skip
        return self._extrusion(profile, self.axes(low), size[2])

    def _flat_axes(self, at: tuple[float, float]) -> Entity:
        point = self.shared("IfcCartesianPoint", tuple(self.length(c) for c in at))
        return self.shared("IfcAxis2Placement2D", point, None)

    def _extrusion(self, profile: Entity, axes: Entity, depth_ft: float) -> Entity:
        up = self.direction((0.0, 0.0, 1.0))
        return self.make("IfcExtrudedAreaSolid", profile, axes, up, self.length(depth_ft))

    def swept_disk(self, path: tuple[Point, ...], diameter_ft: float) -> Entity:
        line = self.make("IfcPolyline", tuple(self.point(p) for p in path))
        radius = self.length(diameter_ft / 2)
        return self.make("IfcSweptDiskSolid", line, radius, None, 0.0, float(len(path) - 1))

    def body(self, items: list[Entity], kind: str = "SweptSolid", name: str = "Body") -> Entity:
        shape = self.make("IfcShapeRepresentation", self.context, name, kind, tuple(items))
        return self.make("IfcProductDefinitionShape", None, None, (shape,))

    def axis_only(self, start: Point, stop: Point) -> Entity:
        line = self.make("IfcPolyline", (self.point(start), self.point(stop)))
        return self.body([line], "Curve3D", "Axis")

    # Property sets

    def value(self, value: object) -> Entity:
        """A typed IFC value: (IFC measure, number) as given, else a label, boolean or integer."""
        if isinstance(value, tuple):
            return self.make(*value)
        if isinstance(value, bool):
            return self.make("IfcBoolean", value)
        if isinstance(value, int):
            return self.make("IfcInteger", value)
        return self.make("IfcLabel", value)

    def _property(self, name: str, value: object) -> Entity:
        """A list is a choice among standard words; anything else a single value."""
        if isinstance(value, list):
            words = tuple(self.value(word) for word in value)
            return self.make("IfcPropertyEnumeratedValue", name, None, words, None)
        return self.make("IfcPropertySingleValue", name, None, self.value(value), None)

    def property_set(self, tag: str, name: str, values: dict[str, object]) -> Entity:
        properties = tuple(self._property(key, value) for key, value in values.items())
        return self.rooted("IfcPropertySet", f"properties/{tag}", name, HasProperties=properties)

    def write(self, path: Path) -> None:
        self.file.write(str(path))

    # Once per file

    def _header(self, name: str) -> None:
        header = self.file.header
        header.file_description.description = ("ViewDefinition [CoordinationView]",)
        header.file_name.name = name
        header.file_name.time_stamp = "2025-01-01T00:00:00"
        header.file_name.author = ("",)
        header.file_name.organization = ("",)
        header.file_name.preprocessor_version = "demo building generator"
        header.file_name.originating_system = "demo building generator"
        header.file_name.authorization = ""

    def _owner(self) -> Entity:
        person = self.make("IfcPerson", None, "Draughtsman")
        firm = self.make("IfcOrganization", None, "Invented Plumbing Design")
        user = self.make("IfcPersonAndOrganization", person, firm)
        program = self.make("IfcApplication", firm, "1", "Demo building generator", "demo")
        return self.make("IfcOwnerHistory", user, program, None, "NOCHANGE", None, None, None, DATE)

    def _units(self, length_unit: str) -> Entity:
        metre = self.make("IfcSIUnit", None, "LENGTHUNIT", None, "METRE")
        length = metre
        if length_unit == "MILLIMETRE":
            length = self.make("IfcSIUnit", None, "LENGTHUNIT", "MILLI", "METRE")
        if length_unit == "FOOT":
            exponents = self.make("IfcDimensionalExponents", 1, 0, 0, 0, 0, 0, 0)
            factor = self.make("IfcMeasureWithUnit", self.make("IfcLengthMeasure", FOOT_M), metre)
            length = self.make("IfcConversionBasedUnit", exponents, "LENGTHUNIT", "FOOT", factor)
        rest = (
            self.make("IfcSIUnit", None, "AREAUNIT", None, "SQUARE_METRE"),
            self.make("IfcSIUnit", None, "VOLUMEUNIT", None, "CUBIC_METRE"),
            self.make("IfcSIUnit", None, "PLANEANGLEUNIT", None, "RADIAN"),
            self.make("IfcSIUnit", None, "POWERUNIT", None, "WATT"),
            self.make("IfcSIUnit", None, "PRESSUREUNIT", None, "PASCAL"),
        )
        return self.make("IfcUnitAssignment", (length, *rest))

    def _context(self) -> Entity:
        origin = self.axes((0.0, 0.0, 0.0))
        return self.make("IfcGeometricRepresentationContext", None, "Model", 3, 1e-5, origin, None)
