"""A shower head over a tray is the same shower: one fixture, that takes the water of both. So are
a tray and a cabin drawn on one footprint."""

import math

from ifclint.engineering.extents import middle
from ifclint.engineering.near import NearPlaces
from ifclint.ifc.elements import Element, Model, Note, Point, Role

HEAD = "shower-head"
TRAY = "shower"
SAME_M = 0.05  # what a tray may stand out from under its cabin; ours, no source
UNDER_A_HEAD = frozenset({"shower", "bathtub"})
REACH_M = 1.2  # in plan, ours, no source: half the diagonal of a large tray, and a little
HEIGHT_M = 3.0


def join_showers(model: Model) -> None:
    """Make every head part of the tray or tub it hangs over; a head over none is a shower.

    The ends and joints of the head become those of the fixture under it, and a note says so. Where
    two fixtures are as near, or places are not known, nothing is guessed: the head counts.
    """
    became = _on_one_footprint(model)  # part -> fixture, number of its first new end
    heads = [i for i, e in enumerate(model.elements) if e.kind == HEAD]
    under = [
        (there, i)
        for i, e in enumerate(model.elements)
        if e.kind in UNDER_A_HEAD and i not in became and (there := _middle(e)) is not None
    ]
    in_plan = NearPlaces([(x, y, 0.0) for (x, y, _), _ in under])
    for index in heads:
        head = model.elements[index]
        owner = _fixture_under(head, under, in_plan)
        if owner is None:
            head.kind = "shower"
            continue
        became[index] = _become(model, index, owner)
    for k, joint in enumerate(model.joints if became else ()):
        if joint.a in became:
            owner, first = became[joint.a]
            joint = joint._replace(a=owner, a_end=first + joint.a_end)
        if joint.b in became:
            owner, first = became[joint.b]
            joint = joint._replace(b=owner, b_end=first + joint.b_end)
        model.joints[k] = joint


def _become(model: Model, part: int, owner: int) -> tuple[int, int]:
    """Make an element part of a fixture, which gets its ends: the fixture and the first of them."""
    own, fixture = model.elements[part], model.elements[owner]
    first = len(fixture.ends)
    fixture.ends += own.ends
    own.role, own.ends = Role.OTHER, []
    what = f'{own.label} is part of "{fixture.label}", the two count as one shower.'
    model.notes.append(Note(what, "If they are two, draw them apart.", own.guid, "role"))
    return owner, first


def _on_one_footprint(model: Model) -> dict[int, tuple[int, int]]:
    """Showers whose boxes cover the same floor, the lowest of which is the tray."""
    found: dict[int, tuple[int, int]] = {}
    low = {i: e.box[0] for i, e in enumerate(model.elements) if e.box and e.kind == TRAY}
    showers = sorted(low, key=lambda index: (low[index][2], index))
    corners = [(*low[index][:2], 0.0) for index in showers]
    in_plan = NearPlaces(corners)
    for number, index in enumerate(showers):
        lower = (showers[n] for n in in_plan.around(corners[number], 2 * SAME_M)[0] if n < number)
        trays = (t for t in lower if t not in found and _same_floor(model, t, index))
        if (tray := next(trays, None)) is not None:
            found[index] = _become(model, index, tray)
    return found


def _same_floor(model: Model, lower: int, upper: int) -> bool:
    """Whether two boxes have one footprint and touch."""
    one, other = model.elements[lower].box, model.elements[upper].box
    if one is None or other is None:
        return False
    off = [abs(p[k] - q[k]) for p, q in zip(one, other, strict=True) for k in (0, 1)]
    return other[0][2] - one[1][2] <= SAME_M and max(off) <= SAME_M


def _fixture_under(
    head: Element, under: list[tuple[Point, int]], in_plan: NearPlaces
) -> int | None:
    here = _middle(head)
    if here is None:
        return None
    beside = (under[n] for n in in_plan.around((*here[:2], 0.0), 2 * REACH_M)[0])
    below = ((t, index) for t, index in beside if 0 <= here[2] - t[2] <= HEIGHT_M)
    apart = ((math.hypot(here[0] - t[0], here[1] - t[1]), index) for t, index in below)
    near = sorted(n for n in apart if n[0] <= REACH_M)
    if not near or (len(near) > 1 and near[1][0] - near[0][0] < 0.1):
        return None
    return near[0][1]


def _middle(element: Element) -> Point | None:
    """The middle of an element's box in plan and its lowest point, else its place."""
    if element.box is None:
        return element.position
    low, high = element.box
    return *middle(low, high)[:2], low[2]
