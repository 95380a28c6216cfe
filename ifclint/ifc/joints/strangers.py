"""Open ends of pipes inside the bodies of what is not understood: each leads there, not nowhere."""

from __future__ import annotations

from collections.abc import Sequence
from math import dist

from ifclint.ifc.elements import Box, Model, Role
from ifclint.ifc.joints.free_ends import free_ends
from ifclint.ifc.joints.touching import ends_inside, zones_of

LARGEST_M = 2.0  # across; a larger body is of the building, and ends lie in it. Ours, no source


def lead_to_strangers(model: Model, strangers: Sequence[tuple[str, Box]]) -> None:
    """Keep in `Model.leads_elsewhere` what pipes and fittings that nothing is joined to end in: the
    smallest body that is not understood, of some by name and box."""
    small = {n: box for n, (_, box) in enumerate(strangers) if dist(*box) <= LARGEST_M}
    if not small:
        return
    piping = (Role.PIPE, Role.FITTING)
    free = [at for at in free_ends(model) if model.elements[at[0]].role in piping]
    for (index, _), found in ends_inside(model, free, zones_of(model, small)).items():
        name = strangers[min(found, key=lambda n: (dist(*small[n]), strangers[n]))][0]
        model.leads_elsewhere.setdefault(model.elements[index].guid, name)
