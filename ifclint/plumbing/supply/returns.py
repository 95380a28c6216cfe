"""Hot water returns that are not called so: told by the pump that leads from hot to cold."""

from dataclasses import replace

from ifclint.ifc.elements import WATER_SUPPLY, Role, System
from ifclint.network import Network, connect

IN_LINE = frozenset({Role.PIPE, Role.FITTING, Role.VALVE, Role.PUMP})


def circulated(network: Network) -> Network:
    """The network with the lines of such pumps, from junction to junction, as hot water returns.

    A line without branches from the hot water through a pump to the cold water, or to the cold
    side of a heater, circulates, whatever it and its system are called.
    """
    found = {i for pump in _pumps(network) for i in _line(network, pump)}
    if not found:
        return network
    elements = [
        replace(e, system=System.HOT_WATER_RETURN) if i in found else e
        for i, e in enumerate(network.elements)
    ]
    return connect(replace(network.model, elements=elements))


def _pumps(network: Network) -> list[int]:
    return [
        i
        for i in network.of_roles(Role.PUMP)
        if (e := network.elements[i]).system is None or e.system in WATER_SUPPLY
    ]


def _line(network: Network, pump: int) -> list[int]:
    """What lies in one line with a pump from hot to cold; nothing where it leads otherwise."""
    ways = network.neighbours(pump)
    if len(ways) != 2:
        return []
    (one, meets_one), (other, meets_other) = (_follow(network, pump, way) for way in ways)
    if {meets_one, meets_other} != {System.HOT_WATER, System.COLD_WATER}:
        return []
    return [*one, pump, *other]


def _follow(network: Network, pump: int, way: int) -> tuple[list[int], System | None]:
    """The elements from a pump to the next junction or heater, and the service met there."""
    passed, before, at = list[int](), pump, way
    while True:
        element, near = network.elements[at], network.neighbours(at)
        if element.role is Role.HEATER:
            return passed, network.elements[before].system
        if element.role not in IN_LINE or not _has_two_ways(network, at):
            return passed, element.system
        passed.append(at)
        before, at = at, near[0] if near[1] == before else near[1]


def _has_two_ways(network: Network, index: int) -> bool:
    """Whether it is joined to two others, to each by an end of its own."""
    joints = (network.joints[number] for _, number in network.joined[index])
    ends = [joint.a_end if joint.a == index else joint.b_end for joint in joints]
    return len(ends) == len(set(ends)) == len(network.neighbours(index)) == 2
