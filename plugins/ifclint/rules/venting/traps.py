"""Rules about traps: that there is one, and only one, of a kind and at a height that works."""

from __future__ import annotations

from math import dist

from ifclint.checks import NOT_APPLICABLE, PASS, advise, check, missing, unverified, violation
from ifclint.engineering import tolerance
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import number_text, trade_size
from ifclint.findings import Answer, Measure, Outcome, Severity, Step
from ifclint.ifc.elements import Element, Point, Role
from ifclint.packs import Context, rule
from ifclint.plumbing import Fixture, TrapArm
from ifclint.rules.venting.parts import TRAPS
from ifclint.rules.venting.standpipes import STANDPIPE
from ifclint.rules.venting.wording import kind_words, limit

INTO_THE_SINK = frozenset({"disposer", "dishwasher"})
LOOKED_FOR = 60  # elements below a fixture


def _needs_trap(fixture: Fixture) -> bool:
    return fixture.connected and fixture.kind not in INTO_THE_SINK


@rule(
    title="Every fixture has a trap",
    subject=Fixture,
    clauses={"upc": "1001.2", "ipc": "1002.1", "irc-2021": "P3201.1"},
    severity=Severity.HIGH,
    applies=_needs_trap,
)
def fixture_trapped(fixture: Fixture, context: Context) -> Answer:
    """Without a trap, sewer gas comes into the room.

    A trap between the fixture's outlet and the first meeting of drains, or inside the fixture
    (closets, urinals, and what is marked so).
    """
    if fixture.trap is not None or fixture.element.properties.get("integral_trap") is True:
        return PASS
    below = _trap_below(fixture, context)
    if below is not None:
        return unverified(
            (
                f"{fixture.label} has no trap of its own; the next one, {below.label}, also takes "
                "other drains."
            ),
            f"{TRAPS.remedy} Or join the fixture above that trap if they are meant to share it.",
            (*fixture.element_ids, below.guid),
        )
    return missing(
        TRAPS,
        message=f"{fixture.label} drains without a trap.",
        remedy="Fit a trap at the outlet of the fixture, and vent it.",
        steps=tuple(Step(e.label) for e in _below(fixture, context)[:6]),
    )


def _below(fixture: Fixture, context: Context) -> list[Element]:
    drainage, elements = context.plumbing.drainage, context.plumbing.network.elements
    index = fixture.index
    found: list[Element] = []
    while index >= 0 and len(found) < LOOKED_FOR:
        found.append(elements[index])
        index = drainage.down[index]
    return found


def _trap_below(fixture: Fixture, context: Context) -> Element | None:
    return next((e for e in _below(fixture, context) if e.role is Role.TRAP), None)


@rule(
    title="No two traps in series",
    subject=TrapArm,
    clauses={"upc": "1001.2", "ipc": "1002.1", "irc-2021": "P3201.1"},
    applies=lambda arm: arm.trap is not None,
)
def one_trap_only(arm: TrapArm, context: Context) -> Answer:
    """Between two traps air is locked in, and the fixture drains by fits and starts.

    Any further trap between the fixture's trap and the first meeting of drains. Fixtures with an
    integral trap may have none below.
    """
    below = _traps_below(arm, context)
    if not below:
        return PASS
    second = below[0]
    own = "its own trap" if arm.integral else arm.element.label
    return violation(
        message=f"{arm.fixture.label} drains through {own} and then through {second.label}.",
        remedy=f"Take out {second.label}.",
        measured=Measure(1.0 + len(below), "traps"),
        required=Measure(1.0, "traps", "at most"),
        elements=(second.guid, *arm.element_ids),
    )


def _traps_below(arm: TrapArm, context: Context) -> list[Element]:
    """Traps past the arm's own, before another drain comes in."""
    piping, found = context.plumbing.venting.piping, []
    came, index = arm.start, piping.drainage.down[arm.start]
    while index >= 0 and all(i == came for i in piping.wet_above[index]):
        if piping.elements[index].role is Role.TRAP:
            found.append(piping.elements[index])
        came, index = index, piping.drainage.down[index]
    return found


