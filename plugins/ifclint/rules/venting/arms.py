"""Rules about trap arms: their length, fall and turns, and that a vent protects every trap."""

from __future__ import annotations

import math
from dataclasses import replace

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
)
from ifclint.codes import Limit
from ifclint.engineering.arithmetic import not_below_zero
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import IN_PER_FT, M_PER_FT, M_PER_IN
from ifclint.engineering.wording import (
    apart_text,
    feet_text,
    number_text,
    tape_text,
    trade_size,
    with_article,
)
from ifclint.findings import Answer, Change, Settles, Severity, Step
from ifclint.ifc.elements import Element
from ifclint.packs import Context, rule
from ifclint.part_kinds import CLEANOUTS, DRAINS
from ifclint.plumbing import TrapArm
from ifclint.plumbing.drainage.loads import CLOSET
from ifclint.plumbing.venting.trap_arms import Meets, past
from ifclint.rules.venting.code_tables import (
    Allowed,
    allowed,
    is_for,
    method_row,
    rows,
    trap_arm_row,
)
from ifclint.rules.venting.combination import (
    S_TRAP_DIAMETERS,
    has_dry_vent,
    joins_drops_only,
    may_be_combination,
    passes_as_combination,
    turns_down_at,
)
from ifclint.rules.venting.parts import VENTS
from ifclint.rules.venting.section import VentingSection
from ifclint.rules.venting.single_stack import on_single_stack
from ifclint.rules.venting.traps import traps_below
from ifclint.rules.venting.wording import arm_steps, feet, kind_words

SIPHONS_ITSELF = frozenset({CLOSET, "clinical-sink"})
FALLING = frozenset({"wye", "combination", "double-wye", "double-combination"})
DROPS = Fact(
    "{} has no vent: {}. Whether it may be part of a combination waste and vent is not known: all "
    "else drops into this building drain, and to some such drops are stacks.",
    "Vent the trap, or give the combination waste and vent a dry vent of its own.",
)
BEFORE_A_PUMP = Fact(
    "{} drains straight into {}; whether a vent is due before the pump is not known.",
    "Vent the fixture drain, or show the pump's installation instructions.",
)
FLOOR_DRAIN = "floor-drain"  # often without a vent by intent
LARGE_ARM_IN = 3.0  # from this size on the UPC lets an arm turn farther (1002.3)
USUAL_IN = 2.0  # traps of sinks, tubs and lavatories are no larger; no code says so
ITS_VENT = Fact(
    "whether {}, which rises from the drain of {} and ends open, is its vent, the model does not "
    "tell.",
    "Put the pipe in a system of the type VENT, and end it in a vent terminal.",
)
UNLISTED = Fact("{} lists no trap arm as small as {}.", "Make trap and arm a listed size.")


def _measured(arm: TrapArm) -> bool:
    """Arms with a weir and an end; a trap that is missing is another rule's."""
    return arm.trap is not None and arm.breathes and arm.fixture.kind not in SIPHONS_ITSELF


def _vent(arm: TrapArm) -> Element | None:
    return arm.piping.elements[arm.joint.vent] if arm.joint is not None else None


