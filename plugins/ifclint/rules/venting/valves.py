"""Rules about air admittance valves: whether they are allowed, how high, and within reach."""

from collections.abc import Iterator

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Bounds,
    Fact,
    advise,
    check,
    drawn,
    due,
    given,
    known,
    not_known,
    require,
)
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.joined import onward
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import apart_text, number_text
from ifclint.findings import Answer, Outcome, Severity, Step
from ifclint.packs import Context, derived, rule
from ifclint.part_kinds import WALLS
from ifclint.plumbing import Method, VentJoint, VentTerminal
from ifclint.plumbing.words import says
from ifclint.rules.venting.airflow import airflow, takes
from ifclint.rules.venting.code_tables import Allowed, allowed, method_row
from ifclint.rules.venting.main_vents import main_vents
from ifclint.rules.venting.section import VentingSection

STACK_INTERVALS = 2  # what takes one alone is to its valve a branch; ours, no source
NEAR_M = 0.01  # what is so near the valve is around it
# where the adopted code sets no height: those of IPC 2021 918.4, from memory
PRACTICE_IN = {"aav_above_branch_in": 4.0, "aav_stack_above_rim_in": 6.0}
HEIGHT = Fact(
    "the height of {}, which {} must stand above, is not known.",
    "Give the fixtures shapes, and the vent's fittings placed ports.",
)
FOR_STACKS = ("asse 1050", "asse1050", "stack type", "stack aav", "stack air admittance")
FOR_BRANCHES = ("asse 1051", "asse1051", "branch type", "individual type", "branch air admittance")
FOR_WHICH = Fact(
    "whether {}, which ends the vent of {}, is made for stacks is not known.",
    "Name the standard of the valve: ASSE 1050 on a stack, 1051 on a branch or fixture.",
)
WITH_GRILLE = Fact(
    "{} stands inside {}; whether in a box with a grille, so that it gets air, is not known.",
    "Set the valve in a recessed box with a grille, or where air and a hand can reach it.",
)


def _is_valve(terminal: VentTerminal) -> bool:
    return terminal.admits_only


@rule(
    title="Air admittance valve allowed here",
    clauses={"upc": "301.3", "ipc": "918.1", "irc-2021": "P3114.1"},
    severity=Severity.HIGH,
    applies=_is_valve,
)
def admittance_valve_allowed(terminal: VentTerminal, context: Context) -> Answer:
    """A valve that sticks leaves a trap without a vent, or lets sewer gas in.

    The IPC allows them where the authority does not forbid it; the UPC takes the authority's
    approval. The job file tells: venting.air_admittance_valves_allowed.
    """
    row = due(method_row(context, Method.ADMITTANCE))
    stated = context.job.section(VentingSection).air_admittance_valves_allowed
    why = "the authority forbids them" if stated is False else f"only where {row.text('condition')}"
    return require(
        stated is True or (stated is None and allowed(row) is Allowed.YES),
        message=f"{terminal.label} is an air admittance valve: {why}.",
        remedy="Carry the vent to the open air; or have the valve approved, and say so in the job "
        "file (venting.air_admittance_valves_allowed).",
        steps=(Step(f"{Method.ADMITTANCE}: {allowed(row)}", source=row.clause),),
        clause=row.clause,
    )


@rule(
    title="Air admittance valve high enough above its drain",
    clauses={"upc": "common practice, no clause", "ipc": "918.4", "irc-2021": "P3114.4"},
    needs=("point",),
    applies=_is_valve,
)
def admittance_valve_height(terminal: VentTerminal, context: Context) -> Answer:
    """Waste that backs up must not reach the valve.

    Its height above the drain it vents: 4 in above the crown of a branch or fixture drain, 6 in
    above the highest rim where it ends a stack. In the UPC the values are those of the IPC, where
    the code sets none and the authority approves the valve: an advisory.
    """
    joints = terminal.tree.joints if terminal.tree is not None else []
    if not joints:
        return NOT_APPLICABLE
    of_stack = any(joint in main_vents(context).tops for joint in joints)
    key = "aav_stack_above_rim_in" if of_stack else "aav_above_branch_in"
    bases = _highest_rim_m(joints, context) if of_stack else _highest_drain_m(joints)
    what = "the highest rim on its stack" if of_stack else "the drain it vents"
    least = context.code.limit_or_none(key)
    wanted = least.value if least is not None else PRACTICE_IN[key]
    bases = known(bases, HEIGHT, what, terminal)
    low, high = ((given(terminal.point)[2] - base) / M_PER_IN for base in bases)
    return check(
        Bounds(HEIGHT, what, terminal, low=round(high, 2), high=round(low, 2)),
        at_least=least or wanted,
        unit="in",
        message=f"{terminal.label} stands {apart_text(low, wanted, 'in')} above {what}.",
        remedy=f"Raise the valve to {number_text(wanted)} in above {what}.",
        limit_step=f"Above {what}, at least",
        wrong=Outcome.VIOLATION if least is not None else Outcome.ADVISORY,
    )


