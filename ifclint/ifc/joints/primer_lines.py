"""Lines of trap primers that end beside the floor drain whose trap they keep full.

They enter its tail or the riser of its trap, which models draw as one body or not at all.
"""

from __future__ import annotations

from ifclint.engineering.extents import grown
from ifclint.ifc.elements import WATER_SUPPLY, Model, Role, joined_to
from ifclint.ifc.joints.free_ends import FreeEnd, free_ends, position_of, system_of
from ifclint.ifc.joints.nearby import BESIDE, distance_m, services
from ifclint.ifc.joints.touching import alone_inside, enter

PRIMED = frozenset({"floor-drain", "floor-sink"})
PRIMER = "trap-primer"
LINE = frozenset({Role.PIPE, Role.FITTING})
AT_ITS_TAIL_M = 0.3  # from the body of the drain: tails and risers are 4 to 12 in long. Our own


def join_primer_lines(model: Model) -> None:
    """Join each open end of a line that comes from a trap primer, and branches nowhere, to the one
    floor drain beside it."""
    elements = model.elements
    drains = {i: e.box for i, e in enumerate(elements) if e.kind in PRIMED and e.box is not None}
    if not drains or all(e.kind != PRIMER for e in elements):
        return
    fed = {i for i, has in services(model, drains).items() if WATER_SUPPLY.intersection(has)}
    zones = {i: grown(*box, AT_ITS_TAIL_M) for i, box in drains.items() if i not in fed}
    beside = joined_to(model.joints)
    ends = [at for at in free_ends(model) if system_of(model, at) in WATER_SUPPLY]
    primed = [at for at in ends if _is_primed(model, at, beside)]
    for i, at in alone_inside(model, primed, zones):
        enter(model, at, i, BESIDE, distance_m(drains[i], position_of(model, at)))


def _is_primed(model: Model, at: FreeEnd, beside: dict[int, list[int]]) -> bool:
    """Whether what ends there comes from a trap primer with nothing branching off between."""
    index, seen = at[0], set[int]()
    while model.elements[index].role in LINE:
        seen.add(index)
        onward = set(beside[index]) - seen
        if len(onward) != 1:
            return False
        (index,) = onward
    return model.elements[index].kind == PRIMER
