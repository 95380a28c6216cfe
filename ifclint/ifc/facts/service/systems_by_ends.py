"""The service of piping that no system, port or name tells: by its material and its ends."""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping

from ifclint.engineering.joined import by_steps
from ifclint.engineering.wording import how_many
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
from ifclint.ifc.facts.service.kinds_of_service import FED, NOT_POTABLE, refine
from ifclint.ifc.facts.service.spreading import spread
from ifclint.ifc.facts.service.system_conflicts import BY_PORTS, OF_ONE_SERVICE
from ifclint.ifc.facts.service.systems import MIXING
from ifclint.ifc.facts.service.systems_at_bodies import BY_CONNECTIONS

BY_ENDS = Basis("its material or what it is joined to", Confidence.INFERRED)
BY_MOST_ENDS = Basis("SystemType of most of its ports")
BY_MOST_JOINED = Basis("the service of most that it joins")
BY_JOINED = Basis("the piping that it is joined to", Confidence.INFERRED)
BY_TERMINAL = Basis("the drains and the vent terminal it leads between", Confidence.INFERRED)
BY_INLETS = Basis("the roof drains that enter it", Confidence.INFERRED)
ROOF_DRAIN = "roof-drain"
LEAST_OF_CLOSETS_IN = 2.0  # no closet is fed by so large a pipe, and none drains through a smaller
SEWERS = frozenset({System.SANITARY, System.STORM})
LEADS_ON = OF_ONE_SERVICE | {Role.VALVE}
HEATS = frozenset({Role.HEATER, Role.APPLIANCE})
WITH_FAUCET = frozenset({"lavatory", "kitchen-sink", "bathtub", "shower"})


def outrank_patterns(elements: list[Element], joints: list[Joint]) -> None:
    """Give piping that only its series or pattern calls a drain the one other service of all that
    it is joined to: DWV pipe and sanitary tees in a rain leader are storm drainage."""
    by_pattern = {i for i, e in enumerate(elements) if e.basis.get("system") is BY_PATTERN}
    if not by_pattern:
        return
    beside = joined_to(joints)
    of_one = {i for i, e in enumerate(elements) if e.role in LEADS_ON and e.system is None}
    while by_pattern:
        told_alone = of_one | by_pattern
        together, bounds = _together(by_pattern.pop(), beside, told_alone.__contains__)
        by_pattern -= together
        others = {_said_of_drain(elements[i]) for i in bounds} - {None}
        if not others & DRAINAGE and all(elements[i].system in (None, System.VENT)
                                         for i in together):  # fmt: skip
            others = others or {System.OTHER}  # a duct's, by its name
        if len(others) == 1 and not others & DRAINAGE:
            piped = [i for i in together if elements[i].basis.get("system") is BY_PATTERN]
            infer(elements, dict.fromkeys(piped, others.pop()))  # type: ignore[arg-type]


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
        infer(elements, told, BY_JOINED)
        waiting -= told.keys()
        told = _by_joined(elements, beside, waiting)


def outrank_names(elements: list[Element], joints: list[Joint]) -> None:
    """Make drainage of a fitting that is called after the condensate it takes in, and that what is
    sewage runs through: "condensate branch tailpiece"."""
    named = [
        i
        for i, e in enumerate(elements)
        if e.role is Role.FITTING and e.system is System.CONDENSATE and len(e.ends) > 2
    ]
    beside = joined_to(joints) if named else {}
    passed = [i for i in named if sum(_is_sewage(elements[n]) for n in beside.get(i, ())) > 1]
    infer(elements, dict.fromkeys(passed, System.SANITARY), BY_JOINED)


def _is_sewage(element: Element) -> bool:
    return element.role is Role.FIXTURE or element.system is System.SANITARY


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

    def is_rain(index: int) -> bool:
        element = elements[index]
        leads_on = element.role in LEADS_ON and _may_be_rain(element)
        return leads_on or element.kind == ROOF_DRAIN

    for inlet in inlets:
        together, bounds = _together(inlet, beside, is_rain)
        if {_said_of_drain(elements[i]) for i in bounds} <= {None, System.STORM}:
            drains = (i for i in together if elements[i].system is not System.STORM)
            infer(elements, dict.fromkeys(drains, System.STORM), BY_INLETS)


def _may_be_rain(element: Element) -> bool:
    """Whether nothing says that an element drains sewage: what it drains is not told, or only that
    it drains."""
    if element.system in (None, System.STORM):
        return True
    basis = element.basis.get("system")
    of_any = basis is not None and (basis.of_any_drain or basis is BY_PATTERN)
    return element.system is System.SANITARY and of_any


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


def tell_junctions(elements: list[Element], met: Iterable[tuple[int, int]]) -> None:
    """Give a junction of sewage and rain the service of most that meets it, whichever of the two
    systems it is filed under: it can be in one alone."""
    said = {
        i: Counter[System | None]() for i, e in enumerate(elements)
        if e.role is Role.FITTING and e.system in SEWERS and len(e.ends) > len(SEWERS)
    }  # fmt: skip
    for pair in met if said else ():
        for own, other in (pair, pair[::-1]):
            if own in said:
                said[own][elements[other].system] += 1
    for i, services in said.items():
        if services.keys() == SEWERS:
            most, count = services.most_common(1)[0]
            if most is not elements[i].system and 2 * count > services.total():
                elements[i].system, elements[i].basis["system"] = most, BY_MOST_JOINED


