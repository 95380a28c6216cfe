"""Parts, ports, joints, types, systems and materials as IFC."""

from __future__ import annotations

from .catalogue import CATALOGUE, MATERIALS, OCCURRENCE_2X3, SYSTEMS, TYPE_2X3
from .ifc_file import Entity, IfcFile
from .parts import End, Part, Plan, Point, plus
from .takeoff import outside_diameter_ft, trade_size


def type_name(part: Part) -> str:
    """What the type is called: the trade word and its sizes, "Sanitary tee 3 x 2 in"."""
    if part.trade == "Pipe" and not part.size_in:
        return "Pipe, to be sized"
    sizes = " x ".join(trade_size(size) for size in part.sizes_in)
    named = part.trade if not sizes else f"{part.trade} {sizes} in"
    return f"{named}, {MATERIALS[part.material].name}" if part.trade == "Pipe" else named


def part_name(part: Part) -> str:
    """A pipe, trap or fitting is called by its type and where it is; a device by its own name."""
    if part.trade in ("P-trap",) or (part.centre and part.ends and _is_fitting(part)):
        return f"{type_name(part)}, {part.name}"
    return part.name


def _is_fitting(part: Part) -> bool:
    named_by_themselves = ("Cleanout", "Two-way cleanout", "Closet flange")
    ifc_class = CATALOGUE[part.trade][0]
    return ifc_class == "IfcPipeFitting" and part.trade not in named_by_themselves


# A relation by its class: the attributes that name the one and the many.
RELATIONS = {
    "IfcRelDefinesByType": ("RelatingType", "RelatedObjects"),
    "IfcRelDefinesByProperties": ("RelatingPropertyDefinition", "RelatedObjects"),
    "IfcRelAssignsToGroup": ("RelatingGroup", "RelatedObjects"),
    "IfcRelAssociatesMaterial": ("RelatingMaterial", "RelatedObjects"),
}
Group = tuple[str, str]  # class of the relation, and what it is for: a type's name, a service ...


