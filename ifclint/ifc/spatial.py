"""Where an element is: its storey and space, and the walls, slabs and roofs around it."""

from __future__ import annotations

from typing import Any

from ifclint.ifc.elements import Storey, Surface
from ifclint.ifc.entities import instance, ref
from ifclint.ifc.library import Library
from ifclint.ifc.placement import IDENTITY, Placements
from ifclint.ifc.relations import Relations
from ifclint.ifc.shapes import ShapeReader
from ifclint.ifc.spf import fields, number
from ifclint.ifc.text import clean
from ifclint.ifc.text_index import Ref, TextIndex

DEEPEST = 50
BELOW_STOREY_M = 0.6  # pipes hang this far below the floor of the storey they serve
SURFACE_CLASSES = (
    ("IfcWall", "wall"), ("IfcSlab", "slab"), ("IfcRoof", "roof"), ("IfcWindow", "window"),
    ("IfcDoor", "door"),
)  # fmt: skip


class SpatialReader:
    """Storeys and spaces of one file, each read once."""

    def __init__(
        self,
        library: Library,
        text: TextIndex,
        relations: Relations,
        placements: Placements,
        metres: float,
    ) -> None:
        self._library = library
        self._ifc = library.rare
        self._text = text
        self._relations = relations
        self._placements = placements
        self._metres = metres
        self._places: dict[int, tuple[str, str]] = {}

    def storeys(self) -> list[Storey]:
        found = []
        for storey in self._ifc.by_type("IfcBuildingStorey"):
            written = fields(self._text.get(storey.id()) or b"()")
            frame = self._placements.frame(number(written[5])) if len(written) > 5 else None
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
            if container:
                return self._of_container(container)
            whole = self._relations.whole.get(at)
            if not whole:
                break
            at = whole
        return "", ""

    def _of_container(self, container: Ref) -> tuple[str, str]:
        if container not in self._places:
            storey = space = ""
            at: Ref = container
            for _ in range(DEEPEST):
                structure = instance(self._ifc, at)
                if structure is None or storey:
                    break
                if structure.is_a("IfcSpace"):
                    space = space or _name(structure)
                elif structure.is_a("IfcBuildingStorey"):
                    storey = _name(structure)
                at = self._relations.whole.get(at, 0)
            self._places[container] = (storey, space)
        return self._places[container]

    def surfaces(self, shapes: ShapeReader) -> list[Surface]:
        """Walls, slabs and roofs whose box is cheap to know."""
        found = []
        for name, kind in SURFACE_CLASSES:
            entities = self._ifc.by_type(name) and self._library.whole.by_type(name)
            for entity in entities:
                frame = self._placements.frame(ref(entity[5])) or IDENTITY
                box = shapes.box(ref(entity[6]), frame)
                if box is not None:
                    kind_here = "roof" if kind == "slab" and entity[8] == "ROOF" else kind
                    found.append(Surface(entity[0], kind_here, clean(entity[2]), box[0], box[1]))
        return found


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
