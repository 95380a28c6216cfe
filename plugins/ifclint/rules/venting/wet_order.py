"""Rules about which fixture stands where on a drain that is a vent as well."""

from collections.abc import Iterator

from ifclint.checks import NOT_APPLICABLE, check, require, violation
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.joined import NONE
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, Severity
from ifclint.packs import Context, rule
from ifclint.plumbing import Method, TrapArm, VentGroup
from ifclint.plumbing.drainage.loads import CLOSET
from ifclint.rules.venting.code_tables import method_clause, rows
from ifclint.rules.venting.combination import beside_combination
from ifclint.rules.venting.groups import AT_MOST, bearings
from ifclint.rules.venting.missing_vents import all_wait, waits
from ifclint.rules.venting.protected import group_of
from ifclint.rules.venting.single_stack import are_on_single_stack
from ifclint.rules.venting.wording import ROW, circuit_vent_for, kind_words, own_vent


def dry_vent_kinds(group: VentGroup, context: Context) -> Iterator[Answer]:
    """Whether the dry vent of a horizontal wet vent is that of fixtures that may have it.

    UPC: a bidet, shower or bathtub, or one or two lavatories. IPC: one or two of the bathroom
    group, but no floor drain.
    """
    clause, count = method_clause(context, Method.HORIZONTAL_WET), float(len(group.own))
    listed = {k: r for r in rows(context, "bathroom_group") for k in r.text("fixtures").split()}
    others = (arm for arm in group.own if arm.fixture.kind != CLOSET)
    most = {arm: row for arm in others if (row := listed.get(arm.fixture.kind)) is not None}
    for arm in (arm for arm, row in most.items() if not row.number("at_dry_vent")):
        yield violation(
            message=f"The dry vent of the {group.label} is that of a "
            f"{kind_words(arm.fixture.kind)}.",
            remedy="Let the wet vent begin at the vent of a lavatory of the same bathroom.",
            clause=clause,
            **bearings(group, "dry vent", arm.element.guid),
        )
    some = [row for row in most.values() if row.number("at_dry_vent")]
    if some:
        row = min(some, key=lambda r: r.number("at_dry_vent"))
        yield check(
            count,
            at_most=row.limit("at_dry_vent", "fixtures"),
            message=f"{number_text(count)} fixtures lie above the dry vent of the {group.label}.",
            remedy=lambda: own_vent(group.own[-1]),
            limit_step=AT_MOST,
            **bearings(group, "upstream"),
        )


def closet_at_vent(group: VentGroup, context: Context) -> Iterator[Answer]:
    """A closet whose vent is the dry vent of a wet vent: never in the UPC; in the IPC where its
    drain goes on level from there."""
    closet = next((arm for arm in group.own if arm.fixture.kind == CLOSET), None)
    below = group.piping.drainage.down[group.joint.drain]
    if closet is None:
        return
    upc, falls = (context.code.family == "upc", below != NONE and group.piping.is_vertical(below))
    if upc or falls:
        yield violation(
            message=f"The dry vent of the {group.label} is that of {closet.fixture.label}"
            f"{'' if upc else ', whose drain falls from it'}.",
            remedy="Let the wet vent begin at the vent of a lavatory of the same bathroom.",
            clause=method_clause(context, Method.HORIZONTAL_WET),
            **bearings(group, "dry vent", closet.element.guid),
        )


def closet_lowest(group: VentGroup, context: Context) -> Iterator[Answer]:
    """UPC: on a horizontal wet vent no fixture joins below the closet. IPC: in a vertical one
    closets join at one height, and nothing below them."""
    upc, level = context.code.family == "upc", group.method is Method.HORIZONTAL_WET
    if upc is not level:
        return
    place = {index: n for n, index in enumerate(group.path)}
    closets = [arm for arm in group.arms if arm.fixture.kind == CLOSET and arm in group.wet]
    if not level:
        closets = [arm for arm in group.arms if arm.fixture.kind == CLOSET]
    for closet in closets:
        others = [a for a in group.wet if not (level and a.fixture.kind == CLOSET)]
        below = [a for a in others if _joins(a, place) > _joins(closet, place)]
        if below:
            yield violation(
                message=f"{closet.fixture.label} joins the {group.label} above "
                f"{below[-1].fixture.label}.",
                remedy="Let the closet join last, below all other fixtures; or give "
                f"{below[-1].fixture.label} a vent of its own.",
                clause=method_clause(context, group.method),
                **bearings(group, "order", closet.element.guid),
            )


def _joins(arm: TrapArm, place: dict[int, int]) -> int:
    """How far down the wet vent an arm joins; -1 for those at its vent."""
    return place.get(arm.path[-1], -1) if arm.path else -1


@rule(
    title="Every fixture joins the drain that vents it by a drain of its own",
    clauses={
        "upc": "908.2.1 and 911.1",
        "ipc": "912.1, 913.1 and 914.1",
        "irc-2021": "P3108.1, P3109.2 and P3110.1",
    },
    severity=Severity.HIGH,
    applies=lambda group: bool(group.wet),
)
def wet_vent_apart(group: VentGroup, context: Context) -> Answer:
    """Two drains that meet before the vented one fill their common pipe, and each siphons the
    other's trap.

    The arm of every trap that breathes through a drain is followed to that drain; no other drain
    without a vent may meet it before. Fixtures on one trap are one. A combination waste and vent
    and a single stack are excused, and what another missing vent would settle. A row of fixtures
    that meet so is told once.
    """
    left = [arm for arm in group.wet if arm.joined_by and not waits(arm, context)]
    if all_wait(group, context) or (not left and any(arm.joined_by for arm in group.wet)):
        return NOT_APPLICABLE
    if left:
        group = beside_combination(group, context)
        left = [arm for arm in left if arm in group.wet]
    if meet_before(group) and not _is_excused(group, context):
        return _battery(group, context)
    arm = next(iter(left), None)
    return require(
        arm is None or _is_excused(group, context),
        message=lambda: (
            f"Another drain meets that of {_name(arm)} before the {group.label}: "
            "neither is vented where they meet."
        ),
        remedy=lambda: own_vent(arm or group.wet[-1]),
        clause=method_clause(context, group.method),
        **bearings(group, "apart", arm.element.guid if arm is not None else ""),
    )


def meet_before(group: VentGroup) -> bool:
    """Whether a row of fixtures meet on a branch without a vent before the drain that breathes."""
    level = group.method in (Method.HORIZONTAL_WET, Method.CIRCUIT)
    return level and len(group.wet) >= ROW and all(arm.joined_by for arm in group.wet)


def is_told_as_row(arm: TrapArm, context: Context) -> bool:
    """Whether it is one of a row of fixtures that is told to want a vent."""
    group = group_of(context).get(arm)
    is_row = group is not None and arm in group.wet and meet_before(group)
    return is_row and group is not None and not _is_excused(group, context)


def _is_excused(group: VentGroup, context: Context) -> bool:
    return not group.wet or are_on_single_stack(group, context, beside_vents=True)


def _battery(group: VentGroup, context: Context) -> Answer:
    """A row of fixtures none of which has a vent where their drains meet."""
    row = sorted(group.wet, key=lambda arm: -or_zero(arm.length_m))
    return violation(
        message=f"{len(group.wet)} fixtures, {row[0].fixture.label} to "
        f"{row[-1].fixture.label}, meet before the {group.label}: none of them is vented.",
        remedy=circuit_vent_for(row),
        clause=method_clause(context, Method.CIRCUIT),
        **bearings(group, "apart", row[0].element.guid),
    )


def _name(arm: TrapArm | None) -> str:
    return arm.fixture.label if arm is not None else ""
