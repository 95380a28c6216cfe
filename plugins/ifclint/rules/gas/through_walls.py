"""Rules about gas pipe in walls and through them: joints to be reached, sleeves, foundations."""

from collections.abc import Iterator

from ifclint.checks import PASS, Fact, drawn, known, missing, not_known, require, violation
from ifclint.findings import Answer, Change, PartKind, Severity
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context
from ifclint.part_kinds import WALLS
from ifclint.plumbing import GasSegment
from ifclint.plumbing.gas.gas_piping import middle_of
from ifclint.plumbing.words import says, says_text
from ifclint.rules.gas.caution import gas_rule
from ifclint.rules.gas.places import UNION_WORDS, Crossing, crossings, is_sleeved, sleeves

JOINTS_TO_REACH = (*UNION_WORDS, "compression", "swing", "right and left", "flare nut")
IN_THE_GROUND = ("foundation*", "basement", "cellar", "retaining")

SLEEVES = PartKind(
    "sleeves",
    drawn=lambda context: bool(sleeves(context)),
    remedy="Show the sleeve where gas pipe passes a slab, or a wall below the ground.",
)
BELOW_GROUND = Fact(
    'whether {} passes "{}" below the ground',
    "Give the height of the ground in the job file (building.grade_elevation).",
)
CONCEALED = Fact(
    "where {} stands is not known, nor whether it is concealed.",
    "Give the joint or valve a shape or placed ports.",
)


@gas_rule(
    title="No union or valve of gas pipe concealed in a wall",
    clauses={"upc": "1210.3.2", "ipc": "IFGC 404.5", "irc": "G2415.5"},
)
def gas_concealed_joint(segment: GasSegment, context: Context) -> list[Answer]:
    """A joint that may loosen must be where its leak is smelt and a wrench can reach it.

    Unions, compression and swing joints and valves of the run, by name, against the boxes of the
    walls. Threaded, welded and brazed fittings may be concealed.
    """
    drawn(WALLS, context, "whether joints of {} are concealed", segment)
    to_reach = [
        joint
        for joint in segment.fittings
        if joint.role is Role.VALVE or says(joint, JOINTS_TO_REACH)
    ]
    return [_reached(joint, context) for joint in to_reach] or [PASS]


def _reached(joint: Element, context: Context) -> Answer:
    if middle_of(joint) is None:
        return not_known(CONCEALED, joint, about=joint.guid)
    return require(
        not _in_wall(joint, context),
        message=f"{joint.label} lies concealed in a wall.",
        remedy="Set unions, valves and compression joints where they can be reached.",
        elements=(joint.guid,),
        about=joint.guid,
    )


def _in_wall(element: Element, context: Context) -> bool:
    place = middle_of(element)
    around = context.plumbing.surroundings.within(place, place) if place is not None else []
    return any(obstacle.kind == "wall" for obstacle in around)


@gas_rule(
    title="Gas pipe sleeved where it passes a slab on the ground",
    clauses={"upc": "1210.3.4", "ipc": "IFGC 404.8", "irc": "G2415.8"},
    severity=Severity.MEDIUM,
)
def gas_sleeve(segment: GasSegment, context: Context) -> Iterator[Answer]:
    """Concrete corrodes steel and shears it when the house settles.

    Where a pipe passes a slab on the ground. Where a model draws no sleeve at all they are left out
    of the drawing, and that is unverified. The sections are from memory.
    """
    for crossing in crossings(segment, context):
        if crossing.obstacle.kind == "slab":
            yield _sleeved(segment, crossing, context)


@gas_rule(
    title="Gas pipe enters the building above the ground, or in a sleeve",
    clauses={"upc": "1210.1.5", "ipc": "IFGC 404.6", "irc": "G2415.6"},
    severity=Severity.HIGH,
)
def gas_through_foundation(segment: GasSegment, context: Context) -> Iterator[Answer]:
    """Gas that leaks in the ground follows the pipe through the wall and gathers indoors.

    Where a pipe passes the outline of the building through a wall below the ground: the UPC asks
    for a sleeve, the IFGC and IRC let no gas pipe pass there. The sections are from memory.
    """
    for crossing in crossings(segment, context):
        if crossing.obstacle.kind == "wall":
            yield _below_ground(segment, crossing, context)


def _below_ground(segment: GasSegment, crossing: Crossing, context: Context) -> Answer:
    ground, wall = context.ground, crossing.obstacle
    pipe, about = (crossing.pipe.guid,), crossing.key
    below = None if ground is None else ground.is_below(crossing.point[2])
    if ground is not None and not ground.is_told and says_text(wall.label, IN_THE_GROUND):
        below = None  # the ground may lie anywhere up the wall of a cellar
    if not known(below, BELOW_GROUND, segment, wall.label, elements=pipe, about=about):
        return PASS
    if context.code.family == "upc":
        return _sleeved(segment, crossing, context)
    return violation(
        message=f'{segment.label} passes "{wall.label}" below the ground.',
        remedy="Bring the pipe up outdoors, and pass the wall above the ground.",
        elements=pipe,
        about=about,
    )


def _sleeved(segment: GasSegment, crossing: Crossing, context: Context) -> Answer:
    if is_sleeved(crossing.point, context):
        return PASS
    pipe, kind = crossing.pipe.guid, crossing.obstacle.kind
    text = f"Sleeve the gas pipe where it passes the {kind}."
    return missing(
        SLEEVES,
        message=f'No sleeve is drawn where {segment.label} passes "{crossing.obstacle.label}".',
        remedy=Change("part", (pipe,), "sleeve", text),
        elements=(pipe,),
        about=crossing.key,
    )
