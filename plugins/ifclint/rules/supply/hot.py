"""Hot water: how far from its heater or circulated loop, and how long one waits for it."""

from collections import Counter
from dataclasses import dataclass
from math import pi

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Fact,
    check,
    due,
    known,
    missing,
    not_known,
    violation,
)
from ifclint.engineering.arithmetic import not_below_zero
from ifclint.engineering.joined import NONE
from ifclint.engineering.units import M3_PER_S_PER_GPM, M3_PER_US_GAL, M_PER_FT
from ifclint.engineering.wording import apart_text
from ifclint.findings import Answer, Change, PartKind, Step
from ifclint.ifc.elements import Role, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.supply.segments import COLD, HOT, WaterSegment
from ifclint.plumbing.supply.water_fixtures import Tap, WaterFixture
from ifclint.plumbing.supply.water_supply import Supply
from ifclint.plumbing.words import says
from ifclint.rules.supply.losses import inside_of

WASHING = frozenset(
    {"lavatory", "wash-fountain", "kitchen-sink", "laundry-sink", "bathtub", "shower"}
)
ENDS_OPEN = frozenset({Role.PIPE, Role.FITTING})
NO_WAIT = frozenset({"clothes-washer", "dishwasher", "floor-drain"})
FLOW_GPM = 1.5  # a faucet run for hot water, where the code lists no flow; common practice
DISTANCE = Fact(
    "how far {} is from hot water",
    "Model the water heater, and join hot piping from it to the fixture.",
)


@dataclass(frozen=True)
class Wait:
    """Between hot water and a fixture."""

    length_m: float
    volume_m3: float | None  # None where a bore is not known
    seconds: float | None
    source: str  # the heater, or "the circulated loop"

    @property
    def volume_gal(self) -> float | None:
        return None if self.volume_m3 is None else self.volume_m3 / M3_PER_US_GAL


@derived
def circulated(context: Context) -> frozenset[int]:
    """The elements that circulation keeps hot: the hot piping from heater to where it returns."""
    supply = context.plumbing.supply
    returns = set(supply.returns)
    hot: set[int] = set()
    for index in returns:
        for neighbour in supply.network.neighbours(index):
            segment = supply.segment_of.get(neighbour)
            if neighbour not in returns and segment is not None and segment.service == HOT:
                hot.update(supply.distribution.path(neighbour))
    return frozenset(i for i in hot if supply.segment_of[i].service == HOT)


def wait(tap: Tap, context: Context) -> Wait | None:
    """How far a hot connection is from hot water, and how much cold water lies between."""
    segment, supply = tap.segment, context.plumbing.supply
    if (
        segment is None
        or segment.service != HOT
        or segment.heater < 0
        or tap.connection.length_m is None
    ):
        return None
    loop, start, source = circulated(context), segment.heater, supply.elements[segment.heater].label
    for index in reversed(supply.distribution.path(tap.connection.up)):
        if index in loop:
            start, source = index, "the circulated loop"
            break
    length = tap.connection.length_m - _left_at_m(tap, start, supply)
    volume = _volume_m3(segment, start, context)
    flow = _flow_gpm(tap, context) * M3_PER_S_PER_GPM
    return Wait(not_below_zero(length), volume, None if volume is None else volume / flow, source)


def _left_at_m(tap: Tap, start: int, supply: Supply) -> float:
    """Developed length from the source to where the way to a connection leaves an element."""
    distribution = supply.distribution
    path = distribution.path(tap.connection.up)
    if path[-1] == start:
        return distribution.place_m[tap.connection.place]
    following = path[path.index(start) + 1]
    return distribution.place_m[distribution.entry[following]]


def _volume_m3(segment: WaterSegment, start: int, context: Context) -> float | None:
    """The water in the pipe between an element and the far end of a line."""
    total = 0.0
    walked: WaterSegment | None = segment
    while walked is not None and walked.service == HOT:
        inside = inside_of(walked, context) if walked.pipes else 0.0
        if inside is None:
            return None
        begin = walked.indexes.index(start) + 1 if start in walked.indexes else 0
        after = set(walked.indexes[begin:])
        lengths = [walked.distribution.elements[i].length_m for i in walked.pipes if i in after]
        known = [x for x in lengths if x is not None]
        if len(known) < len(lengths):
            return None
        total += pi / 4 * inside**2 * sum(known)
        if start in walked.indexes:
            break
        walked = walked.above
    return total


def _flow_gpm(tap: Tap, context: Context) -> float:
    if "fixture_flow" in context.code.tables:
        kind = context.plumbing.network.elements[tap.connection.element].kind
        rows = context.code.table("fixture_flow").where(fixture=kind.removesuffix("-appliance"))
        if rows:
            return rows[0].number("flow_gpm")
    return FLOW_GPM


