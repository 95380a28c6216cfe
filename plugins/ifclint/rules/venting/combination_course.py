"""How a trap drains into what may be a combination waste and vent, down to the first air."""

from collections import defaultdict
from dataclasses import dataclass, replace
from enum import StrEnum

from ifclint.engineering.joined import NONE
from ifclint.ifc.elements import Role
from ifclint.packs import Context, derived
from ifclint.plumbing import TrapArm
from ifclint.plumbing.drainage.piping import length_of
from ifclint.plumbing.drainage.segments import Part
from ifclint.plumbing.venting.trap_arms import Meets
from ifclint.rules.venting.code_tables import is_for, method_row

METHOD = "combination waste and vent"
STACKS = frozenset({Part.STACK, Part.OFFSET})
Floor = float | str


class Enters(StrEnum):
    """How vented fixtures come into a building drain."""

    LEVEL = "by a level drain"
    DROP = "by a drop of less than a storey"
    STACK = "by a stack"


@dataclass(frozen=True, slots=True)
class FirstAir:
    """How far down a drain one has come without air, and the air that is there."""

    last: int  # the last element before that of the air
    dry: bool = False  # whether a dry vent joins it
    vented: bool | None = False  # by it, or a drain of vented fixtures of its floor; None: perhaps


@dataclass(frozen=True, slots=True)
class Course:
    """How a trap drains into what may be a combination waste and vent."""

    level_m: float | None  # from the trap to where the combination begins, or to the drop before
    fallen_m: float  # between fixture drain and combination
    main: int  # the first pipe of the combination, -1 where none is found
    air: FirstAir


@derived
def course_of(context: Context, arm: TrapArm) -> Course:
    """Down from the trap: the fixture drain, a drop, the combination, to the first air."""
    piping, floor = arm.piping, context.plumbing.surroundings.floors.level_of(arm.fixture.element)
    own, fallen_m, first, last, joined, grown = list[int](), 0.0, NONE, NONE, False, False
    main, air = NONE, FirstAir(arm.start)
    while (index := _next(context, air)) != NONE:
        came, others = air.last, _others(context, air, index)
        air = _breathing(context, air, index, floor)
        if air.vented is not False and others and last != NONE and not fallen_m:
            main = last  # the drain itself is the combination, up to a drain of vented fixtures
            break
        joined = joined or bool(others)
        if piping.is_vertical(index):
            if joined:
                break
            fallen_m += _falls_m(arm, index, came)
        elif not fallen_m and not grown:
            grown = _grows(first, index, arm)
            own += [] if grown else [index]
        if piping.is_horizontal(index):
            first, last = (index if first == NONE else first), index
            if joined or fallen_m:
                main = index
                air = air if air.vented else _first_air(context, replace(air, last=index), floor)
                break
        air = replace(air, last=index)
    return Course(_level_m(arm, tuple(own)), fallen_m, main if main != NONE else first, air)


def _next(context: Context, air: FirstAir) -> int:
    """The next element down a drain; `NONE` where it ends or comes into a chamber."""
    piping = context.plumbing.venting.piping
    index = piping.drainage.down[air.last]
    is_end = index == NONE or piping.elements[index].role is Role.CHAMBER
    return NONE if is_end else index


def _others(context: Context, air: FirstAir, index: int) -> list[int]:
    """What else flows into an element."""
    return [i for i in context.plumbing.venting.piping.wet_above[index] if i != air.last]


def _breathing(context: Context, air: FirstAir, index: int, floor: Floor) -> FirstAir:
    """The air where a drain comes to an element."""
    found = context.plumbing.venting.air
    if any(joint.tree.is_vent for joint in found.joints.get(index, ())):
        return FirstAir(air.last, dry=True, vented=True)
    if air.vented or all(found.at[i] == NONE for i in _others(context, air, index)):
        return air
    serves = _serves_vented(context, index, floor)
    return air if serves is False else replace(air, vented=serves)


def _first_air(context: Context, air: FirstAir, floor: Floor) -> FirstAir:
    """On down a combination; what lies below is walked once for all traps of a floor."""
    known, passed = _walked(context), [(air, floor)]
    while passed[-1] not in known:
        index = _next(context, air)
        found = air if index == NONE else _breathing(context, air, index, floor)
        if index == NONE or found.vented or context.plumbing.venting.piping.is_vertical(index):
            known[air, floor] = found
        else:
            air = replace(found, last=index)
            passed.append((air, floor))
    known.update(dict.fromkeys(passed, known[air, floor]))
    return known[air, floor]


