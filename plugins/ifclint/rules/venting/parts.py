"""Parts of the venting that a model may not draw at all (see `ifclint.findings.PartKind`)."""

from __future__ import annotations

from ifclint.findings import PartKind
from ifclint.ifc.elements import Role
from ifclint.packs import Context


def _has_traps(context: Context) -> bool:
    elements = context.plumbing.network.elements
    return any(elements[i].role is Role.TRAP for i in context.plumbing.drainage.members)


TRAPS = PartKind(
    "traps",
    _has_traps,
    "Model the trap (IfcWasteTerminal, WASTETRAP) at the outlet of the fixture.",
)
VENTS = PartKind(
    "vents",
    lambda context: context.plumbing.venting.is_modelled,
    "Model the vents, in a system of the type VENT.",
)
