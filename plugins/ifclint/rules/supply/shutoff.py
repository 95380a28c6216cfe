"""Valves that close the water: the main shutoff, and the stops at the fixtures."""

from collections import Counter
from collections.abc import Iterator

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, advise, missing, not_known
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import M_PER_FT
from ifclint.findings import Answer, Change, PartKind, Severity
from ifclint.ifc.elements import LONGEST_CONNECTOR_M, Element, Role, System
from ifclint.packs import Context, rule
from ifclint.plumbing.facts import fact
from ifclint.plumbing.flow.distribution import INFINITE
from ifclint.plumbing.supply.fills import filled
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.plumbing.supply.water_fixtures import WaterFixture
from ifclint.plumbing.supply.water_supply import Supply, WaterService
from ifclint.plumbing.surroundings.cold import FREEZES, cold_place
from ifclint.plumbing.words import says
from ifclint.rules.supply.units import FLUSHOMETER

ISOLATES = frozenset({"isolating", "stop", "ball", "gate"})
AT_ONE_PLACE = 4  # connections under a sink: its own and those of the appliances beside it
BURIED_M = 0.5  # a valve so far below the lowest floor is reached only through a box
EMERGENCY = "emergency-fixture"
LOCKED = ("locked open", "lock open", "locked in open*", "lockable", "car seal*",
    "tamper resist*", "chained")  # fmt: skip
NO_STOP = frozenset({  # a stop before an emergency fixture is what must not be shut
    "bathtub", "shower", "floor-drain", "floor-sink", "ice-maker", "irrigation",
    "fire-sprinklers", "emergency-fixture",
})  # fmt: skip
FROM_THE_WALL = frozenset({"mop-sink", "hose-bibb"})  # filled by a faucet on the wall
OUTLET_BOX = ("box", "boite*", "caja*", "caixa*", "wmob", "with valve*")
FROSTPROOF = (
    "fphb", "frost proof", "frost-proof", "frostproof", "frost free", "frost-free", "freezeless",
)  # fmt: skip
CLOSES = Fact("whether {} closes the water of {}", fact("valve_kind").remedy)
STOPS_BRANCH = Fact("whether {} stops the water of {}", fact("valve_kind").remedy)


def first_segments(service: WaterService, past_irrigation: bool = False) -> list[WaterSegment]:
    """The segments from the source to the first branch that serves something: the line to a
    pressure tank, a gauge, a drain or a fire system is none, nor where asked that to a garden. Of
    pumps in parallel neither line is one of them."""
    segment = service.supply.segment_of.get(service.head)
    if segment is not None and segment.indexes[0] != service.head:
        return []
    found: list[WaterSegment] = []
    supply = service.supply
    meets = {loop.start: loop.meets for loop in supply.distribution.loops if loop.shared}
    while segment is not None:
        found.append(segment)
        onward = _domestic(supply.serving(segment), supply, past_irrigation) or segment.below
        while len(onward) > 1 and segment.indexes[-1] in meets:
            segment = supply.segment_of[meets[segment.indexes[-1]]]
            onward = supply.serving(segment)
        segment = onward[0] if len(onward) == 1 else None
    return found


def _domestic(
    lines: list[WaterSegment], supply: Supply, past_irrigation: bool
) -> list[WaterSegment]:
    """The lines that lead to more than a fire system (or a garden); of nothing but such lines
    all."""
    firsts = {line.indexes[0]: line for line in lines}
    aside = [supply.puts_out_fires, *([supply.irrigates] if past_irrigation else [])]
    found = [f for i, f in firsts.items() if supply.serves[i] > sum(those[i] for those in aside)]
    return found or lines


def isolates(element: Element) -> bool:
    return element.role is Role.VALVE and element.kind in ISOLATES


def before_branches(service: WaterService, past_irrigation: bool = False) -> list[Element]:
    """The elements from the source to the first branch."""
    segments = first_segments(service, past_irrigation)
    return [element for segment in segments for element in segment.elements]


def main_shutoff(service: WaterService) -> Element | None:
    """The first valve that closes the whole building, before any branch."""
    return next(filter(isolates, before_branches(service)), None)


SHUTOFFS = PartKind(
    "valves that close the water",
    drawn=lambda context: any(
        isolates(context.plumbing.supply.elements[i])
        for i in context.plumbing.supply.distribution.members
    ),
    remedy="Model the shutoff valves (IfcValve, ISOLATING or STOPCOCK), or have them checked on "
    "site.",
)


