"""Parts of the venting that a model may not draw at all (see `ifclint.findings.PartKind`)."""

from __future__ import annotations

from ifclint.findings import PartKind

VENTS = PartKind(
    "vents",
    lambda context: context.plumbing.venting.is_modelled,
    "Model the vents, in a system of the type VENT.",
)
