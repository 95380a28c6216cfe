"""Drains as their water runs: of some pieces which lies uppermost, and what they lead into."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from ifclint.corrections.heights import DrainRun
from ifclint.engineering.joined import onward
from ifclint.ifc.elements import Element, Role
from ifclint.network import Network
from ifclint.plumbing.drainage.gravity import Drainage

OUTLET = "toward the outlet"


class DrainWay(NamedTuple):
    """A run of drain: what drains into its upper end, the nearest first, and what it leads into,
    in words ("to the stack"); "" where that is not known."""

    drained: Iterator[Element]
    into: str


class DrainWays:
    """The drains of a building: `drained` directs them, `runs` tells by key what each is."""

    def __init__(
        self, network: Network, runs: Mapping[str, DrainRun], drained: Sequence[Drainage]
    ) -> None:
        self._network, self._runs = network, runs
        self._of = {index: flow for flow in drained for index in flow.order if self._part(index)}
        self._rank = {i: n for flow in drained for n, i in enumerate(flow.order) if i in self._of}

    def _part(self, index: int) -> str:
        run = self._runs.get(self._network.elements[index].key)
        return run.part if run is not None else ""

    def upper_first(self, indexes: Sequence[int]) -> list[int]:
        """Elements as their water runs; as they are where some are no drains."""
        if not all(i in self._rank for i in indexes):
            return list(indexes)
        return sorted(indexes, key=lambda i: -self._rank[i])

    def way(self, guids: Iterable[str]) -> DrainWay | None:
        """That of some pieces, from the uppermost to the lowest; None where they are no drains, or
        do not all lead to the lowest."""
        inside = (i for guid in guids for i in self._network.of_guid.get(guid, ()))
        own = self.upper_first([i for i in inside if i in self._rank])
        if not own:
            return None
        flow = self._of[own[0]]
        if any(own[-1] not in onward(i, flow.down) for i in own):
            return None
        return DrainWay(self._drained(flow, own[0]), self._into(flow, own[-1]))

    def _drained(self, flow: Drainage, index: int) -> Iterator[Element]:
        """What drains into an element, the nearest first."""
        reached = [index]
        for i in reached:
            yield flow.elements[i]
            reached += flow.beyond[i]

    def _into(self, flow: Drainage, index: int) -> str:
        """The next part of the drainage after that of an element, else the outlet."""
        part = self._part(index)
        following = (self._part(i) for i in onward(index, flow.down))
        other = next((p for p in following if p not in ("", part)), "")
        if other:
            return f"to the {other}"
        outlet = flow.outlet_of(index)
        if outlet is None:
            return ""
        ends = flow.elements[outlet.element]
        return f"toward {ends.label}" if ends.role is Role.CHAMBER and ends.name else OUTLET
