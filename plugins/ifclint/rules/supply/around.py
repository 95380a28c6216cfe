"""Rules about what stands around the lines: sources, crossings, dead ends."""

from __future__ import annotations

from collections.abc import Iterator

from ifclint.checks import PASS, Fact, check, given, not_known, violation
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import feet_text
from ifclint.findings import Answer, Change, Outcome, Severity, Step
from ifclint.ifc.elements import WATER_SUPPLY, Element, Role, System
from ifclint.packs import ANY_CODE, Context, derived, rule
from ifclint.plumbing.facts import fact
from ifclint.plumbing.flow.distribution import Distribution
from ifclint.plumbing.supply.fills import fill_of
from ifclint.plumbing.supply.primers import is_primer
from ifclint.plumbing.supply.segments import COLD, HOT, WaterSegment, mixes
from ifclint.plumbing.supply.water_fixtures import WaterFixture
from ifclint.plumbing.supply.water_supply import Supply, WaterService
from ifclint.rules.supply.hot import WASHING

SHOWN = 20  # elements listed that nothing feeds
MORE_THAN_ONE = 1.5  # of what flow shares out
DEAD_LEG_FT = 2.0  # a shorter stub is no dead leg; common practice
MIXES = frozenset({"mixing", "faucet", "relief"})
SUPPLIED = WATER_SUPPLY - {System.HOT_WATER_RETURN}
NO_DEAD_ENDS = frozenset({"exit", "solar-collector", "heat-exchanger", "fire-suppression"})
NO_DEAD_LEG = frozenset({Role.TANK, Role.VALVE, Role.HEATER, Role.METER, Role.PUMP})
PARTING = frozenset({"backflow-preventer", "vacuum-breaker"})  # what is behind it is not drunk
DRY = frozenset({"generator", "furnace", "fireplace", "dryer", "unit-heater", "air-conditioner"})
DRY_ENDS = frozenset({"hood", "compressor", "space-heater"})  # and what is no appliance
TAKER = Fact(
    "{} is joined to {}, which is not understood.",
    "Give what takes the water its IFC class, or name it or its type in trade words.",
)
DRY_TAKER = Fact(
    "{} leads to {}; what takes the water there, and whether it can foul it, is not known.",
    "Name what takes the water, or draw the backflow preventer before it.",
)
SOURCE = Fact(
    'where the water comes from is not stated; "{}" was assumed.', fact("source_known").remedy
)
UNFED = Fact(
    '{} element(s) of the water supply are reached from no source, the first of them "{}".',
    "Join them to the supply; hot piping needs its water heater joined on both sides.",
)
THREE_WAYS = 3  # of a mixing valve
MAY_MIX = Fact(
    "whether {}, at which cold and hot water meet, mixes them is not known.",
    "Set the PredefinedType of the valve (MIXING), or name it in trade words.",
)
JOINED = Fact(
    "{} of the cold water meets {} of the hot; whether they are joined is not stated.",
    "Join what is joined by ports, or draw the two apart.",
)
USERS = frozenset({Role.FIXTURE, Role.HEATER, Role.APPLIANCE})


@rule(
    title="Water comes from a known source and reaches all piping",
    subject=WaterService,
    clauses=ANY_CODE,
)
def supply_is_fed(service: WaterService, context: Context) -> Iterator[Answer]:
    """Nothing can be said of pressure in pipe that no source reaches.

    The source is the job file's, else the meter, or where the pipe before it begins; where there
    is neither, the largest open end of the cold piping is assumed. Piping that nothing feeds is
    listed: an open end, a missing joint, or hot piping whose heater is not modelled. The lines of
    relief valves are no supply, whatever system they are in.
    """
    elements = [service.supply.elements[i] for i in _unfed(context) if service.holds(i)]
    yield PASS
    if service.source_known is None:
        yield not_known(SOURCE, service.element.label)
    if elements:
        ids, first = [e.guid for e in elements[:SHOWN]], elements[0]
        yield not_known(UNFED, str(len(elements)), first, elements=ids, about=first.guid)


