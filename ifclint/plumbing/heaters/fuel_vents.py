"""Vents of appliances that burn fuel: from each appliance through its connector to the roof."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from math import dist, hypot

from ifclint.engineering.joined import NONE, by_steps
from ifclint.engineering.wording import of_size
from ifclint.ifc.elements import Element, End, Point, Role, System
from ifclint.network import Network
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.heaters.discharge import neighbours
from ifclint.plumbing.words import is_indirect

HOOD_M = 0.05  # what a terminal stands out before a wall in which its pipe ends. Ours, no source
BURNERS = frozenset({Role.APPLIANCE, Role.HEATER})
FIRED = frozenset(
    {"furnace", "fireplace", "unit-heater", "pool-heater"}
)  # vented, if they burn fuel
FUELS = frozenset({"gas", "propane", "oil", "natural gas", "lpg"})
TURN_KINDS = frozenset({"bend", "quarter-bend", "eighth-bend", "long-sweep", "short-sweep"})


@dataclass(eq=False)
class VentConnector(OfElement):
    """The vent of one appliance up to the fitting where it meets others."""

    service = System.FLUE

    appliance: Element
    elements: tuple[Element, ...]  # from the appliance to that fitting, with it
    outlet: Point | None  # the appliance's vent outlet
    outlet_in: float | None
    meets: Point | None  # the middle of the fitting
    level_m: float  # how far it goes sideways
    points: tuple[Point | None, ...]  # where it enters each of its elements
    vent: FuelVent | None = None

    @property
    def element(self) -> Element:
        return self.appliance

    @property
    def looked_at(self) -> Point | None:
        return self.outlet

    @property
    def pipes(self) -> list[Element]:
        return [e for e in self.elements if e.role is Role.PIPE]

    @property
    def size_in(self) -> float | None:
        """The smallest of its pipes."""
        sizes = [p.size_in for p in self.pipes]
        return None if not sizes or None in sizes else min(s for s in sizes if s is not None)

    @property
    def material(self) -> str:
        return next((p.material for p in self.pipes if p.material), "")

    @property
    def rise_m(self) -> float | None:
        """From the appliance's outlet to where it meets the others."""
        if self.outlet is None or self.meets is None:
            return None
        return self.meets[2] - self.outlet[2]

    @property
    def turns(self) -> int:
        return sum(e.kind in TURN_KINDS for e in self.elements)

    @property
    def label(self) -> str:
        return f"the {of_size(self.size_in)}vent connector of {self.appliance.label}"

    @property
    def element_ids(self) -> tuple[str, ...]:
        return tuple(p.guid for p in self.pipes) or (self.appliance.guid,)


@dataclass(eq=False)
class FuelVent(OfElement):
    """A vent to outdoors and the appliances on it. `common` is what several share; where no
    terminal is drawn, `terminal` is what ends open the highest, at `open_end`."""

    service = System.FLUE

    terminal: Element
    common: tuple[Element, ...]
    connectors: list[VentConnector] = field(default_factory=list)
    is_capped: bool = True
    open_end: Point | None = None
    points: tuple[Point | None, ...] = ()  # where the flue gas enters each part of `common`
    mouth: Point | None = None  # before a terminal that it comes to level

    @property
    def element(self) -> Element:
        return self.terminal

    @property
    def pipes(self) -> list[Element]:
        return [e for e in self.common if e.role is Role.PIPE]

    @property
    def size_in(self) -> float | None:
        sizes = [p.size_in for p in self.pipes]
        return None if not sizes or None in sizes else min(s for s in sizes if s is not None)

    @property
    def top(self) -> Point | None:
        """Where it ends: the open end, or the highest of the terminal."""
        if self.open_end is not None:
            return self.open_end
        points = self.terminal.places
        return max(points, key=lambda p: p[2], default=None)

    @property
    def leaves_at(self) -> Point | None:
        """Where the flue gas is let out: before a terminal that it comes to level, else the top."""
        return self.mouth if self.mouth is not None and self.open_end is None else self.top

    @property
    def top_m(self) -> float | None:
        return self.top[2] if self.top is not None else None

    @property
    def height_m(self) -> float | None:
        """From the highest appliance outlet to the terminal; None where none is drawn."""
        outlets = [c.outlet[2] for c in self.connectors if c.outlet is not None]
        if (
            not self.is_capped
            or self.top_m is None
            or len(outlets) < len(self.connectors)
            or not outlets
        ):
            return None
        return self.top_m - max(outlets)

    @property
    def is_common(self) -> bool:
        return len(self.connectors) > 1

    @property
    def label(self) -> str:
        return f'the {of_size(self.size_in)}gas vent to "{self.terminal.label}"'

    @property
    def element_ids(self) -> tuple[str, ...]:
        return tuple(p.guid for p in self.pipes) or (self.terminal.guid,)


@dataclass(eq=False)
class FuelAppliance(OfElement):
    """A furnace, room heater, boiler that heats rooms or fireplace, and its vent connector where
    that reaches a terminal."""

    service = System.FLUE

    element: Element
    index: int
    connector: VentConnector | None

    @property
    def burns_fuel(self) -> bool | None:
        """Whether it burns fuel; None where nothing tells."""
        return burns_fuel(self.element)


