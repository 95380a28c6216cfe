"""Which traps lack their vent, and what of other traps follows from one that is missing."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace

from ifclint.checks import NOT_APPLICABLE
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.joined import NONE
from ifclint.findings import Answer, Outcome, Settles, Severity
from ifclint.ifc.elements import System
from ifclint.packs import Context, derived, rule
from ifclint.part_kinds import TRAPS
from ifclint.plumbing import Fixture, Method, TrapArm, VentGroup
from ifclint.plumbing.drainage.through_air import ends_in_drain
from ifclint.plumbing.venting.trap_arms import Meets
from ifclint.rules.venting.code_tables import rows
from ifclint.rules.venting.combination import FLOOR_DRAIN, are_combination
from ifclint.rules.venting.groups import fixtures_through, strangers
from ifclint.rules.venting.protected import group_of, protected
from ifclint.rules.venting.single_stack import is_told_with_stack
from ifclint.rules.venting.traps import needs_trap
from ifclint.rules.venting.wording import ROW, circuit_vent_for


@rule(
    title="Every trap is protected by a vent",
    clauses={"upc": "901.2", "ipc": "901.2.1 and 909.1", "irc-2021": "P3101.2"},
    severity=Severity.HIGH,
    settles=Settles.VENT,
    follows=(System.SANITARY, System.VENT),
)
def trap_vented(arm: TrapArm, context: Context) -> Answer:
    """A trap without a vent is sucked dry by its own or another fixture's flow, and sewer gas
    comes in.

    The arm is followed from the trap until a dry vent, or a drain that breathes from above, meets
    it. It passes with the method found (the rule of that method judges it), on a single stack
    (IPC), or as a combination waste and vent where the code takes it so: an advisory where fixtures
    of its kind have vents elsewhere, or where the arm turns down (but of a floor drain, to a
    combination with a dry vent), unless the job file says that combinations are approved. Else an
    arm that turns down before any vent is not vented, nor is a bathroom that drains into what a
    fixture of no bathroom vents. Of two traps in series the lower one is asked, which stays; and
    of traps that one vent would serve the one at which it is missing, which names the others:
    of a row on a level branch the most upstream.
    """
    if any(ends_in_drain(context, fixture) for fixture in arm.fixtures):
        return NOT_APPLICABLE  # it is to end in the air
    settled_at = _settled_at(context)
    if arm in settled_at or is_told_with_stack(arm, context):
        return NOT_APPLICABLE
    if _is_told_with_wet_vent(arm, context):
        return NOT_APPLICABLE
    answer = protected(arm, context)
    others = [other for other, at in settled_at.items() if at is arm]
    if arm in (heads := _row_heads(context)):
        change = circuit_vent_for(heads[arm])
        answer = replace(answer, change=change, remedy=change.text)
    return _with_others(answer, arm, others) if others else answer


def _with_others(answer: Answer, arm: TrapArm, others: list[TrapArm]) -> Answer:
    """A vent that is missing, with the other traps that would breathe through it."""
    names = ", ".join(f.label for other in others for f in other.fixtures)
    ids = tuple(other.element.guid for other in others)
    return replace(
        answer,
        message=f"{answer.message} Nor is that of {names}, whose drain meets it before any vent.",
        elements=(*(answer.elements or arm.element_ids), *ids),
    )


def _is_told_with_wet_vent(arm: TrapArm, context: Context) -> bool:
    """Whether others of a bathroom breathe below it through a wet vent of bathrooms that its
    fixture, of none, drains through: there it is told to be led elsewhere. A vertical one of the
    UPC takes what is of no bathroom too."""
    group = group_of(context).get(arm)
    wet = {Method.HORIZONTAL_WET, Method.VERTICAL_WET}
    if context.code.family == "upc":
        wet.remove(Method.VERTICAL_WET)
    if group is None or group.method not in wet or arm not in group.wet[:-1]:
        return False
    through = fixtures_through(group, context)
    odd = strangers(through, context)
    of_bath = any(f not in odd and f.kind != FLOOR_DRAIN for f in through)
    is_one = of_bath and bool(odd) and set(odd) <= set(arm.fixtures)
    return is_one and not all_wait(group, context) and not are_combination(group.wet, context)


def down_to_vented(group: VentGroup, context: Context) -> VentGroup:
    """The group without the last of its traps, as far as these have no vent by it."""
    wet = list(group.wet)
    while wet and waits(wet[-1], context):
        wet.pop()
    return group.ending_at(wet) if wet and len(wet) < len(group.wet) else group


@derived
def _lacking(context: Context) -> frozenset[TrapArm]:
    """The traps that a rule says have no vent."""
    arms = context.plumbing.venting.arms
    return frozenset(a for a in arms if protected(a, context).outcome is Outcome.VIOLATION)


@derived
def _below_lacking(context: Context) -> list[bool]:
    """Whether a trap that lacks its vent, and no other's drain lends it one, drains through each
    element."""
    starts = (arm.start for arm in _lacking(context) if not arm.breathes)
    return context.plumbing.drainage.passed_by(starts)


def waits(arm: TrapArm, context: Context) -> bool:
    """Whether what air an arm gets is settled by a vent that is missing elsewhere: it is told to
    have none itself, or the drain of a trap that has none meets it first, and would vent it."""
    below = _below_lacking(context)
    lent = arm.meets is Meets.WET_DRAIN and arm in _lacking(context)
    return lent or any(below[i] for i in arm.joined_by)


@derived
def _settled_by_drain(context: Context) -> dict[TrapArm, TrapArm]:
    """Traps that have no vent until another gets its own, whose drain meets theirs before any vent;
    and that other."""
    arms, lacking = context.plumbing.venting.arms, _lacking(context)
    drainage = context.plumbing.drainage
    may = [arm for arm in arms if arm in lacking and not arm.breathes]
    first = [*may, *(a for a in arms if a in lacking and a.breathes and _may_begin(a, context))]
    ways = {arm: set(drainage.path(arm.start)) for arm in first}
    found: dict[TrapArm, TrapArm] = {}
    for arm in arms:
        if arm.meets is Meets.WET_DRAIN and waits(arm, context):
            before = first[: first.index(arm)] if arm in first else first
            meets = (other for other in before if not ways[other].isdisjoint(arm.joined_by))
            if (at := next(meets, None)) is not None:
                found[arm] = at
    return found


@derived
def _settled_at(context: Context) -> dict[TrapArm, TrapArm]:
    """Traps that have no vent until another gets its own, and that other; or until their row gets
    one, and the most upstream of the row."""
    of_rows = {arm: head for head, row in _row_heads(context).items() for arm in row[1:]}
    return _settled_by_drain(context) | of_rows


@derived
def _row_heads(context: Context) -> dict[TrapArm, list[TrapArm]]:
    """The rows of traps that lack their vents and meet one after another on a level branch, no more
    than one circuit vent serves, upstream first; by the first of each."""
    settled = _settled_by_drain(context)
    arms = [arm for arm in context.plumbing.venting.arms if arm in _lacking(context)]
    left = sorted((a for a in arms if a not in settled), key=lambda a: -or_zero(a.length_m))
    shared = Counter(index for arm in left for index in arm.path)
    meets_at = {arm: next((i for i in arm.path if shared[i] > 1), NONE) for arm in left}
    most = int(context.code.limit("circuit_vent_fixtures").value)
    heads: dict[TrapArm, list[TrapArm]] = {}
    while left:
        line = {index: n for n, index in enumerate(left[0].path)}
        row = sorted((a for a in left if meets_at[a] in line), key=lambda a: line[meets_at[a]])
        left = [arm for arm in left[1:] if arm not in row]
        rows_of = [row[n : n + most] for n in range(0, len(row), most)]
        heads |= {few[0]: few for few in rows_of if len(few) >= ROW}
    return heads


def _may_begin(arm: TrapArm, context: Context) -> bool:
    """Whether a wet vent may begin at the vent of a fixture of this kind."""
    listed = {
        kind
        for row in rows(context, "bathroom_group")
        if row.number("at_dry_vent")
        for kind in row.text("fixtures").split()
    }
    return arm.fixture.kind in listed


@derived
def _lacking_fixtures(context: Context) -> set[Fixture]:
    return {fixture for arm in _lacking(context) for fixture in arm.fixtures}


def lacks_any(fixtures: Iterable[Fixture], context: Context) -> bool:
    """Whether one of some fixtures lacks its trap, or that its vent; in a model that draws no traps
    it lacks none."""
    lacking, traps_drawn = _lacking_fixtures(context), TRAPS.is_drawn(context)
    return any(f in lacking or (traps_drawn and f.trap is None and needs_trap(f)) for f in fixtures)


def all_wait(group: VentGroup, context: Context) -> bool:
    """Whether none of the traps of a group (that breathe through its drain, if any do) would be of
    it but for want of another vent."""
    return all(waits(arm, context) for arm in group.wet or group.own)
