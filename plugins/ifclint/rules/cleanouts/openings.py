"""Rules about the cleanout itself: its size, its direction, and whether one can get at it."""

from __future__ import annotations

from ifclint.codes import Row
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import feet_text, number_text, trade_size
from ifclint.findings import NOT_APPLICABLE, PASS, Answer, Measure, Outcome, Severity, Step
from ifclint.ifc.elements import Point
from ifclint.packs import Context, rule
from ifclint.plumbing import Cleanout
from ifclint.plumbing.surroundings.obstacles import Obstacle
from ifclint.rules.cleanouts.wording import feet, limit

AGAINST_DEG = 100.0  # a little more than a right angle: drawn fall
SKIN_M = 0.01  # what only touches is not in the way
HAND_M = 0.15  # below grade by no more than this counts as brought to grade
NEAR_GRADE_M = 0.6  # of the lowest floor, where the job file gives no grade


@rule(
    title="Cleanout as large as its pipe asks",
    subject=Cleanout,
    clauses={"upc": "707.1 and Table 707.1", "ipc": "708.1.5", "irc-2021": "P3005.2.5"},
    needs=("plug_size_in", "pipe_in"),
)
def cleanout_size(cleanout: Cleanout, context: Context) -> Answer:
    """Through a small opening no cutter goes that cleans the whole bore.

    The nominal size of the opening against what the code asks for the pipe it opens. A cleanout
    in a stack may be one size smaller in the IPC; where it opens vertical pipe that is granted.
    """
    assert cleanout.pipe_in is not None
    size = cleanout.size_in
    assert size is not None
    row = _row(cleanout.pipe_in, context)
    if row is None:
        return NOT_APPLICABLE
    wanted = row.number("cleanout_in")
    if size >= wanted or (_in_stack(cleanout, context) and size >= _one_less(wanted, context)):
        return PASS
    return Answer(
        Outcome.VIOLATION,
        f"{cleanout.label} is {trade_size(size)} on a {trade_size(cleanout.pipe_in)} pipe.",
        measured=Measure(size, "in"),
        required=Measure(wanted, "in", "at least"),
        remedy=f"Make the cleanout {trade_size(wanted)}, up to its plug.",
        steps=(Step(f"{trade_size(cleanout.pipe_in)} pipe: cleanout", wanted, "in", row.clause),),
        clause=row.clause,
    )


def _row(pipe_in: float, context: Context) -> Row | None:
    """The row of the largest listed pipe that is not larger; the last one covers all larger."""
    rows = [r for r in context.code.table("cleanout_size").rows if r.number("size_in") <= pipe_in]
    return max(rows, key=lambda r: r.number("size_in"), default=None)


def _in_stack(cleanout: Cleanout, context: Context) -> bool:
    below = context.plumbing.drainage.down[cleanout.entry]
    vertical = below >= 0 and cleanout.piping.is_vertical(below)
    return context.code.family == "ipc" and vertical


def _one_less(size: float, context: Context) -> float:
    listed = context.code.table("cleanout_size").numbers("cleanout_in")
    return max((s for s in listed if s < size), default=size)


@rule(
    title="Cleanout opens in the direction of flow",
    subject=Cleanout,
    clauses={"upc": "707.5", "ipc": "708.1.8", "irc-2021": "P3005.2.8"},
    applies=lambda cleanout: bool(cleanout.path) and not cleanout.two_way and not cleanout.on_vent,
    needs=("angle_to_flow_deg",),
)
def cleanout_direction(cleanout: Cleanout, context: Context) -> Answer:
    """A cable that enters against the flow cannot be led down the drain.

    The angle between the way in from the cleanout and the flow where it enters the drain: with the
    flow, or at right angles. Two-way cleanouts are excused.
    """
    angle = cleanout.angle_to_flow_deg
    assert angle is not None
    if angle <= AGAINST_DEG:
        return PASS
    entry = cleanout.piping.elements[cleanout.entry]
    return Answer(
        Outcome.VIOLATION,
        f"{cleanout.label} opens against the flow at {entry.label}.",
        measured=Measure(round(angle, 1), "deg"),
        required=Measure(90.0, "deg", "at most"),
        remedy="Turn the fitting so that the cleanout leads downstream, or use a two-way fitting.",
        steps=(Step("Angle between cable and flow on entering", angle, "deg"),),
        elements=(cleanout.element.guid, entry.guid),
    )