@derived
def _unfed(context: Context) -> list[int]:
    """What no source feeds, but for the lines of relief valves, boilers that heat rooms, and what
    stands before a source."""
    supply, before = context.plumbing.supply, _before_sources(context)
    relieved = {e for line in context.plumbing.heaters.relief_lines for e in line.element_ids}
    unfed = (
        i for i in supply.not_fed if supply.elements[i].guid not in relieved and i not in before
    )
    return [
        i for i in unfed if supply.elements[i].role is not Role.HEATER or not supply.heats_rooms(i)
    ]


def _before_sources(context: Context) -> set[int]:
    """The street's side of the sources: what is joined to one, is not fed by it, and leads to
    nothing that uses water."""
    supply = context.plumbing.supply
    unfed, found = set(supply.not_fed), set[int]()
    for head in supply.heads:
        beside, frontier = set[int](), [head]
        while frontier:
            further = unfed.intersection(supply.network.neighbours(frontier.pop())) - beside
            beside |= further
            frontier += further
        if not any(_uses_water(supply, i) for i in beside):
            found |= beside
    return found


def _uses_water(supply: Supply, index: int) -> bool:
    around = (index, *supply.network.neighbours(index))
    return any(
        supply.elements[i].role in (Role.FIXTURE, Role.HEATER, Role.APPLIANCE) for i in around
    )


_SIDE = {HOT: "Cold", COLD: "Hot"}  # what is wrong at a connection
APART = "Join the hot branch to the hot connection, and the cold to the cold."
CROSSED = Fact(
    "The connection named {} of {} belongs to the system of the {} water: which is right is not "
    "known.",
    "Join the hot branch to the connection named hot and the cold to the one named cold, or name "
    "the ports of the fixture after what they get.",
)


@rule(
    title="Hot to hot, cold to cold",
    subject=WaterFixture,
    clauses={"upc": "417.5", "ipc": "607.4", "irc": "P2722.2"},
    severity=Severity.HIGH,
    applies=lambda fixture: (
        bool(fixture.crossed)
        or any(t.named for t in fixture.taps)
        or (len(fixture.taps) > 1 and not fixture.is_told_by_pipes)
    ),
    needs=("named", "feed"),
)
def not_crossed(fixture: WaterFixture, context: Context) -> Answer:
    """A hand under the tap marked cold is scalded.

    What the fixture's connections are named, cold or hot, against whether a water heater lies on
    the path that feeds them. What comes out of the fixture's own faucet is mixed, and not judged,
    nor is what comes from a mixing valve to the one connection of an eyewash or washbasin.
    A connection that is named for one and belongs to the system of the other is asked about. One
    that nothing is joined to, and at which piping of the other water ends, is crossed as well.
    Where one joint feeds several connections of one name alone, it is parted.
    """
    if fixture.crossed:
        side, met = fixture.crossed[0]
        return violation(
            message=f"{_SIDE[side]} water piping ends at the {side} connection of {fixture.label}.",
            remedy=APART,
            elements=(fixture.element.guid, *(pipe.guid for _, pipe in fixture.crossed)),
            steps=(Step(f"Ends there: {met.label}"),),
        )
    named = [(t, t.segment) for t in fixture.taps if t.named not in ("", t.service)]
    wrong = [(tap, s) for tap, s in named if s is not None and not _is_tempered(fixture, s)]
    if not wrong:
        contradicted = (t for t in fixture.taps if t.labelled not in ("", t.named))
        tap = next(contradicted, None)
        return PASS if tap is None else not_known(CROSSED, tap.labelled, fixture, tap.named)
    tap, segment = wrong[0]
    both = " and its hot and cold are crossed" if len(wrong) > 1 else ""
    return violation(
        message=f"The {tap.named} connection of {fixture.label} gets {tap.service} water{both}.",
        remedy=APART if both else _apart(tap.named, segment, context),
        elements=(fixture.element.guid, *(s.key for _, s in wrong)),
        steps=(Step(f"Fed by {segment.label}"),),
    )


