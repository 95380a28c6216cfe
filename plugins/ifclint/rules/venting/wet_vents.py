"""Rules about drains that are vents as well: vertical and horizontal wet vents, circuit vents."""

from __future__ import annotations

from collections import Counter

from ifclint.engineering.trade_sizes import TRADE_SIZES
from ifclint.engineering.units import M_PER_FT, M_PER_IN
from ifclint.engineering.wording import number_text, trade_size
from ifclint.findings import NOT_APPLICABLE, PASS, Answer, Measure, Outcome, Severity
from ifclint.packs import Context, rule
from ifclint.plumbing import Fixture, Method, VentGroup
from ifclint.plumbing.drainage.loads import loads
from ifclint.rules.venting.combination import may_be_combination
from ifclint.rules.venting.groups import (
    MANY,
    clause_of,
    fixtures_through,
    own_vent,
    passing_dfu,
    row_for_load,
    size_unknown,
    smallest_pipe,
    verdict,
)
from ifclint.rules.venting.wording import kind_words, limit, rows


def _is_vertical_wet(group: VentGroup) -> bool:
    return group.method is Method.VERTICAL_WET or (
        group.method is Method.COMMON and bool(group.wet)
    )


@rule(
    title="Vertical wet vent short, small in load, and large enough",
    subject=VentGroup,
    clauses={"upc": "908.1", "ipc": "912", "irc-2021": "P3108"},
    severity=Severity.HIGH,
    applies=_is_vertical_wet,
)
def vertical_wet_vent(group: VentGroup, context: Context) -> Answer:
    """A drain may be another fixture's vent only while it carries little.

    UPC: up to four fixtures of one storey, of one or two units each, within a few feet, in pipe
    one size larger than the upper fixture's waste. IPC: fixtures of up to two bathroom groups of
    one floor, by the table; two inlets one above the other are judged as a common vent.
    """
    if context.code.family == "ipc":
        return NOT_APPLICABLE if group.method is Method.COMMON else _bathroom_wet(group, context)
    return _upc_vertical(group, context)


def _upc_vertical(group: VentGroup, context: Context) -> Answer:
    clause = clause_of(context, Method.VERTICAL_WET)
    through = fixtures_through(group, context)
    most, largest = (
        limit(context, k) for k in ("vertical_wet_vent_fixtures", "vertical_wet_vent_fixture_dfu")
    )
    longest, least = (
        limit(context, k) for k in ("vertical_wet_vent_length_ft", "vertical_wet_vent_in")
    )
    count = float(len(through)) if through is not None else float(MANY)
    if most is not None and count > most.value:
        return verdict(
            group,
            f"{number_text(count)} fixtures drain through the {group.label}.",
            own_vent(group.wet[-1]),
            most.clause,
            Measure(count, "fixtures"),
            Measure(most.value, "fixtures", "at most"),
        )
    if len({f.element.storey for f in through or ()}) > 1:
        return verdict(
            group,
            f"Fixtures of different storeys drain through the {group.label}.",
            own_vent(group.wet[-1]),
            clause,
        )
    heavy = [f for f in through or () if largest and loads(context).gives[f] > largest.value]
    above = [f for f in heavy if f is not group.wet[-1].fixture]
    if above and largest is not None:
        load = loads(context).gives[above[0]]
        return verdict(
            group,
            f"{above[0].label} drains through the {group.label}.",
            f"Give {group.wet[-1].fixture.label} a vent of its own.",
            largest.clause,
            Measure(load, "DFU"),
            Measure(largest.value, "DFU", "at most"),
            culprit=above[0].element.guid,
        )
    length = _span_m(group) / M_PER_FT
    if longest is not None and length > longest.value:
        return verdict(
            group,
            f"The {group.label} is {length:.1f} ft long.",
            own_vent(group.wet[-1]),
            longest.clause,
            Measure(round(length, 2), "ft"),
            Measure(longest.value, "ft", "at most"),
        )
    if group.wet_size_in is None:
        return size_unknown(group)
    waste = max((arm.size_in or 0.0 for arm in group.own), default=0.0)
    larger = next((s for s in TRADE_SIZES if s > waste), waste)
    wanted = max(larger, least.value if least is not None else 0.0)
    if group.wet_size_in >= wanted:
        return PASS
    return verdict(
        group,
        f"The {group.label} is {trade_size(group.wet_size_in)}.",
        f"Make it {trade_size(wanted)}.",
        least.clause if least else clause,
        Measure(group.wet_size_in, "in"),
        Measure(wanted, "in", "at least"),
        culprit=smallest_pipe(group),
    )