@rule(
    title="Room in front of the cleanout",
    subject=Cleanout,
    clauses={"upc": "707.9", "ipc": "708.1.9", "irc-2021": "P3005.2.9"},
    needs=("inward", "pipe_in"),
)
def cleanout_clearance(cleanout: Cleanout, context: Context) -> Answer:
    """Someone must kneel before it with a machine.

    A clear cube in front of the opening, of the side the code asks for the size of the pipe, free
    of the walls, slabs and equipment of all files given (by their boxes). The wall or floor the
    opening stands in is not in its way.
    """
    asked = _asked_clearance(cleanout, context)
    point, inward = cleanout.point, cleanout.inward
    surroundings = context.plumbing.venting.surroundings
    if asked is None or point is None or inward is None:
        return NOT_APPLICABLE
    side, clause = asked
    if not surroundings.has_walls and not surroundings.has_equipment:
        return Answer(
            Outcome.UNVERIFIED,
            f"The model has neither walls nor equipment to tell the room before {cleanout.label}.",
            remedy="Review together with the architectural file.",
        )
    low, high, axis = _space(point, inward, side * M_PER_IN)
    own = _stands_in(point, context)
    found = surroundings.within(low, high)
    blocking = [o for o in found if o.guid not in own and _is_in_way(o, axis)]
    if not blocking:
        return PASS
    nearest = min(blocking, key=lambda o: (_gap_m(o, point, axis), o.guid))
    gap = _gap_m(nearest, point, axis) / M_PER_IN
    return Answer(
        Outcome.VIOLATION,
        f"{nearest.label} stands {number_text(gap, 3)} in before {cleanout.label}.",
        measured=Measure(round(gap, 1), "in"),
        required=Measure(side, "in", "at least"),
        remedy=f"Move {nearest.label}, or bring the cleanout out to where {number_text(side)} in "
        "before it are clear.",
        steps=(
            Step(
                f"Clear before a cleanout of {trade_size(cleanout.pipe_in)} pipe",
                side,
                "in",
                clause,
            ),
            *(Step(f"in the way: {o.label}") for o in blocking[:6]),
        ),
        elements=(cleanout.element.guid, nearest.guid),
        clause=clause,
    )


def _stands_in(point: Point, context: Context) -> set[str]:
    """The wall an opening is shut in, or the lowest slab it lies under: the rule about access
    finds these."""
    surroundings = context.plumbing.venting.surroundings
    wall, slab = _wall_around(point, context), surroundings.slab_at(point)
    floor = surroundings.lowest_floor_m
    lowest = slab is not None and (floor is None or slab.low[2] <= floor + HAND_M)
    return {s.guid for s in (wall, slab if lowest else None) if s is not None}


def _asked_clearance(cleanout: Cleanout, context: Context) -> tuple[float, str] | None:
    """(side in inches, clause): UPC large from over 2 in, IPC from over 6 in."""
    small_up_to = 2.0 if context.code.family == "upc" else 6.0
    small = (cleanout.pipe_in or 0.0) <= small_up_to
    found = limit(
        context, "cleanout_clearance_small_in" if small else "cleanout_clearance_large_in"
    )
    found = found or limit(context, "cleanout_clearance_small_in")
    return (found.value, found.clause) if found is not None else None


def _space(point: Point, inward: Point, side_m: float) -> tuple[Point, Point, int]:
    """The cube before an opening, and the axis (with sign in its order) it looks along."""
    axis = max(range(3), key=lambda k: abs(inward[k]))
    low = [c - side_m / 2 + SKIN_M for c in point]
    high = [c + side_m / 2 - SKIN_M for c in point]
    outward = -1.0 if inward[axis] > 0 else 1.0
    low[axis] = point[axis] + SKIN_M if outward > 0 else point[axis] - side_m + SKIN_M
    high[axis] = point[axis] + side_m - SKIN_M if outward > 0 else point[axis] - SKIN_M
    if axis != 2:  # beside an opening near the floor, the floor is not in the way
        low[2] = max(low[2], point[2] - SKIN_M)
    return (low[0], low[1], low[2]), (high[0], high[1], high[2]), axis


def _is_in_way(obstacle: Obstacle, axis: int) -> bool:
    """A floor is in the way only of what opens up or down."""
    return obstacle.kind != "slab" or axis == 2


def _gap_m(obstacle: Obstacle, point: Point, axis: int) -> float:
    return max(obstacle.low[axis] - point[axis], point[axis] - obstacle.high[axis], 0.0)


@rule(
    title="Cleanout not shut in a wall or under the floor",
    subject=Cleanout,
    clauses={"upc": "707.9", "ipc": "708.1.10", "irc-2021": "P3005.2.10"},
    severity=Severity.HIGH,
    needs=("point",),
)
def cleanout_access(cleanout: Cleanout, context: Context) -> Answer:
    """A cleanout nobody finds is none.

    The opening must lie at or before the face of its wall or behind an access panel (an IfcDoor)
    in it, above the lowest floor, and outdoors
    brought up to grade. Where the model shows no walls or slabs, or no grade for an opening deep
    outdoors, the answer is left open.
    """
    if not cleanout.path:  # an inline fitting: the model does not tell where its opening is
        return _inline(cleanout)
    point = cleanout.point
    assert point is not None
    surroundings = context.plumbing.venting.surroundings
    if surroundings.footprint is None:
        return Answer(
            Outcome.UNVERIFIED,
            f"The model has no walls or slabs to tell whether {cleanout.label} can be reached.",
            remedy="Review together with the architectural file.",
        )
    wall = _wall_around(point, context)
    if wall is not None:
        return _shut_in(cleanout, point, wall, context)
    return _below_floor(cleanout, point, context)


