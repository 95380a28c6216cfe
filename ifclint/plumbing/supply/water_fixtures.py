"""What takes water: each fixture and appliance, with its connections for cold and hot."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import dist

from ifclint.engineering.tolerance import at_most
from ifclint.ifc.elements import DRAINAGE, Confidence, Element, End, Point, Role, System
from ifclint.ifc.facts.vocabulary import own_vocabulary
from ifclint.network import Network
from ifclint.plumbing.flow.distribution import Connection, Distribution
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.supply.segments import COLD, HOT, WaterSegment
from ifclint.plumbing.words import says_text

USERS = frozenset({Role.FIXTURE, Role.APPLIANCE})
NOT_POTABLE_KINDS = frozenset({"disposer", "roof-drain", "pan-drain"})
TREATMENT = frozenset({"water-softener", "water-filter"})
OUTLET_VALVES = frozenset({"faucet", "drain"})
WANTS_WATER = frozenset({
    "water-closet", "urinal", "lavatory", "bidet", "bathtub", "shower", "kitchen-sink",
    "bar-sink", "laundry-sink", "mop-sink", "clinical-sink", "sink", "drinking-fountain",
    "wash-fountain", "dental-unit", "hose-bibb", "ice-maker", "emergency-fixture",
    "dishwasher-appliance", "clothes-washer-appliance",
})  # fmt: skip
HOSE_M = 2.0  # a washer's hoses reach this far from its outlet box. Ours, no source
ALONE = {  # what a connection alone is called, where nothing says water
    COLD: ("fria", "fría", "froide", "froid", "kalt", "koud", "cold"),
    HOT: ("caliente", "chaude", "chaud", "warm", "heiss", "heiß", "hot"),
}
SERVICE_OF = {System.COLD_WATER: COLD, System.HOT_WATER: HOT, System.HOT_WATER_RETURN: HOT}


@dataclass(eq=False, repr=False)
class Tap:
    """One water connection of a fixture: what its end is named, and the line that feeds it."""

    connection: Connection
    named: str  # "cold", "hot" or "" as the model says
    labelled: str  # the same by the name of its end alone
    segment: WaterSegment | None  # None where nothing feeds it
    point: Point | None

    @property
    def service(self) -> str:
        """What it gets; where nothing feeds it, what it is named, "" where nothing says."""
        return self.segment.service if self.segment is not None else self.named


@dataclass(eq=False, repr=False)
class WaterFixture(OfElement):
    """A fixture or appliance that takes water."""

    element: Element
    index: int
    taps: list[Tap]
    open_sides: tuple[str, ...] = ()  # of its connections that nothing is joined to, as named
    crossed: tuple[tuple[str, Element], ...] = ()  # of these, where piping of the other water ends

    @property
    def system(self) -> str:
        return "water supply"

    def tap(self, service: str) -> Tap | None:
        """The connection that gets cold or hot water, or should."""
        return next((t for t in self.taps if t.service == service), None)

    @property
    def kind(self) -> str:
        return self.element.kind.removesuffix("-appliance")

    @property
    def known_kind(self) -> str | None:
        return self.kind or None

    @property
    def fed(self) -> list[Tap]:
        """The connections that a source reaches."""
        return [tap for tap in self.taps if tap.segment is not None]

    @property
    def branches(self) -> list[WaterSegment]:
        """The segments that feed its connections, each once."""
        return list(dict.fromkeys(t.segment for t in self.taps if t.segment is not None))

    @property
    def feed(self) -> bool | None:
        """None where no source reaches any of its connections, or ends at one."""
        return True if self.branches or self.crossed else None

    @property
    def named(self) -> bool | None:
        """None where none of its connections is stated to be for hot or cold water."""
        return True if self.crossed or any(tap.named for tap in self.taps) else None

    @property
    def is_told_by_pipes(self) -> bool:
        """Whether it shows no connections of its own, and one cold and one hot pipe end at it: each
        says its side, and nothing can be crossed."""
        told = self.element.basis.get("ends")
        inferred = told is not None and told.confidence is Confidence.INFERRED
        return inferred and sorted(tap.service for tap in self.taps) == [COLD, HOT]

    @property
    def joined(self) -> bool:
        """Whether water piping is joined to it at all."""
        return bool(self.taps)


def uses_water(element: Element) -> bool:
    """Fixtures, appliances, and a valve that is an outlet; water passes a softener or filter."""
    if element.kind in TREATMENT and sum(end.system not in DRAINAGE for end in element.ends) > 1:
        return False
    if element.role is not Role.VALVE or element.kind not in OUTLET_VALVES:
        return element.role in USERS
    fed_by = {end.system for end in element.ends if end.flow != "out"}
    takes_both = len(element.ends) == 2 and fed_by == {System.COLD_WATER, System.HOT_WATER}
    return len(element.ends) == 1 or takes_both


def find_water_fixtures(
    elements: Sequence[Element],
    distribution: Distribution,
    segment_of: Mapping[int, WaterSegment],
    drained: set[int],
) -> list[WaterFixture]:
    """Every element that takes water, with its connections, in the order of the model.

    A fixture that wants water and is joined to none, in a model that has water piping, is one with
    no connection, but not the drain of a tank; a washing machine that stands by its outlet box
    takes its water there.
    """
    found: dict[int, WaterFixture] = {}
    points = distribution.places
    for connection in distribution.connections:
        element = elements[connection.element]
        if element.kind in NOT_POTABLE_KINDS:
            continue
        end = element.ends[connection.end]
        segment, point = segment_of.get(connection.up), points[connection.place]
        tap = Tap(connection, side_named(end), labelled(end), segment, point)
        fixture = WaterFixture(element, connection.element, [])
        found.setdefault(connection.element, fixture).taps.append(tap)
    if segment_of:
        for index, element in enumerate(elements):
            wants = element.role in USERS and element.kind in WANTS_WATER
            wants = wants and element.properties.flag("nonwater") is not True
            wants = wants and index not in found and index not in drained
            if wants and not _is_fed_by_a_box(element, found.values()):
                found[index] = WaterFixture(element, index, [])
    fixtures = [found[index] for index in sorted(found)]
    for fixture in fixtures:
        _look_at_open_ends(fixture, distribution.network)
    return fixtures


def _look_at_open_ends(fixture: WaterFixture, network: Network) -> None:
    """Which of its connections nothing is joined to, and where piping of the other water ends."""
    sides = [side_named(end) for end in fixture.element.ends]
    if not any(sides):
        return
    taken = network.taken_ends
    opened = [n for n in range(len(sides)) if sides[n] and (fixture.index, n) not in taken]
    fixture.open_sides = tuple(sides[n] for n in opened)
    fixture.crossed = tuple(
        (sides[n], other)
        for n in opened
        for other in network.meeting(fixture.index, n)
        if {sides[n], SERVICE_OF.get(other.system or System.OTHER)} == {COLD, HOT}
    )


def _is_fed_by_a_box(element: Element, fixtures: Iterable[WaterFixture]) -> bool:
    """Whether a washing machine stands by the outlet box that takes its water."""
    if element.kind != "clothes-washer-appliance" or element.position is None:
        return False
    return any(
        f.kind == "clothes-washer"
        and f.taps
        and f.element.position is not None
        and at_most(dist(f.element.position, element.position), HOSE_M, "m")
        for f in fixtures
    )


def side_named(end: End) -> str:
    """What an end is named for, cold or hot, by its system or its name; "" where neither says."""
    return SERVICE_OF.get(end.system or System.OTHER, labelled(end))


def labelled(end: End) -> str:
    """What the name of an end says, cold or hot; "" where it says neither."""
    return _side_said(end.name) if end.name else ""


@lru_cache(maxsize=4096)
def _side_said(name: str) -> str:
    said = own_vocabulary().systems.find(name)
    if said is not None:
        return SERVICE_OF.get(said, "")
    return next((side for side, words in ALONE.items() if says_text(name, words)), "")
