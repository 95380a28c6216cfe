"""Relief valves of what heats or holds hot water, and the lines they discharge through."""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field

from ifclint.ifc.elements import Element, Role, System
from ifclint.network import Network
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.heaters.discharge import DischargeLine, follow, neighbours

NEAR_VALVE = 6  # elements between a heater and its relief valve, at most;
FAR_VALVE = 24  # or in piping before any valve, of a heater that stores no water. Ours, no source


@dataclass(eq=False)
class Relieved(OfElement):
    """What heats or holds hot water, and is relieved of too much pressure and heat."""

    element: Element
    index: int
    relief: list[ReliefLine] = field(default_factory=list, kw_only=True)

    @property
    def room(self) -> str | None:
        """The space it stands in; None where it is in none."""
        return self.element.space or None


@dataclass(eq=False)
class ReliefLine(OfElement):
    """A relief valve of a heater, boiler or hot tank, and the line it discharges through."""

    service = System.RELIEF

    valve: Element
    heater: Relieved
    line: DischargeLine
    before: tuple[Element, ...] = ()  # what stands between that and the valve

    @property
    def element(self) -> Element:
        return self.valve

    @property
    def is_direct(self) -> bool:
        """Whether it stands at the heater itself, and not in its cold or hot water piping."""
        piping = [e for e in self.before if e.role is not Role.VALVE]
        return all(e.system in (System.RELIEF, System.OTHER, None) for e in piping)

    @property
    def outlet_in(self) -> float | None:
        """The size of the valve's outlet, which is made no smaller than its inlet."""
        sizes = [size for end in self.valve.ends if (size := end.own_size_in) is not None]
        return max(sizes, default=self.valve.size_in)

    @property
    def set_pressure_pa(self) -> float | None:
        """At what pressure the valve opens; None where it does not state it."""
        return self.valve.properties.number("relief_pressure_pa")

    @property
    def capacity_w(self) -> float | None:
        """How much heat the valve is rated to carry off; None where it does not state it."""
        return self.valve.properties.positive("relief_capacity_w")

    @property
    def is_drawn(self) -> bool:
        return bool(self.line.elements)

    def lacking(self, fact: str) -> tuple[str, ...]:
        """The element that a missing fact is of: the valve, as it states its outlet and setting."""
        return (self.valve.guid,)

    @property
    def label(self) -> str:
        return f'the discharge line of "{self.valve.label}"'

    @property
    def element_ids(self) -> tuple[str, ...]:
        return self.line.element_ids


def relieve(
    network: Network,
    owners: Sequence[Relieved],
    behind: frozenset[str] = frozenset(),
    storing_none: Collection[int] = (),
) -> None:
    """Give heaters, tanks or boilers their relief valves, none from behind valves of some kinds.
    Those that store no water may have theirs farther off, in open piping."""
    elements, by_index = network.elements, {owner.index: owner for owner in owners}
    for valve, (owner, *passed) in _relief_valves(
        network, list(by_index), behind, storing_none
    ).items():
        outlets = [n for n in neighbours(network, valve) if n[0] != (passed or [owner])[-1]]
        line = follow(network, valve, outlets)
        before = tuple(elements[i] for i in passed)
        by_index[owner].relief.append(ReliefLine(elements[valve], by_index[owner], line, before))


def _relief_valves(
    network: Network, heaters: list[int], behind: frozenset[str], far: Collection[int]
) -> dict[int, tuple[int, ...]]:
    """Each relief valve with the path to it from the heater nearest by elements, heater first."""
    elements = network.elements
    found: dict[int, tuple[int, ...]] = {}
    seen = set(heaters)
    waiting: deque[tuple[int, ...]] = deque((index,) for index in heaters)
    while waiting:
        path = waiting.popleft()
        for other in sorted(network.neighbours(path[-1])):
            element = network.elements[other]
            if other in seen or (element.role is Role.VALVE and element.kind in behind):
                continue
            seen.add(other)
            if element.role is Role.VALVE and element.kind == "relief":
                found[other] = path
            elif element.role in (Role.PIPE, Role.FITTING, Role.VALVE):
                on_way = [elements[i] for i in (*path[1:], other)]
                open_way = path[0] in far and all(e.role is not Role.VALVE for e in on_way)
                if len(path) <= (FAR_VALVE if open_way else NEAR_VALVE):
                    waiting.append((*path, other))
    return found