def _highest_drain_m(joints: list[VentJoint]) -> tuple[float, float] | None:
    """How high the drains lie that the vents are taken off."""
    heights = [top for joint in joints if (top := _drain_top_m(joint)) is not None]
    return (max(heights), max(heights)) if heights else None


def _drain_top_m(joint: VentJoint) -> float | None:
    """The crown of the level drain that comes into the fitting of a vent; where none does, or the
    vent is taken off a pipe, the height of the joint."""
    piping = joint.tree.piping
    level = [i for i in piping.wet_above[joint.drain] if piping.is_horizontal(i)]
    ends = [(end[2], piping.elements[i].size_in) for i in level if (end := piping.exit(i))]
    if ends and not piping.is_pipe(joint.drain):
        return max(z + or_zero(size) / 2 * M_PER_IN for z, size in ends)
    return None if joint.point is None else joint.point[2]


def _highest_rim_m(joints: list[VentJoint], context: Context) -> tuple[float, float] | None:
    """The least and the greatest height the highest rim may have."""
    venting, air = context.plumbing.venting, airflow(context)
    fixtures = {f for joint in joints for f in air.fixtures_of.get(joint, [])}
    stacks = {s for joint in joints if (s := main_vents(context).tops.get(joint)) is not None}
    fixtures.update(f for stack in stacks for f in takes(context)[stack])
    rims = [rim for f in fixtures if (rim := venting.rim_m(f)) is not None]
    return (max(low for low, _ in rims), max(high for _, high in rims)) if rims else None


@rule(
    title="Air admittance valve where it can be reached, and breathe",
    clauses={"upc": "common practice, no clause", "ipc": "918.5", "irc-2021": "P3114.5"},
    severity=Severity.LOW,
    needs=("point",),
    applies=_is_valve,
)
def admittance_valve_access(terminal: VentTerminal, context: Context) -> Iterator[Answer]:
    """A valve shut in a wall gets no air and is never changed.

    Whether the valve stands inside a wall or slab of the model. A recessed box with a grille will
    do, and is a question where the code demands air and access; else it is advice.
    """
    drawn(WALLS, context, "whether {} is in one", terminal)
    x, y, z = given(terminal.point)
    low, high = (x - NEAR_M, y - NEAR_M, z - NEAR_M), (x + NEAR_M, y + NEAR_M, z + NEAR_M)
    remedy = "Set the valve in a recessed box with a grille, or where air and a hand can reach it."
    for around in context.plumbing.venting.surroundings.within(low, high):
        if around.kind not in ("wall", "slab"):
            continue
        inside, elements = f"{terminal.label} stands inside {around.label}", terminal.element_ids
        elements = (*elements, around.guid)
        if context.code.family == "upc":
            yield advise(f"{inside}.", remedy, elements=elements, about=around.guid)
            continue
        yield not_known(WITH_GRILLE, terminal, around, elements=elements, about=around.guid)
    yield PASS


@rule(
    title="Air admittance valve for the fixtures of one floor",
    clauses={"ipc": "918.3.1", "irc-2021": "P3114.3"},
    applies=_is_valve,
)
def admittance_valve_one_floor(terminal: VentTerminal, context: Context) -> Answer:
    """A valve for branches opens for one floor; what another floor sends down meets a shut vent.

    The floors of the fixtures that breathe through the valve. A valve that ends the vent of a stack
    is another, and is excused, as is one on vents that also lead outdoors; what a single fixture
    drains down is no stack.
    """
    tree = terminal.tree
    valves = [t for t in context.plumbing.venting.terminals if t.admits_only and t.tree is tree]
    if tree is None or len(tree.terminals) > len(valves):
        return NOT_APPLICABLE
    tops = main_vents(context).tops
    stacks = [tops[joint] for joint in tree.joints if joint in tops]
    if any(len(takes(context)[stack]) > 1 for stack in stacks):
        return NOT_APPLICABLE
    air, floors = airflow(context), context.plumbing.surroundings.floors
    fixtures = [f for joint in tree.joints for f in air.fixtures_of.get(joint, [])]
    on = {floors.level_of(fixture.element): fixture for fixture in fixtures}
    return require(
        len(on) < 2,
        message=f"Through {terminal.label} fixtures of {len(on)} floors breathe: "
        + ", ".join(f.label for f in on.values())
        + ".",
        remedy="Give the fixtures of each floor a valve of their own, or carry the vent to the "
        "open air.",
        elements=(terminal.element.guid, *(f.element.guid for f in on.values())),
    )


