"""Where an element is: its storey and space, and the walls, slabs and roofs around it."""

from __future__ import annotations

from typing import Any

from ifclint.ifc.elements import Storey, Surface
from ifclint.ifc.entities import EntityPlacements, ref
from ifclint.ifc.placement import IDENTITY
from ifclint.ifc.relations import Relations
from ifclint.ifc.shapes import ShapeReader
from ifclint.ifc.spf import Ref
from ifclint.ifc.text import clean

DEEPEST = 50
BELOW_STOREY_M = 0.6  # pipes hang this far below the floor of the storey they serve
SURFACE_CLASSES = (
    ("IfcWall", "wall"), ("IfcSlab", "slab"), ("IfcRoof", "roof"), ("IfcWindow", "window"),
    ("IfcDoor", "door"),
)  # fmt: skip


class SpatialReader:
    """Storeys and spaces of one file, each read once."""

    def __init__(self, relations: Relations, placements: EntityPlacements, metres: float) -> None:
        self._relations = relations
        self._placements = placements
        self._metres = metres
        self._places: dict[int, tuple[str, str]] = {}

    def storeys(self, ifc: Any) -> list[Storey]:
        found = []
        for storey in ifc.by_type("IfcBuildingStorey"):
            frame = self._placements.frame(storey[5])
            if frame is not None and frame[11] != 0.0:
                elevation = frame[11]
            else:
                elevation = float(storey[9] or 0.0) * self._metres
            found.append(Storey(_name(storey), elevation))
        return found

    def place(self, element: Ref) -> tuple[str, str]:
        """Storey and space an element is contained in; empty where it is in neither."""
        at = element
        for _ in range(DEEPEST):
            container = self._relations.container.get(at)
            if container is not None:
                return self._of_container(container)
            whole = self._relations.whole.get(at)
            if whole is None:
                break
            at = ref(whole)
        return "", ""

    def _of_container(self, container: Any) -> tuple[str, str]:
        key = container.id()
        if key not in self._places:
            storey = space = ""
            at = container
            for _ in range(DEEPEST):
                if at is None or storey:
                    break
                if at.is_a("IfcSpace"):
                    space = space or _name(at)
                elif at.is_a("IfcBuildingStorey"):
                    storey = _name(at)
                at = self._relations.whole.get(ref(at))
            self._places[key] = (storey, space)
        return self._places[key]


def _name(structure: Any) -> str:
    long_name = clean(structure[7]) if len(structure) > 7 else ""
    return long_name if structure.is_a("IfcSpace") and long_name else clean(structure[2])


def storey_by_elevation(z: float, storeys: list[Storey]) -> str:
    """The highest storey whose floor is at or below z, allowing for pipes hung under a floor."""
    name = storeys[0].name if storeys else ""
    for storey in storeys:
        if storey.elevation_m <= z + BELOW_STOREY_M:
            name = storey.name
    return name


def surfaces(ifc: Any, shapes: ShapeReader, placements: EntityPlacements) -> list[Surface]:
    """Walls, slabs, roofs, windows and doors whose box is cheap to know."""
    found = []
    for name, kind in SURFACE_CLASSES:
        for entity in ifc.by_type(name):
            box = shapes.box(entity[6], placements.frame(entity[5]) or IDENTITY)
            if box is not None:
                kind_here = "roof" if kind == "slab" and entity[8] == "ROOF" else kind
                found.append(Surface(entity[0], kind_here, clean(entity[2]), box[0], box[1]))
    return found