def burns_fuel(element: Element) -> bool | None:
    """Whether a heater or appliance burns fuel; None where nothing tells."""
    energy = element.properties.text("energy")
    if energy:
        return energy in FUELS
    if any(end.system in (System.GAS, System.FLUE) for end in element.ends):
        return True
    return False if is_indirect(element) else None


def find_appliances(
    network: Network, vents: list[FuelVent], boilers: Collection[int]
) -> list[FuelAppliance]:
    """Every furnace, room heater and fireplace and the boilers named, in the order of the model."""
    connectors = {c.appliance.guid: c for vent in vents for c in vent.connectors}
    elements = network.elements
    return [
        FuelAppliance(elements[i], i, connectors.get(elements[i].guid))
        for i in sorted({*network.of_roles(Role.APPLIANCE), *boilers})
        if elements[i].kind in FIRED or i in boilers
    ]


def find_vents(network: Network) -> list[FuelVent]:
    """Every fuel vent with at least one appliance: those with a terminal in the order of the model,
    then those without."""
    elements = network.elements
    flues = [i for i, e in enumerate(elements) if e.system is System.FLUE]
    tops = [i for i in flues if elements[i].role is Role.VENT_TERMINAL]
    inside = frozenset(flues)
    vents = [_vent(network, inside, top) for top in tops]
    for piece in network.pieces(flues):
        if piece.isdisjoint(tops):
            last, end = _open_end(network, piece)
            vents.append(_vent(network, inside, last))
            vents[-1].is_capped, vents[-1].open_end = False, end
    return [vent for vent in vents if vent.connectors]


def _open_end(network: Network, piece: set[int]) -> tuple[int, Point | None]:
    """The highest open end of joined elements, and which it is of; where none is placed, any."""
    ends = [
        (end.position, i)
        for i in sorted(piece)
        for k, end in enumerate(network.elements[i].ends)
        if end.position is not None and (i, k) not in network.taken_ends
    ]
    if not ends:
        return min(piece), None
    point, index = max(ends, key=lambda found: found[0][2])
    return index, point


def _vent(network: Network, flues: frozenset[int], top: int) -> FuelVent:
    paths = list(_paths_down(network, flues, top))
    counts = Counter(index for path in paths for index in path)
    shared = [i for i in (paths[0][:-1] if paths else []) if counts[i] == len(paths)]
    vent = FuelVent(network.elements[top], tuple(network.elements[i] for i in shared))
    ways_in = pairwise(paths[0][: len(shared) + 1]) if shared else ()
    vent.points = tuple(_place(network, index, below) for index, below in ways_in)
    vent.mouth = _mouth(network, top, paths[0][1]) if paths and len(paths[0]) > 1 else None
    vent.connectors = [_connector(network, path, counts, vent) for path in paths]
    return vent


def _mouth(network: Network, top: int, before: int) -> Point | None:
    """Before the terminal, where the flue gas comes to it level."""
    at = _place(network, top, before)
    behind = network.elements[before].places
    if at is None or not behind:
        return None
    came = max(behind, key=lambda p: dist(p, at))
    x, y, z = (b - a for a, b in zip(came, at, strict=True))
    if (level := hypot(x, y)) <= abs(z):
        return None
    ends = network.elements[top].places
    last = max(ends, key=lambda p: (p[0] - at[0]) * x + (p[1] - at[1]) * y)
    return (last[0] + HOOD_M * x / level, last[1] + HOOD_M * y / level, last[2])


def _paths_down(network: Network, flues: frozenset[int], top: int) -> Iterator[list[int]]:
    """The elements from a terminal to each appliance on its vent, both with them."""
    elements = network.elements
    came = by_steps([top], lambda i: filter(flues.__contains__, network.beside(i)))
    reached: set[int] = set()
    for index in came:
        for other in sorted(network.neighbours(index)):
            if elements[other].role in BURNERS and other not in reached:
                reached.add(other)
                path, at = [other], index
                while at != NONE:
                    path.append(at)
                    at = came[at]
                yield path[::-1]


def _connector(
    network: Network, path: list[int], counts: Counter[int], vent: FuelVent
) -> VentConnector:
    """From the appliance to the first fitting it shares; alone on its vent, to the terminal."""
    *passed, last = path
    appliance = network.elements[last]
    shared = [i for i in passed if counts[i] > 1] or passed[:1]
    parts = [i for i in reversed(passed) if i not in shared] + shared[-1:]
    end = _outlet(network, last, passed[-1])
    points = [_place(network, a, b) for a, b in zip([last, *parts], parts, strict=False)]
    meets = network.elements[parts[-1]].position
    known = [p for p in (*points, meets) if p is not None]
    level = sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(known))
    return VentConnector(
        appliance, tuple(network.elements[i] for i in parts),
        end.position if end else None, _outlet_in(appliance, end),
        meets, level, tuple(points), vent,
    )  # fmt: skip


def _outlet_in(appliance: Element, end: End | None) -> float | None:
    """The size of its outlet: of its port, else as its properties or its name tell it."""
    own = end.own_size_in if end is not None else None
    return own or appliance.properties.positive("flue_outlet_in")


def _place(network: Network, index: int, other: int) -> Point | None:
    """Where an element is joined to another."""
    end = _outlet(network, index, other)
    return end.position if end is not None else None


def _outlet(network: Network, index: int, other: int) -> End | None:
    """The end by which an element is joined to another."""
    ends = [own for joined, own, _ in neighbours(network, index) if joined == other]
    return network.elements[index].ends[ends[0]] if ends else None
