"""Dry vents: what is joined together, where it joins the drains, and the path it leads outdoors.

A vent tree is a connected component of the dry piping. Every element of it knows the next one
toward the open air and how far that is, along the shortest path to a terminal.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from itertools import combinations, pairwise
from math import dist, inf
from typing import TypeVar

from ifclint.engineering.joined import NONE, by_length, pieces
from ifclint.engineering.tolerance import lies_above
from ifclint.ifc.elements import Element, Location, Point, Role
from ifclint.plumbing.drainage.piping import Piping
from ifclint.plumbing.drainage.segments import DrainSegment
from ifclint.plumbing.drainage.services import Service
from ifclint.plumbing.flow.segment import Segment
from ifclint.plumbing.flow.subject import place_of

T = TypeVar("T")
Dry = dict[int, dict[int, float]]
DRY = (Service.VENT, Service.STUB)
ADMITTANCE = "air-admittance-valve"
RISES_M = 0.3  # a dry pipe that leads so far up from a drain may be meant as a vent


@dataclass(eq=False)
class VentJoint:
    """Where a dry vent meets a wet drain: `vent` and `drain` are elements, `place` their place."""

    tree: VentTree
    vent: int
    drain: int
    place: int
    point: Point | None
    to_air_m: float | None = None  # developed length from here to the open air
    key: str = ""


@dataclass(eq=False)
class VentTree:
    """A connected component of the dry piping."""

    piping: Piping
    members: list[int]
    is_vent: bool  # named a vent, or with a terminal; else a dry pipe that may be meant as one
    terminals: list[int]
    open_ends: list[tuple[int, Point]]
    joints: list[VentJoint] = field(default_factory=list)
    toward: dict[int, int] = field(default_factory=dict)  # element -> the next toward the air
    to_air_m: dict[int, float] = field(default_factory=dict)
    order: list[int] = field(default_factory=list)  # the farthest from the air first

    @property
    def key(self) -> str:
        return min(self.piping.elements[i].guid for i in self.members)

    @property
    def first(self) -> int:
        """The element a person should look at: where it ends, else where it joins a drain."""
        if not self.terminals and self.open_ends:
            return max(self.open_ends, key=lambda e: e[1][2])[0]
        return self.joints[0].vent if self.joints else self.members[0]

    @property
    def label(self) -> str:
        return f'vent piping at "{self.piping.elements[self.first].label}"'

    @property
    def system(self) -> str:
        return "vent"

    @property
    def element_ids(self) -> tuple[str, ...]:
        return (self.piping.elements[self.first].guid,)

    @property
    def location(self) -> Location:
        element = self.piping.elements[self.first]
        return place_of(element, self.piping.middle(self.first))

    @property
    def outdoor_terminals(self) -> list[int]:
        return [i for i in self.terminals if self.piping.elements[i].kind != ADMITTANCE]

    @property
    def admittance_only(self) -> bool:
        """Whether air comes in by air admittance valves alone."""
        return bool(self.terminals) and not self.outdoor_terminals

    def gather(self, values: dict[VentJoint, T], join: Callable[[T, T], T]) -> dict[int, T]:
        """What the joints give, joined along the path to the open air: for every element."""
        found: dict[int, T] = {}
        for joint, value in values.items():
            before = found.get(joint.vent)
            found[joint.vent] = value if before is None else join(before, value)
        for index in self.order:
            following = self.toward.get(index)
            if following is not None and index in found:
                before = found.get(following)
                found[following] = found[index] if before is None else join(before, found[index])
        return found

    def points_out(self, joint: VentJoint) -> list[Point | None]:
        """The points of the centreline from a joint to the middle of the last element."""
        path = self.path_out(joint)
        points = [joint.point, self.piping.middle(path[0])]
        for index, following in pairwise(path):
            points += [self._shared(index, following), self.piping.middle(following)]
        return points

    def _shared(self, a: int, b: int) -> Point | None:
        """Where two elements are joined."""
        ends_at, places = self.piping.drainage.ends_at, self.piping.drainage.places
        return next((places[p] for p in ends_at[a] if p in ends_at[b]), None)

    def path_out(self, joint: VentJoint) -> list[int]:
        """The elements from a joint to the open air."""
        path, index = [], joint.vent
        while True:
            path.append(index)
            if index not in self.toward:
                return path
            index = self.toward[index]


@dataclass(eq=False)
class VentSegment(Segment):
    """Dry vent of one size and orientation, with what it lets breathe."""

    segment: DrainSegment
    tree: VentTree
    serves: int  # how many joints with the drains breathe through it
    farthest_m: float | None  # from the open air to the farthest of them
    rims_m: tuple[float, float] | None = None  # the highest rim served: at least, at most
    rim_of: str = ""
    island: bool = False  # part of an island vent, below the rim it serves

    system = "vent"
    words = "vent"

    @property
    def pipe_elements(self) -> list[Element]:
        return self.segment.pipe_elements

    @property
    def point(self) -> Point | None:
        return self.segment.point

    @property
    def slope(self) -> float | None:
        return self.segment.slope

    @property
    def orientation(self) -> str | None:
        return self.segment.orientation

    @property
    def developed_m(self) -> float | None:
        return self.farthest_m

    def lacking(self, fact: str) -> tuple[str, ...]:
        return self.segment.lacking(fact)


@dataclass(eq=False)
class VentTerminal:
    """Where a vent ends: through the roof, or in an air admittance valve."""

    element: Element
    index: int
    tree: VentTree | None
    pipe_in: float | None  # the size of the vent that reaches it

    @property
    def key(self) -> str:
        return self.element.guid

    @property
    def label(self) -> str:
        return self.element.label

    @property
    def system(self) -> str:
        return "vent"

    @property
    def element_ids(self) -> tuple[str, ...]:
        return (self.element.guid,)

    @property
    def location(self) -> Location:
        return place_of(self.element, self.point)

    @property
    def point(self) -> Point | None:
        ends = [e.position for e in self.element.ends if e.position is not None]
        return max(ends, key=lambda p: p[2], default=self.element.position)

    @property
    def top(self) -> Point | None:
        """Its opening: the top of its shape where the model has one."""
        point = self.point
        if point is None or self.element.box is None:
            return point
        return (point[0], point[1], max(point[2], self.element.box[1][2]))

    @property
    def admits_only(self) -> bool:
        return self.element.kind == ADMITTANCE

    @property
    def vent_size_in(self) -> float | None:
        return self.element.size_in or self.pipe_in


def find_vents(piping: Piping) -> list[VentTree]:
    """Every vent tree, with its joints and the path to the open air, in the order of the model."""
    dry = _dry(piping)
    found = [_tree(piping, sorted(members)) for members in pieces(dry, dry.__getitem__)]
    trees = [tree for tree in found if tree.is_vent or _may_be_meant(tree)]
    _lead_out(piping, dry, trees)
    return trees


def _dry(piping: Piping) -> Dry:
    """The dry piping, and how long the path is between the middles of what is joined in it."""
    dry: Dry = {i: {} for i in piping.drainage.members if piping.service[i] in DRY}
    for place, ending in enumerate(piping.at_place):
        for a, b in combinations([i for i in ending if i in dry], 2):
            length = _between(piping, a, b, place)
            if length < dry[a].get(b, inf):
                dry[a][b] = dry[b][a] = length
    return dry


def _tree(piping: Piping, members: list[int]) -> VentTree:
    elements, drainage = piping.elements, piping.drainage
    terminals = [i for i in members if elements[i].role is Role.VENT_TERMINAL]
    is_vent = any(piping.service[i] is Service.VENT for i in members)
    tree = VentTree(piping, members, is_vent, terminals, [])
    for index in members:
        for place in dict.fromkeys(drainage.ends_at[index]):
            point = drainage.places[place]
            wet = [other for other in piping.at_place[place] if piping.is_wet(other)]
            if wet:  # of several, the one it drains into
                drain = drainage.down[index] if drainage.down[index] in wet else wet[0]
                key = f"{elements[index].guid}>{elements[drain].guid}"
                tree.joints.append(VentJoint(tree, index, drain, place, point, key=key))
            pipe_end = elements[index].role in (Role.PIPE, Role.FITTING)
            lone = len(piping.at_place[place]) == 1 and elements[index].kind != "cap"
            if pipe_end and lone and point is not None:
                tree.open_ends.append((index, point))
    return tree


def _may_be_meant(tree: VentTree) -> bool:
    """Whether dry piping that nobody calls a vent rises from a drain and ends in the open."""
    low = min((j.point[2] for j in tree.joints if j.point is not None), default=None)
    return low is not None and any(
        lies_above(point[2], low + RISES_M) for _, point in tree.open_ends
    )


def _lead_out(piping: Piping, dry: Dry, trees: list[VentTree]) -> None:
    """From the open air inward, along the shortest path, for all trees at once."""
    starts = [(length, i) for tree in trees for i, length in _starts(tree).items()]
    found = list(by_length(starts, lambda i: dry[i].items()))
    far = {i: length for length, i, _ in found}
    toward = {i: came for _, i, came in found if came != NONE}
    for tree in trees:
        tree.to_air_m = {i: far[i] for i in tree.members if i in far}
        tree.toward = {i: toward[i] for i in tree.to_air_m if i in toward}
        tree.order = sorted(tree.to_air_m, key=lambda i: (-far[i], i))
        for joint in tree.joints:
            inner, middle = tree.to_air_m.get(joint.vent), piping.middle(joint.vent)
            if inner is not None and middle is not None and joint.point is not None:
                joint.to_air_m = inner + dist(middle, joint.point) + _to_centre_m(joint)


def _to_centre_m(joint: VentJoint) -> float:
    """From where a vent joins a drain's fitting to the centre of that; on a pipe none."""
    piping = joint.tree.piping
    is_fitting = piping.elements[joint.drain].role is Role.FITTING
    centre = piping.middle(joint.drain) if is_fitting else None
    return 0.0 if centre is None or joint.point is None else dist(centre, joint.point)


