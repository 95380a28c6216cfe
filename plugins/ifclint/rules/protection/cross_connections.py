"""Where the potable water is joined to piping and equipment of other services."""

from collections.abc import Iterator
from typing import NamedTuple

from ifclint.engineering.joined import NONE, onward
from ifclint.ifc.elements import WATER_SUPPLY, Element, Role, System
from ifclint.plumbing.heaters.discharge import neighbours
from ifclint.plumbing.heaters.hot_tanks import circuit_of
from ifclint.plumbing.supply.primers import is_primer
from ifclint.plumbing.supply.water_supply import Supply
from ifclint.plumbing.words import says, says_text
from ifclint.rules.protection.devices import device_of
from ifclint.rules.protection.hazard_names import (
    CHEMICALS,
    NON_POTABLE,
    TREATED,
    named_hazard,
    system_hazard,
    treated,
)

LINKS = frozenset({Role.PIPE, Role.FITTING, Role.VALVE, Role.PUMP})
FAR = 30  # elements; a device farther on is not that of the connection. Ours, no source
DRAINS = frozenset({System.SANITARY, System.STORM, System.RELIEF})  # of a device's relief port
WELLS = ("well pump", "well", "brunnenpumpe", "pompe de puits", "bomba de pozo")
PUBLIC = ("city", "municipal", "public", "street", "utility", "town", "mains")
UNKNOWN = "unknown-service"  # of a system whose name tells none
_SERVICES = {
    System.HEATING: "boiler-make-up", System.FIRE: "fire-sprinklers",
    System.STORM: "drainage", System.SANITARY: "drainage", System.NON_POTABLE: "non-potable",
    System.GAS: "other-service", System.OTHER: "other-service",
}  # fmt: skip


class Start(NamedTuple):
    """One thing that can foul its water, found in one way."""

    element: Element
    kind: str
    ats: list[int]  # what feeds each of its connections
    beyond: list[Element]  # what the water passes past these
    stated: bool = True
    called: str = ""


def is_primed(supply: Supply, at: int) -> bool:
    """Whether the water passes a trap primer, or piping named as one's, on its path to a place."""
    passed = (supply.elements[i] for i in onward(at, supply.distribution.up))
    return any(is_primer(element) for element in passed)


def of_services(supply: Supply) -> Iterator[Start]:
    """Piping, equipment and boilers of other services that the supply is joined to."""
    inside, joints = set(supply.distribution.members), supply.network.joints
    numbers = {number for i in inside for _, number in supply.network.joined[i]}
    met = [(joints[n].a, joints[n].b, not joints[n].inferred) for n in sorted(numbers)]
    met += [(a, b, False) for a, b in (*supply.network.meeting_ends, *supply.network.meeting_sides)]
    for a, b, stated in met:
        for at, other in ((a, b), (b, a)):
            if at not in inside or other in inside:
                continue
            element = supply.elements[at]
            is_supply = element.system in WATER_SUPPLY and element.role in LINKS
            is_supply = is_supply and element.kind != "relief"
            drains = supply.elements[other].system in DRAINS
            is_port = drains and device_of(element) is not None  # the relief port of a device
            if is_supply and not is_port and supply.distribution.reached(at):
                yield from _crossing(supply, at, other, stated)
    for at in supply.heaters:
        if supply.heats_rooms(at) and supply.distribution.up[at] != NONE:
            boiler = supply.elements[at]
            kind = treated("boiler-make-up", has_chemicals(supply, at, []))
            yield Start(boiler, kind, [supply.distribution.up[at]], [])


def of_wells(supply: Supply) -> Iterator[Start]:
    """Where a private well is joined to what a public main feeds: seen from the water that is
    drunk, the well's pump, or the meter called the main's that feeds nothing past the well."""
    up, elements = supply.distribution.up, supply.elements
    taken = {i for s in supply.segments if s.connection for i in onward(s.indexes[-1], up)}
    for at in supply.distribution.members:
        element, feed = elements[at], up[at]
        if at in taken or feed == NONE:
            continue
        passed = [elements[i] for i in onward(feed, up)]
        is_well = element.role is Role.PUMP and says(element, WELLS)
        is_second = is_well and any(e.role is Role.METER for e in passed)
        is_main = (
            element.role is Role.METER
            and says(element, PUBLIC)
            and any(says(e, WELLS) for e in passed)
        )
        if is_second or is_main:
            yield Start(element, "another-supply", [feed], [])