@rule(
    title="Main shutoff before any branch, and within reach",
    clauses={"upc": "606.2", "ipc": "606.1", "irc": "P2903.9.1"},
    severity=Severity.HIGH,
    needs=("source_known",),
    follows=(System.COLD_WATER, System.WATER),
)
def main_shutoff_valve(service: WaterService, context: Context) -> Iterator[Answer]:
    """When a pipe bursts someone must close the water in seconds, all of it.

    An isolating valve on the path from the source to the first branch; by the IPC and IRC, which
    ask for it where the service enters, one to a garden may leave before, and a tank that a line
    fills from above has its valve before that. One drawn well below the
    lowest floor is taken as buried, and wants a box where no other stands within reach.
    """
    is_upc = context.code.family == "upc"
    if not is_upc and service.element.guid in filled(service.supply.segments):
        return
    before = before_branches(service, past_irrigation=not is_upc)
    valves = list(filter(isolates, before))
    if valves:
        reached = [_within_reach(valve, context) for valve in valves]
        yield PASS if PASS in reached else reached[0]
        return
    doubtful = [e for e in before if e.role is Role.VALVE and not e.kind]
    for element in doubtful:
        yield not_known(CLOSES, element, "the building", about=element.guid)
    if not doubtful:
        text = "Put a full-open shutoff valve where the supply enters, before any branch."
        yield missing(
            SHUTOFFS,
            message=f"No valve closes the {service.label} before its first branch.",
            remedy=Change("part", service.element_ids, "shutoff valve", text),
        )


def _within_reach(valve: Element, context: Context) -> Answer:
    likely = context.plumbing.surroundings.floors.likely
    if not likely or valve.position is None:
        return PASS
    depth_m = likely[0].level_m - valve.position[2]
    if at_most(depth_m, BURIED_M, "m"):
        return PASS
    return advise(
        f"{valve.label} lies {depth_m / M_PER_FT:.1f} ft below the lowest floor.",
        "Set the valve where it can be reached, or in a box with a cover.",
        elements=(valve.guid,),
    )


STOPS = PartKind(
    "stop valves at its fixtures",
    drawn=lambda context: any(
        has_stop(branch, f, context)
        for f in context.plumbing.supply.fixtures
        for branch in f.branches
    ),
    remedy="Model the stops (IfcValve, ISOLATING or STOPCOCK) at the fixtures, or have them "
    "checked on site.",
)


@rule(
    title="A stop valve at every fixture",
    clauses={"upc": "606.5", "ipc": "606.2", "irc": "P2903.9.3"},
    severity=Severity.LOW,
    applies=lambda fixture: fixture.kind not in NO_STOP and fixture.feed is not None,
)
def fixture_stop(fixture: WaterFixture, context: Context) -> Answer:
    """Without a stop the whole house is dry while one faucet is repaired.

    A valve in each branch between the last junction that leads to something else and the fixture
    (an arrester, or a mixing valve of the same fixture, is none), or in an outlet box for a washing
    machine, which is a box with its valves. A flushometer valve comes with its control stop. Tubs,
    showers and emergency fixtures are excused; hose bibbs and mop sinks, which a faucet on the wall
    fills, under the UPC alone. Of hose bibbs those in a room have no need of a stop, and by the IRC
    frostproof ones and those where it does not freeze. A valve of unknown kind in each branch that
    has no other is asked about.
    """
    if is_stopped_by_itself(fixture):
        return PASS
    if fixture.kind in FROM_THE_WALL and context.code.family == "upc":
        return NOT_APPLICABLE
    lacking = [b for b in fixture.branches if not has_stop(b, fixture, context)]
    if not lacking:
        return PASS
    if fixture.known_kind is None:
        return not_known("known_kind", fixture)
    if fixture.kind == "hose-bibb":
        if _is_kept_warm(fixture.element, context):
            return NOT_APPLICABLE
        if not context.code.is_edition_of("irc"):
            return _no_stop(fixture, lacking, context)
        if context.job.building.freezing is False or _is_frostproof(fixture.element):
            return NOT_APPLICABLE
        if context.job.building.freezing is None:
            return not_known(
                FREEZES, f"{fixture.label} has no stop valve", elements=fixture.element_ids
            )
        return _no_stop(fixture, lacking, context, "P2903.10")
    return _no_stop(fixture, lacking, context)


def is_stopped_by_itself(fixture: WaterFixture) -> bool:
    """Whether it is a washing machine's box with its valves, or flushed by a flushometer valve,
    stated or drawn before it, which comes with its control stop. From memory: ASSE 1037."""
    if fixture.kind == "clothes-washer" and says(fixture.element, OUTLET_BOX):
        return True
    stated = fixture.element.properties.text("flush_type") == FLUSHOMETER
    last = (branch.elements for branch in fixture.branches)
    return stated or any(e.kind == "flushometer" for elements in last for e in elements)


def _is_kept_warm(element: Element, context: Context) -> bool:
    """Whether it stands in a room of the building that is not called a cold one, and in no wall."""
    at, footprint = element.position, context.plumbing.surroundings.footprint
    if not element.space or at is None or footprint is None or not footprint.holds(at):
        return False
    return cold_place(element, at, context) is None


