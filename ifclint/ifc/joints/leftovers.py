"""Pipe ends that nothing has met yet, at a part or place that has one opening to spare: in the
unmet leg of a fitting, round a bend of which one leg is drawn, where two other pipes are joined, at
the third side of a mixing valve."""

import math
from collections import defaultdict
from collections.abc import Iterable

from ifclint.engineering.extents import box_around, holds, mean
from ifclint.engineering.near import NearPlaces
from ifclint.ifc.elements import (
    WATER_SUPPLY,
    Basis,
    Confidence,
    End,
    Model,
    Point,
    Role,
    ends_joined,
)
from ifclint.ifc.facts.service.systems import MIXING
from ifclint.ifc.joints.end_directions import PARALLEL, meet_ahead, ray_of
from ifclint.ifc.joints.fitting_centers import CENTRE_TO_END
from ifclint.ifc.joints.free_ends import (
    DRAWN,
    FreeEnd,
    allowed,
    join,
    outside_m,
    position_of,
    positions_of,
    system_of,
)
from ifclint.ifc.shape.placement import dot

THIRD = Basis("pipe that points at it", Confidence.INFERRED)
OPENINGS_OF_A_BEND = 2
SIDES = 3  # of a mixing valve: cold, hot and what it mixes
TO_MIDDLE_M = 0.15  # from where a pipe ends to the middle of what it is joined to; our own


def join_leftovers(model: Model, free: list[FreeEnd]) -> list[FreeEnd]:
    """Join what is left over; what meets nothing even so is returned."""
    pipes = [at for at in free if model.elements[at[0]].role is Role.PIPE]
    if not pipes:
        return free
    legs = [at for at in free if _is_leg(model, at)]
    done = _into_legs(model, pipes, legs)
    done |= _round_bends(model, *([at for at in of if at not in done] for of in (pipes, legs)))
    done |= _at_joints(model, [at for at in pipes if at not in done])
    done |= _third_sides(model, [at for at in pipes if at not in done])
    return [at for at in free if at not in done]


def _is_leg(model: Model, at: FreeEnd) -> bool:
    element = model.elements[at[0]]
    return element.role is Role.FITTING and element.ends[at[1]].name == DRAWN


def _into_legs(model: Model, pipes: list[FreeEnd], legs: list[FreeEnd]) -> set[FreeEnd]:
    """Join pipes that end within a fitting to the one leg of it that nothing meets: the pipe is
    shorter than the leg is drawn."""
    unmet: dict[int, list[FreeEnd]] = defaultdict(list)
    for leg in legs:
        unmet[leg[0]].append(leg)
    single = {i: of[0] for i, of in unmet.items() if len(of) == 1}
    within = _beside(model, pipes, _middles(model, single), _reach(model))
    done: set[FreeEnd] = set()
    for i, near in within.items():
        ends = [at for at in near if _lies_in(model, at, i) and allowed(model, at, single[i])]
        if len(ends) == 1 and ends[0] not in done:
            gap_m = math.dist(position_of(model, ends[0]), position_of(model, single[i]))
            join(model, ends[0], single[i], gap_m)
            done |= {ends[0], single[i]}
    return done


def _round_bends(model: Model, pipes: list[FreeEnd], legs: list[FreeEnd]) -> set[FreeEnd]:
    """Join pipes to a bend of which one leg alone is drawn, where their axis meets that of the pipe
    on this leg close by."""
    bends = (
        i
        for i, e in enumerate(model.elements if pipes else ())
        if e.role is Role.FITTING and len(e.ends) <= OPENINGS_OF_A_BEND
        and ("bend" in e.kind or "sweep" in e.kind)
    )  # fmt: skip
    met = ends_joined(model.joints, bends)
    into = {i: [other for _, other in joined] for i, joined in met.items()}
    half = {
        i: place
        for i, joined in into.items()
        if len(joined) == 1 and (place := model.elements[i].ends[0].position) is not None
    }
    spare = {i: (i, e) for i, e in legs}
    done: set[FreeEnd] = set()
    for i, near in _beside(model, pipes, half, _reach(model)).items():
        own = into[i][0]
        ends = [at for at in near if at not in done and _axes_meet(model, at, own)
                and allowed(model, at, (i, 0)) and allowed(model, at, own)]  # fmt: skip
        if len(ends) == 1 and (i in spare or len(model.elements[i].ends) == 1):
            if i not in spare:
                model.elements[i].ends.append(End(position_of(model, ends[0])))
            join(model, ends[0], spare.get(i, (i, 1)))
            done |= {ends[0], *([spare[i]] if i in spare else [])}
    return done


