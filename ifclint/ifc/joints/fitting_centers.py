"""Pipes that point at the middle of a fitting or valve which tells no opening there.

Some programs place all ports of a fitting at its middle, or the one of them at the next fitting,
and link fitting to fitting past the pipe that lies between. The bounds have no source.
"""

import math
from collections import defaultdict
from collections.abc import Iterator

import numpy as np

from ifclint.engineering.near import NearPlaces
from ifclint.ifc.elements import Basis, Box, Confidence, Element, End, Model, Note, Point, Role
from ifclint.ifc.joints.end_directions import PARALLEL, Ray, direction_between, ray_of
from ifclint.ifc.joints.free_ends import (
    FreeEnd,
    join,
    join_by_nature,
    may_join,
    outside_m,
    position_of,
    system_of,
)
from ifclint.ifc.shape.placement import dot

AT_ITS_MIDDLE = Basis("pipe ends that point at its middle", Confidence.INFERRED)
IN_LINE = frozenset({Role.FITTING, Role.VALVE, Role.METER, Role.REGULATOR, Role.PUMP})
CENTRE_TO_END = 3.0  # outside diameters from the middle of a fitting to where a pipe enters it
ASIDE_IN_TOLERANCES = 0.5  # how far beside the line of a pipe what it points at may lie
TOGETHER = 4096  # ends looked about at once
MOST_NEAR = 32  # middles looked at beside one end
ONE_OPENING = frozenset({"cap", "closet-flange"})
TWO_OPENINGS = frozenset({"coupling", "reducer", "long-sweep", "short-sweep"})
FOUR_OPENINGS = frozenset({"", "cross", "two-way-cleanout-tee"})
MOST_OF_A_MANIFOLD = 32


class FittingCenters:
    """The middles of all elements of some roles, to be found by place."""

    def __init__(self, model: Model, roles: frozenset[Role]) -> None:
        elements = model.elements
        self._owners = [
            i for i, e in enumerate(elements) if e.role in roles and e.position is not None
        ]
        middles = (elements[i].position for i in self._owners)
        self._places = NearPlaces([p for p in middles if p is not None])

    def near(self, points: list[Point], reaches_m: list[float]) -> Iterator[list[int]]:
        """The elements whose middle lies within reach of each point, at most the nearest few."""
        for first in range(0, len(points), TOGETHER):
            some = slice(first, first + TOGETHER)
            reach = np.array(reaches_m[some]) + 1e-9
            away, found = self._places.nearest(points[some], MOST_NEAR, reach.max())
            for row, fit in zip(found, away <= reach[:, None], strict=True):
                yield [self._owners[k] for k in sorted(row[fit].tolist())]

    def between(self, p: Point, q: Point, margin_m: float, ends: tuple[FreeEnd, FreeEnd]) -> bool:
        """Whether the middle of a third element lies between two places, or close by."""
        half = ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2, (p[2] + q[2]) / 2)
        (near,) = self.near([half], [math.dist(p, q) / 2 + margin_m])
        return not {ends[0][0], ends[1][0]}.issuperset(near)


def join_to_fitting_centers(
    model: Model, free: list[FreeEnd], boxes: dict[int, Box]
) -> list[FreeEnd]:
    """Join pipe ends to the fittings, valves ... without a box at whose middle they point.

    Where the file links two elements straight to one another although a pipe is drawn from one to
    the other, the pipe is put between them. What is left over is returned.
    """
    drawn = [f for f in free if model.elements[f[0]].role is Role.PIPE]
    if not drawn:
        return free
    spare, telling = _spare_ends(model, free)
    telling.update(boxes)
    middles = FittingCenters(model, IN_LINE | {Role.PIPE})
    rays = [ray for at in drawn if (ray := ray_of(model, at)) is not None]
    reaches = [CENTRE_TO_END * (outside_m(model.elements[ray.at[0]]) or 0.0) for ray in rays]
    aims: dict[FreeEnd, int] = {}
    for ray, near in zip(rays, middles.near([r.start for r in rays], reaches), strict=True):
        target = _target(model, ray, near, telling)
        if target is not None:
            aims[ray.at] = target
    done = _put_between(model, aims)
    done |= _open_up(model, {at: aims[at] for at in aims if at not in done}, spare)
    return [f for f in free if f not in done]


def _spare_ends(model: Model, free: list[FreeEnd]) -> tuple[dict[int, list[FreeEnd]], set[int]]:
    """Free ends at the middle of their element, which tell no opening; and the elements of all
    others."""
    spare: dict[int, list[FreeEnd]] = defaultdict(list)
    telling: set[int] = set()
    for at in free:
        element = model.elements[at[0]]
        middle = element.position
        if (
            element.role in IN_LINE
            and middle
            and not direction_between(middle, position_of(model, at))
        ):
            spare[at[0]].append(at)
        else:
            telling.add(at[0])
    return spare, telling


