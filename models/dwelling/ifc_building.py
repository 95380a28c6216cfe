"""A whole plan as an IFC file: site, building, storeys, fabric, rooms and parts."""

from __future__ import annotations

from pathlib import Path

from .ifc_file import Entity, IfcFile
from .ifc_parts import PartWriter
from .parts import Part, Plan, Point, Solid
from .shell import LEVELS

NAME = "Marlow House"
ADDRESS = "27 Saltbush Lane, Quillon Flats"
ORIGIN: Point = (0.0, 0.0, 0.0)
LEVEL_2_PIPES_FROM, ROOF_PIPES_FROM = 8.0, 19.0  # floor cavity and attic belong to the level above


def write_building(
    plan: Plan, path: Path, schema: str, length_unit: str, ports: bool, revision: str
) -> None:
    """Write the plan; `schema` IFC2X3, IFC4 or IFC4X3_ADD2, `length_unit` a key of UNITS."""
    ifc = IfcFile(schema, length_unit, f"{NAME}, {revision}")
    spatial = Spatial(ifc, plan)
    writer = PartWriter(ifc, plan, ports)
    writer.declare()
    writer.write_parts({tag: spatial.hang(part) for tag, part in plan.parts.items()})
    writer.relate()
    for part in plan.parts.values():
        spatial.put(spatial.place_of(part), writer.products[part.tag])
    spatial.close()
    ifc.write(path)


