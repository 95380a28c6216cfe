"""Rules about the cleanout itself: its size, its direction, and whether one can get at it."""

from __future__ import annotations

from collections.abc import Iterator

from ifclint.checks import (
    PASS,
    Fact,
    check,
    drawn,
    due,
    given,
    known,
    not_known,
    require,
)
from ifclint.codes import Limit, Row
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.extents import grown, holds
from ifclint.engineering.tolerance import at_least, at_most, lies_below
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import feet_text, number_text, trade_size
from ifclint.findings import Answer, Change, Measure, PartKind, Severity, Step
from ifclint.ifc.elements import Point, Surface
from ifclint.packs import Context, derived, rule
from ifclint.part_kinds import SHELL
from ifclint.plumbing import Cleanout, Method
from ifclint.plumbing.surroundings.obstacles import Obstacle
from ifclint.rules.cleanouts.wording import downstream, feet

RIGHT_ANGLE_DEG = 90.0
RIM_M = 1 * M_PER_IN  # by so much a cleanout is wider than its bore, all around. Ours, no source
SKIN_M = 0.01  # boxes are drawn to the centimetre: what shares no more only touches
HAND_M = 0.15  # below grade, or apart, by no more than a hand counts as level with it
NEAR_GRADE_M = 0.6  # of the lowest floor, where the job file gives no grade
GIVE_GRADE = "Give the height of the ground in the job file (building.grade_elevation)."
PANEL_M = 0.3  # as deep as a wall in which an access panel opens
UP = 2  # the third axis

ROOM = PartKind(
    "walls or equipment",
    drawn=lambda c: (
        c.plumbing.venting.surroundings.has_walls or c.plumbing.venting.surroundings.has_equipment
    ),
    remedy="Add the walls (IfcWall) and equipment to the model, or the architect's file to the "
    "review.",
)
ABOVE_GROUND = Fact("whether {} opens above the ground", GIVE_GRADE)
BELOW_GROUND = Fact(
    "{} opens {} below where the ground may lie ({}), outside the slabs.", GIVE_GRADE
)


@rule(
    title="Cleanout as large as its pipe asks",
    subject=Cleanout,
    clauses={"upc": "707.1 and Table 707.1", "ipc": "708.1.5", "irc": "P3005.2.5"},
    needs=("plug_size_in", "pipe_in"),
)
def cleanout_size(cleanout: Cleanout, context: Context) -> Answer:
    """Through a small opening no cutter goes that cleans the whole bore.

    The nominal size of the opening against what the code asks for the pipe it opens. A cleanout
    in a stack may be one size smaller in the IPC; where it opens vertical pipe that is granted. One
    at the foot of an island vent opens the vent.
    """
    size, pipe = given(cleanout.size_in), _island_in(cleanout, context) or given(cleanout.pipe_in)
    row = due(_row(pipe, context))
    wanted = row.limit("cleanout_in", "in")
    if _is_in_stack(cleanout, context) and at_least(size, _one_less(wanted.value, context), "in"):
        return PASS
    text = f"Make the cleanout {trade_size(wanted.value)}, up to its plug."
    return check(
        size,
        at_least=wanted,
        message=f"{cleanout.label} is {trade_size(size)} on a {trade_size(pipe)} pipe.",
        remedy=Change("size", cleanout.element_ids, wanted.value, text),
        limit_step=f"{trade_size(pipe)} pipe: cleanout",
    )


def _island_in(cleanout: Cleanout, context: Context) -> float | None:
    """The size of the island vent that a cleanout leads into."""
    piping, of_islands = cleanout.piping, _island_vents(context)
    opened = (i for i in cleanout.path if i in of_islands and piping.is_pipe(i))
    return max(filter(None, (piping.elements[i].size_in for i in opened)), default=None)


@derived
def _island_vents(context: Context) -> frozenset[int]:
    """The elements of all island vents."""
    groups = context.plumbing.venting.groups
    trees = (group.joint.tree for group in groups if group.method is Method.ISLAND)
    return frozenset(i for tree in trees for i in tree.members)


