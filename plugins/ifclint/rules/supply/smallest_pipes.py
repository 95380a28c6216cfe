"""Rules about how small a pipe may be: the branch to a fixture, and the building supply."""

from collections.abc import Iterator

from ifclint.checks import PASS, Fact, check, not_known
from ifclint.codes import Limit, Row
from ifclint.codes.fixture_units import SupplyUnits
from ifclint.codes.tables import cited
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import M_PER_FT, M_PER_IN, PA_PER_PSI
from ifclint.engineering.wording import trade_size
from ifclint.findings import Answer, Change, Measure, Settles, Step
from ifclint.ifc.elements import LONGEST_CONNECTOR_M, Role
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.supply.segments import HOT, WaterSegment
from ifclint.plumbing.supply.water_fixtures import WaterFixture
from ifclint.plumbing.supply.water_supply import WaterService
from ifclint.rules.supply.demand import demand
from ifclint.rules.supply.missing import Reason, Unknown, left_open
from ifclint.rules.supply.readings import STATE_FLUSH
from ifclint.rules.supply.shutoff import first_segments, has_stop
from ifclint.rules.supply.units import TRICKLES, facts_of, is_flushometer, smallest_branch_in

TUBE_SIZES = (0.25, 0.375, 0.5, 0.75, 1.0)  # of which the next smaller is taken


FLUSHES = Fact("whether the {} {} is large enough is not known: {}.", STATE_FLUSH)


@rule(
    title="Branch no smaller than its fixture asks",
    clauses={"upc": "Table 610.3", "ipc": "Table 604.5", "irc": ""},
    needs=("known_kind", "feed"),
    asked_once=True,
    applies=lambda fixture: fixture.kind not in TRICKLES and fixture.joined,
    settles=Settles.WATER,
    of_load=True,
)
def supply_branch_size(fixture: WaterFixture, context: Context) -> Iterator[Answer]:
    """A branch below its fixture's size lets it fill slowly and whistle.

    The nominal size of the pipe in each branch, from its last junction to the fixture, or to a
    mixing valve of its own, against the smallest the code's table gives for the kind of fixture. A
    riser or connector at its end, no longer than the code lets the pipe end short of the fixture
    (of an appliance behind its stop, than connectors are sold), may be smaller, but for that of a
    flushometer valve, which has its control stop there; so may, under the
    IPC, a run of its own from a manifold. Where how a fixture flushes is not stated, and the branch
    is too small for one kind alone, it is asked.
    """
    units = demand(context).units[fixture]
    row = units.row if units is not None else _unit_free_row(fixture, context)
    if row is None or row.number_or_none("branch_in") is None:
        return
    for branch in _branches(fixture, context):
        yield _branch(fixture, branch, row, units, context)


def _branches(fixture: WaterFixture, context: Context) -> list[WaterSegment]:
    """The lines that bring water to a fixture: to its own mixing valve, where it has one."""
    supply = context.plumbing.supply
    found: dict[WaterSegment, None] = {}
    for branch in fixture.branches:
        mixer = supply.own_mixer_before(branch)
        above = supply.segment_of[mixer].above if mixer is not None else None
        if mixer is None or above is None:
            found[branch] = None
        else:
            found |= dict.fromkeys((above, supply.segment_of[supply.cold_inlets[mixer]]))
    return list(found)


def _unit_free_row(fixture: WaterFixture, context: Context) -> Row | None:
    """The row of flows of a fixture without fixture units, where it tells the branch too."""
    if "fixture_flow" not in context.code.tables:
        return None
    rows = context.code.table("fixture_flow").where(fixture=fixture.kind)
    return rows[0] if rows and "branch_in" in rows[0].values else None


def _branch(
    fixture: WaterFixture,
    branch: WaterSegment,
    row: Row,
    units: SupplyUnits | None,
    context: Context,
) -> Answer:
    basis = units.basis if units is not None else ()
    least, name = row.limit("branch_in", "in"), f"{branch.service} branch to {fixture.label}"
    clause = least.clause
    if context.code.family == "ipc":
        clause = cited(context.code.short, "Table 604.5")
    if branch.size_in is None and branch.is_connector and branch.above and branch.above.pipes:
        branch = branch.above
    if branch.size_in is None:
        return _size_unknown(f"The size of the {name} is not known", branch, least, context)
    judged = branch
    has_valve = units is not None and is_flushometer(fixture, units)
    has_riser = not has_valve or "flush_type" not in facts_of(fixture)
    if has_riser and not at_least(branch.size_in, least.value, "in"):
        judged = _before_riser(branch, fixture, least, context)
    size = judged.size_in
    if size is None:
        return _size_unknown(f"The size of the {name} is not known", judged, least, context)
    if not at_least(size, least.value, "in"):
        if (other := smallest_branch_in(fixture, context)) and at_least(size, other, "in"):
            return not_known(
                FLUSHES, trade_size(size), name, "; ".join(basis),
                elements=(fixture.element.guid, *judged.element_ids),
                about=branch.key, required=Measure(least.value, "in", "at least"),
            )  # fmt: skip
        from_manifold = _from_manifold(judged, size, least, context)
        if from_manifold is not None:
            return from_manifold
    text = f"Make the supply {trade_size(least.value)} from the main to the fixture."
    words = f"Smallest branch to a {fixture.kind.replace('-', ' ')}"
    return check(
        size,
        at_least=least,
        message=f"The {name} is {trade_size(size)}.",
        remedy=Change("size", judged.element_ids, least.value, text),
        steps=(Step(words, least.value, "in", clause),),
        elements=(*judged.element_ids, fixture.element.guid),
        about=branch.key,
        clause=clause,
    )


