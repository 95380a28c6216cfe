"""What the findings ask of sizes and slopes, all packs together, and a model changed to it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from math import dist
from typing import NamedTuple

from ifclint.findings import Finding, Outcome
from ifclint.ifc.elements import Element, Model, Point, Role
from ifclint.network import Network

FITTED = frozenset({Role.FITTING, Role.VALVE, Role.CLEANOUT})  # made as large as the pipe
NUMBERS = ("size", "slope")  # changes that are solved together
BETWEEN = FITTED | {Role.TRAP}


class DrainRun(NamedTuple):
    """How a pipe of the drainage is used: its upper end as water runs, and the service."""

    up: Point | None
    service: str


@dataclass
class Targets:
    """New trade sizes (in) and slopes (rise over run) by GlobalId.

    Where findings ask for several sizes of one element the largest counts: it clears them all, or
    else what it does not clear stays a finding.
    """

    drawn: dict[str, float | None]  # sizes as the model has them
    sizes: dict[str, float] = field(default_factory=dict)
    slopes: dict[str, float] = field(default_factory=dict)

    @property
    def elements(self) -> set[str]:
        return {*self.sizes, *self.slopes}

    def grow(self, findings: Iterable[Finding]) -> bool:
        """Take up what the findings ask; True where that is more than was asked before."""
        grown = False
        for finding in findings:
            change = finding.change
            if finding.outcome is not Outcome.VIOLATION or change is None:
                continue
            if not isinstance(change.value, float | int) or change.what not in NUMBERS:
                continue
            for guid in change.element_ids:
                grown |= self._take(change.what == "size", guid, change.value)
        return grown

    def _take(self, is_size: bool, guid: str, value: float) -> bool:
        targets = self.sizes if is_size else self.slopes
        if value <= targets.get(guid, 0.0) or (is_size and value == self.drawn.get(guid)):
            return False
        targets[guid] = value
        return True

    def only(self, guids: set[str]) -> Targets:
        """These for some elements alone."""
        return Targets(
            self.drawn,
            {guid: size for guid, size in self.sizes.items() if guid in guids},
            {guid: slope for guid, slope in self.slopes.items() if guid in guids},
        )


def changed(network: Network, targets: Targets, runs: Mapping[str, DrainRun]) -> Model:
    """The model with sizes and slopes changed; elements that keep theirs are the same objects.

    What pipes are fitted with grows with them. A pipe that gets a slope keeps its lower end and is
    lifted at its upper one, and all above with it: level runs as they are, risers cut or
    lengthened.
    """
    elements = list(network.elements)
    for index, element in enumerate(network.elements):
        size = targets.sizes.get(element.guid)
        if size is None and element.role in FITTED:
            size = _grown(network, index, targets)
        if size is not None:
            elements[index] = _resized(element, size)
    sloped = [i for i, e in enumerate(network.elements) if e.guid in targets.slopes]
    for index in sorted(sloped, key=lambda i: _lowest_m(network.elements[i])):  # downstream first
        guid = network.elements[index].guid
        _lift(network, elements, index, targets.slopes[guid], runs.get(guid))
    return replace(network.model, elements=elements)


def _grown(network: Network, index: int, targets: Targets) -> float | None:
    """The size of what is fitted to pipes that grow: that of the largest it was as large as."""
    own = network.elements[index].size_in
    if own is None:
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


def _lowest_m(element: Element) -> float:
    return min((end.position[2] for end in element.ends if end.position), default=0.0)


def _lift(
    network: Network,
    elements: list[Element],
    index: int,
    slope: float,
    run: DrainRun | None,
) -> None:
    """Give one pipe a slope: by its shape, or where it has none as a stated one."""
    pipe = elements[index]
    placed = [n for n, end in enumerate(pipe.ends) if end.position is not None]
    if len(placed) != 2:
        elements[index] = replace(pipe, slope=slope)
        return
    upper = _upper(pipe, placed, run)
    low, high = _at(pipe, placed[1 - placed.index(upper)]), _at(pipe, upper)
    rise_m = low[2] + slope * dist(low[:2], high[:2]) - high[2]
    _raise_end(elements, index, upper, rise_m)
    waiting, seen = [(index, upper)], {index}
    while waiting:
        for other, other_end in _joined_at(network, *waiting.pop()):
            if other in seen or elements[other].role is Role.FIXTURE:
                continue
            seen.add(other)
            if _is_steep(elements[other]):  # grows longer or shorter
                _raise_end(elements, other, other_end, rise_m)
                continue
            for end in range(len(elements[other].ends)):
                _raise_end(elements, other, end, rise_m)
                waiting.append((other, end))


def _joined_at(network: Network, index: int, end: int) -> Iterable[tuple[int, int]]:
    """What is joined to one end of an element: the other element and its end."""
    for _, number in network.joined[index]:
        joint = network.joints[number]
        if (joint.a, joint.a_end) == (index, end):
            yield joint.b, joint.b_end
        elif (joint.b, joint.b_end) == (index, end):
            yield joint.a, joint.a_end


def _is_steep(element: Element) -> bool:
    """A pipe that rises more than it runs."""
    points = [end.position for end in element.ends if end.position is not None]
    if element.role is not Role.PIPE or len(points) != 2:
        return False
    return abs(points[0][2] - points[1][2]) > dist(points[0][:2], points[1][:2])


def _at(element: Element, end: int) -> Point:
    position = element.ends[end].position
    assert position is not None
    return position


def _raise_end(elements: list[Element], index: int, end: int, rise_m: float) -> None:
    ends = list(elements[index].ends)
    position = ends[end].position
    if position is not None:
        ends[end] = replace(ends[end], position=(*position[:2], position[2] + rise_m))
        elements[index] = replace(elements[index], ends=ends)


def _upper(pipe: Element, placed: list[int], run: DrainRun | None) -> int:
    """The upstream one of a pipe's two ends: as the drainage has it, else the higher one."""
    if run is None or run.up is None:
        return max(placed, key=lambda n: _at(pipe, n)[2])
    up = run.up
    return min(placed, key=lambda n: dist(_at(pipe, n), up))


