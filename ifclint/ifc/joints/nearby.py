"""Fixtures, appliances, heaters and tanks without ports: joined to the pipe ends beside them.

What lies between the end and the fixture is a flexible connector, a riser in the wall, a draft
hood: seldom drawn. How far it may be has no source but common practice, as said for each.
"""

import math
from collections import defaultdict
from collections.abc import Collection

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
    ends_joined,
)
from ifclint.ifc.joints.free_ends import (
    DRAWN,
    SEVERAL_SYSTEMS,
    TAKES,
    TAKES_NO_WATER,
    FreeEnd,
    free_ends,
    join,
    position_of,
    positions_of,
    system_of,
)
from ifclint.ifc.joints.touching import RECEPTORS, drops_in, ends_inside, enter

BESIDE = Basis("pipe ends beside it", Confidence.INFERRED)
BESIDE_M = 0.15  # from its box or, where it has none, its placement
BELOW_M = 0.5  # a stop under a basin: flexible supplies are sold 12 to 20 in long
HEAD_M = 2.1  # a shower head above the floor of the tub or shower: roughed in at about 80 in
HOOD_M = 0.3  # a draft hood under a flue: 4 to 10 in
OVER_M = 0.4  # a spout on the wall over a basin
FLUSH_M = 0.7  # the stop of a flush valve over a bowl: 12 in is usual, 24 in over a hospital's
PAIL_M = 1.25  # a service sink's faucet above the foot of its basin: 36 to 48 in is usual
AT_PLACEMENT = frozenset({Role.TRAP, Role.CHAMBER, Role.VENT_TERMINAL, Role.CLEANOUT})
PIPING = frozenset({Role.PIPE, Role.FITTING, Role.VALVE})
CLOSED = frozenset({"cap", "hammer-arrester"})  # kinds that have one opening, however drawn
DRAINS = frozenset({Role.PIPE, Role.FITTING, Role.TRAP})
UNDER_A_HEAD = frozenset({"bathtub", "shower"})
FLUSHED = frozenset({"water-closet", "urinal", "clinical-sink"})
FOR_PAILS = frozenset({"mop-sink", "laundry-sink"})
STOPS = {"isolating": 1, "gas-shutoff": 1, "mixing": 2}  # valves, and how many pipes enter them


def join_beside(model: Model, free: list[FreeEnd], boxes: dict[int, Box]) -> list[FreeEnd]:
    """Join the one free end of each service beside an element of which only its box is known, or
    else over a fixture: at its flush valve, or at the faucet on the wall."""
    takers = {i: box for i, box in boxes.items() if model.elements[i].role in TAKES}
    free = _join_within(model, free, takers, {i: _zone(model.elements[i], takers[i])
                                              for i in sorted(takers)})  # fmt: skip
    free = _join_over_hoods(model, free, takers)
    fed = {i for i, has in services(model, takers).items() if WATER_SUPPLY.intersection(has)}
    dry = {i: box for i, box in takers.items()
           if model.elements[i].role is Role.FIXTURE and i not in fed}  # fmt: skip
    return _join_within(model, free, dry, {i: _zone_over(model.elements[i], dry[i])
                                           for i in sorted(dry)})  # fmt: skip


def _join_over_hoods(model: Model, free: list[FreeEnd], takers: dict[int, Box]) -> list[FreeEnd]:
    """Join the one flue that begins over a heater or appliance to it, across its draft hood."""
    fired = {i: box for i, box in takers.items() if System.FLUE in TAKES[model.elements[i].role]}
    zones = {i: (low, (*high[:2], high[2] + HOOD_M)) for i, (low, high) in sorted(fired.items())}
    flues = [at for at in free if system_of(model, at) is System.FLUE]
    joined = set(flues) - set(_join_within(model, flues, fired, zones))
    return [at for at in free if at not in joined]


