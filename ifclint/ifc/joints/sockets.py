"""Pipes that are drawn into the sockets of fittings, traps and valves, past where these open."""

from __future__ import annotations

from math import dist

from ifclint.engineering.near import NearPlaces
from ifclint.ifc.elements import Model, Role
from ifclint.ifc.joints.end_directions import Ray, ray_of
from ifclint.ifc.joints.free_ends import (
    FreeEnd,
    allowed,
    join,
    one_to_one,
    position_of,
    positions_of,
)

DEEPEST_M = 0.05  # of a socket. Ours, no source
HAVE_SOCKETS = frozenset(
    {Role.FITTING, Role.TRAP, Role.VALVE, Role.METER, Role.REGULATOR, Role.PUMP, Role.CLEANOUT}
)


def join_in_sockets(model: Model, free: list[FreeEnd]) -> list[FreeEnd]:
    """Join the free end of a pipe to the one open end of a part that it has passed, as far as a
    socket is deep, and that it alone has. What is left over is returned."""
    pipes = [at for at in free if model.elements[at[0]].role is Role.PIPE]
    openings = [at for at in free if model.elements[at[0]].role in HAVE_SOCKETS]
    if not pipes or not openings:
        return free
    reach_m = DEEPEST_M + model.joining_tolerance_m
    near = NearPlaces(positions_of(model, openings)).around(positions_of(model, pipes), reach_m)
    passed = one_to_one(
        (pipe, openings[k])
        for pipe, found in zip(pipes, near, strict=True)
        if found and (ray := ray_of(model, pipe)) is not None
        for k in found
        if _has_passed(model, ray, openings[k])
    )
    for pipe, opening in passed:
        join(model, pipe, opening)
    done = {at for pair in passed for at in pair}
    return [at for at in free if at not in done]


def _has_passed(model: Model, ray: Ray, opening: FreeEnd) -> bool:
    """Whether an opening lies on the axis of a pipe that may be joined to it, behind its end and
    before the other one."""
    ahead_m, aside_m = ray.towards(position_of(model, opening))
    ends = (end.position for end in model.elements[ray.at[0]].ends)
    length_m = max(dist(ray.start, place) for place in ends if place is not None)
    on_axis = -min(DEEPEST_M, length_m) <= ahead_m <= 0.0 and aside_m <= model.joining_tolerance_m
    return on_axis and allowed(model, ray.at, opening)