def _span_m(group: VentGroup) -> float:
    heights = [p[2] for arm in group.arms if arm.points and (p := arm.points[-1]) is not None]
    return max(heights) - min(heights) if heights else 0.0


@rule(
    title="Horizontal wet vent for a bathroom alone, and large enough",
    subject=VentGroup,
    clauses={"upc": "908.2", "ipc": "912", "irc-2021": "P3108"},
    severity=Severity.HIGH,
    applies=lambda group: group.method is Method.HORIZONTAL_WET,
)
def horizontal_wet_vent(group: VentGroup, context: Context) -> Answer:
    """The drain of a lavatory may vent the other fixtures of its bathroom, and none but these.

    Which fixtures drain through it (one or two bathroom groups of one floor, as the code says),
    the fixture at its dry vent, how many fixtures lie above that vent, and the size of every wet
    pipe against its load.
    """
    answer = _bathroom_wet(group, context)
    if answer.outcome is Outcome.VIOLATION and (
        _circuit(group, context).outcome is Outcome.PASS or _are_combination(group, context)
    ):
        return PASS
    return answer


def _are_combination(group: VentGroup, context: Context) -> bool:
    """Whether every trap that breathes through the drain passes as a combination waste and vent."""
    return all(may_be_combination(arm, context) is PASS for arm in group.wet)


def _bathroom_wet(group: VentGroup, context: Context) -> Answer:
    clause = clause_of(context, Method.HORIZONTAL_WET)
    through = fixtures_through(group, context)
    last = group.wet[-1]
    if through is None:
        return verdict(
            group,
            f"More than {MANY} fixtures drain through the {group.label}.",
            own_vent(last),
            clause,
        )
    if len({f.element.storey for f in through}) > 1:
        return verdict(
            group,
            f"Fixtures of different storeys drain through the {group.label}.",
            own_vent(last),
            clause,
        )
    excess = _beyond_bathroom(through, context)
    if excess:
        return verdict(group, f"{excess} through the {group.label}.", own_vent(last), clause)
    upstream = limit(context, "wet_vent_upstream_fixtures")
    above = len(group.own)
    if upstream is not None and above > upstream.value:
        return verdict(
            group,
            f"{above} fixtures lie above the dry vent of the {group.label}.",
            own_vent(group.own[-1]),
            upstream.clause,
            Measure(float(above), "fixtures"),
            Measure(upstream.value, "fixtures", "at most"),
        )
    return _wet_sizes(group, context)


def _beyond_bathroom(through: list[Fixture], context: Context) -> str:
    """What drains through that is not of so many bathroom groups; "" where all is."""
    groups = limit(context, "wet_vent_groups")
    counts = Counter(f.kind for f in through)
    for row in rows(context, "bathroom_group"):
        kinds = row.text("fixtures").split()
        count = sum(counts.pop(kind, 0) for kind in kinds)
        most = row.number("max_count") * (groups.value if groups is not None else 1.0)
        if count > most:
            words = " or ".join(kind_words(k) for k in kinds)
            return f"{count} × {words} drain (at most {number_text(most)})"
    strange = sorted(counts)
    return f"A {kind_words(strange[0] or 'fixture of unknown kind')} drains" if strange else ""


def _wet_sizes(group: VentGroup, context: Context) -> Answer:
    """Every wet pipe by the units that pass it."""
    if group.wet_size_in is None:
        return size_unknown(group)
    table = rows(context, "wet_vent")
    for index in group.path:
        size = group.piping.elements[index].size_in
        if not group.piping.is_pipe(index) or size is None:
            continue
        load = passing_dfu(context)[index]
        row = row_for_load(table, load)
        wanted = row.number("size_in") if row is not None else None
        if wanted is None or size < wanted:
            guid = group.piping.elements[index].guid
            asked = trade_size(wanted) if wanted else "more than the table lists"
            clause = row.clause if row is not None else table[-1].clause
            return verdict(
                group,
                f"A {trade_size(size)} pipe of the {group.label} carries {number_text(load)} DFU.",
                f"Make it {asked}.",
                clause,
                Measure(size, "in"),
                Measure(wanted or table[-1].number("size_in"), "in", "at least"),
                culprit=guid,
            )
    return PASS


