"""Two bodies that touch with no pipe between them: a trap under its tub, a closet on its bend, a
relief valve on its heater."""

import math

from ifclint.engineering.extents import box_around, covers, middle
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
    ends_joined,
    joined_to,
)
from ifclint.ifc.joints.free_ends import RELIEF, join, one_to_one, system_of
from ifclint.ifc.joints.touching import touch

TOUCHING = Basis("bodies that touch", Confidence.INFERRED)
UNDER = frozenset({Role.TRAP, Role.FITTING})  # what a fixture stands on, the surest first
OPENINGS_OF_A_TRAP = 2
FAUCET = "faucet"
NOT_FILLED = frozenset({"floor-drain", "floor-sink", "roof-drain", "water-closet", "urinal"})
BESIDE_M, HIGHEST_FAUCET_M = 0.3, 1.6  # of a faucet from the fixture it fills; bounds of our own
STANDING_ON_M = 0.025  # a valve whose thread is not drawn stands as near as this to its tapping


def join_touching_bodies(model: Model, boxes: dict[int, Box]) -> None:
    """Join each fixture that is drained by nothing yet to the one trap or, where it has none, drain
    fitting that its box touches. Each serves one fixture alone."""
    fixtures = {
        i: box
        for i, e in enumerate(model.elements)
        if e.role is Role.FIXTURE and (box := e.box or boxes.get(i))
    }
    if not fixtures:
        return
    parts = [i for i in boxes if model.elements[i].role in UNDER]
    services, traps = _joined_to(model, {*fixtures, *parts})
    waiting = {i: fixtures[i] for i in fixtures if not traps[i] and not services[i] & DRAINAGE}
    for role in (Role.TRAP, Role.FITTING):
        own = {i: boxes[i] for i in parts if model.elements[i].role is role and _takes(
            model, i, services[i])}  # fmt: skip
        touching = _touching(waiting, own, model.joining_tolerance_m)
        for fixture, part in one_to_one(touching):
            _join(model, fixture, part, _shared(waiting[fixture], own[part]))
        for fixture in {fixture for fixture, _ in touching}:
            del waiting[fixture]  # joined, or more than one trap could be meant


def _joined_to(
    model: Model, asked: set[int]
) -> tuple[dict[int, set[System | None]], dict[int, int]]:
    """The services and the number of traps joined to some elements."""
    joined = ends_joined(model.joints, asked)
    services = {
        i: {system_of(model, at) for own, other in met for at in ((i, own), other)}
        for i, met in joined.items()
    }
    traps = {
        i: sum(model.elements[other].role is Role.TRAP for _, (other, _) in met)
        for i, met in joined.items()
    }
    return services, traps


def _takes(model: Model, index: int, services: set[System | None]) -> bool:
    """Whether a part can be what drains a fixture: drainage, with an opening left."""
    element = model.elements[index]
    known = {s for s in (element.system, *services) if s is not None}
    if element.role is Role.TRAP:
        return known <= DRAINAGE and len(element.ends) < OPENINGS_OF_A_TRAP
    of_closet = element.kind.startswith("closet")
    return known <= DRAINAGE and (bool(known) or of_closet)


def _touching(
    fixtures: dict[int, Box], parts: dict[int, Box], reach_m: float
) -> list[tuple[int, int]]:
    """The fixtures and parts whose boxes touch, where the part lies no higher than the fixture."""
    if not fixtures or not parts:
        return []
    owners = sorted(parts)
    middles = NearPlaces([middle(*parts[i]) for i in owners])
    widest = max(math.dist(*parts[i]) for i in owners) / 2
    found = []
    for i, box in fixtures.items():
        around = math.dist(*box) / 2 + widest + 2 * reach_m
        for k in middles.around(middle(*box), around)[0]:
            part = parts[owners[k]]
            if touch(box, part, reach_m) and part[1][2] <= box[1][2]:
                found.append((i, owners[k]))
    return found


