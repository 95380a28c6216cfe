"""How deep gas pipe lies in the ground."""

from collections import defaultdict

from ifclint.checks import PASS, Fact, check, due, not_known
from ifclint.engineering.extents import lies_flat
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, Measure, Step
from ifclint.ifc.elements import Point
from ifclint.packs import Context
from ifclint.plumbing import GasAppliance, GasSegment
from ifclint.plumbing.gas.gas_piping import middle_of
from ifclint.plumbing.words import says
from ifclint.rules.gas.caution import gas_rule
from ifclint.rules.gas.places import IN_FLOOR_M, is_inside, radius_m

COVER = Fact(
    "how much ground covers {}",
    "State the cover over buried gas pipe, or the height of the ground in the job file "
    "(building.grade_elevation).",
)
OUTDOOR = ("outdoor", "outdoors", "exterior", "patio", "barbecue")
LESS_COVER = Fact(
    "whether the authority accepts {} of cover over {}, which leads to {} outdoors alone",
    "Ask for it, and write the accepted cover into the job file as an amendment (gas_burial_in).",
)


@gas_rule(
    title="Gas pipe in the ground covered deep enough",
    clauses={"upc": "1210.1.1", "ipc": "IFGC 404.12", "irc": "G2415.12"},
    needs=("placed",),
)
def gas_burial(segment: GasSegment, context: Context) -> Answer:
    """A spade reaches a foot deep.

    The depth of pipe outside the building, by the top of its outside and not its axis, under the
    ground, where the job file or the terrain tells it, else under the lowest floor, as the ground
    is seldom above that: too shallow there is too shallow; deep enough there must still be shown
    against the ground, by the cover stated. The fuel gas code lets an authority accept less over a
    line to one appliance outdoors. On terrain that falls, cover enough under its lowest
    place is enough, too little under its highest is too little, and what lies between is asked.
    """
    ground, top = due(context.ground), due(_top_m(segment, context))
    of = f"the ground ({ground.basis})" if ground.is_told else "the lowest floor"
    if ground.level_m is not None or ground.is_told:
        below = _covered(
            f"The top of {segment.label} lies {{}} below {of}",
            ground.high_m - top,
            segment,
            context,
            (Step("Half its outside diameter", radius_m(segment, segment.pipes) / M_PER_IN, "in"),),
        )
        if below is not PASS:  # too shallow even where the ground is highest
            return below
    stated = [c for p in segment.pipes if (c := p.properties.number("cover_m")) is not None]
    if stated:
        return _covered(
            f"{segment.label} is stated to lie {{}} deep", min(stated), segment, context
        )
    is_deep = ground.is_told and _covered("{}", ground.low_m - top, segment, context) is PASS
    if is_deep and segment.size_in is not None:  # without its size only its axis is known
        return PASS
    limit = context.code.limit("gas_burial_in")
    return not_known(COVER, segment, required=Measure(limit.value, limit.unit, "at least"))


def _covered(
    words: str, cover_m: float, segment: GasSegment, context: Context, steps: tuple[Step, ...] = ()
) -> Answer:
    limit, inches = context.code.limit("gas_burial_in"), cover_m / M_PER_IN
    alone = _only_outdoors(segment, context)
    less = context.code.limit_or_none("gas_burial_individual_in") if alone is not None else None
    if less and not at_least(inches, limit.value, "in") and at_least(inches, less.value, "in"):
        return not_known(LESS_COVER, f"{number_text(inches)} in", segment, alone)
    said = words.format(f"{number_text(inches)} in")
    return check(
        inches,
        at_least=limit,
        message=f"{said}; {limit.value:g} in of cover are asked for.",
        remedy=f"Lay the pipe under {limit.value:g} in of cover or more.",
        steps=steps,
    )


def _only_outdoors(segment: GasSegment, context: Context) -> GasAppliance | None:
    """The one appliance that a line leads to, where it stands outdoors or is called so."""
    if len(segment.appliances) != 1 or segment.outlets:
        return None
    alone = segment.appliances[0]
    place = middle_of(alone.element)
    outdoors = place is not None and is_inside(place, context) is False
    return alone if outdoors or says(alone.element, OUTDOOR) else None


def _top_m(segment: GasSegment, context: Context) -> float | None:
    """The top of the highest pipe laid in the ground outdoors; None where none is."""
    ground, laid = context.ground, defaultdict[str, list[Point]](list)
    for pipe, point in segment.placed or ():
        is_low = ground is not None and ground.is_below(point[2] + IN_FLOOR_M) is not False
        if is_low and not is_inside(point, context):
            laid[pipe.guid].append(point)
    heights = [
        p[2]
        for ends in laid.values()
        if len(ends) > 1 and lies_flat(ends[0], ends[1])
        for p in ends
    ]
    return max(heights) + radius_m(segment, segment.pipes) if heights else None