def _inline(cleanout: Cleanout) -> Answer:
    return Answer(
        Outcome.UNVERIFIED,
        f"Where the opening of {cleanout.label} is, the model does not show.",
        remedy="Model the cleanout's riser and plug, joined to the fitting.",
    )


PANEL_M = 0.3  # as deep as a wall in which a panel opens


def _wall_around(point: Point, context: Context) -> Obstacle | None:
    low = (point[0] - SKIN_M, point[1] - SKIN_M, point[2] - SKIN_M)
    high = (point[0] + SKIN_M, point[1] + SKIN_M, point[2] + SKIN_M)
    around = context.plumbing.venting.surroundings.within(low, high)
    return next((o for o in around if o.kind == "wall"), None)


def _behind_a_panel(point: Point, axis: int, context: Context) -> bool:
    """Whether an access panel (a door in the model) stands in the wall before the opening."""
    low, high = list(point), list(point)
    low[axis] -= PANEL_M
    high[axis] += PANEL_M
    panels = context.plumbing.venting.surroundings.of_kind("door")
    return any(
        all(panel.low[k] <= high[k] and panel.high[k] >= low[k] for k in range(3))
        for panel in panels
    )


def _shut_in(cleanout: Cleanout, point: Point, wall: Obstacle, context: Context) -> Answer:
    """How deep behind the face of the wall, in the direction it opens."""
    most = limit(context, "cleanout_wall_face_in")
    inward = cleanout.inward
    if inward is None:
        return NOT_APPLICABLE
    axis = max(range(3), key=lambda k: abs(inward[k]))
    face = wall.low[axis] if inward[axis] > 0 else wall.high[axis]
    depth = abs(face - point[axis]) / M_PER_IN
    allowed = most.value if most is not None else 1.5
    if depth <= allowed + 0.25 or _behind_a_panel(point, axis, context):
        return PASS
    return Answer(
        Outcome.VIOLATION,
        f"{cleanout.label} is shut in {wall.label}, {number_text(depth, 3)} in behind its face.",
        measured=Measure(round(depth, 1), "in"),
        required=Measure(allowed, "in", "at most"),
        remedy="Bring it to the face of the wall, or show an access panel and move it there.",
        steps=(
            Step(
                "Behind the finished face, at most",
                allowed,
                "in",
                most.clause if most else "common practice, no source",
            ),
        ),
        elements=(cleanout.element.guid, wall.guid),
    )


def _below_floor(cleanout: Cleanout, point: Point, context: Context) -> Answer:
    surroundings = context.plumbing.venting.surroundings
    floor = surroundings.lowest_floor_m
    slab = surroundings.slab_at(point)
    lowest = slab is not None and (floor is None or slab.low[2] <= floor + HAND_M)
    if slab is not None and lowest and point[2] < slab.low[2]:
        return Answer(
            Outcome.VIOLATION,
            f"{cleanout.label} lies {feet_text(feet(slab.high[2] - point[2]))} below the top of "
            f"{slab.name or 'the slab'}.",
            measured=Measure(round(feet(point[2] - slab.high[2]), 2), "ft"),
            required=Measure(0.0, "ft", "at least"),
            remedy="Extend it up to the finished floor.",
            steps=(
                Step("Top of the floor", feet(slab.high[2]), "ft"),
                Step("Opening", feet(point[2]), "ft"),
            ),
            elements=(cleanout.element.guid, slab.guid),
        )
    if slab is not None or floor is None:
        return PASS
    return _at_grade(cleanout, point, floor, context)


def _at_grade(cleanout: Cleanout, point: Point, floor: float, context: Context) -> Answer:
    """Outside the slabs: against the grade of the job file, or near the lowest floor."""
    grade = context.job.building.grade_elevation
    if point[2] >= (grade - HAND_M if grade is not None else floor - NEAR_GRADE_M):
        return PASS
    if grade is None:
        return Answer(
            Outcome.UNVERIFIED,
            f"{cleanout.label} opens {feet_text(feet(floor - point[2]))} below the lowest floor, "
            "outside the slabs; where the ground lies is not known.",
            remedy="Give building.grade_elevation in the job file.",
        )
    return Answer(
        Outcome.VIOLATION,
        f"{cleanout.label} is buried {feet_text(feet(grade - point[2]))} below grade.",
        measured=Measure(round(feet(point[2] - grade), 2), "ft"),
        required=Measure(0.0, "ft", "at least"),
        remedy="Extend it up to grade.",
        steps=(Step("Grade", feet(grade), "ft", "job file, building.grade_elevation"),),
    )


RULES = (cleanout_size, cleanout_direction, cleanout_clearance, cleanout_access)
