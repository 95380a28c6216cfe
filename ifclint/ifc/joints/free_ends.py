"""What joining rests on: free ends, whether two may be joined, and the joining itself."""

from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import accumulate, chain
from typing import TypeVar

import numpy as np

from ifclint.ifc.elements import (
    BY_PATTERN,
    DRAINAGE,
    WATER_SUPPLY,
    Element,
    End,
    Joint,
    Model,
    Point,
    Role,
    System,
)
from ifclint.ifc.step.arrays import Floats

JOINABLE = frozenset(Role) - {Role.OTHER}
WITHOUT_PORTS = JOINABLE - {Role.PIPE}  # met at their shape where they have no ports
SEVERAL_SYSTEMS = frozenset({Role.FIXTURE, Role.APPLIANCE, Role.HEATER, Role.TANK})
TOLD_BY_LEGS = SEVERAL_SYSTEMS | {Role.FITTING}  # whose box is not asked for where it is legs
RELIEF = "relief"  # the kind of a valve whose line is of another system than what it relieves
FAR_LARGER = (
    2.0  # times the size of another pipe: no one fitting is left out there. Ours, no source
)
FUELLED = frozenset({System.GAS, System.FLUE})
TAKES_NO_WATER = frozenset(
    {"floor-drain", "floor-sink", "roof-drain", "pan-drain", "disposer", "fireplace", "furnace"}
)
TAKES = {  # services that an element is supplied with
    Role.FIXTURE: WATER_SUPPLY,
    Role.APPLIANCE: WATER_SUPPLY | FUELLED,
    Role.HEATER: WATER_SUPPLY | FUELLED,
    Role.TANK: WATER_SUPPLY,
}
USERS = frozenset({Role.FIXTURE, Role.APPLIANCE})  # water comes in, and goes down the drain
BETWEEN_SERVICES = frozenset({"mixing", "faucet", "backflow-preventer", "vacuum-breaker"})  # kinds
TOGETHER_IN_A_BODY = (  # services that bodies which have several join to one another
    WATER_SUPPLY | {System.RELIEF},
    DRAINAGE | {System.CONDENSATE, System.RELIEF, System.STORM},
)
ONE_PLACE = 0.1  # of the joining tolerance: ends this near are drawn at one place
DRAWN = "drawn"  # name of an end that only the shape of an element suggests
FreeEnd = tuple[int, int]  # element, end
A = TypeVar("A")
B = TypeVar("B")


def free_ends(model: Model) -> list[FreeEnd]:
    """The ends that no joint uses and that have a place, of all that is plumbing, in order."""
    elements = model.elements
    first = [0, *accumulate([len(element.ends) for element in elements])]
    met = bytearray(first[-1])  # all ends of all elements in one row
    for joint in model.joints:
        met[first[joint.a] + joint.a_end] = 1
        met[first[joint.b] + joint.b_end] = 1
    unmet = np.flatnonzero(np.frombuffer(met, dtype=np.uint8) == 0)
    owners = np.searchsorted(first, unmet, side="right") - 1
    return [
        (i, k - first[i])
        for i, k in zip(owners.tolist(), unmet.tolist(), strict=True)
        if elements[i].role in JOINABLE and elements[i].ends[k - first[i]].position is not None
    ]


def one_to_one(pairs: Iterable[tuple[A, B]]) -> list[tuple[A, B]]:
    """Of pairs that may be joined those in which each is all that the other could be joined to."""
    pairs = [*pairs]
    could = Counter[object](chain.from_iterable(pairs))
    return [pair for pair in pairs if could[pair[0]] == could[pair[1]] == 1]


def system_of(model: Model, at: FreeEnd) -> System | None:
    element = model.elements[at[0]]
    return element.ends[at[1]].system or element.system


def may_join(a: Element, a_end: End, b: Element, b_end: End) -> bool:
    """Whether two ends may be joined: the same system, or one unknown, or soil and vent; or one is
    of a relief valve, where what is under pressure passes into a line of another system."""
    one, other = a_end.system or a.system, b_end.system or b.system
    if (one is None or other is None) and _only_touch(a, b):
        return False
    if one is None or other is None or one is other or _kindred(one, other):
        return True
    if {one, other} <= DRAINAGE | {System.STORM, System.CONDENSATE} and any(
        _by_pattern(e) for e in (a, b)
    ):
        return True
    return RELIEF in (a.kind, b.kind) and not {one, other} & FUELLED


