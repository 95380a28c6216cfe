"""Pipes that others enter on their side, cut there: water enters at that height, not at the middle.

The pieces are elements of one GlobalId, the first of which is the pipe as it was.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from itertools import pairwise

from ifclint.ifc.elements import Element, Joint, Model, Point, Properties
from ifclint.ifc.joints.free_ends import FreeEnd
from ifclint.ifc.joints.pipe_courses import Foot, course_of, cut, foot_on
from ifclint.ifc.joints.tees import SIDE
from ifclint.ifc.shape.curves import developed_length

ONE_CUT_M = 1e-3  # two branches this close along a pipe enter it at one place


def cut_at_sides(model: Model) -> None:
    """Cut every pipe where it is entered on its side, and join its pieces and the branch there."""
    entered = [i for i, e in enumerate(model.elements) if any(d.name == SIDE for d in e.ends)]
    moved: dict[FreeEnd, FreeEnd] = {}
    between: list[Joint] = []
    for i in entered:
        now, joints = _cut(model, i)
        moved.update(now)
        between += joints
    if moved:
        model.joints = [_moved(joint, moved) for joint in model.joints] + between


def _cut(model: Model, index: int) -> tuple[dict[FreeEnd, FreeEnd], list[Joint]]:
    """Cut one pipe: where each of its ends is now that is no longer the same, and the joints
    between its pieces."""
    pipe = model.elements[index]
    course = course_of(pipe)
    sides: list[tuple[Foot, int]] = []
    for e, end in enumerate(pipe.ends):
        if end.name == SIDE and end.position is not None:
            foot = foot_on(course, end.position)
            if foot is not None:
                sides.append((foot, e))
    if len(pipe.ends) != 2 + len(sides):
        return {}, []  # it has further ports, whose place along it is not stated
    cuts: list[Foot] = []
    members: dict[int, list[int]] = defaultdict(list)
    for foot, e in sorted(sides, key=lambda side: side[0].along_m):
        if not cuts or foot.along_m - cuts[-1].along_m > ONE_CUT_M:
            cuts.append(foot)
        members[len(cuts)].append(e)
    pieces = _pieces(pipe, cut(course, cuts))
    owners = [index, *range(len(model.elements), len(model.elements) + len(pieces) - 1)]
    moved = {(index, 1): (owners[-1], 1)}
    for number, ends in members.items():
        moved.update({(index, e): (owners[number], 0) for e in ends})
    model.elements += pieces[1:]
    return moved, [Joint(one, 1, other, 0, inferred=True) for one, other in pairwise(owners)]


def _pieces(pipe: Element, courses: list[tuple[Point, ...]]) -> list[Element]:
    """The pieces of a pipe along their courses; the pipe itself becomes the first."""
    first, last = pipe.ends[:2]
    lengths = [developed_length(list(course)) for course in courses]
    per_drawn = (pipe.length_m or 0.0) / (sum(lengths) or 1.0)
    pieces = [pipe]
    for number in range(1, len(courses)):
        made = replace(pipe, piece=number, properties=Properties(pipe.properties))
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
