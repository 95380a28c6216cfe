"""Rules about trap arms: their length, fall and turns, and that a vent protects every trap."""

from __future__ import annotations

from ifclint.checks import NOT_APPLICABLE, PASS, check, missing, unverified
from ifclint.codes import Row
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import number_text, trade_size
from ifclint.findings import Answer, Severity, Step
from ifclint.ifc.elements import Element
from ifclint.packs import Context, rule
from ifclint.plumbing import TrapArm
from ifclint.plumbing.venting.trap_arms import Meets
from ifclint.rules.venting.combination import may_be_combination
from ifclint.rules.venting.parts import VENTS
from ifclint.rules.venting.wording import (
    arm_steps,
    feet,
    kind_words,
    limit,
    method_row,
    rows,
)

SIPHONS_ITSELF = frozenset({"water-closet", "clinical-sink"})
S_TRAP_DIAMETERS = 2.0  # a turn down so near the weir makes an S-trap; common practice


def _measured(arm: TrapArm) -> bool:
    """Arms with a weir and an end; a trap that is missing is another rule's."""
    return arm.trap is not None and arm.breathes and arm.fixture.kind not in SIPHONS_ITSELF


def _row(arm: TrapArm, context: Context) -> Row | None:
    """The row for the arm (UPC) or the trap (IPC): of the largest listed size not above it."""
    by_trap = context.code.family == "ipc" and arm.trap_size_in is not None
    size = arm.trap_size_in if by_trap else arm.size_in
    fitting = [r for r in rows(context, "trap_arms") if r.number("size_in") <= (size or 0.0)]
    return max(fitting, key=lambda r: r.number("size_in"), default=None)


def _net_ft(arm: TrapArm, context: Context) -> float:
    """Developed length in ft: UPC to the inner edge of the vent, IPC to the vent's centre line."""
    length = feet(arm.length_m or 0.0)
    vent = _vent(arm, context)
    if context.code.family == "upc" and vent is not None and vent.size_in is not None:
        length -= vent.size_in / 24
    return max(length, 0.0)


def _vent(arm: TrapArm, context: Context) -> Element | None:
    return context.plumbing.network.elements[arm.joint.vent] if arm.joint is not None else None


def _edge_step(arm: TrapArm, context: Context) -> tuple[Step, ...]:
    net = _net_ft(arm, context)
    if arm.length_m is None or net >= feet(arm.length_m):
        return ()
    return (Step("to the inner edge of the vent, half its size less", net, "ft"),)


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
)
def trap_arm_length(arm: TrapArm, context: Context) -> Answer:
    """The longer the arm, the more it fills; once it runs full it pulls the water out of the trap.

    Developed length along pipe and fittings, centre to centre, from the trap's outlet to the vent
    (UPC: to its inner edge) or to the vented drain, against the table by size of arm (UPC) or of
    trap (IPC). Water closets siphon themselves and are excused.
    """
    row = _row(arm, context)
    if row is None:
        return unverified(
            f"{context.code.short} lists no trap arm as small as {trade_size(arm.size_in)}.",
            "Make trap and arm a listed size.",
        )
    most, length = row.number("max_length_ft"), _net_ft(arm, context)
    return check(
        round(length, 3),
        at_most=most,
        unit="ft",
        message=f"The arm from {arm.element.label} to {arm.meets} is {length:.1f} ft; "
        f"{trade_size(row.number('size_in'))} may be {number_text(most)} ft.",
        remedy=_shorter(arm, context, length, most),
        steps=lambda: (
            *arm_steps(arm),
            *_edge_step(arm, context),
            Step(f"{trade_size(row.number('size_in'))} arm, at most", most, "ft", row.clause),
        ),
        clause=row.clause,
    )


def _shorter(arm: TrapArm, context: Context, length: float, most: float) -> str:
    larger = [
        r.number("size_in")
        for r in rows(context, "trap_arms")
        if r.number("max_length_ft") >= length and r.number("size_in") > (arm.size_in or 0.0)
    ]
    move = f"Bring the vent {length - most:.1f} ft nearer to the trap"
    return f"{move}, or make trap and arm {trade_size(min(larger))}." if larger else f"{move}."


