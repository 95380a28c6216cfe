"""Rules about where a heater stands: in a garage, in an attic, with room, held fast."""

from __future__ import annotations

from collections.abc import Iterator

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Bounds,
    Fact,
    check,
    due,
    known,
    missing,
    not_known,
    violation,
)
from ifclint.codes import Limit
from ifclint.engineering.extents import level_m, middle, shared_m, thickness_m
from ifclint.engineering.tolerance import at_least, at_most, lies_above, lies_below
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import apart_text, number_text
from ifclint.findings import Answer, Measure, Outcome, Severity, Step
from ifclint.ifc.elements import Box, Element, Point, Surface, System
from ifclint.packs import Context, rule
from ifclint.plumbing import FuelAppliance, Heater
from ifclint.plumbing.surroundings.obstacles import Obstacle
from ifclint.plumbing.surroundings.room_uses import is_garage
from ifclint.plumbing.words import says
from ifclint.rules.heaters import parts
from ifclint.rules.heaters.attic import in_attic
from ifclint.rules.heaters.ends import floor_under
from ifclint.rules.heaters.wording import inches

# What counts as close to a heater, and as before it; ours, no source.
NEAR_M = 1.5  # level
NEAR_HEIGHT_M = 2.5  # up or down
CLEAR_M = 0.02  # what stands no farther out than this touches the heater
NEAR_FACE = 0.5  # of half the heater's depth: gas that enters so near a side enters there
BACK_M = 0.3  # what hangs above the floor hangs on the wall that is no farther behind it
KNEE_M = 0.3  # what is lower than this over the heater's foot is knelt beside
UPSTAIRS_M = 2.0  # a floor so far above the ground is no garage
Side = tuple[int, float]  # the axis it faces along, and where it lies on that
RESISTANT_WORDS = ("fvir", "vapor ignition resistan*", "vapors ignition resistan*",
    "ignition resistant")  # fmt: skip
BURNER = Fact(
    "how high the burner and pilot of {} are above the garage floor",
    "Show them 18 in above the floor, or set the appliance on a stand of that height.",
)
SPARKS = Fact(
    "whether the switches and elements of {}, which is electric, count as what lights vapors is "
    "read differently.",
    "Set it {1} in above the garage floor, or have the authority agree.",
)
FLAME = Fact(
    "how high the flame of {} is above the floor",
    "Give the heater a shape, and the garage its floor.",
)
IN_ATTIC = Fact(
    "whether {} stands in an attic",
    "Draw the rooms and the attic as spaces (IfcSpace); a level is no room.",
)
SEISMIC = Fact(
    "whether heaters must be held against earthquakes here",
    "Write building.seismic = true or false into the job file.",
    asked_once=True,
)
ROOM_TO_WORK = Fact(
    "whether there is room to work at {}",
    "Give the heater and what stands around it shapes, and add the walls to the review.",
)
CONTROLS = Fact(
    "on which side the controls of {} are is not known; {} stands before one, and none is free.",
    "Check that {2} by {2} in are clear before the controls.",
)


def may_be_in_garage(heater: Heater) -> bool:
    """By the name of its room; one whose room is not known may be."""
    return heater.room is None or is_garage(heater.room)


@rule(
    title="Flame of a heater in a garage above the vapors on the floor",
    subject=Heater,
    clauses={"upc": "507.13", "ipc": "IFGC 305.3", "irc": "P2801.7"},
    severity=Severity.HIGH,
    needs=("burns_fuel",),
    applies=lambda heater: (
        may_be_in_garage(heater)
        and not (heater.burns_fuel is False and heater.room is None)
        and not says(heater.element, RESISTANT_WORDS)
    ),
)
def heater_ignition_height(heater: Heater, context: Context) -> Answer:
    """Gasoline vapor lies on a garage floor, and a pilot lights it.

    The underside of a heater in a garage above the floor: where that is high enough, so is the
    flame. A lower gas connection shows a lower flame. Heaters listed as resistant to ignition of
    flammable vapors are excused. The switches and elements of an electric heater spark too, which
    authorities read differently: a lower one is asked about.
    """
    if heater.room is None and _is_upstairs(heater, context):
        return NOT_APPLICABLE
    known(heater.room, "room", heater)
    limit = context.code.limit("heater_ignition_above_floor_in")
    base, gas = heater.element.box, end_of(heater.element, System.GAS)
    at = gas or heater.element.position
    floor = floor_under(at, context) if at is not None else None
    lowest = base[0] if base else gas
    is_electric = heater.burns_fuel is False
    if floor is None or lowest is None:
        return NOT_APPLICABLE if is_electric else not_known(FLAME, heater)
    return _flame_height(heater, limit, floor, lowest, is_electric, base)


