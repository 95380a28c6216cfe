"""Rules about vents on their way to the open air: where they meet, and that none holds water."""

from collections.abc import Iterator

from ifclint.checks import NOT_APPLICABLE, PASS, Bounds, Fact, check, violation
from ifclint.engineering.units import IN_PER_FT, M_PER_IN
from ifclint.engineering.wording import tape_text
from ifclint.findings import Answer, Change, Severity
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import VentGroup, VentTree
from ifclint.plumbing.drainage.chemical import NEUTRALIZER, called_acid, carries_chemicals
from ifclint.plumbing.venting.vents import VentJoint
from ifclint.rules.venting.airflow import airflow
from ifclint.rules.venting.draining import sags
from ifclint.rules.venting.wording import beside_rim, sentence

RIM = Fact(
    "whether {} meets another vent high enough above {} is not known: the model does not show the "
    "rim.",
    "Give the fixture a shape, or its SpilloverLevel.",
)


@rule(
    title="Vents meet above the flood rims of what they serve",
    clauses={"upc": "905.3", "ipc": "905.5", "irc": "P3104.5"},
    severity=Severity.HIGH,
    applies=lambda group: group.joint.tree.is_vent and not group.joint.tree.is_closed,
)
def vents_meet(group: VentGroup, context: Context) -> Answer:
    """Below the rim of a stopped fixture its waste rises in the vent, and where that meets another
    vent, runs off through it unseen.

    The middle of the fitting at which the vent of a fixture first meets another vent, against 6 in
    above the flood-level rim of the fixture. An island vent is followed from its foot; any other
    that runs level below that height before has its own rule.
    """
    meeting = _meeting(group, context)
    rims = context.plumbing.venting.rims_m(group)
    if meeting is None or rims is None:
        return NOT_APPLICABLE
    element, height_m = group.piping.elements[meeting[0]], meeting[1]
    least, (low_m, high_m, whose) = context.code.limit("vent_join_above_rim_in"), rims
    low, high = (height_m - low_m) / M_PER_IN, (height_m - high_m) / M_PER_IN
    above = Bounds(RIM, group.vent, whose, low=round(high, 2), high=round(low, 2))
    return check(
        above,
        at_least=least,
        message=lambda: (
            f"{group.vent.label} meets another vent in {element.label}, "
            f"{beside_rim(low)} the rim of {whose}."
        ),
        remedy=lambda: _higher(group, meeting[0], least.value - low, context),
        limit_step="Above the rim, at least",
        elements=(element.guid, *group.element_ids),
    )


def _higher(group: VentGroup, meeting: int, short_in: float, context: Context) -> Change:
    """With whatever lies level there: a header is lifted once for all that meet in it."""
    text = f"Let the vents meet {tape_text(short_in / IN_PER_FT)} higher."
    run = level_run(group.joint.tree, meeting, context)
    return Change(
        "move", tuple(dict.fromkeys((run, *group.element_ids))), short_in * M_PER_IN, text
    )


def _meeting(group: VentGroup, context: Context) -> tuple[int, float] | None:
    """Where the vent first meets another, and how high; None where it runs level below before."""
    through, rims = airflow(context).joints, context.plumbing.venting.rims_m(group)
    least_m = context.code.limit("vent_join_above_rim_in").value * M_PER_IN
    path = group.joint.tree.path_out(group.returns_at or group.joint)
    alone = through.get(path[0], 0.0) + (1.0 if group.returns_at is not None else 0.0)
    for index in path[1:]:
        middle = group.piping.middle(index)
        if through.get(index, 0.0) > alone and middle is not None:
            return index, middle[2]
        lowest = min((p[2] for p in group.piping.ends(index)), default=None)
        is_low = rims is not None and lowest is not None and lowest < rims[1] + least_m
        if group.piping.is_horizontal(index) and is_low and group.returns_at is None:
            return None
    return None


@rule(
    title="Vent without a sag",
    clauses={"upc": "905.1", "ipc": "905.2", "irc": "P3104.2"},
    severity=Severity.HIGH,
    applies=lambda tree: tree.is_vent and bool(tree.joints),
)
def vent_sag(tree: VentTree, context: Context) -> Iterator[Answer]:
    """Rain and condensate stand where a vent goes down and up again, and no air passes.

    Every place of the vent must find a path back to a drain that nowhere rises. Told of vertical
    pipes that fall on the path to the open air; level pipe that is graded wrongly has its own
    rule.
    """
    for index in sags(context, tree):
        element = tree.piping.elements[index]
        yield violation(
            message=f"{sentence(element.label)} goes down on the way to the open air, and no drain "
            "lies below: water stands at its foot.",
            remedy="Carry the vent on level or rising, or drain its low point.",
            elements=(element.guid,),
            about=element.guid,
        )
    yield PASS


@rule(
    title="Vent of chemical waste by itself",
    clauses={"upc": "811.6", "ipc": "901.3", "irc": ""},
    severity=Severity.HIGH,
    applies=lambda tree: tree.is_vent and len(tree.joints) > 1,
)
def chemical_vent_apart(tree: VentTree, context: Context) -> Answer:
    """Vapours of chemicals eat vents that are not made for them, and come out in other rooms.

    Drains of chemicals are known by name, material or system ("acid waste"), up to where they are
    neutralized. The first element in which a vent of one meets that of another drain.
    """
    carries, called = carries_chemicals(context), called_acid(context)
    elements, of = tree.piping.elements, {True: list[VentJoint](), False: list[VentJoint]()}
    for joint in tree.joints:
        if elements[joint.drain].kind != NEUTRALIZER:  # its vent may go with either
            below = tree.piping.next_pipe(joint.drain)
            of[carries[joint.drain] or carries[below] or joint.vent in called].append(joint)
    if not of[True] or not of[False]:
        return NOT_APPLICABLE if not of[True] else PASS
    others = {i: joint for joint in of[False] for i in tree.path_out(joint)}
    out = ((joint, i) for joint in of[True] for i in tree.path_out(joint) if i in others)
    mine, meeting = next(out, (of[True][0], of[True][0].vent))
    theirs = others.get(meeting, of[False][0])
    return violation(
        message=f"The vent of a drain of chemicals, at {elements[mine.drain].label}, meets that of "
        f"{elements[theirs.drain].label} in {elements[meeting].label}.",
        remedy="Carry the vent of chemical waste to the open air by itself.",
        elements=(elements[meeting].guid, elements[mine.drain].guid, elements[theirs.drain].guid),
    )


def level_run(tree: VentTree, index: int, context: Context) -> str:
    """The GlobalId by which the level run of a vent is known; of an upright its own."""
    first = _runs(context, tree).get(index, index)
    return tree.piping.elements[first].guid


@derived
def _runs(context: Context, tree: VentTree) -> dict[int, int]:
    """For each element of a vent that stands not upright, the first of those it lies level with."""
    level = (i for i in tree.members if not tree.piping.is_vertical(i))
    return {i: min(run) for run in context.plumbing.network.pieces(level) for i in run}
