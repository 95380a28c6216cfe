"""The service of piping that no system, port or name tells: by its material and its ends."""

from __future__ import annotations

from collections import Counter

from ifclint.engineering.joined import pieces
from ifclint.ifc.elements import (
    BY_PATTERN,
    DRAINAGE,
    WATER_SUPPLY,
    Basis,
    Confidence,
    Element,
    Joint,
    Model,
    Note,
    Role,
    System,
    joined_to,
)
from ifclint.ifc.facts.kinds_of_service import FED, NOT_POTABLE, refine
from ifclint.ifc.facts.spreading import spread
from ifclint.ifc.facts.system_conflicts import BY_PORTS, OF_ONE_SERVICE, ONE_SYSTEM_TYPE
from ifclint.ifc.facts.systems import MIXES, MIXING

BY_ENDS = Basis("its material or what it is joined to", Confidence.INFERRED)
BY_MOST_ENDS = Basis("SystemType of most of its ports")
BY_JOINED = Basis("the piping that it is joined to", Confidence.INFERRED)
BY_TERMINAL = Basis("the drains and the vent terminal it leads between", Confidence.INFERRED)
BY_INLETS = Basis("the roof drains that enter it", Confidence.INFERRED)
IN_WATER = Basis("its name, and the water line it stands in", Confidence.INFERRED)

BY_VACUUM = Basis("the vacuum it is joined to", Confidence.INFERRED)

VACUUM_PUMP = "vacuum-pump"
ROOF_DRAIN = "roof-drain"
LEAST_OF_CLOSETS_IN = 2.0  # no closet is fed by so large a pipe, and none drains through a smaller
RETURNED = frozenset({System.HOT_WATER, System.HOT_WATER_RETURN})
LEADS_ON = OF_ONE_SERVICE | {Role.VALVE}
SIDED = FED | {System.WATER}
IN_WATER_LINES = LEADS_ON | {Role.METER, Role.REGULATOR, Role.PUMP, Role.TANK}
WITH_FAUCET = frozenset({"lavatory", "kitchen-sink", "bathtub", "shower"})


def outrank_patterns(elements: list[Element], joints: list[Joint]) -> None:
    """Give piping that only its series or pattern calls a drain the one other service of all that
    it is joined to: DWV pipe and sanitary tees in a rain leader are storm drainage."""
    by_pattern = {i for i, e in enumerate(elements) if e.basis.get("system") is BY_PATTERN}
    if not by_pattern:
        return
    beside = joined_to(joints)
    while by_pattern:
        waiting = [by_pattern.pop()]
        together, said = set(waiting), set[System | None]()
        while waiting:
            for i in beside[waiting.pop()]:
                element = elements[i]
                if element.role in LEADS_ON and (i in by_pattern or element.system is None):
                    by_pattern.discard(i)
                    waiting += [] if i in together else [i]
                    together.add(i)
                elif i not in together:
                    said.add(_said_of_drain(element))
        others = said - {None}
        if not others & DRAINAGE and all(elements[i].system in (None, System.VENT)
                                         for i in together):  # fmt: skip
            others = others or {System.OTHER}  # a duct's, by its name
        if len(others) == 1 and not others & DRAINAGE:
            piped = [i for i in together if elements[i].basis.get("system") is BY_PATTERN]
            _infer(elements, dict.fromkeys(piped, others.pop()))  # type: ignore[arg-type]


def outrank_ports(elements: list[Element], joints: list[Joint]) -> None:
    """Give equipment and fittings that their ports alone call water or gas the one other service
    that all the piping joined to them is said to be of: an enumeration has no literal for a pool,
    nor for oxygen."""
    waiting = {
        i
        for i, e in enumerate(elements)
        if e.basis.get("system") is BY_PORTS and not NOT_POTABLE.isdisjoint(_others(e.system))
    }
    beside = joined_to([j for j in joints if j.a in waiting or j.b in waiting]) if waiting else {}
    told = _by_joined(elements, beside, waiting)
    while told:
        _infer(elements, told, BY_JOINED)
        waiting -= told.keys()
        told = _by_joined(elements, beside, waiting)


def _by_joined(
    elements: list[Element], beside: dict[int, list[int]], waiting: set[int]
) -> dict[int, System]:
    """Of what waits, the one service that all joined to it is of, where it can be of that."""
    told: dict[int, System] = {}
    for i in waiting:
        joined = (elements[n].system for n in beside[i] if n not in waiting)
        systems = {s for s in joined if s is not None}
        if len(systems) == 1 and not systems.isdisjoint(_others(elements[i].system)):
            told[i] = systems.pop()
    return told


def _others(system: System | None) -> frozenset[System]:
    """The services that one literal may stand for besides its own."""
    if system is None:
        return frozenset()
    return frozenset(s for s in NOT_POTABLE if s is not system and refine(system, s) is s)