def _target(model: Model, ray: Ray, near: list[int], telling: set[int]) -> int | None:
    """The element near an end at whose middle it points, the nearest; None where it tells its
    openings."""
    pipe = model.elements[ray.at[0]]
    found = []
    for index in near:
        middle = model.elements[index].position
        if index != ray.at[0] and middle is not None:
            ahead, aside = ray.towards(middle)
            if ahead > 0 and aside <= ASIDE_IN_TOLERANCES * model.joining_tolerance_m:
                found.append((model.elements[index].role is Role.PIPE, ahead, index))
    if not found:
        return None
    index = min(found)[2]
    element = model.elements[index]
    fits = may_join(pipe, pipe.ends[ray.at[1]], element, End(None)) or join_by_nature(
        pipe, system_of(model, ray.at), element, element.system
    )
    return index if fits and index not in telling else None


def _put_between(model: Model, aims: dict[FreeEnd, int]) -> set[FreeEnd]:
    """Put pipes between the two elements they point at, where the file links these directly."""
    aimed: dict[int, list[FreeEnd]] = defaultdict(list)
    for at in aims:
        aimed[at[0]].append(at)
    spans = {tuple(ends): frozenset(aims[at] for at in ends) for ends in aimed.values()}
    spans = {ends: linked for ends, linked in spans.items() if len(ends) == len(linked) == 2}
    wanted = set(spans.values())
    links: dict[frozenset[int], list[int]] = defaultdict(list)
    for number, joint in enumerate(model.joints) if wanted else ():
        if (linked := frozenset((joint.a, joint.b))) in wanted:
            links[linked].append(number)
    done: set[FreeEnd] = set()
    passed: set[int] = set()
    for ends, linked in spans.items():
        if len(links[linked]) == 1 and passed.isdisjoint(links[linked]):
            passed.update(links[linked])
            joint = model.joints[links[linked][0]]
            own = {joint.a: joint.a_end, joint.b: joint.b_end}
            for at in ends:
                _meet(model, at, (aims[at], own[aims[at]]))
            done.update(ends)
    if passed:
        stated = sum(not model.joints[number].inferred for number in passed)
        model.joints = [j for number, j in enumerate(model.joints) if number not in passed]
        _note_passed(model, stated)
    return done


def _note_passed(model: Model, count: int) -> None:
    if not count:
        return
    pairs = "1 pair" if count == 1 else f"{count} pairs"
    what = f"The file links {pairs} of elements past the pipe drawn from the one to the other"
    remedy = "Give the pipe ports, and link these."
    model.notes.append(Note(f"{what}; the pipe was put between them.", remedy, "", "joint"))


def _open_up(
    model: Model, aims: dict[FreeEnd, int], spare: dict[int, list[FreeEnd]]
) -> set[FreeEnd]:
    """Give an element an end for each pipe that points at its middle, if it can have so many."""
    aimed: dict[int, list[FreeEnd]] = defaultdict(list)
    for at, target in aims.items():
        aimed[target].append(at)
    done: set[FreeEnd] = set()
    for target, ends in aimed.items():
        element, own = model.elements[target], spare.get(target, [])
        many = len(element.ends) - len(own) + len(ends)
        if many <= openings(element) and _apart(model, target, ends):
            for k, at in enumerate(ends):
                if k >= len(own):
                    element.ends.append(End(None))
                _meet(model, at, own[k] if k < len(own) else (target, len(element.ends) - 1))
            done.update(ends, own[: len(ends)])
    return done


def _meet(model: Model, at: FreeEnd, own: FreeEnd) -> None:
    """Join a pipe end to an end of what it points at, which is moved to it."""
    element = model.elements[own[0]]
    element.ends[own[1]].position = position_of(model, at)
    element.basis["ends"] = AT_ITS_MIDDLE
    join(model, at, own)


def openings(element: Element) -> int:
    """How many pipes an element can take that is no pipe itself."""
    if element.role is Role.PIPE:
        return 0
    if element.role is not Role.FITTING or element.kind in TWO_OPENINGS or "bend" in element.kind:
        return 2
    if element.kind in ONE_OPENING:
        return 1
    if element.kind == "manifold":
        return MOST_OF_A_MANIFOLD
    return 4 if element.kind in FOUR_OPENINGS or element.kind.startswith("double") else 3


def _apart(model: Model, target: int, ends: list[FreeEnd]) -> bool:
    """Whether all pipes at an element leave its middle in different directions."""
    element = model.elements[target]
    middle = element.position
    assert middle is not None
    places = element.places
    places += [position_of(model, at) for at in ends]
    directions = [
        direction for p in places if (direction := direction_between(middle, p)) is not None
    ]
    return all(dot(a, b) < PARALLEL for k, a in enumerate(directions) for b in directions[:k])
