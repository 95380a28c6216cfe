"""Rule about cleanouts shut in a wall, under the floor or in the ground."""

from ifclint.checks import PASS, Fact, check, drawn, given, known, not_known, require, violation
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import M_PER_IN, feet
from ifclint.engineering.wording import feet_text, number_text
from ifclint.findings import Answer, Measure, Severity, Step
from ifclint.ifc.elements import Point, Surface
from ifclint.packs import Context, rule
from ifclint.part_kinds import SHELL
from ifclint.plumbing import Cleanout
from ifclint.plumbing.surroundings.obstacles import Obstacle
from ifclint.rules.cleanouts.openings import HAND_M, UP, facing, floor_over, wall_around

NEAR_GRADE_M = 0.6  # of the lowest floor, where the job file gives no grade
GIVE_GRADE = "Give the height of the ground in the job file (building.grade_elevation)."
PANEL_M = 0.3  # as deep as a wall in which an access panel opens
ABOVE_GROUND = Fact("whether {} opens above the ground", GIVE_GRADE)
BELOW_GROUND = Fact(
    "{} opens {} below where the ground may lie ({}), outside the slabs.", GIVE_GRADE
)


@rule(
    title="Cleanout not shut in a wall or under the floor",
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
    wall, slab = wall_around(point, context), floor_over(point, context)
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
    axis, faces_high = facing(inward)
    if _is_behind_panel(point, axis, context):
        return PASS
    face = wall.high[axis] if faces_high else wall.low[axis]
    depth = abs(face - point[axis]) / M_PER_IN
    source = most.clause or most.source
    answer = check(
        depth,
        at_most=most,
        message=f"{cleanout.label} is shut in {wall.label}, {number_text(depth, 3)} in behind its "
        "face.",
        remedy="Bring the cleanout to the face of the wall, or show an access panel and move it "
        "there.",
        steps=(Step("Behind the finished face, at most", most.value, "in", source),),
        elements=(cleanout.element.guid, wall.guid),
    )
    if answer is PASS or axis != UP:
        return answer
    return violation(
        message=f"{cleanout.label} opens upward within {wall.label}.",
        remedy="Move the cleanout clear of the wall, to where its cover lies in the floor, or turn "
        "it out to the face of the wall.",
        elements=(cleanout.element.guid, wall.guid),
    )


def _is_behind_panel(point: Point, axis: int, context: Context) -> bool:
    """Whether an access panel (a door in the model) stands in the wall before the opening."""
    x, y, z = (PANEL_M * (k == axis) for k in range(3))
    around = context.plumbing.venting.surroundings
    return bool(around.of_kind_around("door", point, (x, y, z)))


def _under_floor(cleanout: Cleanout, point: Point, slab: Surface) -> Answer:
    top = slab.high[UP]
    return require(
        at_most(slab.low[UP] - point[UP], 0.0, "m"),
        message=f"{cleanout.label} lies {feet_text(feet(top - point[UP]))} below the top of "
        f"{slab.name or 'the slab'}.",
        measured=Measure(feet(point[UP] - top), "ft"),
        required=Measure(0.0, "ft", "at least"),
        remedy="Extend the cleanout up to the finished floor.",
        steps=(Step("Top of the floor", feet(top), "ft"), Step("Opening", feet(point[UP]), "ft")),
        elements=(cleanout.element.guid, slab.guid),
    )


def _outdoors(cleanout: Cleanout, point: Point, context: Context) -> Answer:
    """Outside the slabs: against the ground as it is told, or near the lowest floor."""
    ground = known(context.ground, ABOVE_GROUND, cleanout)
    grade, near_m = ground.level_m, HAND_M if ground.is_told else NEAR_GRADE_M
    below_m = ground.high_m - point[UP]
    if at_most(below_m, near_m, "m"):
        return PASS
    below = feet_text(feet(below_m))
    if not ground.is_told or grade is None:
        return not_known(BELOW_GROUND, cleanout, below, ground.basis)
    return violation(
        message=f"{cleanout.label} is buried {below} below grade.",
        measured=Measure(-feet(below_m), "ft"),
        required=Measure(0.0, "ft", "at least"),
        remedy="Extend the cleanout up to grade.",
        steps=(Step("Grade", feet(grade), "ft", ground.basis),),
    )
