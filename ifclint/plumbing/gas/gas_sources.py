"""Where gas comes from: the job file's sources, else meters, regulators or tanks, else where it is
joined to existing piping; and the piping before them."""

from collections.abc import Sequence

from ifclint.engineering.joined import by_steps
from ifclint.ifc.elements import Role
from ifclint.network import Network
from ifclint.plumbing.flow.meters import street_meters
from ifclint.plumbing.flow.tie_ins import tie_ins
from ifclint.plumbing.gas.gas_piping import GasSegment, GasTree, GasZone, alike, is_regulator

GIVING = frozenset({Role.METER, Role.TANK})  # where the owner's piping begins
USERS = frozenset({Role.APPLIANCE, Role.HEATER})


def gas_sources(network: Network, piping: list[int], named: Sequence[str]) -> list[int]:
    elements = network.elements
    if named:
        return [i for i in piping if elements[i].guid in named]
    meters = [i for i in piping if elements[i].role is Role.METER]
    regulators = [i for i in piping if is_regulator(elements[i])]
    if len(meters) > 1:
        return street_meters(network, piping, meters, lambda e: e.role in USERS)
    if meters or len(regulators) == 1:
        return meters or regulators
    tanks = [i for i in piping if elements[i].role is Role.TANK]
    behind = sorted({i for tank in tanks for i in _first_behind(network, tank, set(piping))})
    return behind or tie_ins(network, piping)


def _first_behind(network: Network, tank: int, piping: set[int]) -> set[int]:
    """The first regulators on every way from a tank; the tank where it is joined to none."""
    regulators = {i for i in piping if is_regulator(network.elements[i])}
    reached = by_steps(
        [tank], lambda i: () if i in regulators else piping.intersection(network.neighbours(i))
    )
    is_joined = len(reached) > 1
    return regulators & reached.keys() or ({tank} if is_joined else set())


def before_source(tree: GasTree, start: int) -> list[GasSegment]:
    """The piping from a source back to the tank, regulator or meter that feeds it.

    What lies before a meter is the supplier's, and so is what lies before a source of which
    nothing tells where its gas comes from.
    """
    found: list[GasSegment] = []
    if tree.elements[start].role is Role.METER or not tree.feeds[start]:
        return found
    zone = GasZone(tree.elements[start], 0.0, False)
    for side in sorted(tree.made.network.neighbours(start)):
        back = _backward(tree, start, side)
        elements = [tree.elements[i] for i, _ in back]
        if any(e.role in GIVING or is_regulator(e) for e in elements):  # it is no vent
            found += _segments(tree, back, zone)
    return found


def _backward(tree: GasTree, start: int, side: int) -> list[tuple[int, int]]:
    """The elements of a side through which no gas comes to an appliance, each with that it is
    met from, as far as the tanks and meters there."""
    members, back = set(tree.made.members), list[tuple[int, int]]()
    seen, waiting = {start}, [(side, start)]
    while waiting:
        index, met_from = waiting.pop()
        if index in seen or index not in members or tree.feeds[index]:
            continue
        seen.add(index)
        back.append((index, met_from))
        if tree.elements[index].role not in GIVING:
            waiting += [(i, index) for i in sorted(tree.made.network.neighbours(index))]
    return back


def _segments(tree: GasTree, back: list[tuple[int, int]], zone: GasZone) -> list[GasSegment]:
    segment_of, found = dict[int, GasSegment | None](), list[GasSegment]()
    for index, met_from in back:
        element, segment = tree.elements[index], segment_of.get(met_from)
        if element.role is not Role.PIPE:
            if segment is not None and element.role not in GIVING:
                segment.fittings.append(element)
                segment.path.append(element)
        elif segment is not None and alike(segment.first) == alike(element):
            segment.pipes.append(element)
            segment.path.append(element)
        else:
            segment = GasSegment(
                [element], [], zone, segment, 0.0, 0.0, path=[element], is_before_source=True
            )
            found.append(segment)
        segment_of[index] = segment
    return found