def adjoining(network: Network, guids: set[str], runs: Mapping[str, DrainRun]) -> list[set[str]]:
    """Changed elements that follow one another, across the fittings between them, and are of one
    service and drawn in one size."""
    index_of = {e.guid: i for i, e in enumerate(network.elements) if e.guid in guids}
    parent = {guid: guid for guid in index_of}

    def root(guid: str) -> str:
        while parent[guid] != guid:
            guid = parent[guid]
        return guid

    for guid, index in index_of.items():
        element = network.elements[index]
        for other in _next_changed(network, index, guids):
            same = _service(other, runs) == _service(element, runs)
            if same and other.size_in == element.size_in:
                parent[root(other.guid)] = root(guid)
    groups: dict[str, set[str]] = {}
    for guid in index_of:
        groups.setdefault(root(guid), set()).add(guid)
    return list(groups.values())


def _service(element: Element, runs: Mapping[str, DrainRun]) -> str | None:
    run = runs.get(element.guid)
    return run.service if run else element.system and element.system.value


def beyond(network: Network, group: set[str], guids: set[str]) -> set[str]:
    """Changed elements that follow a group of them."""
    members = [i for i, e in enumerate(network.elements) if e.guid in group]
    return {e.guid for i in members for e in _next_changed(network, i, guids)} - group


def _next_changed(network: Network, index: int, guids: set[str]) -> list[Element]:
    """Changed elements joined to one, directly or by what is fitted between."""
    met, waiting, seen = [], [index], {index}
    while waiting:
        for near in network.neighbours(waiting.pop()):
            if near in seen:
                continue
            seen.add(near)
            element = network.elements[near]
            if element.guid in guids:
                met.append(element)
            elif element.role in BETWEEN:
                waiting.append(near)
    return met
