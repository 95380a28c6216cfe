"""Kinds of parts that several packs ask for: surroundings, cleanouts, traps, vents."""

from collections.abc import Callable

from ifclint.findings import PartKind
from ifclint.ifc.elements import Role
from ifclint.plumbing.context import Context

WALLS = PartKind(
    "walls",
    lambda context: context.plumbing.surroundings.has_walls,
    "Add the walls (IfcWall) to the model, or the architect's file to the review.",
)
OPENINGS = PartKind(
    "windows or doors",
    lambda context: bool(context.plumbing.surroundings.of_kind("window", "door")),
    "Add the windows and doors (IfcWindow, IfcDoor) to the model, or the architect's file to the "
    "review.",
)
SHELL = PartKind(
    "walls or slabs",
    lambda context: context.plumbing.surroundings.footprint is not None,
    "Add walls or slabs (IfcWall, IfcSlab) to the model, or the architect's file to the review.",
)
FLOORS = PartKind(
    "floors",
    lambda context: bool(context.plumbing.surroundings.floors.likely),
    "Give the building a storey with an elevation, or rooms (IfcSpace).",
)


def _drawn_in_drains(role: Role) -> Callable[[Context], bool]:
    def is_drawn(context: Context) -> bool:
        elements = context.plumbing.network.elements
        return any(elements[i].role is role for i in context.plumbing.drainage.members)

    return is_drawn


CLEANOUTS = PartKind(
    "cleanouts",
    _drawn_in_drains(Role.CLEANOUT),
    "Model the cleanouts, named so (IfcPipeFitting or IfcWasteTerminal), joined to their drains.",
)
DRAINS = PartKind(
    "drain pipes",
    _drawn_in_drains(Role.PIPE),
    "Model the drains as pipes (IfcPipeSegment) with their shape; what has the class of no pipe is "
    "not read as one.",
)
TRAPS = PartKind(
    "traps",
    _drawn_in_drains(Role.TRAP),
    "Model the trap (IfcWasteTerminal, WASTETRAP) at the outlet of the fixture.",
)
VENTS = PartKind(
    "vents",
    lambda context: context.plumbing.venting.is_modelled,
    "Model the vents, in a system of the type VENT.",
)
