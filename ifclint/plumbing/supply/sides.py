"""The cold and the hot side of the water supply, the valves in which they mix, and where lines
part."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from operator import itemgetter

from ifclint.engineering.joined import NONE
from ifclint.ifc.elements import Element, Role, System
from ifclint.network import Network
from ifclint.plumbing.supply.segments import WaterSegment, mixes
from ifclint.plumbing.supply.water_fixtures import uses_water

COLD_SIDE, HOT_SIDE = 1, 2
_SIDE_NUMBERS = {
    System.COLD_WATER: COLD_SIDE,
    System.HOT_WATER: HOT_SIDE,
    System.HOT_WATER_RETURN: HOT_SIDE,
}


def mixed_in(network: Network, members: list[int]) -> set[str]:
    """The piping of the cold system, by its keys, that takes what a mixing valve gives: joined to
    the valve, and neither to a meter nor to a heater, where an end of the valve or a meter on its
    other cold side tells which is the outlet."""
    elements = network.elements
    mixers = [i for i in members if mixes(elements[i])]
    cold = [i for i in members if own_side(elements[i]) < HOT_SIDE and not uses_water(elements[i])]
    found: set[str] = set()
    pieces = list(network.pieces(cold)) if mixers else []
    fed = [any(elements[i].role in (Role.METER, Role.HEATER) for i in piece) for piece in pieces]
    for mixer in mixers:
        at = list(_ways(network, mixer))
        beside = [k for k, piece in enumerate(pieces) if any(n in piece for n, _ in at)]
        for k in beside:
            leaves = any(n in pieces[k] and flow == "out" for n, flow in at)
            if not fed[k] and (leaves or any(fed[other] for other in beside)):
                found |= {elements[i].key for i in pieces[k] if own_side(elements[i]) == COLD_SIDE}
    return found


def _ways(network: Network, index: int) -> Iterator[tuple[int, str]]:
    """What is joined to an element, with the flow of the end at which it is."""
    for other, number in network.joined[index]:
        joint = network.joints[number]
        end = joint.a_end if joint.a == index else joint.b_end
        yield other, network.elements[index].ends[end].flow


def own_side(element: Element) -> int:
    """1 for cold and 2 for hot piping, between which nothing passes; 0 for what joins either.

    What mixes is hot: it is fed from its hot side, whatever system it is named by.
    """
    if element.role is Role.HEATER or uses_water(element):
        return 0
    if mixes(element):
        return HOT_SIDE
    if element.role is Role.METER:
        return COLD_SIDE
    return _SIDE_NUMBERS.get(element.system, 0) if element.system is not None else 0


class Parting:
    """Finds where two lines part, in few steps: along the chains that carry most lines."""

    def __init__(self, segments: list[WaterSegment]) -> None:
        count = [1] * len(segments)
        below: dict[int, list[int]] = defaultdict(list)
        self.segments = segments
        self.up = [
            segment.above.number if segment.above is not None else NONE for segment in segments
        ]
        for number, above in reversed([*enumerate(self.up)]):
            if above != NONE:
                count[above] += count[number]
                below[above].append(number)
        heavy = {above: max(lines, key=count.__getitem__) for above, lines in below.items()}
        self.depth = [0] * len(segments)
        self.top = list(range(len(segments)))
        for number, above in enumerate(self.up):
            if above != NONE:
                self.depth[number] = self.depth[above] + 1
                if heavy[above] == number:
                    self.top[number] = self.top[above]

    def met(self, one: WaterSegment, other: WaterSegment) -> WaterSegment | None:
        a, b = one.number, other.number
        while self.top[a] != self.top[b]:
            if self.depth[self.top[a]] < self.depth[self.top[b]]:
                a, b = b, a
            a = self.up[self.top[a]]
            if a == NONE:
                return None
        return self.segments[min(a, b, key=lambda n: self.depth[n])]

    def last_met(self, lines: Sequence[WaterSegment]) -> tuple[int, int, WaterSegment] | None:
        """Of several lines the places of two that part last, and the line that feeds them both;
        None where no two have a source in common."""
        met = [
            (self.depth[by.number], n, m, by)
            for n, one in enumerate(lines)
            for m, other in enumerate(lines[:n])
            if (by := self.met(one, other)) is not None
        ]
        return max(met, key=itemgetter(0))[1:] if met else None
