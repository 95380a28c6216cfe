"""Rules about how far above the roof a gas vent ends, and in what."""

from math import hypot, inf

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Fact,
    check,
    due,
    given,
    known,
    not_known,
    violation,
)
from ifclint.engineering.arithmetic import largest
from ifclint.engineering.tolerance import at_least, at_most, lies_above, slack
from ifclint.engineering.units import M_PER_FT, feet
from ifclint.engineering.wording import apart_text, feet_text, sentence
from ifclint.findings import Answer, Severity, Step
from ifclint.ifc.elements import Point, Surface
from ifclint.packs import Context, rule
from ifclint.plumbing import FuelVent
from ifclint.plumbing.surroundings.obstacles import level_distance_m
from ifclint.plumbing.surroundings.roofs import THICKEST_M, RoofOver
from ifclint.plumbing.words import says
from ifclint.rules.heaters.venting import Draft, draft, is_beside
from ifclint.rules.heaters.wording import raised

NEAR_WALL = Fact(
    "whether {} ends far enough above {}, which stands near it and rises above the roof,",
    "Carry the vent to 2 ft above whatever of the building lies within 10 ft, or 8 ft from the "
    "wall, or show that the vent's listing allows it.",
)
BENT = ("gooseneck*", "goose neck*", "return bend*", "schwanenhals*", "zwanenhals*", "col de cygne",
    "cuello de ganso", "cuello de cisne", "collo d oca", "collo d'oca")  # fmt: skip
STEP_M = 0.15  # from one place to the next where the slope of a roof is taken. Ours, no source
LEAST = Fact(
    "how far {} must end above so steep a roof",
    "Show the height that the maker of the vent asks for.",
)
ABOVE_ROOF = Fact(
    "how far {} ends above the roof",
    "Model each plane of the roof as a slab of its own (IfcSlab, ROOF).",
)


@rule(
    title="Gas vent far enough above the roof",
    clauses={"upc": "509.6.1", "ipc": "IFGC 503.6.5", "irc": "G2427.6.3"},
    severity=Severity.HIGH,
)
def gas_vent_above_roof(vent: FuelVent, context: Context) -> Answer:
    """Wind that rolls over a roof blows down into a vent that ends in it.

    From the roof under the terminal up to it, against the least for the slope of the roof there.
    Direct-vent and power-vented appliances follow their makers' instructions and are excused, and
    so is what ends beside the building. Near a wall or parapet that rises above the roof the vent
    must end so far above that; where the wall stands askew its box is larger than it, and that is
    unverified, as is a vent of more than 12 in.
    """
    kinds = [draft(c.appliance) for c in vent.connectors]
    end = due(vent.top)
    if not vent.is_capped or all(kind is Draft.OTHER for kind in kinds):
        return NOT_APPLICABLE
    roof = due(context.plumbing.surroundings.roof_over(end))
    is_under = end[2] < roof.underside_m
    if is_under and is_beside(given(vent.leaves_at), context):
        return NOT_APPLICABLE
    return (
        _high_enough(vent, context, roof, end)
        if context.plumbing.surroundings.is_outdoors(end)
        else NOT_APPLICABLE
    )


def _high_enough(vent: FuelVent, context: Context, roof: RoofOver, end: Point) -> Answer:
    """The height of a vent above the roof, against the least for its slope."""
    slope = _slope_in_per_ft(end, context)
    above, table = feet(end[2] - roof.top_m), context.code.table("gas_vent_above_roof")
    row = known(table.next_row("rise_in_per_ft", slope - slack(slope, "in/ft")), LEAST)
    least_ft = row.number("above_roof_ft")
    is_known = roof.is_exact and at_most(roof.top_m - roof.underside_m, THICKEST_M, "m")
    answer = check(
        above,
        at_least=row.limit("above_roof_ft", "ft"),
        message=f"{sentence(vent.label)} ends {apart_text(above, least_ft, 'ft')} above "
        f"{roof.name or 'the roof'}.",
        remedy=raised(
            vent,
            (least_ft - above) * M_PER_FT,
            f"Carry the vent to {least_ft:g} ft above the roof.",
        ),
        steps=(Step("Slope of the roof there", slope, "in/ft"),),
        limit_step="Least for that slope",
        elements=(vent.terminal.guid, *vent.element_ids),
    )
    if answer.message and not is_known:
        return not_known(ABOVE_ROOF, vent, elements=(vent.terminal.guid,))
    wall = _wall_near(end, context) if answer is PASS else None
    return answer if wall is None else _above_wall(vent, context, wall, end)


