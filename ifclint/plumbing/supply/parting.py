"""Where the paths of two lines from their source part."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from operator import itemgetter

from ifclint.engineering.joined import NONE
from ifclint.plumbing.supply.segments import WaterSegment


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
