"""Pipes that others enter on their side, or that run through a part, are cut there: water enters
at that height, not at the middle. So are drains and vents drawn bends and all in one element, where
their legs meet: each has its own fall. Of several pipes drawn in one element, as where a whole
layer of a drawing became one, each is a piece.

The pieces are elements of one GlobalId, the first of which is the pipe as it was.
"""

from collections import Counter, defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from math import dist

import numpy as np

from ifclint.engineering.directions import Direction, angle_deg, direction
from ifclint.ifc.elements import Element, End, Joint, Model, Point, Properties, System
from ifclint.ifc.facts.size.diameters import from_outside
from ifclint.ifc.joints.end_directions import Foot, cut, foot_on
from ifclint.ifc.joints.free_ends import FreeEnd
from ifclint.ifc.joints.ports import axis_ends
from ifclint.ifc.joints.run_through import ONE_CUT_M, THROUGH
from ifclint.ifc.joints.tees import SIDE
from ifclint.ifc.shape.chains import are_as_wide
from ifclint.ifc.shape.curves import developed_length
from ifclint.ifc.shape.solids import Axis

FALLING = frozenset({System.SANITARY, System.VENT, System.STORM, System.CONDENSATE})
STRAIGHT_DEG = 5.0  # what turns by less is one leg. Ours, no source
LEG_M = 0.1  # between two bends; what is shorter is a part of one. Ours, no source
STEP_M = 0.03  # a fall drawn in level runs has such steps, and no bends. Ours, no source
MEET_M = 0.005  # how far apart the axes of legs pass that meet. Ours, no source


def cut_at_sides(model: Model) -> None:
    """Cut every pipe where it is entered on its side, and join its pieces and the branch there; and
    leave what of it lies within a part to this."""
    names = {SIDE, THROUGH}
    pieces = Counter(e.guid for e in model.elements)
    entered = {i: None for i, e in enumerate(model.elements) for d in e.ends if d.name in names}
    moved: dict[FreeEnd, FreeEnd] = {}
    between: list[Joint] = []
    for i in entered:
        before = len(model.elements)
        now, joints = _cut(model, i, number=pieces[model.elements[i].guid])
        pieces[model.elements[i].guid] += len(model.elements) - before
        moved.update(now)
        between += joints
    if moved:
        model.joints = [_moved(joint, moved) for joint in model.joints] + between


def cut_at_bends(model: Model) -> None:
    """Cut every drain and vent of one element into its straight legs, and join these."""
    pieces = Counter(e.guid for e in model.elements)
    moved: dict[FreeEnd, FreeEnd] = {}
    between: list[Joint] = []
    for i, pipe in enumerate(model.elements[:]):
        if not pipe.course or pipe.system not in FALLING or len(pipe.line) < len(pipe.course):
            continue
        course = with_sharp_bends(pipe.line)
        if not course[1:-1]:
            continue
        pipe.course = course
        feet = [foot_on(pipe.line, corner) for corner in course[1:-1]]
        now, joints = _cut(model, i, [foot for foot in feet if foot is not None], pieces[pipe.guid])
        pieces[pipe.guid] += len(joints)
        moved.update(now)
        between += joints
    if moved:
        model.joints = [_moved(joint, moved) for joint in model.joints] + between


def _cut(
    model: Model, index: int, bends: Sequence[Foot] = (), number: int = 1
) -> tuple[dict[FreeEnd, FreeEnd], list[Joint]]:
    """Cut one pipe: where each of its ends is now that is no longer the same, and the joints
    between its pieces, numbered from a `number` on."""
    pipe = model.elements[index]
    sides, through = _marks(pipe, SIDE), _marks(pipe, THROUGH)
    if len(pipe.ends) != 2 + len(sides) + len(through):
        return {}, []  # it has further ports, whose place along it is not stated
    spans = list(zip(through[::2], through[1::2], strict=True))
    sides = [(_before(spans, foot), e) for foot, e in sides]
    cuts: list[Foot] = list(bends)
    members: dict[int, list[int]] = defaultdict(list)
    for foot, e in sorted(sides + through, key=lambda mark: mark[0].along_m):
        if not cuts or foot.along_m - cuts[-1].along_m > ONE_CUT_M:
            cuts.append(foot)
        members[len(cuts)].append(e)
    begins = {first for (_, first), _ in spans}
    within = {number for number, ends in members.items() if begins.intersection(ends)}
    pieces = _pieces(pipe, cut(pipe.line, cuts), within, number)
    added = iter(range(len(model.elements), len(model.elements) + len(pieces) - 1))
    owners = {n: next(added) for n in range(1, len(cuts) + 1) if n not in within} | {0: index}
    moved = {(index, 1): (owners[len(cuts)], 1)}
    for number, ends in members.items():
        now = (owners[number - 1], 1) if number in within else (owners[number], 0)
        moved.update({(index, e): now for e in ends})
    model.elements += pieces[1:]
    pairs = pairwise(range(len(cuts) + 1))
    met = [(a, b) for a, b in pairs if a in owners and b in owners]
    return moved, [Joint(owners[a], 1, owners[b], 0, inferred=True) for a, b in met]


def _marks(pipe: Element, name: str) -> list[tuple[Foot, int]]:
    """The ends of one name of a pipe, in order, with where along it they are."""
    course = pipe.line
    marked = [(end.position, e) for e, end in enumerate(pipe.ends) if end.name == name]
    found = [(foot_on(course, at), e) for at, e in marked if at is not None]
    return sorted(
        ((foot, e) for foot, e in found if foot is not None), key=lambda mark: mark[0].along_m
    )


