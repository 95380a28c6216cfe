"""What joining rests on: free ends, whether two may be joined, and the joining itself."""

from __future__ import annotations

from collections.abc import Iterable

from ifclint.ifc.elements import DRAINAGE, Element, End, Joint, Model, Point, Role, System

JOINABLE = frozenset(Role) - {Role.OTHER}
WITHOUT_PORTS = JOINABLE - {Role.PIPE}  # met at their shape where they have no ports
DRAWN = "drawn"  # name of an end that only the shape of an element suggests
FreeEnd = tuple[int, int]  # element, end
Box = tuple[Point, Point]


def box_around(points: Iterable[Point]) -> Box:
    """The low and the high corner around points, of which there is at least one."""
    x, y, z = zip(*points, strict=True)
    return (min(x), min(y), min(z)), (max(x), max(y), max(z))


def free_ends(model: Model) -> list[FreeEnd]:
    used = {(j.a, j.a_end) for j in model.joints} | {(j.b, j.b_end) for j in model.joints}
    return [
        (i, e)
        for i, element in enumerate(model.elements)
        if element.role in JOINABLE
        for e, end in enumerate(element.ends)
        if end.position is not None and (i, e) not in used
    ]


def may_join(a: Element, a_end: End, b: Element, b_end: End) -> bool:
    """Whether two ends may be joined: the same system, or one unknown, or soil and vent."""
    one, other = a_end.system or a.system, b_end.system or b.system
    return one is None or other is None or one is other or _kindred(one, other)


def _kindred(one: System, other: System) -> bool:
    water = {System.WATER, System.COLD_WATER}, {System.WATER, System.HOT_WATER}
    return {one, other} <= DRAINAGE or {one, other} in water


def position_of(model: Model, at: FreeEnd) -> Point:
    position = model.elements[at[0]].ends[at[1]].position
    assert position is not None
    return position


def join(model: Model, a: FreeEnd, b: FreeEnd) -> None:
    first, second = sorted((a, b))
    model.joints.append(Joint(*first, *second, inferred=True))