@rule(
    title="Air admittance valve of a stack made for stacks",
    clauses={"upc": "common practice, no clause", "ipc": "918.1", "irc-2021": "P3114.1"},
    applies=_is_valve,
)
def admittance_valve_of_stack(terminal: VentTerminal, context: Context) -> Answer:
    """A valve made for a branch lets in too little air for what falls down a stack.

    The standard by which a valve is named that alone ends the vent of a stack of two branch
    intervals or more: ASSE 1050 is for stacks, 1051 for branches and single fixtures. The UPC,
    where the authority approves the valve, names none: an advisory.
    """
    tree = terminal.tree
    if tree is None or not tree.admittance_only:
        return NOT_APPLICABLE
    tops = [of for joint in tree.joints if (of := main_vents(context).tops.get(joint))]
    stack = max(tops, key=lambda s: s.interval_count, default=None)
    if stack is None or stack.interval_count < STACK_INTERVALS:
        return NOT_APPLICABLE
    is_for_stacks = says(terminal.element, FOR_STACKS)
    if not is_for_stacks and not says(terminal.element, FOR_BRANCHES):
        return not_known(FOR_WHICH, terminal, stack)
    return require(
        is_for_stacks,
        message=f"{terminal.label} is made for branches, and ends the vent of {stack.label}, which "
        f"takes {stack.interval_count} branch intervals.",
        remedy="Fit a valve made for stacks (ASSE 1050), or carry the vent to the open air.",
        elements=(terminal.element.guid, *stack.element_ids),
        wrong=Outcome.ADVISORY if context.code.family == "upc" else Outcome.VIOLATION,
    )


@rule(
    title="Air admittance valve not too far below the top of a tall stack",
    clauses={"ipc": "918.3.2", "irc-2021": ""},
    applies=_is_valve,
)
def admittance_valve_storeys(terminal: VentTerminal, context: Context) -> Answer:
    """What falls through many storeys presses air before it, and a valve lets none out.

    Of a valve that ends the vent of a stack the branch intervals of the stack. Of one for branches
    the interval in which its drain joins the stack, counted from the top: farther down it takes a
    relief vent on the branch. Excused is a valve on vents that also lead outdoors.
    """
    tree = terminal.tree
    if tree is None or not tree.admittance_only:
        return NOT_APPLICABLE
    stacks = [of for joint in tree.joints if (of := main_vents(context).tops.get(joint))]
    key = "aav_stack_intervals" if stacks else "aav_branch_relief_intervals"
    most = context.code.limit_or_none(key)
    depths = [stack.interval_count for stack in stacks] or [
        depth for joint in tree.joints if (depth := _intervals_down(joint, context)) is not None
    ]
    if most is None or not depths:
        return NOT_APPLICABLE
    count = max(depths)
    what = f"a stack of {count} branch intervals"
    if not stacks:
        what = f"a branch that joins its stack in branch interval {count} from the top"
    return check(
        float(count),
        at_most=most,
        message=f"{terminal.label} vents {what}.",
        remedy="Carry the vent to the open air, or give the branch a relief vent that goes there.",
        limit_step="Branch intervals, at most",
    )


def _intervals_down(joint: VentJoint, context: Context) -> int | None:
    """The branch interval in which a drain joins a stack; None where it joins none, or another
    vent that leads outdoors relieves the branch."""
    drainage, joints = context.plumbing.drainage, context.plumbing.venting.air.joints
    interval_of = _interval_of(context)
    for index in onward(joint.drain, drainage.down):
        if any(o.tree.is_vent and not o.tree.admittance_only for o in joints.get(index, ())):
            return None
        if index in interval_of:
            return interval_of[index]
    return None


@derived
def _interval_of(context: Context) -> dict[int, int]:
    """For the last pipes of branches: the number, from the top, of the interval they join."""
    found: dict[int, int] = {}
    for stack in context.plumbing.stacks:
        above = stack.interval_count - len(stack.intervals)
        for interval in stack.intervals:
            for branch in interval.branches:
                found |= dict.fromkeys(branch.indexes, above + interval.number)
    return found