def _apart(side: str, segment: WaterSegment, context: Context) -> Change | str:
    """How a connection comes to its water: where several of its side alone are fed past one joint,
    by one change there."""
    others, own = _past(context)[side]
    way = segment.distribution.path(segment.indexes[-1])
    at = next((n for n, index in enumerate(way) if not others[index]), 0)
    if at == 0 or own[way[at]] < MORE_THAN_ONE:
        return APART
    above, first = (context.plumbing.supply.elements[way[n]] for n in (at - 1, at))
    text = (
        f"Part {first.label} from {above.label} and join it to the {side} water: what is fed past "
        f"it are {side} connections."
    )
    return Change("work", (first.guid, above.guid), "parting", text)


@derived
def _past(context: Context) -> dict[str, tuple[list[float], list[float]]]:
    """Of hot and cold, how many connections of another name, and how many of it, each element
    feeds."""
    supply = context.plumbing.supply
    taps = [(t.named, t.segment) for f in supply.fixtures for t in f.taps]
    fed = [(named, line.indexes[-1]) for named, line in taps if line is not None]
    how_many = supply.distribution.how_many
    return {
        side: (how_many(i for n, i in fed if n != side), how_many(i for n, i in fed if n == side))
        for side in (COLD, HOT)
    }


def _is_tempered(fixture: WaterFixture, segment: WaterSegment) -> bool:
    """Whether a fixture's one connection is to get hot and cold mixed: behind a faucet, or where
    people wash behind a mixing valve."""
    washes = fixture.kind in WASHING or fixture.kind == "emergency-fixture"
    return segment.is_mixed or (washes and len(fixture.taps) == 1 and "mixing" in segment.passed)


@rule(
    title="Hot and cold piping kept apart",
    subject=WaterService,
    clauses={"upc": "417.5", "ipc": "607.4", "irc": "P2722.2"},
    severity=Severity.HIGH,
)
def hot_cold_apart(service: WaterService, context: Context) -> Iterator[Answer]:
    """Through a pipe between the two mains every draw sends hot water into the cold, and back.

    Joints between cold and hot pipe, fittings and valves, other than through a heater, a mixing
    valve, a faucet or a fixture; circulation is left out. One that only ends which meet suggest is
    asked about, as are ends that meet and were not joined because of their systems, and a valve of
    unknown kind with three ends, which may mix.
    """
    yield PASS
    supply, may_mix = service.supply, dict[str, Element]()
    for a, b, is_stated in joined_sides(context):
        if not service.holds(a):
            continue
        if unknown := next((supply.elements[i] for i in (a, b) if _may_mix(supply, i)), None):
            may_mix[unknown.guid] = unknown
        else:
            yield _joined(supply.elements[a], supply.elements[b], is_stated)
    for valve in may_mix.values():
        yield not_known(MAY_MIX, valve, about=valve.guid)


def _may_mix(supply: Supply, index: int) -> bool:
    """Whether it is a valve of which nothing tells the kind, with two inlets and an outlet."""
    element = supply.elements[index]
    return element.role is Role.VALVE and not element.kind and len(element.ends) == THREE_WAYS


def _joined(one: Element, other: Element, is_stated: bool) -> Answer:
    """Cold water joined to hot, as the file states or ends that meet suggest."""
    about = f"{one.guid} {other.guid}"
    if not is_stated:
        return not_known(JOINED, one, other, about=about)
    return violation(
        message=f"{one.label} of the cold water is joined to {other.label} of the hot.",
        remedy="Part the two: only a heater, a mixing valve or a fixture joins them.",
        elements=(one.guid, other.guid),
        about=about,
    )