def _starts(tree: VentTree) -> dict[int, float]:
    """Where air comes in: the terminals, else the open ends, else the highest element; with the
    distance from there to the middle of the element."""
    if tree.terminals:
        return dict.fromkeys(tree.terminals, 0.0)
    if tree.open_ends:
        middles = [(i, tree.piping.middle(i), point) for i, point in tree.open_ends]
        return {i: dist(middle, point) if middle else 0.0 for i, middle, point in middles}
    known = [(p[2], i) for i in tree.members if (p := tree.piping.middle(i)) is not None]
    return {max(known)[1] if known else tree.members[0]: 0.0}


def _between(piping: Piping, a: int, b: int, place: int) -> float:
    at, from_, to = piping.drainage.places[place], piping.middle(a), piping.middle(b)
    if at is None or from_ is None or to is None:
        return 0.0
    return dist(from_, at) + dist(at, to)


def find_terminals(
    piping: Piping, trees: list[VentTree], is_above_roof: Callable[[Point], bool]
) -> list[VentTerminal]:
    """Every vent terminal of the drainage, and every pipe of a vent that ends open above the
    roof."""
    tree_of = {i: tree for tree in trees for i in tree.terminals}
    found = []
    for index in piping.drainage.members:
        element = piping.elements[index]
        if element.role is not Role.VENT_TERMINAL:
            continue
        beside = [
            other
            for place in piping.drainage.ends_at[index]
            for other in piping.at_place[place]
            if other != index
        ]
        sizes = [s for i in beside if (s := piping.elements[i].size_in) is not None]
        found.append(VentTerminal(element, index, tree_of.get(index), min(sizes, default=None)))
    open_pipes = (
        (index, tree)
        for tree in trees
        for index, point in tree.open_ends
        if tree.is_vent and piping.is_pipe(index) and is_above_roof(point)
    )
    for index, tree in open_pipes:
        pipe = piping.elements[index]
        found.append(VentTerminal(pipe, index, tree, pipe.size_in))
    return found