def _flame_height(
    heater: Heater,
    limit: Limit,
    floor: float,
    lowest: Point,
    is_electric: bool,
    base: tuple[Point, Point] | None,
) -> Answer:
    """The height of a heater's underside, or gas, above the garage floor."""
    height = inches(lowest[2] - floor)
    answer = check(
        height,
        at_least=limit,
        message=f"{heater.label} stands {number_text(height)} in above the garage floor; its flame "
        f"must be {limit.value:g} in above it.",
        remedy=f"Set the heater on a stand so that its flame is {limit.value:g} in above the "
        "floor, or take one listed as resistant to ignition of flammable vapors.",
        limit_step="Flame above the floor, at least",
    )
    if is_electric and answer is not PASS:
        return not_known(SPARKS, heater, f"{limit.value:g}", clause=limit.clause)
    is_sure = is_electric or base is not None or answer is not PASS
    return answer if is_sure else not_known(FLAME, heater)


@rule(
    title="Flame of a furnace in a garage above the vapors on the floor",
    subject=FuelAppliance,
    clauses={"upc": "UMC 305.1", "ipc": "IFGC 305.3", "irc": "G2408.2"},
    severity=Severity.HIGH,
    applies=lambda appliance: (
        appliance.burns_fuel is not False
        and not says(appliance.element, RESISTANT_WORDS)
        and is_garage(appliance.element.space)
    ),
)
def appliance_ignition_height(appliance: FuelAppliance, context: Context) -> Answer:
    """A furnace beside a parked car lights what drips from its tank.

    The underside of a furnace or fireplace in a garage above the floor, by the name of the room:
    where that is high enough, so is the flame; where its top is not, neither is the flame; and
    between the two the flame is asked for. One listed as resistant to ignition of vapors is
    excused.
    """
    element = appliance.element
    limit = context.code.limit("heater_ignition_above_floor_in")
    base, top = known(element.box, BURNER, appliance)
    floor = known(floor_under(base, context), BURNER, appliance)
    low, high = inches(base[2] - floor), inches(top[2] - floor)
    return check(
        Bounds(BURNER, appliance, low=low, high=high),
        at_least=limit.value,
        unit=limit.unit,
        message=f"{appliance.label} reaches no higher than {number_text(high)} in above the garage "
        f"floor; its flame must be {limit.value:g} in above it.",
        remedy=f"Set the appliance on a stand so that its flame is {limit.value:g} in above the "
        "floor.",
        limit_step="Flame above the floor, at least",
    )


def _is_upstairs(heater: Heater, context: Context) -> bool:
    """Whether a heater stands on a floor that no car reaches, being so far above the ground."""
    floors = context.plumbing.surroundings.floors
    floor, ground = floors.of(heater.element), floors.ground(context.job.building.grade_elevation)
    if floor is None or ground is None:
        return False
    return at_least(floor.level_m - ground.high_m, UPSTAIRS_M, "m")


def end_of(element: Element, system: System) -> Point | None:
    """The place of its first end of a system."""
    ends = (e.position for e in element.ends if e.system is system)
    return next((point for point in ends if point is not None), None)


@rule(
    title="Heater in a garage protected from vehicles",
    subject=Heater,
    clauses={"upc": "507.13.1", "ipc": "502.1.1, IFGC 303.4 and IMC 303.4", "irc": "M1307.3.1"},
    severity=Severity.HIGH,
    applies=may_be_in_garage,
)
def heater_vehicles(heater: Heater, context: Context) -> Answer:
    """A car that rolls into a heater breaks its pipes, of gas or of hot water.

    A bollard or wheel stop close to a heater in a garage, by name. Where the model draws some, and
    none that is close, that is an advisory: the heater may stand out of the way of any car. The
    sections are from memory.
    """
    if heater.room is None and _is_upstairs(heater, context):
        return NOT_APPLICABLE
    known(heater.room, "room", heater)
    if near(heater, parts.BARRIER_WORDS, context):
        return PASS
    return missing(
        parts.BARRIERS,
        message=f"No bollard or wheel stop is drawn before {heater.label}.",
        remedy="Draw the bollard or wheel stop before the heater, or set it out of the vehicles' "
        "way.",
        wrong=Outcome.ADVISORY,
    )


def near(heater: Heater, words: tuple[str, ...], context: Context) -> list[Element]:
    """Elements named with one of the words, close to a heater."""
    others = [e for e in context.plumbing.saying(words) if e is not heater.element]
    return [e for e in others if _is_near(heater.element.position, e.position)]


def _is_near(a: Point | None, b: Point | None) -> bool:
    if a is None or b is None:
        return False
    is_beside = at_most(level_m(a, b), NEAR_M, "m")
    return is_beside and at_most(abs(b[2] - a[2]), NEAR_HEIGHT_M, "m")


