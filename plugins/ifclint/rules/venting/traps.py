"""Rules about traps: that there is one, and only one, of a kind and at a height that works."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice
from math import dist

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Fact,
    advise,
    check,
    given,
    known,
    missing,
    not_known,
    require,
    violation,
)
from ifclint.codes import Limit
from ifclint.engineering.joined import NONE, onward
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import apart_text, number_text, trade_size, with_article
from ifclint.findings import Answer, Change, Measure, Outcome, Settles, Severity, Step
from ifclint.ifc.elements import Element, Point, Role, System
from ifclint.packs import Context, derived, rule
from ifclint.part_kinds import DRAINS, TRAPS
from ifclint.plumbing import BuildingDrain, Fixture, TrapArm
from ifclint.plumbing.drainage.hoses import STANDPIPE
from ifclint.plumbing.drainage.loads import INTO_THE_SINK
from ifclint.plumbing.drainage.receptors import RECEIVING
from ifclint.plumbing.drainage.through_air import is_tied
from ifclint.plumbing.words import says
from ifclint.rules.venting.code_tables import Allowed, allowed
from ifclint.rules.venting.wording import kind_words

LOOKED_FOR = 60  # elements below a fixture; a trap farther off is none of its own
MORE_THAN_ONE = 1.5  # fixtures: one alone is found as two traps in series
SHOWN = 6  # of them, in the steps of a finding
LAUNDRY = {"laundry-sink", "clothes-washer"}  # which may share a trap
SINKS = frozenset({"sink", "kitchen-sink", "bar-sink", "laundry-sink", "lavatory"})
TRAPPED_ALONE = frozenset(
    {"bathtub", "shower", "bidet", "urinal", "water-closet", "clothes-washer", "mop-sink"}
)
OWN_TRAP = Fact(
    "{} has no trap of its own; the next one, {}, also takes other drains.",
    f"{TRAPS.remedy} Or join the fixture above that trap if they are meant to share it.",
)
IN_THE_PUMP = Fact(
    "{} drains straight into {}; whether the pump unit brings a trap of its own is not known.",
    f"{TRAPS.remedy} Or show the pump's installation instructions.",
)
KIND = Fact(
    "what kind of trap {} is, the model does not show.",
    "Name the trap or its type in trade words (P-trap, drum trap ...).",
)
BELL = (
    "bell trap", "glockensiphon", "glockengeruchsverschluss", "siphon a cloche", "sifon campana",
)  # fmt: skip
SPACING = Fact(
    "how far apart the outlets on {} are is not known.", "Give every fixture a placed outlet port."
)


def needs_trap(fixture: Fixture) -> bool:
    """Not indirect waste, condensate, and a disposer, whose trap is the sink's."""
    through_air = fixture.is_indirect or fixture.gives_condensate
    return fixture.connected and not through_air and fixture.kind != "disposer"


def _is_drawn(arm: TrapArm) -> bool:
    return arm.trap is not None and not arm.integral


def _is_no_standpipe(arm: TrapArm) -> bool:
    return _is_drawn(arm) and arm.fixture.kind != STANDPIPE


@rule(
    title="Every fixture has a trap",
    subject=Fixture,
    clauses={"upc": "1001.2", "ipc": "1002.1", "irc-2021": "P3201.1"},
    severity=Severity.HIGH,
    applies=needs_trap,
    settles=Settles.TRAP,
    follows=(System.SANITARY,),
)
def fixture_trapped(fixture: Fixture, context: Context) -> Answer:
    """Without a trap, sewer gas comes into the room.

    A trap between the fixture's outlet and the first meeting of drains, or inside the fixture
    (closets, urinals, and what is marked so). A question where the outlet leads straight into a
    pump without a basin.
    """
    if fixture.trap is not None or fixture.element.properties.flag("integral_trap") is True:
        return PASS
    if is_tied(context, fixture):
        return NOT_APPLICABLE  # it is to end in the air
    if fixture.into_pump is not None:
        return not_known(IN_THE_PUMP, fixture, fixture.into_pump)
    below = list(islice(_downstream(fixture.index, context), LOOKED_FOR))
    trap = next((e for e in below if e.role is Role.TRAP), None)
    if trap is not None:
        return not_known(OWN_TRAP, fixture, trap)
    text = "Fit a trap at the outlet of the fixture, and vent it."
    return missing(
        TRAPS if DRAINS.is_drawn(context) else DRAINS,
        message=f"{fixture.label} drains without a trap.",
        remedy=Change("part", fixture.element_ids, "trap", text),
        steps=[Step(e.label) for e in below[:SHOWN]],
    )


