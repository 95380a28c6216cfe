"""Drains that are called floor drains and stand on a roof: what they take is rain."""

from __future__ import annotations

from ifclint.ifc.elements import Basis, Confidence, Element, Model, Role, Surface, System

ON_A_ROOF = Basis("it stands on a roof and drains into storm drainage", Confidence.INFERRED)
FLOOR_DRAIN, ROOF_DRAIN = "floor-drain", "roof-drain"
IN_A_ROOF_M = 0.3  # its rim below the top of a slab that is the roof, at most. Ours, no source
ROOFS = frozenset({"roof", "slab"})


def tell_roof_drains(model: Model) -> None:
    """Make roof drains of floor drains that are joined to storm drainage alone and have a roof
    under their rim, and neither a room nor another roof over it."""
    drains = {
        i
        for i, e in enumerate(model.elements)
        if e.role is Role.FIXTURE and e.kind == FLOOR_DRAIN and e.box is not None
    }
    if not drains:
        return
    into: dict[int, set[System | None]] = {i: set() for i in drains}
    for joint in model.joints:
        for own, other in ((joint.a, joint.b), (joint.b, joint.a)):
            if own in into:
                into[own].add(model.elements[other].system)
    roofs = [s for s in model.surfaces if s.kind in ROOFS]
    for i, services in into.items():
        element = model.elements[i]
        if services == {System.STORM} and _is_on_a_roof(element, roofs, model):
            element.kind, element.basis["kind"] = ROOF_DRAIN, ON_A_ROOF


def _is_on_a_roof(drain: Element, roofs: list[Surface], model: Model) -> bool:
    assert drain.box is not None
    low, high = drain.box
    x, y, rim = (low[0] + high[0]) / 2, (low[1] + high[1]) / 2, high[2]
    over = [s for s in roofs if all(s.low[k] <= p <= s.high[k] for k, p in ((0, x), (1, y)))]
    under = [s for s in over if s.low[2] <= rim and s.high[2] - IN_A_ROOF_M <= rim]
    covered = any(s not in under for s in over)
    rooms = [s for s in model.spaces if s.holds((x, y, s.high[2]))]
    above_all = bool(rooms) and all(room.high[2] <= rim for room in rooms)
    return not covered and bool(under) and (above_all or any(s.kind == "roof" for s in under))
