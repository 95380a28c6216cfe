"""A written model looked at with ifcopenshell alone: parts by tag, ports, joints."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import ifcopenshell
import ifcopenshell.util.element
import ifcopenshell.util.placement
import ifcopenshell.util.unit
import networkx as nx
import numpy as np

FOOT_M, INCH_M = 0.3048, 0.0254


@dataclass(frozen=True)
class Port:
    part: str
    name: str
    at: np.ndarray  # ft
    flow: str
    system: str
    size_in: float | None


class Drawn:
    def __init__(self, path: Path) -> None:
        self.ifc = ifcopenshell.open(path)
        self.metres = ifcopenshell.util.unit.calculate_unit_scale(self.ifc)
        self.elements = {
            e.Tag: e for e in self.ifc.by_type("IfcElement") if e.is_a("IfcDistributionElement")
        }

    def feet(self, length: float) -> float:
        return float(length * self.metres / FOOT_M)

    @cached_property
    def ports(self) -> dict[str, dict[str, Port]]:
        """Part -> end name -> port."""
        if self.ifc.schema == "IFC2X3":
            pairs = [
                (r.RelatedElement, r.RelatingPort)
                for r in self.ifc.by_type("IfcRelConnectsPortToElement")
            ]
        else:
            pairs = [
                (r.RelatingObject, port)
                for r in self.ifc.by_type("IfcRelNests")
                for port in r.RelatedObjects
            ]
        found: dict[str, dict[str, Port]] = {}
        for element, port in pairs:
            found.setdefault(element.Tag, {})[port.Name] = self._port(element.Tag, port)
        return found

    def _port(self, tag: str, port: ifcopenshell.entity_instance) -> Port:
        matrix = ifcopenshell.util.placement.get_local_placement(port.ObjectPlacement)
        sets = ifcopenshell.util.element.get_psets(port)
        size = sets.get("Pset_DistributionPortTypePipe", {}).get("NominalDiameter")
        return Port(
            tag,
            port.Name,
            matrix[:3, 3] * self.metres / FOOT_M,
            port.FlowDirection,
            getattr(port, "SystemType", "") or "",
            round(size * self.metres / INCH_M, 3) if size else None,
        )

    @cached_property
    def joints(self) -> list[tuple[Port, Port]]:
        by_guid: dict[str, Port] = {}
        for relation in self.ifc.by_type("IfcRelConnectsPorts"):
            for port in (relation.RelatingPort, relation.RelatedPort):
                by_guid.setdefault(port.GlobalId, self._owned(port))
        return [
            (by_guid[r.RelatingPort.GlobalId], by_guid[r.RelatedPort.GlobalId])
            for r in self.ifc.by_type("IfcRelConnectsPorts")
        ]

    def _owned(self, port: ifcopenshell.entity_instance) -> Port:
        if self.ifc.schema == "IFC2X3":
            owner = port.ContainedIn[0].RelatedElement
        else:
            owner = port.Nests[0].RelatingObject
        return self.ports[owner.Tag][port.Name]

    @cached_property
    def system_of(self) -> dict[str, str]:
        return {
            member.Tag: relation.RelatingGroup.Name
            for relation in self.ifc.by_type("IfcRelAssignsToGroup")
            for member in relation.RelatedObjects
        }

    @cached_property
    def downstream(self) -> nx.DiGraph:
        """Parts of drainage, from each to where it flows; vents left out."""
        graph = nx.DiGraph()
        for a, b in self.joints:
            if "SOURCEANDSINK" not in (a.flow, b.flow) and a.system == "SEWAGE":
                graph.add_edge(a.part, b.part)
        return graph

    def graph(self, system: str) -> nx.Graph:
        """The joints whose ports are both of this SystemType."""
        graph = nx.Graph()
        for a, b in self.joints:
            if a.system == b.system == system:
                graph.add_edge(a.part, b.part)
        return graph

    def joined(self, tag: str, end: str) -> Port | None:
        for a, b in self.joints:
            for one, other in ((a, b), (b, a)):
                if (one.part, one.name) == (tag, end):
                    return other
        return None

    def size_in(self, tag: str) -> float | None:
        """Nominal size of a pipe from its type, of anything else the largest of its ports."""
        kind = ifcopenshell.util.element.get_type(self.elements[tag])
        sets = ifcopenshell.util.element.get_psets(kind)
        size = sets.get("Pset_PipeSegmentTypeCommon", {}).get("NominalDiameter")
        if size:
            return float(round(size * self.metres / INCH_M, 3))
        sizes = [port.size_in for port in self.ports.get(tag, {}).values() if port.size_in]
        return max(sizes, default=None)

    def type_name(self, tag: str) -> str:
        return str(ifcopenshell.util.element.get_type(self.elements[tag]).Name)

    def fall(self, tag: str) -> tuple[float, float]:
        """Plan length and fall of a pipe from inlet to outlet, ft."""
        ends = self.ports[tag]
        step = ends["outlet"].at - ends["inlet"].at
        return float(np.hypot(step[0], step[1])), float(-step[2])

    def pipes(self, system: str) -> list[str]:
        return [
            tag
            for tag, element in self.elements.items()
            if (element.is_a("IfcPipeSegment") or element.is_a("IfcFlowSegment"))
            and self.system_of[tag] == system
        ]
