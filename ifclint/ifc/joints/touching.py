"""Pipe ends in the box of an element without ports are joined to it; in that of what is not
understood, they lead there."""

from collections import defaultdict
from collections.abc import Sequence
from math import dist

import numpy as np

from ifclint.engineering.extents import middle
from ifclint.engineering.near import NearPlaces
from ifclint.ifc.elements import (
    DRAINAGE,
    WATER_SUPPLY,
    Basis,
    Box,
    Confidence,
    Element,
    End,
    Model,
    Point,
    Role,
    System,
)
from ifclint.ifc.joints.free_ends import (
    SEVERAL_SYSTEMS,
    FreeEnd,
    free_ends,
    join,
    join_by_nature,
    may_join,
    one_to_one,
    position_of,
    positions_of,
    system_of,
)

LARGEST_M = 2.0  # across; a larger body is of the building, and ends lie in it. Ours, no source
RECEPTORS = frozenset(
    {"floor-drain", "floor-sink", "mop-sink", "laundry-sink", "clothes-washer"}  # a standpipe
)
SUMP = "sump"
VACUUM_PUMP = "vacuum-pump"
DRAWN_FROM = frozenset({"mixing", "faucet", "flushometer"})
PARTS = frozenset({Role.VALVE, Role.METER, Role.REGULATOR, Role.PUMP})  # of the pipework
AROUND = SEVERAL_SYSTEMS | {Role.CHAMBER}  # what parts of the pipework stand in
ENTERED = AROUND | {Role.INTERCEPTOR}  # at any place of their sides
SLIPPED_OVER = frozenset({Role.VENT_TERMINAL})  # the pipe that ends in them, if not at their tip
INSIDE = Basis("pipe ends inside its shape", Confidence.INFERRED)


def without_tips(
    model: Model, free: list[FreeEnd], drawn: set[int], boxes: dict[int, Box]
) -> list[FreeEnd]:
    """Free ends without the tips of the round parts of fixtures, heaters, manholes ...: these are
    met anywhere in their box, and not where a cylinder they are drawn with ends; so are cowls
    whose tips nothing meets."""
    capped = {i for i in drawn if model.elements[i].role in SLIPPED_OVER}
    slipped = capped - _met(model, free) if capped else capped
    unmet: dict[int, int] = defaultdict(int)
    for i, _ in free:
        unmet[i] += 1
    tipped = set()
    for i in drawn:
        element = model.elements[i]
        untouched = unmet[i] == len(element.ends)
        box = element.box or boxes.get(i)
        if (element.role in ENTERED or i in slipped) and box is not None and untouched:
            tipped.add(i)
            boxes[i] = box
            element.ends = []
            element.basis.pop("ends", None)
    return [at for at in free if at[0] not in tipped]


def _met(model: Model, free: list[FreeEnd]) -> set[int]:
    """The elements of which a free end lies at one of another."""
    pairs = NearPlaces(positions_of(model, free)).pairs(model.joining_tolerance_m).tolist()
    owners = ({free[a][0], free[b][0]} for a, b in pairs)
    return {i for two in owners if len(two) == 2 for i in two}


def join_to_boxes(model: Model, free: list[FreeEnd], boxes: dict[int, Box]) -> list[FreeEnd]:
    """Join free ends to the one element without ends in whose box they lie, or to the one part of
    the pipework that stands within the box of what it serves: the stop in a vanity, the pump in its
    basin."""
    open_to_all = {i: box for i, box in boxes.items() if _only_entered(model, i)}
    zones = zones_of(model, open_to_all)
    met = {pair for joint in model.joints for pair in ((joint.a, joint.b), (joint.b, joint.a))}
    around = {
        at: [i for i in found if (at[0], i) not in met and may_enter(model, at, i)]
        for at, found in ends_inside(model, free, zones).items()
    }
    for at, owner in _far_ends(model, around, boxes):
        around[at].remove(owner)
    joined: set[FreeEnd] = set()
    for at, found in around.items():
        entered = innermost(model, found, boxes)
        if len(entered) == 1:
            enter(model, at, entered[0], INSIDE)
            joined.add(at)
    return [at for at in free if at not in joined]


def _far_ends(
    model: Model, around: dict[FreeEnd, list[int]], boxes: dict[int, Box]
) -> list[tuple[FreeEnd, int]]:
    """The ends of short pipes that lie in a box with both, each with whose it is: a nipple is
    joined to a valve with one end, not the one in another box too, or farther from the middle."""
    far = []
    for (i, e), owners in around.items():
        others = [(i, k) for k in range(len(model.elements[i].ends)) if k != e]
        for owner in owners if len(others) == 1 and others[0] in around else ():
            if owner in around[others[0]]:
                own, other = (
                    (len(around[at]) > 1, dist(position_of(model, at), middle(*boxes[owner])), at)
                    for at in ((i, e), others[0])
                )
                if own > other:
                    far.append(((i, e), owner))
    return far