def find_vent_segments(
    piping: Piping,
    segments: Iterable[DrainSegment],
    trees: list[VentTree],
    rims_of: Callable[[VentJoint], tuple[float, float, str] | None],
    island: set[int],
) -> list[VentSegment]:
    """The vent runs, with how many joints breathe through each, how far off, and how high."""
    tree_of = {i: tree for tree in trees for i in tree.members}
    counts: dict[VentTree, dict[int, int]] = {}
    far: dict[VentTree, dict[int, float]] = {}
    lows: dict[VentTree, dict[int, float]] = {}
    highs: dict[VentTree, dict[int, float]] = {}
    names: dict[float, str] = {}
    for tree in trees:
        counts[tree] = tree.gather(dict.fromkeys(tree.joints, 1), lambda a, b: a + b)
        lengths = {j: j.to_air_m for j in tree.joints if j.to_air_m is not None}
        far[tree] = tree.gather(lengths, max)
        rims = {j: r for j in tree.joints if (r := rims_of(j)) is not None}
        names.update({low: name for low, _, name in rims.values()})
        lows[tree] = tree.gather({j: r[0] for j, r in rims.items()}, max)
        highs[tree] = tree.gather({j: r[1] for j, r in rims.items()}, max)
    found = []
    for segment in segments:
        if segment.indexes[0] not in tree_of:
            continue
        tree = tree_of[segment.indexes[0]]
        serves = max(counts[tree].get(i, 0) for i in segment.indexes)
        farthest = max((far[tree][i] for i in segment.indexes if i in far[tree]), default=None)
        low = max((lows[tree][i] for i in segment.indexes if i in lows[tree]), default=None)
        high = max((highs[tree][i] for i in segment.indexes if i in highs[tree]), default=None)
        rims_m = (low, high) if low is not None and high is not None else None
        name = names.get(low, "") if low is not None else ""
        is_island = any(i in island for i in segment.indexes)
        found.append(VentSegment(segment, tree, serves, farthest, rims_m, name, is_island))
    return found
