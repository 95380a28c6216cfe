"""Rule about pipe that ends at nothing."""

from ifclint.checks import Fact, check, given, not_known
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import feet_text
from ifclint.findings import Answer, Outcome, Severity
from ifclint.ifc.elements import WATER_SUPPLY, Element, Role, System
from ifclint.packs import Context, rule
from ifclint.plumbing.flow.distribution import Distribution
from ifclint.plumbing.supply.fills import fill_of
from ifclint.plumbing.supply.primers import is_primer
from ifclint.plumbing.supply.segments import WaterSegment, mixes
from ifclint.plumbing.words import SPILLS, says

DEAD_LEG_FT = 2.0  # a shorter stub is no dead leg; common practice
SUPPLIED = WATER_SUPPLY - {System.HOT_WATER_RETURN}
NO_DEAD_ENDS = frozenset({"exit", "solar-collector", "heat-exchanger", "fire-suppression"})
NO_DEAD_LEG = frozenset({Role.TANK, Role.VALVE, Role.HEATER, Role.METER, Role.PUMP})
PARTING = frozenset({"backflow-preventer", "vacuum-breaker"})  # what is behind it is not drunk
USERS = (Role.FIXTURE, Role.APPLIANCE, Role.HEATER)
SERVED = Fact(
    "what {} leads to is not known: the model draws no fixtures.",
    "Add the fixtures, or the file that holds them, to the review.",
    asked_once=True,
)


@rule(
    title="No dead leg",
    clauses={"any": "common practice, no clause"},
    severity=Severity.LOW,
    applies=lambda segment: bool(segment.pipes) and _ends_at_nothing(segment),
    needs=("length_m",),
)
def dead_leg(segment: WaterSegment, context: Context) -> Answer:
    """Water that never moves goes stale, and warm stale water breeds legionella.

    Pipe that ends at nothing, longer than 2 ft. Tanks, heaters, valves and arresters at its end
    are excused, and so are an end that points at another a little way off (a gap in the drawing,
    which is asked about), a fill that ends over a tank, the overflow of one, the cold inlet of a
    mixing valve, the line of a trap primer, the pipe that closes a loop, the one whose water goes
    on in piping of another service and the one behind its backflow preventer. A line from the
    source that nothing branches off, as a water service on a drawing of the site, is none: what it
    serves is not drawn. Where no fixture is drawn at all, as at rough-in, every stub-out ends at
    nothing, and that is asked once.
    """
    length = given(segment.length_m) / M_PER_FT
    if not at_most(length, DEAD_LEG_FT, "ft") and not _draws_users(context):
        return not_known(SERVED, segment)
    return check(
        length,
        at_most=DEAD_LEG_FT,
        unit="ft",
        message=f"{segment.label} ends at nothing after {feet_text(length)}.",
        remedy="Cut the pipe back to its tee, or join what it was meant for.",
        limit_step="Longest stub that is no dead leg, common practice",
        wrong=Outcome.ADVISORY,
    )


def _draws_users(context: Context) -> bool:
    return any(context.plumbing.network.of_role[role] for role in USERS)


def _ends_at_nothing(segment: WaterSegment) -> bool:
    last, made = segment.indexes[-1], segment.distribution
    if segment.below or segment.connection is not None or segment.leads_elsewhere:
        return False
    end = made.elements[last]
    if end.role in NO_DEAD_LEG or end.kind in NO_DEAD_ENDS:
        return False
    beyond = [made.elements[i] for i in made.network.neighbours(last)]
    for number in range(len(end.ends)):
        beyond += made.network.meeting(last, number)
    if is_behind_its_device(segment) or _is_at_a_gap(made, last) or _leads_to_a_tank(made, last):
        return False
    goes_on = any(mixes(e) or _is_other_piping(e) for e in beyond)
    branches_off = any(len(line.below) > 1 for line in segment.to_source)
    if goes_on or last in made.looped or not branches_off:
        return False
    if any(is_primer(e) or says(e, SPILLS) for e in segment.elements):
        return False
    return fill_of(segment) is None


def _is_at_a_gap(made: Distribution, last: int) -> bool:
    """Whether it ends so near what it points to that the drawing may lack a joint there."""
    near = made.network.near_of.get(made.elements[last].guid)
    tolerance_m = made.network.model.joining_tolerance_m
    return near is not None and near.a[0] == last and near.apart_m > tolerance_m


def _leads_to_a_tank(made: Distribution, last: int) -> bool:
    """Whether it is joined to a tank of another service, as a cistern that it makes up."""
    beyond = (i for i in made.network.neighbours(last) if not made.reached(i))
    return any(made.elements[i].role is Role.TANK for i in beyond)


def is_behind_its_device(segment: WaterSegment) -> bool:
    """Whether a backflow preventer stands in the branch: what lies behind it, as a stub of
    irrigation, is not drunk."""
    line: WaterSegment | None = segment
    while line is not None:
        if any(e.kind in PARTING for e in line.elements):
            return True
        above = line.above
        line = above if above is not None and len(above.below) == 1 else None
    return False


def _is_other_piping(element: Element) -> bool:
    """Whether an element is piping of another service, into which water passes: a return, a pool's,
    that of a boiler."""
    other = element.system is not None and element.system not in SUPPLIED
    return other and element.role in (Role.PIPE, Role.FITTING, Role.VALVE)