class Spatial:
    """Project, site, building, storeys and rooms, and what each contains."""

    def __init__(self, ifc: IfcFile, plan: Plan) -> None:
        self.ifc = ifc
        self._contents: dict[str, list[Entity]] = {}
        self._made: dict[str, tuple[Entity, Entity, Point]] = {}  # entity, placement, origin
        self._structure()
        self._fabric(plan)

    def hang(self, part: Part) -> tuple[Entity, Point]:
        return self._made[self.storey_of(part)][1:]

    def put(self, place: str, product: Entity) -> None:
        self._contents.setdefault(place, []).append(product)

    def place_of(self, part: Part) -> str:
        return part.space or self.storey_of(part)

    def storey_of(self, part: Part) -> str:
        """Outdoors is on the site; pipe in a floor cavity or attic belongs to the level above."""
        points = [end.at for end in part.ends] or [part.centre]
        middle = sum(p[2] for p in points) / len(points)
        if max(p[1] for p in points) <= 0.0:
            return "Site"
        if middle >= ROOF_PIPES_FROM:
            return "Roof"
        return "Level 2" if middle >= LEVEL_2_PIPES_FROM else "Level 1"

    def close(self) -> None:
        """Write containment, one relation for each place."""
        for place, products in self._contents.items():
            self.ifc.relate(
                "IfcRelContainedInSpatialStructure", place,
                RelatedElements=tuple(products), RelatingStructure=self._made[place][0],
            )  # fmt: skip

    def _structure(self) -> None:
        ifc = self.ifc
        project = ifc.rooted("IfcProject", "project", NAME, UnitsInContext=ifc.units,
                             RepresentationContexts=(ifc.context,))  # fmt: skip
        site_place = ifc.placement(None, ORIGIN)
        site = ifc.rooted("IfcSite", "site", ADDRESS, ObjectPlacement=site_place,
                          CompositionType="ELEMENT")  # fmt: skip
        building_place = ifc.placement(site_place, ORIGIN)
        building = ifc.rooted("IfcBuilding", "building", NAME, ObjectPlacement=building_place,
                              CompositionType="ELEMENT")  # fmt: skip
        self._made["Site"] = (site, site_place, ORIGIN)
        storeys = []
        for name, elevation in LEVELS:
            origin = (0.0, 0.0, elevation)
            place = ifc.placement(building_place, origin)
            storey = ifc.rooted("IfcBuildingStorey", f"storey/{name}", name,
                                ObjectPlacement=place, CompositionType="ELEMENT",
                                Elevation=ifc.length(elevation))  # fmt: skip
            self._made[name] = (storey, place, origin)
            storeys.append(storey)
        self._aggregate(project, site)
        self._aggregate(site, building)
        self._aggregate(building, *storeys)

    def _aggregate(self, whole: Entity, *parts: Entity) -> None:
        self.ifc.relate("IfcRelAggregates", whole.GlobalId, RelatingObject=whole,
                        RelatedObjects=parts)  # fmt: skip

    def _fabric(self, plan: Plan) -> None:
        made: dict[str, Entity] = {}
        for solid in plan.solids:
            made[solid.tag] = self._solid(solid)
            if solid.ifc_class == "IfcSpace":
                continue
            if solid.host:
                self._opening(solid, made[solid.host], made[solid.tag])
            self.put(solid.storey, made[solid.tag])
        for storey, _ in LEVELS:
            rooms = [made[s.tag] for s in plan.solids
                     if s.ifc_class == "IfcSpace" and s.storey == storey]  # fmt: skip
            if rooms:
                self._aggregate(self._made[storey][0], *rooms)
        self._exterior(plan, made)

    def _solid(self, solid: Solid) -> Entity:
        ifc = self.ifc
        _, parent, origin = self._made[solid.storey]
        low = (solid.low[0], solid.low[1], solid.low[2] - origin[2])
        placement = ifc.placement(parent, low)
        values: dict[str, object] = {"ObjectPlacement": placement}
        values["Representation"] = ifc.body([ifc.block(ORIGIN, solid.size)])
        if solid.ifc_class == "IfcSpace":
            values["CompositionType"] = "ELEMENT"
            key = "InteriorOrExteriorSpace" if ifc.is_2x3 else "PredefinedType"
            values[key] = solid.predefined
        else:
            values["Tag"] = solid.tag
            if solid.predefined and (solid.ifc_class == "IfcSlab" or not ifc.is_2x3):
                values["PredefinedType"] = solid.predefined
        if solid.ifc_class in ("IfcWindow", "IfcDoor"):
            values["OverallHeight"] = ifc.length(solid.size[2])
            values["OverallWidth"] = ifc.length(max(solid.size[:2]))
        entity = ifc.rooted(solid.ifc_class, solid.tag, solid.name, **values)
        if solid.ifc_class == "IfcSpace":
            self._made[solid.name] = (entity, placement, solid.low)
        return entity

    def _opening(self, solid: Solid, wall: Entity, filler: Entity) -> None:
        ifc = self.ifc
        _, parent, origin = self._made[solid.storey]
        low = (solid.low[0], solid.low[1], solid.low[2] - origin[2])
        void = ifc.rooted("IfcOpeningElement", f"{solid.tag}/void", f"Opening, {solid.name}",
                          ObjectPlacement=ifc.placement(parent, low),
                          Representation=ifc.body([ifc.block(ORIGIN, solid.size)]))  # fmt: skip
        ifc.relate("IfcRelVoidsElement", solid.tag, RelatingBuildingElement=wall,
                   RelatedOpeningElement=void)  # fmt: skip
        ifc.relate("IfcRelFillsElement", solid.tag, RelatingOpeningElement=void,
                   RelatedBuildingElement=filler)  # fmt: skip

    def _exterior(self, plan: Plan, made: dict[str, Entity]) -> None:
        for exterior in (True, False):
            walls = tuple(made[s.tag] for s in plan.solids
                          if s.ifc_class == "IfcWall" and s.exterior is exterior)  # fmt: skip
            tag = f"exterior/{exterior}"
            one = self.ifc.property_set(tag, "Pset_WallCommon", {"IsExternal": exterior})
            self.ifc.relate("IfcRelDefinesByProperties", tag, RelatedObjects=walls,
                            RelatingPropertyDefinition=one)  # fmt: skip