@rule(
    title="Closet near enough to its vent",
    subject=TrapArm,
    clauses={"upc": "Table 1002.2"},
    applies=lambda arm: arm.breathes and arm.fixture.kind == "water-closet",
)
def closet_to_vent(arm: TrapArm, context: Context) -> Answer:
    """A closet far from its vent gurgles, and robs its neighbours' traps.

    UPC: developed length from the closet's outlet to the inner edge of the vent. The IPC sets no
    limit for closets.
    """
    most = limit(context, "closet_to_vent_ft")
    if most is None or arm.length_m is None:
        return NOT_APPLICABLE
    length = _net_ft(arm, context)
    return check(
        round(length, 3),
        at_most=most,
        message=f"{arm.fixture.label} is {length:.1f} ft from its vent.",
        remedy=f"Take the vent off within {number_text(most.value)} ft of the closet.",
        steps=lambda: (
            *arm_steps(arm),
            *_edge_step(arm, context),
            Step("Closet to vent, at most", most.value, "ft", most.clause),
        ),
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
    least = limit(context, key)
    if least is None or arm.size_in is None:
        return NOT_APPLICABLE
    length, wanted = _net_ft(arm, context) * 12, least.value * arm.size_in
    return check(
        round(length, 2),
        at_least=wanted,
        unit="in",
        message=(
            f"The vent of {arm.fixture.label} joins {number_text(length, 3)} in from the trap weir."
        ),
        remedy=f"Take the vent off at least {number_text(wanted)} in downstream of the trap.",
        steps=lambda: (
            *arm_steps(arm),
            *_edge_step(arm, context),
            Step(f"{number_text(least.value)} diameters", wanted, "in", least.clause),
        ),
        clause=least.clause,
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
    of the arm. Water closets are excused.
    """
    most = limit(context, "trap_arm_fall_diameters")
    if most is None or arm.size_in is None or arm.fall_m is None:
        return NOT_APPLICABLE
    fall, allowed = arm.fall_m / M_PER_IN, most.value * arm.size_in
    return check(
        round(fall, 2),
        at_most=allowed,
        unit="in",
        message=f"The arm of {arm.fixture.label} falls {number_text(fall, 3)} in from weir to "
        "vent; its "
        f"size is {trade_size(arm.size_in)}.",
        remedy="Lay the arm flatter, at its least slope, or bring the vent nearer.",
        steps=lambda: (
            *arm_steps(arm),
            Step("Fall from weir to vent", fall, "in"),
            Step("One diameter", allowed, "in", most.clause),
        ),
        clause=most.clause,
    )


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
    small = (arm.size_in or 0.0) < 3.0
    most = limit(context, "trap_arm_turn_small_deg" if small else "trap_arm_turn_large_deg")
    turned = arm.turns_deg
    if most is None or _has_cleanout(arm, context):
        return PASS
    return check(
        round(turned, 1),
        at_most=most,
        unit="deg",
        message=f"The arm of {arm.fixture.label} turns {turned:.0f}° before its vent, without a "
        "cleanout.",
        remedy="Lay the arm straighter, or put a cleanout in it.",
        steps=lambda: (
            *arm_steps(arm),
            Step("Turns without a cleanout", most.value, "deg", most.clause),
        ),
    )


def _has_cleanout(arm: TrapArm, context: Context) -> bool:
    inside = set(arm.path)
    return any(c.entry in inside for c in context.plumbing.cleanouts)


@rule(
    title="Every trap is protected by a vent",
    subject=TrapArm,
    clauses={"upc": "901.2", "ipc": "901.2.1 and 909.1", "irc-2021": "P3101.2"},
    severity=Severity.HIGH,
)
def trap_vented(arm: TrapArm, context: Context) -> Answer:
    """A trap without a vent is sucked dry by its own or another fixture's flow, and sewer gas
    comes in.

    The arm is followed from the trap until a dry vent, or a drain that breathes from above, meets
    it. It passes with the method found (the rule of that method judges it), or as a combination
    waste and vent where the code takes it so. An arm that turns down before any vent is not
    vented.
    """
    if arm.meets is Meets.VENT:
        return PASS if arm.joint is None or arm.joint.tree.is_vent else _perhaps(arm, context)
    if arm.meets is Meets.WET_DRAIN and _method_is_known(arm, context):
        return PASS
    combination = may_be_combination(arm, context)
    if combination is not None and VENTS.drawn(context):
        return combination
    return _unvented(arm, context)


def _perhaps(arm: TrapArm, context: Context) -> Answer:
    pipe = context.plumbing.network.elements[arm.joint.vent] if arm.joint else arm.element
    return unverified(
        (
            f"Whether {pipe.label}, which rises from the drain of {arm.fixture.label} and "
            "ends open, "
            "is its vent, the model does not tell."
        ),
        "Put the pipe in a system of the type VENT, and end it in a vent terminal.",
        (arm.element.guid, pipe.guid),
    )


def _method_is_known(arm: TrapArm, context: Context) -> bool:
    """Whether the code has the method by which the arm breathes; its own rule judges the rest."""
    row = method_row(context, arm.method) if arm.method is not None else None
    if row is None or row.text("allowed") == "no":
        return False
    fixtures = row.text("fixtures").split()
    return not fixtures or arm.fixture.kind in fixtures or not arm.fixture.kind


def _unvented(arm: TrapArm, context: Context) -> Answer:
    why, remedy = _why(arm, context)
    return missing(
        VENTS,
        message=f"The trap of {arm.fixture.label} is not vented: {why}.",
        remedy=remedy,
        steps=arm_steps(arm),
    )


def _why(arm: TrapArm, context: Context) -> tuple[str, str]:
    elements = context.plumbing.network.elements
    row = _row(arm, context)
    within = f" within {number_text(row.number('max_length_ft'))} ft of the trap" if row else ""
    remedy = f"Take a vent off the arm{within}, before it turns down or joins another drain."
    if arm.meets is Meets.DROP:
        near = S_TRAP_DIAMETERS * (arm.size_in or 1.5) * M_PER_IN
        s_trap = ", which makes it an S-trap" if (arm.length_m or 9.0) <= near else ""
        turn = elements[arm.turned_down].label
        return f"its arm turns down into {turn} before any vent{s_trap}", remedy
    if arm.meets is Meets.WET_DRAIN and arm.method is not None:
        end = elements[arm.path[-1]].label
        method = arm.method
        return (
            f"it joins {end}, below other fixtures' vents, and a {kind_words(arm.fixture.kind)} "
            f"may not be vented by a {method}",
            remedy,
        )
    end = elements[arm.path[-1]].label if arm.path else arm.element.label
    return f"no vent meets its drain down to {end}", remedy


RULES = (
    trap_arm_length,
    closet_to_vent,
    trap_arm_minimum,
    trap_arm_fall,
    trap_arm_turns,
    trap_vented,
)


def listed_length_ft(arm: TrapArm, context: Context) -> float | None:
    """The longest arm the code allows of its size; None where it siphons or is not listed."""
    row = _row(arm, context) if arm.fixture.kind not in SIPHONS_ITSELF else None
    return row.number("max_length_ft") if row is not None else None
