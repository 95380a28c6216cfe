"""Free ends that meet are joined, and marked as inferred; what cannot be decided is noted."""

from __future__ import annotations

from collections.abc import Callable
from itertools import compress
from typing import NamedTuple

import numpy as np

from ifclint.engineering.near import NearPlaces
from ifclint.engineering.tolerance import LENGTH_M
from ifclint.ifc.elements import Box, Joint, Model, Note, Role, System, ends_joined
from ifclint.ifc.facts.service.systems_by_ends import tell_junctions
from ifclint.ifc.joints.bodies import (
    hang_disposers,
    hang_faucets,
    join_relief_valves,
    join_touching_bodies,
)
from ifclint.ifc.joints.doubles.crowds import note_crowds, outside_crowds
from ifclint.ifc.joints.doubles.duplicates import without_duplicates
from ifclint.ifc.joints.drains_below import join_drains_below, join_primer_lines, join_traps_below
from ifclint.ifc.joints.fitting_centers import join_to_fitting_centers
from ifclint.ifc.joints.free_ends import (
    DRAWN,
    ONE_PLACE,
    FreeEnd,
    allowed,
    free_ends,
    is_way_back,
    join,
    joins_services,
    positions_of,
)
from ifclint.ifc.joints.gaps import SAME_GAP_M, bridge_gaps, usual_gap_m
from ifclint.ifc.joints.in_line import join_in_line
from ifclint.ifc.joints.leftovers import join_leftovers
from ifclint.ifc.joints.meetings import join_meetings
from ifclint.ifc.joints.nearby import join_at_placements, join_beside, outlets_of_stops
from ifclint.ifc.joints.run_through import join_run_through
from ifclint.ifc.joints.skeletons import join_to_skeletons
from ifclint.ifc.joints.stated import unlink_past_parts
from ifclint.ifc.joints.tees import join_near_ends, join_tees, meet_on_an_axis
from ifclint.ifc.joints.touching import join_to_boxes, without_tips
from ifclint.ifc.joints.unplaced import give_back, join_where_they_stand, without_unplaced_ports
from ifclint.ifc.step.arrays import Bools, Floats, Ints

Fit = Callable[[Model, FreeEnd, FreeEnd], bool]
APART = "Draw the ends at one place, or state the gap in the job file, reading.joining_tolerance."
CLOSED = frozenset({"", "cap", "closet-flange", "exit"})  # fittings with one opening, or who knows


def join_free_ends(model: Model, boxes: dict[int, Box]) -> None:
    """Join what no relation joins, the surest first.

    Parts that a pipe runs through, pipes that are drawn into a part or meet inside it, ends that
    meet in pairs, that face each other across a small gap, that point at the middle of a fitting,
    that meet a pipe's side; then ends inside the box of an
    element (by index) of which nothing but its box is known, several that meet at one point or
    where others are joined, and ends beside such a box or at its placement.
    """
    unlink_past_parts(model)
    taken = without_unplaced_ports(model, boxes)
    join_where_they_stand(model, boxes)
    free = free_ends(model)
    drawn = {i for i, e in free if model.elements[i].ends[e].name == DRAWN}
    if free:
        free = without_tips(model, free, drawn, boxes)
        free, boxes = without_duplicates(model, free, boxes)
        points = positions_of(model, free)
        note_crowds(model, free, points)
        stay = outside_crowds(model, free, points)
        free, points = list(compress(free, stay)), points[stay]
        pairs = _pairs(points, model.joining_tolerance_m)
        tell_junctions(model.elements, ((free[a][0], free[b][0]) for a, b in pairs.ends.tolist()))
        if through := join_run_through(model, free, pairs.ends, boxes):
            left = [at for at in free if at not in through]
            pairs, free = _among(free, left, pairs), left
            points = positions_of(model, free)
        left = join_in_line(model, free, points, pairs.ends, boxes)
        free = _join_pairs(model, left, _among(free, left, pairs))
        free = join_to_skeletons(model, free)
        before = len(model.joints)
        free = bridge_gaps(model, free, boxes)
        if (gap_m := usual_gap_m(model, model.joints[before:])) is not None:
            free = _join_as_drawn(model, free, gap_m)
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
    join_drains_below(model, boxes)
    join_traps_below(model, boxes)
    join_primer_lines(model)
    join_relief_valves(model, boxes)
    hang_faucets(model)
    _drop_unmet_drawn_ends(model, drawn)
    give_back(model, taken)


