"""Whether a vent protects a trap, by which method, and why not."""

from dataclasses import replace

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, advise, missing, not_known
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import feet_text, with_article
from ifclint.findings import Answer, Change, Outcome
from ifclint.ifc.elements import Element
from ifclint.packs import Context, derived
from ifclint.part_kinds import DRAINS, VENTS
from ifclint.plumbing import Fixture, Method, TrapArm, VentGroup
from ifclint.plumbing.drainage.loads import CLOSET
from ifclint.plumbing.venting.trap_arms import Meets, past
from ifclint.rules.venting.circuit import circuit
from ifclint.rules.venting.code_tables import Allowed, allowed, is_for, method_row, trap_arm_row
from ifclint.rules.venting.combination import (
    FLOOR_DRAIN,
    S_TRAP_DIAMETERS,
    are_combination,
    has_dry_vent,
    is_meant,
    joins_drops_only,
    may_be_combination,
    needs_no_approval,
)
from ifclint.rules.venting.groups import beyond_bathroom, fixtures_of, fixtures_through, strangers
from ifclint.rules.venting.section import VentingSection
from ifclint.rules.venting.single_stack import on_single_stack
from ifclint.rules.venting.traps import traps_below
from ifclint.rules.venting.wording import arm_steps, kind_words

DROPS = Fact(
    "{} has no vent: {}. Whether it may be part of a combination waste and vent is not known: all "
    "else drops into this building drain, and to some such drops are stacks.",
    "Vent the trap, or give the combination waste and vent a dry vent of its own.",
)
ENDS_IN = Fact(
    "whether the trap of {} is vented is not known: its drain ends in {}, which is not "
    "understood, before any vent.",
    "Give that its IFC class, or name it or its type in trade words.",
)
BEFORE_A_PUMP = Fact(
    "{} drains straight into {}; whether a vent is due before the pump is not known.",
    "Vent the fixture drain, or show the pump's installation instructions.",
)
ITS_VENT = Fact(
    "whether {}, which rises from the drain of {} and ends open, is its vent, the model does not "
    "tell.",
    "Put the pipe in a system of the type VENT, and end it in a vent terminal.",
)


def vent_met(arm: TrapArm) -> Element | None:
    return arm.piping.elements[arm.joint.vent] if arm.joint is not None else None


def protected(arm: TrapArm, context: Context) -> Answer:
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
    if (stranger := _ends_in(arm, context)) is not None:
        return not_known(ENDS_IN, arm.fixture, stranger)
    combination = may_be_combination(arm, context)
    if combination is not None and VENTS.is_drawn(context):
        if combination.outcome is Outcome.VIOLATION and arm.fixture.kind != FLOOR_DRAIN:
            change = _take_off(arm, context)  # nobody makes the arm of a sink so large
            return replace(combination, change=change, remedy=change.text)
        if combination is not PASS:
            return combination
        return _as_combination(arm, context)
    return missing(
        VENTS if DRAINS.is_drawn(context) else DRAINS,
        message=f"The trap of {arm.fixture.label} is not vented: {_why(arm, context)}.",
        remedy=lambda: _take_off(arm, context),
        steps=lambda: arm_steps(arm),
    )


def _ends_in(arm: TrapArm, context: Context) -> str | None:
    """What is not understood that an arm ends in before it meets or turns down into anything."""
    end = arm.piping.elements[arm.path[-1]] if arm.path else arm.element
    elsewhere = context.plumbing.network.model.leads_elsewhere
    if arm.meets is not Meets.NOTHING or end.guid not in elsewhere:
        return None
    return f'"{elsewhere[end.guid]}"' if elsewhere[end.guid] else "something"


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
    approved = context.job.section(VentingSection).combination_approved
    if approved or is_meant(arm, context):
        return PASS
    alike = [a for a in context.plumbing.venting.arms if a.fixture.kind == arm.fixture.kind]
    vented = any(other.meets is Meets.VENT for other in alike)
    has_own = arm.fixture.kind == FLOOR_DRAIN and has_dry_vent(arm, context)
    if not vented and (arm.meets is not Meets.DROP or has_own):
        return PASS
    remedy = "or have the combination waste and vent approved, and say so"
    if needs_no_approval(context):
        remedy = "or, where a combination waste and vent is meant, say so"
    return advise(
        f"{arm.fixture.label} has no vent: {_why(arm, context)}. It passes only as part of a "
        "combination waste and vent.",
        f"Vent the trap, {remedy} in the job file (venting.combination_approved).",
        steps=lambda: arm_steps(arm),
    )


def _perhaps(arm: TrapArm) -> Answer:
    pipe = vent_met(arm) or arm.element
    ids = (arm.element.guid, pipe.guid)
    return not_known(ITS_VENT, pipe, arm.fixture, elements=ids)


def _method_is_known(arm: TrapArm, context: Context) -> bool:
    """Whether the code has the method by which the arm breathes; its own rule judges the rest."""
    row = method_row(context, arm.method) if arm.method is not None else None
    if row is None or allowed(row) is Allowed.NO:
        return False
    if _stranger(arm, context) is not None or _stands_apart(arm, context):
        return False
    return not row.text("fixtures") or not arm.fixture.kind or is_for(row, arm.fixture)


def _stranger(arm: TrapArm, context: Context) -> Fixture | None:
    """The fixture of no bathroom for which what would be a horizontal wet vent is none: one whose
    vent it begins at; of a floor drain alone there, one that drains there too."""
    if arm.method is not Method.HORIZONTAL_WET:
        return None
    group = group_of(context)[arm]
    fixtures = [fixture for own in group.own for fixture in own.fixtures]
    at_vent = strangers(fixtures, context)
    if len(at_vent) == len(fixtures) > 0:
        return None if _has_other_method(group, context) else at_vent[0]
    if any(other.fixture.kind != FLOOR_DRAIN for other in group.wet):
        return None
    others = strangers(fixtures_through(group, context), context)
    return next(iter(others), None)


def _stands_apart(arm: TrapArm, context: Context) -> bool:
    """Whether a horizontal wet vent ends above an arm, of a fixture apart from the others on it:
    what drains there by then is no bathroom, or in the UPC a closet does, which is the last."""
    group = group_of(context)[arm]
    if group.method is not Method.HORIZONTAL_WET or arm not in group.apart:
        return False
    above = group.arms[: group.arms.index(arm)]
    past_closet = context.code.family == "upc" and any(a.fixture.kind == CLOSET for a in above)
    through = fixtures_of(arm.path[-1], context)
    if not (past_closet or strangers(through, context) or any(beyond_bathroom(through, context))):
        return False
    return not _has_other_method(replace(group, wet=[arm]), context)


@derived
def group_of(context: Context) -> dict[TrapArm, VentGroup]:
    """The group in which every trap breathes that does."""
    return {arm: group for group in context.plumbing.venting.groups for arm in group.arms}


def _has_other_method(group: VentGroup, context: Context) -> bool:
    """Whether the traps of a group breathe lawfully otherwise."""
    as_circuit = all(answer is PASS for answer in circuit(group, context))
    return as_circuit or are_combination(group.wet, context)


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
        if (stranger := _stranger(arm, context)) is not None:
            return (
                f"it joins {end}, below other fixtures' vents, and {stranger.label} drains there "
                "too: that is no wet vent of a bathroom"
            )
        if _stands_apart(arm, context):
            return (
                f"it joins {end}, below other fixtures' vents, apart from the bathroom whose wet "
                "vent ends above"
            )
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
