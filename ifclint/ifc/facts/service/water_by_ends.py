"""Cold, hot and returned water, told by what the piping ends at and is joined to."""

from ifclint.engineering.joined import pieces
from ifclint.ifc.elements import (
    WATER_SUPPLY,
    Basis,
    Confidence,
    Element,
    Joint,
    Model,
    Role,
    System,
    joined_to,
)
from ifclint.ifc.facts.service.kinds_of_service import FED
from ifclint.ifc.facts.service.system_conflicts import ONE_SYSTEM_TYPE
from ifclint.ifc.facts.service.systems import MIXES, MIXING
from ifclint.ifc.facts.service.systems_by_ends import BY_JOINED, LEADS_ON, infer, is_of_cold_water

IN_WATER = Basis("its name, and the water line it stands in", Confidence.INFERRED)
RETURNED = frozenset({System.HOT_WATER, System.HOT_WATER_RETURN})
SIDED = FED | {System.WATER}
IN_WATER_LINES = LEADS_ON | {Role.METER, Role.REGULATOR, Role.PUMP, Role.TANK}


def tell_feeds_of_returns(elements: list[Element], joints: list[Joint]) -> None:
    """Give a fitting that stands in a cold feed, and that a return enters, the cold water: it may
    be assigned to either."""
    of_hot = (i for i, e in enumerate(elements) if e.system in RETURNED)
    fittings = [i for i in of_hot if elements[i].role is Role.FITTING]
    beside = joined_to(joints) if fittings else {}
    for i in fittings:
        cold = [n for n in beside[i] if elements[n].system is System.COLD_WATER]
        others = [n for n in beside[i] if elements[n].system is not System.COLD_WATER]
        stands_in = sum(elements[n].role in LEADS_ON for n in cold) > 1
        if stands_in and len(others) == 1 and _is_a_return(elements, beside, i, others[0]):
            infer(elements, {i: System.COLD_WATER}, BY_JOINED)


def forgive_returns(model: Model) -> None:
    """Take back that the ports of a fitting are of cold and of hot water where one of the two leads
    to a hot water return, or through a pump or check valve: the return enters the feed there."""
    doubted = {n.guid for n in model.notes if n.remedy == ONE_SYSTEM_TYPE}
    if not doubted:
        return
    beside = joined_to(model.joints)
    forgiven = {
        e.guid
        for i, e in enumerate(model.elements)
        if e.guid in doubted
        and e.role is Role.FITTING
        and {end.system for end in e.ends} <= {*FED, System.HOT_WATER_RETURN}
        and any(_is_a_return(model.elements, beside, i, n) for n in beside[i])
    }
    model.notes = [n for n in model.notes if n.guid not in forgiven or n.remedy != ONE_SYSTEM_TYPE]


def _is_a_return(elements: list[Element], beside: dict[int, list[int]], at: int, on: int) -> bool:
    """Whether what leads on from a fitting, up to the next branch, is the return of hot water."""
    seen, joined = {at}, on
    while True:
        element = elements[joined]
        if element.system is System.HOT_WATER_RETURN:
            return True
        if element.system is not System.HOT_WATER:
            return False
        if element.role is Role.PUMP or element.kind == "check":
            return True
        seen.add(joined)
        onward = [n for n in beside[joined] if n not in seen]
        if element.role not in LEADS_ON or len(onward) != 1:
            return False
        joined = onward[0]


def tell_vacuum_breakers(elements: list[Element]) -> None:
    """Make vacuum breakers of the air admittance valves that stand in a water line: several
    languages have one word for both."""
    for element in elements:
        if element.kind == "air-admittance-valve" and element.system in WATER_SUPPLY:
            element.role, element.kind = Role.VALVE, "vacuum-breaker"
            element.basis["role"] = element.basis["kind"] = IN_WATER


def tell_sides(elements: list[Element], joints: list[Joint]) -> None:
    """Part piping that is called water and no more, where cold and hot are parted: with a water
    meter or what is called cold it is cold; what else is joined to a heater that this feeds, or to
    a mixing valve of both, is hot."""
    carries = [
        i
        for i, e in enumerate(elements)
        if e.system in SIDED and e.role in IN_WATER_LINES and e.kind not in MIXES
    ]
    if not any(elements[i].system is System.WATER for i in carries):
        return
    beside = joined_to(joints)
    together = list(pieces(carries, lambda i: beside.get(i, ())))
    piece_of = {i: number for number, piece in enumerate(together) for i in piece}
    cold = {piece_of[i] for i in carries if _is_cold(elements[i])}
    hot = {piece_of[i] for i in carries if elements[i].system is System.HOT_WATER} - cold
    before = -1
    while before < len(hot):
        before = len(hot)
        for i, element in enumerate(elements):
            if element.role is Role.HEATER or element.kind == MIXING:
                at = {piece_of[n] for n in beside.get(i, ()) if n in piece_of}
                fed = at & (cold | hot) if element.role is Role.HEATER else at & cold and at & hot
                hot |= at - cold if fed else set()
    for numbers, system in ((cold, System.COLD_WATER), (hot, System.HOT_WATER)) if hot else ():
        unsided = (i for n in sorted(numbers) for i in together[n])
        told = {i: system for i in unsided if elements[i].system is System.WATER}
        infer(elements, told)


def _is_cold(element: Element) -> bool:
    return element.system is System.COLD_WATER or is_of_cold_water(element)
