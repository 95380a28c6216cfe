"""Rules about methods of venting: common vents, waste stack vents, island vents."""

from __future__ import annotations

from ifclint.codes import Row
from ifclint.engineering import tolerance
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import number_text, trade_size
from ifclint.findings import NOT_APPLICABLE, PASS, Answer, Measure, Outcome, Severity
from ifclint.ifc.elements import Role
from ifclint.packs import Context, rule
from ifclint.plumbing import Method, VentGroup
from ifclint.plumbing.drainage.loads import loads
from ifclint.rules.venting.groups import (
    fixtures_through,
    own_vent,
    passing_dfu,
    row_for_load,
    size_unknown,
    smallest_pipe,
    verdict,
)
from ifclint.rules.venting.wording import kind_words, limit, method_row, rows


@rule(
    title="Common vent for no more than two fixtures of one floor",
    subject=VentGroup,
    clauses={"upc": "905.6 and 908.1", "ipc": "911", "irc-2021": "P3107"},
    applies=lambda group: group.method is Method.COMMON,
)
def common_vent(group: VentGroup, context: Context) -> Answer:
    """Two fixtures may breathe through one vent where neither can siphon the other.

    Two traps of one floor that meet at the vent; or, one above the other (IPC), where the drain
    between them is large enough for the upper one's load by the table. In the UPC two inlets at
    different levels are a vertical wet vent, which has its own rule. Arms that meet before the
    vent are the UPC's to approve.
    """
    most = limit(context, "common_vent_fixtures")
    if most is not None and len(group.arms) > most.value:
        return verdict(
            group,
            f"{len(group.arms)} fixtures breathe through {group.vent.label}.",
            own_vent(group.arms[-1]),
            most.clause,
            Measure(float(len(group.arms)), "fixtures"),
            Measure(most.value, "fixtures", "at most"),
        )
    row = method_row(context, Method.COMMON)
    clause = row.clause if row else ""
    if len(group.storeys) > 1:
        return verdict(
            group,
            f"The fixtures of the {group.label} stand on different floors.",
            own_vent(group.arms[-1]),
            clause,
        )
    if group.wet:
        return _two_levels(group, context)
    if context.code.family == "upc" and any(arm.joined_by for arm in group.own):
        return verdict(
            group,
            f"The arms of {group.arms[0].fixture.label} and {group.arms[1].fixture.label} meet "
            "before their common vent.",
            "Let both enter one double fitting, at one level, under the vent; or have it approved.",
            clause,
            outcome=Outcome.UNVERIFIED,
        )
    return PASS


def _two_levels(group: VentGroup, context: Context) -> Answer:
    """IPC: the vertical drain between the two is the vent of the lower one."""
    table = rows(context, "common_vent")
    if not table:
        return NOT_APPLICABLE
    if group.wet_size_in is None:
        return size_unknown(group)
    upper = group.own[0] if group.own else group.arms[0]
    load = sum(loads(context).gives[f] for f in upper.fixtures)
    fitting = [r for r in table if r.number("max_dfu") >= load]
    wanted = fitting[0].number("size_in") if fitting else None
    clause = table[0].clause
    if wanted is None:
        return verdict(
            group,
            f"{upper.fixture.label} gives {number_text(load)} DFU above another fixture.",
            own_vent(group.wet[0]),
            clause,
            Measure(load, "DFU"),
            Measure(table[-1].number("max_dfu"), "DFU", "at most"),
        )
    if group.wet_size_in >= wanted:
        return PASS
    return verdict(
        group,
        f"The drain between {upper.fixture.label} and {group.wet[0].fixture.label} is "
        f"{trade_size(group.wet_size_in)}; as a common vent it must be {trade_size(wanted)}.",
        f"Make it {trade_size(wanted)}.",
        clause,
        Measure(group.wet_size_in, "in"),
        Measure(wanted, "in", "at least"),
        culprit=smallest_pipe(group),
    )


@rule(
    title="Waste stack vent without closets, small in load, and of one size",
    subject=VentGroup,
    clauses={"upc": "901.2", "ipc": "913", "irc-2021": "P3109"},
    severity=Severity.HIGH,
    applies=lambda group: group.method is Method.WASTE_STACK,
)
def waste_stack_vent(group: VentGroup, context: Context) -> Answer:
    """Where a stack carries waste alone and little of it, air stands in it beside the water.

    IPC: no closets or urinals, no more units than the table lets its size take in all, the vent
    above as large as the stack. The UPC has no such method: the traps are not vented.
    """
    row = method_row(context, Method.WASTE_STACK)
    lower = group.wet[-1]
    if row is None or row.text("allowed") == "no":
        return verdict(
            group,
            f"{lower.fixture.label} drains into a stack that takes fixtures from above, without a "
            "vent of its own.",
            own_vent(lower),
            row.clause if row else "",
            culprit=lower.element.guid,
        )
    return _waste_stack(group, context, row)