def _shared(above: Box, below: Box) -> Point:
    """Where two bodies touch: the middle of what they share."""
    lows, highs = zip(above[0], below[0], strict=True), zip(above[1], below[1], strict=True)
    x, y, z = ((max(low) + min(high)) / 2 for low, high in zip(lows, highs, strict=True))
    return x, y, z


def _join(model: Model, fixture: int, part: int, at: Point) -> None:
    """Join the two in one place, where the part takes what the fixture gives."""
    for i, flow, name in ((fixture, "out", "outlet"), (part, "in", "")):
        element = model.elements[i]
        element.ends.append(End(at, flow=flow, name=name))
        element.basis.setdefault("ends", TOUCHING)
    ends = [len(model.elements[i].ends) - 1 for i in (fixture, part)]
    join(model, (fixture, ends[0]), (part, ends[1]))


def join_relief_valves(model: Model, boxes: dict[int, Box]) -> None:
    """Join each relief valve that is joined to no heater or tank, nor by a nipple, to the one that
    it stands on."""
    kept = {
        i: e.box
        for i, e in enumerate(model.elements)
        if e.box and e.role in (Role.HEATER, Role.TANK)
    }
    valves = {
        i: e
        for i, e in enumerate(model.elements if kept else ())
        if e.role is Role.VALVE and e.kind == RELIEF
    }
    joined = joined_to(model.joints if valves else ())
    for i, valve in valves.items():
        beside = {*joined[i], *(k for nipple in joined[i] for k in joined[nipple])}
        if not kept.keys().isdisjoint(beside):
            continue
        ends = valve.places
        places = ends or [valve.position] if valve.position is not None else ends
        own = boxes.get(i) or valve.box or (box_around(places) if places else None)
        on = [] if own is None else [k for k, box in kept.items() if touch(own, box, STANDING_ON_M)]
        if own is not None and len(on) == 1:
            _join(model, on[0], i, _shared(kept[on[0]], own))


def hang_faucets(model: Model) -> None:
    """Join each fixture without water to the one faucet over it, else on the wall beside it, whose
    spout no model draws down to it."""
    elements = model.elements
    faucets = [i for i, e in enumerate(elements) if e.role is Role.VALVE and e.kind == FAUCET]
    if not faucets:
        return
    filled = [i for i, e in enumerate(elements) if e.kind not in NOT_FILLED]
    fixtures = {i: b for i in filled if elements[i].role is Role.FIXTURE and (b := elements[i].box)}
    services, _ = _joined_to(model, {*fixtures, *faucets})
    dry = {i: box for i, box in fixtures.items() if not services[i] & WATER_SUPPLY}
    faucets = [i for i in faucets if services[i] & WATER_SUPPLY]
    hung = set[int]()
    for beside_m in (STANDING_ON_M, BESIDE_M):
        near = [
            (i, k)
            for i in faucets
            for k, box in dry.items()
            if not {i, k} & hung and _is_over(elements[i], box, beside_m)
        ]
        for i, fixture in one_to_one(near):
            at = elements[i].position
            assert at is not None
            _join(model, i, fixture, at)
            hung |= {i, fixture}


def hang_disposers(model: Model, boxes: dict[int, Box]) -> None:
    """Join a disposer without ports to the one sink without ports whose box it touches."""
    sinks = [i for i in boxes if model.elements[i].kind.endswith("sink")]
    for i in boxes:
        if model.elements[i].kind == "disposer":
            over = [s for s in sinks if touch(boxes[i], boxes[s], model.joining_tolerance_m)]
            if len(over) == 1:
                low, high = boxes[i]
                _join(model, over[0], i, (*middle(low, high)[:2], high[2]))


def _is_over(faucet: Element, box: Box, beside_m: float) -> bool:
    """Whether a faucet is on the wall over a fixture: beside or above its box, within reach."""
    at = faucet.position
    if at is None or not 0.0 <= at[2] - box[0][2] <= HIGHEST_FAUCET_M:
        return False
    return covers(*box, at, beside_m)
