"""What the findings ask of sizes and slopes, all packs together, and a model changed to it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from ifclint.corrections.heights import DrainRun, settled
from ifclint.engineering.joined import by_steps, pieces
from ifclint.findings import Finding, Outcome
from ifclint.ifc.elements import DRAINAGE, Element, Model, Role, System
from ifclint.network import Network

FITTED = frozenset({Role.FITTING, Role.VALVE, Role.CLEANOUT})  # made as large as the pipe
NUMBERS = ("size", "slope")  # changes that are solved together
RELIEF = "relief"
BETWEEN = FITTED | {Role.TRAP, Role.METER, Role.REGULATOR, Role.PUMP, Role.INTERCEPTOR}
IN_LINE = frozenset(
    {Role.APPLIANCE, Role.TANK, Role.OTHER}
)  # what is joined to two parts: a filter

# Sizes (in) that codes list and drains and vents of plastic, cast iron and copper are not made in,
# and the next that they are; from memory of makers' lists.
NEXT_MADE = {2.5: 3.0, 3.5: 4.0, 4.5: 5.0}
STEEL = "steel"  # is made in half sizes


@dataclass
class Targets:
    """New trade sizes (in) and slopes (rise over run) by GlobalId.

    Where findings ask for several sizes of one element the largest counts: it clears them all, or
    else what it does not clear stays a finding. A size that such pipe is not made in is rounded up.
    """

    drawn: dict[str, float | None]  # sizes as the model has them
    without_halves: frozenset[str] = frozenset()  # GlobalIds of what is not made in every size
    sizes: dict[str, float] = field(default_factory=dict)
    slopes: dict[str, float] = field(default_factory=dict)

    @property
    def elements(self) -> set[str]:
        return {*self.sizes, *self.slopes}

    def grow(self, findings: Iterable[Finding]) -> bool:
        """Take up what the findings ask; True where that is more than was asked before."""
        grown = False
        for finding in findings:
            if finding.outcome is not Outcome.VIOLATION or finding.change is None:
                continue
            for change in finding.change.parts:
                if not isinstance(change.value, float | int) or change.what not in NUMBERS:
                    continue
                for guid in change.element_ids:
                    grown |= self._take(change.what == "size", guid, change.value)
        return grown

    def _take(self, is_size: bool, guid: str, value: float) -> bool:
        targets = self.sizes if is_size else self.slopes
        if is_size and guid in self.without_halves:
            value = NEXT_MADE.get(value, value)
        if value <= targets.get(guid, 0.0) or (is_size and value == self.drawn.get(guid)):
            return False
        targets[guid] = value
        return True

    def only(self, guids: set[str]) -> Targets:
        """These for some elements alone."""
        return Targets(
            self.drawn,
            self.without_halves,
            {guid: self.sizes[guid] for guid in guids if guid in self.sizes},
            {guid: self.slopes[guid] for guid in guids if guid in self.slopes},
        )


def targets_of(network: Network) -> Targets:
    """No new sizes or slopes yet."""
    without = frozenset(
        e.guid
        for e in network.elements
        if e.role is not Role.CLEANOUT  # its plug has a size of its own
        and e.system in (*DRAINAGE, System.STORM)
        and not e.properties.text("designation")
        and STEEL not in e.material
    )
    return Targets({e.guid: e.size_in for e in network.elements}, without)


class Changed(NamedTuple):
    """A model with sizes and slopes changed. Of the slopes: how far the highest part is lifted and
    the lowest goes down (m), and the GlobalIds of pipes that cannot be given theirs."""

    model: Model
    lifted_m: float = 0.0
    deeper_m: float = 0.0
    stuck: frozenset[str] = frozenset()


def changed(network: Network, targets: Targets, runs: Mapping[str, DrainRun]) -> Changed:
    """The model with sizes and slopes changed; elements that keep theirs are the same objects.

    What pipes are fitted with grows with them.
    """
    elements = list(network.elements)
    sized = [i for guid in targets.sizes for i in network.of_guid[guid]]
    for index in {*sized, *(other for i in sized for other in network.neighbours(i))}:
        element = network.elements[index]
        size = targets.sizes.get(element.guid)
        if size is None and element.role in FITTED:
            size = _grown(network, index, targets)
        if size is not None:
            elements[index] = _resized(element, size)
    if not targets.slopes:
        return Changed(replace(network.model, elements=elements))
    placed = settled(network, elements, targets.slopes, runs)
    model = replace(network.model, elements=placed.elements)
    return Changed(model, placed.lifted_m, placed.deeper_m, placed.stuck)


def _grown(network: Network, index: int, targets: Targets) -> float | None:
    """The size of what is fitted to pipes that grow: that of the largest it was as large as. A
    relief valve keeps its own: its line is measured against it."""
    own = network.elements[index].size_in
    if own is None or network.elements[index].kind == RELIEF:
        return None
    beside = (network.elements[other] for other in network.neighbours(index))
    wanted = [targets.sizes[e.guid] for e in beside if e.guid in targets.sizes and e.size_in == own]
    return max([w for w in wanted if w > own], default=None)


def _resized(element: Element, size_in: float) -> Element:
    ends = [
        replace(end, size_in=size_in) if end.size_in in (None, element.size_in) else end
        for end in element.ends
    ]
    return replace(element, size_in=size_in, ends=ends)


def adjoining(network: Network, guids: set[str], runs: Mapping[str, DrainRun]) -> list[set[str]]:
    """Changed elements that follow one another, across the fittings between them, and are of one
    service and drawn in one size."""
    index_of = {e.guid: i for i, e in enumerate(network.elements) if e.guid in guids}
    beside = defaultdict[int, list[int]](list)
    for index in index_of.values():
        element = network.elements[index]
        for other in _next_changed(network, index, guids):
            same = _service(other, runs) == _service(element, runs)
            if same and other.size_in == element.size_in:
                beside[index].append(index_of[other.guid])
                beside[index_of[other.guid]].append(index)
    together = pieces(index_of.values(), beside.__getitem__)
    return [{network.elements[i].guid for i in piece} for piece in together]


def _service(element: Element, runs: Mapping[str, DrainRun]) -> str | None:
    run = runs.get(element.key)
    return run.service if run else element.system and element.system.value


def beyond(network: Network, group: set[str], guids: set[str]) -> set[str]:
    """Changed elements that follow a group of them."""
    members = (i for guid in group for i in network.of_guid[guid])
    return {e.guid for i in members for e in _next_changed(network, i, guids)} - group


def _next_changed(network: Network, index: int, guids: set[str]) -> list[Element]:
    """Changed elements joined to one, directly or by what is fitted between."""

    def beside(at: int) -> Iterable[int]:
        element = network.elements[at]
        is_in_line = element.role in IN_LINE and len(network.joined[at]) == 2
        is_between = element.guid not in guids and (element.role in BETWEEN or is_in_line)
        return network.neighbours(at) if at == index or is_between else ()

    met = (network.elements[i] for i in by_steps([index], beside) if i != index)
    return [element for element in met if element.guid in guids]
