"""The rule about where the vents of direct-vent and power-vented appliances end."""

from collections.abc import Iterator
from math import inf

from ifclint.checks import (
    PASS,
    Bounds,
    Fact,
    advise,
    against,
    check,
    drawn,
    due,
    each,
    given,
    known,
    not_known,
)
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.extents import apart_m
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import M_PER_FT, feet, inches
from ifclint.engineering.wording import apart_text, feet_text, number_text, sentence
from ifclint.findings import Answer, Severity
from ifclint.ifc.elements import Element, Point, Role, Surface
from ifclint.packs import Context, rule
from ifclint.part_kinds import OPENINGS
from ifclint.plumbing import FuelVent
from ifclint.plumbing.surroundings.obstacles import level_distance_m
from ifclint.plumbing.words import CONDENSES, ROOM_SEALED, says_text
from ifclint.rules.heaters.venting import (
    GIVE_INPUT,
    KBTUH,
    Draft,
    draft,
    input_kbtuh,
    is_beside,
    told_of,
)

POWERED = ("power vent*", "power-vent*", "category iii", "cat iii")
FIXED = ("fixed", "picture window", "non operable", "inoperable", "not operable", "festverglas*",
    "fijo", "fija")  # fmt: skip
WALKS = ("walkway", "sidewalk", "footpath", "gehweg", "gehsteig", "trottoir", "acera", "stoep")
BESIDE_M = 0.3  # of a walk is over it: how far a terminal stands out. Ours, no source
HOW = Fact(
    "whether {} is direct vent or takes the air of its room is not known, and {} lies near its "
    "terminal.",
    "Tell in the appliance's name whether it is direct vent or power vented.",
)
INPUT = Fact("how far {} may end from {} is not known without the input.", GIVE_INPUT)
BY_MAKER = Fact(
    "{} is of more than {} kBtu/h, which the code leaves to its maker, and ends {} from {}.",
    "Show the clearance that the maker asks for.",
)
GROUND = Fact(
    "how high above the ground {} ends is not known.",
    "Give the height of the ground in the job file (building.grade_elevation).",
)
INTAKE = Fact(
    "whether {} draws its air in near {}", "Name intakes and exhausts so, each drawn by itself."
)
PUBLIC = Fact(
    "{} ends {} above {}; whether that is a public walk is not known.",
    "Tell by the name of the walk, or carry the terminal 7 ft above it.",
)


@rule(
    title="Direct vent or power vent ends clear of openings, ground and walks",
    clauses={"upc": "509.8", "ipc": "IFGC 503.8", "irc": "G2427.8"},
    severity=Severity.HIGH,
)
def vent_terminal_clear(vent: FuelVent, context: Context) -> Iterator[Answer]:
    """Flue gas that leaves beside a window comes back in by it, and kills as in a room.

    Vents of direct-vent, power-vented and condensing appliances, and what ends beside the building
    of appliances that tell no draft, where they end outdoors. From windows and doors of outside
    walls: direct vent the distance that its input asks for, others so far below or beside, or
    above. A window named as fixed is no opening. Above the ground; what takes the air of its room
    also above a walk. A gas meter or regulator near it is an advisory: the codes name none, makers
    do. Over a forced air intake near it what a fan drives ends higher; an intake called gravity or
    passive is an opening, one for combustion is its appliance's own, and of a unit outdoors that is
    not said to be an intake it is asked. Inside corners are left to makers. Ground and the openings
    near direct vents are measured to the edge of the terminal.
    """
    end = due(_end(vent, context))
    yield from each([vent], _above_ground, end, context)
    yield from each(_walks(end, context), _above_walk, vent, end, context)
    yield from each(_meters(context), _from_meter, vent, end, context)
    yield from each(_intakes(end, context), _from_intake, vent, end, context)
    drawn(OPENINGS, context, "how far {} ends from them", vent)
    yield PASS
    yield from each(_openings(vent, context), _from_opening, vent, end, context)


def _end(vent: FuelVent, context: Context) -> Point | None:
    """Where it ends outdoors, if it is of such an appliance; None of any other."""
    kinds, end = {draft(c.appliance) for c in vent.connectors}, vent.leaves_at
    if (
        end is None
        or kinds & {Draft.NATURAL, Draft.FAN}
        or not context.plumbing.surroundings.is_outdoors(end)
    ):
        return None
    is_told = None not in kinds
    return vent.top if is_told or is_beside(end, context) else None


def _is_direct(vent: FuelVent) -> bool | None:
    """Whether its appliances take their air from outdoors; None where nothing tells."""
    told = [told_of(c.appliance) for c in vent.connectors]
    if all(says_text(text, ROOM_SEALED) for text in told):
        return True
    return False if any(says_text(text, POWERED) for text in told) else None


