"""Drains that begin straight below fixtures, and traps whose tailpieces are not drawn: those come
with the finish. And the lines of trap primers that end beside their floor drain."""

from collections import defaultdict
from collections.abc import Collection

from ifclint.engineering.extents import grown
from ifclint.ifc.elements import DRAINAGE, WATER_SUPPLY, Box, Model, Role, System, joined_to
from ifclint.ifc.joints.free_ends import USERS, FreeEnd, free_ends, join, position_of, system_of
from ifclint.ifc.joints.nearby import BESIDE, BESIDE_M, DRAINS, distance_m, meet, services
from ifclint.ifc.joints.touching import alone_inside, enter

PRIMED = frozenset({"floor-drain", "floor-sink"})
PRIMER = "trap-primer"
LINE = frozenset({Role.PIPE, Role.FITTING})
AT_ITS_TAIL_M = 0.3  # from the body of the drain: tails and risers are 4 to 12 in long. Our own
PLUMB_M = 0.05  # how far from plumb below an outlet a trap's inlet is drawn. Our own, no source
FALL_M = 1.1  # no tailpiece or standpipe is longer: 24 and 42 in at most (IPC 802.4, 1002.1)
OF_A_BUILDING = "running-trap"


def join_drains_below(model: Model, boxes: dict[int, Box]) -> None:
    """Join the one drain that begins straight below a fixture to it, where nothing drains that yet,
    whatever brings its water: a tailpiece that ends short of the bowl."""
    fixtures = {i: box for i, box in boxes.items() if model.elements[i].role is Role.FIXTURE}
    by = model.joining_tolerance_m
    zones: dict[int, Box] = {}
    for i in _undrained(model, fixtures):
        low, high = fixtures[i]
        foot = low[0] - by, low[1] - by, low[2] - BESIDE_M
        zones[i] = foot, (high[0] + by, high[1] + by, low[2])
    free = [at for at in (free_ends(model) if zones else ()) if _begins_a_drain(model, at)]
    for i, at in alone_inside(model, free, zones):
        meet(model, at, i, distance_m(fixtures[i], position_of(model, at)))


def _begins_a_drain(model: Model, at: FreeEnd) -> bool:
    """Whether an open end is that of a drain from which no part of it rises."""
    element, system = model.elements[at[0]], system_of(model, at)
    is_of_one = system is None and element.role is Role.TRAP
    if element.role not in DRAINS or not (system is System.SANITARY or is_of_one):
        return False
    highest = position_of(model, at)[2] + model.joining_tolerance_m
    return all(z <= highest for _, _, z in element.places)


def join_traps_below(model: Model, boxes: dict[int, Box]) -> None:
    """Join the one open trap that stands straight below the outlet of a fixture, or below its body
    where it has no outlet, where nothing drains that yet."""
    elements = model.elements
    traps = [
        at
        for at in free_ends(model)
        if elements[at[0]].role is Role.TRAP
        if elements[at[0]].kind != OF_A_BUILDING and _begins_a_drain(model, at)
    ]
    if not traps:
        return
    outlets: dict[int, list[int]] = defaultdict(list)
    for i, e in free_ends(model):
        if _is_outlet(model, (i, e)):
            outlets[i].append(e)
    bodies = {i: box for i, box in boxes.items() if elements[i].role is Role.FIXTURE}
    zones: dict[int, Box] = {}
    for i in _undrained(model, {*outlets, *bodies}):
        if len(outlets[i]) == 1:
            x, y, z = position_of(model, (i, outlets[i][0]))
            zones[i] = ((x - PLUMB_M, y - PLUMB_M, z - FALL_M), (x + PLUMB_M, y + PLUMB_M, z))
        elif not outlets[i]:
            low, high = bodies[i]
            zones[i] = ((*low[:2], low[2] - FALL_M), (*high[:2], low[2]))
    for i, trap in alone_inside(model, traps, zones):
        place = position_of(model, trap)
        if outlets[i]:
            own = (i, outlets[i][0])
            join(model, trap, own, gap_m=position_of(model, own)[2] - place[2])
        else:
            meet(model, trap, i, distance_m(bodies[i], place))


def _is_outlet(model: Model, at: FreeEnd) -> bool:
    """Whether a free end is that of a fixture from which it drains."""
    element = model.elements[at[0]]
    system = element.ends[at[1]].system
    drains = system is System.SANITARY or (system is None and element.ends[at[1]].flow == "out")
    return element.role in USERS and drains


def _undrained(model: Model, owners: Collection[int]) -> list[int]:
    """Those of some fixtures that nothing drains."""
    found = services(model, owners).items()
    return sorted(i for i, has in found if not DRAINAGE.intersection(has))


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