def _downstream(index: int, context: Context) -> Iterator[Element]:
    """The elements water passes from an element on, with it."""
    drainage = context.plumbing.drainage
    return (drainage.elements[i] for i in onward(index, drainage.down))


@rule(
    title="No two traps in series",
    subject=TrapArm,
    clauses={"upc": "1001.2", "ipc": "1002.1", "irc-2021": "P3201.1"},
    applies=lambda arm: arm.trap is not None,
)
def one_trap_only(arm: TrapArm, context: Context) -> Iterator[Answer]:
    """Between two traps air is locked in, and the fixture drains by fits and starts.

    Any further trap between the fixture's trap and the first meeting of drains. Fixtures with an
    integral trap may have none below.
    """
    own = "its own trap" if arm.integral else arm.element.label
    elements = arm.piping.elements
    below = [elements[index] for index in traps_below(arm)]
    for further in below:
        yield violation(
            message=f"{arm.fixture.label} drains through {own} and then through {further.label}.",
            remedy=f"Take out {further.label}.",
            measured=Measure(1.0 + len(below), "traps"),
            required=Measure(1.0, "traps", "at most"),
            elements=(further.guid, *arm.element_ids),
            about=further.guid,
        )
    yield PASS


def traps_below(arm: TrapArm) -> list[int]:
    """Traps past the arm's own, before another drain comes in."""
    piping, down = arm.piping, arm.piping.drainage.down
    found, came, index = [], arm.start, down[arm.start]
    while index != NONE and all(i == came for i in piping.wet_above[index]):
        if piping.elements[index].role is Role.TRAP:
            found.append(index)
        came, index = index, down[index]
    return found


@derived
def _below_traps(context: Context) -> dict[int, float]:
    """The traps that more than one trap drains through, and how many do."""
    starts = {arm.start for arm in context.plumbing.venting.arms}
    drainage, elements = context.plumbing.drainage, context.plumbing.network.elements
    through = drainage.how_many(starts)
    return {
        index: through[index]
        for index in drainage.members
        if elements[index].role is Role.TRAP
        and index not in starts
        and through[index] >= MORE_THAN_ONE
    }


@rule(
    title="No trap in the building drain",
    subject=BuildingDrain,
    clauses={"upc": "1008.1", "ipc": "1002.6", "irc": "P3201.4"},
)
def building_trap(drain: BuildingDrain, context: Context) -> Iterator[Answer]:
    """A trap below trapped fixtures locks in the air that they breathe, and holds back solids.

    Any trap that more than one trap drains through, unless the authority asks for it (then accept
    the finding).
    """
    if not TRAPS.is_drawn(context):
        return
    piping = drain.piping
    number = piping.drainage.outlets.index(drain.outlet)
    for index, traps in _below_traps(context).items():
        if piping.drainage.outlet[index] == number:
            yield _trapped_twice(drain, piping.elements[index], traps)
    yield PASS


def _trapped_twice(drain: BuildingDrain, trap: Element, fixtures: float) -> Answer:
    """A trap that trapped fixtures drain through."""
    return violation(
        message=f"{number_text(fixtures)} trapped fixtures drain through {trap.label}.",
        remedy=f"Take out {trap.label}; where the authority asks for a building trap, accept this "
        "finding as a variance.",
        elements=(trap.guid, *drain.element_ids),
        about=trap.guid,
    )


@rule(
    title="Trap of a kind the code allows",
    subject=TrapArm,
    clauses={"upc": "1004.1", "ipc": "1002.3", "irc-2021": "P3201.5"},
    applies=_is_drawn,
)
def trap_kind(arm: TrapArm, context: Context) -> Answer:
    """Some traps siphon themselves dry or cannot be cleaned.

    The kind of trap the model names, against the code's list; also a bell trap that a drain is
    named with. A trap that is drawn as a P-trap but falls from its weir is found by the rule about
    vents.
    """
    belled = any(says(fixture.element, BELL) for fixture in arm.fixtures)
    kind = "bell-trap" if belled else arm.element.kind
    row = context.code.table("trap_kinds").one(trap=kind) if kind else None
    row = known(row, KIND, arm.element.label)
    conditional, one = allowed(row) is Allowed.CONDITIONAL, with_article(_trap_words(kind))
    only = f" but where {row.text('condition')}" if conditional else ""
    of = f"{'The trap' if belled else arm.element.label} of {arm.fixture.label}"
    return require(
        allowed(row) is Allowed.YES,
        wrong=Outcome.ADVISORY if conditional else Outcome.VIOLATION,
        message=f"{of} is {one}, which the code does not allow{only}.",
        remedy="Fit a P-trap with a vented trap arm.",
        steps=(Step(f"{_trap_words(kind)}: {allowed(row)}", source=row.clause),),
        clause=row.clause,
    )