@rule(
    title="Working space before a heater",
    subject=Heater,
    clauses={"ipc": "502.5", "irc": "M1305.1"},
)
def heater_working_space(heater: Heater, context: Context) -> Iterator[Answer]:
    """A heater nobody can kneel before is not relit, drained or replaced.

    A space of the code's size, level, before the side where its gas enters (its controls), free of
    walls and of other equipment; what is fastened to the heater, and what keeps vehicles off it, is
    in nobody's way. A heater without gas, and one whose gas enters from below, from above or at the
    side by which it hangs on a wall, may have its controls on any side: one that is free will do,
    and where none is, that is a question.
    """
    limit = due(context.code.limit_or_none("heater_working_space_in"))
    box, side = heater.element.box, _control_side(heater, context)
    if box is None or not context.plumbing.surroundings.has_walls:
        yield not_known(ROOM_TO_WORK, heater)
        return
    sides = _sides(box) if side is None else [side]
    spaces = (_space_before(box, one, limit.value * M_PER_IN) for one in sides)
    blocked = min((_in_the_way(heater, space, context) for space in spaces), key=len)
    if blocked and side is None:
        yield not_known(CONTROLS, heater, blocked[0].label, f"{limit.value:g}")
        return
    for blocking in blocked:
        yield _in_working_space(heater, limit, blocking)
    yield PASS


def _in_working_space(heater: Heater, limit: Limit, blocking: Obstacle) -> Answer:
    return violation(
        message=f"{blocking.label} stands in the working space before {heater.label}.",
        remedy=f"Keep {limit.value:g} by {limit.value:g} in clear before the heater's controls.",
        required=Measure(limit.value, "in", "at least"),
        steps=(limit.step("Clear, each way"),),
        elements=(*heater.element_ids, blocking.guid),
        about=blocking.guid,
        clause=limit.clause,
    )


def _in_the_way(heater: Heater, space: tuple[Point, Point], context: Context) -> list[Obstacle]:
    """Walls and equipment in a space, but for what belongs to the heater."""
    own = {heater.key, heater.pan.key if heater.pan else ""}
    own |= {e.guid for e in context.plumbing.saying(parts.BARRIER_WORDS)}
    own |= {e.guid for e in context.plumbing.saying(parts.STRAP_WORDS)}
    near_it = context.plumbing.surroundings.within(*space)
    box = heater.element.box
    return [
        b
        for b in near_it
        if b.kind in ("wall", "equipment")
        and b.guid not in own
        and not (b.kind == "equipment" and box is not None and _meets(box, b))
    ]


def _meets(box: tuple[Point, Point], other: Obstacle) -> bool:
    """Whether something reaches into the heater's own box: it is fastened to it."""
    return min(shared_m(box, (other.low, other.high))) > CLEAR_M


def _control_side(heater: Heater, context: Context) -> Side | None:
    """The side near which gas enters. What enters from below or above, or at the side by which a
    heater hangs on a wall, its back, tells nothing."""
    box, gas = heater.element.box, end_of(heater.element, System.GAS)
    if box is None or gas is None:
        return None
    if not lies_above(gas[2] - box[0][2], CLEAR_M) or not lies_above(box[1][2] - gas[2], CLEAR_M):
        return None
    nearest = min(_sides(box), key=lambda side: abs(gas[side[0]] - side[1]))
    across = (box[1][nearest[0]] - box[0][nearest[0]]) / 2
    if at_least(abs(gas[nearest[0]] - nearest[1]), NEAR_FACE * across, "m"):
        return None
    return None if _hangs_by(box, nearest, context) else nearest


def _hangs_by(box: Box, side: Side, context: Context) -> bool:
    """Whether a heater hangs above the floor, with a wall close at one of its sides."""
    floor_m = floor_under(middle(*box), context)
    if floor_m is None or not lies_above(box[0][2] - floor_m, KNEE_M):
        return False
    behind = _space_before(box, side, BACK_M)
    return any(b.kind == "wall" for b in context.plumbing.surroundings.within(*behind))


def _sides(box: Box) -> list[Side]:
    low, high = box
    return [(k, face) for k in (0, 1) for face in (high[k], low[k])]


def _space_before(box: Box, side: Side, reach_m: float) -> Box:
    """The box of a space as wide as it is deep, before a side."""
    low, high = list(box[0]), list(box[1])
    along, face = side
    across, out = 1 - along, 1 if face == high[along] else -1
    middle = (low[across] + high[across]) / 2
    low[across], high[across] = middle - reach_m / 2, middle + reach_m / 2
    low[along], high[along] = sorted((face + out * CLEAR_M, face + out * reach_m))
    return (low[0], low[1], low[2] + KNEE_M), (high[0], high[1], high[2])


