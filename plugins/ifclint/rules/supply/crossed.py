"""Rules about hot and cold water kept apart: at fixtures, and between their piping."""

from collections import Counter
from collections.abc import Iterator

from ifclint.checks import PASS, Fact, not_known, violation
from ifclint.findings import Answer, Change, Severity, Step
from ifclint.ifc.elements import Element, Role, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.supply.segments import COLD, HOT, WaterSegment
from ifclint.plumbing.supply.water_fixtures import WaterFixture
from ifclint.plumbing.supply.water_supply import Supply, WaterService
from ifclint.rules.supply.circulation import Return, returns, runs_astray
from ifclint.rules.supply.hot import WASHING
from ifclint.rules.supply.mixing import side_of

MORE_THAN_ONE = 1.5  # of what flow shares out
MIXES = frozenset({"mixing", "faucet", "relief"})
THREE_WAYS = 3  # of a mixing valve
MAY_MIX = Fact(
    "whether {}, at which cold and hot water meet, mixes them is not known.",
    "Set the PredefinedType of the valve (MIXING), or name it in trade words.",
)
JOINED = Fact(
    "{} of the cold water meets {} of the hot; whether they are joined is not stated.",
    "Join what is joined by ports, or draw the two apart.",
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
    clauses={"upc": "417.5", "ipc": "607.4", "irc": "P2722.2"},
    severity=Severity.HIGH,
    applies=lambda fixture: (
        bool(fixture.crossed)
        or any(t.named for t in fixture.taps)
        or (len(fixture.taps) > 1 and not fixture.is_told_by_pipes)
    ),
    needs=("named", "feed"),
    asked_once=True,
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
    clauses={"upc": "417.5", "ipc": "607.4", "irc": "P2722.2"},
    severity=Severity.HIGH,
)
def hot_cold_apart(service: WaterService, context: Context) -> Iterator[Answer]:
    """Through a pipe between the two mains every draw sends hot water into the cold, and back.

    Joints between cold and hot pipe, fittings and valves, other than through a heater, a mixing
    valve, a faucet or a fixture. Circulation is left out, but for a return without a pump that runs
    into cold water which goes on to no heater. One that only ends which meet suggest is
    asked about, as are ends that meet and were not joined because of their systems, and a valve of
    unknown kind with three ends, which may mix.
    """
    yield PASS
    supply, may_mix = service.supply, dict[str, Element]()
    met = list[tuple[int, int, bool]]()
    for a, b, is_stated in joined_sides(context):
        if not service.holds(a):
            continue
        if unknown := next((supply.elements[i] for i in (a, b) if _may_mix(supply, i)), None):
            may_mix[unknown.guid] = unknown
        else:
            met.append((a, b, is_stated))
    yield from (_joined(*each) for each in _by_place(supply, met))
    for valve in may_mix.values():
        yield not_known(MAY_MIX, valve, about=valve.guid)
    yield from (_runs_into(*each, supply) for each in _astray(service, context))


def _astray(service: WaterService, context: Context) -> Iterator[tuple[int, Return]]:
    """Where a return that nothing pumps runs into cold water behind which no heater stands."""
    supply = service.supply
    for found in returns(context):
        cold = [i for i in found.back if side_of(supply, i) == COLD and service.holds(i)]
        if cold and runs_astray(supply, found):
            yield max(cold, key=supply.distribution.length_m.__getitem__), found


def _runs_into(at: int, found: Return, supply: Supply) -> Answer:
    joined = supply.elements[at]
    return violation(
        message=f"A return of hot water runs into the cold at {joined.label}, which leads to no "
        "heater.",
        remedy="Part the two, and lead the return to the cold water inlet of its heater.",
        elements=(joined.guid, *(supply.elements[i].guid for i in found.piece)),
        about=joined.guid,
    )


def _may_mix(supply: Supply, index: int) -> bool:
    """Whether it is a valve of which nothing tells the kind, with two inlets and an outlet."""
    element = supply.elements[index]
    return element.role is Role.VALVE and not element.kind and len(element.ends) == THREE_WAYS


def _by_place(
    supply: Supply, met: list[tuple[int, int, bool]]
) -> Iterator[tuple[Element, list[Element], bool]]:
    """A piece at which the two meet, in the line of the other water it may be with two joints, and
    what of the other it meets there."""
    left = list(met)
    while left:
        counts = Counter(i for a, b, _ in left for i in (a, b))
        at = max((i for pair in left for i in pair[:2]), key=lambda i: counts[i])
        here = [each for each in left if at in each[:2]]
        others = [supply.elements[b if a == at else a] for a, b, _ in here]
        yield supply.elements[at], others, any(stated for *_, stated in here)
        left = [each for each in left if each not in here]


def _joined(one: Element, others: list[Element], is_stated: bool) -> Answer:
    """Cold water joined to hot, as the file states or ends that meet suggest."""
    sides = sorted((one, others[0]), key=lambda e: e.system is System.HOT_WATER)
    about = " ".join(e.guid for e in sides)
    if not is_stated:
        return not_known(JOINED, *sides, about=about)
    cold, hot = (e.label for e in sides)
    return violation(
        message=f"{cold} of the cold water is joined to {hot} of the hot.",
        remedy="Part the two: only a heater, a mixing valve or a fixture joins them.",
        elements=tuple(dict.fromkeys(e.guid for e in (*sides, *others))),
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