@rule(
    title="Hot water near every fixture",
    clauses={"ipc": "607.2", "irc": "P2905.3"},
    applies=lambda fixture: (
        fixture.kind not in NO_WAIT and any(HOT in (t.named, t.service) for t in fixture.taps)
    ),
)
def hot_water_length(fixture: WaterFixture, context: Context) -> Answer:
    """Nobody should run a minute of water down the drain before it comes hot.

    The developed length of the hot piping from its heater, or from a circulated loop where it
    leaves one, to the fixture, against the greatest the code allows. The schedule of hot water
    gives the volume and the time to wait.
    """
    limit, tap = due(context.code.limit_or_none("hot_water_length_ft")), fixture.tap(HOT)
    found = known(wait(tap, context) if tap is not None else None, DISTANCE)
    feet, gallons = found.length_m / M_PER_FT, found.volume_gal
    seconds = "" if found.seconds is None else f", about {found.seconds:.0f} s away"
    water = [] if gallons is None else [Step("Water in that pipe", gallons, "gal")]
    return check(
        feet,
        at_most=limit,
        message=f"{fixture.label} is {apart_text(feet, limit.value, 'ft')} from "
        f"{found.source}{seconds}.",
        remedy=_nearer(fixture, tap),
        steps=(Step(f"Developed length from {found.source}", feet, "ft"), *water),
        limit_step="Greatest developed length",
        elements=(fixture.element.guid, *(b.key for b in fixture.branches if b.service == HOT)),
    )


def _nearer(fixture: WaterFixture, tap: Tap | None) -> Change:
    """Hot water brought nearer: one change for all that one heater feeds."""
    text = "Circulate the hot main to within reach, shorten the way, or set a heater nearer."
    line = tap.segment if tap is not None else None
    heater = line.distribution.elements[line.heater] if line and line.heater != NONE else None
    own = (heater or fixture.element).guid
    return Change("part", (own,), "hot water circulation", text)


@derived
def _with_hot(context: Context) -> list[WaterFixture]:
    """The fixtures that get hot water."""
    fixtures = context.plumbing.supply.fixtures
    return [f for f in fixtures if any(tap.service == HOT and tap.segment for tap in f.taps)]


@derived
def _hot_of_kind(context: Context) -> Counter[str]:
    """How many fixtures of each kind get hot water."""
    return Counter(fixture.kind for fixture in _with_hot(context))


@derived
def _of_kind(context: Context) -> Counter[str]:
    return Counter(fixture.kind for fixture in context.plumbing.supply.fixtures)


HOT_PIPING = PartKind(
    "hot water piping",
    drawn=lambda context: bool(_with_hot(context)),
    remedy="Draw the hot water piping from its heater to the fixtures, joined to their hot "
    "connections.",
)
OPEN = Fact(
    "The hot connection of {} is joined to nothing; hot water piping ends open elsewhere.",
    "Join its hot branch to it.",
)
MANY = 2  # others of a kind with hot water make one without it an oversight. Ours, no source
COLD_MEANT = ("cold", "tempered", "tepid", "single supply", "point of use", "pou", "instant*")
COLD_ALONE = Fact(
    "Whether {} gets hot water is not known: only cold water is joined to it.",
    "Draw its hot branch, or the mixing valve that it is fed from.",
    asked_once=True,
)
HOT_ANYWHERE = frozenset({"shower", "bathtub", "kitchen-sink"})  # other kinds in dwellings


@rule(
    title="Hot water where people wash",
    clauses={"upc": "601.2", "ipc": "607.1", "irc": "P2801.1"},
    applies=lambda fixture: bool(fixture.taps) and not fixture.crossed,
)
def hot_water_drawn(fixture: WaterFixture, context: Context) -> Answer:
    """Hands, dishes and people are not washed clean in cold water.

    A connection that the model calls hot and joins to nothing, beside a cold one that is joined;
    where hot piping ends open elsewhere, it may be its branch, and that is asked. A lavatory, sink,
    bathtub or shower that only cold water is joined to is wrong where it is the only one of its
    kind and two or more others get hot, unless its name says cold or tempered; where only some get
    hot, it is asked, and so where none of its kind does and others do: of showers, tubs and kitchen
    sinks, in private use of all.
    """
    if HOT in fixture.open_sides and not any(HOT in (t.named, t.service) for t in fixture.taps):
        if _hot_ends_open(context):
            return not_known(OPEN, fixture)
        text = "Bring a hot branch to it from the nearest hot line."
        return missing(
            HOT_PIPING,
            message=f"The hot connection of {fixture.label} is joined to nothing.",
            remedy=Change("part", fixture.element_ids, "hot water branch", text),
        )
    if fixture.kind not in WASHING or fixture.feed is None:
        return NOT_APPLICABLE
    if any(t.service != COLD or (t.segment and t.segment.is_mixed) for t in fixture.taps):
        return PASS
    alike = _hot_of_kind(context)[fixture.kind]
    if not alike:
        is_due = fixture.kind in HOT_ANYWHERE or context.job.building.use == "private"
        is_meant = says(fixture.element, COLD_MEANT) or not _hot_of_kind(context)
        return NOT_APPLICABLE if is_meant or not is_due else not_known(COLD_ALONE, fixture)
    is_alone = alike >= MANY and _of_kind(context)[fixture.kind] == alike + 1
    if not is_alone or _hot_ends_open(context) or says(fixture.element, COLD_MEANT):
        return not_known(COLD_ALONE, fixture)
    return violation(
        message=f"Only cold water is joined to {fixture.label}; the {alike} others of its "
        "kind get hot.",
        remedy=Change(
            "part", fixture.element_ids, "hot water branch",
            "Bring a hot branch to it from the nearest hot line.",
        ),
    )  # fmt: skip


@derived
def _hot_ends_open(context: Context) -> bool:
    """Whether a pipe or fitting of the hot water has an end that nothing is joined to."""
    return any(
        piece.open_ends and piece.element.system is System.HOT_WATER and piece.role in ENDS_OPEN
        for piece in context.plumbing.pieces
    )