@derived
def _walked(context: Context) -> dict[tuple[FirstAir, Floor], FirstAir]:
    """Where every walk ended that came by; filled as they are made."""
    return {}


def _level_m(arm: TrapArm, own: tuple[int, ...]) -> float | None:
    """How long a fixture drain is, along what it is of, to the drop where a pipe turns down."""
    piping, points = arm.piping, arm.piping.path(own, arm.piping.exit(arm.start))
    if own and piping.is_pipe(own[-1]) and piping.is_vertical(piping.drainage.down[own[-1]]):
        points.append(piping.exit(own[-1]))
    return length_of(points)


def _grows(first: int, index: int, arm: TrapArm) -> bool:
    """Whether a level drain is larger here than where it begins."""
    if not arm.piping.is_horizontal(index):
        return False
    begins = arm.piping.elements[first].size_in if first != NONE else None
    here = arm.piping.elements[index].size_in
    return begins is not None and here is not None and here > begins


def _falls_m(arm: TrapArm, index: int, came: int) -> float:
    """How far a drain falls in a vertical pipe and half of the fittings at its ends."""
    piping, heights = arm.piping, [p[2] for p in arm.piping.ends(index)]
    for beside in (came, piping.drainage.down[index]):
        if beside != NONE and beside != arm.start and piping.elements[beside].role is Role.FITTING:
            heights += [middle[2] for middle in (piping.middle(beside),) if middle is not None]
    return max(heights) - min(heights)


@derived
def _vented_by_floor(context: Context) -> dict[tuple[Floor, Enters], list[float]]:
    """For each floor, and way into the building drain, how many of its fixtures that have a vent
    drain through every element; a closet or bathtub on a wet vent has one."""
    level_of, drainage = context.plumbing.surroundings.floors.level_of, context.plumbing.drainage
    row = method_row(context, METHOD)
    values: dict[tuple[Floor, Enters], dict[int, float]] = defaultdict(dict)
    for arm in context.plumbing.venting.arms:
        on_wet_vent = arm.meets is Meets.WET_DRAIN and not arm.joined_by
        barred = row is not None and arm.fixture.kind and not is_for(row, arm.fixture)
        if arm.meets is Meets.VENT or (on_wet_vent and barred):
            key = (
                level_of(arm.fixture.element),
                _enters(context)[arm.path[-1] if arm.path else drainage.down[arm.start]],
            )
            values[key][arm.fixture.index] = 1.0
    return {key: drainage.accumulate(given) for key, given in values.items()}


@derived
def _parts(context: Context) -> dict[int, Part]:
    """What each pipe is to the building."""
    return {i: s.part for s in context.plumbing.drains for i in s.indexes if s.part is not None}


@derived
def _enters(context: Context) -> list[Enters]:
    """How water gets from each element into the building drain."""
    part_of, piping = _parts(context), context.plumbing.venting.piping
    down = piping.drainage.down
    found = [Enters.LEVEL] * (len(down) + 1)  # the last is that of no element, -1
    for index in piping.drainage.order:
        if part_of.get(index) in STACKS:
            found[index] = Enters.STACK
        elif part_of.get(index) is not Part.BUILDING_DRAIN:
            after = found[down[index]]
            falls = after is Enters.LEVEL and piping.is_vertical(index)
            found[index] = Enters.DROP if falls else after
    return found


def _serves_vented(context: Context, index: int, floor: Floor) -> bool | None:
    """Whether a fixture of a floor that has a vent drains through an element.

    What a building drain takes from stacks alone is no vent, nor is a stack, which is no level
    drain; None where it takes it from drops of less than a storey, which one may call stacks or
    not.
    """
    through = {way: _vented_by_floor(context).get((floor, way)) for way in Enters}
    ways = {way for way, taken in through.items() if taken is not None and taken[index] > 0}
    pipe = context.plumbing.venting.piping.next_pipe(index)
    if _parts(context).get(pipe) is Part.STACK:
        return False
    in_building_drain = _parts(context).get(pipe) is Part.BUILDING_DRAIN
    if Enters.LEVEL in ways or (ways and not in_building_drain):
        return True
    return None if Enters.DROP in ways else False
