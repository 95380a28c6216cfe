"""Hot water: how far from its heater or circulated loop, and how long one waits for it."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from ifclint.checks import Fact, check, due, known
from ifclint.engineering.arithmetic import not_below_zero
from ifclint.engineering.units import M3_PER_S_PER_GPM, M3_PER_US_GAL, M_PER_FT
from ifclint.engineering.wording import apart_text
from ifclint.findings import Answer, Step
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.supply.segments import HOT, WaterSegment
from ifclint.plumbing.supply.water_fixtures import Tap, WaterFixture
from ifclint.plumbing.supply.water_supply import Supply
from ifclint.rules.supply.losses import inside_of

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
    subject=WaterFixture,
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
        remedy="Circulate the hot main to within reach, shorten the way, or set a heater nearer.",
        steps=(Step(f"Developed length from {found.source}", feet, "ft"), *water),
        limit_step="Greatest developed length",
        elements=(fixture.element.guid, *(b.key for b in fixture.branches if b.service == HOT)),
    )


RULES = (hot_water_length,)
