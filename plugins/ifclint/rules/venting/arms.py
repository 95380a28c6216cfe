"""Rules about trap arms: their length, fall and turns, and that a vent protects every trap."""

import math
from collections.abc import Iterator
from dataclasses import replace

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, check, given, known, require
from ifclint.codes import Limit
from ifclint.engineering.arithmetic import not_below_zero
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import IN_PER_FT, M_PER_FT, M_PER_IN, feet
from ifclint.engineering.wording import apart_text, number_text, tape_text, trade_size
from ifclint.findings import Answer, Change, Settles, Severity, Step
from ifclint.packs import Context, rule
from ifclint.part_kinds import CLEANOUTS
from ifclint.plumbing import TrapArm
from ifclint.plumbing.drainage.loads import CLOSET
from ifclint.plumbing.venting.trap_arms import Meets
from ifclint.rules.venting.code_tables import next_size_in, rows, trap_arm_row
from ifclint.rules.venting.combination import listed_trap_in, passes_as_combination, turns_down_at
from ifclint.rules.venting.missing_vents import waits
from ifclint.rules.venting.protected import vent_met
from ifclint.rules.venting.single_stack import is_told_with_stack, on_single_stack
from ifclint.rules.venting.traps import traps_below
from ifclint.rules.venting.wet_order import is_told_as_row
from ifclint.rules.venting.wording import arm_steps, kind_words

SIPHONS_ITSELF = frozenset({CLOSET, "clinical-sink"})
FALLING = frozenset({"wye", "combination", "double-wye", "double-combination"})
LARGE_ARM_IN = 3.0  # from this size on the UPC lets an arm turn farther (1002.3)
USUAL_IN = 2.0  # traps of sinks, tubs and lavatories are no larger; no code says so
UNLISTED = Fact("{} lists no trap arm as small as {}.", "Make trap and arm a listed size.")


def _measured(arm: TrapArm) -> bool:
    """Arms with a weir and an end; a trap that is missing is another rule's."""
    return arm.trap is not None and arm.breathes and arm.fixture.kind not in SIPHONS_ITSELF


def _is_told_otherwise(arm: TrapArm, context: Context) -> bool:
    """Whether it ends elsewhere once a second trap is out, or a vent there that is missing; or the
    stack it breathes by is judged as a single stack."""
    if traps_below(arm) or waits(arm, context) or is_told_with_stack(arm, context):
        return True
    return is_told_as_row(arm, context)


def _net_ft(arm: TrapArm, context: Context) -> float:
    """Developed length in ft: UPC to the inner edge of the vent, IPC to the vent's centre line."""
    vent, length = vent_met(arm), feet(given(arm.length_m))
    if context.code.family == "upc" and vent is not None and vent.size_in is not None:
        length -= vent.size_in / 2 / IN_PER_FT
    return not_below_zero(length)


def _net_steps(arm: TrapArm, context: Context) -> tuple[Step, ...]:
    """How long the arm is, and how long to the inner edge of its vent."""
    net = _net_ft(arm, context)
    if net >= feet(given(arm.length_m)):
        return arm_steps(arm)
    edge = Step("to the inner edge of the vent, half its size less", net, "ft")
    return (*arm_steps(arm), edge)


def _of_diameters(diameters: Limit, arm: TrapArm) -> Limit:
    """A limit in diameters of the arm, in inches."""
    return replace(diameters, value=diameters.value * given(arm.size_in), unit="in")


@rule(
    title="Trap arm not too long",
    clauses={
        "upc": "1002.2 and Table 1002.2",
        "ipc": "909.1 and Table 909.1",
        "irc-2021": "P3105.1 and Table P3105.1",
    },
    severity=Severity.HIGH,
    needs=("weir", "length_m", "size_in"),
    applies=_measured,
    settles=Settles.VENT,
)
def trap_arm_length(arm: TrapArm, context: Context) -> Answer:
    """The longer the arm, the more it fills; once it runs full it pulls the water out of the trap.

    Developed length along pipe and fittings, centre to centre, from the trap's outlet to the vent
    (UPC: to its inner edge) or to the vented drain, against the table by size of arm (UPC) or of
    trap (IPC). Water closets siphon themselves and are excused, and what is a combination waste and
    vent or on a single stack, and what lacks a vent for another reason.
    """
    if _is_told_otherwise(arm, context):
        return NOT_APPLICABLE
    of = context.code.short, trade_size(arm.size_in)
    row = known(trap_arm_row(arm, context), UNLISTED, *of, elements=arm.element_ids)
    most, length = row.limit("max_length_ft", "ft"), _net_ft(arm, context)
    if not at_most(length, most.value, "ft") and _breathes_otherwise(arm, context):
        return PASS
    listed = trade_size(row.number("size_in"))
    return check(
        round(length, 3),
        at_most=most,
        message=lambda: (
            f"The trap arm of {arm.fixture.label} to {arm.meets} is "
            f"{apart_text(length, most.value, 'ft')}; {listed} may be {number_text(most.value)} ft."
        ),
        remedy=lambda: _shorter(arm, length, most.value, context),
        steps=lambda: _net_steps(arm, context),
        limit_step=f"{listed} arm, at most",
    )