@rule(
    title="Heater in an attic on a platform that can be reached",
    subject=Heater,
    clauses={"upc": "508.4", "ipc": "502.3", "irc": "M1305.1.2"},
)
def heater_attic_access(heater: Heater, context: Context) -> Answer:
    """A heater that is reached over bare joists is not looked after.

    A platform close to the heater, by name (a slab may be one), and its size each way where it has
    a shape. The passage to it must be checked by eye. Where nothing but the name of a level, or a
    roof close above, says that it stands in an attic, that is asked.
    """
    attic = known(in_attic(context, heater), IN_ATTIC)
    if not attic:
        return NOT_APPLICABLE
    limit = context.code.limit("heater_platform_in")
    passage = context.code.limit("heater_passage_ft")
    steps = limit.step("Platform, each way, at least"), passage.step("Passage, at most")
    platforms: list[Element | Surface] = [*near(heater, parts.PLATFORM_WORDS, context)]
    platforms += [s for s in parts.platform_slabs(context) if _is_near_slab(heater, s)]
    if not platforms:
        message = f"How {heater.label} in the attic is reached is not known."
        return missing(parts.PLATFORMS, message=message, steps=steps)
    return _platform_size(heater, limit, steps, platforms)


def _is_near_slab(heater: Heater, slab: Surface) -> bool:
    return _is_near(heater.element.position, middle(slab.low, slab.high))


def _platform_size(
    heater: Heater, limit: Limit, steps: tuple[Step, Step], platforms: list[Element | Surface]
) -> Answer:
    """The narrower side of the widest platform at a heater."""
    drawn = [(p.low, p.high) if isinstance(p, Surface) else p.box for p in platforms]
    boxes = [box for box in drawn if box is not None]
    widths = [thickness_m(*box) for box in boxes]
    widest = inches(max(widths)) if widths else limit.value
    return check(
        widest,
        at_least=limit,
        message=f"The platform at {heater.label} is {apart_text(widest, limit.value, 'in')} wide.",
        remedy=f"Make the platform {limit.value:g} in each way, or larger.",
        steps=steps,
        elements=(*heater.element_ids, *(p.guid for p in platforms)),
    )


@rule(
    title="Heater held against earthquakes",
    subject=Heater,
    clauses={"upc": "507.2", "ipc": "502.4", "irc": "P2801.8"},
    severity=Severity.HIGH,
    applies=lambda heater: not heater.is_tankless,
)
def heater_seismic(heater: Heater, context: Context) -> Answer:
    """A tank that topples breaks its gas pipe while the water mains lie in the street.

    Where the job file says that the site is seismic: two straps by name close to the heater, in
    its upper and lower thirds.
    """
    if not known(context.job.building.seismic, SEISMIC):
        return NOT_APPLICABLE
    straps = near(heater, parts.STRAP_WORDS, context)
    remedy = "Strap the heater in the upper and in the lower third."
    if not straps:
        message = f"No seismic strap is drawn at {heater.label}."
        return missing(parts.STRAPS, message=message, remedy=remedy)
    return _straps_hold(heater, context, straps, remedy)


def _straps_hold(heater: Heater, context: Context, straps: list[Element], remedy: str) -> Answer:
    """How many straps hold a heater, and which thirds of it."""
    ids = (*heater.element_ids, *(strap.guid for strap in straps))
    enough = check(
        len(straps),
        at_least=context.code.limit("heater_straps"),
        message=f"{heater.label} is held by one strap; two are asked for.",
        remedy=remedy,
        elements=ids,
    )
    bare = _bare_thirds(heater, straps)
    if enough is not PASS or not bare:
        return enough
    return violation(
        message=f"The straps of {heater.label} leave its {' and its '.join(bare)} third unheld.",
        remedy=remedy,
        elements=ids,
        clause=context.code.limit("heater_straps").clause,
    )


def _bare_thirds(heater: Heater, straps: list[Element]) -> list[str]:
    """The upper and the lower third of a heater, where no strap is; none where it has no shape."""
    if heater.element.box is None:
        return []
    (_, _, low), (_, _, high) = heater.element.box
    third = (high - low) / 3
    heights = [strap.position[2] for strap in straps if strap.position is not None]
    held = {
        "upper": any(not lies_below(z, high - third) for z in heights),
        "lower": any(not lies_above(z, low + third) for z in heights),
    }
    return [name for name, is_held in held.items() if not is_held]


RULES = (
    heater_ignition_height, appliance_ignition_height, heater_vehicles, heater_working_space,
    heater_attic_access, heater_seismic,
)  # fmt: skip