def _before(spans: list[tuple[tuple[Foot, int], tuple[Foot, int]]], foot: Foot) -> Foot:
    """A place along a pipe; of one within a part that it runs through, where it enters this."""
    for (first, _), (last, _) in spans:
        if first.along_m - ONE_CUT_M <= foot.along_m <= last.along_m + ONE_CUT_M:
            return first
    return foot


def _pieces(
    pipe: Element, courses: list[tuple[Point, ...]], within: Collection[int], first_new: int
) -> list[Element]:
    """The pieces of a pipe along their courses, but for those `within` parts; the pipe itself
    becomes the first, and the next is numbered as told."""
    first, last = pipe.ends[:2]
    lengths = [developed_length(list(course)) for course in courses]
    per_drawn = (pipe.length_m or 0.0) / (sum(lengths) or 1.0)
    courses = [course for number, course in enumerate(courses) if number not in within]
    lengths = [length_m for number, length_m in enumerate(lengths) if number not in within]
    pieces = [pipe]
    for number in range(1, len(courses)):
        made = replace(pipe, piece=first_new + number - 1, properties=Properties(pipe.properties))
        made.basis, made.position = dict(pipe.basis), courses[number][0]
        pieces.append(made)
    for piece, course, length_m in zip(pieces, courses, lengths, strict=True):
        piece.ends = [replace(first, position=course[0]), replace(last, position=course[-1])]
        piece.course = course if len(course) > 2 else ()
        piece.length_m = length_m * per_drawn if per_drawn else None
    return pieces


def _moved(joint: Joint, moved: dict[FreeEnd, FreeEnd]) -> Joint:
    a = moved.get((joint.a, joint.a_end), (joint.a, joint.a_end))
    b = moved.get((joint.b, joint.b_end), (joint.b, joint.b_end))
    if (*a, *b) == joint[:4]:
        return joint
    first, second = sorted((a, b))
    return Joint(*first, *second, joint.inferred, joint.gap_m)


def with_sharp_bends(course: tuple[Point, ...]) -> tuple[Point, ...]:
    """The line of a pipe from where it begins over where the axes of its legs meet to where it
    ends; where those of two legs do not, over the end of one and the beginning of the next."""
    legs = _legs(course)
    corners = [p for one, other in pairwise(legs) for p in _corner(one, other)]
    return (course[0], *corners, course[-1])


def _legs(course: tuple[Point, ...]) -> list[tuple[Point, Point]]:
    """The legs that are no step, nor part of a bend between two others."""
    legs: list[tuple[Point, Point]] = []
    ways: list[Direction] = []
    for a, b in pairwise(course):
        on = direction(a, b)
        if on is None:
            continue
        if len(legs) > 1 and dist(*legs[-1]) < STEP_M and angle_deg(ways[-2], on) < STRAIGHT_DEG:
            legs.pop(), ways.pop()
        if legs and angle_deg(ways[-1], on) < STRAIGHT_DEG:
            legs[-1] = legs[-1][0], b
        else:
            legs.append((a, b))
            ways.append(on)
    ends = (0, len(legs) - 1)
    least = [STEP_M if number in ends else LEG_M for number in range(len(legs))]
    return [leg for leg, m in zip(legs, least, strict=True) if dist(*leg) >= m] or legs[:1]


def _corner(one: tuple[Point, Point], other: tuple[Point, Point]) -> list[Point]:
    """Where the axes of two legs meet, past the end of the one and before the other begins."""
    a, b = np.array(one)
    c, d = np.array(other)
    u, v = (b - a) / dist(*one), (d - c) / dist(*other)
    across = np.cross(u, v)
    if (size := float(across @ across)) > np.sin(np.radians(STRAIGHT_DEG)) ** 2:
        along = float(np.cross(c - a, v) @ across) / size
        back = float(np.cross(c - a, u) @ across) / size
        p, q = a + along * u, c + back * v
        if along > 0 and back < dist(*other) and dist(p, q) <= MEET_M:
            x, y, z = ((p + q) / 2).tolist()
            return [(x, y, z)]
    return [one[1]] if one[1] == other[0] else [one[1], other[0]]


def part_pipes(model: Model, several: Mapping[int, Sequence[Axis]]) -> None:
    """Make each of the pipes that one element holds an element of its own, all of its GlobalId; the
    first is what it was. Where they are not equally wide, each is of the size it is drawn in."""
    for index, axes in several.items():
        first = model.elements[index]
        pieces = [first, *(_piece(first, number) for number in range(1, len(axes)))]
        for pipe, axis in zip(pieces, axes, strict=True):
            _draw(pipe, axis)
            if not are_as_wide(axes):
                _set_size(pipe, axis)
        model.elements += pieces[1:]


def _piece(first: Element, number: int) -> Element:
    made = replace(first, piece=number, properties=Properties(first.properties))
    made.basis = dict(first.basis)
    return made


def _draw(pipe: Element, axis: Axis) -> None:
    ends: list[End] = []
    pipe.ends, pipe.course = ends, ()
    axis_ends(pipe, axis)
    pipe.position = axis.points[0]
    pipe.length_m, pipe.basis["length"] = axis.length_m, axis.basis


def _set_size(pipe: Element, axis: Axis) -> None:
    found = from_outside(axis.outside_m, pipe.material) if axis.outside_m else None
    pipe.size_in, pipe.basis["size"] = found.size_in if found else None, axis.basis
    for name, drawn_m in (("outside", axis.outside_m), ("inside", axis.inside_m)):
        pipe.properties.pop(f"{name}_diameter_m", None)
        pipe.properties.pop(f"drawn_{name}_diameter_m", None)
        if drawn_m:
            pipe.properties[f"drawn_{name}_diameter_m"] = round(drawn_m, 6)