def tell_rain_by_inlets(elements: list[Element], joints: list[Joint]) -> None:
    """Make storm drainage of piping that is called drainage and no more, where all that enters it
    is roof drains: what is joined to sewage, a trap or another fixture stays sanitary."""
    inlets = [i for i, e in enumerate(elements) if e.kind == ROOF_DRAIN and _may_be_rain(e)]
    beside = joined_to(joints) if inlets else {}
    for inlet in inlets:
        together, waiting, said = {inlet}, [inlet], set[System | None]()
        while waiting:
            for i in beside.get(waiting.pop(), ()):
                is_rain = elements[i].kind == ROOF_DRAIN or (
                    elements[i].role in LEADS_ON and _may_be_rain(elements[i])
                )
                if is_rain and i not in together:
                    together.add(i)
                    waiting.append(i)
                elif not is_rain:
                    said.add(_said_of_drain(elements[i]))
        if said <= {None, System.STORM}:
            drains = (i for i in together if elements[i].system is not System.STORM)
            _infer(elements, dict.fromkeys(drains, System.STORM), BY_INLETS)


def _may_be_rain(element: Element) -> bool:
    """Whether nothing says that an element drains sewage: what it drains is not told, or only that
    it drains."""
    if element.system in (None, System.STORM):
        return True
    basis = element.basis.get("system")
    of_any = basis is not None and (basis.of_any_drain or basis is BY_PATTERN)
    return element.system is System.SANITARY and of_any


def tell_vacuum(elements: list[Element], joints: list[Joint]) -> None:
    """Make no drain of piping of no known service that leads from an end named vacuum or from a
    vacuum pump, up to what is no piping."""
    beside = joined_to(joints) if any(map(_draws_vacuum, elements)) else {}
    ends = (
        (a, a_end, b) for j in joints for a, a_end, b in ((j.a, j.a_end, j.b), (j.b, j.b_end, j.a))
    )
    waiting = [b for a, a_end, b in ends if beside and _is_of_vacuum(elements[a], a_end)]
    while waiting:
        i = waiting.pop()
        if _is_unstated(elements[i]):
            _infer(elements, {i: System.OTHER}, BY_VACUUM)
            waiting += beside[i]


def _draws_vacuum(element: Element) -> bool:
    return any(_is_of_vacuum(element, n) for n in range(len(element.ends)))


def _is_of_vacuum(element: Element, end: int) -> bool:
    return element.kind == VACUUM_PUMP or element.ends[end].name.lower() == "vacuum"


def tell_by_most_ends(elements: list[Element]) -> None:
    """Give a fitting whose ends are of two waters the one that most are of: that of its run, where
    a return enters it."""
    for element in elements:
        if element.role is not Role.FITTING or element.system is not None:
            continue
        ends = [end.system for end in element.ends]
        if None not in ends:
            said = Counter(ends).most_common(2)
            if len(said) == 2 and {s for s, _ in said} <= WATER_SUPPLY and said[0][1] > said[1][1]:
                element.system, element.basis["system"] = said[0][0], BY_MOST_ENDS


def tell_feeds_of_returns(elements: list[Element], joints: list[Joint]) -> None:
    """Give a fitting that stands in a cold feed, and that a return enters, the cold water: it may
    be assigned to either."""
    cold = Counter(
        one
        for j in joints
        for one, other in ((j.a, j.b), (j.b, j.a))
        if elements[one].role is Role.FITTING and elements[one].system in RETURNED
        if elements[other].system is System.COLD_WATER and elements[other].role in LEADS_ON
    )
    standing = [i for i, count in cold.items() if count > 1]
    beside = joined_to(joints) if standing else {}
    for i in standing:
        others = [n for n in beside[i] if elements[n].system is not System.COLD_WATER]
        if len(others) == 1 and _is_a_return(elements, beside, i, others[0]):
            _infer(elements, {i: System.COLD_WATER}, BY_JOINED)


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


def _said_of_drain(element: Element) -> System | None:
    """What something beside a drain tells of its service."""
    if element.role is Role.TRAP:
        return System.SANITARY
    if element.role is Role.FIXTURE:
        return System.STORM if element.kind == ROOF_DRAIN else System.SANITARY
    return element.system if element.role in LEADS_ON else None


def tell_vents(model: Model) -> None:
    """Make vents of piping of no known service that leads from drainage to the terminal of a vent
    and to nothing else; the systems that are not understood are told."""
    elements = model.elements
    terminals = [
        i for i, e in enumerate(elements)
        if e.role is Role.VENT_TERMINAL and e.system in (None, System.VENT)
    ]  # fmt: skip
    beside = joined_to(model.joints) if terminals else {}
    names: Counter[str] = Counter()
    for terminal in terminals:
        together, waiting, said = set[int](), [terminal], set[System | None]()
        while waiting:
            for i in beside.get(waiting.pop(), ()):
                if _is_unstated(elements[i]):
                    waiting += [] if i in together else [i]
                    together.add(i)
                elif elements[i].role is not Role.VENT_TERMINAL:
                    said.add(_said_of_drain(elements[i]))
        if said and said <= DRAINAGE:
            _infer(elements, dict.fromkeys(together, System.VENT), BY_TERMINAL)
            names.update(elements[i].system_name for i in together if elements[i].system_name)
    for name, count in sorted(names.items()):
        what = f'What the system "{name}" is of is not understood; its {count} element(s) were read'
        remedy = "Give it a PredefinedType (VENT), or a name in the job file's vocabulary."
        model.notes.append(
            Note(f"{what} as vents, which they are joined as.", remedy, "", "system")
        )


