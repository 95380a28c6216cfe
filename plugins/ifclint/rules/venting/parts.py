"""Parts of the venting that a model may not draw at all (see `ifclint.findings.PartKind`)."""

from __future__ import annotations

from ifclint.findings import PartKind
from ifclint.ifc.elements import Role
from ifclint.packs import Context


def _shows(context: Context, role: Role) -> bool:
    elements = context.plumbing.network.elements
    return any(elements[i].role is role for i in context.plumbing.drainage.members)


_OTHER_FILE = "Review together with the architectural file."
TRAPS = PartKind(
    "traps",
    lambda context: _shows(context, Role.TRAP),
    "Model the trap (IfcWasteTerminal, WASTETRAP) at the outlet of the fixture.",
)
VENTS = PartKind(
    "vents",
    lambda context: context.plumbing.venting.is_modelled,
    "Model the vents, in a system of the type VENT.",
)
CLEANOUTS = PartKind(
    "cleanouts",
    lambda context: _shows(context, Role.CLEANOUT),
    "Model the cleanouts, named so (IfcPipeFitting or IfcWasteTerminal), joined to their drains.",
)
WALLS = PartKind(
    "walls", lambda context: context.plumbing.venting.surroundings.has_walls, _OTHER_FILE
)
OPENINGS = PartKind(
    "windows or doors",
    lambda context: bool(context.plumbing.venting.surroundings.of_kind("window", "door")),
    _OTHER_FILE,
)