def _row(pipe_in: float, context: Context) -> Row | None:
    """The row of the largest listed pipe that is not larger; the last one covers all larger."""
    rows = [r for r in context.code.table("cleanout_size").rows if r.number("size_in") <= pipe_in]
    return max(rows, key=lambda r: r.number("size_in"), default=None)


def _is_in_stack(cleanout: Cleanout, context: Context) -> bool:
    below = downstream(cleanout.entry, context)[1:2]
    return context.code.family == "ipc" and any(map(cleanout.piping.is_vertical, below))


def _one_less(size: float, context: Context) -> float:
    listed = context.code.table("cleanout_size").numbers("cleanout_in")
    return max((s for s in listed if s < size), default=size)


@rule(
    title="Cleanout opens in the direction of flow",
    subject=Cleanout,
    clauses={"upc": "707.5", "ipc": "708.1.8", "irc": "P3005.2.8"},
    applies=lambda cleanout: bool(cleanout.path) and not cleanout.two_way and not cleanout.on_vent,
    needs=("angle_to_flow_deg",),
)
def cleanout_direction(cleanout: Cleanout, context: Context) -> Answer:
    """A cable that enters against the flow cannot be led down the drain.

    The angle between the path of the cable from the cleanout and the flow where it enters the
    drain: with the flow, or at right angles. Two-way cleanouts are excused.
    """
    angle, entry = given(cleanout.angle_to_flow_deg), cleanout.piping.elements[cleanout.entry]
    return check(
        angle,
        at_most=RIGHT_ANGLE_DEG,
        unit="deg",
        message=f"{cleanout.label} opens against the flow at {entry.label}.",
        remedy="Turn the fitting so that the cleanout leads downstream, or use a two-way fitting.",
        steps=(Step("Angle between cable and flow on entering", angle, "deg"),),
        elements=(cleanout.element.guid, entry.guid),
    )


@rule(
    title="Room in front of the cleanout",
    subject=Cleanout,
    clauses={"upc": "707.9", "ipc": "708.1.9", "irc": "P3005.2.9"},
    needs=("inward", "pipe_in"),
)
def cleanout_clearance(cleanout: Cleanout, context: Context) -> Iterator[Answer]:
    """Someone must kneel before it with a machine.

    As far in front of the opening as the code asks for the size of the pipe, as wide as the opening
    and its rim, nothing of the walls, slabs and equipment of all files given (by their boxes). The
    wall or floor the opening stands in is not in its way, nor what stands beside the opening; in
    front of one that opens upward is above it. Each thing in the way is said.
    """
    drawn(ROOM, context, "the room before {}", cleanout)
    asked, before = _asked_clearance(cleanout, context), _before_it(cleanout)
    for gap, obstacle in _before(cleanout, asked.value * M_PER_IN, context):
        yield _clear_of(cleanout, asked, before, gap, obstacle)
    yield PASS


def _clear_of(
    cleanout: Cleanout, asked: Limit, before: str, gap: float, obstacle: Obstacle
) -> Answer:
    """How far an obstacle stands from a cleanout."""
    return check(
        gap,
        at_least=asked,
        message=f"{obstacle.label} stands {number_text(gap, 3)} in {before} {cleanout.label}.",
        remedy=f"Move {obstacle.label}, or bring the cleanout out to where "
        f"{number_text(asked.value)} in {before} it are clear.",
        steps=(
            Step(
                f"Clear {before} a cleanout of {trade_size(cleanout.pipe_in)} pipe",
                asked.value, "in", asked.clause,
            ),
            Step(f"in the way: {obstacle.label}"),
        ),
        elements=(cleanout.element.guid, obstacle.guid),
        about=obstacle.guid,
    )  # fmt: skip