def _trap_words(kind: str) -> str:
    return {"p-trap": "P-trap", "s-trap": "S-trap"}.get(kind, kind_words(kind))


@rule(
    title="Trap and trap arm of one size",
    subject=TrapArm,
    clauses={"upc": "1003.3"},
    severity=Severity.LOW,
    needs=("trap_size_in", "size_in"),
    applies=_is_drawn,
)
def trap_matches_arm(arm: TrapArm, context: Context) -> Answer:
    """A larger arm runs too shallow to scour itself.

    The nominal size of the trap against that of the first pipe past it. A smaller arm is found by
    the rule about fixture drains. By adapters this is often done and accepted: an advisory.
    """
    assert arm.size_in is not None
    assert arm.trap_size_in is not None
    trap, own = trade_size(arm.trap_size_in), trade_size(arm.size_in)
    return check(
        arm.size_in,
        at_most=arm.trap_size_in,
        unit="in",
        message=f"{arm.element.label} is {trap}, its arm {own}.",
        remedy=f"Make trap and arm {own}, or both {trap}.",
        wrong=Outcome.ADVISORY,
    )


@rule(
    title="Trap not too far below its fixture",
    subject=TrapArm,
    clauses={"upc": "1001.2", "ipc": "1002.1", "irc-2021": "P3201.6"},
    needs=("fixture_outlet", "weir"),
    applies=_is_no_standpipe,
)
def outlet_above_weir(arm: TrapArm, context: Context) -> Iterator[Answer]:
    """Water that falls far gathers speed and pulls its own seal, and the pipe above it fouls.

    The height from the outlet of each fixture to the trap weir. Standpipes have their own rule;
    traps inside fixtures are excused.
    """
    weir, most = given(arm.weir), context.code.limit("fixture_outlet_to_weir_vertical_in")
    for fixture, outlet in _outlets(arm):
        height = (outlet[2] - weir[2]) / M_PER_IN
        yield check(
            round(height, 2),
            at_most=most,
            message=f"{fixture.label} stands {apart_text(height, most.value, 'in')} above its "
            "trap weir.",
            remedy=f"Raise the trap to within {number_text(most.value)} in of the outlet.",
            steps=(
                Step("Height of the outlet", outlet[2] / M_PER_IN, "in"),
                Step("Height of the weir", weir[2] / M_PER_IN, "in"),
            ),
            limit_step="Outlet above weir, at most",
            about=_of_other(fixture, arm),
        )


def _outlets(arm: TrapArm) -> Iterator[tuple[Fixture, Point]]:
    """The outlets of the fixtures on a trap, as far as they are known; what drains into the sink
    has none of its own."""
    yield arm.fixture, given(arm.fixture_outlet)
    for other in arm.fixtures:
        outlet = arm.piping.exit(other.index)
        if other is not arm.fixture and other.kind not in INTO_THE_SINK and outlet is not None:
            yield other, outlet


def _of_other(fixture: Fixture, arm: TrapArm) -> str:
    return "" if fixture is arm.fixture else fixture.element.guid


@rule(
    title="Trap not too far beside its fixture",
    subject=TrapArm,
    clauses={"ipc": "1002.1", "irc-2021": "P3201.6"},
    severity=Severity.LOW,
    needs=("fixture_outlet", "trap_inlet"),
    applies=_is_no_standpipe,
)
def outlet_beside_trap(arm: TrapArm, context: Context) -> Iterator[Answer]:
    """Pipe between fixture and trap stays foul and smells into the room.

    The horizontal distance from the outlet of each fixture to the trap's inlet.
    """
    inlet = given(arm.trap_inlet)
    for fixture, outlet in _outlets(arm):
        beside = dist(outlet[:2], inlet[:2]) / M_PER_IN
        yield check(
            round(beside, 2),
            at_most=context.code.limit("fixture_outlet_to_trap_horizontal_in"),
            message=f"The trap of {fixture.label} stands {number_text(beside, 3)} in beside its "
            "outlet.",
            remedy="Set the trap under the fixture.",
            limit_step="Horizontal distance, at most",
            about=_of_other(fixture, arm),
        )