def _breathes_otherwise(arm: TrapArm, context: Context) -> bool:
    """Whether air reaches the trap above the water, so that its arm may be longer and steeper."""
    return passes_as_combination(arm, context) or on_single_stack(arm, context, beside_vents=True)


def _shorter(arm: TrapArm, length: float, most: float, context: Context) -> str | Change:
    """To bring the vent nearer; or a larger arm that may be as long, where a trap of its fixture
    may well be of that size."""
    listed_in = listed_trap_in(arm, context) or given(arm.size_in)
    usual_in = max(min(next_size_in(listed_in), LARGE_ARM_IN), USUAL_IN)
    table = rows(context, "trap_arms")
    usual = [r for r in table if at_most(r.number("size_in"), usual_in, "in")]
    usual.sort(key=lambda r: r.number("size_in"))
    long = [r for r in usual if at_most(length, r.number("max_length_ft"), "ft")]
    move = _nearer(arm, length - most).text.rstrip(".")
    if not long:
        return _nearer(arm, length - most)
    size_in = long[0].number("size_in")
    text = f"{move}, or make trap and arm {trade_size(size_in)}."
    return Change("size", (arm.element.guid, *_smaller(arm, size_in)), size_in, text)


def _smaller(arm: TrapArm, size_in: float) -> Iterator[str]:
    """The pieces of an arm past its trap that are smaller: the last may be a fitting of several
    sizes, and what it ends in is larger."""
    elements = [arm.piping.elements[i] for i in arm.path]
    if elements and elements[-1].size_in is None:
        elements.pop()
    for element in elements:
        if element.size_in is None or element.size_in < size_in:
            yield element.guid


def _nearer(arm: TrapArm, far_ft: float) -> Change:
    text = f"Bring the vent {tape_text(far_ft)} nearer to the trap."
    return Change("move", arm.element_ids, far_ft * M_PER_FT, text)


@rule(
    title="Closet near enough to its vent",
    clauses={"upc": "Table 1002.2"},
    applies=lambda arm: arm.breathes and arm.fixture.kind == CLOSET,
)
def closet_to_vent(arm: TrapArm, context: Context) -> Answer:
    """A closet far from its vent gurgles, and robs its neighbours' traps.

    UPC: developed length from the closet's outlet to the inner edge of the vent. The IPC sets no
    limit for closets.
    """
    if _is_told_otherwise(arm, context):
        return NOT_APPLICABLE
    known(arm.length_m, "length_m")
    most, length = context.code.limit("closet_to_vent_ft"), _net_ft(arm, context)
    return check(
        round(length, 3),
        at_most=most,
        message=f"{arm.fixture.label} is {apart_text(length, most.value, 'ft')} from its vent.",
        remedy=f"Take the vent off within {number_text(most.value)} ft of the closet.",
        steps=lambda: _net_steps(arm, context),
        limit_step="Closet to vent, at most",
    )


@rule(
    title="Vent not at the crown of the trap",
    clauses={"upc": "1002.2", "ipc": "909.3", "irc-2021": "P3105.3"},
    needs=("weir", "length_m", "size_in"),
    applies=lambda arm: arm.meets is Meets.VENT and _measured(arm) and not arm.integral,
)
def trap_arm_minimum(arm: TrapArm, context: Context) -> Answer:
    """A vent close to the weir is splashed shut with grease and hair.

    The developed length from the trap's outlet to the vent against two diameters of the arm. Where
    the weir stands within a trap that is one with its fixture, no model shows.
    """
    key = "trap_arm_minimum_diameters" if context.code.family == "upc" else "crown_vent_diameters"
    diameters, length = context.code.limit(key), _net_ft(arm, context) * IN_PER_FT
    least = _of_diameters(diameters, arm)
    return check(
        round(length, 2),
        at_least=least,
        message=lambda: (
            f"The vent of {arm.fixture.label} joins {number_text(length, 3)} in from the trap weir."
        ),
        remedy=lambda: (
            f"Take the vent off at least {number_text(least.value)} in downstream of the trap."
        ),
        steps=lambda: _net_steps(arm, context),
        limit_step=f"{number_text(diameters.value)} diameters",
    )


