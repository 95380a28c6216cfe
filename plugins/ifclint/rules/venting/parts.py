"""Parts of the venting that a model may not draw at all (see `ifclint.findings.PartKind`)."""

from __future__ import annotations

from ifclint.findings import PartKind
from ifclint.ifc.elements import Role

TRAPS = PartKind(
    "traps",
    lambda context: any(
        context.plumbing.network.elements[i].role is Role.TRAP
        for i in context.plumbing.drainage.members
    ),
    "Model the trap (IfcWasteTerminal, WASTETRAP) at the outlet of the fixture.",
)
VENTS = PartKind(
    "vents",
    lambda context: context.plumbing.venting.is_modelled,
    "Model the vents, in a system of the type VENT.",
)