def _before_riser(
    branch: WaterSegment, fixture: WaterFixture, least: Limit, context: Context
) -> WaterSegment:
    """What feeds a riser or connector, which may fork there; the branch itself where it is longer
    than one."""
    reach_m = context.code.limit("supply_stub_in").value * M_PER_IN
    if fixture.element.role is Role.APPLIANCE and has_stop(branch, fixture, context):
        reach_m = LONGEST_CONNECTOR_M
    line, length_m = branch, 0.0
    while line.size_in is not None and not at_least(line.size_in, least.value, "in"):
        if line.length_m is None or line.above is None or not line.above.pipes:
            break
        length_m += line.length_m
        if not at_most(length_m, reach_m, "m"):
            break
        line = line.above
    return line


def _from_manifold(
    branch: WaterSegment, size_in: float, least: Limit, context: Context
) -> Answer | None:
    """IPC Table 604.5, footnote: a run of its own from a manifold may be one size smaller, where it
    is short and pressure stands at the meter; None where it is no such run, or smaller still."""
    reach = context.code.limit_or_none("manifold_branch_ft")
    pressure = context.code.limit_or_none("manifold_branch_psi")
    if reach is None or pressure is None or not _leaves_manifold(branch):
        return None
    smaller = [s for s in TUBE_SIZES if s < least.value]
    if not smaller or not at_least(size_in, smaller[-1], "in") or branch.length_m is None:
        return None
    if not at_most(branch.length_m / M_PER_FT, reach.value, "ft"):
        return None
    main_pa = context.job.water.static_pressure
    if main_pa is None:
        return left_open(
            f"Whether {branch.label} may be one size smaller, from its manifold, is not known",
            Unknown(Reason.STATIC), context, branch.element_ids, about=branch.key,
        )  # fmt: skip
    return PASS if at_least(main_pa / PA_PER_PSI, pressure.value, "psi") else None


def _leaves_manifold(branch: WaterSegment) -> bool:
    """Whether a line begins at a manifold, whatever its elements are called."""
    elements = branch.distribution.elements
    return branch.inlet != NONE and elements[branch.inlet].kind == "manifold"


def _size_unknown(message: str, segment: WaterSegment, least: Limit, context: Context) -> Answer:
    return left_open(
        message, Unknown(Reason.SIZE, segment), context, about=segment.key,
        required=Measure(least.value, "in", "at least"),
    )  # fmt: skip


@rule(
    title="Building supply no smaller than the code allows",
    clauses={"upc": "610.8", "ipc": "603.1", "irc": "P2903.7"},
    needs=("source_known",),
    of_load=True,
)
def building_supply_size(service: WaterService, context: Context) -> Iterator[Answer]:
    """Whatever the load, no building is served through less than 3/4 in pipe.

    The nominal size of all pipe from the source to the first branch, the last pipe to a fixture
    left out where there is no other. Where hot water comes from without too, and from no heater,
    the model is of a part of a building (a flat behind its meters): what enters there is no
    building supply.
    """
    if _is_of_a_part(context):
        return
    segments = [segment for segment in first_segments(service) if segment.pipes]
    for segment in segments:
        if segment.connection is None or len(segments) == 1:
            yield _supply_size(segment, context)


def _supply_size(segment: WaterSegment, context: Context) -> Answer:
    """The size of a line of the building supply."""
    least = context.code.limit("supply_minimum_in")
    if segment.size_in is None:
        return _size_unknown(
            "The size of the building supply is not known", segment, least, context
        )
    text = f"Make the building supply {trade_size(least.value)}."
    return check(
        segment.size_in,
        at_least=least,
        message=f"The building supply is {trade_size(segment.size_in)} at {segment.label}.",
        remedy=Change("size", segment.element_ids, least.value, text),
        limit_step="Smallest building supply",
        elements=segment.element_ids,
        about=segment.key,
    )


@derived
def _is_of_a_part(context: Context) -> bool:
    """Whether a source of the model gives hot water."""
    firsts = (first_segments(service)[:1] for service in context.plumbing.supply.services)
    return any(first.service == HOT and first.heater < 0 for of in firsts for first in of)