@rule(
    title="Trap arm does not fall below its weir",
    clauses={"upc": "1002.4", "ipc": "909.2", "irc-2021": "P3105.2"},
    severity=Severity.HIGH,
    needs=("weir", "fall_m", "size_in"),
    applies=_measured,
)
def trap_arm_fall(arm: TrapArm, context: Context) -> Answer:
    """Where the vent opens below the weir, the arm runs full and siphons the trap.

    The height of the trap's outlet above the centre of the vent connection, against one diameter
    of the arm. Water closets are excused, and what is a combination waste and vent or
    on a single stack.
    """
    if _is_told_otherwise(arm, context):
        return NOT_APPLICABLE
    fall = given(arm.fall_m) / M_PER_IN
    most = _of_diameters(context.code.limit("trap_arm_fall_diameters"), arm)
    if not at_most(fall, most.value, "in") and _breathes_otherwise(arm, context):
        return PASS
    return check(
        round(fall, 2),
        at_most=most,
        message=lambda: (
            f"The arm of {arm.fixture.label} falls {number_text(fall, 3)} in from weir to vent; "
            f"its size is {trade_size(arm.size_in)}."
        ),
        remedy=lambda: _flatter(arm, fall / most.value, context),
        steps=lambda: (*arm_steps(arm), Step("Fall from weir to vent", fall, "in")),
        limit_step="One diameter",
    )


def _flatter(arm: TrapArm, too_steep: float, context: Context) -> str | Change:
    """Less slope; of an arm that is too long as well, as much nearer as clears both."""
    row, length = trap_arm_row(arm, context), _net_ft(arm, context)
    most = math.inf if row is None else row.number("max_length_ft")
    if at_most(length, most, "ft"):
        return "Lay the arm flatter, at its least slope, or bring the vent nearer."
    return _nearer(arm, max(length - most, feet(given(arm.length_m)) * (1 - 1 / too_steep)))


@rule(
    title="Trap arm turns no more than a cable passes",
    clauses={"upc": "1002.3"},
    severity=Severity.LOW,
    needs=("length_m", "size_in"),
    applies=_measured,
)
def trap_arm_turns(arm: TrapArm, context: Context) -> Answer:
    """A trap arm is cleaned from the trap; round too many bends no cable goes.

    The changes of horizontal direction between trap and vent, added up, where no cleanout joins
    the arm.
    """
    if any(cleanout.entry in arm.path for cleanout in context.plumbing.cleanouts):
        return PASS
    width = "large" if at_least(given(arm.size_in), LARGE_ARM_IN, "in") else "small"
    answer = check(
        round(arm.turns_deg, 1),
        at_most=context.code.limit(f"trap_arm_turn_{width}_deg"),
        message=f"The arm of {arm.fixture.label} turns {arm.turns_deg:.0f}° before its vent, "
        "without a cleanout.",
        remedy="Lay the arm straighter, or put a cleanout in it.",
        steps=lambda: arm_steps(arm),
        limit_step="Turns without a cleanout",
    )
    return answer if answer is PASS else replace(answer, part=CLEANOUTS)


def listed_length_ft(arm: TrapArm, context: Context) -> float | None:
    """The longest arm the code allows of its size; None where it siphons or is not listed."""
    row = trap_arm_row(arm, context) if arm.fixture.kind not in SIPHONS_ITSELF else None
    return row.number("max_length_ft") if row is not None else None


@rule(
    title="Vent of a trap arm taken off no lower than its weir",
    clauses={"upc": "905.5", "ipc": "909.2", "irc": "P3105.2"},
    severity=Severity.HIGH,
    applies=lambda arm: _measured(arm) and bool(arm.path),
)
def trap_arm_fitting(arm: TrapArm, context: Context) -> Answer:
    """In a wye or combination the arm falls before it comes to its vent, and siphons the trap.

    The fitting at which a level arm comes to a vertical drain that breathes from above: a sanitary
    tee opens to the vent at the height of the arm, a wye or combination below it. Water closets
    are excused.
    """
    fitting = arm.piping.elements[arm.path[-1]]
    return require(
        fitting.kind not in FALLING or not turns_down_at(arm),
        message=f"The arm of {arm.fixture.label} turns down in {fitting.label}, a "
        f"{kind_words(fitting.kind)}: the vent opens below the trap's weir.",
        remedy=Change("part", (fitting.guid,), "sanitary-tee", "Fit a sanitary tee."),
        steps=lambda: arm_steps(arm),
        elements=(fitting.guid, *arm.element_ids),
    )