def note_unknown_systems(model: Model) -> None:
    """Note systems of pipework whose names tell no service, where nothing else told it either."""
    unknown = Counter(e.system_name for e in model.elements if _is_unstated(e) and e.system_name)
    for name, count in sorted(unknown.items()):
        what = f'What the system "{name}" is of is not understood; its {count} piece(s) of pipework'
        remedy = (
            "Give it a PredefinedType (IfcDistributionSystem), or its name a meaning in the job "
            "file ([[reading.vocabulary.system]])."
        )
        said = f"{what} are judged by where they lead alone, and by no rule that asks for a service"
        model.notes.append(Note(f"{said}.", remedy, "", "system"))


def tell_vacuum_breakers(elements: list[Element]) -> None:
    """Make vacuum breakers of the air admittance valves that stand in a water line: several
    languages have one word for both."""
    for element in elements:
        if element.kind == "air-admittance-valve" and element.system in WATER_SUPPLY:
            element.role, element.kind = Role.VALVE, "vacuum-breaker"
            element.basis["role"] = element.basis["kind"] = IN_WATER


def tell_by_ends(elements: list[Element], joints: list[Joint]) -> None:
    """Give piping of no known service the one that its material or what stands at its end tells,
    and pass that on: what is of DWV material or large at a closet drains, what comes from a water
    meter is cold water, and what leads on from a heater that is fed cold to a faucet, or from a
    mixing valve that is fed hot and cold, is hot.
    """
    if not any(e.system is None and e.role in OF_ONE_SERVICE for e in elements):
        return
    beside = joined_to(joints)
    told: dict[int, System] = {}
    for i, element in enumerate(elements):
        if element.system is None and element.role in OF_ONE_SERVICE:
            system = _told_by(element, [elements[n] for n in beside.get(i, ())])
            if system is not None:
                told[i] = system
    _infer(elements, told)
    spread(elements, joints)
    heated = [
        i
        for i, e in enumerate(elements)
        if e.role is Role.HEATER
        and any(elements[n].system is System.COLD_WATER for n in beside.get(i, ()))
    ]
    for heater in heated:
        outlets = [n for n in beside[heater] if _is_unstated(elements[n])]
        hot = [n for n in outlets if _reaches_a_faucet(n, elements, beside)]
        _infer(elements, dict.fromkeys(hot, System.HOT_WATER))
    spread(elements, joints)
    _infer(elements, dict.fromkeys(_mixed(elements, beside), System.HOT_WATER))
    spread(elements, joints)


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
        _infer(elements, told)


def _is_cold(element: Element) -> bool:
    return element.system is System.COLD_WATER or _is_of_cold_water(element)


def _infer(elements: list[Element], told: dict[int, System], basis: Basis = BY_ENDS) -> None:
    for i, system in told.items():
        elements[i].system = system
        elements[i].basis["system"] = basis


def _mixed(elements: list[Element], beside: dict[int, list[int]]) -> list[int]:
    """The piping of no known service at mixing valves that both waters are led to."""
    return [
        n
        for i, e in enumerate(elements)
        if e.kind == MIXING and {elements[n].system for n in beside.get(i, ())} >= FED
        for n in beside[i]
        if _is_unstated(elements[n])
    ]


def _is_unstated(element: Element) -> bool:
    return element.system is None and element.role in OF_ONE_SERVICE


def _told_by(element: Element, beside: list[Element]) -> System | None:
    if "dwv" in element.material.lower().split():
        return System.SANITARY
    is_large = element.size_in is not None and element.size_in >= LEAST_OF_CLOSETS_IN
    if is_large and any(e.kind == "water-closet" for e in beside):
        return System.SANITARY
    if any(_is_of_cold_water(e) for e in beside):
        return System.COLD_WATER
    return None


def _is_of_cold_water(element: Element) -> bool:
    """Whether it is a water meter, and not one that measures hot water."""
    is_meter = element.role is Role.METER and element.kind == "water"
    return is_meter and element.system in (None, System.WATER, System.COLD_WATER)


def _reaches_a_faucet(start: int, elements: list[Element], beside: dict[int, list[int]]) -> bool:
    """Whether piping of unknown service leads from one piece of it to a fixture with a faucet."""
    seen, waiting = {start}, [start]
    while waiting:
        for i in beside.get(waiting.pop(), ()):
            if elements[i].kind in WITH_FAUCET:
                return True
            if i not in seen and elements[i].system is None and elements[i].role in LEADS_ON:
                seen.add(i)
                waiting.append(i)
    return False
