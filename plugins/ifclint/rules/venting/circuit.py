"""What the codes ask of a circuit vent: a level branch that air fills above the water."""

from collections.abc import Iterator
from itertools import takewhile
from math import dist

from ifclint.checks import PASS, Fact, check, missing, not_known, require, violation
from ifclint.codes import Limit
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import IN_PER_FT, M_PER_IN
from ifclint.engineering.wording import apart_text
from ifclint.findings import Answer, Measure
from ifclint.packs import Context, derived
from ifclint.part_kinds import VENTS
from ifclint.plumbing import Method, VentGroup
from ifclint.plumbing.drainage.loads import CLOSET
from ifclint.plumbing.drainage.piping import level_turns_deg
from ifclint.plumbing.drainage.services import Service
from ifclint.rules.venting.code_tables import method_clause
from ifclint.rules.venting.groups import (
    AT_MOST,
    bearings,
    fixtures_of,
    fixtures_through,
    on_one_floor,
    passing_dfu,
    passing_unstated,
    unless_unstated,
    wet_pipes,
)
from ifclint.rules.venting.wording import own_vent

PAIR = 2
SIDE_DEG, STRAIGHT_DEG = 30.0, 15.0  # what comes from the side of a branch, and what is the branch
FEWER_THAN = "Required, fewer than"
LEVEL_RUN_M = M_PER_IN  # a pipe that runs no farther has no slope worth the name
FALL = Fact("how the branch of the {} falls", "Give its pipes shapes or placed ports.")


def circuit(group: VentGroup, context: Context) -> Iterator[Answer]:
    """Demand by demand, whatever else the group may pass as."""
    clause = method_clause(context, Method.CIRCUIT)
    yield check(
        float(len(group.arms)),
        at_most=context.code.limit("circuit_vent_fixtures"),
        message=f"{len(group.arms)} fixtures are on the {group.label}.",
        remedy="Divide the branch, or add a second circuit vent.",
        limit_step=AT_MOST,
        **bearings(group, "number"),
    )
    floors = f"Fixtures of different floors drain through the {group.label}."
    through = fixtures_through(group, context)
    yield on_one_floor(group, through, clause, floors)
    last = (group.own or group.arms)[-1]  # none of its own where fixtures stand above its joint
    is_above = joins_above(group)
    yield require(
        (len(group.own) == 1 or _is_pair(group)) and not is_above,
        message=f"The {group.label} joins its branch {'above' if is_above else 'past'} "
        f"{last.fixture.label}, not between the two most upstream fixture drains.",
        remedy="Move the vent: join it between the two most upstream fixture drains.",
        clause=clause,
        **bearings(group, "joint"),
    )
    if not group.wet:  # nothing breathes through the branch
        return
    if _beside_branch(group):
        yield violation(
            message=f"The {group.label} joins the drain of {group.arms[0].fixture.label} before "
            f"that comes into the branch: {group.wet[0].fixture.label} has no vent.",
            remedy=own_vent(group.wet[0]),
            clause=clause,
            **bearings(group, "beside", group.wet[0].element.guid),
        )
    for arm in group.apart:
        yield violation(
            message=f"{arm.fixture.label} has no vent, and is not circuit vented: fixtures with "
            f"vents of their own drain between it and the vent at {group.drain.label}, and "
            "it stands apart.",
            remedy=own_vent(arm),
            clause=clause,
            **bearings(group, "forgotten", arm.element.guid),
        )
    yield from _level_inlets(group, clause)
    yield from _level_branch(group, clause, context)
    yield _circuit_relief(group, context)


def _is_pair(group: VentGroup) -> bool:
    """Whether two fixtures, back to back, come from both sides into one fitting at the head of the
    branch: together they are its most upstream drain."""
    if len(group.own) != PAIR:
        return False
    piping, (one, other) = group.piping, group.own
    at = next((i for i in one.path if i in other.path), NONE)
    leaves, middle = (piping.exit(at), piping.middle(at)) if at != NONE else (None, None)
    if leaves is None or middle is None or at == group.joint.drain:
        return False
    before = [[arm.start, *takewhile(lambda i: i != at, arm.path)][-1] for arm in group.own]
    enters = [piping.exit(i) for i in before]
    return all(
        p is not None and sum(level_turns_deg([p, middle, leaves])) > SIDE_DEG for p in enters
    )