def _axes_meet(model: Model, at: FreeEnd, other: FreeEnd) -> bool:
    """Whether the axes of two pipes cross before both, within the length of a bend's legs."""
    if model.elements[other[0]].role is not Role.PIPE or at[0] == other[0]:
        return False
    a, b = ray_of(model, at), ray_of(model, other)
    leg_m = CENTRE_TO_END * max(outside_m(model.elements[i]) or 0.0 for i in (at[0], other[0]))
    if a is None or b is None or abs(dot(a.direction, b.direction)) >= PARALLEL:
        return False
    return meet_ahead(a, b, leg_m, model.joining_tolerance_m)


def _reach(model: Model) -> float:
    return TO_MIDDLE_M + model.joining_tolerance_m


def _middles(model: Model, indexes: Iterable[int]) -> dict[int, Point]:
    """The middle between the ends of each element of which any is placed."""
    return {i: mean(places) for i in indexes if (places := model.elements[i].places)}


def _lies_in(model: Model, at: FreeEnd, index: int) -> bool:
    """Whether a place lies in the box of the ends of an element."""
    p, tolerance = position_of(model, at), model.joining_tolerance_m
    return at[0] != index and holds(*box_around(model.elements[index].places), p, tolerance)


def _beside(
    model: Model, pipes: list[FreeEnd], middles: dict[int, Point], reach_m: float
) -> dict[int, list[FreeEnd]]:
    """The pipe ends within reach of each of some places."""
    if not pipes or not middles:
        return {}
    near = NearPlaces(positions_of(model, pipes)).around([*middles.values()], reach_m)
    return {i: [pipes[k] for k in found] for i, found in zip(middles, near, strict=True) if found}


def _at_joints(model: Model, pipes: list[FreeEnd]) -> set[FreeEnd]:
    """Join a pipe that ends where two others are joined end to end: a return at the last branch of
    the hot water, a branch whose run the file links past it."""
    met: dict[int, tuple[FreeEnd, FreeEnd]] = {}
    middles: dict[int, Point] = {}
    is_pipe = [e.role is Role.PIPE for e in model.elements]
    for number, (a, a_end, b, b_end, _, _) in enumerate(model.joints) if pipes else ():
        if is_pipe[a] and is_pipe[b] and model.elements[b].ends[b_end].position is not None:
            place = model.elements[a].ends[a_end].position
            if place is not None:
                met[number], middles[number] = ((a, a_end), (b, b_end)), place
    claims: dict[FreeEnd, list[int]] = defaultdict(list)
    for number, ends in _beside(model, pipes, middles, model.joining_tolerance_m).items():
        one, other = met[number]
        for at in ends:
            if at[0] in (one[0], other[0]):
                continue
            if allowed(model, at, one) and allowed(model, at, other):
                claims[at].append(number)
    for at, numbers in claims.items():
        join(model, at, met[numbers[0]][1])
    return set(claims)


def _third_sides(model: Model, pipes: list[FreeEnd]) -> set[FreeEnd]:
    """Join a water pipe to a mixing valve in whose line two others are, where it points at it or is
    the only one that ends beside it: its cold or hot side."""
    open_sided = (
        i
        for i, e in enumerate(model.elements if pipes else ())
        if len(e.ends) == SIDES - 1 and e.role is Role.VALVE and e.kind == MIXING
    )
    met = ends_joined(model.joints, open_sided)
    in_line = [i for i, joined in met.items() if len({own for own, _ in joined}) == SIDES - 1]
    valves = _middles(model, in_line)
    water = [at for at in pipes if system_of(model, at) in WATER_SUPPLY]
    done: set[FreeEnd] = set()
    for i, near in _beside(model, water, valves, TO_MIDDLE_M).items():
        left = [at for at in near if at not in done]
        aimed = left if len(left) == 1 else [at for at in left if _aims(model, at, valves[i])]
        if len(aimed) == 1:
            valve, at = model.elements[i], aimed[0]
            valve.ends.append(End(position_of(model, at), system=system_of(model, at)))
            valve.basis.setdefault("ends", THIRD)
            join(model, at, (i, len(valve.ends) - 1))
            done.add(at)
    return done


def _aims(model: Model, at: FreeEnd, middle: Point) -> bool:
    """Whether a pipe points at a place before it."""
    ray = ray_of(model, at)
    ahead, aside = ray.towards(middle) if ray is not None else (0.0, 0.0)
    return 0 < ahead <= TO_MIDDLE_M and aside <= model.joining_tolerance_m
