"""Pipes that end within a fitting without ports, or at its body, although no leg of it is left to
them: the branches along a manifold, those of a cross whose legs lie inside one another, that of a
tee with ports for its run alone."""

import math
from collections import defaultdict

from ifclint.engineering.extents import mean
from ifclint.engineering.near import NearPlaces
from ifclint.ifc.elements import End, Model, Point, Role
from ifclint.ifc.joints.end_directions import Ray, ray_of
from ifclint.ifc.joints.fitting_centers import CENTRE_TO_END, openings
from ifclint.ifc.joints.free_ends import DRAWN, FreeEnd, allowed, join, outside_m, position_of
from ifclint.ifc.shape.placement import dot

FEWEST_OPENINGS = 3  # of a fitting that pipes branch from
Leg = tuple[Point, Point]


def join_to_skeletons(model: Model, free: list[FreeEnd]) -> list[FreeEnd]:
    """Join pipe ends to the one branched fitting, all of whose legs are met, at the axis of one of
    whose legs they point from within the length of a leg; what is left over is returned."""
    pipes = [at for at in free if model.elements[at[0]].role is Role.PIPE]
    legs = _legs(model, free) if pipes else {}
    if not legs:
        return free
    rays = {at: ray for at in pipes if (ray := ray_of(model, at)) is not None}
    claims: dict[FreeEnd, list[int]] = defaultdict(list)
    near = NearPlaces([position_of(model, at) for at in rays])
    widest = max((_reach_m(model, at) for at in rays), default=0.0)
    middles = [own[0][0] for own in legs.values()]
    reach = [widest + max(math.dist(*leg) for leg in own) for own in legs.values()]
    waiting = list(rays)
    for (index, own), found in zip(legs.items(), near.around(middles, reach), strict=True):
        for at in (waiting[k] for k in found):
            if allowed(model, at, (index, 0)) and _points_at(model, rays[at], own):
                claims[at].append(index)
    done: set[FreeEnd] = set()
    for at, claiming in claims.items():
        fitting = model.elements[claiming[0]]
        if len(claiming) == 1 and len(fitting.ends) < openings(fitting):
            fitting.ends.append(End(position_of(model, at)))
            join(model, at, (claiming[0], len(fitting.ends) - 1))
            done.add(at)
    return [at for at in free if at not in done]


def _legs(model: Model, free: list[FreeEnd]) -> dict[int, list[Leg]]:
    """The legs, each from the middle to its tip, of branched fittings that are told by legs, and of
    tees, where every leg is met."""
    unmet = {i for i, _ in free}
    found: dict[int, list[Leg]] = {}
    for i, element in enumerate(model.elements):
        if element.role is not Role.FITTING or i in unmet or not element.ends:
            continue
        is_told = element.ends[0].name == DRAWN or element.kind == "tee"
        if is_told and openings(element) >= FEWEST_OPENINGS and element.places:
            tips = element.places
            middle = element.position if len(tips) > 2 and element.position else mean(tips)
            found[i] = [(middle, tip) for tip in tips]
    return found


def _reach_m(model: Model, at: FreeEnd) -> float:
    return CENTRE_TO_END * (outside_m(model.elements[at[0]]) or 0.0) + model.joining_tolerance_m


def _points_at(model: Model, ray: Ray, legs: list[Leg]) -> bool:
    """Whether a pipe points at the axis of a leg before it, from nearby."""
    reach_m, aside_m = _reach_m(model, ray.at), model.joining_tolerance_m
    return any(
        -aside_m <= ahead <= reach_m and aside <= aside_m
        for leg in legs
        for ahead, aside in [_to_leg(ray, leg)]
    )


def _to_leg(ray: Ray, leg: Leg) -> tuple[float, float]:
    """How far ahead of an end its line comes nearest to a leg, and how far beside (metres)."""
    a, b = leg
    along = (b[0] - a[0], b[1] - a[1], b[2] - a[2])
    to = (a[0] - ray.start[0], a[1] - ray.start[1], a[2] - ray.start[2])
    length, turn = dot(along, along), dot(along, ray.direction)
    square = length - turn * turn
    share = (turn * dot(to, ray.direction) - dot(to, along)) / square if square > 1e-9 else 0.0
    share = min(max(share, 0.0), 1.0)
    return ray.towards((a[0] + share * along[0], a[1] + share * along[1], a[2] + share * along[2]))