def _before_it(cleanout: Cleanout) -> str:
    """Where its front is: before one in a wall, above one in a floor."""
    assert cleanout.inward is not None
    return "above" if _axis(cleanout.inward) == UP and cleanout.inward[UP] < 0 else "before"


def _asked_clearance(cleanout: Cleanout, context: Context) -> Limit:
    """How far, more for large pipe in the codes that tell them apart."""
    large = context.code.limit_or_none("cleanout_clearance_large_in")
    small_pipe = context.code.limit("cleanout_clearance_small_pipe_in")
    if large is not None and not at_most(given(cleanout.pipe_in), small_pipe.value, "in"):
        return large
    return context.code.limit("cleanout_clearance_small_in")


def _before(
    cleanout: Cleanout, side_m: float, context: Context
) -> Iterator[tuple[float, Obstacle]]:
    """What stands before an opening and how far off, in inches; the nearest first."""
    point, inward = given(cleanout.point), given(cleanout.inward)
    axis = _axis(inward)
    own = {s.guid for s in (_wall_around(point, context), _floor_over(point, context)) if s}
    found = [
        (_gap_m(o, point, axis) / M_PER_IN, o)
        for o in context.plumbing.venting.surroundings.within(*_space(cleanout, side_m))
        if o.guid not in own
        and (o.kind != "slab" or axis == UP)
        and not (o.kind == "slab" and _is_in(point, o))
    ]
    yield from sorted(found, key=lambda f: (f[0], f[1].guid))


def _is_in(point: Point, obstacle: Obstacle) -> bool:
    return holds(obstacle.low, obstacle.high, point, SKIN_M)


def _axis(direction: Point) -> int:
    """The axis a direction runs along most."""
    return max(range(3), key=lambda k: abs(direction[k]))


def _space(cleanout: Cleanout, side_m: float) -> tuple[Point, Point]:
    """What is before an opening, as far as it is to be clear."""
    point, inward = given(cleanout.point), given(cleanout.inward)
    axis = _axis(inward)
    bore_m = max(given(cleanout.pipe_in), or_zero(cleanout.size_in)) * M_PER_IN
    half_m = bore_m / 2 + RIM_M
    low = [c - half_m + SKIN_M for c in point]
    high = [c + half_m - SKIN_M for c in point]
    if axis != UP:  # beside an opening near the floor, the floor is not in the way
        low[UP] = max(low[UP], point[UP] - SKIN_M)
    near, far = point[axis] + SKIN_M, point[axis] + side_m
    if inward[axis] > 0:
        near, far = point[axis] - side_m, point[axis] - SKIN_M
    low[axis], high[axis] = near, far
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def _gap_m(obstacle: Obstacle, point: Point, axis: int) -> float:
    return max(obstacle.low[axis] - point[axis], point[axis] - obstacle.high[axis], 0.0)


def _wall_around(point: Point, context: Context) -> Obstacle | None:
    """The wall an opening is shut in."""
    around = context.plumbing.venting.surroundings.within(*grown(point, point, SKIN_M))
    return next((o for o in around if o.kind == "wall"), None)


def _floor_over(point: Point, context: Context) -> Surface | None:
    """The slab of the lowest floor that an opening lies in, or under and not in a crawl space."""
    surroundings = context.plumbing.venting.surroundings
    slab, floors = surroundings.slab_at(point), surroundings.floors
    if slab is None or (floors.lowest and slab.low[UP] > floors.lowest.level_m + HAND_M):
        return None
    hangs = lies_below(point[UP], slab.low[UP]) and floors.crawl_spaces.holds(point)
    return None if hangs else slab


