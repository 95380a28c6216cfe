"""Free ends that meet are joined, and marked as inferred; what cannot be decided is noted."""

from __future__ import annotations

from collections import defaultdict

from ifclint.engineering.near import Places
from ifclint.ifc.elements import Box, Joint, Model, Role
from ifclint.ifc.joints.bodies import hang_faucets, join_relief_valves, join_touching_bodies
from ifclint.ifc.joints.crowds import without_crowds
from ifclint.ifc.joints.duplicates import without_duplicates
from ifclint.ifc.joints.fitting_centers import join_to_fitting_centers
from ifclint.ifc.joints.free_ends import (
    DRAWN,
    FreeEnd,
    allowed,
    free_ends,
    is_way_back,
    join,
    position_of,
)
from ifclint.ifc.joints.gaps import bridge_gaps
from ifclint.ifc.joints.in_line import join_in_line
from ifclint.ifc.joints.leftovers import join_leftovers
from ifclint.ifc.joints.meetings import join_meetings
from ifclint.ifc.joints.nearby import join_at_placements, join_beside, outlets_of_stops
from ifclint.ifc.joints.tees import join_tees
from ifclint.ifc.joints.touching import hang_disposers, join_to_boxes, without_tips

CLOSED = frozenset({"", "cap", "closet-flange", "exit"})  # fittings with one opening, or who knows


def join_free_ends(model: Model, boxes: dict[int, Box]) -> None:
    """Join what no relation joins, the surest first.

    Pipes that meet inside a part, ends that meet in pairs, that face each other across a small
    gap, that point at the middle of a fitting, that meet a pipe's side; then ends inside the box
    of an element (by index) of which nothing but its box is known, several that meet at one
    point or where others are joined, and ends beside such a box or at its placement.
    """
    free = free_ends(model)
    drawn = {i for i, e in free if model.elements[i].ends[e].name == DRAWN}
    if free:
        free = without_tips(model, free, drawn, boxes)
        free, boxes = without_duplicates(model, free, boxes)
        free = without_crowds(model, free)
        free = join_in_line(model, free, boxes)
        free = _join_pairs(model, free)
        free = bridge_gaps(model, free, boxes)
        free = join_to_fitting_centers(model, free, boxes)
        free = join_tees(model, free)
        free = join_to_boxes(model, free, boxes)
        free = join_meetings(model, free)
        free = join_leftovers(model, free)
        stops = outlets_of_stops(model, boxes)
        drawn |= {i for i, _ in stops}
        free = join_beside(model, free + stops, boxes)
        join_at_placements(model, free, boxes)
    hang_disposers(model, boxes)
    join_touching_bodies(model, boxes)
    join_relief_valves(model, boxes)
    hang_faucets(model)
    _drop_unmet_drawn_ends(model, drawn)


def _join_pairs(model: Model, free: list[FreeEnd]) -> list[FreeEnd]:
    """Join ends that meet in pairs, those of a hot water return to other water last; what is left
    over is returned."""
    return _pairs(model, _pairs(model, free, leads_back=False), leads_back=True)


def _pairs(model: Model, free: list[FreeEnd], leads_back: bool) -> list[FreeEnd]:
    if not free:
        return []
    meets: dict[int, list[int]] = defaultdict(list)
    places = Places([position_of(model, f) for f in free])
    for i, j in places.pairs(model.joining_tolerance_m):
        one, other = free[i], free[j]
        if one[0] == other[0] or not allowed(model, one, other):
            continue
        if leads_back or not is_way_back(model, one, other):
            meets[i].append(j)
            meets[j].append(i)
    joined: set[int] = set()
    for i in sorted(meets):
        if i in joined:
            continue
        if len(meets[i]) == 1 and len(meets[meets[i][0]]) == 1:
            join(model, free[i], free[meets[i][0]])
            joined |= {i, meets[i][0]}
    return [f for i, f in enumerate(free) if i not in joined]


def _drop_unmet_drawn_ends(model: Model, drawn: set[int]) -> None:
    """Forget ends that only a shape suggested and that nothing meets.

    The legs of a fitting that has more than one opening stay: an unmet one is an open end.
    """
    used: dict[int, set[int]] = {i: set() for i in drawn}
    for joint in model.joints if drawn else ():
        for i, e in ((joint.a, joint.a_end), (joint.b, joint.b_end)):
            if i in drawn:
                used[i].add(e)
    moved: dict[FreeEnd, int] = {}
    for i in sorted(drawn):
        element, met = model.elements[i], sorted(used[i])
        open_ended = element.role is Role.FITTING and element.kind not in CLOSED and met
        kept = list(range(len(element.ends))) if open_ended else met
        moved.update({(i, e): new for new, e in enumerate(kept)})
        element.ends = [element.ends[e] for e in kept]
        for end in element.ends:
            end.name = "" if end.name == DRAWN else end.name
    if moved:
        model.joints = [_moved(j, moved) for j in model.joints]


def _moved(joint: Joint, moved: dict[FreeEnd, int]) -> Joint:
    a_end = moved.get((joint.a, joint.a_end), joint.a_end)
    b_end = moved.get((joint.b, joint.b_end), joint.b_end)
    if a_end == joint.a_end and b_end == joint.b_end:
        return joint
    return joint._replace(a_end=a_end, b_end=b_end)
