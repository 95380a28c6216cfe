"""The rule about arresters where valves close fast."""

from collections import defaultdict
from itertools import takewhile

from ifclint.checks import NOT_APPLICABLE, PASS, advise, missing
from ifclint.engineering.data import rows_of
from ifclint.findings import Answer, Change, PartKind, Severity, Step
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.plumbing.supply.water_fixtures import WaterFixture
from ifclint.plumbing.supply.water_supply import Supply
from ifclint.plumbing.words import says
from ifclint.rules.supply.demand import demand
from ifclint.rules.supply.units import is_flushometer

QUICK = frozenset({"dishwasher", "clothes-washer", "ice-maker"})  # solenoid valves
FLUSHED = frozenset({"water-closet", "urinal"})
ARRESTER_WORDS = ("hammer arrester", "hammer arrestor", "shock arrestor", "shock absorber")

BY_UNITS = Step("Arrester by fixture units", None, "", "PDI WH-201, from memory")
ARRESTERS = PartKind(
    "water hammer arresters",
    drawn=lambda context: any(_is_arrester(e) for e in context.plumbing.supply.elements),
    remedy="Model the arresters (IfcValve named so, or in the outlet box), or have them checked on "
    "site.",
)


@rule(
    title="Hammer arrester at quick-closing appliances",
    clauses={"upc": "609.10", "ipc": "604.9", "irc": "P2903.5"},
    severity=Severity.LOW,
    applies=lambda fixture: fixture.kind in QUICK | FLUSHED and fixture.feed is not None,
)
def hammer_arrester(fixture: WaterFixture, context: Context) -> Answer:
    """A solenoid valve shuts in an instant, and the water it stops strikes the pipe.

    An arrester in the branch of a dishwasher, clothes washer or ice maker, or on a stub of it, or
    one built into its outlet box or valve, by name. At the flushometer valves of a room an
    advisory, once: they close by themselves, as the IPC defines a quick-closing valve, and
    gradually so as to avoid hammer, as it defines a flushometer. Both from memory.
    """
    if fixture.kind in FLUSHED:
        return _at_battery(fixture, context)
    if says(fixture.element, ARRESTER_WORDS):
        return PASS
    lacking = [branch for branch in fixture.branches if not _is_arrested(branch)]
    if not lacking:
        return PASS
    units = demand(context).units[fixture]
    size = _arrester(units.total if units is not None else 1.0)
    text = f"Put an arrester (size {size}) at the valve, or an outlet box with arresters."
    return missing(
        ARRESTERS,
        message=f"No water hammer arrester is drawn in the branch of {fixture.label}.",
        remedy=Change("part", fixture.element_ids, "hammer arrester", text),
        elements=(fixture.element.guid, *(branch.key for branch in lacking)),
        steps=(BY_UNITS,),
    )


@derived
def _batteries(context: Context) -> dict[WaterFixture, list[WaterFixture]]:
    """Every fixture on a flushometer valve -> those of its room, or of its storey where no room is
    drawn."""
    units, found = demand(context).units, defaultdict[tuple[str, str], list[WaterFixture]](list)
    for fixture in context.plumbing.supply.fixtures:
        if fixture.feed is not None and is_flushometer(fixture, units[fixture]):
            found[fixture.element.storey, fixture.element.space].append(fixture)
    return {fixture: battery for battery in found.values() for fixture in battery}


def _at_battery(fixture: WaterFixture, context: Context) -> Answer:
    battery = _batteries(context).get(fixture, [])
    if not battery or fixture is not battery[0]:
        return NOT_APPLICABLE
    if _is_battery_arrested(battery, context):
        return PASS
    units = (demand(context).units[f] for f in battery)
    size = _arrester(sum(u.total for u in units if u is not None))
    more = f" and {len(battery) - 1} more" if len(battery) > 1 else ""
    message = (
        f"No water hammer arrester is drawn on the branch of {fixture.label}{more}. Their "
        "flushometer valves close by themselves, and may count as quick-closing; made to close "
        "gradually, they may not."
    )
    ids = tuple(f.element.guid for f in battery)
    text = (
        f"Put an arrester (size {size}) at the end of the branch of the flushometer valves, or "
        "have the authority accept that they need none."
    )
    remedy = Change("part", ids, "hammer arrester", text)
    if ARRESTERS.is_drawn(context):
        return advise(message, remedy, elements=ids, steps=(BY_UNITS,))
    return missing(ARRESTERS, message=message, remedy=remedy, elements=ids, steps=(BY_UNITS,))


def _is_battery_arrested(battery: list[WaterFixture], context: Context) -> bool:
    """Whether an arrester stands on the branch that leads to some fixtures together, or beyond."""
    if any(_is_arrested(branch) for fixture in battery for branch in fixture.branches):
        return True
    supply = context.plumbing.supply
    made = supply.distribution
    ways = [made.path(tap.connection.up) for fixture in battery for tap in fixture.fed]
    shared = [i for i, *_ in takewhile(lambda at: len(set(at)) == 1, zip(*ways, strict=False))]
    if not shared:
        return False
    joint = shared[-1]
    while made.up[joint] in shared and _is_of_one_branch(made.up[joint], supply):
        joint = made.up[joint]
    arresters = (i for i in made.order if _is_arrester(supply.elements[i]))
    return any(joint in made.path(i) for i in arresters)


def _is_of_one_branch(index: int, supply: Supply) -> bool:
    """Whether one way alone leads on to fixtures from an element; a stub leads to none."""
    return sum(supply.serves[i] > 0 for i in supply.distribution.down()[index]) == 1


def _is_arrester(element: Element) -> bool:
    is_part = element.role in (Role.VALVE, Role.FITTING, Role.FIXTURE)
    return element.kind == "hammer-arrester" or (is_part and says(element, ARRESTER_WORDS))


def _is_arrested(branch: WaterSegment) -> bool:
    """Whether an arrester stands in a branch, from its last junction on, or on a stub there."""
    lines = [branch]
    while (above := lines[-1].above) is not None and _goes_on(above, branch):
        lines.append(above)
    above = lines[-1].above
    beside = above.below if above is not None and above.service == branch.service else []
    stubs = [b for b in beside if b.connection is None and not b.below]
    return any(_is_arrester(e) for near in (*lines, *stubs) for e in near.elements)


def _goes_on(above: WaterSegment, branch: WaterSegment) -> bool:
    """Whether a line is the same branch still: nothing leaves it, and no heater lies between."""
    return len(above.below) == 1 and above.service == branch.service


def _arrester(units: float) -> str:
    """The size of the smallest arrester for so many fixture units."""
    rows = rows_of("hammer_arresters")
    enough = (row for row in rows if isinstance(to := row["wsfu_to"], float) and units <= to)
    row = next(enough, None)
    return "F" if row is None else str(row["arrester"])