def _join_as_drawn(model: Model, free: list[FreeEnd], gap_m: float) -> list[FreeEnd]:
    """Join ends as far apart as the model draws them everywhere, from now on; what is left over is
    returned."""
    told = f"Ends that belong together are drawn {gap_m * 1000:.1f} mm apart throughout"
    model.notes.append(Note(f"{told}; they were joined as far apart.", APART, "", "joints"))
    model.joining_tolerance_m = gap_m + SAME_GAP_M
    pairs = _pairs(positions_of(model, free), model.joining_tolerance_m)
    return _join_pairs(model, free, pairs)


class _Pairs(NamedTuple):
    """Pairs of free ends, by their numbers, and how far the two of each lie from one another."""

    ends: Ints
    apart_m: Floats

    def only(self, these: Bools) -> _Pairs:
        return _Pairs(self.ends[these], self.apart_m[these])


def _pairs(points: Floats, reach_m: float) -> _Pairs:
    """The pairs of points near each other."""
    ends: Ints = NearPlaces(points).pairs(reach_m)
    apart: Floats = np.linalg.norm(points[ends[:, 0]] - points[ends[:, 1]], axis=1)
    return _Pairs(ends, apart)


def _join_pairs(model: Model, free: list[FreeEnd], pairs: _Pairs) -> list[FreeEnd]:
    """Of pairs of ends that meet, join those that meet no others, after those on the very side of a
    pipe beside its end: those at one place, those of one service, then those of a hot water return
    and other water, then those of a body that joins services by nature. What is left over is
    returned."""
    pairs = pairs.only(~np.array(meet_on_an_axis(model, free, pairs.ends), dtype=np.bool_))
    one_place_m = ONE_PLACE * model.joining_tolerance_m
    exact = pairs.apart_m <= one_place_m
    settled = {free[k] for k in pairs.ends[exact].ravel().tolist()}
    left = join_near_ends(model, free, pairs.ends[~exact], settled)
    free, pairs = left, _among(free, left, pairs)
    left = _join_alone(model, free, pairs.only(pairs.apart_m <= one_place_m), _of_one_service)
    free, pairs = left, _among(free, left, pairs)
    for fit in (_of_one_service, allowed, _in_a_body):
        left = _join_alone(model, free, pairs, fit)
        free, pairs = left, _among(free, left, pairs)
    return free


def _of_one_service(model: Model, a: FreeEnd, b: FreeEnd) -> bool:
    return allowed(model, a, b) and not is_way_back(model, a, b)


def _in_a_body(model: Model, a: FreeEnd, b: FreeEnd) -> bool:
    return allowed(model, a, b) or joins_services(model, a, b)


def _join_alone(model: Model, free: list[FreeEnd], near: _Pairs, fit: Fit) -> list[FreeEnd]:
    pairs = _to_nearer_ends(model, free, near.only(_may_meet(model, free, near.ends, fit)))
    met = np.bincount(pairs.ravel(), minlength=len(free))
    alone = pairs[(met[pairs] == 1).all(axis=1)]
    for i, j in alone.tolist():
        join(model, free[i], free[j])
    left = np.ones(len(free), dtype=bool)
    left[alone] = False
    return list(compress(free, left))