@rule(
    title="Cleanout not shut in a wall or under the floor",
    subject=Cleanout,
    clauses={"upc": "707.9", "ipc": "708.1.10", "irc": "P3005.2.10"},
    severity=Severity.HIGH,
    needs=("opening", "inward"),
)
def cleanout_access(cleanout: Cleanout, context: Context) -> Answer:
    """A cleanout nobody finds is none.

    The opening must lie at or before the face of its wall or behind an access panel (an IfcDoor)
    in it, above the lowest floor or in its crawl space, and outdoors brought up to grade. Where
    the model shows no walls or slabs, or no grade for an opening deep outdoors, the answer is
    left open.
    """
    point = given(cleanout.opening)
    drawn(SHELL, context, "whether {} can be reached", cleanout)
    wall, slab = _wall_around(point, context), _floor_over(point, context)
    if wall is not None:
        return _in_wall(cleanout, point, wall, context)
    if slab is not None:
        return _under_floor(cleanout, point, slab)
    if context.plumbing.venting.surroundings.slab_at(point) is not None:
        return PASS
    return _outdoors(cleanout, point, context)


def _in_wall(cleanout: Cleanout, point: Point, wall: Obstacle, context: Context) -> Answer:
    """How deep behind the face of the wall, in the direction it opens."""
    most, inward = context.code.limit("cleanout_wall_face_in"), given(cleanout.inward)
    axis = _axis(inward)
    if _is_behind_panel(point, axis, context):
        return PASS
    face = wall.low[axis] if inward[axis] > 0 else wall.high[axis]
    depth = abs(face - point[axis]) / M_PER_IN
    source = most.clause or most.source
    return check(
        depth,
        at_most=most,
        message=f"{cleanout.label} is shut in {wall.label}, {number_text(depth, 3)} in behind its "
        "face.",
        remedy="Bring the cleanout to the face of the wall, or show an access panel and move it "
        "there.",
        steps=(Step("Behind the finished face, at most", most.value, "in", source),),
        elements=(cleanout.element.guid, wall.guid),
    )


def _is_behind_panel(point: Point, axis: int, context: Context) -> bool:
    """Whether an access panel (a door in the model) stands in the wall before the opening."""
    beyond = (PANEL_M, 0.0, 0.0) if axis == 0 else (0.0, PANEL_M, 0.0)
    around = context.plumbing.venting.surroundings
    return bool(around.of_kind_around("door", point, beyond))


def _under_floor(cleanout: Cleanout, point: Point, slab: Surface) -> Answer:
    top = slab.high[UP]
    return require(
        at_most(slab.low[UP] - point[UP], 0.0, "m"),
        message=f"{cleanout.label} lies {feet_text(feet(top - point[UP]))} below the top of "
        f"{slab.name or 'the slab'}.",
        measured=Measure(feet(point[UP] - top), "ft"),
        required=Measure(0.0, "ft", "at least"),
        remedy="Extend the cleanout up to the finished floor.",
        steps=(
            Step("Top of the floor", feet(top), "ft"),
            Step("Opening", feet(point[UP]), "ft"),
        ),
        elements=(cleanout.element.guid, slab.guid),
    )


def _outdoors(cleanout: Cleanout, point: Point, context: Context) -> Answer:
    """Outside the slabs: against the ground as it is told, or near the lowest floor."""
    floors = context.plumbing.venting.surroundings.floors
    ground = floors.ground(context.job.building.grade_elevation)
    ground = known(ground, ABOVE_GROUND, cleanout)
    grade, near_m = ground.level_m, HAND_M if ground.is_told else NEAR_GRADE_M
    if at_most(ground.high_m - point[UP], near_m, "m"):
        return PASS
    if not ground.is_told or grade is None:
        below = feet_text(feet(ground.high_m - point[UP]))
        return not_known(BELOW_GROUND, cleanout, below, ground.basis)
    return require(
        at_most(grade - point[UP], HAND_M, "m"),
        message=f"{cleanout.label} is buried {feet_text(feet(grade - point[UP]))} below grade.",
        measured=Measure(feet(point[UP] - grade), "ft"),
        required=Measure(0.0, "ft", "at least"),
        remedy="Extend the cleanout up to grade.",
        steps=(Step("Grade", feet(grade), "ft", ground.basis),),
    )


RULES = (cleanout_size, cleanout_direction, cleanout_clearance, cleanout_access)
