"""Two bodies that touch with no pipe between them: a trap under its tub, a closet on its bend, a
relief valve on its heater."""

from __future__ import annotations

import math
from collections import defaultdict

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
    Role,
    joined_to,
)
from ifclint.ifc.joints.free_ends import RELIEF, join, system_of
from ifclint.ifc.joints.touching import touch

TOUCHING = Basis("bodies that touch", Confidence.INFERRED)
UNDER = frozenset({Role.TRAP, Role.FITTING})  # what a fixture stands on, the surest first
OPENINGS_OF_A_TRAP = 2
FAUCET = "faucet"
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
        touched: dict[int, list[int]] = defaultdict(list)
        own = {i: boxes[i] for i in parts if model.elements[i].role is role and _takes(
            model, i, services[i])}  # fmt: skip
        for fixture, part in _touching(waiting, own, model.joining_tolerance_m):
            touched[fixture].append(part)
            touched[part].append(fixture)
        for fixture in list(waiting):
            found = touched[fixture]
            if len(found) == 1 and len(touched[found[0]]) == 1:
                _join(model, fixture, found[0], waiting[fixture], own[found[0]])
            if found:
                del waiting[fixture]  # joined, or more than one trap could be meant


def _joined_to(model: Model, asked: set[int]) -> tuple[dict[int, set[object]], dict[int, int]]:
    """The services and the number of traps joined to some elements."""
    services: dict[int, set[object]] = defaultdict(set)
    traps: dict[int, int] = defaultdict(int)
    for joint in model.joints:
        if joint.a not in asked and joint.b not in asked:
            continue
        a, b = (joint.a, joint.a_end), (joint.b, joint.b_end)
        for one, other in ((a, b), (b, a)):
            services[one[0]] |= {system_of(model, one), system_of(model, other)}
            traps[one[0]] += model.elements[other[0]].role is Role.TRAP
    return services, traps


def _takes(model: Model, index: int, services: set[object]) -> bool:
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


def _join(model: Model, fixture: int, part: int, above: Box, below: Box) -> None:
    """Join the two where they touch: at the middle of what they share, seen from above."""
    low = tuple(max(above[0][k], below[0][k]) for k in range(3))
    high = tuple(min(above[1][k], below[1][k]) for k in range(3))
    x, y, z = ((a + b) / 2 for a, b in zip(low, high, strict=True))
    for i, flow, name in ((fixture, "out", "outlet"), (part, "in", "")):
        element = model.elements[i]
        element.ends.append(End((x, y, z), flow=flow, name=name))
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
        ends = [end.position for end in valve.ends if end.position is not None]
        places = ends or [valve.position] if valve.position is not None else ends
        own = boxes.get(i) or valve.box or (box_around(places) if places else None)
        on = [] if own is None else [k for k, box in kept.items() if touch(own, box, STANDING_ON_M)]
        if own is not None and len(on) == 1:
            _join(model, on[0], i, kept[on[0]], own)


def hang_faucets(model: Model) -> None:
    """Join each fixture without water to the one faucet on the wall over it, whose spout no model
    draws down to it."""
    elements = model.elements
    faucets = [i for i, e in enumerate(elements) if e.role is Role.VALVE and e.kind == FAUCET]
    if not faucets:
        return
    fixtures = {i: e.box for i, e in enumerate(elements) if e.role is Role.FIXTURE and e.box}
    services, _ = _joined_to(model, {*fixtures, *faucets})
    dry = {i: box for i, box in fixtures.items() if not services[i] & WATER_SUPPLY}
    faucets = [i for i in faucets if services[i] & WATER_SUPPLY]
    over = {i: [k for k, box in dry.items() if _is_over(model.elements[i], box)] for i in faucets}
    for i, found in over.items():
        if len(found) == 1 and sum(found[0] in others for others in over.values()) == 1:
            at = model.elements[i].position
            assert at is not None
            _join(model, i, found[0], (at, at), (at, at))


def _is_over(faucet: Element, box: Box) -> bool:
    """Whether a faucet is on the wall over a fixture: beside or above its box, within reach."""
    at = faucet.position
    if at is None or not 0.0 <= at[2] - box[0][2] <= HIGHEST_FAUCET_M:
        return False
    return covers(*box, at, BESIDE_M)