def _said_of_drain(element: Element) -> System | None:
    """What something beside a drain tells of its service."""
    if element.role is Role.TRAP:
        return System.SANITARY
    if element.role is Role.FIXTURE:
        return System.STORM if element.kind == ROOF_DRAIN else System.SANITARY
    return element.system if element.role in LEADS_ON else None


def tell_by_terminals(model: Model) -> None:
    """Make flues or vents of piping of no known service that leads to the terminal of a vent from
    heaters and appliances, or from drainage, and to nothing else; of vents the systems that are not
    understood are told."""
    elements = model.elements
    terminals = [
        i for i, e in enumerate(elements)
        if e.role is Role.VENT_TERMINAL and e.system in (None, System.VENT)
    ]  # fmt: skip
    beside = joined_to(model.joints) if terminals else {}
    names: Counter[str] = Counter()
    for terminal in terminals:
        together, bounds = _together(terminal, beside, lambda i: is_unstated(elements[i]))
        ends = {i for i in bounds if elements[i].role is Role.VENT_TERMINAL} | {terminal}
        others = [elements[i] for i in bounds - ends]
        said = {_said_of_drain(element) for element in others}
        is_heating = bool(others) and all(e.role in HEATS for e in others)
        if elements[terminal].system is None and is_heating:
            flue = (i for i in together | ends if elements[i].system is None)
            infer(elements, dict.fromkeys(flue, System.FLUE), BY_CONNECTIONS)
        elif said and said <= DRAINAGE:
            together.discard(terminal)
            infer(elements, dict.fromkeys(together, System.VENT), BY_TERMINAL)
            names.update(elements[i].system_name for i in together if elements[i].system_name)
    for name, count in sorted(names.items()):
        what = f'What the system "{name}" is of is not understood; read as vents, by its joints: '
        remedy = "Give it a PredefinedType (VENT), or a name in the job file's vocabulary."
        model.notes.append(Note(f"{what}{how_many(count, 'element')}.", remedy, "", "system"))


def note_unknown_systems(model: Model) -> None:
    """Note systems of pipework whose names tell no service, where nothing else told it either."""
    unknown = Counter(e.system_name for e in model.elements if is_unstated(e) and e.system_name)
    for name, count in sorted(unknown.items()):
        pieces = how_many(count, "piece of pipework")
        what = f'What the system "{name}" is of is not understood; of {pieces} is asked'
        remedy = (
            "Give it a PredefinedType (IfcDistributionSystem), or its name a meaning in the job "
            "file ([[reading.vocabulary.system]])."
        )
        said = f"{what} what depends on where they lead, and on no service"
        model.notes.append(Note(f"{said}.", remedy, "", "system"))


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
    infer(elements, told)
    spread(elements, joints)
    heated = [
        i
        for i, e in enumerate(elements)
        if e.role is Role.HEATER
        and any(elements[n].system is System.COLD_WATER for n in beside.get(i, ()))
    ]
    for heater in heated:
        outlets = [n for n in beside[heater] if is_unstated(elements[n])]
        hot = [n for n in outlets if _reaches_a_faucet(n, elements, beside)]
        infer(elements, dict.fromkeys(hot, System.HOT_WATER))
    spread(elements, joints)
    infer(elements, dict.fromkeys(_mixed(elements, beside), System.HOT_WATER))
    spread(elements, joints)


def infer(elements: list[Element], told: dict[int, System], basis: Basis = BY_ENDS) -> None:
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
        if is_unstated(elements[n])
    ]


def is_unstated(element: Element) -> bool:
    return element.system is None and element.role in OF_ONE_SERVICE


def _told_by(element: Element, beside: list[Element]) -> System | None:
    if "dwv" in element.material.lower().split():
        return System.SANITARY
    is_large = element.size_in is not None and element.size_in >= LEAST_OF_CLOSETS_IN
    if is_large and any(e.kind == "water-closet" for e in beside):
        return System.SANITARY
    if any(is_of_cold_water(e) for e in beside):
        return System.COLD_WATER
    return None


def is_of_cold_water(element: Element) -> bool:
    """Whether it is a water meter, and not one that measures hot water."""
    is_meter = element.role is Role.METER and element.kind == "water"
    return is_meter and element.system in (None, System.WATER, System.COLD_WATER)


def _reaches_a_faucet(start: int, elements: list[Element], beside: dict[int, list[int]]) -> bool:
    """Whether piping of unknown service leads from one piece of it to a fixture with a faucet."""

    def leads_on(index: int) -> bool:
        return elements[index].system is None and elements[index].role in LEADS_ON

    _, bounds = _together(start, beside, leads_on)
    return any(elements[i].kind in WITH_FAUCET for i in bounds)


def _together(
    start: int, beside: Mapping[int, list[int]], is_of_it: Callable[[int], bool]
) -> tuple[set[int], set[int]]:
    """All that is joined to one element through what is of its piping, with it, and what bounds
    that."""
    found = {*by_steps([start], lambda i: filter(is_of_it, beside.get(i, ())))}
    return found, {n for i in found for n in beside.get(i, ())} - found