@rule(
    title="Trap of a kind the code allows",
    subject=TrapArm,
    clauses={"upc": "1004.1", "ipc": "1002.3", "irc-2021": "P3201.5"},
    applies=lambda arm: arm.trap is not None and not arm.integral,
)
def trap_kind(arm: TrapArm, context: Context) -> Answer:
    """Some traps siphon themselves dry or cannot be cleaned.

    The kind of trap the model names, against the code's list. A trap that is drawn as a P-trap but
    falls from its weir is found by the rule about vents.
    """
    kind = arm.element.kind
    row = context.code.table("trap_kinds").one(trap=kind) if kind else None
    if row is None:
        return unverified(
            f"What kind of trap {arm.element.label} is, the model does not tell.",
            "Name the trap or its type in trade words (P-trap, drum trap ...).",
        )
    if row.text("allowed") == "yes":
        return PASS
    conditional = row.text("allowed") == "conditional"
    only = f" but where {row.text('condition')}" if conditional else ""
    return Answer(
        Outcome.ADVISORY if conditional else Outcome.VIOLATION,
        f"{arm.element.label} of {arm.fixture.label} is a {_trap_words(kind)}, which the code does "
        f"not allow{only}.",
        remedy="Fit a P-trap with a vented trap arm.",
        steps=(Step(f"{_trap_words(kind)}: {row.text('allowed')}", source=row.clause),),
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
    applies=lambda arm: arm.trap is not None and not arm.integral,
)
def trap_matches_arm(arm: TrapArm, context: Context) -> Answer:
    """A larger arm runs too shallow to scour itself.

    The nominal size of the trap against that of the first pipe past it. A smaller arm is found by
    the rule about fixture drains. By adapters this is often done and accepted: an advisory.
    """
    assert arm.size_in is not None
    assert arm.trap_size_in is not None
    return check(
        arm.size_in,
        at_most=arm.trap_size_in,
        unit="in",
        message=f"{arm.element.label} is {trade_size(arm.trap_size_in)}, its arm "
        f"{trade_size(arm.size_in)}.",
        remedy=(
            f"Make trap and arm {trade_size(arm.size_in)}, or both {trade_size(arm.trap_size_in)}."
        ),
        wrong=Outcome.ADVISORY,
    )


def _outlet(fixture: Fixture, context: Context) -> Point | None:
    return context.plumbing.venting.piping.exit(fixture.index)


def _has_own_trap(arm: TrapArm) -> bool:
    return arm.trap is not None and not arm.integral and arm.fixture.kind != STANDPIPE


@rule(
    title="Trap not too far below its fixture",
    subject=TrapArm,
    clauses={"upc": "1001.2", "ipc": "1002.1", "irc-2021": "P3201.6"},
    applies=_has_own_trap,
)
def outlet_above_weir(arm: TrapArm, context: Context) -> Answer:
    """Water that falls far gathers speed and pulls its own seal, and the pipe above it fouls.

    The height from the fixture's outlet to the trap weir. Standpipes have their own rule; traps
    inside fixtures are excused.
    """
    most = limit(context, "fixture_outlet_to_weir_vertical_in")
    outlet, weir = _outlet(arm.fixture, context), arm.weir
    if most is None:
        return NOT_APPLICABLE
    if outlet is None or weir is None:
        return unverified(
            f"Where the outlet of {arm.fixture.label} or its weir is, is not known.",
            "Give fixture and trap placed ports.",
        )
    height = (outlet[2] - weir[2]) / M_PER_IN
    return check(
        round(height, 2),
        at_most=most,
        message=f"{arm.fixture.label} stands {number_text(height, 3)} in above its trap weir.",
        remedy=f"Raise the trap to within {number_text(most.value)} in of the outlet.",
        steps=lambda: (
            Step("Height of the outlet", outlet[2] / M_PER_IN, "in"),
            Step("Height of the weir", weir[2] / M_PER_IN, "in"),
            Step("Outlet above weir, at most", most.value, "in", most.clause),
        ),
    )