def _above_wall(vent: FuelVent, context: Context, wall: Surface, end: Point) -> Answer:
    """The height of a vent above a wall near it."""
    name, limit = wall.name or "a wall", context.code.limit("gas_vent_above_wall_ft")
    if wall.outline:
        return not_known(NEAR_WALL, vent, name, elements=(vent.terminal.guid,))
    above = feet(end[2] - wall.high[2])
    so_far = apart_text(abs(above), limit.value, "ft")
    beside = feet_text(feet(level_distance_m(end, wall.low, wall.high)))
    return check(
        above,
        at_least=limit,
        message=f"{sentence(vent.label)} ends {so_far} {'below' if above < 0 else 'above'} the "
        f"top of {name}, which stands {beside} from it.",
        remedy=raised(
            vent,
            (limit.value - above) * M_PER_FT,
            f"Carry the vent to {limit.value:g} ft above the wall, or set it "
            f"{context.code.limit('gas_vent_from_wall_ft').value:g} ft from it.",
        ),
        elements=(vent.terminal.guid, wall.guid, *vent.element_ids),
    )


def _wall_near(end: Point, context: Context) -> Surface | None:
    """The highest wall so near that more is asked for: that rises above every roof over the
    place."""
    around = context.plumbing.surroundings
    near_m = context.code.limit("gas_vent_from_wall_ft").value * M_PER_FT
    ridge_m = max((r.high[2] for r in around.above_or_below("roof", end)), default=end[2])
    near = (
        wall
        for wall in around.of_kind_around("wall", end, (near_m, near_m, inf))
        if not at_least(level_distance_m(end, wall.low, wall.high), near_m, "m")
        and lies_above(wall.high[2], ridge_m)
    )
    return max(near, key=lambda wall: wall.high[2], default=None)


def _slope_in_per_ft(at: Point, context: Context) -> float:
    """How steep the roof is at a place: the rise over a short way, in either direction."""
    around, here = context.plumbing.surroundings, given(context.plumbing.surroundings.roof_over(at))
    rises = []
    for dx, dy in ((STEP_M, 0.0), (0.0, STEP_M)):
        beside = (around.roof_over((at[0] + k * dx, at[1] + k * dy, at[2])) for k in (1, -1))
        rises.append(largest(abs(b.top_m - here.top_m) for b in beside if b is not None))
    return hypot(*rises) / STEP_M * 12


@rule(
    title="Gas vent ends in a cap",
    clauses={"upc": "509.6", "ipc": "IFGC 503.6", "irc": "G2427.6"},
    applies=lambda vent: vent.is_capped,
)
def gas_vent_cap(vent: FuelVent, context: Context) -> Answer:
    """What is bent over at the top stands against the draft, and wind blows straight into it.

    A terminal called a gooseneck or return bend is no listed cap. The vents of appliances that are
    not of Category I end as their makers say, and are excused.
    """
    if all(draft(c.appliance) is Draft.OTHER for c in vent.connectors):
        return NOT_APPLICABLE
    if not says(vent.terminal, BENT):
        return PASS
    return violation(
        message=f"{sentence(vent.label)} ends in no cap, but in {vent.terminal.label}.",
        remedy="End the vent straight up in a listed cap.",
        elements=(vent.terminal.guid, *vent.element_ids),
    )
