"""Rules about pans under heaters and washers; their drains stand in `pan_drains`."""

from math import dist

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Fact,
    check,
    given,
    known,
    missing,
    not_known,
    violation,
)
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import inches
from ifclint.engineering.wording import number_text, sentence
from ifclint.findings import Answer, Severity
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, rule
from ifclint.plumbing import CondensateSource, Heater, Pan
from ifclint.plumbing.floors import Floor
from ifclint.plumbing.heaters.fuel_vents import burns_fuel
from ifclint.plumbing.words import says, says_text
from ifclint.rules.heaters import parts
from ifclint.rules.heaters.attic import in_attic

PANS = {"upc": "507.5", "ipc": "504.7", "irc": "P2801.6"}
OVERFLOWING = frozenset({"air-conditioner", "furnace"})
INDOORS = Fact(
    "whether {} stands indoors above other rooms, or outdoors,",
    "Contain it in its space (IfcSpace), or review together with the file that has the walls and "
    "the roof.",
)
LEVEL_SWITCH = ("float switch*", "overflow switch*", "water level switch*", "condensate switch*",
    "wet switch*", "water level detect*", "schwimmerschalter")  # fmt: skip
SWITCH_M = 2.0  # ours, no source: a switch within this stops the appliance
PLASTIC = ("plastic", "pvc", "cpvc", "abs", "polyethylene", "polypropylene", "hdpe", "kunststoff*",
    "plastique", "plastico", "plástico", "kunststof")  # fmt: skip
FIRE_TESTED = ("flame spread*", "ul 723", "astm e84", "e84", "for gas", "gas rated", "gas approved")
TESTED = Fact(
    "{} is of plastic, below {}; whether it is tested for flame spread (25 or less) and smoke (450 "
    "or less) is not known.",
    "Set a pan of steel or aluminum, or name the test of the plastic one (ASTM E84, UL 723).",
)
PLASTIC_BELOW = Fact(
    "{} is of plastic, and whether {} burns fuel is not known.",
    "Give the heater its energy source, or set a pan of steel or aluminum.",
)
PLATE_IN = 0.5  # what is drawn thinner has no sides; ours, no source
FLOOR = Fact("on which floor {} stands", "Contain the heater in its storey or space.")
BELOW = Fact(
    "whether rooms lie below {}",
    "Review together with the file that has the walls or spaces (IfcSpace).",
)
FRAMED = Fact(
    "{} stands without a pan over a crawl space; whether its floor is framed of wood, which "
    "leakage would damage, is not known.",
    "Set the heater in a watertight pan with a drain of its own, or show that its floor is of "
    "concrete.",
)
DEPTH = Fact(
    "how deep {} is, is not known.",
    "Draw the pan with its sides, or state its depth on the drawing.",
)


def serves_heater(pan: Pan) -> bool:
    """Whether the codes ask for the pan; one of which nothing tells is taken as a heater's."""
    return pan.serves is None or pan.serves.role is Role.HEATER


@rule(
    title="Pan under a storage heater above finished space",
    clauses=PANS,
    severity=Severity.HIGH,
    applies=lambda heater: not heater.is_tankless,
)
def heater_pan(heater: Heater, context: Context) -> Answer:
    """A tank that leaks above a room brings the ceiling down.

    Every storage heater above a room stands in a pan: in an attic, or where a room of the model,
    what the walls of a storey below enclose, or the slab of a floor to stand on, lies under it. A
    floor over a crawl space rots where it is framed of wood; as models seldom tell that, it is
    asked. Elsewhere leakage does less, and the demand is left to judgement. A storey alone, which
    may be a footing, is no room.
    """
    if heater.pan is not None:
        return PASS
    if in_attic(context, heater) is not True:
        around = context.plumbing.surroundings
        floor = known(around.floors.of(heater.element), FLOOR)
        place = heater.element.position
        if not known(around.has_rooms_below(place, floor.level_m), BELOW):
            return _over_crawl_space(heater, floor, context)
    depth = context.code.limit("pan_depth_in")
    return missing(
        parts.PANS,
        message=f"{heater.label} stands above other rooms without a pan.",
        remedy="Set the heater in a watertight pan with a drain of its own.",
        steps=(depth.step("Depth of the pan, at least"),),
    )


def _over_crawl_space(heater: Heater, floor: Floor, context: Context) -> Answer:
    """What is to be said of a heater without a pan that stands over no room."""
    place, crawl_spaces = heater.element.position, context.plumbing.surroundings.floors.crawl_spaces
    if place is None or not crawl_spaces.lies_under((place[0], place[1], floor.level_m)):
        return NOT_APPLICABLE
    return not_known(FRAMED, heater)


