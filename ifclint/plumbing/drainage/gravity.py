"""Drainage directed by gravity: from every element to the place its water leaves the model.

A path costs its length and, far more, its climb, so that the cheapest from a fixture is the one
that water takes: down the drain, not up and over the vents.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from math import dist

import numpy as np

from ifclint.engineering.joined import NONE
from ifclint.ifc.elements import Point, Role, System
from ifclint.network import Network
from ifclint.plumbing.drainage.hoses import hoses
from ifclint.plumbing.drainage.outlets import (
    GRAVITY_CLIMB_M,
    LEVEL_M,
    GravityPiping,
    Outlet,
    is_sump,
    named_outlets,
    stops,
)
from ifclint.plumbing.drainage.receptors import RECEPTOR
from ifclint.plumbing.drainage.sources import drain_sources, drainage_members
from ifclint.plumbing.floors import Floors
from ifclint.plumbing.flow.directed import Directed
from ifclint.plumbing.flow.paths import Paths
from ifclint.plumbing.flow.places import (
    Flags,
    Floats,
    Ints,
    Places,
    as_array,
    distances,
    middle_points,
)

CLIMB_COST = 1000.0  # metres of pipe that water would rather travel than climb one metre
NO_LENGTH_M = 1e-6  # the length of a path whose ends are not known


@dataclass(frozen=True, slots=True)
class Discharge:
    """What a pump presses up, in order from the pump to the drain that takes it."""

    pump: int  # where it begins: a pump, a sump whose pump is not drawn, a fixture that pumps
    sump: int  # what it empties; the pump itself where it stands in no sump, -1 for a fixture
    path: tuple[int, ...]
    stubs: tuple[int, ...] = ()  # what hangs on it and is as full
    entry: int = NONE  # the first of the drain that takes it, -1 where none is drawn

    @property
    def pressed(self) -> tuple[int, ...]:
        """All that runs full."""
        return (*self.path, *self.stubs)


@dataclass(repr=False)
class Drainage(Directed):
    """The drainage elements and their flow, as a forest toward the outlets."""

    outlet: list[int]  # index into `outlets`
    outlets: list[Outlet]
    joined: list[int]  # element -> how many of its ends are joined to drainage
    middles: list[Point | None]  # element -> where its axes meet
    sources: list[int]  # what gives water to it
    cross_joints: list[int] = field(default_factory=list)  # joints no water uses: loops
    discharges: Sequence[Discharge] = ()  # of the pumps

    def outlet_of(self, index: int) -> Outlet | None:
        """The outlet that an element leads to; None where it reaches none."""
        number = self.outlet[index]
        return self.outlets[number] if number >= 0 else None

    @property
    def down(self) -> list[int]:
        """The next element downstream."""
        return self.toward

    @cached_property
    def pressed(self) -> frozenset[int]:
        """The elements of pumped discharges."""
        return frozenset(i for discharge in self.discharges for i in discharge.pressed)

    @property
    def entries(self) -> list[int]:
        """Where what sumps and pumps discharge enters the drains."""
        found = (d.entry for d in self.discharges if d.sump != NONE and d.entry != NONE)
        return list(dict.fromkeys(found))

    @property
    def exit_place(self) -> list[int]:
        """The place through which the element is left."""
        return self.through


class _Flow:
    """What the walk up from the outlets finds of each node."""

    def __init__(self, size: int) -> None:
        self.below: Ints = np.full(size, NONE, dtype=np.int64)
        self.outlet: Ints = np.full(size, NONE, dtype=np.int64)
        self.far: Floats = np.full(size, np.inf)
        self.climb: Floats = np.full(size, np.inf)

    def forget(self, mask: Flags) -> None:
        self.below[mask] = NONE
        self.outlet[mask] = NONE
        self.far[mask] = np.inf
        self.climb[mask] = np.inf


def direct(
    network: Network,
    job_outlets: Sequence[str] = (),
    floors: Floors | None = None,
    members: Sequence[int] | None = None,
    giving: Sequence[int] | None = None,
    discharges: Sequence[Discharge] = (),
) -> Drainage:
    """Direct the drainage of a network to its outlets: the sanitary, unless `members` are others.

    `giving` is what gives water to these others. Through no sump or pump water runs on by gravity;
    what `discharges` carry may climb.
    """
    floors = floors or Floors(network.model)
    sources = drain_sources(network) if giving is None else list(giving)
    places = Places(network, drainage_members(network, sources) if members is None else members)
    middles = _middles(places, sources)
    heights = np.concatenate([middles[:, 2], as_array(places.points)[:, 2]])
    in_hose = np.isin(places.members, [*hoses(network), *_pressed(discharges)])
    piping = GravityPiping(network, places, _paths(places, middles, heights, in_hose), floors)
    flow = _Flow(piping.paths.size)
    outlets: list[Outlet] = []
    named = named_outlets(piping, job_outlets, sources)
    by_gravity = [outlet for outlet in named if outlet.kind != "pumped"]
    pumped = [outlet for outlet in named if outlet.kind == "pumped"]
    in_vent = _in_vent(piping)
    left = ~_lifted(piping, by_gravity, discharges)
    for found in (by_gravity, pumped, None):  # to a pump only what reaches no outlet by itself
        more = stops(piping, left) if found is None else found
        sinks = [_sink(piping, outlet) for outlet in more]
        number_of = {sink: len(outlets) + i for i, sink in reversed(list(enumerate(sinks)))}
        number_of |= _pumps(piping, discharges, number_of)
        _spread(piping, flow, number_of, left, heights, in_vent, in_hose)
        outlets = outlets + more
        left = ~(flow.climb <= GRAVITY_CLIMB_M)
        if not left.any():
            break
        if found is not None:
            flow.forget(left)
    drainage = _forest(piping, flow, outlets, middles, sources)
    drainage.discharges = tuple(discharges)
    return drainage


def _pressed(discharges: Sequence[Discharge]) -> set[int]:
    return {i for discharge in discharges for i in discharge.pressed}


def _lifted(
    piping: GravityPiping, outlets: Sequence[Outlet], discharges: Sequence[Discharge]
) -> Flags:
    """What no water reaches by gravity: sumps, pumps and what these press up."""
    network, apart = piping.network, {outlet.element for outlet in outlets}
    sumps = (i for i in network.of_roles(Role.CHAMBER) if is_sump(network.elements[i]))
    lifted = {*_pressed([d for d in discharges if d.sump != NONE]), *sumps}
    lifted.update(network.of_roles(Role.PUMP))
    found = [index in lifted and index not in apart for index in piping.members]
    return np.array(found + [False] * len(piping.places.points), dtype=bool)


def _pumps(
    piping: GravityPiping, discharges: Sequence[Discharge], number_of: Mapping[int, int]
) -> dict[int, int]:
    """The pumps of sumps, with the numbers of those as outlets: what a pump lifts is theirs."""
    node_of = piping.node_of
    sumps = {d.pump: node_of[d.sump] for d in discharges if d.sump not in (NONE, d.pump)}
    return {node_of[p]: number_of[sump] for p, sump in sumps.items() if sump in number_of}


def _middles(places: Places, sources: list[int]) -> Floats:
    """Water starts at the top of a fixture, whatever else (supplies, overflows) is joined to it."""
    middles, elements = places.middles.copy(), places.network.elements
    giving = frozenset(sources)
    for row, index in enumerate(places.members):
        if index in giving:
            known = [p for k in places.ends_at[index] if (p := places.points[k]) is not None]
            if known and elements[index].ends:
                x, y, _ = (sum(p[k] for p in known) / len(known) for k in range(3))
                middles[row] = x, y, max(p[2] for p in known)
    return middles


def _paths(places: Places, middles: Floats, heights: Floats, in_hose: Flags) -> Paths:
    """Costs of the search from the outlets up: a step up the drain is water going down.

    A climb in a hose is the pump's.
    """
    count = len(places.members)
    element = np.repeat(np.arange(count), places.counts)
    place = places.place_of_end + count
    points = as_array(places.points)
    length = np.nan_to_num(distances(middles[element], points[places.place_of_end])) + NO_LENGTH_M
    rise = np.nan_to_num(heights[place] - heights[element])  # from the element to the place
    rise[in_hose[element]] = 0.0
    return Paths(
        count + len(places.points),
        element,
        place,
        outward=length + CLIMB_COST * np.maximum(-rise, 0.0),
        inward=length + CLIMB_COST * np.maximum(rise, 0.0),
    )


def _in_vent(piping: GravityPiping) -> Flags:
    elements = piping.network.elements
    vents = [elements[i].system is System.VENT for i in piping.members]
    return np.array(vents + [False] * len(piping.places.points))


def _spread(
    piping: GravityPiping,
    flow: _Flow,
    number_of: Mapping[int, int],
    mask: Flags,
    heights: Floats,
    in_vent: Flags,
    in_hose: Flags,
) -> None:
    """Walk up from the outlets, given by their nodes with their numbers, through the nodes of the
    mask, filling `flow`."""
    if not number_of:
        return
    reached = piping.paths.search(list(number_of), mask)
    nodes = np.flatnonzero(np.isfinite(reached.far) & mask)
    nodes = nodes[np.argsort(reached.far[nodes], kind="stable")]
    below = reached.before[nodes]
    flow.below[nodes], flow.far[nodes] = below, reached.far[nodes]
    flow.outlet[nodes] = [number_of[start] for start in reached.start[nodes].tolist()]
    step = np.where(below != NONE, np.nan_to_num(heights[below] - heights[nodes]), 0.0)
    hose = np.append(in_hose, np.zeros(len(piping.places.points) + 1, dtype=bool))
    step = np.where(hose[nodes] | hose[below], 0.0, step)  # the last is that of no element, -1
    up_a_vent = (step > LEVEL_M) & (in_vent[nodes] | in_vent[below]) & (below != NONE)
    step = np.maximum(step, 0.0) + np.where(up_a_vent, GRAVITY_CLIMB_M, 0.0)
    climb = flow.climb.tolist()
    for node, after, rise in zip(nodes.tolist(), below.tolist(), step.tolist(), strict=True):
        climb[node] = climb[after] + rise if after != NONE else 0.0
    flow.climb[:] = climb


def _sink(piping: GravityPiping, outlet: Outlet) -> int:
    """The node at which water leaves: the outlet, or the end of it that is open."""
    at = outlet.position
    if at is None or outlet.kind not in ("open end", RECEPTOR):
        return piping.node_of[outlet.element]
    ends = piping.places.ends_at[outlet.element]
    points = piping.places.points
    return piping.shift + min(ends, key=lambda p: _apart(points[p], at))


def _apart(a: Point | None, b: Point) -> float:
    return dist(a, b) if a is not None else float("inf")


def _forest(
    piping: GravityPiping, flow: _Flow, outlets: list[Outlet], middles: Floats, sources: list[int]
) -> Drainage:
    network, places, shift = piping.network, piping.places, piping.shift
    total = len(network.elements)
    down, exit_place, outlet = [NONE] * total, [NONE] * total, [NONE] * total
    middle_of: list[Point | None] = [element.position for element in network.elements]
    members, below = piping.members, flow.below.tolist()
    for node, (index, number) in enumerate(zip(members, flow.outlet.tolist()[:shift], strict=True)):
        outlet[index] = number
        place = below[node]
        if place != NONE:
            exit_place[index] = place - shift
            following = below[place]
            down[index] = members[following] if following != NONE else NONE
    for index, point in zip(members, middle_points(middles), strict=True):
        middle_of[index] = point
    far = np.where(np.isfinite(flow.far[:shift]), flow.far[:shift], 0.0)
    order = [members[node] for node in reversed(np.argsort(-far, kind="stable").tolist())]
    drainage = Drainage(
        network, members, down, exit_place, order, places.points, places.ends_at,
        outlet, outlets, places.joined, middle_of, sources,
    )  # fmt: skip
    drainage.cross_joints = [n for n in places.joints if _crosses(drainage, n)]
    return drainage


def _crosses(drainage: Drainage, number: int) -> bool:
    """True where neither element of the joint flows out through the place they share."""
    joint = drainage.network.joints[number]
    place = drainage.ends_at[joint.a][joint.a_end]
    return drainage.exit_place[joint.a] != place and drainage.exit_place[joint.b] != place