def _crossing(supply: Supply, at: int, other: int, stated: bool) -> Iterator[Start]:
    element = supply.elements[other]
    if element.kind == "relief":  # its line is the place where hot water turns into discharge
        return
    kind, beyond = named_hazard(element), [element]
    if element.role in LINKS:
        beyond = _beyond(supply, at, other)
        kind = kind or _led_into(beyond, _after(supply, beyond, at))
        kind = kind or (UNKNOWN if element.system is None and element.system_name else "")
        kind = treated(kind, kind in TREATED and has_chemicals(supply, other, beyond))
    elif element.role is Role.TRAP:
        kind = "drainage"
    primed = is_primed(supply, at) or any(is_primer(e) for e in beyond)
    primed = primed or (kind == "drainage" and other in supply.ends_of_primer_lines)
    if kind and not primed:
        yield Start(element, kind, [at], beyond, stated)


def _led_into(beyond: list[Element], after: list[Element]) -> str:
    """The hazard of the piping that water passes into, or where that tells no service, of what it
    branches into: by what it is called, by the name of its system, by its service."""
    if any(says(e, NON_POTABLE) for e in beyond):
        return "non-potable"
    pipes = [e for e in beyond if e.role in (Role.PIPE, Role.FITTING)]
    into = next((_SERVICES[e.system] for e in (*pipes, *after) if e.system in _SERVICES), "")
    if into == "drainage":
        return into
    return next((said for e in (*beyond, *after) if (said := system_hazard(e))), into)


def _after(supply: Supply, beyond: list[Element], at: int) -> list[Element]:
    """What a chain of piping that tells no service branches into, that is not of the supply."""
    if not beyond or any(e.system is not None for e in beyond):
        return []
    last = supply.network.index_of(beyond[-1])
    joined = (i for i in supply.network.neighbours(last) if i != at)
    return [e for i in joined if (e := supply.elements[i]) not in beyond and e.role in LINKS]


def has_chemicals(supply: Supply, at: int, beyond: list[Element]) -> bool:
    """Whether what is joined there, the circuit of an element, or anything of its system, is said
    to hold chemicals."""
    beyond = [*beyond, *circuit_of(supply.network, at)]
    names = {(e.system, e.system_name) for e in beyond if e.system_name}
    of_system = (e for e in supply.elements if (e.system, e.system_name) in names)
    said = any(says_text(name, CHEMICALS) for _, name in names)
    return said or any(says(e, CHEMICALS) for e in (*beyond, *of_system))


def _beyond(supply: Supply, at: int, other: int) -> list[Element]:
    """What follows in the other service, up to a branch; nothing where it leads back."""
    inside, network = set(supply.distribution.members), supply.network
    chain, before, now = [other], at, other
    while len(chain) < FAR:
        joined = neighbours(network, now)
        entered = {own for i, own, _ in joined if i == before}
        onward = [i for i, own, _ in joined if own not in entered and i not in chain]
        if len(onward) > 1:  # as at a tee told to be of the other service, of which a leg is not
            onward = [i for i in onward if i not in inside]
        if len(onward) != 1:
            legs = _legs(supply, before, now)
            return [supply.elements[i] for i in dict.fromkeys([*chain, *legs])]
        before, now = now, onward[0]
        if now in inside and supply.distribution.reached(now):
            return []
        if supply.elements[now].role not in LINKS:
            break
        chain.append(now)
    return [supply.elements[i] for i in chain]


def _legs(supply: Supply, before: int, split: int) -> list[int]:
    """Where piping splits into legs that meet again past a device in each: the legs as far as
    these; nothing where anything else is led to."""
    elements, network = supply.elements, supply.network
    piping, devices, seen = [split], list[int](), {before, split}
    for index in piping:  # grows meanwhile
        for other in sorted({*network.neighbours(index)} - seen):
            seen.add(other)
            if device_of(elements[other]) is not None:
                devices.append(other)
            elif elements[other].role in LINKS and len(piping) < FAR:
                piping.append(other)
            else:
                return []
    are_passed = any(len({*network.neighbours(i)} & {*piping}) > 1 for i in devices)
    return [] if are_passed or len(devices) < 2 else [*piping, *devices]