@rule(
    title="Pan under a coil or condensing furnace above finished space",
    clauses={
        "upc": "814.2 and UMC 310.2",
        "ipc": "314.2.3 and IFGC 307.5",
        "irc": "M1411.3.1 and G2404.10",
    },
    severity=Severity.HIGH,
    applies=lambda source: source.element.kind in OVERFLOWING,
)
def auxiliary_pan(source: CondensateSource, context: Context) -> Answer:
    """A condensate drain that clogs runs over through the ceiling below.

    Every cooling coil and condensing furnace in an attic, or in a room above another, has a pan
    under it; a second condensate drain of its own, or a switch by name that stops it when water
    stands, does as well. What stands outdoors is excused; where nothing tells whether it does, and
    rooms may lie below, that is asked.
    """
    element = source.element
    if any(pan.serves is element for pan in context.plumbing.heaters.pans):
        return PASS
    if source.drains > 1 or says(element, LEVEL_SWITCH) or _has_switch(element, context):
        return PASS
    if not in_attic(context, source) and not _is_above_rooms(source, context):
        return NOT_APPLICABLE
    return missing(
        parts.PANS,
        message=f"{source.label} stands above other rooms, and nothing takes its condensate when "
        "its drain clogs.",
        remedy="Set it in an auxiliary pan with a drain of its own, or give it a second drain, or "
        "a switch that stops it when water stands.",
    )


def _is_above_rooms(source: CondensateSource, context: Context) -> bool:
    """Whether what stands in no attic stands indoors, above a room."""
    element, around = source.element, context.plumbing.surroundings
    place = element.position
    outdoors = False if element.space else around.is_outdoors(place) if place else None
    if outdoors:
        return False
    floor = known(around.floors.of(element), FLOOR, source)
    below = around.has_rooms_below(place, floor.level_m)
    if below is not False and outdoors is None:
        known(None, INDOORS, source)
    return known(below, BELOW, source)


def _has_switch(element: Element, context: Context) -> bool:
    """Whether a switch for standing water is drawn at an appliance."""
    places = [s.position for s in context.plumbing.saying(LEVEL_SWITCH)]
    at = element.position
    return at is not None and any(p and at_most(dist(p, at), SWITCH_M, "m") for p in places)


@rule(title="Pan deep enough", clauses=PANS, severity=Severity.LOW, applies=serves_heater)
def pan_depth(pan: Pan, context: Context) -> Answer:
    """A shallow pan spills over its edge before its drain takes what a tank loses.

    The height of the pan's box, which its sides fill, against the code's least depth. A pan drawn
    as a plate, or not at all, tells no depth.
    """
    limit, box = context.code.limit("pan_depth_in"), pan.element.box
    if box is None or not at_least(deep := inches(box[1][2] - box[0][2]), PLATE_IN, "in"):
        return not_known(DEPTH, pan)
    return check(
        deep,
        at_least=limit,
        message=f"{sentence(pan.label)} is {number_text(deep)} in deep; "
        f"{number_text(limit.value)} in are asked for.",
        remedy=f"Set a pan at least {number_text(limit.value)} in deep.",
        limit_step="Depth of a pan, at least",
    )


@rule(
    title="Pan below a gas heater of metal, or tested for fire",
    clauses={"ipc": "504.7", "irc": "P2801.6"},
    applies=lambda pan: serves_heater(pan) and pan.serves is not None and _is_plastic(pan),
)
def pan_material(pan: Pan, context: Context) -> Answer:
    """A plastic pan below a burner softens, and burns where the flame rolls out.

    A pan that its name or material calls plastic, below a heater that burns fuel. Dwellings may
    have one tested for how flame spreads over it, which is asked where its name does not say so.
    """
    burns = burns_fuel(given(pan.serves))
    if burns is False or says(pan.element, FIRE_TESTED):
        return PASS
    if burns is None or context.code.is_edition_of("irc"):
        return not_known(PLASTIC_BELOW if burns is None else TESTED, pan, given(pan.serves))
    return violation(
        message=f"{sentence(pan.label)} is of plastic, below {given(pan.serves).label}, which "
        "burns fuel.",
        remedy="Set a pan of galvanized steel or aluminum.",
    )


def _is_plastic(pan: Pan) -> bool:
    return says(pan.element, PLASTIC) or says_text(pan.element.material, PLASTIC)