def innermost(model: Model, found: list[int], boxes: dict[int, Box]) -> list[int]:
    """Of the elements in whose box an end lies, the parts of the pipework where each of these is
    smaller than every fixture, heater, basin ... that it lies in; else all of them."""
    parts = [i for i in found if _is_part(model.elements[i])]
    served = [i for i in found if model.elements[i].role in AROUND]
    if not parts or not served or len(parts) + len(served) < len(found):
        return found
    largest = max(dist(*boxes[i]) for i in parts)
    return parts if largest < min(dist(*boxes[i]) for i in served) else found


def _is_part(element: Element) -> bool:
    """Whether it is one of the pipework, and not what water is drawn from."""
    return element.role in PARTS and element.kind not in DRAWN_FROM


def _only_entered(model: Model, index: int) -> bool:
    """Whether an element has no ends but those of pipes that were found inside it."""
    element = model.elements[index]
    return not element.ends or element.basis.get("ends") == INSIDE


def zones_of(model: Model, boxes: dict[int, Box]) -> dict[int, Box]:
    """Boxes larger by the joining tolerance, in the order of the model."""
    by = model.joining_tolerance_m
    return {i: (_moved(boxes[i][0], -by), _moved(boxes[i][1], by)) for i in sorted(boxes)}


def _moved(p: Point, by: float) -> Point:
    return p[0] + by, p[1] + by, p[2] + by


def ends_inside(
    model: Model, free: list[FreeEnd], zones: dict[int, Box]
) -> dict[FreeEnd, list[int]]:
    """The zones, by their element, that each free end lies in."""
    if not zones or not free:
        return {}
    owners = list(zones)
    low = np.array([zones[i][0] for i in owners])
    high = np.array([zones[i][1] for i in owners])
    points = positions_of(model, free)
    around = np.linalg.norm(high - low, axis=1) / 2
    inside: dict[int, list[int]] = defaultdict(list)
    for zone, ends in NearPlaces(points).beside((low + high) / 2, around):
        within = ((low[zone] <= points[ends]) & (points[ends] <= high[zone])).all(axis=1)
        for k, f in zip(zone[within].tolist(), ends[within].tolist(), strict=True):
            inside[f].append(owners[k])
    return {free[f]: inside[f] for f in sorted(inside)}


def alone_inside(
    model: Model, free: list[FreeEnd], zones: dict[int, Box]
) -> list[tuple[int, FreeEnd]]:
    """The owners of zones that hold one free end, each with that, where no other zone holds it."""
    over = ends_inside(model, free, zones)
    return one_to_one((i, at) for at, owners in over.items() for i in owners)


def enter(model: Model, at: FreeEnd, owner: int, basis: Basis, gap_m: float = 0.0) -> None:
    """Give an element an end where a pipe end lies, and join the two."""
    element = model.elements[owner]
    element.ends.append(End(position_of(model, at)))
    element.basis.setdefault("ends", basis)
    join(model, at, (owner, len(element.ends) - 1), gap_m)


def may_enter(model: Model, at: FreeEnd, owner: int) -> bool:
    end, element = model.elements[at[0]], model.elements[owner]
    if at[0] == owner or drops_in(model, at, element):
        return False
    if element.kind == VACUUM_PUMP and system_of(model, at) in WATER_SUPPLY:
        return True  # which seals it, whatever it draws
    if element.kind == SUMP and system_of(model, at) in DRAINAGE | {System.STORM}:
        return True  # what ends in a sump runs into it, whichever water it is meant for
    if element.role in SEVERAL_SYSTEMS or may_join(end, end.ends[at[1]], element, End(None)):
        return True
    return join_by_nature(end, system_of(model, at), element, element.system)


def drops_in(model: Model, at: FreeEnd, receptor: Element) -> bool:
    """Whether an end is that of a waste line which comes from above the rim of a receptor and
    points down into it: it ends there in the open, however deep, and is joined to nothing."""
    element, tip = model.elements[at[0]], position_of(model, at)
    if receptor.kind not in RECEPTORS or receptor.box is None:
        return False
    if element.role is not Role.PIPE or system_of(model, at) in WATER_SUPPLY:
        return False
    rim = receptor.box[1][2] + model.joining_tolerance_m
    tops = [e.position for e in element.ends if e.position is not None and e.position[2] > rim]
    return any(top[2] - tip[2] > dist(top[:2], tip[:2]) for top in tops)


def touch(a: Box, b: Box, reach: float) -> bool:
    """Whether two boxes touch, or lie no farther apart than a reach."""
    return all(a[0][k] <= b[1][k] + reach and b[0][k] <= a[1][k] + reach for k in range(3))


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