def _waste_stack(group: VentGroup, context: Context, row: Row) -> Answer:
    allowed = row.text("fixtures").split()
    through = fixtures_through(group, context)
    barred = [f for f in through or group.fixtures if f.kind not in allowed]
    if barred:
        return verdict(
            group,
            f"{barred[0].label} drains into the {group.label}.",
            "Vent the traps below it, or lead it elsewhere.",
            row.clause,
            culprit=barred[0].element.guid,
        )
    if group.wet_size_in is None:
        return size_unknown(group)
    table = rows(context, "waste_stack_vent")
    load = passing_dfu(context)[group.path[-1]]
    fitting = row_for_load(table, load)
    wanted = fitting.number("size_in") if fitting is not None else None
    if wanted is None or group.wet_size_in < wanted:
        return verdict(
            group,
            f"The {group.label} takes {number_text(load)} DFU in {trade_size(group.wet_size_in)}.",
            f"Make the stack {trade_size(wanted)}." if wanted else "Vent the traps one by one.",
            table[0].clause,
            Measure(group.wet_size_in, "in"),
            Measure(wanted or table[-1].number("size_in"), "in", "at least"),
            culprit=smallest_pipe(group),
        )
    vent = group.vent.size_in
    if vent is not None and vent < group.wet_size_in:
        return verdict(
            group,
            f"The vent above the {group.label} is {trade_size(vent)}.",
            f"Carry it up in {trade_size(group.wet_size_in)}.",
            row.clause,
            Measure(vent, "in"),
            Measure(group.wet_size_in, "in", "at least"),
        )
    return PASS


@rule(
    title="Island vent rises as high as it can before it turns down",
    subject=VentGroup,
    clauses={"upc": "909.1", "ipc": "916", "irc-2021": "P3112"},
    applies=lambda group: group.method is Method.ISLAND,
)
def island_vent(group: VentGroup, context: Context) -> Answer:
    """The loop of an island vent must stay open when the drain backs up.

    The fixtures on it (sinks and lavatories), the height of the loop against the outlet of its
    fixture (IPC) or, in the UPC, its drainboard, taken as its rim; and a cleanout in the vent
    below the floor.
    """
    row = method_row(context, Method.ISLAND)
    clause = row.clause if row is not None else ""
    kinds = {f.kind for arm in group.arms for f in arm.fixtures}
    barred = kinds - set(row.text("fixtures").split()) if row is not None else set()
    if barred:
        return verdict(
            group,
            f"A {kind_words(min(barred))} is on the {group.label}.",
            "Only sinks and lavatories may have an island vent.",
            clause,
        )
    high = _loop_top_m(group)
    wanted = _loop_least_m(group, context)
    if high is None or wanted is None:
        return verdict(
            group,
            f"How high the loop of the {group.label} rises is not known.",
            "Give its pipes shapes or placed ports.",
            clause,
            outcome=Outcome.UNVERIFIED,
        )
    least, what = wanted
    if not tolerance.at_least(high, least, "m"):
        return verdict(
            group,
            f"The loop of the {group.label} turns down below {what}.",
            f"Let it rise to {what} before it turns down.",
            clause,
            Measure(round(high / M_PER_IN, 1), "in"),
            Measure(round(least / M_PER_IN, 1), "in", "at least"),
        )
    if context.code.family == "upc" and not _has_cleanout(group):
        return verdict(
            group,
            f"The {group.label} has no cleanout in its foot vent.",
            "Put a cleanout in the foot vent, above the floor.",
            clause,
        )
    return PASS


def _loop_top_m(group: VentGroup) -> float | None:
    """The highest point of the vent between its rise from the drain and its return."""
    if group.returns_at is None:
        return None
    tree = group.joint.tree
    back = set(tree.path_out(group.returns_at))
    loop = []
    for index in tree.path_out(group.joint):
        if index in back:
            break
        loop.append(index)
    heights = [p[2] for i in loop if (p := group.piping.middle(i)) is not None]
    return max(heights, default=None)


def _loop_least_m(group: VentGroup, context: Context) -> tuple[float, str] | None:
    fixture = group.arms[0].fixture
    if context.code.family == "upc":
        rims = context.plumbing.venting.rim_m(fixture)
        return None if rims is None else (rims[0], f"the drainboard of {fixture.label}")
    outlet = group.piping.exit(fixture.index)
    return None if outlet is None else (outlet[2], f"the outlet of {fixture.label}")


def _has_cleanout(group: VentGroup) -> bool:
    """Whether a cleanout opens the vent between its return and the open air."""
    if group.returns_at is None:
        return False
    piping = group.piping
    beside = {
        other
        for index in group.joint.tree.path_out(group.returns_at)
        for place in piping.drainage.ends_at[index]
        for other in piping.at_place[place]
    }
    return any(piping.elements[i].role is Role.CLEANOUT for i in beside)


RULES = (common_vent, waste_stack_vent, island_vent)