def _no_stop(
    fixture: WaterFixture, lacking: list[WaterSegment], context: Context, clause: str = ""
) -> Answer:
    doubtful = [next(_of_unknown_kind(branch, fixture, context), None) for branch in lacking]
    if doubtful[0] is not None and None not in doubtful:
        guids = [valve.guid for valve in doubtful if valve is not None]
        return not_known(
            STOPS_BRANCH, doubtful[0], fixture, elements=[*guids, *fixture.element_ids]
        )
    sides = " and ".join(sorted({branch.service for branch in lacking}))
    text = f"Put a stop in the {sides} branch, at the fixture."
    return missing(
        STOPS,
        message=f"{fixture.label} has no stop valve in its {sides} branch.",
        remedy=Change("part", fixture.element_ids, "stop valve", text),
        elements=(fixture.element.guid, *(branch.key for branch in lacking)),
        clause=clause,
    )


def _is_frostproof(element: Element) -> bool:
    words = element.called.lower()
    return any(word in words for word in FROSTPROOF)


def has_stop(branch: WaterSegment | None, fixture: WaterFixture, context: Context) -> bool:
    """Whether a valve closes a branch of a fixture between its last junction and the fixture."""
    return any(_stops(branch, fixture, context))


def _stops(
    branch: WaterSegment | None, fixture: WaterFixture, context: Context
) -> Iterator[Element]:
    """The valves that close a branch between its last junction and the fixture."""
    return filter(isolates, _own(branch, fixture, context))


def _of_unknown_kind(
    branch: WaterSegment | None, fixture: WaterFixture, context: Context
) -> Iterator[Element]:
    """The valves there of which nothing tells whether they close."""
    own = _own(branch, fixture, context)
    return (e for e in own if e.role is Role.VALVE and not e.kind)


def _own(branch: WaterSegment | None, fixture: WaterFixture, context: Context) -> Iterator[Element]:
    """The elements of a branch between its last junction and the fixture. A line to an arrester or
    another dead end, and one to a mixing valve of the fixture alone, make no junction; one from the
    stop of a fixture to an appliance beside it makes none near them."""
    supply = context.plumbing.supply
    mixed = Counter(m for tap in fixture.fed for m in supply.mixers(tap))
    to_own = {supply.cold_inlets[m] for m, taps in mixed.items() if supply.serves[m] <= taps}
    along_m, nearest_m = supply.distribution.length_m, 0.0
    while branch is not None:
        for index in branch.indexes:
            if at_most(nearest_m - along_m[index], LONGEST_CONNECTOR_M, "m"):
                yield supply.elements[index]
        above = branch.above
        beside = [] if above is None else [line for line in above.below if line is not branch]
        taken = above.connection if above is not None else None
        meets = branch.inlet != NONE and not beside and taken is None  # it is fed twice
        leads_on = any(supply.serves[b.indexes[0]] and not to_own & {*b.indexes} for b in beside)
        if leads_on and above is not None and (met_m := _one_place_m(above, supply)):
            leads_on, nearest_m = False, met_m
        if meets or leads_on or (taken is not None and taken.element != fixture.index):
            return
        branch = above


def _one_place_m(line: WaterSegment, supply: Supply) -> float | None:
    """How far from the source the first connection of a line stands that serves one fixture at most
    and else appliances: a sink and its dishwasher. None of one that serves more."""
    if supply.serves[line.indexes[-1]] > AT_ONE_PLACE:
        return None
    lines = [line]
    for each in lines:
        lines += supply.serving(each)
    if not all(each.connection or supply.serving(each) for each in lines):
        return None
    ends = [each.connection for each in lines if each.connection is not None]
    roles = [supply.elements[i].role for i in {end.element for end in ends}]
    is_one = roles.count(Role.APPLIANCE) >= len(roles) - 1
    return min((end.length_m or INFINITE for end in ends), default=None) if is_one else None


@rule(
    title="No valve that shuts an emergency eyewash or shower",
    clauses={"upc": "416.1", "ipc": "411.1", "irc": ""},
    severity=Severity.HIGH,
    applies=lambda fixture: fixture.kind == EMERGENCY,
    needs=("feed",),
)
def emergency_not_shut(fixture: WaterFixture, context: Context) -> Answer:
    """Who stands blind before a dry eyewash does not look for a valve.

    Valves that close water between the last branch and an emergency eyewash or shower, or ahead of
    its tempering valve where that serves nothing else, unless named as locked open. An advisory:
    such a valve may be secured where it stands. The sections, and what they take from ISEA Z358.1,
    are from memory.
    """
    branches = [*fixture.branches, *_cold_to_its_mixer(fixture, context)]
    loose = [v for b in branches for v in _stops(b, fixture, context) if not says(v, LOCKED)]
    if not loose:
        return PASS
    return advise(
        f"{loose[0].label} shuts the water of {fixture.label}.",
        "Leave it out, or lock it open and name it so.",
        elements=(*(v.guid for v in loose), fixture.element.guid),
    )


def _cold_to_its_mixer(fixture: WaterFixture, context: Context) -> Iterator[WaterSegment | None]:
    """The cold water of a mixing valve that serves the fixture alone; the hot is on its path."""
    supply = context.plumbing.supply
    for mixer in (m for tap in fixture.fed for m in supply.mixers(tap)):
        if supply.serves[mixer] <= 1:
            yield supply.segment_of.get(supply.cold_inlets[mixer])
