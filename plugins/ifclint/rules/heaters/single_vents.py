"""Rules about vents of one appliance: how wide they are, and what they are made of."""

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, check, known, not_known, violation
from ifclint.engineering.wording import number_text, sentence, trade_size
from ifclint.findings import Answer, Severity
from ifclint.ifc.elements import Element, Surface
from ifclint.packs import Context, rule
from ifclint.plumbing import FuelVent
from ifclint.plumbing.surroundings.obstacles import level_distance_m
from ifclint.plumbing.words import says_text
from ifclint.rules.heaters.venting import (
    SINGLE_WALL_WORDS,
    TYPE_B_WORDS,
    VENT_SIZE,
    Draft,
    draft,
    words_of,
)

ALONE = {"upc": "510.1", "ipc": "IFGC 504.2", "irc": "G2428.2"}
SINGLE_WALL = {"upc": "509.7", "ipc": "IFGC 503.7", "irc": "G2427.7"}
SHEET_METAL = frozenset({"steel", "galvanized steel", "stainless steel", "aluminum", "copper"})
VENT_SIZES_IN = (3, 4, 5, 6, 7, 8, 9, 10, 12)  # that the codes' tables list; from memory
FEWER = 1  # sizes that a table may reduce a vent below the outlet by; IFGC 504.2.2, from memory
CARRIES = Fact(
    "whether {} carries {}",
    "Size it by its height, level length and input in the code book's table of vents of one "
    "appliance; where the appliance has a draft hood, name it so and give its outlet a size.",
)
STRAIGHT_OUT = Fact(
    "whether {}, of {} that is not stated to be double-wall, leaves the appliance's own room "
    "straight through the roof",
    "Carry it in Type B where it passes a floor, an attic or a concealed space, or show the "
    "thimble where it passes the roof of the room itself.",
)


def _is_alone(vent: FuelVent) -> bool:
    return len(vent.connectors) == 1 and draft(vent.connectors[0].appliance) is not Draft.OTHER


@rule(
    title="Vent of one appliance of the right size",
    clauses=ALONE,
    severity=Severity.HIGH,
    applies=_is_alone,
    of_load=True,
)
def single_vent_size(vent: FuelVent, context: Context) -> Answer:
    """A vent too small spills flue gas; one too wide never warms, and does not draw.

    An area of more than the code's multiple of the appliance's outlet is wrong, as is a vent more
    than one size of the tables smaller than the outlet, whatever it is to carry. The vent of an
    appliance told to have a draft hood may be no smaller than that outlet, and needs no table. Of
    any other the table decides, which nothing here holds: that is unverified.
    """
    connector = vent.connectors[0]
    size, outlet = known(vent.size_in, VENT_SIZE, vent), connector.outlet_in
    limit = context.code.limit("gas_single_vent_area_ratio")
    if outlet is None:
        return not_known(CARRIES, vent, connector.appliance)
    if sum(size <= s < outlet for s in VENT_SIZES_IN) > FEWER:
        of, text = vent.connectors[0].appliance, trade_size(outlet)
        return violation(
            message=f"{sentence(vent.label)} leads from the {text} outlet of "
            f"{of.label}: no table reduces it by more than one size.",
            remedy=f"Make the vent {text} from the appliance to its cap, or the size its table "
            "gives.",
            elements=(*vent.element_ids, of.guid),
        )
    ratio = (size / outlet) ** 2
    narrow_enough = check(
        ratio,
        at_most=limit,
        message=f"{sentence(vent.label)} has {number_text(ratio)} times the area of the outlet of "
        f"{connector.appliance.label}; {limit.value:g} times is the most.",
        remedy="Reduce the vent to the size its table asks for.",
        limit_step="Area, at most times",
    )
    if narrow_enough is not PASS:
        return narrow_enough
    has_hood = draft(connector.appliance) is Draft.NATURAL
    return PASS if has_hood and size >= outlet else not_known(CARRIES, vent, connector.appliance)


@rule(
    title="Single-wall vent straight through the roof",
    clauses=SINGLE_WALL,
    severity=Severity.HIGH,
    applies=lambda vent: bool(_single_wall(vent)) and _is_category_i(vent),
)
def vent_single_wall(vent: FuelVent, context: Context) -> Answer:
    """Single-wall pipe in an attic sets the framing alight.

    A vent to outdoors of which a pipe is told to be single-wall, or of sheet metal and not stated
    to be double-wall: it may only run from the appliance's own room straight out, which the model
    does not show, so that is unverified. Where such a pipe passes a slab below the roof, it is
    wrong if it is told to be single-wall. Direct-vent and power-vented appliances are excused.
    """
    end = vent.leaves_at
    outdoors = context.plumbing.surroundings.is_outdoors(end) if end is not None else None
    if outdoors is False:
        return NOT_APPLICABLE
    pipes = _single_wall(vent)
    ids = tuple(p.guid for p in pipes)
    for pipe in pipes:
        floor = _floor_passed(pipe, vent, context) if _is_told_single(pipe) else None
        if floor is not None:
            return violation(
                message=f"{sentence(vent.label)} is of single-wall pipe where it passes "
                f"{floor.name or 'a floor'}.",
                remedy="Carry it in Type B from the appliance's room to its cap.",
                elements=(pipe.guid,),
            )
    return not_known(STRAIGHT_OUT, vent, pipes[0].material, elements=ids)


def _is_category_i(vent: FuelVent) -> bool:
    return any(draft(c.appliance) is not Draft.OTHER for c in vent.connectors)


def _single_wall(vent: FuelVent) -> list[Element]:
    """The pipes of a vent on its way out that are of one wall of metal, as far as is told."""
    return [p for p in vent.pipes if _is_single_wall(p)]


def _is_single_wall(pipe: Element) -> bool:
    told = words_of(pipe)
    is_double = says_text(told, TYPE_B_WORDS)
    return _is_told_single(pipe) or (pipe.material in SHEET_METAL and not is_double)


def _is_told_single(pipe: Element) -> bool:
    return says_text(words_of(pipe), SINGLE_WALL_WORDS)


def _floor_passed(pipe: Element, vent: FuelVent, context: Context) -> Surface | None:
    """A slab below the roof that an upright pipe passes."""
    around, points = context.plumbing.surroundings, pipe.places
    roof = around.roof_over(vent.top) if vent.top is not None else None
    if roof is None or len(points) < 2:
        return None
    low, high = (pick(points, key=lambda p: p[2]) for pick in (min, max))
    passed = (
        s
        for s in around.of_kind("slab")
        if low[2] < s.low[2]
        and s.high[2] < min(high[2], roof.underside_m)
        and level_distance_m(low, s.low, s.high) == level_distance_m(high, s.low, s.high) == 0.0
    )
    return next(passed, None)
