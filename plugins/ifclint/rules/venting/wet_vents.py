"""Rules about drains that are vents as well: vertical and horizontal wet vents, circuit vents."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from ifclint.checks import NOT_APPLICABLE, PASS, check, given, violation
from ifclint.engineering.arithmetic import largest
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import apart_text, number_text, trade_size
from ifclint.findings import Answer, Change, Severity
from ifclint.ifc.elements import Element
from ifclint.packs import Context, rule
from ifclint.plumbing import Fixture, Method, TrapArm, VentGroup
from ifclint.plumbing.drainage.loads import loads, restricted_by
from ifclint.plumbing.drainage.through_air import ends_in_drain
from ifclint.rules.venting import groups
from ifclint.rules.venting.circuit import circuit
from ifclint.rules.venting.code_tables import method_clause, next_size_in, rows
from ifclint.rules.venting.combination import are_combination, beside_combination, listed_trap_in
from ifclint.rules.venting.combination_lines import combination_line
from ifclint.rules.venting.missing_vents import all_wait, down_to_vented
from ifclint.rules.venting.shared_traps import unlike_on_a_trap
from ifclint.rules.venting.waste_stack import as_waste_stack, breathe_by_stack
from ifclint.rules.venting.wet_order import (
    closet_at_vent,
    closet_lowest,
    dry_vent_kinds,
    meet_before,
)
from ifclint.rules.venting.wording import own_vent


def _is_vertical_wet(group: VentGroup) -> bool:
    return group.method is Method.VERTICAL_WET or (
        group.method is Method.COMMON and bool(group.wet)
    )


@rule(
    title="Vertical wet vent short, small in load, and large enough",
    clauses={"upc": "908.1", "ipc": "912", "irc-2021": "P3108"},
    severity=Severity.HIGH,
    applies=_is_vertical_wet,
    of_load=True,
)
def vertical_wet_vent(group: VentGroup, context: Context) -> Iterable[Answer]:
    """A drain may be another fixture's vent only while it carries little.

    UPC: up to four fixtures of one storey, of one or two units each, within a few feet, in pipe
    one size larger than the upper fixture's waste and than the drain for its load. IPC: fixtures
    of up to two bathroom groups of one floor, by the table, none below a closet; two inlets one
    above the other are judged as a common vent. It passes too as combination waste and vent, as a
    waste stack vent, and where its traps breathe so with those of lower floors.
    Where the line of what must drain through the air is tied in, that is told, and has to go first.
    """
    tied = any(ends_in_drain(context, f) for arm in group.wet for f in arm.fixtures)
    if tied or all_wait(group, context):
        return [NOT_APPLICABLE]
    if context.code.family == "upc":
        return _few_and_small(group, context)
    if group.method is Method.COMMON:
        return [NOT_APPLICABLE]
    answers = [*_bathroom_wet(group, context), *closet_lowest(group, context)]
    otherwise = are_combination(group.wet, context) or breathe_by_stack(group, context)
    if not groups.fails(answers):
        return answers
    return [PASS] if otherwise else as_waste_stack(group, context) or answers


def _few_and_small(group: VentGroup, context: Context) -> Iterator[Answer]:
    """UPC 908.1, demand by demand."""
    code, through = context.code, groups.fixtures_through(group, context)
    count = float(len(through))
    yield check(
        count,
        at_most=code.limit("vertical_wet_vent_fixtures"),
        message=f"{number_text(count)} fixtures drain through the {group.label}.",
        remedy=own_vent(group.wet[-1]),
        limit_step=groups.AT_MOST,
        **groups.bearings(group, "number"),
    )
    clause = method_clause(context, Method.VERTICAL_WET)
    yield groups.on_one_floor(group, through, clause, _of_floors(group))
    at_foot = {f for arm in group.wet if arm.path[-1] == group.path[-1] for f in arm.fixtures}
    for fixture in through:
        if fixture not in at_foot:
            yield _light(group, fixture, context)
    length, most = group.height_m / M_PER_FT, code.limit("vertical_wet_vent_length_ft")
    yield check(
        round(length, 2),
        at_most=most,
        message=f"The {group.label} is {apart_text(length, most.value, 'ft')} long.",
        remedy=own_vent(group.wet[-1]),
        limit_step=groups.AT_MOST,
        **groups.bearings(group, "length"),
    )
    yield from _one_size_larger(group, context)


def _of_floors(group: VentGroup) -> str:
    return f"Fixtures of different storeys drain through the {group.label}."


def _light(group: VentGroup, fixture: Fixture, context: Context) -> Answer:
    """A fixture that drains above another's trap gives no more than one or two units."""
    made, guid = loads(context), fixture.element.guid
    answer = check(
        made.gives[fixture],
        at_most=context.code.limit("vertical_wet_vent_fixture_dfu"),
        message=f"{fixture.label} drains through the {group.label}.",
        remedy=own_vent(group.wet[-1]),
        limit_step=groups.AT_MOST,
        **groups.bearings(group, "load", guid),
    )
    return groups.unless_unstated(answer, group, fixture in made.unstated, guid)


