"""Rules about methods of venting: common vents, island vents."""

from collections.abc import Iterator
from itertools import combinations, takewhile

from ifclint.checks import PASS, Fact, check, missing, not_known, require
from ifclint.engineering.joined import onward
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import number_text, trade_size
from ifclint.findings import Answer, Change
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, derived, rule
from ifclint.part_kinds import CLEANOUTS
from ifclint.plumbing import Method, TrapArm, VentGroup
from ifclint.plumbing.drainage.loads import CLOSET, loads
from ifclint.rules.venting.code_tables import method_clause, rows
from ifclint.rules.venting.combination import are_combination
from ifclint.rules.venting.groups import (
    AT_LEAST,
    AT_MOST,
    bearings,
    fails,
    large_enough,
    on_one_floor,
    passing_dfu,
    size_unknown,
    smallest_pipe,
)
from ifclint.rules.venting.missing_vents import all_wait
from ifclint.rules.venting.waste_stack import breathe_by_stack
from ifclint.rules.venting.wording import own_vent

RISES = Fact("how high the loop of the {} rises", "Give its pipes shapes or placed ports.")


@rule(
    title="Common vent for no more than two fixtures of one floor",
    clauses={"upc": "905.6 and 908.1", "ipc": "911", "irc-2021": "P3107"},
    applies=lambda group: group.method is Method.COMMON,
)
def common_vent(group: VentGroup, context: Context) -> list[Answer]:
    """Two fixtures may breathe through one vent where neither can siphon the other.

    Two traps of one floor that meet at the vent; or, one above the other (IPC), where the upper
    is no closet and the drain between them is large enough for its load by the table. In the UPC
    two inlets at different levels are a vertical wet vent, which has its own rule, and each arm
    comes to the vent by itself, in a double fitting; the IPC lets the arms meet before the vent.
    It passes too as combination waste and vent.
    """
    if (context.code.family == "upc" and group.wet) or all_wait(group, context):
        return []
    answers = list(_as_common(group, context))
    otherwise = are_combination(group.arms, context) or breathe_by_stack(group, context)
    return [PASS] if fails(answers) and otherwise else answers


def _as_common(group: VentGroup, context: Context) -> Iterator[Answer]:
    upc, clause = context.code.family == "upc", method_clause(context, Method.COMMON)
    yield check(
        float(len(group.arms)),
        at_most=context.code.limit("common_vent_fixtures"),
        message=f"{len(group.arms)} fixtures breathe through {group.vent.label}.",
        remedy=own_vent(group.arms[-1]),
        limit_step=AT_MOST,
        **bearings(group, "number"),
    )
    floors = f"The fixtures of the {group.label} stand on different floors."
    yield on_one_floor(group, group.fixtures, clause, floors)
    if group.wet:
        yield _two_levels(group, context)
        yield _not_below_closet(group, clause)
    if upc:
        yield _arms_apart(group, clause)


def _arms_apart(group: VentGroup, clause: str) -> Answer:
    """UPC: no arm takes another before it comes to the vent."""
    met = [(a, b, at) for a, b in combinations(group.own, 2) if (at := _meeting(group, a, b))]
    first, second, at = met[0] if met else (group.own[0], group.own[-1], None)
    names = f"{first.fixture.label} and {second.fixture.label}"
    return require(
        not met,
        message=f"The arms of {names} meet before their common vent.",
        remedy="Let both enter one double fitting, at one level, under the vent; or vent each.",
        clause=clause,
        **bearings(group, "fitting", at.guid if at is not None else ""),
    )


def _meeting(group: VentGroup, one: TrapArm, other: TrapArm) -> Element | None:
    """The first element that two arms share before they come to the vent."""
    shared = (i for i in one.path if i in other.path and i != group.joint.drain)
    index = next(shared, None)
    return None if index is None else group.piping.elements[index]


def _not_below_closet(group: VentGroup, clause: str) -> Answer:
    upper, lower = group.arms[0], group.wet[0]
    return require(
        upper.fixture.kind != CLOSET,
        message=f"{upper.fixture.label} drains above the trap of {lower.fixture.label}.",
        remedy=own_vent(lower),
        clause=clause,
        **bearings(group, "closet above", upper.element.guid),
    )