def _only_touch(a: Element, b: Element) -> bool:
    """Whether bare ends of two pipes can be no joint: another material and, at once, a far other
    size take fittings, and none is drawn. A copper tube may run into a vent by mistake."""
    if a.role is not Role.PIPE or b.role is not Role.PIPE:
        return False
    if not a.size_in or not b.size_in or not a.material or not b.material:
        return False
    small, large = sorted((a.size_in, b.size_in))
    return a.material != b.material and large >= FAR_LARGER * small


def joins_services(model: Model, a: FreeEnd, b: FreeEnd) -> bool:
    """Whether one of two free ends is of a body that joins their services by nature."""
    by_nature = join_by_nature(
        model.elements[a[0]], system_of(model, a), model.elements[b[0]], system_of(model, b)
    )
    return by_nature or _may_be_of(model, a, b) or _may_be_of(model, b, a)


def _may_be_of(model: Model, own: FreeEnd, other: FreeEnd) -> bool:
    """Whether an end, of a body that has several services, that tells none by itself may be of that
    of another end: a fixture has water and a drain, whichever of its systems is named first."""
    element, service = model.elements[own[0]], system_of(model, other)
    end = element.ends[own[1]]
    if end.system is not None or element.role not in TAKES or service is None:
        return False
    is_user = element.role in USERS
    if service is System.SANITARY:
        return is_user and end.flow != "in"
    if service in WATER_SUPPLY and element.kind in TAKES_NO_WATER:
        return False
    return service in TAKES[element.role] and not (is_user and end.flow == "out")


def join_by_nature(a: Element, one: System | None, b: Element, other: System | None) -> bool:
    """Whether one of two elements is a body that has several services (a heater and its relief
    valve, a pan and its drain, a mixing valve) and the other is of a service of these."""
    by_nature = any(e.role in SEVERAL_SYSTEMS or e.kind in BETWEEN_SERVICES for e in (a, b))
    return by_nature and any({one, other} <= services for services in TOGETHER_IN_A_BODY)


def _by_pattern(element: Element) -> bool:
    return element.basis.get("system") is BY_PATTERN


def allowed(model: Model, a: FreeEnd, b: FreeEnd) -> bool:
    """Whether the systems of two free ends of a model let them be joined."""
    one, other = model.elements[a[0]], model.elements[b[0]]
    return may_join(one, one.ends[a[1]], other, other.ends[b[1]])


def is_way_back(model: Model, a: FreeEnd, b: FreeEnd) -> bool:
    """Whether a hot water return and other water meet."""
    pair = {system_of(model, a), system_of(model, b)}
    return System.HOT_WATER_RETURN in pair and len(pair - {None}) == 2


def _kindred(one: System, other: System) -> bool:
    """Drainage; water and one of its kinds; a hot water return, which leads from hot to cold."""
    pair = {one, other}
    of_water = pair <= WATER_SUPPLY and bool(pair & {System.WATER, System.HOT_WATER_RETURN})
    return pair <= DRAINAGE or of_water


def position_of(model: Model, at: FreeEnd) -> Point:
    position = model.elements[at[0]].ends[at[1]].position
    assert position is not None
    return position


def positions_of(model: Model, free: Sequence[FreeEnd]) -> Floats:
    """Where free ends are, a row (x, y, z) for each."""
    elements = model.elements
    places = [elements[i].ends[e].position for i, e in free]
    numbers = chain.from_iterable(places)  # type: ignore[arg-type]  # each has a place
    return np.fromiter(numbers, np.float64, 3 * len(free)).reshape(-1, 3)


def outside_m(element: Element) -> float | None:
    """The outside diameter of a pipe, as stated or drawn."""
    for key in ("outside_diameter_m", "drawn_outside_diameter_m"):
        value = element.properties.number(key)
        if value is not None:
            return value
    return None


def join(model: Model, a: FreeEnd, b: FreeEnd, gap_m: float = 0.0) -> None:
    """Join two ends; `gap_m` is what lies between them, where that is more than the tolerance."""
    first, second = (a, b) if a <= b else (b, a)
    model.joints.append(Joint(*first, *second, inferred=True, gap_m=gap_m))