def join_beside_later(model: Model, boxes: dict[int, Box]) -> None:
    """Join pipe ends of which only the joints made so far told the service."""
    told = [
        at
        for at in free_ends(model)
        if (basis := model.elements[at[0]].basis.get("system")) is not None
        and basis.confidence is Confidence.INFERRED
    ]
    if told:
        join_beside(model, told, boxes)


def _join_within(
    model: Model, free: list[FreeEnd], takers: dict[int, Box], zones: dict[int, Box]
) -> list[FreeEnd]:
    """Join the one free end of each service in the zone of an element to it, where it lies in
    that of no other; the other free ends."""
    piping = [
        at for at in free if _may_lead(model.elements[at[0]]) and system_of(model, at) is not None
    ]
    claims: dict[tuple[int, System], list[FreeEnd]] = defaultdict(list)
    for at, found in ends_inside(model, piping, zones).items():
        near = [i for i in found if _may_take(model, at, i)]
        system = system_of(model, at)
        if len(near) == 1 and system is not None:
            claims[near[0], system].append(at)
    taken = services(model, takers)
    joined: set[FreeEnd] = set()
    for (i, system), ends in claims.items():
        most = 2 if system is System.WATER else 1  # cold and hot
        if len(ends) + taken[i].count(system) <= most:
            for at in ends:
                gap_m = distance_m(takers[i], position_of(model, at))
                enter(model, at, i, BESIDE, gap_m)
            joined.update(ends)
    return [at for at in free if at not in joined]


def _may_lead(element: Element) -> bool:
    """Whether what enters an element of the pipework may leave it."""
    return element.role in PIPING and element.kind not in CLOSED


def outlets_of_stops(model: Model, boxes: dict[int, Box]) -> list[FreeEnd]:
    """A free end in the middle of each stop or mixing valve of which only its box is known, and
    that pipes enter but none leaves."""
    stops = {i: box for i, box in boxes.items() if model.elements[i].kind in STOPS}
    entering = services(model, stops)
    made = []
    for i in sorted(stops):
        element, fed = model.elements[i], entering[i]
        if fed and len(element.ends) == len(set(fed)) and len(fed) <= STOPS[element.kind]:
            system = fed[0] if len(fed) == 1 else System.WATER
            element.ends.append(End(middle(*stops[i]), system=system, name=DRAWN))
            made.append((i, len(element.ends) - 1))
    return made


def _zone(element: Element, box: Box) -> Box:
    """Where a supply of an element can end."""
    low, high = box
    of_water = System.WATER in TAKES[element.role] and element.kind not in TAKES_NO_WATER
    below = BELOW_M if of_water and element.role is Role.FIXTURE else BESIDE_M
    top = high[2] + BESIDE_M
    if element.kind in UNDER_A_HEAD:
        top = max(top, low[2] + HEAD_M)
    return (
        (low[0] - BESIDE_M, low[1] - BESIDE_M, low[2] - below),
        (high[0] + BESIDE_M, high[1] + BESIDE_M, top),
    )


def _zone_over(element: Element, box: Box) -> Box:
    """Where the supply of a fixture can end over it, within its plan or on the wall behind it."""
    low, high = box
    over = FLUSH_M if element.kind in FLUSHED else OVER_M
    top = high[2] + over
    if element.kind in FOR_PAILS:
        top = max(top, low[2] + PAIL_M)
    return (
        (low[0] - BESIDE_M, low[1] - BESIDE_M, low[2]),
        (high[0] + BESIDE_M, high[1] + BESIDE_M, top),
    )


def _may_take(model: Model, at: FreeEnd, owner: int) -> bool:
    element, system = model.elements[owner], system_of(model, at)
    if at[0] == owner or system not in TAKES[element.role]:
        return False
    return system not in WATER_SUPPLY or element.kind not in TAKES_NO_WATER


