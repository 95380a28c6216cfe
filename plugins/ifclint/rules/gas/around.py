"""Rules about what must stand around gas pipe: sleeves, hangers, vents, walls that open."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import dist

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Fact,
    drawn,
    given,
    known,
    missing,
    not_known,
    require,
    violation,
)
from ifclint.codes import Limit
from ifclint.engineering.extents import lies_flat
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import apart_text, feet_text
from ifclint.findings import Answer, Change, Measure, PartKind, Severity, Step
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, derived
from ifclint.part_kinds import WALLS
from ifclint.plumbing import GasRegulator, GasSegment
from ifclint.plumbing.gas.gas_piping import middle_of
from ifclint.plumbing.heaters.discharge import DischargeLine, follow, neighbours
from ifclint.plumbing.words import says, says_text
from ifclint.rules.gas.capacity import table_material
from ifclint.rules.gas.caution import gas_rule
from ifclint.rules.gas.places import (
    IN_FLOOR_M,
    UNION_WORDS,
    Crossing,
    crossings,
    ground_of,
    is_indoors,
    is_near,
    is_sleeved,
    named,
    points_of,
    sleeves,
)

HANGER_WORDS = ("hanger", "clevis", "pipe clamp", "pipe strap", "pipe support")
JOINTS_TO_REACH = (*UNION_WORDS, "compression", "swing", "right and left", "flare nut")
IN_THE_GROUND = ("foundation*", "basement", "cellar", "retaining")
LIMITER_WORDS = ("vent limiter", "vent limiting", "ventless")

SLEEVES = PartKind(
    "sleeves",
    drawn=lambda context: bool(sleeves(context)),
    remedy="Show the sleeve where gas pipe passes a slab, or a wall below the ground.",
)
HANGERS = PartKind(
    "hangers",
    drawn=lambda context: bool(named(context, HANGER_WORDS)),
    remedy="Show the hangers of gas pipe, or their spacing in the specification.",
)
REGULATOR_VENTS = PartKind(
    "vents of gas regulators",
    drawn=lambda context: any(_is_vented(r, context) for r in _regulators(context)),
    remedy="Draw the regulator's vent line to its end outdoors, with the walls around it, or name "
    "its vent limiter.",
)
BELOW_GROUND = Fact(
    'whether {} passes "{}" below the ground',
    "Give the height of the ground in the job file (building.grade_elevation).",
)
CONCEALED = Fact(
    "where {} stands is not known, nor whether it is concealed.",
    "Give the joint or valve a shape or placed ports.",
)
SUPPORTED = Fact(
    "the length of {} is not known, nor whether it must be supported every {} ft.",
    "Give the pipe its length, a shape or two placed ports.",
)
VENTED = Fact("how {} is vented", REGULATOR_VENTS.remedy)


@gas_rule(
    title="No union or valve of gas pipe concealed in a wall",
    subject=GasSegment,
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
    subject=GasSegment,
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
    subject=GasSegment,
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
    ground, wall = ground_of(context), crossing.obstacle
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


@gas_rule(
    title="Gas pipe supported",
    subject=GasSegment,
    clauses={"upc": "1210.2.4", "ipc": "IFGC 407.2 and Table 415.1", "irc": "G2424.1"},
    severity=Severity.LOW,
    needs=("size_in",),
)
def gas_support(segment: GasSegment, context: Context) -> Answer:
    """Pipe that hangs on its joints opens them.

    The longest stretch of each pipe of steel between the hangers, straps and clamps drawn close to
    it, and from them to its ends, against the code's spacing for its size. Pipe in the ground lies
    on it, upright pipe is held at every floor, and tubing by its maker's instructions: these are
    excused. Where a model draws no hanger at all they are left out of the drawing, and that is
    unverified.
    """
    if table_material(segment.material) not in (None, "steel"):
        return NOT_APPLICABLE
    spacing = _spacing(segment, context)
    hung = [pipe for pipe in segment.pipes if not _is_held(pipe, context)]
    bare = [
        (pipe, feet)
        for pipe in hung
        if pipe.length_m is not None
        and not at_most(
            feet := _unheld_m(pipe, pipe.length_m, context) / M_PER_FT, spacing.value, spacing.unit
        )
    ]
    if not bare:
        unknown = tuple(pipe.guid for pipe in segment.pipes if pipe.length_m is None)
        return _length_unknown(segment, spacing, unknown) if unknown else PASS
    return _unsupported(segment, spacing, bare)


def _unsupported(segment: GasSegment, spacing: Limit, bare: list[tuple[Element, float]]) -> Answer:
    guids, longest = tuple(pipe.guid for pipe, _ in bare), max(feet for _, feet in bare)
    text = f"Hang the gas pipe every {spacing.value:g} ft."
    return missing(
        HANGERS,
        message=f"{segment.label} runs {apart_text(longest, spacing.value, 'ft')} without a "
        f"support; {spacing.value:g} ft is the most.",
        remedy=Change("part", guids, "hanger", text),
        measured=Measure(longest, spacing.unit),
        required=Measure(spacing.value, spacing.unit, "at most"),
        steps=[Step(f'"{e.label}" runs {feet_text(ft)} without one') for e, ft in bare],
        elements=guids,
        clause=spacing.clause,
    )


def _unheld_m(pipe: Element, length_m: float, context: Context) -> float:
    """The longest stretch of a pipe without a hanger, its ends taken as held."""
    points = points_of(pipe)
    near = [h for h in named(context, HANGER_WORDS) if is_near(h, points)]
    along = sorted(min(dist(points[0], hanger), length_m) for hanger in near)
    return max(b - a for a, b in pairwise([0.0, *along, length_m]))


def _is_held(pipe: Element, context: Context) -> bool:
    """Whether a pipe lies in the ground, and not in a crawl space, or stands upright."""
    points, ground = points_of(pipe), ground_of(context)
    if len(points) < 2:
        return False
    a, b = points[0], points[-1]
    is_low = ground is not None and all(ground.is_below(p[2] + IN_FLOOR_M) for p in (a, b))
    crawl_spaces = context.plumbing.surroundings.floors.crawl_spaces
    is_low = is_low and not (crawl_spaces.holds(a) and crawl_spaces.holds(b))
    return is_low or not lies_flat(a, b)


def _length_unknown(segment: GasSegment, spacing: Limit, pipes: tuple[str, ...]) -> Answer:
    need = Measure(spacing.value, spacing.unit, "at most")
    return not_known(SUPPORTED, segment, f"{spacing.value:g}", elements=pipes, required=need)


def _spacing(segment: GasSegment, context: Context) -> Limit:
    """How far apart its supports may be: the row of the next larger size holds."""
    table = context.code.table("gas_support")
    row = table.next_row("size_in", given(segment.size_in)) or table.rows[-1]
    return row.limit("spacing_ft", "ft")


@gas_rule(
    title="Line regulator vented outdoors, or of the kind that needs no vent",
    subject=GasRegulator,
    clauses={"upc": "1208.8", "ipc": "IFGC 410.3", "irc": "G2421.3"},
    severity=Severity.MEDIUM,
)
def gas_regulator_vent(regulator: GasRegulator, context: Context) -> Answer:
    """When its diaphragm tears, a regulator blows gas out of its vent: into the room, if it may.

    A regulator outdoors needs no vent line; one inside has a vent pipe that ends outdoors, or says
    that it has a vent limiter.
    """
    place = middle_of(regulator.element)
    inside = is_indoors(place, context) if place is not None else None
    if inside is False or says(regulator.element, LIMITER_WORDS):
        return PASS
    line = _vent_line(regulator, context)
    if line is None and inside:
        text = "Carry a vent line outdoors, or fit a regulator with a vent limiter."
        return missing(
            REGULATOR_VENTS,
            message=f"{regulator.label} has no vent.",
            remedy=Change("part", regulator.element_ids, "vent line", text),
        )
    return _vent_ends_outdoors(regulator, context, line)


def _vent_ends_outdoors(
    regulator: GasRegulator, context: Context, line: DischargeLine | None
) -> Answer:
    ends_inside = is_indoors(line.end, context) if line is not None and line.end else None
    if line is None or ends_inside is None:
        return not_known(VENTED, regulator)
    return require(
        not ends_inside,
        message=f"The vent of {regulator.label} ends in the building.",
        remedy="Carry the vent line outdoors, or fit a regulator with a vent limiter.",
        elements=(line.last.guid, *regulator.element_ids),
    )


def _regulators(context: Context) -> list[GasRegulator]:
    return context.plumbing.gas.regulators if context.plumbing.gas is not None else []


def _is_vented(regulator: GasRegulator, context: Context) -> bool:
    return says(regulator.element, LIMITER_WORDS) or _vent_line(regulator, context) is not None


def _vent_line(regulator: GasRegulator, context: Context) -> DischargeLine | None:
    """The line from the regulator that feeds nothing."""
    network, index = context.plumbing.network, regulator.index
    outlets = [n for n in neighbours(network, index) if n[0] not in carrying(context)]
    return follow(network, index, outlets) if outlets else None


@derived
def carrying(context: Context) -> set[int]:
    """The elements through which gas comes to an appliance."""
    piping = context.plumbing.gas
    return piping.distribution.serving if piping is not None else set()


RULES = (gas_concealed_joint, gas_sleeve, gas_through_foundation, gas_support, gas_regulator_vent)
