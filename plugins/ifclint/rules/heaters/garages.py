"""Rules about heaters and furnaces in garages: the vapors on the floor, and the vehicles."""

from ifclint.checks import NOT_APPLICABLE, PASS, Bounds, Fact, check, known, missing, not_known
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import inches
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, Outcome, Severity
from ifclint.ifc.elements import System
from ifclint.packs import Context, rule
from ifclint.plumbing import FuelAppliance, Heater
from ifclint.plumbing.surroundings.rooms import is_garage
from ifclint.plumbing.words import says, stands_outdoors
from ifclint.rules.heaters import parts
from ifclint.rules.heaters.ends import room_floor_under
from ifclint.rules.heaters.standing import end_of, near

UPSTAIRS_M = 2.0  # a floor so far above the ground is no garage
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


def may_be_in_garage(heater: Heater) -> bool:
    """By the name of its room; one whose room is not known may be, unless it is an outdoor one."""
    if heater.room is None:
        return not stands_outdoors(heater.element)
    return is_garage(heater.room)


@rule(
    title="Flame of a heater in a garage above the vapors on the floor",
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

    The underside of a heater in a garage above the floor, of which a platform is no part: where
    that is high enough, so is the flame. A lower gas connection shows a lower flame. Heaters listed
    as resistant to ignition of flammable vapors are excused. The switches and elements of an
    electric heater spark too, which authorities read differently: a lower one is asked about.
    """
    if heater.room is None and _is_upstairs(heater, context):
        return NOT_APPLICABLE
    known(heater.room, "room", heater)
    limit = context.code.limit("heater_ignition_above_floor_in")
    base, gas = heater.element.box, end_of(heater.element, System.GAS)
    at = gas or heater.element.position
    floor = room_floor_under(at, context) if at is not None else None
    lowest = base[0] if base else gas
    is_electric = heater.burns_fuel is False
    if floor is None or lowest is None:
        return NOT_APPLICABLE if is_electric else not_known(FLAME, heater)
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
    floor = known(room_floor_under(base, context), BURNER, appliance)
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
    floor, ground = floors.of(heater.element), context.ground
    if floor is None or ground is None:
        return False
    return at_least(floor.level_m - ground.high_m, UPSTAIRS_M, "m")


@rule(
    title="Heater in a garage protected from vehicles",
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