def joins_above(group: VentGroup) -> bool:
    """Whether a circuit vent is the level end of its branch above the most upstream fixture: it
    comes to the drain of that straight along the branch."""
    piping, vent, enters = group.piping, group.joint.vent, group.joint.point
    leaves, middle = piping.exit(group.joint.drain), piping.middle(group.joint.drain)
    if group.method is not Method.CIRCUIT or not piping.is_horizontal(vent):
        return False
    if enters is None or leaves is None or middle is None:
        return False
    begins = max(piping.ends(vent), key=lambda p: dist(p, enters))
    return sum(level_turns_deg([begins, enters, middle, leaves])) < STRAIGHT_DEG


@derived
def dry_ends(context: Context) -> frozenset[int]:
    """The level pieces of branches through which circuit vents come that join above them."""
    venting = context.plumbing.venting
    above = (group.joint for group in venting.groups if joins_above(group))
    return frozenset(
        index
        for joint in above
        for index in takewhile(
            lambda i: not venting.piping.is_vertical(i), joint.tree.path_out(joint)
        )
    )


def _beside_branch(group: VentGroup) -> bool:
    """Whether the drain at which the vent is comes into the branch from the side, where the branch
    itself, or its cleanout, comes straight from above."""
    piping, index = group.piping, group.joint.drain
    came, index = index, piping.drainage.down[index]
    while index != NONE and len(_level_inflows(group, index)) < PAIR:
        came, index = index, piping.drainage.down[index]
    turns = _level_inflows(group, index) if index != NONE else {}
    return turns.get(came, 0.0) > SIDE_DEG and min(turns.values()) < STRAIGHT_DEG


def _level_inflows(group: VentGroup, index: int) -> dict[int, float]:
    """How far what comes level into an element, wet or from a cleanout, turns in it (degrees)."""
    piping, leaves = group.piping, group.piping.exit(index)
    middle = piping.upper_end(index) if piping.is_pipe(index) else piping.middle(index)
    turns = {}
    for above in piping.drainage.beyond[index]:
        enters = piping.exit(above)
        begins = piping.upper_end(above) if piping.is_pipe(above) else piping.middle(above)
        if piping.service[above] is Service.VENT or piping.is_vertical(above):
            continue
        if None not in (enters, begins, leaves, middle):
            turns[above] = sum(level_turns_deg([begins, enters, middle, leaves]))
    return turns


def _level_inlets(group: VentGroup, clause: str) -> Iterator[Answer]:
    """Every fixture drain comes level to the branch."""
    for arm in group.wet:
        last = next((i for i in reversed(arm.path[:-1]) if group.piping.is_pipe(i)), None)
        if last is not None and group.piping.is_vertical(last):
            yield violation(
                message=f"The drain of {arm.fixture.label} falls into the branch of the "
                f"{group.label}.",
                remedy="Lay the arm level to the branch.",
                clause=clause,
                **bearings(group, "inlet", group.piping.elements[last].guid),
            )


def _level_branch(group: VentGroup, clause: str, context: Context) -> Iterator[Answer]:
    """No vertical pipe before its last fixture, and no pipe too steep."""
    vertical = [i for i in group.path[:-1] if group.piping.is_vertical(i)]
    if vertical:
        yield violation(
            message=f"The branch of the {group.label} falls before its last fixture.",
            remedy=own_vent(group.wet[-1]),
            clause=clause,
            **bearings(group, "fall", group.piping.elements[vertical[0]].guid),
        )
    steep = context.code.limit_or_none("circuit_vent_max_in_per_ft")
    if steep is not None:
        yield not_steep(group, steep, f"The branch of the {group.label}")