def _net_ft(arm: TrapArm, context: Context) -> float:
    """Developed length in ft: UPC to the inner edge of the vent, IPC to the vent's centre line."""
    vent, length = _vent(arm), feet(given(arm.length_m))
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
    subject=TrapArm,
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
    vent or on a single stack.
    """
    of = context.code.short, trade_size(arm.size_in)
    row = known(trap_arm_row(arm, context), UNLISTED, *of, elements=arm.element_ids)
    most, length = row.limit("max_length_ft", "ft"), _net_ft(arm, context)
    if not at_most(length, most.value, "ft") and _breathes_otherwise(arm, context):
        return PASS
    listed = trade_size(row.number("size_in"))
    return check(
        round(length, 3),
        at_most=most,
        message=f"The trap arm of {arm.fixture.label} to {arm.meets} is "
        f"{apart_text(length, most.value, 'ft')}; {listed} may be {number_text(most.value)} ft.",
        remedy=lambda: _shorter(arm, length, most.value, context),
        steps=lambda: _net_steps(arm, context),
        limit_step=f"{listed} arm, at most",
    )


def _breathes_otherwise(arm: TrapArm, context: Context) -> bool:
    """Whether air reaches the trap above the water, so that its arm may be longer and steeper."""
    return passes_as_combination(arm, context) or on_single_stack(arm, context, beside_vents=True)


def _shorter(arm: TrapArm, length: float, most: float, context: Context) -> str | Change:
    """To bring the vent nearer; or the next size, or a usual one, where that may be as long."""
    larger = [r for r in rows(context, "trap_arms") if r.number("size_in") > given(arm.size_in)]
    larger.sort(key=lambda r: r.number("size_in"))
    usual = larger[:1] + [r for r in larger[1:] if r.number("size_in") <= USUAL_IN]
    long = [r for r in usual if at_most(length, r.number("max_length_ft"), "ft")]
    move = _nearer(arm, length - most).text.rstrip(".")
    if not long:
        return _nearer(arm, length - most)
    size_in = long[0].number("size_in")
    text = f"{move}, or make trap and arm {trade_size(size_in)}."
    return Change("size", arm.element_ids, size_in, text)


def _nearer(arm: TrapArm, far_ft: float) -> Change:
    text = f"Bring the vent {tape_text(far_ft)} nearer to the trap."
    return Change("move", arm.element_ids, far_ft * M_PER_FT, text)


@rule(
    title="Closet near enough to its vent",
    subject=TrapArm,
    clauses={"upc": "Table 1002.2"},
    applies=lambda arm: arm.breathes and arm.fixture.kind == CLOSET,
)
def closet_to_vent(arm: TrapArm, context: Context) -> Answer:
    """A closet far from its vent gurgles, and robs its neighbours' traps.

    UPC: developed length from the closet's outlet to the inner edge of the vent. The IPC sets no
    limit for closets.
    """
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
    subject=TrapArm,
    clauses={"upc": "1002.2", "ipc": "909.3", "irc-2021": "P3105.3"},
    needs=("weir", "length_m", "size_in"),
    applies=lambda arm: arm.meets is Meets.VENT and _measured(arm),
)
def trap_arm_minimum(arm: TrapArm, context: Context) -> Answer:
    """A vent close to the weir is splashed shut with grease and hair.

    The developed length from the trap's outlet to the vent against two diameters of the arm.
    """
    key = "trap_arm_minimum_diameters" if context.code.family == "upc" else "crown_vent_diameters"
    diameters, length = context.code.limit(key), _net_ft(arm, context) * IN_PER_FT
    least = _of_diameters(diameters, arm)
    return check(
        round(length, 2),
        at_least=least,
        message=f"The vent of {arm.fixture.label} joins {number_text(length, 3)} in from the trap "
        "weir.",
        remedy=f"Take the vent off at least {number_text(least.value)} in downstream of the trap.",
        steps=lambda: _net_steps(arm, context),
        limit_step=f"{number_text(diameters.value)} diameters",
    )


@rule(
    title="Trap arm does not fall below its weir",
    subject=TrapArm,
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
    fall = given(arm.fall_m) / M_PER_IN
    most = _of_diameters(context.code.limit("trap_arm_fall_diameters"), arm)
    if not at_most(fall, most.value, "in") and _breathes_otherwise(arm, context):
        return PASS
    return check(
        round(fall, 2),
        at_most=most,
        message=f"The arm of {arm.fixture.label} falls {number_text(fall, 3)} in from weir to "
        f"vent; its size is {trade_size(arm.size_in)}.",
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
    subject=TrapArm,
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


@rule(
    title="Every trap is protected by a vent",
    subject=TrapArm,
    clauses={"upc": "901.2", "ipc": "901.2.1 and 909.1", "irc-2021": "P3101.2"},
    severity=Severity.HIGH,
    settles=Settles.VENT,
)
def trap_vented(arm: TrapArm, context: Context) -> Answer:
    """A trap without a vent is sucked dry by its own or another fixture's flow, and sewer gas
    comes in.

    The arm is followed from the trap until a dry vent, or a drain that breathes from above, meets
    it. It passes with the method found (the rule of that method judges it), on a single stack
    (IPC), or as a combination waste and vent where the code takes it so: an advisory where fixtures
    of its kind have vents elsewhere, or where the arm turns down (but of a floor drain, to a
    combination with a dry vent), unless the job file says that combinations are approved. Else an
    arm that turns down before any vent is not vented. Of two traps in series the lower one is
    asked, which stays.
    """
    if _is_vented_below(arm, context):
        return NOT_APPLICABLE
    if arm.meets is Meets.VENT:
        return PASS if arm.joint is None or arm.joint.tree.is_vent else _perhaps(arm)
    if arm.meets is Meets.WET_DRAIN and _method_is_known(arm, context):
        return PASS
    if on_single_stack(arm, context):
        return PASS
    if arm.fixture.into_pump is not None:
        return not_known(BEFORE_A_PUMP, arm.fixture, arm.fixture.into_pump)
    combination = may_be_combination(arm, context)
    if combination is not None and VENTS.is_drawn(context):
        if combination is not PASS:
            return combination
        return _as_combination(arm, context)
    return missing(
        VENTS if DRAINS.is_drawn(context) else DRAINS,
        message=f"The trap of {arm.fixture.label} is not vented: {_why(arm, context)}.",
        remedy=lambda: _take_off(arm, context),
        steps=lambda: arm_steps(arm),
    )


def _is_vented_below(arm: TrapArm, context: Context) -> bool:
    """Whether a further trap in its drain has a vent: once the upper one is out, that serves."""
    if arm.breathes or not (below := traps_below(arm)):
        return False
    return past(arm, below[-1], context.plumbing.venting.air).breathes


def _as_combination(arm: TrapArm, context: Context) -> Answer:
    """A fixture without a vent looks forgotten, lawful or not, where its kind has vents elsewhere,
    or where it turns down; it does not where the combination of a floor drain has a vent of its
    own; a question where all else drops into its drain."""
    if joins_drops_only(arm, context):
        return not_known(DROPS, arm.fixture, _why(arm, context), steps=lambda: arm_steps(arm))
    if context.job.section(VentingSection).combination_approved:
        return PASS
    alike = [a for a in context.plumbing.venting.arms if a.fixture.kind == arm.fixture.kind]
    vented = any(other.meets is Meets.VENT for other in alike)
    is_meant = arm.fixture.kind == FLOOR_DRAIN and has_dry_vent(arm, context)
    if not vented and (arm.meets is not Meets.DROP or is_meant):
        return PASS
    return advise(
        f"{arm.fixture.label} has no vent: {_why(arm, context)}. It passes only as part of a "
        "combination waste and vent.",
        "Vent the trap, or have the combination waste and vent approved, and say so in the job "
        "file (venting.combination_approved).",
        steps=lambda: arm_steps(arm),
    )


def _perhaps(arm: TrapArm) -> Answer:
    pipe = _vent(arm) or arm.element
    ids = (arm.element.guid, pipe.guid)
    return not_known(ITS_VENT, pipe, arm.fixture, elements=ids)


def _method_is_known(arm: TrapArm, context: Context) -> bool:
    """Whether the code has the method by which the arm breathes; its own rule judges the rest."""
    row = method_row(context, arm.method) if arm.method is not None else None
    if row is None or allowed(row) is Allowed.NO:
        return False
    return not row.text("fixtures") or not arm.fixture.kind or is_for(row, arm.fixture)


def _take_off(arm: TrapArm, context: Context) -> Change:
    most, of = _most_ft(arm, context)
    within = f" within {feet_text(most)} of the {of}" if most is not None else ""
    text = f"Take a vent off the arm{within}, before it turns down or joins another drain."
    return Change("part", arm.element_ids, "vent", text)


def _most_ft(arm: TrapArm, context: Context) -> tuple[float | None, str]:
    """How far the vent may be, in feet, and from what; None where the code sets no limit."""
    if arm.fixture.kind == CLOSET:
        limit = context.code.limit_or_none("closet_to_vent_ft")
        return (limit.value if limit is not None else None), "closet"
    row = trap_arm_row(arm, context)
    return (row.number("max_length_ft") if row else None), "trap"


def _why(arm: TrapArm, context: Context) -> str:
    """Why an arm is not vented, after a colon."""
    end = arm.piping.elements[arm.path[-1]].label if arm.path else arm.element.label
    if arm.meets is Meets.DROP:
        turn = arm.piping.elements[arm.turned_down].label
        s_trap = ", which makes it an S-trap" if _is_s_trap(arm) else ""
        return f"its arm turns down into {turn} before any vent{s_trap}"
    if arm.meets is Meets.WET_DRAIN and arm.method is not None:
        row = method_row(context, arm.method)
        if row is None or allowed(row) is Allowed.NO:
            return f"it joins {end}, below other fixtures' vents, and the code has no {arm.method}"
        kind = with_article(kind_words(arm.fixture.kind))
        return (
            f"it joins {end}, below other fixtures' vents, and {kind} may not be vented by "
            f"{with_article(arm.method)}"
        )
    return f"no vent meets its drain down to {end}"


def _is_s_trap(arm: TrapArm) -> bool:
    """Whether the arm turns down so near to its weir."""
    if arm.length_m is None or arm.size_in is None:
        return False
    return at_most(arm.length_m, S_TRAP_DIAMETERS * arm.size_in * M_PER_IN, "m")


def listed_length_ft(arm: TrapArm, context: Context) -> float | None:
    """The longest arm the code allows of its size; None where it siphons or is not listed."""
    row = trap_arm_row(arm, context) if arm.fixture.kind not in SIPHONS_ITSELF else None
    return row.number("max_length_ft") if row is not None else None


@rule(
    title="Vent of a trap arm taken off no lower than its weir",
    subject=TrapArm,
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


RULES = (
    trap_arm_length, closet_to_vent, trap_arm_minimum, trap_arm_fall, trap_arm_turns,
    trap_vented, trap_arm_fitting,
)  # fmt: skip