@derived
def joined_sides(context: Context) -> list[tuple[int, int, bool]]:
    """Cold and hot piping that is joined, or whose open ends meet, and whether a joint says so."""
    supply = context.plumbing.supply
    joints, found = supply.network.joints, dict[tuple[int, int], bool]()
    side = {i: COLD for i in supply.distribution.members if _carries(supply, i, System.COLD_WATER)}
    side |= {i: HOT for i in supply.distribution.members if _carries(supply, i, System.HOT_WATER)}
    for number in supply.distribution.refused:
        a, b = joints[number].a, joints[number].b
        if {side.get(a), side.get(b)} == {COLD, HOT}:
            pair = (a, b) if side[a] == COLD else (b, a)
            found[pair] = found.get(pair, False) or not joints[number].inferred
    for a, b in supply.network.meeting_ends:
        if {side.get(a), side.get(b)} == {COLD, HOT}:
            found.setdefault((a, b) if side[a] == COLD else (b, a), False)
    return [(cold, hot, stated) for (cold, hot), stated in found.items()]


def _carries(supply: Supply, index: int, system: System) -> bool:
    element = supply.elements[index]
    is_piping = element.role in (Role.PIPE, Role.FITTING, Role.VALVE)
    return is_piping and element.system is system and element.kind not in MIXES


@rule(
    title="No dead leg",
    subject=WaterSegment,
    clauses={"any": "common practice, no clause"},
    severity=Severity.LOW,
    applies=lambda segment: bool(segment.pipes) and _ends_at_nothing(segment),
    needs=("length_m",),
)
def dead_leg(segment: WaterSegment, context: Context) -> Answer:
    """Water that never moves goes stale, and warm stale water breeds legionella.

    Pipe that ends at nothing, longer than 2 ft. Tanks, heaters, valves and arresters at its end
    are excused, and so are an end that points at another a little way off (a gap in the drawing,
    which is asked about), a fill that ends over a tank, the cold inlet of a mixing valve, the line
    of a trap primer, the pipe that closes a loop, the one whose water goes on in piping of another
    service and the one behind its backflow preventer. A line from the source that nothing branches
    off, as a water service on a drawing of the site, is none: what it serves is not drawn.
    """
    length = given(segment.length_m) / M_PER_FT
    return check(
        length,
        at_most=DEAD_LEG_FT,
        unit="ft",
        message=f"{segment.label} ends at nothing after {feet_text(length)}.",
        remedy="Cut the pipe back to its tee, or join what it was meant for.",
        limit_step="Longest stub that is no dead leg, common practice",
        wrong=Outcome.ADVISORY,
    )


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
    if _is_behind_its_device(segment) or _is_at_a_gap(made, last) or _leads_to_a_tank(made, last):
        return False
    goes_on = any(mixes(e) or _is_other_piping(e) for e in beyond)
    branches_off = any(len(line.below) > 1 for line in segment.to_source)
    if goes_on or last in made.looped or not branches_off:
        return False
    if any(map(is_primer, segment.elements)):
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


def _is_behind_its_device(segment: WaterSegment) -> bool:
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


@rule(
    title="What takes water at the end of every line known",
    subject=WaterSegment,
    clauses=ANY_CODE,
    applies=lambda segment: not segment.below,
)
def water_taker_known(segment: WaterSegment, context: Context) -> Answer:
    """A soda machine that nobody knows of can poison the water of a whole restaurant.

    Lines that the model joins to something that neither its class nor its name shows to be
    plumbing, or to an appliance that by its kind takes no water (a generator, a hood), without a
    backflow preventer: its demand and its protection against backflow are then not judged.
    """
    if segment.leads_to is None:
        dry = _dry_taker(segment)
        is_open = dry is not None and not _is_behind_its_device(segment)
        return not_known(DRY_TAKER, segment, dry) if is_open else PASS
    what = f'"{segment.leads_to}"' if segment.leads_to else "something"
    return not_known(TAKER, segment, what)


def _dry_taker(segment: WaterSegment) -> Element | None:
    """What a line leads to that takes no water by its kind."""
    made, last = segment.distribution, segment.elements[-1]
    if segment.connection is None:
        return last if last.kind in DRY_ENDS else None
    taker = made.elements[segment.connection.element]
    return taker if taker.kind in DRY else None


RULES = (supply_is_fed, water_taker_known, not_crossed, hot_cold_apart, dead_leg)