def _above_ground(vent: FuelVent, end: Point, context: Context) -> Answer:
    """How far what ends beside the building ends above the ground."""
    if not is_beside(given(vent.leaves_at), context):
        return PASS
    ground = known(context.ground, GROUND, vent)
    low, high = (inches(end[2] - z) - _half_in(vent) for z in (ground.high_m, ground.low_m))
    limit = context.code.limit("gas_terminal_above_grade_in")
    return check(
        Bounds(GROUND, vent, low=low, high=high, about="ground"),
        at_least=limit,
        message=f"{sentence(vent.label)} ends {apart_text(high, limit.value, 'in')} above the "
        "ground.",
        remedy=f"Carry it {limit.value:g} in above the ground, higher where snow lies.",
        about="ground",
    )


def _half_in(vent: FuelVent) -> float:
    """From the middle of its terminal to the edge; 0 where its size is not known."""
    return or_zero(vent.terminal.size_in) / 2


def _walks(end: Point, context: Context) -> list[Surface]:
    """The walks that it ends over."""
    slabs = (s for s in context.plumbing.surroundings.of_kind("slab") if s.high[2] < end[2])
    near = (s for s in slabs if at_most(level_distance_m(end, s.low, s.high), BESIDE_M, "m"))
    return [s for s in near if says_text(s.name, WALKS)]


def _above_walk(walk: Surface, vent: FuelVent, end: Point, context: Context) -> Answer:
    """How far what takes the air of its room ends above a public walk."""
    limit, above = context.code.limit("gas_terminal_above_walk_ft"), feet(end[2] - walk.high[2])
    if _is_direct(vent) or at_least(above, limit.value, "ft"):
        return PASS
    ids = (vent.terminal.guid, walk.guid)
    if _is_direct(vent) is None:
        return not_known(HOW, vent.connectors[0].appliance, walk.name, elements=ids)
    if not says_text(walk.name, ("public", "sidewalk")):
        return not_known(PUBLIC, sentence(vent.label), feet_text(above), walk.name, elements=ids)
    return check(
        above,
        at_least=limit,
        message=f"{sentence(vent.label)} ends {apart_text(above, limit.value, 'ft')} above "
        f"{walk.name}.",
        remedy=f"Carry it {limit.value:g} ft above the walk, or elsewhere.",
        elements=ids,
    )


def _meters(context: Context) -> list[Element]:
    piping = context.plumbing.gas
    kinds = (Role.METER, Role.REGULATOR)
    return [e for e in piping.members if e.role in kinds] if piping is not None else []


def _from_meter(meter: Element, vent: FuelVent, end: Point, context: Context) -> Answer:
    """How far it ends beside a gas meter or regulator that is not high above or below it."""
    at = due(meter.position)
    limit = context.code.limit("gas_terminal_from_meter_ft")
    height = context.code.limit("gas_terminal_over_meter_ft")
    beside = feet(level_distance_m(end, at, at))
    is_level = at_most(abs(feet(end[2] - at[2])), height.value, "ft")
    if not is_level or at_least(beside, limit.value, "ft"):
        return PASS
    return advise(
        f"{sentence(vent.label)} ends {feet_text(beside)} beside {meter.label}.",
        f"End it {limit.value:g} ft to the side of the meter and regulator, as makers and gas "
        "suppliers ask.",
        elements=(vent.terminal.guid, meter.guid),
        **against(beside, limit, "at least"),
    )


def _openings(vent: FuelVent, context: Context) -> list[Surface]:
    """The windows and doors that open outdoors: above the roof all, since a dormer is no wall."""
    around, footprint = context.plumbing.surroundings, context.plumbing.surroundings.footprint
    found = [o for o in around.outdoor_openings if not says_text(o.name, FIXED)]
    if footprint is None or not is_beside(given(vent.leaves_at), context):
        return found
    return [o for o in found if footprint.has_outer_face(o.low, o.high)]


def _intakes(end: Point, context: Context) -> list[Surface]:
    """The air intakes near it, and units outdoors that may have one."""
    around = context.plumbing.surroundings
    reach = context.code.limit("gas_mechanical_vent_inlet_reach_ft").value * M_PER_FT
    found = around.of_kind_around("air intake", end, (reach, reach, inf))
    units = around.of_kind_around("air unit", end, (reach, reach, inf))
    found += [u for u in units if around.is_outdoors(_top_of(u)) is not False]
    return [i for i in found if not says_text(i.name, ("combustion",))]


def _top_of(surface: Surface) -> Point:
    (x, y, _), (u, v, top) = surface.low, surface.high
    return ((x + u) / 2, (y + v) / 2, top)


