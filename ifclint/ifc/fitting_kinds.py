"""What the joints tell about fittings: the angle of a bend, the size of each end."""

from __future__ import annotations

import math

from ifclint.ifc.elements import Element, End, Model, Point, Role
from ifclint.ifc.placement import dot, unit

BENDS = (
    (90.0, "quarter-bend"),
    (60.0, "sixth-bend"),
    (45.0, "eighth-bend"),
    (22.5, "sixteenth-bend"),
)
OF_ONE_SIZE = frozenset({Role.PIPE, Role.FITTING, Role.TRAP, Role.CLEANOUT, Role.VALVE})
Partners = dict[int, dict[int, tuple[int, int]]]
ANGLE_TOLERANCE = 5.0  # degrees; the slope of a drain turns a nominal angle by a degree or two


def set_kinds_and_sizes(model: Model) -> None:
    """What joints tell of bends and of the ends of all elements."""
    partners = _partners(model)
    _set_bend_kinds(model, partners)
    _set_end_sizes(model, partners)


def _set_bend_kinds(model: Model, partners: Partners) -> None:
    """Name plain bends by the angle between the pipes they join."""
    for i, element in enumerate(model.elements):
        if element.role is not Role.FITTING or element.kind != "bend":
            continue
        stated = element.properties.get("bend_angle_rad")
        angle = math.degrees(stated) if isinstance(stated, float) and stated > 0 else None
        basis = "bend angle property"
        if angle is None:
            angle, basis = (
                _angle_between_pipes(model, element, partners.get(i, {})),
                "angle of its ends",
            )
        kind = next(
            (k for a, k in BENDS if angle is not None and abs(a - angle) <= ANGLE_TOLERANCE), ""
        )
        if kind:
            element.kind, element.basis["kind"] = kind, basis


def _partners(model: Model) -> Partners:
    """For each element: its end -> the other element and end joined there."""
    found: Partners = {}
    for j in model.joints:
        found.setdefault(j.a, {})[j.a_end] = (j.b, j.b_end)
        found.setdefault(j.b, {})[j.b_end] = (j.a, j.a_end)
    return found


def _angle_between_pipes(
    model: Model, bend: Element, joined: dict[int, tuple[int, int]]
) -> float | None:
    """The change of direction in degrees, from the joined pipes, else from ports and origin."""
    ways = [w for w in (_way_out(model, *joined[e]) for e in sorted(joined)) if w is not None]
    if len(ways) != 2:
        ways = _ways_from_origin(bend)
    if len(ways) != 2:
        return None
    return 180.0 - math.degrees(math.acos(max(-1.0, min(1.0, dot(ways[0], ways[1])))))


def _way_out(model: Model, other: int, end: int) -> Point | None:
    """The direction in which a joined pipe leaves."""
    element = model.elements[other]
    if element.role is not Role.PIPE or len(element.ends) < 2:
        return None
    here = element.ends[end].position
    others = [e.position for i, e in enumerate(element.ends) if i != end and e.position is not None]
    if here is None or not others:
        return None
    far = max(others, key=lambda p: math.dist(here, p))
    return unit((far[0] - here[0], far[1] - here[1], far[2] - here[2]))


def _ways_from_origin(bend: Element) -> list[Point]:
    if bend.position is None or len(bend.ends) != 2:
        return []
    o = bend.position
    ways = [
        unit((e.position[0] - o[0], e.position[1] - o[1], e.position[2] - o[2]))
        for e in bend.ends
        if e.position is not None and math.dist(e.position, o) > 1e-3
    ]
    return [w for w in ways if w is not None]


def _set_end_sizes(model: Model, partners: Partners) -> None:
    """Give every end its size: the port's, the joined pipe's among a fitting's sizes, its own."""
    for i, element in enumerate(model.elements):
        named = element.properties.pop("sizes_in", None)
        sizes = tuple(float(s) for s in str(named).split(" x ")) if named else ()
        if len(sizes) > 1:
            _share_out(model, element.ends, sizes, partners.get(i, {}))
        elif element.role in OF_ONE_SIZE and element.kind != "reducer":
            for end in element.ends:
                end.size_in = end.size_in or element.size_in
        else:
            _size_from_pipes(model, element, partners.get(i, {}))


def _size_from_pipes(model: Model, element: Element, joined: dict[int, tuple[int, int]]) -> None:
    """Ends of a fixture, heater, chamber ... are as large as the pipes they take."""
    for e, end in enumerate(element.ends):
        if end.size_in is None and e in joined:
            other = model.elements[joined[e][0]]
            end.size_in = other.size_in if other.role is Role.PIPE else None
        if end.size_in is None and len(element.ends) == 1:
            end.size_in = element.size_in


def _share_out(
    model: Model, ends: list[End], sizes: tuple[float, ...], joined: dict[int, tuple[int, int]]
) -> None:
    for e, end in enumerate(ends):
        if end.size_in is None and e in joined:
            size = model.elements[joined[e][0]].size_in
            end.size_in = size if size in sizes else None
    missing = [end for end in ends if end.size_in is None]
    left = [s for s in sizes if s not in {end.size_in for end in ends}]
    if len(missing) == 1 and len(left) == 1:
        missing[0].size_in = left[0]