@rule(
    title="Fixtures on one trap few, alike and close",
    subject=TrapArm,
    clauses={"upc": "1001.2", "ipc": "1002.1", "irc-2021": "P3201.6"},
    applies=_is_drawn,
)
def shared_trap(arm: TrapArm, context: Context) -> Iterator[Answer]:
    """Several fixtures on one trap let one flood the other, or leave foul pipe between them.

    How many fixtures drain through the trap (a disposer or dishwasher at its sink is none of its
    own, nor what is drawn into a receptor on it), how far apart their outlets are, that the trap
    of three is at the middle one (UPC, IRC), and that they are of one kind: sinks of several kinds
    are advised against, other fixtures are wrong but for a clothes washer at its laundry sink, and
    so is, under the UPC, a laundry sink at a kitchen sink.
    """
    sharing = [f for f in arm.fixtures if f.kind not in INTO_THE_SINK and not _over(f, arm)]
    if len(sharing) < 2:
        return
    names = ", ".join(f.label for f in sharing)
    yield _share(
        arm,
        float(len(sharing)),
        context.code.limit_or_none("shared_trap_fixtures"),
        f"{len(sharing)} fixtures share {arm.element.label}: {names}.",
        "number",
    )
    yield _close(arm, sharing, context)
    yield _centered(arm, sharing, context)
    kinds = {f.kind for f in sharing}
    if len(kinds) > 1 and kinds != LAUNDRY:
        yield _of_kinds(arm, kinds, names, context)


def _over(fixture: Fixture, arm: TrapArm) -> bool:
    """Whether its waste is drawn into a receptor on the trap: that asks for an air gap, no trap."""
    receptors = {f.index for f in arm.fixtures if f.kind in RECEIVING and f is not fixture}
    return bool(receptors) and not receptors.isdisjoint(arm.piping.drainage.path(fixture.index))


def _of_kinds(arm: TrapArm, kinds: set[str], names: str, context: Context) -> Answer:
    """Fixtures of different kinds: wrong where one of them is no sink."""
    message = f"Fixtures of different kinds share {arm.element.label}: {names}."
    remedy = "Give each kind of fixture a trap of its own"
    laundry = kinds >= {"kitchen-sink", "laundry-sink"} and context.code.family == "upc"
    if kinds <= TRAPPED_ALONE | SINKS and (laundry or not kinds <= SINKS):
        elements = (arm.element.guid, *(f.element.guid for f in arm.fixtures))
        return violation(message=message, remedy=f"{remedy}.", elements=elements, about="kinds")
    return advise(message, f"{remedy}, or have it approved.", about="kinds")


def _close(arm: TrapArm, sharing: Sequence[Fixture], context: Context) -> Answer:
    """Each outlet is near another."""
    outlets = [p for f in sharing if (p := arm.piping.exit(f.index)) is not None]
    if len(outlets) < len(sharing):
        return not_known(SPACING, arm.element.label, about="spacing")
    nearest = (
        min(dist(a, b) for m, b in enumerate(outlets) if m != n) for n, a in enumerate(outlets)
    )
    widest, most = max(nearest) / M_PER_IN, context.code.limit_or_none("shared_trap_spacing_in")
    apart = apart_text(widest, widest if most is None else most.value, "in", 2)
    said = f"Outlets that share {arm.element.label} are {apart} apart."
    return _share(arm, widest, most, said, "spacing")


def _centered(arm: TrapArm, sharing: Sequence[Fixture], context: Context) -> Answer:
    """Of three outlets the middle one is nearest to the trap."""
    three, inlet = context.code.limit_or_none("shared_trap_centered_of"), arm.trap_inlet
    places = {f: p for f in sharing if (p := arm.piping.exit(f.index)) is not None}
    if three is None or len(places) != three.value:
        return PASS
    if inlet is None:
        return not_known("trap_inlet", arm, about="centre")
    middle = min(places, key=lambda f: max(dist(places[f], p) for p in places.values()))
    return require(
        min(places, key=lambda f: dist(places[f][:2], inlet[:2])) is middle,
        message=f"{arm.element.label}, which {number_text(three.value)} fixtures share, is not "
        f"at the middle one, {middle.label}.",
        remedy="Set the trap under the middle outlet, and lead the others to it from both sides.",
        clause=three.clause,
        provenance=three.provenance,
        elements=(arm.element.guid, *(f.element.guid for f in sharing)),
        about="centre",
    )


def _share(arm: TrapArm, measured: float, most: Limit | None, message: str, about: str) -> Answer:
    if most is None:
        return PASS
    return check(
        measured,
        at_most=most,
        message=message,
        remedy="Give the fixtures traps of their own.",
        limit_step="At most",
        elements=(arm.element.guid, *(f.element.guid for f in arm.fixtures)),
        about=about,
    )


RULES = (
    fixture_trapped, one_trap_only, building_trap, trap_kind, trap_matches_arm, outlet_above_weir,
    outlet_beside_trap, shared_trap,
)  # fmt: skip