def _from_intake(intake: Surface, vent: FuelVent, end: Point, context: Context) -> Answer:
    """So high above a forced air intake within reach, if a fan drives the flue gas."""
    if says_text(intake.name, ("gravity", "passive")) or not _is_driven(vent):
        return _from_opening(intake, vent, end, context)
    over = context.code.limit("gas_mechanical_vent_above_inlet_ft")
    reach = context.code.limit("gas_mechanical_vent_inlet_reach_ft")
    above = feet(end[2] - intake.high[2])
    beside = feet(level_distance_m(end, intake.low, intake.high))
    if at_least(beside, reach.value, "ft") or at_least(above, over.value, "ft"):
        return PASS
    ids = (vent.terminal.guid, *vent.element_ids, intake.guid)
    if intake.kind == "air unit":
        return not_known(INTAKE, _name(intake), vent, elements=ids)
    return check(
        max(above, 0.0),
        at_least=over,
        message=f"{sentence(vent.label)} ends {_where(end, intake)}.",
        remedy=f"End it {over.value:g} ft above the intake, or {reach.value:g} ft from it.",
        elements=ids,
    )


def _is_driven(vent: FuelVent) -> bool:
    """Whether a fan is known to drive its flue gas."""
    told = [told_of(c.appliance) for c in vent.connectors]
    return any(says_text(text, (*POWERED, *CONDENSES)) for text in told)


def _from_opening(opening: Surface, vent: FuelVent, end: Point, context: Context) -> Answer:
    """How far it ends from a window or door, as it is direct vent or not."""
    is_direct = _is_direct(vent)
    if is_direct is False:
        return _mechanical(opening, vent, end, context)
    answer = _direct(opening, vent, end, context)
    if is_direct or answer is not PASS or _mechanical(opening, vent, end, context) is PASS:
        return answer
    ids = (vent.terminal.guid, opening.guid)
    return not_known(HOW, vent.connectors[0].appliance, _name(opening), elements=ids)


def _name(opening: Surface) -> str:
    return opening.name or f"a {opening.kind}"


def _mechanical(opening: Surface, vent: FuelVent, end: Point, context: Context) -> Answer:
    """So far below or beside an opening, or so far above it."""
    away = context.code.limit("gas_mechanical_vent_from_opening_ft")
    over = context.code.limit("gas_mechanical_vent_above_opening_ft")
    beside = feet(level_distance_m(end, opening.low, opening.high))
    below, above = feet(opening.low[2] - end[2]), feet(end[2] - opening.high[2])
    if at_least(beside, away.value, "ft") or at_least(above, over.value, "ft"):
        return PASS
    is_above = above >= 0.0
    return check(
        above if is_above else max(beside, below),
        at_least=over if is_above else away,
        message=f"{sentence(vent.label)} ends {_where(end, opening)}.",
        remedy=f"End it {away.value:g} ft below or beside the {opening.kind}, or {over.value:g} ft "
        "above it.",
        elements=(vent.terminal.guid, *vent.element_ids, opening.guid),
    )


def _where(end: Point, opening: Surface) -> str:
    """Where it ends, seen from an opening."""
    beside = feet_text(feet(level_distance_m(end, opening.low, opening.high)))
    over, under = end[2] - opening.high[2], opening.low[2] - end[2]
    height = f" and {feet_text(feet(over))} above" if over > 0 else ""
    height = height or (f" and {feet_text(feet(under))} below" if under > 0 else "")
    return f"{beside} beside{height} {_name(opening)}"


def _direct(opening: Surface, vent: FuelVent, end: Point, context: Context) -> Answer:
    """So far from an opening in any direction as the input of a direct-vent appliance asks for."""
    rows = context.code.table("gas_direct_vent_terminal").rows
    away = inches(apart_m((end, end), (opening.low, opening.high))) - _half_in(vent)
    load = _input(vent, context)
    fit = [r for r in rows if load is None or at_most(load, r.number("input_kbtuh"), KBTUH)]
    limits = [row.limit("clear_in", "in") for row in fit or rows[-1:]]
    ids = (vent.terminal.guid, *vent.element_ids, opening.guid)
    answer = check(
        away,
        at_least=limits[0],
        message=f"{sentence(vent.label)} ends {number_text(away, 3)} in from {_name(opening)}.",
        remedy=f"End it {limits[0].value:g} in from the {opening.kind}, or as far as its maker "
        "asks for where that is more.",
        limit_step="Least for its input",
        elements=ids,
    )
    if answer is not PASS or (fit and load is not None):
        return answer
    if load is None:
        is_far = at_least(away, limits[-1].value, "in")
        return PASS if is_far else not_known(INPUT, vent, _name(opening), elements=ids)
    if _mechanical(opening, vent, end, context) is PASS:
        return PASS
    most = rows[-1].number("input_kbtuh")
    return not_known(
        BY_MAKER, vent.connectors[0].appliance, f"{most:g}", feet_text(away / 12), _name(opening),
        elements=ids,
    )  # fmt: skip


def _input(vent: FuelVent, context: Context) -> float | None:
    """The greatest input of its appliances, in thousands of Btu/h; None where one is not known."""
    loads = [input_kbtuh(c.appliance, context) for c in vent.connectors]
    return None if None in loads else max(load for load in loads if load is not None)