class PartWriter:
    """Writes the parts of a plan into a file whose storeys and rooms exist already.

    `products` writes parts, ports and joints; `relations` then ties them to their types, sizes,
    systems and materials, one relation for each.
    """

    def __init__(
        self, ifc: IfcFile, plan: Plan, ports: bool, targets: dict[Group, Entity] | None = None
    ) -> None:
        self.ifc, self.plan, self.ports = ifc, plan, ports
        self.products: dict[str, Entity] = {}
        self.ports_by_end: dict[int, Entity] = {}
        self.members: dict[Group, list[Entity]] = {}
        self.targets: dict[Group, Entity] = {} if targets is None else targets

    def declare(self) -> None:
        """Make the types, sizes, systems and materials that the parts will need."""
        for part in self.plan.parts.values():
            self._target(("IfcRelDefinesByType", type_name(part)), part)
            self._target(("IfcRelAssignsToGroup", part.service), part)
            if part.material:
                self._target(("IfcRelAssociatesMaterial", part.material), part)
            for size_in in part.sizes_in if self.ports else ():
                self._target(("IfcRelDefinesByProperties", str(size_in)), part)

    def write_parts(self, parent: dict[str, tuple[Entity, Point]]) -> None:
        """`parent` gives each part's tag its placement to hang on, and that one's origin."""
        for part in self.plan.parts.values():
            self._product(part, *parent[part.tag])
        if self.ports:
            for a, b in self.plan.joints:
                self._joint(a, b)

    def relate(self) -> None:
        for group, members in self.members.items():
            one, many = RELATIONS[group[0]]
            self.ifc.relate(
                group[0], "/".join(group), **{one: self.targets[group], many: tuple(members)}
            )

    def _product(self, part: Part, parent: Entity, origin: Point) -> None:
        ifc = self.ifc
        start = plus(part.centre, origin, -1.0)
        axis = part.ends[1].direction if part.trade == "Pipe" else None
        placement = ifc.placement(parent, start, axis)
        ifc_class, predefined = CATALOGUE[part.trade]
        object_type = part.trade if predefined == "USERDEFINED" else type_name(part)
        values: dict[str, object] = {"ObjectType": object_type, "ObjectPlacement": placement}
        values["Representation"] = self._shape(part)
        values["Tag"] = part.tag
        if not ifc.is_2x3:
            values["PredefinedType"] = predefined
        occurrence = OCCURRENCE_2X3.get(ifc_class, ifc_class) if ifc.is_2x3 else ifc_class
        product = ifc.rooted(occurrence, part.tag, part_name(part), **values)
        self.products[part.tag] = product
        self._join(("IfcRelDefinesByType", type_name(part)), product)
        self._join(("IfcRelAssignsToGroup", part.service), product)
        if part.material:
            self._join(("IfcRelAssociatesMaterial", part.material), product)
        for name, properties in part.properties.items():
            one = ifc.property_set(f"{part.tag}/{name}", name, properties)
            ifc.relate("IfcRelDefinesByProperties", f"{part.tag}/{name}",
                       RelatedObjects=(product,), RelatingPropertyDefinition=one)  # fmt: skip
        if self.ports and part.ends:
            self._ports(part, product, placement, axis)

    def _join(self, group: Group, member: Entity) -> None:
        self.members.setdefault(group, []).append(member)

    # Shape

    def _shape(self, part: Part) -> Entity:
        ifc = self.ifc
        if part.trade == "Pipe":
            length = (
                sum((b - a) ** 2 for a, b in zip(*(e.at for e in part.ends), strict=True)) ** 0.5
            )
            top = (0.0, 0.0, length)
            if not part.size_in:
                return ifc.axis_only((0.0, 0.0, 0.0), top)
            return ifc.body([ifc.cylinder((0.0, 0.0, 0.0), top, self._outside(part, part.size_in))])
        if part.box:
            low, size = part.box
            return ifc.body([ifc.block(plus(low, part.centre, -1.0), size)])
        if part.path:
            path = tuple(plus(p, part.centre, -1.0) for p in part.path)
            disk = ifc.swept_disk(path, self._outside(part, part.ends[0].size_in or 0.0))
            return ifc.body([disk], "AdvancedSweptSolid")
        return ifc.body([self._leg(part, end) for end in part.ends])

    def _leg(self, part: Part, end: End) -> Entity:
        size_in = end.size_in or max(part.sizes_in, default=2.0)
        start, stop = (0.0, 0.0, 0.0), plus(end.at, part.centre, -1.0)
        if max(abs(c) for c in stop) < 1e-9:  # a plug: its neck
            start = tuple(c * 0.15 for c in end.direction)  # type: ignore[assignment]
        return self.ifc.cylinder(start, stop, self._outside(part, size_in))

    def _outside(self, part: Part, size_in: float) -> float:
        return outside_diameter_ft(part.material or "dwv", size_in)

    # Ports

    def _ports(self, part: Part, product: Entity, placement: Entity, axis: Point | None) -> None:
        made = []
        for end in part.ends:
            port = self._port(part, end, placement, axis)
            self.ports_by_end[id(end)] = port
            made.append(port)
            if end.size_in:
                self._join(("IfcRelDefinesByProperties", str(end.size_in)), port)
            if self.ifc.is_2x3:
                self.ifc.relate("IfcRelConnectsPortToElement", f"{part.tag}/{end.name}",
                                RelatingPort=port, RelatedElement=product)  # fmt: skip
        if not self.ifc.is_2x3:
            self.ifc.relate("IfcRelNests", part.tag, RelatingObject=product,
                            RelatedObjects=tuple(made))  # fmt: skip

    def _port(self, part: Part, end: End, placement: Entity, axis: Point | None) -> Entity:
        if axis is None:
            at, looks = plus(end.at, part.centre, -1.0), end.direction
        else:  # along the pipe, z is its axis
            length = sum((a - b) ** 2 for a, b in zip(end.at, part.centre, strict=True)) ** 0.5
            at, looks = (0.0, 0.0, length), (0.0, 0.0, 1.0 if end.name == "outlet" else -1.0)
        values: dict[str, object] = {
            "ObjectPlacement": self.ifc.placement(placement, at, looks),
            "FlowDirection": end.flow,
        }
        if not self.ifc.is_2x3:
            values["PredefinedType"] = "PIPE"
            values["SystemType"] = SYSTEMS[end.service][1]
        return self.ifc.rooted(
            "IfcDistributionPort", f"{part.tag}/port/{end.name}", end.name, **values
        )

    def _joint(self, a: End, b: End) -> None:
        self.ifc.relate(
            "IfcRelConnectsPorts", f"{a.part.tag}/{a.name}>{b.part.tag}/{b.name}",
            RelatingPort=self.ports_by_end[id(a)], RelatedPort=self.ports_by_end[id(b)],
        )  # fmt: skip

    # What many parts share

    def _target(self, group: Group, part: Part) -> Entity:
        if group not in self.targets:
            relation, key = group
            make = {
                "IfcRelDefinesByType": self._type,
                "IfcRelDefinesByProperties": self._port_size,
                "IfcRelAssignsToGroup": self._system,
                "IfcRelAssociatesMaterial": self._material,
            }[relation]
            self.targets[group] = make(key, part)
        return self.targets[group]

    def _port_size(self, key: str, _: Part) -> Entity:
        diameter = ("IfcPositiveLengthMeasure", self.ifc.inches(float(key)))
        name = "Pset_DistributionPortTypePipe"
        return self.ifc.property_set(f"port size/{key}", name, {"NominalDiameter": diameter})

    def _system(self, service: str, _: Part) -> Entity:
        name, predefined = SYSTEMS[service]
        values: dict[str, object] = {}
        if not self.ifc.is_2x3:
            values["PredefinedType"] = predefined
        if predefined == "USERDEFINED":
            values["ObjectType"] = name
        ifc_class = "IfcSystem" if self.ifc.is_2x3 else "IfcDistributionSystem"
        return self.ifc.rooted(ifc_class, f"system/{service}", name, **values)

    def _material(self, key: str, _: Part) -> Entity:
        return self.ifc.make("IfcMaterial", MATERIALS[key].name)

    def _type(self, name: str, part: Part) -> Entity:
        ifc_class, predefined = CATALOGUE[part.trade]
        type_class = f"{ifc_class}Type"
        if self.ifc.is_2x3 and part.trade in TYPE_2X3:
            type_class, predefined = TYPE_2X3[part.trade]
        sets = tuple(
            self.ifc.property_set(f"type/{name}/{set_name}", set_name, values)
            for set_name, values in self._type_properties(part).items()
        )
        values: dict[str, object] = {"HasPropertySets": sets or None, "PredefinedType": predefined}
        if predefined == "USERDEFINED":
            values["ElementType"] = part.trade
        return self.ifc.rooted(type_class, f"type/{name}", name, **values)

    def _type_properties(self, part: Part) -> dict[str, dict[str, object]]:
        measure = "IfcPositiveLengthMeasure"
        if part.trade == "Pipe" and part.size_in:
            outside = self.ifc.length(self._outside(part, part.size_in))
            return {
                "Pset_PipeSegmentTypeCommon": {
                    "NominalDiameter": (measure, self.ifc.inches(part.size_in)),
                    "OuterDiameter": (measure, outside),
                }
            }
        sizes = {end.name: (measure, self.ifc.inches(end.size_in or 0.0)) for end in part.ends}
        if part.trade == "P-trap":
            return {
                "Pset_WasteTerminalTypeWasteTrap": {
                    "WasteTrapType": ["P_TRAP"],
                    "InletConnectionSize": sizes["inlet"],
                    "OutletConnectionSize": sizes["outlet"],
                }
            }
        if part.trade == "Floor drain":
            return {"Pset_WasteTerminalTypeFloorWaste": {"OutletConnectionSize": sizes["outlet"]}}
        drain_sets = {
            "Lavatory": "WashHandBasin", "Bathtub": "Bath", "Shower": "Shower",
            "Kitchen sink": "Sink", "Laundry sink": "Sink",
        }  # fmt: skip
        if part.trade in drain_sets:
            name = f"Pset_SanitaryTerminalType{drain_sets[part.trade]}"
            return {name: {"DrainSize": sizes["outlet"]}}
        return {}
