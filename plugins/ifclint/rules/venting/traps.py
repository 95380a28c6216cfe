"""Rules about traps: that there is one, and only one, and of a kind that works."""

from collections.abc import Iterator
from itertools import islice

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Fact,
    check,
    known,
    missing,
    not_known,
    require,
    violation,
)
from ifclint.engineering.joined import NONE, onward
from ifclint.engineering.wording import number_text, trade_size, with_article
from ifclint.findings import Answer, Change, Measure, Outcome, Settles, Severity, Step
from ifclint.ifc.elements import Element, Role, System
from ifclint.packs import Context, derived, rule
from ifclint.part_kinds import DRAINS, TRAPS
from ifclint.plumbing import BuildingDrain, Fixture, TrapArm
from ifclint.plumbing.drainage.through_air import is_tied
from ifclint.plumbing.words import says
from ifclint.rules.venting.code_tables import Allowed, allowed
from ifclint.rules.venting.wording import kind_words

LOOKED_FOR = 60  # elements below a fixture; a trap farther off is none of its own
MORE_THAN_ONE = 1.5  # fixtures: one alone is found as two traps in series
SHOWN = 6  # of them, in the steps of a finding
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


def needs_trap(fixture: Fixture) -> bool:
    """Not indirect waste, condensate, and a disposer, whose trap is the sink's."""
    through_air = fixture.is_indirect or fixture.gives_condensate
    return fixture.connected and not through_air and fixture.kind != "disposer"


def is_drawn(arm: TrapArm) -> bool:
    return arm.trap is not None and not arm.integral


@rule(
    title="Every fixture has a trap",
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
    pump without a basin, and of a fixture of no known kind, which may have one inside.
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
    if fixture.known_kind is None:
        return not_known("known_kind", fixture)
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
            trap = piping.elements[index]
            yield violation(
                message=f"{number_text(traps)} trapped fixtures drain through {trap.label}.",
                remedy=f"Take out {trap.label}; where the authority asks for a building trap, "
                "accept this finding as a variance.",
                elements=(trap.guid, *drain.element_ids),
                about=trap.guid,
            )
    yield PASS


@rule(
    title="Trap of a kind the code allows",
    clauses={"upc": "1004.1", "ipc": "1002.3", "irc-2021": "P3201.5"},
    applies=is_drawn,
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
    clauses={"upc": "1003.3"},
    severity=Severity.LOW,
    needs=("trap_size_in", "size_in"),
    applies=is_drawn,
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