def _one_size_larger(group: VentGroup, context: Context) -> Iterator[Answer]:
    """Each section between two inlets, than the waste of a fixture that drains in above it, or than
    the drain for what passes it; one drawn in pieces is one."""
    if group.wet_size_in is None:
        yield groups.size_unknown(group)
        return
    place = {index: n for n, index in enumerate(group.path)}
    before: tuple[float, float, int] | None = None
    for index, pipe in groups.wet_pipes(group):
        above = [*group.own, *(a for a in group.wet if place[a.path[-1]] < place[index])]
        section = given(pipe.size_in), groups.passing_dfu(context)[index], len(above)
        if section != before:
            before = section
            answer = _section(group, pipe, above, section[1], context)
            yield groups.unless_unstated(
                answer, group, groups.passing_unstated(context)[index], pipe.guid
            )


def _section(
    group: VentGroup, pipe: Element, above: list[TrapArm], load: float, context: Context
) -> Answer:
    least, size_in = context.code.limit("vertical_wet_vent_in"), given(pipe.size_in)
    wastes = [size for arm in above if (size := _waste_in(arm, context)) is not None]
    drains = [r for r in rows(context, "drain_capacity") if r.text("orientation") == "vertical"]
    carrying = next(
        (r.number("size_in") for r in drains if at_most(load, r.number("max_dfu"))), 0.0
    )
    larger = {
        "Least size": least.value,
        "One size above the waste of the upper fixture": next_size_in(largest(wastes)),
        f"One size above the drain for {number_text(load)} DFU": next_size_in(carrying),
    }
    wanted = replace(least, value=max(larger.values()))
    return check(
        size_in,
        at_least=wanted,
        message=f"The {group.label} is {trade_size(size_in)}.",
        remedy=Change(
            "size", (pipe.guid,), wanted.value, f"Make the wet vent {trade_size(wanted.value)}."
        ),
        limit_step=max(larger, key=lambda words: larger[words]),
        **groups.bearings(group, "size", pipe.guid),
    )


def _waste_in(arm: TrapArm, context: Context) -> float | None:
    """The least vertical waste of a fixture: of its trap's size, or the next that may take it."""
    size = listed_trap_in(arm, context)
    while size is not None and _is_barred(size, arm.fixture, context):
        size = next_size_in(size)
    return size


def _is_barred(size_in: float, fixture: Fixture, context: Context) -> bool:
    """Whether a vertical drain of a size may take none of this fixture."""
    rows_of_size = context.code.table("drain_restrictions").where(
        size_in=size_in, orientation="vertical"
    )
    return any(
        not r.number("max_count") and fixture in restricted_by(context, r) for r in rows_of_size
    )


@rule(
    title="Horizontal wet vent for a bathroom alone, and large enough",
    clauses={"upc": "908.2", "ipc": "912", "irc-2021": "P3108"},
    severity=Severity.HIGH,
    applies=lambda group: group.method is Method.HORIZONTAL_WET,
    of_load=True,
)
def horizontal_wet_vent(group: VentGroup, context: Context) -> list[Answer]:
    """The drain of a lavatory may vent the other fixtures of its bathroom, and none but these.

    Which fixtures drain through it (one or two bathroom groups of one floor, as the code says),
    the fixtures at its dry vent (no closet in the UPC), that no fixture joins below the closet
    (UPC), and the size of every wet pipe against its load. It passes too as a circuit vent, or as
    combination waste and vent.
    """
    if all_wait(group, context) or meet_before(group):
        return [NOT_APPLICABLE]
    group = down_to_vented(group, context)
    answers = _bathroom_alone(group, context)
    if not groups.fails(answers) or (above := beside_combination(group, context)) is group:
        return answers
    return _bathroom_alone(above, context) if above.wet else [PASS]


