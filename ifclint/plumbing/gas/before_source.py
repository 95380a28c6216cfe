"""The gas piping before a source: from the tank, regulator or meter that feeds it."""

from __future__ import annotations

from ifclint.ifc.elements import Role
from ifclint.plumbing.gas.gas_piping import GasSegment, GasZone, is_regulator
from ifclint.plumbing.gas.gas_tree import GasTree, alike

GIVING = frozenset({Role.METER, Role.TANK})  # where the owner's piping begins


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