def _to_nearer_ends(model: Model, free: list[FreeEnd], near: _Pairs) -> Ints:
    """Pairs of ends without those from an end to the farther end of a piece so short that both of
    its ends are within reach."""
    (pairs, apart), owner = near, np.array([i for i, _ in free], dtype=np.int64)
    stay = np.ones(len(pairs), dtype=bool)
    for one, other in ((0, 1), (1, 0)) if len(pairs) else ():
        to = pairs[:, one] * len(model.elements) + owner[pairs[:, other]]
        _, number = np.unique(to, return_inverse=True)
        least = np.full(number.max() + 1, np.inf)
        np.minimum.at(least, number, apart)
        stay &= apart <= least[number] + LENGTH_M
    return pairs[stay]


def _among(free: list[FreeEnd], left: list[FreeEnd], pairs: _Pairs) -> _Pairs:
    """Pairs of free ends, as those of the ones that are left, which stand in the same order."""
    if len(left) == len(free):
        return pairs
    number = {at: n for n, at in enumerate(left)}
    now = np.array([number.get(at, -1) for at in free])[pairs.ends]
    stay = (now >= 0).all(axis=1)
    return _Pairs(now[stay], pairs.apart_m[stay])


def _may_meet(model: Model, free: list[FreeEnd], pairs: Ints, fits: Fit) -> Bools:
    """Which pairs of free ends may be joined: those of one known service, and those that fit."""
    elements = model.elements
    services = [elements[i].ends[e].system or elements[i].system for i, e in free]
    number = {None: 0} | {service: n for n, service in enumerate(System, 1)}
    service = np.array([number[s] for s in services])[pairs]
    owner = np.array([i for i, _ in free])[pairs]
    apart = owner[:, 0] != owner[:, 1]
    fit: Bools = apart & (service[:, 0] == service[:, 1]) & (service[:, 0] > 0)
    for row in np.flatnonzero(apart & ~fit).tolist():
        a, b = (free[k] for k in pairs[row].tolist())
        fit[row] = fits(model, a, b)
    return fit


def _drop_unmet_drawn_ends(model: Model, drawn: set[int]) -> None:
    """Forget ends that only a shape suggested and that nothing meets.

    The legs of a fitting that has more than one opening stay: an unmet one is an open end. So does
    an end at which the open end of something else lies that was not joined to it, as of another
    system.
    """
    joined = ends_joined(model.joints, drawn)
    used = {i: {own for own, _ in met} for i, met in joined.items()}
    for i, number in _in_touch(model, used):
        used[i].add(number)
    now: dict[int, dict[int, int]] = {}  # of elements that lose an end, the number of each other
    for i, met in used.items():
        element = model.elements[i]
        open_ended = element.role is Role.FITTING and element.kind not in CLOSED and met
        if len(met) < len(element.ends) and not open_ended:
            now[i] = {e: new for new, e in enumerate(sorted(met))}
            element.ends = [element.ends[e] for e in now[i]]
        for end in element.ends:
            if end.name == DRAWN:
                end.name = ""
    if now:
        model.joints = [_moved(j, now) if j.a in now or j.b in now else j for j in model.joints]


def _in_touch(model: Model, used: dict[int, set[int]]) -> list[FreeEnd]:
    """Of the ends that nothing is joined to, those of some elements (by what of them is met) that
    lie at an open end of another."""
    if all(len(met) == len(model.elements[i].ends) for i, met in used.items()):
        return []
    free = free_ends(model)
    pairs = NearPlaces(positions_of(model, free)).pairs(model.joining_tolerance_m).tolist()
    met = ((free[a], free[b]) for a, b in pairs if free[a][0] != free[b][0])
    return [at for a, b in met if not allowed(model, a, b) for at in (a, b) if at[0] in used]


def _moved(joint: Joint, now: dict[int, dict[int, int]]) -> Joint:
    a_end = now[joint.a][joint.a_end] if joint.a in now else joint.a_end
    b_end = now[joint.b][joint.b_end] if joint.b in now else joint.b_end
    return joint._replace(a_end=a_end, b_end=b_end)