@rule(
    title="Circuit vent of a level branch, for so many fixtures of one floor",
    subject=VentGroup,
    clauses={"upc": "911", "ipc": "914", "irc-2021": "P3110"},
    severity=Severity.HIGH,
    applies=lambda group: group.method is Method.CIRCUIT,
)
def circuit_vent(group: VentGroup, context: Context) -> Answer:
    """A row of fixtures may share one vent while the branch stays half empty.

    Up to eight fixtures of one floor on a horizontal branch that is not steep, the vent joined
    between the two most upstream; and a relief vent where four closets and more drain to a stack
    that takes branches from above.
    """
    answer = _circuit(group, context)
    if answer.outcome is Outcome.VIOLATION and (
        _bathroom_wet(group, context).outcome is Outcome.PASS or _are_combination(group, context)
    ):
        return PASS
    return answer


def _circuit(group: VentGroup, context: Context) -> Answer:
    clause = clause_of(context, Method.CIRCUIT)
    most, steep = (
        limit(context, "circuit_vent_fixtures"),
        limit(context, "circuit_vent_max_in_per_ft"),
    )
    if most is not None and len(group.arms) > most.value:
        return verdict(
            group,
            f"{len(group.arms)} fixtures are on the {group.label}.",
            "Divide the branch, or add a second circuit vent.",
            most.clause,
            Measure(float(len(group.arms)), "fixtures"),
            Measure(most.value, "fixtures", "at most"),
        )
    if len(group.storeys) > 1:
        return verdict(
            group,
            f"The fixtures of the {group.label} stand on different floors.",
            own_vent(group.arms[-1]),
            clause,
        )
    if len(group.own) != 1:
        return verdict(
            group,
            f"The {group.label} does not join between the two most upstream fixture drains.",
            "Join it there.",
            clause,
        )
    vertical = [i for i in group.path[:-1] if group.piping.is_vertical(i)]
    if vertical:
        return verdict(
            group,
            f"The branch of the {group.label} falls before its last fixture.",
            own_vent(group.wet[-1]),
            clause,
            culprit=group.piping.elements[vertical[0]].guid,
        )
    slope = _steepest(group)
    if steep is not None and slope * 12 > steep.value:
        return verdict(
            group,
            f"The branch of the {group.label} falls {slope * 12:.2f} in per ft.",
            "Lay the branch flatter.",
            steep.clause,
            Measure(round(slope * 12, 3), "in/ft"),
            Measure(steep.value, "in/ft", "at most"),
        )
    return _circuit_relief(group, context)


def _steepest(group: VentGroup) -> float:
    slopes = []
    for index in group.path:
        ends = group.piping.ends(index)
        if group.piping.is_horizontal(index) and len(ends) > 1:
            high, low = max(ends, key=lambda p: p[2]), min(ends, key=lambda p: p[2])
            segment = ((high[0] - low[0]) ** 2 + (high[1] - low[1]) ** 2) ** 0.5
            slopes.append((high[2] - low[2]) / segment if segment > M_PER_IN else 0.0)
    return max(slopes, default=0.0)


def _circuit_relief(group: VentGroup, context: Context) -> Answer:
    """Four closets and more, into a stack that takes branches from above."""
    relief = limit(context, "circuit_relief_closets")
    closets = sum(f.kind == "water-closet" for f in group.fixtures)
    if relief is None or closets < relief.value:
        return PASS
    piping, index = group.piping, group.path[-1]
    while index >= 0 and not piping.is_vertical(index):
        if index in context.plumbing.venting.air.joints and index != group.joint.drain:
            return PASS
        came, index = index, piping.drainage.down[index]
        others = [i for i in piping.wet_above[index] if i != came] if index >= 0 else []
        if others and any(piping.is_vertical(i) for i in others):
            return verdict(
                group,
                f"{closets} closets are on the {group.label}, and the stack takes "
                "branches from above; there is no relief vent.",
                "Add a relief vent downstream of the last closet.",
                relief.clause,
                Measure(float(closets), "water closets"),
                Measure(relief.value, "water closets", "fewer than"),
            )
    return PASS


RULES = (vertical_wet_vent, horizontal_wet_vent, circuit_vent)
