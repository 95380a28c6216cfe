"""Rules about what stands around the lines: sources, rings, crossings, hammer, backflow, frost."""

from __future__ import annotations

from ifclint.engineering.data import rows_of
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import feet_text
from ifclint.findings import NOT_APPLICABLE, PASS, Answer, Measure, Outcome, Severity, Step
from ifclint.ifc.elements import Element, Role
from ifclint.packs import ANY_CODE, Context, rule
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.plumbing.supply.water_supply import WaterFixture, WaterService
from ifclint.rules.supply.demand import demand

QUICK = frozenset({"dishwasher", "clothes-washer", "ice-maker"})  # solenoid valves
HOSES = frozenset({"hose-bibb"})
PROTECTS = frozenset({"vacuum-breaker", "backflow-preventer"})
PROTECTION_WORDS = ("vacuum breaker", "backflow", "anti-siphon", "antisiphon")
DEAD_LEG_M = 2 * M_PER_FT  # a shorter stub is no dead leg; common practice
NO_DEAD_LEG = frozenset({Role.TANK, Role.VALVE, Role.HEATER, Role.METER, Role.PUMP})


@rule(
    title="Water comes from a known source and reaches all piping",
    subject=WaterService,
    clauses=ANY_CODE,
)
def supply_is_fed(service: WaterService, context: Context) -> Answer:
    """Nothing can be said of pressure in pipe that no source reaches.

    The source is the job file's, else the meter, or where the pipe before it begins; where there
    is neither, the largest open end of the cold piping is assumed. Piping that nothing feeds is
    listed: an open end, a missing joint, or hot piping whose heater is not modelled.
    """
    supply = service.supply
    if service.source_known is None:
        return Answer(
            Outcome.UNVERIFIED,
            f'Where the water comes from is not told; "{service.element.label}" was assumed.',
            remedy='Model the water meter, or give the job file [water] source = "GlobalId" of '
            "where the supply begins.",
        )
    if not supply.not_fed:
        return PASS
    elements = [supply.elements[i] for i in supply.not_fed]
    return Answer(
        Outcome.UNVERIFIED,
        f"{len(elements)} element(s) of the water supply are reached from no source, the first of "
        f'them "{elements[0].label}".',
        remedy="Join them to the supply; hot piping needs its water heater joined on both sides.",
        elements=tuple(e.guid for e in elements[:20]),
    )


@rule(
    title="No ring in the supply that divides its flow unknown",
    subject=WaterService,
    clauses=ANY_CODE,
    severity=Severity.LOW,
)
def supply_ring(service: WaterService, context: Context) -> Answer:
    """In a ring water comes from both sides, and how much from each the method does not tell.

    Every ring with fixtures on both of its ways, circulation left out. Ways that only lead to one
    point (heaters in parallel) share what passes and are excused. What is fed through a ring is
    calculated over the shorter way alone, so its pressures are lower bounds.
    """
    loops = [r for r in service.supply.distribution.loops if not r.shared]
    if not loops:
        return PASS
    elements = service.supply.elements
    meets = [elements[r.meets] for r in loops]
    return Answer(
        Outcome.UNVERIFIED,
        f'{len(loops)} ring(s) of supply piping, closing at "{meets[0].label}": each was '
        "calculated as if cut there.",
        remedy="Undo the joint that does not belong; or have a ring that is meant designed as one.",
        elements=tuple(dict.fromkeys(e.guid for e in meets)),
    )


@rule(
    title="Hot to hot, cold to cold",
    subject=WaterFixture,
    clauses={"upc": "417.5", "ipc": "607.4", "irc": "P2722.2"},
    severity=Severity.HIGH,
    applies=lambda fixture: any(t.named for t in fixture.taps) or len(fixture.taps) > 1,
)
def not_crossed(fixture: WaterFixture, context: Context) -> Answer:
    """A hand under the tap marked cold is scalded.

    What the fixture's connections are named, cold or hot, against whether a water heater lies on
    the way that feeds them.
    """
    if not any(tap.named for tap in fixture.taps):
        return Answer(
            Outcome.UNVERIFIED,
            f"{fixture.label} has {len(fixture.taps)} water connections; which of them is for hot "
            "water is not told.",
            remedy="Say of each of its ports whether it is for hot or cold water: SystemType "
            "DOMESTICHOTWATER or DOMESTICCOLDWATER, or the name of the port.",
        )
    wrong = [t for t in fixture.taps if t.segment is not None and t.named not in ("", t.service)]
    if not wrong:
        fed = [t for t in fixture.taps if t.segment is not None]
        return PASS if fed else _not_fed(fixture)
    first = wrong[0]
    both = " and its hot and cold are crossed" if len(wrong) > 1 else ""
    segment = first.segment
    assert segment is not None
    return Answer(
        Outcome.VIOLATION,
        f"The {first.named} connection of {fixture.label} gets {first.service} water{both}.",
        remedy="Join the hot branch to the hot connection, and the cold to the cold.",
        elements=(fixture.element.guid, *(t.segment.key for t in wrong if t.segment is not None)),
        steps=(Step(f"Fed by {segment.label}"),),
    )


def _not_fed(fixture: WaterFixture) -> Answer:
    return Answer(
        Outcome.UNVERIFIED,
        f"What feeds {fixture.label} is not known.",
        remedy="Join its piping to the source: an open end or a missing joint lies between.",
    )


