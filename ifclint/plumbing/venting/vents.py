"""Dry vents: what is joined together, where it joins the drains, and the path it leads outdoors.

A vent tree is a connected component of the dry piping. Every element of it knows the next one
toward the open air and how far that is, along the shortest path to a terminal.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import combinations, pairwise
from math import dist, inf
from typing import TypeVar

from ifclint.engineering.joined import NONE, by_length, pieces
from ifclint.engineering.tolerance import lies_above
from ifclint.ifc.elements import Element, Point, Role, System
from ifclint.plumbing.drainage.piping import Piping
from ifclint.plumbing.drainage.services import Service
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.flow.tie_ins import tie_ins

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
class VentTree(OfElement):
    """A connected component of the dry piping."""

    service = System.VENT

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
    def element(self) -> Element:
        return self.piping.elements[self.first]

    @property
    def looked_at(self) -> Point | None:
        return self.piping.middle(self.first)

    @property
    def label(self) -> str:
        return f'vent piping at "{self.element.label}"'

    @property
    def outdoor_terminals(self) -> list[int]:
        return [i for i in self.terminals if self.piping.elements[i].kind != ADMITTANCE]

    @property
    def tie_ins(self) -> list[int]:
        """The fittings that join it to existing piping which is not in the model."""
        return tie_ins(self.piping.network, self.members)

    @property
    def is_closed(self) -> bool:
        """Whether it ends nowhere but at the drains that it joins."""
        return not self.terminals and not self.open_ends

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