def _two_levels(group: VentGroup, context: Context) -> Answer:
    """IPC: the vertical drain between the two is the vent of the lower one."""
    size = group.wet_size_in
    if size is None:
        return size_unknown(group)
    upper, lower = group.arms[0], group.wet[0]
    load = passing_dfu(context)[upper.start]
    return large_enough(
        group,
        size,
        load,
        rows(context, "common_vent"),
        pipe=smallest_pipe(group),
        message=lambda wanted: (
            f"{upper.fixture.label} gives {number_text(load)} DFU above another fixture."
            if wanted is None
            else f"The drain between {upper.fixture.label} and {lower.fixture.label} is "
            f"{trade_size(size)}; as a common vent it must be {trade_size(wanted)}."
        ),
        otherwise=own_vent(lower),
        unstated=sum(f in loads(context).unstated for f in upper.fixtures),
    )


@rule(
    title="Island vent rises as high as it can before it turns down",
    clauses={"upc": "909.1", "ipc": "916", "irc-2021": "P3112"},
    applies=lambda group: group.method is Method.ISLAND and not group.joint.tree.is_closed,
)
def island_vent(group: VentGroup, context: Context) -> Iterator[Answer]:
    """The loop of an island vent must stay open when the drain backs up.

    The height of the loop against the outlet of its fixture (IPC) or, in the UPC, its drainboard,
    taken as its rim; and a cleanout: UPC in its foot vent, IPC and IRC anywhere in what lies below
    the rim, to be rodded both ways (from memory). Only sinks and lavatories have such vents.
    """
    clause = method_clause(context, Method.ISLAND)
    yield _loop_height(group, clause, context)
    in_foot = context.code.family == "upc"
    if not _has_cleanout(group, in_foot, _opened_dry(context)):
        where = "in its foot vent" if in_foot else "below the rim"
        text = "Put a cleanout in the foot vent, above the floor."
        yield missing(
            CLEANOUTS,
            message=f"The {group.label} has no cleanout {where}.",
            remedy=Change("part", (group.vent.guid,), "cleanout", text),
            clause=clause,
            **bearings(group, "cleanout"),
        )


def _loop_height(group: VentGroup, clause: str, context: Context) -> Answer:
    high, wanted = _loop_top_m(group), _loop_least_m(group, context)
    if high is None or wanted is None:
        return not_known(RISES, group, clause=clause, **bearings(group, "height"))
    least, what = wanted
    floor = context.plumbing.surroundings.floors.of(group.arms[0].fixture.element)
    from_m = 0.0 if floor is None else floor.level_m
    return check(
        (high - from_m) / M_PER_IN,
        at_least=(least - from_m) / M_PER_IN,
        unit="in",
        message=f"The loop of the {group.label} turns down below {what}.",
        remedy=f"Let the vent rise to {what} before it turns down.",
        limit_step=AT_LEAST,
        clause=clause,
        **bearings(group, "height"),
    )


def _loop_top_m(group: VentGroup) -> float | None:
    """The highest point of the vent between its rise from the drain and its return."""
    if group.returns_at is None:
        return None
    tree = group.joint.tree
    back = set(tree.path_out(group.returns_at))
    piping, loop = group.piping, takewhile(lambda i: i not in back, tree.path_out(group.joint))
    points = [p for index in loop for p in (piping.middle(index), *piping.ends(index))]
    return max((point[2] for point in points if point is not None), default=None)


def _loop_least_m(group: VentGroup, context: Context) -> tuple[float, str] | None:
    fixture = group.arms[0].fixture
    if context.code.family == "upc":
        rims = context.plumbing.venting.rim_m(fixture)
        return None if rims is None else (rims[0], f"the drainboard of {fixture.label}")
    outlet = group.piping.exit(fixture.index)
    return None if outlet is None else (outlet[2], f"the outlet of {fixture.label}")


@derived
def _opened_dry(context: Context) -> frozenset[int]:
    """What cleanouts open before a drain that takes waste."""
    piping = context.plumbing.venting.piping
    return frozenset(
        element
        for index in piping.drainage.members
        if piping.elements[index].role is Role.CLEANOUT
        for element in takewhile(
            lambda i: not piping.is_wet(i), onward(index, piping.drainage.down)
        )
    )


def _has_cleanout(group: VentGroup, in_foot: bool, opened: frozenset[int]) -> bool:
    """Whether a cleanout opens the vent between its return and the open air, or also its loop, by
    a nipple or not."""
    if group.returns_at is None:
        return False
    foot = set(group.joint.tree.path_out(group.returns_at))
    if not in_foot:
        foot.update(group.joint.tree.path_out(group.joint))
    return not opened.isdisjoint(foot)