@rule(
    title="Trap not too far beside its fixture",
    subject=TrapArm,
    clauses={"ipc": "1002.1", "irc-2021": "P3201.6"},
    severity=Severity.LOW,
    applies=_has_own_trap,
)
def outlet_beside_trap(arm: TrapArm, context: Context) -> Answer:
    """Pipe between fixture and trap stays foul and smells into the room.

    The horizontal distance from the fixture's outlet to the trap's inlet.
    """
    most = limit(context, "fixture_outlet_to_trap_horizontal_in")
    outlet = _outlet(arm.fixture, context)
    inlet = _inlet(arm, context)
    if most is None or outlet is None:
        return NOT_APPLICABLE
    if inlet is None:
        return unverified(
            f"Where the inlet of {arm.element.label} is, is not known.",
            "Give the trap two placed ports.",
        )
    beside = dist(outlet[:2], inlet[:2]) / M_PER_IN
    return check(
        round(beside, 2),
        at_most=most,
        message=(
            f"The trap of {arm.fixture.label} stands {number_text(beside, 3)} in beside its outlet."
        ),
        remedy="Set the trap under the fixture.",
        steps=lambda: (Step("Horizontal distance, at most", most.value, "in", most.clause),),
    )


def _inlet(arm: TrapArm, context: Context) -> Point | None:
    piping = context.plumbing.venting.piping
    leaving = piping.exit(arm.start)
    ends = [p for p in piping.ends(arm.start) if p != leaving]
    return max(ends, key=lambda p: p[2], default=None)


@rule(
    title="Fixtures on one trap few, alike and close",
    subject=TrapArm,
    clauses={"upc": "1001.2", "ipc": "1002.1", "irc-2021": "P3201.6"},
    applies=lambda arm: arm.trap is not None and not arm.integral,
)
def shared_trap(arm: TrapArm, context: Context) -> Answer:
    """Several fixtures on one trap let one flood the other, or leave foul pipe between them.

    How many fixtures drain through the trap (a disposer or dishwasher at its sink is none of its
    own), how far apart their outlets are, and that they are of one kind.
    """
    sharing = [f for f in arm.fixtures if f.kind not in INTO_THE_SINK]
    if len(sharing) < 2:
        return NOT_APPLICABLE
    most, apart = limit(context, "shared_trap_fixtures"), limit(context, "shared_trap_spacing_in")
    names = ", ".join(f.label for f in sharing)
    if most is not None and len(sharing) > most.value:
        return _share(
            arm,
            f"{len(sharing)} fixtures share {arm.element.label}: {names}.",
            Measure(float(len(sharing)), "fixtures"),
            Measure(most.value, "fixtures", "at most"),
            most.clause,
        )
    outlets = [p for f in sharing if (p := _outlet(f, context)) is not None]
    if apart is None:
        return PASS
    if len(outlets) < len(sharing):
        return unverified(
            f"How far apart the outlets on {arm.element.label} are is not known.",
            "Give every fixture a placed outlet port.",
        )
    gaps = [min(dist(a, b) for b in outlets if b is not a) for a in outlets]
    widest = max(gaps) / M_PER_IN
    if not tolerance.at_most(widest, apart.value, "in"):
        return _share(
            arm,
            f"Outlets that share {arm.element.label} are {widest:.0f} in apart.",
            Measure(round(widest, 1), "in"),
            Measure(apart.value, "in", "at most"),
            apart.clause,
        )
    if len({f.kind for f in sharing}) > 1:
        return advise(
            f"Fixtures of different kinds share {arm.element.label}: {names}.",
            "Give each kind of fixture a trap of its own, or have it approved.",
        )
    return PASS


def _share(arm: TrapArm, message: str, measured: Measure, required: Measure, clause: str) -> Answer:
    return violation(
        message=message,
        remedy="Give the fixtures traps of their own.",
        measured=measured,
        required=required,
        steps=(Step("At most", required.value, required.unit, clause),),
        elements=(arm.element.guid, *(f.element.guid for f in arm.fixtures)),
        clause=clause,
    )


RULES = (
    fixture_trapped,
    one_trap_only,
    trap_kind,
    trap_matches_arm,
    outlet_above_weir,
    outlet_beside_trap,
    shared_trap,
)