@rule(
    title="Hammer arrester at quick-closing appliances",
    subject=WaterFixture,
    clauses={"upc": "609.10", "ipc": "604.9", "irc": "P2903.5"},
    severity=Severity.LOW,
    applies=lambda fixture: fixture.kind in QUICK,
)
def hammer_arrester(fixture: WaterFixture, context: Context) -> Answer:
    """A solenoid valve shuts in an instant, and the water it stops strikes the pipe.

    An arrester in the branch of a dishwasher, clothes washer or ice maker, or on a stub of it. It
    is often left out of a model, or built into the outlet box, so its absence is advice.
    """
    fed = [t.segment for t in fixture.taps if t.segment is not None]
    if not fed:
        return NOT_APPLICABLE
    lacking = [segment for segment in fed if not _arrested(segment)]
    if not lacking:
        return PASS
    units = demand(context).units[fixture]
    size = _arrester(units.total if units is not None else 1.0)
    return Answer(
        Outcome.ADVISORY,
        f"No water hammer arrester is drawn in the branch of {fixture.label}.",
        remedy=f"Put an arrester (size {size}) at the valve, or an outlet box with arresters.",
        elements=(fixture.element.guid, *(segment.key for segment in lacking)),
        steps=(Step("Arrester by fixture units", None, "", "PDI WH-201, from memory"),),
    )


def _arrested(segment: WaterSegment) -> bool:
    """Whether an arrester stands in the line, or on a stub beside it."""
    beside = segment.above.below if isinstance(segment.above, WaterSegment) else []
    stubs = [
        b for b in beside if isinstance(b, WaterSegment) and b.connection is None and not b.below
    ]
    return any(e.kind == "hammer-arrester" for near in (segment, *stubs) for e in near.elements)


def _arrester(units: float) -> str:
    for row in rows_of("hammer_arresters"):
        to = row["wsfu_to"]
        if isinstance(to, float) and units <= to:
            return str(row["arrester"])
    return "F"


@rule(
    title="Hose connections protected against backflow",
    subject=WaterFixture,
    clauses={"upc": "603.5.7", "ipc": "608.16.4.2", "irc": "P2902.4.3"},
    severity=Severity.HIGH,
    applies=lambda fixture: (
        fixture.joined and (fixture.kind in HOSES or _irrigates(fixture.element))
    ),
)
def hose_protected(fixture: WaterFixture, context: Context) -> Answer:
    """A hose left in a bucket of weed killer siphons it back into the kitchen.

    A vacuum breaker or backflow preventer in the branch, or told by the name of the fixture or of
    its type. A hose bibb of which the model tells none may have one built in; a connection of an
    irrigation system cannot, and needs the device in its branch.
    """
    if _told(fixture.element):
        return PASS
    fed = [t.segment for t in fixture.taps if t.segment is not None]
    if fed and all(
        any(e.kind in PROTECTS or _told(e) for e in segment.elements) for segment in fed
    ):
        return PASS
    if fed and _irrigates(fixture.element):
        return Answer(
            Outcome.VIOLATION,
            f"No backflow preventer stands in the branch to {fixture.label}.",
            remedy="Put a pressure vacuum breaker or a reduced-pressure backflow preventer in the "
            "branch.",
            elements=(fixture.element.guid, *(segment.key for segment in fed)),
        )
    return Answer(
        Outcome.UNVERIFIED,
        f"The model tells of no backflow protection at {fixture.label}.",
        remedy="Use a hose bibb with a vacuum breaker built in (name its type so), or model the "
        "vacuum breaker.",
    )


def _irrigates(element: Element) -> bool:
    words = f"{element.name} {element.type_name}".lower()
    return "irrigation" in words or "sprinkler connection" in words


def _told(element: Element) -> bool:
    words = f"{element.name} {element.type_name}".lower()
    return any(word in words for word in PROTECTION_WORDS)


@rule(
    title="No dead leg",
    subject=WaterSegment,
    clauses={"any": "common practice, no clause"},
    severity=Severity.LOW,
    applies=lambda segment: (
        not segment.below and segment.connection is None and bool(segment.pipes)
    ),
)
def dead_leg(segment: WaterSegment, context: Context) -> Answer:
    """Water that never moves goes stale, and warm stale water breeds legionella.

    Pipe that ends at nothing, longer than 2 ft. Tanks, heaters, valves and arresters at its end
    are excused.
    """
    last = segment.indexes[-1]
    shares = any(last in paths for paths in segment.distribution.also_fed_by.values())
    if shares or segment.distribution.elements[last].role in NO_DEAD_LEG:
        return NOT_APPLICABLE
    length = segment.length_m
    if length is None:
        return Answer(
            Outcome.UNVERIFIED,
            f"{segment.label} ends at nothing, and its length is not known.",
            remedy="Give the pipe a shape, or a Length quantity.",
            elements=segment.lacking("length_m"),
        )
    if length <= DEAD_LEG_M:
        return PASS
    return Answer(
        Outcome.ADVISORY,
        f"{segment.label} ends at nothing after {feet_text(length / M_PER_FT)}.",
        Measure(length / M_PER_FT, "ft"), Measure(DEAD_LEG_M / M_PER_FT, "ft", "at most"),
        "Cut it back to its tee, or join what it was meant for.",
        (Step("Longest stub that is no dead leg, common practice", DEAD_LEG_M / M_PER_FT, "ft"),),
    )  # fmt: skip


RULES = (
    supply_is_fed, supply_ring, not_crossed, hammer_arrester, hose_protected, dead_leg,
)  # fmt: skip
