"""Small IFC files written by the tests, the same content in every schema and unit."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import ifcopenshell
import ifcopenshell.guid

SCHEMAS = ("IFC2X3", "IFC4", "IFC4X3_ADD2")
METRES = {"METRE": 1.0, "MILLIMETRE": 0.001, "FOOT": 0.3048, "INCH": 0.0254}
GENERIC = {
    "IfcPipeSegment": "IfcFlowSegment",
    "IfcPipeFitting": "IfcFlowFitting",
    "IfcSanitaryTerminal": "IfcFlowTerminal",
    "IfcWasteTerminal": "IfcFlowTerminal",
    "IfcStackTerminal": "IfcFlowTerminal",
    "IfcElectricAppliance": "IfcFlowTerminal",
    "IfcValve": "IfcFlowController",
    "IfcFlowMeter": "IfcFlowController",
    "IfcTank": "IfcFlowStorageDevice",
    "IfcBoiler": "IfcEnergyConversionDevice",
    "IfcPump": "IfcFlowMovingDevice",
}
Point = tuple[float, float, float]


class SmallModel:
    """Builds one file. All lengths given are metres, whatever the file's unit.

    GlobalIds are counted from `first`, so that files of one building can have their own.
    """

    def __init__(self, schema: str = "IFC4", unit: str = "METRE", first: int = 0) -> None:
        self.old = schema == "IFC2X3"
        self.file = (
            ifcopenshell.file(schema_version=(4, 3, 2, 0))
            if "4X3" in schema
            else (ifcopenshell.file(schema=schema))
        )
        self.per_unit = METRES[unit]
        self._count = first
        owner = self._owner_history() if self.old else None
        self.owner = owner
        create = self.file.create_entity
        self.context = create(
            "IfcGeometricRepresentationContext", None, "Model", 3, 1e-5, self.axes((0, 0, 0))
        )
        units = create("IfcUnitAssignment", self._units(unit))
        self.project = self.root("IfcProject", "Project")
        self.project.RepresentationContexts = [self.context]
        self.project.UnitsInContext = units
        self.building = self.root("IfcBuilding", "House")
        self.storey = self.root("IfcBuildingStorey", "Ground floor")
        self.storey.Elevation = 0.0
        self.aggregate(self.project, [self.building])
        self.aggregate(self.building, [self.storey])

    # -- bookkeeping -------------------------------------------------------------------------

    def guid(self) -> str:
        self._count += 1
        return ifcopenshell.guid.compress(f"{self._count:032x}")

    def root(self, ifc_class: str, name: str | None = None, **attributes: Any) -> Any:
        entity = self.file.create_entity(ifc_class, GlobalId=self.guid(), Name=name, **attributes)
        if self.old:
            entity.OwnerHistory = self.owner
        return entity

    def _owner_history(self) -> Any:
        create = self.file.create_entity
        person = create("IfcPerson", FamilyName="Someone")
        body = create("IfcOrganization", Name="Someone")
        both = create("IfcPersonAndOrganization", person, body)
        application = create("IfcApplication", body, "1", "Hand", "hand")
        return create("IfcOwnerHistory", both, application, ChangeAction="ADDED", CreationDate=0)

    def _units(self, unit: str) -> list[Any]:
        create = self.file.create_entity
        metre = create("IfcSIUnit", UnitType="LENGTHUNIT", Name="METRE")
        angle = create("IfcSIUnit", UnitType="PLANEANGLEUNIT", Name="RADIAN")
        if unit == "MILLIMETRE":
            metre.Prefix = "MILLI"
        if unit in ("FOOT", "INCH"):
            value = create("IfcLengthMeasure", METRES[unit])
            measure = create("IfcMeasureWithUnit", value, metre)
            exponents = create("IfcDimensionalExponents", 1, 0, 0, 0, 0, 0, 0)
            length = create("IfcConversionBasedUnit", exponents, "LENGTHUNIT", unit, measure)
            return [length, angle]
        return [metre, angle]

    def write(self, folder: Path, name: str = "model.ifc") -> Path:
        path = folder / name
        self.file.write(str(path))
        return path

    # -- geometry ----------------------------------------------------------------------------

    def length(self, metres: float) -> float:
        return metres / self.per_unit

    def point(self, p: tuple[float, ...]) -> Any:
        return self.file.create_entity("IfcCartesianPoint", [self.length(c) for c in p])

    def direction(self, d: Point) -> Any:
        return self.file.create_entity("IfcDirection", [float(c) for c in d])

    def axes(self, p: Point, z: Point | None = None, x: Point | None = None) -> Any:
        return self.file.create_entity(
            "IfcAxis2Placement3D",
            self.file.create_entity("IfcCartesianPoint", [float(c) for c in p])
            if not hasattr(self, "per_unit")
            else self.point(p),
            self.direction(z) if z else None,
            self.direction(x) if x else None,
        )

    def placement(
        self, p: Point, z: Point | None = None, x: Point | None = None, parent: Any = None
    ) -> Any:
        return self.file.create_entity("IfcLocalPlacement", parent, self.axes(p, z, x))

    def shape(self, *items: Any, kind: str = "SweptSolid", identifier: str = "Body") -> Any:
        representation = self.file.create_entity(
            "IfcShapeRepresentation", self.context, identifier, kind, list(items)
        )
        return self.file.create_entity("IfcProductDefinitionShape", None, None, [representation])

    def round_profile(self, diameter: float, wall: float | None = None) -> Any:
        origin = self.file.create_entity("IfcCartesianPoint", [0.0, 0.0])
        axes = self.file.create_entity("IfcAxis2Placement2D", origin)
        radius = self.length(diameter / 2)
        if wall is None:
            return self.file.create_entity("IfcCircleProfileDef", "AREA", None, axes, radius)
        return self.file.create_entity(
            "IfcCircleHollowProfileDef", "AREA", None, axes, radius, self.length(wall)
        )

    def extrusion(self, diameter: float, length: float, wall: float | None = None) -> Any:
        return self.file.create_entity(
            "IfcExtrudedAreaSolid",
            self.round_profile(diameter, wall),
            self.axes((0, 0, 0)),
            self.direction((0, 0, 1)),
            self.length(length),
        )

    def polygon(self, *points: tuple[float, float], indexed: bool = False) -> Any:
        """A closed outline of straight lines, as a profile that is extruded."""
        closed = [*points, points[0]]
        if indexed:
            rows = [[self.length(c) for c in p] for p in closed]
            listed = self.file.create_entity("IfcCartesianPointList2D", rows)
            curve = self.file.create_entity("IfcIndexedPolyCurve", listed, None, False)
        else:
            curve = self.file.create_entity("IfcPolyline", [self.point(p) for p in closed])
        return self.file.create_entity("IfcArbitraryClosedProfileDef", "AREA", None, curve)

    def raised(self, profile: Any, height: float) -> Any:
        return self.file.create_entity(
            "IfcExtrudedAreaSolid", profile, self.axes((0, 0, 0)), self.direction((0, 0, 1)),
            self.length(height),
        )  # fmt: skip

    def block(
        self, ifc_class: str, name: str, low: Point, high: Point, indexed: bool = False, **more: Any
    ) -> Any:
        """Part of the building that fills a box."""
        x, y = high[0] - low[0], high[1] - low[1]
        profile = self.polygon((0, 0), (x, 0), (x, y), (0, y), indexed=indexed)
        solid = self.raised(profile, high[2] - low[2])
        made = self.root(ifc_class, name, ObjectPlacement=self.placement(low), **more)
        made.Representation = self.shape(solid)
        return made

    def space(self, name: str, low: Point, high: Point, storey: Any = None) -> Any:
        """A room; its long name is what it is called."""
        made = self.block("IfcSpace", "101", low, high, LongName=name)
        self.aggregate(storey or self.storey, [made])
        return made

    # -- plumbing ----------------------------------------------------------------------------

    def element(
        self,
        ifc_class: str,
        name: str | None = None,
        *,
        predefined: str | None = None,
        type_name: str | None = None,
        at: Any = None,
        shape: Any = None,
        object_type: str | None = None,
        storey: bool = True,
    ) -> Any:
        """An occurrence; in IFC2X3 a generic one whose kind sits on its type."""
        actual = GENERIC.get(ifc_class, ifc_class) if self.old else ifc_class
        entity = self.root(actual, name, ObjectType=object_type, ObjectPlacement=at)
        entity.Representation = shape
        if self.old and actual in GENERIC.values():
            self.type_of(entity, ifc_class + "Type", type_name, predefined)
        else:
            if predefined is not None:
                entity.PredefinedType = predefined
            if type_name is not None:
                self.type_of(entity, ifc_class + "Type", type_name, predefined)
        if storey:
            self.contain(entity, self.storey)
        return entity

    def type_of(
        self, entity: Any, type_class: str, name: str | None, predefined: str | None
    ) -> Any:
        kind = self.root(type_class, name, PredefinedType=predefined or "NOTDEFINED")
        self.root("IfcRelDefinesByType", RelatedObjects=[entity], RelatingType=kind)
        return kind

    def pipe(
        self,
        start: Point,
        end: Point,
        *,
        diameter: float = 0.0603,
        shaped: bool = True,
        **more: Any,
    ) -> Any:
        """A pipe whose placement has its z axis along the pipe."""
        along = tuple(b - a for a, b in zip(start, end, strict=True))
        length = sum(c * c for c in along) ** 0.5
        z = tuple(c / length for c in along)
        x = (0.0, 0.0, 1.0) if abs(z[2]) < 0.9 else (1.0, 0.0, 0.0)
        body = self.shape(self.extrusion(diameter, length)) if shaped else None
        return self.element("IfcPipeSegment", at=self.placement(start, z, x), shape=body, **more)

    def ports(self, element: Any, *points: Point, flows: tuple[str, ...] = ()) -> list[Any]:
        """Ports at world positions, placed in the world."""
        made = []
        for i, p in enumerate(points):
            port = self.root("IfcDistributionPort", f"Port {i + 1}")
            port.ObjectPlacement = self.placement(p)
            port.FlowDirection = flows[i] if flows else "SOURCEANDSINK"
            if not self.old:
                port.PredefinedType = "PIPE"
            made.append(port)
        if self.old:
            for port in made:
                self.root("IfcRelConnectsPortToElement", RelatingPort=port, RelatedElement=element)
        else:
            self.root("IfcRelNests", RelatingObject=element, RelatedObjects=made)
        return made

    def connect(self, a: Any, b: Any, through: Any = None) -> None:
        self.root("IfcRelConnectsPorts", RelatingPort=a, RelatedPort=b, RealizingElement=through)

    def system(self, name: str, elements: list[Any], predefined: str | None = None) -> Any:
        if self.old:
            group = self.root("IfcSystem", name)
        else:
            group = self.root("IfcDistributionSystem", name, PredefinedType=predefined)
        self.root("IfcRelAssignsToGroup", RelatedObjects=elements, RelatingGroup=group)
        return group

    def properties(self, holder: Any, set_name: str, **values: Any) -> Any:
        """A property set of (measure, value) pairs, on an occurrence or a type."""
        made = [self.single(name, *value) for name, value in values.items()]
        return self.property_set(holder, set_name, made)

    def single(self, name: str, measure: str, value: Any) -> Any:
        nominal = self.file.create_entity(measure, value)
        return self.file.create_entity("IfcPropertySingleValue", name, None, nominal, None)

    def property_set(self, holder: Any, set_name: str, properties: list[Any]) -> Any:
        made = self.root("IfcPropertySet", set_name, HasProperties=properties)
        if holder.is_a("IfcTypeObject"):
            holder.HasPropertySets = [*(holder.HasPropertySets or ()), made]
        else:
            self.root(
                "IfcRelDefinesByProperties",
                RelatedObjects=[holder],
                RelatingPropertyDefinition=made,
            )
        return made

    def material(self, element: Any, name: str) -> None:
        made = self.file.create_entity("IfcMaterial", name)
        self.root("IfcRelAssociatesMaterial", RelatedObjects=[element], RelatingMaterial=made)

    def contain(self, element: Any, structure: Any) -> None:
        self.root(
            "IfcRelContainedInSpatialStructure",
            RelatedElements=[element],
            RelatingStructure=structure,
        )

    def aggregate(self, whole: Any, parts: list[Any]) -> None:
        self.root("IfcRelAggregates", RelatingObject=whole, RelatedObjects=parts)