def _bathroom_alone(group: VentGroup, context: Context) -> list[Answer]:
    answers = [*_bathroom_wet(group, context), *dry_vent_kinds(group, context)]
    order = [*closet_at_vent(group, context), *closet_lowest(group, context)]
    if not order and groups.fails(answers) and _passes(circuit(group, context)):
        return [PASS]
    return [*answers, *order]


def _passes(answers: Iterable[Answer]) -> bool:
    return all(answer is PASS for answer in answers)


def _bathroom_wet(group: VentGroup, context: Context) -> Iterator[Answer]:
    """Bathroom fixtures of one floor, few of them above the vent, in pipe of the table's sizes."""
    clause, last = method_clause(context, Method.HORIZONTAL_WET), group.wet[-1]
    through = groups.fixtures_through(group, context)
    odd = groups.strangers(through, context)  # to be led elsewhere, wherever they stand
    bathrooms = [f for f in through if f not in odd]
    yield groups.on_one_floor(group, bathrooms, clause, _of_floors(group))
    for fixture in (f for f in through if not f.kind):
        yield groups.kind_unknown(group, fixture)
    for kinds, excess in groups.beyond_bathroom(through, context):
        of_them = (arm for arm in reversed(group.wet) if arm.fixture.kind in kinds)
        yield violation(
            message=f"{excess} through the {group.label}.",
            remedy=own_vent(next(of_them, last)),
            clause=clause,
            **groups.bearings(group, kinds[0]),
        )
    told = unlike_on_a_trap(context)  # where they share it
    for fixture in (f for f in odd if f not in told):
        yield violation(
            message=f"{fixture.label} drains through the {group.label}.",
            remedy=f"Lead {fixture.label}, with a vent of its own, to the drain below "
            f"{last.fixture.label}.",
            clause=clause,
            **groups.bearings(group, "kind", fixture.element.guid),
        )
    yield from _wet_sizes(group, odd, context)


def _wet_sizes(group: VentGroup, odd: list[Fixture], context: Context) -> Iterator[Answer]:
    """Every wet pipe by the units that pass it, without those that are to be led elsewhere; pipe
    drawn in pieces is one."""
    if group.wet_size_in is None:
        yield groups.size_unknown(group)
        return
    before: tuple[float, float] | None = None
    gives, drainage = loads(context).gives, context.plumbing.drainage
    leaving = drainage.accumulate({f.index: gives.get(f, 0.0) for f in odd})
    for index, pipe in groups.wet_pipes(group):
        load = groups.passing_dfu(context)[index] - leaving[index]
        if pipe.size_in is not None and (pipe.size_in, load) != before:
            before = pipe.size_in, load
            answer = _wet_size(group, pipe.guid, pipe.size_in, load, context)
            yield groups.unless_unstated(
                answer, group, groups.passing_unstated(context)[index], pipe.guid
            )


def _wet_size(group: VentGroup, pipe: str, size: float, load: float, context: Context) -> Answer:
    said = f"A {trade_size(size)} pipe of the {group.label} carries {number_text(load)} DFU."
    return groups.large_enough(
        group,
        size,
        load,
        rows(context, "wet_vent"),
        pipe=pipe,
        message=lambda _: said,
        otherwise=own_vent(group.wet[-1]),
    )


@rule(
    title="Circuit vent of a level branch, for so many fixtures of one floor",
    clauses={"upc": "911", "ipc": "914", "irc-2021": "P3110"},
    severity=Severity.HIGH,
    applies=lambda group: group.method is Method.CIRCUIT,
    of_load=True,
)
def circuit_vent(group: VentGroup, context: Context) -> list[Answer]:
    """A row of fixtures may share one vent while the branch stays half empty.

    Up to eight fixtures of one floor that come level to a horizontal branch which is not steep, the
    vent joined between the two most upstream; and a relief vent where four closets and more drain
    to a stack that takes branches from above. It passes too as a wet vent, or as combination waste
    and vent; as that it is judged where its vent is the upper end of the line and all fixtures may
    be on one.
    """
    if all_wait(group, context):
        return [NOT_APPLICABLE]
    answers = list(circuit(group, context))
    if not groups.fails(answers):
        return answers
    wet = bool(group.wet) and _passes(_bathroom_wet(group, context))
    if not wet and (line := combination_line(group, context)) is not None:
        return line
    return [PASS] if wet or are_combination(group.wet or group.own, context) else answers