def not_steep(group: VentGroup, most: Limit, branch: str) -> Answer:
    """No pipe through which fixtures breathe is steeper than air can stand in."""
    rise = _steepest(group)
    is_steep = rise is not None and not at_most(rise * IN_PER_FT, most.value)
    if rise is None or (not is_steep and _unplaced(group)):
        return not_known(FALL, group, **bearings(group, "slope", _unplaced(group)))
    slope = rise * IN_PER_FT
    return check(
        round(slope, 3),
        at_most=most,
        message=f"{branch} falls {apart_text(slope, most.value, 'in per ft')}.",
        remedy="Lay the branch flatter.",
        limit_step=AT_MOST,
        **bearings(group, "slope"),
    )


def _unplaced(group: VentGroup) -> str:
    """The first pipe of the branch whose place is not known, or none."""
    unplaced = (e.guid for i, e in wet_pipes(group) if group.piping.rise_deg(i) is None)
    return next(unplaced, "")


def _steepest(group: VentGroup) -> float | None:
    """The steepest slope of the horizontal pipes, rise over run; None where none is placed."""
    slopes = []
    for index, _ in wet_pipes(group):
        ends = sorted(group.piping.ends(index), key=lambda p: p[2])
        if group.piping.is_horizontal(index) and len(ends) > 1:
            low, high = ends[0], ends[-1]
            run = dist(low[:2], high[:2])
            slopes.append((high[2] - low[2]) / run if run > LEVEL_RUN_M else 0.0)
    return max(slopes, default=None)


def _circuit_relief(group: VentGroup, context: Context) -> Answer:
    """Four closets and more, into a stack that takes branches from above."""
    relief = context.code.limit_or_none("circuit_relief_closets")
    closets = sum(f.kind == CLOSET for f in group.fixtures)
    if relief is None or closets < relief.value or not _enters_below_branches(group, context):
        return PASS
    drains = [i for i in _vented_drains(group, context) if _is_small(i, context)]
    if unstated := min((passing_unstated(context)[i] for i in drains), default=0.0):
        return unless_unstated(PASS, group, unstated, group.piping.elements[drains[0]].guid)
    if drains:
        return PASS
    return missing(
        VENTS,
        message=f"{closets} closets are on the {group.label}, and the stack takes "
        "branches from above; there is no relief vent.",
        remedy="Add a relief vent downstream of the last closet.",
        clause=relief.clause,
        provenance=relief.provenance,
        measured=Measure(float(closets), relief.unit),
        required=Measure(relief.value, relief.unit, "fewer than"),
        **bearings(group, "relief", last=relief.step(FEWER_THAN)),
    )


def _below_last(group: VentGroup) -> Iterator[tuple[int, list[int]]]:
    """What the branch passes from its last fixture to the stack, each with what else drains into
    the next; of the last, what comes into the stack."""
    piping, index = group.piping, group.path[-1]
    while index != NONE and not piping.is_vertical(index):
        came, index = index, piping.drainage.down[index]
        yield came, [i for i in piping.wet_above[index] if i != came] if index != NONE else []


def _enters_below_branches(group: VentGroup, context: Context) -> bool:
    """Whether, with no vent on the path, the branch enters a stack that branches of upper floors
    enter above; what drops to it from fixtures of its own floor is no such stack."""
    joints = context.plumbing.venting.air.joints
    for index, others in _below_last(group):
        if index in joints and index != group.joint.drain:
            return False
        if any(group.piping.is_vertical(i) and _from_above(i, group, context) for i in others):
            return True
    return False


def _from_above(index: int, group: VentGroup, context: Context) -> bool:
    """Whether a fixture of another floor than those of the group drains through an element."""
    level_of = group.piping.floors.level_of
    return any(level_of(f.element) not in group.floors for f in fixtures_of(index, context))


def _vented_drains(group: VentGroup, context: Context) -> list[int]:
    """The drains with a vent that come into the branch below its last fixture: what drops there
    brings no more than fixtures of its own floor."""
    has_air = context.plumbing.venting.air.at
    others = [i for _, entering in _below_last(group) for i in entering if has_air[i] != NONE]
    upright = group.piping.is_vertical
    return [i for i in others if not upright(i) or not _from_above(i, group, context)]


def _is_small(index: int, context: Context) -> bool:
    """Whether a drain carries so little, of what is known, that it may be the relief vent."""
    most = context.code.limit_or_none("circuit_relief_as_drain_dfu")
    return most is not None and at_most(passing_dfu(context)[index], most.value)