def services(model: Model, owners: Collection[int]) -> dict[int, list[System]]:
    """The systems of what is joined to each of some elements already."""
    return {
        i: [system for _, at in met if (system := system_of(model, at)) is not None]
        for i, met in ends_joined(model.joints, owners).items()
    }


def distance_m(box: Box, p: Point) -> float:
    return math.dist(p, [min(max(c, a), b) for c, a, b in zip(p, *box, strict=True)])


def join_at_placements(model: Model, free: list[FreeEnd], boxes: dict[int, Box]) -> None:
    """Join the one free end of each service that lies at the placement of an element.

    An element without any end is met from beside its placement, one that is met elsewhere only at
    the very place.
    """
    owners = {
        i: e.position
        for i, e in enumerate(model.elements)
        if e.role in AT_PLACEMENT | SEVERAL_SYSTEMS
        and e.position is not None
        and (not e.ends or i in boxes)
    }
    ends = [at for at in free if model.elements[at[0]].role in DRAINS | PIPING]
    reach = [model.joining_tolerance_m if model.elements[i].ends else BESIDE_M for i in owners]
    near = NearPlaces(positions_of(model, ends)).around([*owners.values()], reach)
    claims: dict[FreeEnd, list[int]] = defaultdict(list)
    for i, found in zip(owners, near, strict=True):
        for at in _one_of_each(model, [ends[k] for k in found], model.elements[i]):
            claims[at].append(i)
    for at, claiming in claims.items():
        if len(claiming) == 1:
            meet(model, at, claiming[0], math.dist(position_of(model, at), owners[claiming[0]]))


def _one_of_each(model: Model, near: list[FreeEnd], element: Element) -> list[FreeEnd]:
    """The ends near an element that are the only one of a service it takes."""
    by_service: dict[System, list[FreeEnd]] = defaultdict(list)
    for at in near:
        system = system_of(model, at) or System.SANITARY
        if system in DRAINAGE:
            if model.elements[at[0]].role in DRAINS and not _is_over(model, at, element):
                by_service[System.SANITARY].append(at)
        elif _may_lead(model.elements[at[0]]) and system in TAKES.get(element.role, ()):
            by_service[system].append(at)
    water = element.kind not in TAKES_NO_WATER
    return [
        ends[0]
        for system, ends in by_service.items()
        if len(ends) == 1 and (water or system not in WATER_SUPPLY)
    ]


def _is_over(model: Model, at: FreeEnd, element: Element) -> bool:
    """Whether an end lies above a receptor, which drains below: an air gap parts the two."""
    if element.kind not in RECEPTORS or element.position is None:
        return False
    over = position_of(model, at)[2] - element.position[2]
    return over > model.joining_tolerance_m or drops_in(model, at, element)


def meet(model: Model, at: FreeEnd, owner: int, gap_m: float) -> None:
    element = model.elements[owner]
    system = system_of(model, at) or System.SANITARY
    flow, name = ("out", "outlet") if system in DRAINAGE else ("", "")
    element.ends.append(End(position_of(model, at), flow=flow, name=name))
    element.basis.setdefault("ends", BESIDE)
    gap_m = gap_m if gap_m > model.joining_tolerance_m else 0.0
    join(model, at, (owner, len(element.ends) - 1), gap_m)


def name_services(model: Model) -> None:
    """Give the ends of fixtures, heaters ... that tell no service that of the pipe joined there.

    Whether a fixture's water connection is the cold or the hot one the pipe cannot tell: it may be
    joined to the wrong one.
    """
    several = (i for i, e in enumerate(model.elements) if e.role in SEVERAL_SYSTEMS)
    for i, met in ends_joined(model.joints, several).items():
        element = model.elements[i]
        for number, other in met:
            end, system = element.ends[number], system_of(model, other)
            if end.system is None and system is not None:
                is_user = element.role in (Role.FIXTURE, Role.APPLIANCE)
                end.system = System.WATER if is_user and system in WATER_SUPPLY else system
